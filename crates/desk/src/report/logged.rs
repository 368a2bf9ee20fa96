//! What a log says as workbooks: the figures of ISO 22400-2, and a day.

use evidence::day::Day;
use evidence::figures::{CauseRow, Figures};
use flow::statistics::Interval;

use super::morning::{Action, loss_name};
use super::sheets::{Cell, Sheet, number, number_if_any, text};
use super::xlsx::{self, WorkbookError};
use crate::log_work::{FigureRow, FigureRows, StopsAndCycles, ToldDay};

/// A column of figures.
type Column = (&'static str, fn(&Figures) -> Cell);

fn share(value: Option<f64>) -> Cell {
    value.map_or(Cell::Empty, Cell::Share)
}

fn minutes(seconds: f64) -> Cell {
    number(seconds / 60.0, 1)
}

fn count(count: u64) -> Cell {
    number(count as f64, 0)
}

const COLUMNS: [Column; 29] = [
    ("planned busy, min", |f| minutes(f.pbt_s)),
    ("production, min", |f| minutes(f.apt_s)),
    ("setup, min", |f| minutes(f.aust_s)),
    ("stopped, min", |f| minutes(f.adet_s)),
    ("of that waiting for help, min", |f| minutes(f.waiting_s)),
    ("starved, min", |f| minutes(f.starved_s)),
    ("blocked, min", |f| minutes(f.blocked_s)),
    ("unknown, min", |f| minutes(f.unknown_s)),
    ("outside planned time, min", |f| minutes(f.outside_s)),
    ("produced", |f| count(f.made)),
    ("good at once", |f| count(f.good)),
    ("rework", |f| count(f.rework)),
    ("scrap", |f| count(f.scrap)),
    ("stops", |f| count(f.stops)),
    ("short stops", |f| count(f.short_stops)),
    ("in short stops, min", |f| minutes(f.short_s)),
    ("availability", |f| share(f.ratios.availability)),
    ("effectiveness", |f| share(f.ratios.effectiveness)),
    ("quality ratio", |f| share(f.ratios.quality_ratio)),
    ("OEE", |f| share(f.ratios.oee)),
    ("NEE", |f| share(f.ratios.nee)),
    ("setup ratio", |f| share(f.ratios.setup_ratio)),
    ("technical efficiency", |f| {
        share(f.ratios.technical_efficiency)
    }),
    ("utilisation efficiency", |f| {
        share(f.ratios.utilisation_efficiency)
    }),
    ("allocation efficiency", |f| {
        share(f.ratios.allocation_efficiency)
    }),
    ("first pass yield", |f| share(f.ratios.first_pass_yield)),
    ("rework ratio", |f| share(f.ratios.rework_ratio)),
    ("scrap ratio", |f| share(f.ratios.scrap_ratio)),
    ("fall-off", |f| share(f.ratios.fall_off)),
];

fn figure_sheet(rows: &[FigureRow]) -> Sheet {
    let mut columns = vec!["shop", "line", "station", "day", "shift"];
    columns.extend(COLUMNS.iter().map(|column| column.0));
    let rows = rows.iter().map(|FigureRow { of, figures }| {
        let names = [&of.shop, &of.line, &of.station, &of.day, &of.shift];
        let mut row: Vec<Cell> = names.into_iter().map(text).collect();
        row.extend(COLUMNS.iter().map(|(_, value)| value(figures)));
        row
    });
    Sheet::new("Figures", &columns, rows.collect()).note(
        "ISO 22400-2; a row without a station is its line or shop, one without a shop the plant",
    )
}

fn cause_sheet(causes: &[CauseRow]) -> Sheet {
    let columns = [
        "station",
        "cause",
        "stops",
        "down, min",
        "share",
        "running share",
    ];
    let rows = causes.iter().map(|row| {
        vec![
            text(&row.station),
            text(&row.cause),
            count(row.stops),
            minutes(row.down_s),
            Cell::Share(row.share),
            Cell::Share(row.running_share),
        ]
    });
    Sheet::new("Stops", &columns, rows.collect())
}

/// The figures of a log, its stops by cause and its cycles as the bytes of an .xlsx
/// file.
///
/// # Errors
/// When a table has more rows than a spreadsheet takes.
pub(crate) fn figures_xlsx(
    found: &FigureRows,
    stops: &StopsAndCycles,
) -> Result<Vec<u8>, WorkbookError> {
    let cycles = stops.cycles.iter().map(|row| {
        vec![
            text(&row.station),
            text(&row.product),
            count(row.jobs),
            number_if_any(row.planned_s, 1),
            number(row.mean_s, 2),
            number_if_any(row.deviation_s, 2),
        ]
    });
    let columns = [
        "station",
        "product",
        "jobs",
        "planned, s",
        "mean, s",
        "deviation, s",
    ];
    let cycles = Sheet::new("Cycles", &columns, cycles.collect());
    xlsx::of_sheets(&[
        figure_sheet(&found.rows),
        cause_sheet(&stops.causes),
        cycles,
    ])
}

/// A day with what was noted of it as the bytes of an .xlsx file.
///
/// # Errors
/// When a table has more rows than a spreadsheet takes.
pub(crate) fn day_xlsx(told: &ToldDay, actions: &[Action]) -> Result<Vec<u8>, WorkbookError> {
    let day = &told.day;
    let shops: Vec<FigureRow> = told
        .shops
        .iter()
        .map(|shop| FigureRow {
            of: evidence::figures::Of {
                shop: shop.shop.clone(),
                line: String::new(),
                station: String::new(),
                day: day.date.clone(),
                shift: String::new(),
            },
            figures: shop.figures.clone(),
        })
        .collect();
    xlsx::of_sheets(&[
        bridge(day),
        losses(day),
        hours(day),
        cause_sheet(&day.stops),
        waits(day),
        figure_sheet(&shops),
        noted(actions),
    ])
}

fn bridge(day: &Day) -> Sheet {
    let exact = |mean: f64| Interval {
        mean,
        half_width: 0.0,
    };
    let lines = [
        ("planned", exact(day.plan)),
        ("made", exact(day.made)),
        ("short of the plan", exact(day.shortfall)),
        ("losses together", day.lost),
        ("beyond the plant without any loss", day.beyond),
        ("not explained by the model", day.unexplained),
    ];
    let rows = lines
        .map(|(what, cars)| vec![text(what), number(cars.mean, 1), number(cars.half_width, 1)]);
    Sheet::new("Day", &["", "cars", "±"], rows.to_vec()).note(format!(
        "{}, by {} replays of the day",
        day.date, day.replications
    ))
}

fn losses(day: &Day) -> Sheet {
    let rows = day.losses.iter().map(|loss| {
        vec![
            text(&loss.station),
            text(&loss.shop),
            text(loss_name(loss)),
            count(loss.events),
            number(loss.minutes, 1),
            number(loss.cars.mean, 2),
            number(loss.cars.half_width, 2),
        ]
    });
    let columns = ["station", "shop", "loss", "times", "minutes", "cars", "±"];
    Sheet::new("Losses", &columns, rows.collect())
}

fn hours(day: &Day) -> Sheet {
    let rows = day.hours.iter().map(|row| {
        vec![
            text(&row.shop),
            number(row.hour as f64, 0),
            number(row.plan, 1),
            count(row.made),
        ]
    });
    Sheet::new(
        "Hours",
        &["shop", "hour", "planned", "made"],
        rows.collect(),
    )
}

fn waits(day: &Day) -> Sheet {
    let rows = day.waits.iter().map(|row| {
        vec![
            text(&row.station),
            number(row.starved_min, 1),
            number(row.blocked_min, 1),
        ]
    });
    let columns = ["station", "starved, min a unit", "blocked, min a unit"];
    Sheet::new("Waits", &columns, rows.collect())
}

fn noted(actions: &[Action]) -> Sheet {
    let rows = actions.iter().map(|action| {
        vec![
            text(&action.of),
            text(&action.what),
            text(&action.who),
            text(&action.until),
        ]
    });
    Sheet::new("Actions", &["loss", "what", "who", "until"], rows.collect())
}
