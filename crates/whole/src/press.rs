//! The press shop within the plant: what the plan needs of it, when its lines
//! work, how long the way to the finished car is, and how its timetable drives
//! the flow.
//!
//! Where the plant says `lots_from_timetable`, plan and run take the timetable's
//! lots wherever the `parts` table leaves a lot empty, make them in the
//! timetable's order and each part on the line that it gives. [`by_timetable`]
//! does the same to every part, for a run that asks what the timetable would
//! give.

use std::borrow::Cow;

use book::{At, Book, Part, PartSource, Problem, Severity, Table};
use formulas::{Origin, Sourced};
use shops::press::{LineHours, Need, Question};
use units::{Count, Days};

use crate::calendar::{WEEK, Weekly, weekly_spells};
use crate::lots::{self, MadeIn, Timetabled, TurnOf};
use crate::plan::{self, RatePlan};
use crate::requirement::{Requirement, requirement};

pub use shops::press::{
    CycleLot, Halved, MovePart, Overload, PartLots, Policy, Press, PressLineLots, PressPart,
    Progress, Screen, ShopFigure, ShopValue, TooStrong, Watch, WeekLot,
};

const HOUR_S: f64 = 3_600.0;
const ALL_WEEK_H: f64 = 168.0;
const WEEK_DAYS: f64 = 7.0;

/// The press shop's plan for the book's cars.
///
/// # Errors
///
/// All problems at once: those of the rate plan and of the press shop.
pub fn press(book: &Book, watch: &Watch<'_>) -> Result<Press, Vec<Problem>> {
    let plan = plan::plan_with(book, &Timetabled::default())?;
    let need = requirement(book)?;
    shops::press::press(
        &Question {
            book,
            needs: &needs(book, &need),
            hours: &hours(book),
            after: after(book, &plan),
            search: Question::SEARCH,
        },
        watch,
    )
}

/// What a week needs of every part.
fn needs(book: &Book, need: &Requirement) -> Vec<Need> {
    let parts = book.parts.iter().zip(&need.parts);
    parts
        .map(|(part, need)| {
            let made = part.source == PartSource::Made;
            let panels = need.good / workdays(book, drawing_shop(book, part, false));
            let blanks = need.begun / workdays(book, drawing_shop(book, part, true));
            Need {
                good: if made { need.good } else { 0.0 },
                begun: need.begun,
                panel_safety: safety(part, false, panels),
                blank_safety: safety(part, true, blanks),
            }
        })
        .collect()
}

/// Pieces left when the next lot comes: those of the run.
fn safety(part: &Part, blanks: bool, used_per_day: f64) -> Sourced<Count> {
    let start = lots::of(part, blanks, used_per_day, &Timetabled::default()).start_below;
    let pieces = Count(f64::from(start.pieces));
    if start.given {
        Sourced::cell(pieces, "parts", part.at.row as usize, "start_below")
    } else {
        Sourced::usual(pieces, "parts", "start_below")
    }
}

/// The shop that draws a part's blanks or panels.
fn drawing_shop<'a>(book: &'a Book, part: &Part, blanks: bool) -> Option<&'a str> {
    let press = part.press_line.as_ref();
    let press = press.and_then(|name| book.press_lines.iter().find(|r| r.press_line == *name));
    if let (true, Some(press)) = (blanks, press) {
        return Some(&press.shop);
    }
    let to = part.to.as_ref()?;
    let to = book.stations.iter().find(|row| row.station == *to)?;
    Some(&to.shop)
}

fn workdays(book: &Book, shop: Option<&str>) -> f64 {
    shop.and_then(|shop| weekly_spells(book, shop))
        .map_or(7.0, |week| f64::from(week.workdays.max(1)))
}

/// When each press line works.
fn hours(book: &Book) -> Vec<LineHours> {
    let of = |week: Weekly| LineHours {
        net_h: week.net().0 / HOUR_S,
        open: week
            .open
            .iter()
            .map(|(from, to)| (from.0 / HOUR_S, to.0 / HOUR_S))
            .collect(),
    };
    let always = || LineHours {
        net_h: WEEK.0 / HOUR_S,
        open: vec![(0.0, ALL_WEEK_H)],
    };
    let lines = book.press_lines.iter();
    lines
        .map(|line| weekly_spells(book, &line.shop).map_or_else(always, of))
        .collect()
}

/// Days from the panel joined to the finished car: as the book says, or with
/// every place filled, the planned stages of the longest way that are no lots.
fn after(book: &Book, plan: &RatePlan) -> Sourced<Days> {
    let setting = &book.plant.after_press_days;
    if let (Some(days), Some(at)) = (setting.value, setting.at) {
        return Sourced::cell(days, at.table.name(), at.row as usize, "value");
    }
    let stages = plan.lead_time.iter().flat_map(|time| &time.stages);
    let stages = stages.filter(|stage| stage.of_cars());
    let (days, from): (Vec<f64>, Vec<Origin>) = stages
        .map(|stage| (stage.days.value, stage.days.from.clone()))
        .unzip();
    Sourced::new(Days(days.iter().sum()), Origin::Several(from))
}

/// What drives the press lines in plan and run.
pub(crate) struct Driven<'b> {
    /// The book, with each part on the line that the timetable gives it.
    pub(crate) book: Cow<'b, Book>,
    pub(crate) timetabled: Timetabled,
    /// Why there is no timetable where the book asks for one.
    pub(crate) why_not: Option<Problem>,
}

