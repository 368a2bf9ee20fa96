//! The figures of ISO 22400-2 as a table for the terminal and as CSV.

use std::collections::BTreeMap;

use evidence::figures::{CycleRow, Figures, Of};
use evidence::learn::Week;

use super::Row;
use crate::figure::{number, percent};
use crate::grid::{Grid, Side};

/// Columns of the CSV after those that say of what.
type Column = (&'static str, fn(&Figures) -> Option<f64>);

const COLUMNS: [Column; 30] = [
    ("pbt_s", |f| Some(f.pbt_s)),
    ("apt_s", |f| Some(f.apt_s)),
    ("aust_s", |f| Some(f.aust_s)),
    ("adet_s", |f| Some(f.adet_s)),
    ("waiting_s", |f| Some(f.waiting_s)),
    ("starved_s", |f| Some(f.starved_s)),
    ("blocked_s", |f| Some(f.blocked_s)),
    ("unknown_s", |f| Some(f.unknown_s)),
    ("outside_s", |f| Some(f.outside_s)),
    ("made", |f| Some(f.made as f64)),
    ("good", |f| Some(f.good as f64)),
    ("rework", |f| Some(f.rework as f64)),
    ("scrap", |f| Some(f.scrap as f64)),
    ("planned_run_s", |f| Some(f.planned_run_s)),
    ("stops", |f| Some(f.stops as f64)),
    ("short_stops", |f| Some(f.short_stops as f64)),
    ("short_s", |f| Some(f.short_s)),
    ("availability", |f| f.ratios.availability),
    ("effectiveness", |f| f.ratios.effectiveness),
    ("quality_ratio", |f| f.ratios.quality_ratio),
    ("oee", |f| f.ratios.oee),
    ("nee", |f| f.ratios.nee),
    ("setup_ratio", |f| f.ratios.setup_ratio),
    ("technical_efficiency", |f| f.ratios.technical_efficiency),
    ("utilisation_efficiency", |f| {
        f.ratios.utilisation_efficiency
    }),
    ("allocation_efficiency", |f| f.ratios.allocation_efficiency),
    ("first_pass_yield", |f| f.ratios.first_pass_yield),
    ("rework_ratio", |f| f.ratios.rework_ratio),
    ("scrap_ratio", |f| f.ratios.scrap_ratio),
    ("fall_off", |f| f.ratios.fall_off),
];

/// Every group a row; empty cells where there is nothing to divide by.
pub(super) fn csv(figures: &BTreeMap<Of, Figures>) -> String {
    let names: Vec<&str> = COLUMNS.iter().map(|column| column.0).collect();
    let mut text = format!("shop,line,station,day,shift,{}\n", names.join(","));
    for (of, found) in figures {
        let mut cells: Vec<String> = [&of.shop, &of.line, &of.station, &of.day, &of.shift]
            .into_iter()
            .map(|cell| crate::csv::cell(cell))
            .collect();
        cells.extend(COLUMNS.iter().map(|(_, value)| {
            let value = value(found).filter(|value| value.is_finite());
            value.map_or_else(String::new, |value| format!("{value:.6}"))
        }));
        text += &cells.join(",");
        text.push('\n');
    }
    text
}

/// The shops and the plant.
pub(super) fn shops(rows: &[Row]) -> Grid {
    let mut grid = Grid::new([
        ("shop", Side::Left),
        ("", Side::Left),
        ("availability", Side::Right),
        ("effectiveness", Side::Right),
        ("quality", Side::Right),
        ("OEE", Side::Right),
        ("NEE", Side::Right),
        ("starved", Side::Right),
        ("blocked", Side::Right),
        ("first pass", Side::Right),
    ]);
    let shown = |value: Option<f64>| value.map_or_else(|| "-".to_owned(), |v| percent(v, 1));
    for Row { of, figures: f } in rows
        .iter()
        .filter(|row| row.of.line.is_empty() && row.of.station.is_empty())
    {
        let share = |s: f64| shown((f.pbt_s > 0.0).then(|| s / f.pbt_s));
        grid.row([
            if of.shop.is_empty() {
                "plant".to_owned()
            } else {
                of.shop.clone()
            },
            format!("{} {}", of.day, of.shift).trim().to_owned(),
            shown(f.ratios.availability),
            shown(f.ratios.effectiveness),
            shown(f.ratios.quality_ratio),
            shown(f.ratios.oee),
            shown(f.ratios.nee),
            share(f.starved_s),
            share(f.blocked_s),
            shown(f.ratios.first_pass_yield),
        ]);
    }
    grid
}

/// Jobs below which a mean cycle is no news.
const FEW: u64 = 20;
/// Jobs of a week below which its mean may move by more than [`NEAR`] by luck.
const OFTEN: u64 = 500;
/// A cycle this near to its plan is as planned.
const NEAR: f64 = 0.01;
/// Standard errors within which a mean lies by luck: among thousands of means
/// hardly one lies further out.
const LUCK: f64 = 4.0;

/// The cycles furthest from planned, by station and product.
pub(super) fn cycles(rows: &[CycleRow], most: usize) -> Grid {
    let mut grid = Grid::new([
        ("station", Side::Left),
        ("product", Side::Left),
        ("jobs", Side::Right),
        ("planned s", Side::Right),
        ("mean s", Side::Right),
        ("spread s", Side::Right),
    ]);
    let off = |row: &CycleRow| {
        row.planned_s
            .map_or(0.0, |planned| (row.mean_s / planned - 1.0).abs())
    };
    let beyond_luck = |row: &CycleRow| {
        let error = row.deviation_s.unwrap_or(0.0) / (row.jobs.max(1) as f64).sqrt();
        let apart = |planned: f64| (row.mean_s - planned).abs() > LUCK * error;
        row.planned_s.is_some_and(apart)
    };
    let mut far: Vec<&CycleRow> = rows
        .iter()
        .filter(|row| row.jobs >= FEW && off(row) > NEAR && beyond_luck(row))
        .collect();
    far.sort_by(|a, b| off(b).total_cmp(&off(a)));
    for row in far.into_iter().take(most) {
        grid.row([
            row.station.clone(),
            row.product.clone(),
            row.jobs.to_string(),
            row.planned_s
                .map_or_else(|| "-".to_owned(), |s| number(s, 1)),
            number(row.mean_s, 1),
            row.deviation_s
                .map_or_else(|| "-".to_owned(), |s| number(s, 1)),
        ]);
    }
    grid
}

/// Stations whose cycle moved against its plan from their first week to their
/// last, the most first.
pub(super) fn drifted(weeks: &[Week], most: usize) -> Grid {
    let mut grid = Grid::new([
        ("station", Side::Left),
        ("weeks", Side::Right),
        ("cycle at first", Side::Right),
        ("at last", Side::Right),
        ("min between stops", Side::Right),
        ("at last", Side::Right),
    ]);
    let mut stations: BTreeMap<&str, Vec<&Week>> = BTreeMap::new();
    for week in weeks.iter().filter(|week| week.jobs >= OFTEN) {
        stations.entry(&week.station).or_default().push(week);
    }
    let moved = |weeks: &[&Week]| {
        let (first, last) = (weeks.first()?.cycle_ratio?, weeks.last()?.cycle_ratio?);
        Some((last / first - 1.0).abs()).filter(|moved| *moved > NEAR)
    };
    let mut far: Vec<(f64, &str, &Vec<&Week>)> = (stations.iter())
        .filter_map(|(station, weeks)| Some((moved(weeks)?, *station, weeks)))
        .collect();
    far.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(b.1)));
    let ratio = |week: &Week| {
        week.cycle_ratio
            .map_or_else(|| "-".to_owned(), |r| percent(r, 1))
    };
    let between = |week: &Week| {
        week.mtbf_min
            .map_or_else(|| "-".to_owned(), |m| number(m, 0))
    };
    for (_, station, weeks) in far.into_iter().take(most) {
        let (first, last) = (weeks[0], weeks[weeks.len() - 1]);
        grid.row([
            station.to_owned(),
            weeks.len().to_string(),
            ratio(first),
            ratio(last),
            between(first),
            between(last),
        ]);
    }
    grid
}
