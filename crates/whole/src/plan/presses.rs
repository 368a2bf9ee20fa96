//! Load of the blanking, laser and press lines: runs, stops and changeovers.
//!
//! Each piece pressed takes one blank. A part that names no lot gets the usual
//! one, as in the run.

use book::{Part, PartSource, PressLine, Problem, Severity};
use formulas::{PerMinute, Sourced, rate_plan, reliability};
use units::{Count, Hours, Share};

use super::sheet::{Made, Sheet, cell};
use super::stations::{alone, planned};
use super::{Basis, LotRun, PressLinePlan};
use crate::lots::{self, LotFigure};

/// A part on a line, before its figures.
struct Job<'a> {
    part: &'a Part,
    position: usize,
    blanks: bool,
    /// The shop that draws the pieces.
    drawn_by: &'a str,
}

/// A run with what the line's load sums.
struct Run {
    plan: LotRun,
    hours: Sourced<Hours>,
    lots: Sourced<Count>,
}

/// The lines' plans, in the book's order.
pub(super) fn plan(sheet: &mut Sheet, basis: &Basis<'_>) -> Vec<PressLinePlan> {
    let book = basis.book;
    book.press_lines
        .iter()
        .filter_map(|line| {
            let runs: Vec<Run> = jobs(basis, line)
                .iter()
                .filter_map(|job| run(sheet, basis, line, job))
                .collect();
            one(sheet, basis, line, runs)
        })
        .collect()
}

/// The parts that a line makes: their panels, or their blanks.
fn jobs<'a>(basis: &Basis<'a>, line: &PressLine) -> Vec<Job<'a>> {
    let book = basis.book;
    let shop_of = |name: &str| {
        let row = book.press_lines.iter().find(|row| row.press_line == name);
        row.map(|row| row.shop.as_str())
    };
    let joined_in = |part: &Part| {
        let to = part.to.as_deref();
        let row = book
            .stations
            .iter()
            .find(|row| Some(row.station.as_str()) == to);
        row.map(|row| row.shop.as_str())
    };
    let mut jobs = Vec::new();
    for (position, part) in book.parts.iter().enumerate() {
        if part.source == PartSource::Bought || basis.need.parts[position].good <= 0.0 {
            continue;
        }
        let own_shop = book
            .press_lines
            .iter()
            .find(|row| row.press_line == line.press_line);
        let own_shop = own_shop.map_or("", |row| row.shop.as_str());
        let joined = joined_in(part).unwrap_or(own_shop);
        let pressed_in = part.press_line.as_deref().and_then(shop_of);
        let mut push = |blanks, drawn_by| {
            jobs.push(Job {
                part,
                position,
                blanks,
                drawn_by,
            });
        };
        if part.press_line.as_ref() == Some(&line.press_line) {
            push(false, joined);
        }
        if part.blank_line.as_ref() == Some(&line.press_line) {
            push(true, pressed_in.unwrap_or(joined));
        }
    }
    jobs
}

/// Pieces, lots, hours and age of one part on one line.
fn run(sheet: &mut Sheet, basis: &Basis<'_>, line: &PressLine, job: &Job<'_>) -> Option<Run> {
    let part = job.part;
    let (speed, per_stroke) = speed(sheet, job)?;
    let made = if job.blanks { "blanks" } else { "panels" };
    let id = format!("line.{}.{}.{made}", line.press_line, part.part);
    let at = Some(part.at);
    let pieces = pieces(sheet, basis, job, &id)?;
    let hours = sheet.add(
        format!("{id}.run"),
        format!(
            "hours a week that {} makes {made} of {}",
            line.press_line, part.part
        ),
        at,
        rate_plan::run_hours(pieces.part(|p| *p), speed, per_stroke),
    )?;
    let days = basis
        .shops
        .get(job.drawn_by)
        .map_or(7.0, super::shops::Hours::workdays);
    let need = &basis.need.parts[job.position];
    // A press draws a blank for every panel it begins.
    let drawn = if lots::feeds_press(part, job.blanks) {
        need.begun
    } else {
        need.good
    };
    let usual = lots::of(part, job.blanks, drawn / days, basis.timetabled);
    let lot = lot_cell(part, usual.lot, usual.lot_column);
    let safety = lot_cell(part, usual.start_below, "start_below");
    let lots = sheet.add(
        format!("{id}.lots"),
        format!("lots a week of {made} of {}", part.part),
        at,
        rate_plan::lots_per_week(pieces.part(|p| *p), &lot),
    )?;
    let cover = sheet.add(
        format!("{id}.age"),
        format!("oldest {made} of {}", part.part),
        at,
        rate_plan::lot_cover(&lot, &safety, pieces.part(|p| *p)),
    )?;
    Some(Run {
        hours: hours.part(|hours| *hours),
        lots: lots.part(|lots| *lots),
        plan: LotRun {
            part: part.part.clone(),
            blanks: job.blanks,
            pieces: pieces.planned(|pieces| pieces.0),
            lot: planned(&lot, |lot| lot.0),
            lots: lots.planned(|lots| lots.0),
            run_h: hours.planned(|hours| hours.0),
            worst_age_days: cover.planned(|cover| cover.worst.0),
        },
    })
}