/// The timetable that drives plan and run where the book asks for it, or a note
/// that says why there is none.
pub(crate) fn driving(book: &Book) -> Driven<'_> {
    let undriven = |why_not| Driven {
        book: Cow::Borrowed(book),
        timetabled: Timetabled::default(),
        why_not,
    };
    if !book.plant.lots_from_timetable.value {
        return undriven(None);
    }
    if !leaves_a_lot_empty(book) {
        return undriven(Some(all_given(book)));
    }
    // What is wrong with the book is said by the plan itself.
    let Ok(press) = press(book, &Watch::none()) else {
        return undriven(Some(no_timetable(book, None)));
    };
    if press.lots.is_empty() {
        return undriven(Some(no_timetable(book, press.best.why)));
    }
    let mut driven = Driven {
        book: Cow::Borrowed(book),
        timetabled: timetabled(book, &press),
        // Some lines may have none.
        why_not: press
            .best
            .why
            .clone()
            .map(|why| no_timetable(book, Some(why))),
    };
    for lot in press.lots.iter().filter(|lot| !lot.own_line) {
        move_to_line(driven.book.to_mut(), lot, &press);
    }
    driven
}

/// The rows and units of the lines of a press shop's plan, by their names.
fn unit_of(book: &Book, press: &Press, line: &str) -> Option<(usize, usize)> {
    let at = press.lines.iter().position(|row| row.line == line)?;
    let row = press.lines[at].at;
    let unit = press.lines[..at].iter().filter(|other| other.at == row);
    let unit = unit.count();
    let position = book.press_lines.iter().position(|own| own.at == row)?;
    Some((position, unit))
}

fn timetabled(book: &Book, press: &Press) -> Timetabled {
    let mut timetabled = Timetabled::default();
    for line in &press.lines {
        let turns = line.cycle.iter().map(|lot| TurnOf {
            part: lot.part.clone(),
            blanks: lot.blanks,
            pieces: lot.lot,
        });
        if let Some(unit) = unit_of(book, press, &line.line) {
            timetabled.order.insert(unit, turns.collect());
        }
    }
    for lot in &press.lots {
        let unit = unit_of(book, press, &lot.line).map_or(0, |(_, unit)| unit);
        let made = MadeIn {
            lot: lot.lot,
            safety: lot.safety,
            at_start: lot.safety + at_start(&press.lines, lot),
            unit,
        };
        timetabled.made.insert((lot.part.clone(), lot.blanks), made);
    }
    timetabled
}

/// Pieces above the safety stock as the timetable begins: what is used until the
/// part's first run begins, less what a run that began before still makes.
fn at_start(lines: &[PressLineLots], lot: &PartLots) -> f64 {
    let Some(line) = lines.iter().find(|line| line.line == lot.line) else {
        return 0.0;
    };
    let own = |turn: &&CycleLot| turn.part == lot.part && turn.blanks == lot.blanks;
    let runs = |turn: &CycleLot| {
        let from = turn.start_day + turn.changeover_days;
        (from, from + turn.run_days)
    };
    let mut first = f64::INFINITY;
    let mut still_made = 0.0;
    for turn in line.cycle.iter().filter(own) {
        let (from, to) = runs(turn);
        let (before, after) = (from - line.cycle_days, to - line.cycle_days);
        first = first.min(if before >= 0.0 { before } else { from });
        // In the cycle before, it may have begun and not ended.
        if before < 0.0 && after > 0.0 && turn.run_days > 0.0 {
            still_made += turn.lot * after / turn.run_days;
        }
    }
    if first.is_finite() {
        (lot.used_per_week / WEEK_DAYS * first - still_made).max(0.0)
    } else {
        0.0
    }
}

fn move_to_line(book: &mut Book, lot: &PartLots, press: &Press) {
    let Some((row, _)) = unit_of(book, press, &lot.line) else {
        return;
    };
    let name = book.press_lines[row].press_line.clone();
    let Some(part) = book.parts.iter_mut().find(|part| part.at == lot.at) else {
        return;
    };
    if lot.blanks {
        part.blank_line = Some(name);
    } else {
        part.press_line = Some(name);
    }
}

fn leaves_a_lot_empty(book: &Book) -> bool {
    let made = book.parts.iter().filter(|p| p.source == PartSource::Made);
    made.into_iter().any(|part| {
        let blanks = part.blank_line.is_some() && part.blank_lot.is_none();
        let panels = part.press_line.is_some() && part.lot.is_none();
        blanks || panels
    })
}

fn all_given(book: &Book) -> Problem {
    Problem {
        found: "every lot in `parts` is given".into(),
        expected: "parts that leave lot or blank_lot empty, to take them from the timetable".into(),
        mend: "empty lot and blank_lot of the parts that the timetable is to drive".into(),
        ..no_timetable(book, None)
    }
}

fn no_timetable(book: &Book, why: Option<String>) -> Problem {
    let at: Option<At> = book.plant.lots_from_timetable.at;
    Problem {
        code: "plant/no-timetable".into(),
        severity: Severity::Note,
        table: Table::Plant.name().into(),
        row: at.map(|at| at.row),
        column: Some("lots_from_timetable".into()),
        found: why.unwrap_or_else(|| "no timetable of the press lines".into()),
        expected: "a timetable to take empty lots from; they are half a day of use instead".into(),
        mend: "ask for the press shop's plan, which says what is missing".into(),
        nearest: None,
    }
}

/// The book with its press lines driven by the timetable, whatever it says of
/// lots: the variant to run against the book as it is. Places given stay as
/// they are, since the timetable's lots fit in.
#[must_use]
pub fn by_timetable(book: &Book) -> Book {
    let mut book = book.clone();
    book.plant.lots_from_timetable.value = true;
    let made = |part: &&mut Part| part.source == PartSource::Made;
    for part in book.parts.iter_mut().filter(made) {
        part.blank_lot = None;
        part.lot = None;
    }
    book
}

#[cfg(test)]
mod tests;
