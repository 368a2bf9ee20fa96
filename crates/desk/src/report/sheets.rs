//! The tables of the report, before they are HTML or a workbook.

use flow::statistics::Interval;
use whole::findings::{Answer, Verdict};
use whole::network::Way;
use whole::plan::{Planned, RatePlan};

use super::{Report, course, first_time, growth, money};

/// A cell.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Cell {
    /// Nothing.
    Empty,
    /// Words.
    Text(String),
    /// A number, shown with so many decimals.
    Number(f64, usize),
    /// A share, shown in per cent.
    Share(f64),
    /// A mean with the half-width of its interval.
    Interval(Interval, usize),
    /// The same of a share.
    ShareInterval(Interval),
}

/// A table with a title.
pub(super) struct Sheet {
    pub(super) title: &'static str,
    /// What a reader has to know of it.
    pub(super) note: String,
    /// A drawing of it for paper, as SVG; empty for none.
    pub(super) picture: String,
    pub(super) columns: Vec<&'static str>,
    pub(super) rows: Vec<Vec<Cell>>,
    /// Whether it needs the wide paper.
    pub(super) wide: bool,
}

impl Sheet {
    pub(super) fn new(title: &'static str, columns: &[&'static str], rows: Vec<Vec<Cell>>) -> Self {
        Self {
            title,
            note: String::new(),
            picture: String::new(),
            columns: columns.to_vec(),
            wide: columns.len() > 8,
            rows,
        }
    }

    pub(super) fn note(mut self, note: impl Into<String>) -> Self {
        self.note = note.into();
        self
    }

    pub(super) fn picture(mut self, picture: String) -> Self {
        self.picture = picture;
        self
    }
}

pub(super) fn number(value: f64, decimals: usize) -> Cell {
    Cell::Number(value, decimals)
}

/// A number, or an empty cell where there is none.
pub(super) fn number_if_any(value: Option<f64>, decimals: usize) -> Cell {
    value.map_or(Cell::Empty, |value| number(value, decimals))
}

pub(super) fn text(text: impl Into<String>) -> Cell {
    Cell::Text(text.into())
}

fn count(count: u32) -> Cell {
    Cell::Number(f64::from(count), 0)
}

fn value(planned: &Planned, decimals: usize) -> Cell {
    Cell::Number(planned.value, decimals)
}

fn if_any(planned: Option<&Planned>, decimals: usize) -> Cell {
    planned.map_or(Cell::Empty, |planned| value(planned, decimals))
}

fn share(planned: &Planned) -> Cell {
    Cell::Share(planned.value)
}

pub(super) fn verdict(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Met => "met",
        Verdict::Open => "not shown",
        Verdict::Missed => "not met",
    }
}

/// All sheets of plan and answer, in the order in which they are read; sheets
/// without rows are left out.
pub(super) fn sheets(report: &Report<'_>) -> Vec<Sheet> {
    let mut all = Vec::new();
    if let Some(answer) = report.answer {
        all.extend([
            products(answer),
            times(answer),
            first_time::measured(answer),
            first_time::losses(answer),
            bridge(answer),
            suspects(answer),
        ]);
        all.push(trials(answer));
    }
    all.extend([shortfalls(report.plan), shops(report.plan)]);
    all.extend(report.answer.map(course::shops));
    all.extend([
        press_lines(report.plan),
        lots(report.plan),
        carriers(report.plan),
    ]);
    all.extend([lead_time(report.plan), first_time::planned(report.plan)]);
    all.extend(money::on_paper(report.money, report.ideas_by));
    all.extend(report.growth.map(growth::in_short).unwrap_or_default());
    if let Some(answer) = report.answer {
        all.extend([stages(answer), course::days(answer), course::spread(answer)]);
    }
    all.push(stations(report.plan));
    if let Some(answer) = report.answer {
        all.extend([states(answer), banks(answer)]);
    }
    all.push(notes(report));
    all.retain(|sheet| !sheet.rows.is_empty());
    all
}