/// A lot's figure with its cell, or as the usual one.
fn lot_cell(part: &Part, figure: LotFigure, column: &str) -> Sourced<Count> {
    let pieces = Count(f64::from(figure.pieces));
    if figure.given {
        cell(pieces, part.at, column)
    } else {
        Sourced::usual(pieces, "parts", column)
    }
}

/// Strokes a minute and pieces of each; a line without them has no load.
fn speed(sheet: &mut Sheet, job: &Job<'_>) -> Option<(Sourced<PerMinute>, Sourced<Count>)> {
    let part = job.part;
    let (speed, column, per_stroke) = if job.blanks {
        (part.blanks_per_min, "blanks_per_min", 1)
    } else {
        (
            part.strokes_per_min,
            "strokes_per_min",
            part.pieces_per_stroke,
        )
    };
    let Some(speed) = speed else {
        sheet.refuse(no_speed(part, column));
        return None;
    };
    let pieces = Count(f64::from(per_stroke));
    Some((
        cell(PerMinute(speed), part.at, column),
        cell(pieces, part.at, "pieces_per_stroke"),
    ))
}

fn no_speed(part: &Part, column: &str) -> Problem {
    let table = part.at.table.name();
    Problem {
        code: format!("{table}/no-speed"),
        severity: Severity::Error,
        table: table.to_owned(),
        row: Some(part.at.row),
        column: Some(column.to_owned()),
        found: format!("no speed for `{}`", part.part),
        expected: format!("`{column}` above 0 for a part with this line"),
        mend: "give the speed, or take the line away from the part".to_owned(),
        nearest: None,
    }
}

fn pieces(sheet: &mut Sheet, basis: &Basis<'_>, job: &Job<'_>, id: &str) -> Option<Made<Count>> {
    let part = job.part;
    let good = basis.need.parts[job.position].good;
    let jobs = Count(good / f64::from(part.per_car));
    // Jobs of the products that take the part, at the station that joins it.
    let jobs = match &part.to {
        Some(to) => Sourced::figure(jobs, format!("station.{to}.jobs")),
        None => Sourced::figure(jobs, "cascade"),
    };
    sheet.add(
        format!("{id}.pieces"),
        format!("pieces a week of {}", part.part),
        Some(part.at),
        rate_plan::pieces_needed(
            jobs,
            cell(Count(f64::from(part.per_car)), part.at, "per_car"),
            cell(part.scrap, part.at, "scrap"),
        ),
    )
}

fn availability(sheet: &mut Sheet, line: &PressLine) -> Option<Sourced<Share>> {
    match line.mtbf_min.zip(line.mttr_min) {
        Some((between, repair)) => {
            let made = reliability::availability_from_mtbf(
                cell(between, line.at, "mtbf_min"),
                cell(repair, line.at, "mttr_min"),
            );
            let title = format!("availability of {}", line.press_line);
            let id = format!("line.{}.availability", line.press_line);
            let made = sheet.add(id, title, Some(line.at), made)?;
            Some(made.part(|availability| *availability))
        }
        None => Some(Sourced::usual(Share(1.0), "press_lines", "mtbf_min")),
    }
}

fn one(
    sheet: &mut Sheet,
    basis: &Basis<'_>,
    line: &PressLine,
    runs: Vec<Run>,
) -> Option<PressLinePlan> {
    let name = line.press_line.as_str();
    let at = Some(line.at);
    let availability = availability(sheet, line)?;
    let (mut hours, mut lots): (Vec<_>, Vec<_>) = runs
        .iter()
        .map(|run| (run.hours.clone(), run.lots.clone()))
        .unzip();
    if runs.is_empty() {
        // A line that no part names does nothing.
        hours.push(Hours(0.0).into());
        lots.push(Count(0.0).into());
    }
    let load = sheet.add(
        format!("line.{name}.load"),
        format!("load of {name}"),
        at,
        rate_plan::lot_line_load(
            hours,
            lots,
            cell(line.change_min, line.at, "change_min"),
            cell(line.first_off_min, line.at, "first_off_min"),
            &availability,
            &basis.shops.get(&line.shop)?.net,
            cell(Count(f64::from(line.units)), line.at, "units"),
        ),
    )?;
    Some(PressLinePlan {
        press_line: line.press_line.clone(),
        shop: line.shop.clone(),
        at: line.at,
        availability: planned(&availability, |availability| availability.0),
        changing_h: load.planned(|load| load.changing.0),
        units_needed: load.planned(|load| load.units_needed.0),
        overtime_h: load.planned(|load| load.overtime.0),
        alone: alone(
            sheet,
            basis,
            &format!("line.{name}"),
            load.part(|load| load.load),
        ),
        over: formulas::over(load.value.load.0),
        load: load.planned(|load| load.load.0),
        runs: runs.into_iter().map(|run| run.plan).collect(),
    })
}