fn products(answer: &Answer) -> Sheet {
    let row = |name: &str, needed, made, met| {
        vec![
            text(name),
            Cell::Number(needed, 0),
            Cell::Interval(made, 1),
            text(verdict(met)),
        ]
    };
    let mut rows: Vec<_> = answer
        .products
        .iter()
        .map(|product| {
            row(
                &product.product,
                product.needed,
                product.made,
                product.verdict,
            )
        })
        .collect();
    rows.push(row("all", answer.needed, answer.made, answer.verdict));
    let columns = ["product", "needed a week", "made a week", "plan"];
    Sheet::new("Cars a week", &columns, rows)
}

fn times(answer: &Answer) -> Sheet {
    let time = &answer.coil_to_car;
    let row = |what: &str, days, target: Cell, met: Cell| {
        vec![text(what), Cell::Interval(days, 2), target, met]
    };
    let rows = vec![
        row("one car in ten within", time.p10, Cell::Empty, Cell::Empty),
        row(
            "half of the cars within",
            time.p50,
            Cell::Empty,
            Cell::Empty,
        ),
        row(
            "nine cars in ten within",
            time.p90,
            Cell::Number(time.target_days, 1),
            text(verdict(time.verdict)),
        ),
    ];
    Sheet::new("Coil to car", &["", "days", "target", "plan"], rows)
}

fn bridge(answer: &Answer) -> Sheet {
    let columns = ["", "cars a week"];
    let Some(bridge) = &answer.bridge else {
        return Sheet::new("From needed to made", &columns, Vec::new());
    };
    let mut rows = vec![vec![text("needed"), Cell::Number(bridge.needed, 0)]];
    let parts = bridge.parts.iter();
    rows.extend(parts.map(|part| vec![text(&part.words), Cell::Interval(part.cars, 1)]));
    rows.push(vec![text("made"), Cell::Interval(bridge.made, 1)]);
    Sheet::new("From needed to made", &columns, rows)
        .note(format!("As the constraint {} sees it.", bridge.station))
}

fn suspects(answer: &Answer) -> Sheet {
    let row = |suspect: &whole::findings::Suspect| {
        vec![
            text(&suspect.name),
            Cell::Share(suspect.path.total()),
            Cell::Share(suspect.path.cycle),
            Cell::Share(suspect.path.repair),
            Cell::Share(suspect.path.changeover),
            text(&suspect.explanation),
        ]
    };
    let columns = [
        "station",
        "critical path",
        "of it cycle",
        "of it stops",
        "of it changeovers",
        "how the stations around it wait",
    ];
    let rows = answer.constraint.iter().map(row).collect();
    Sheet::new("What holds the plant back", &columns, rows)
}

fn trials(answer: &Answer) -> Sheet {
    let mut rows = Vec::new();
    for suspect in &answer.constraint {
        for trial in &suspect.trials {
            rows.push(vec![
                text(&suspect.name),
                Cell::Share(trial.cut),
                Cell::Number(trial.predicted, 1),
                Cell::Interval(trial.gain, 1),
                text(if trial.shown { "shown" } else { "may be luck" }),
                text(&trial.finding),
            ]);
        }
    }
    let columns = [
        "station",
        "time cut by",
        "cars a week foreseen",
        "cars a week gained",
        "difference",
        "finding",
    ];
    Sheet::new("The suspects on trial", &columns, rows)
        .note("The plant again with one time shorter and the same luck.")
}

fn shortfalls(plan: &RatePlan) -> Sheet {
    let row = |short: &whole::plan::Shortfall| {
        vec![
            text(&short.name),
            text(&short.shop),
            Cell::Share(short.load),
            Cell::Number(short.cars_short, 0),
            text(&short.mend),
        ]
    };
    let columns = [
        "name",
        "shop",
        "load",
        "cars a week short",
        "what would free it",
    ];
    Sheet::new(
        "What falls short in the plan",
        &columns,
        plan.shortfalls.iter().map(row).collect(),
    )
}

fn shops(plan: &RatePlan) -> Sheet {
    let row = |shop: &whole::plan::ShopPlan| {
        let busiest = shop.busiest.as_ref();
        vec![
            text(&shop.shop),
            value(&shop.net_time_h, 1),
            Cell::Number(shop.cars, 0),
            if_any(shop.takt_s.as_ref(), 1),
            busiest.map_or(Cell::Empty, |(name, _)| text(name)),
            busiest.map_or(Cell::Empty, |(_, load)| share(load)),
            if_any(shop.alone.as_ref(), 0),
            if_any(shop.positions.as_ref(), 1),
            if_any(shop.payroll.as_ref(), 1),
            count(shop.robots),
        ]
    };
    let columns = [
        "shop",
        "hours a week",
        "cars a week",
        "takt s",
        "busiest",
        "its load",
        "alone a week",
        "people a shift",
        "on the payroll",
        "robots",
    ];
    Sheet::new("Shops", &columns, plan.shops.iter().map(row).collect())
        .note("Planned; alone means with everything before and behind it perfect.")
}

fn press_lines(plan: &RatePlan) -> Sheet {
    let row = |line: &whole::plan::PressLinePlan| {
        vec![
            text(&line.press_line),
            text(&line.shop),
            share(&line.availability),
            share(&line.load),
            value(&line.changing_h, 1),
            value(&line.units_needed, 0),
            value(&line.overtime_h, 1),
            if_any(line.alone.as_ref(), 0),
        ]
    };
    let columns = [
        "line",
        "shop",
        "availability",
        "load",
        "changing h a week",
        "lines needed",
        "missing h a week",
        "alone a week",
    ];
    Sheet::new(
        "Press lines",
        &columns,
        plan.press_lines.iter().map(row).collect(),
    )
}

fn lots(plan: &RatePlan) -> Sheet {
    let mut rows = Vec::new();
    for line in &plan.press_lines {
        for run in &line.runs {
            rows.push(vec![
                text(&line.press_line),
                text(&run.part),
                text(if run.blanks { "blanks" } else { "panels" }),
                value(&run.pieces, 0),
                value(&run.lot, 0),
                value(&run.lots, 1),
                value(&run.run_h, 2),
                value(&run.worst_age_days, 2),
            ]);
        }
    }
    let columns = [
        "line",
        "part",
        "makes",
        "pieces a week",
        "lot",
        "lots a week",
        "running h a week",
        "oldest piece days",
    ];
    Sheet::new("Lots", &columns, rows)
}

fn carriers(plan: &RatePlan) -> Sheet {
    let row = |fleet: &whole::plan::CarrierPlan| {
        vec![
            text(&fleet.carrier),
            count(fleet.count),
            value(&fleet.needed, 0),
            Cell::Share(fleet.load),
            if_any(fleet.alone.as_ref(), 0),
        ]
    };
    let columns = ["fleet", "there are", "needed", "load", "alone a week"];
    Sheet::new("Fleets", &columns, plan.carriers.iter().map(row).collect())
}

fn lead_time(plan: &RatePlan) -> Sheet {
    let Some(time) = &plan.lead_time else {
        return Sheet::new(
            "Planned days from coil to car",
            &["stage", "days"],
            Vec::new(),
        );
    };
    let stage = |age: &whole::plan::StageAge| vec![text(&age.stage), value(&age.days, 2)];
    let mut rows: Vec<_> = time.stages.iter().map(stage).collect();
    rows.push(vec![text("all"), value(&time.total_days, 2)]);
    rows.push(vec![text("target"), Cell::Number(time.target_days, 2)]);
    Sheet::new("Planned days from coil to car", &["stage", "days"], rows).note(&time.meaning)
}

fn stages(answer: &Answer) -> Sheet {
    let days = |seen: Option<Interval>| seen.map_or(Cell::Empty, |days| Cell::Interval(days, 2));
    let planned = |days: Option<f64>| days.map_or(Cell::Empty, |days| Cell::Number(days, 2));
    let row = |stage: &whole::findings::StageContent| {
        vec![
            text(&stage.stage),
            text(&stage.shop),
            Cell::Interval(stage.jobs, 1),
            days(stage.days),
            planned(stage.planned_days),
        ]
    };
    let mut rows: Vec<_> = answer.stages.iter().map(row).collect();
    rows.push(vec![
        text("all"),
        Cell::Empty,
        Cell::Interval(answer.jobs, 1),
        days(answer.coil_to_car.by_stage),
        planned(answer.coil_to_car.planned_days),
    ]);
    let columns = ["stage", "shop", "cars or pieces", "days", "by plan at most"];
    Sheet::new("In the plant", &columns, rows).note(
        "Days on the way that takes longest from coil to car; a car is as old as its oldest \
         piece, so that the mean car takes some more than all of them.",
    )
}

fn stations(plan: &RatePlan) -> Sheet {
    let row = |station: &whole::plan::StationPlan| {
        vec![
            text(&station.station),
            text(&station.shop),
            station.line.as_ref().map_or(Cell::Empty, text),
            count(station.units),
            value(&station.jobs, 0),
            value(&station.cycle_s, 1),
            share(&station.availability),
            value(&station.effective_cycle_s, 1),
            share(&station.load),
            value(&station.units_needed, 0),
            value(&station.overtime_h, 1),
            if_any(station.cycle_to_reach_s.as_ref(), 1),
            if_any(station.alone.as_ref(), 0),
        ]
    };
    let columns = [
        "station",
        "shop",
        "line",
        "units",
        "jobs a week",
        "cycle s",
        "availability",
        "job to job s",
        "load",
        "units needed",
        "missing h a week",
        "cycle to reach s",
        "alone a week",
    ];
    Sheet::new(
        "Stations in the plan",
        &columns,
        plan.stations.iter().map(row).collect(),
    )
}

fn states(answer: &Answer) -> Sheet {
    let row = |station: &whole::findings::StationStates| {
        vec![
            text(&station.station),
            text(&station.shop),
            text(&station.stage),
            Cell::Number(station.open_h, 1),
            Cell::ShareInterval(station.working),
            Cell::ShareInterval(station.starved),
            Cell::ShareInterval(station.blocked),
            Cell::ShareInterval(station.stopped),
            Cell::ShareInterval(station.crew_wait),
            Cell::ShareInterval(station.changeover),
            Cell::Share(station.path.total()),
        ]
    };
    let columns = [
        "station",
        "shop",
        "stage",
        "open h a week",
        "working",
        "starved",
        "blocked",
        "stopped",
        "of it for a crew",
        "changing",
        "critical path",
    ];
    Sheet::new(
        "Stations in the flow",
        &columns,
        answer.stations.iter().map(row).collect(),
    )
    .note("Shares of the time in which the station is there to work.")
}

fn banks(answer: &Answer) -> Sheet {
    let row = |bank: &whole::findings::Bank| {
        let what = match &bank.way {
            Way::Onward => "cars".to_owned(),
            Way::Rework => "rework".to_owned(),
            Way::Blanks(part) => format!("blanks of {part}"),
            Way::Panels(part) => format!("panels of {part}"),
        };
        vec![
            text(&bank.from),
            text(&bank.to),
            text(what),
            bank.holds.map_or_else(|| text("unlimited"), count),
            Cell::Interval(bank.content, 1),
            Cell::ShareInterval(bank.full),
            Cell::ShareInterval(bank.empty),
        ]
    };
    let columns = ["from", "to", "what", "places", "in it", "full", "empty"];
    Sheet::new(
        "Banks and stocks",
        &columns,
        answer.banks.iter().map(row).collect(),
    )
}

fn notes(report: &Report<'_>) -> Sheet {
    let of_run = report.answer.iter().flat_map(|answer| &answer.notes);
    let rows = report.plan.notes.iter().chain(of_run).map(|note| {
        vec![
            text(&note.table),
            note.row.map_or(Cell::Empty, count),
            note.column.as_ref().map_or(Cell::Empty, text),
            text(&note.found),
            text(&note.mend),
        ]
    });
    let columns = ["table", "row", "column", "found", "way out"];
    Sheet::new("Worth knowing", &columns, rows.collect())
}
