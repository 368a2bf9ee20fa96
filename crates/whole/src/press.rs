//! The press shop within the plant: what the plan needs of it, when its lines
//! work, how long the way to the finished car is, and how its timetable drives
//! the flow.
//!
//! Where the plant says `lots_from_timetable`, plan and run take the timetable's
//! lots wherever the `parts` table leaves a lot empty. [`with_lots`] does the
//! same to every part, for a run that asks what the timetable would give.

use book::{At, Book, Part, PartSource, Problem, Severity, Table};
use formulas::{Origin, Sourced};
use shops::press::{LineHours, Need, Question};
use units::{Count, Days};

use crate::calendar::{WEEK, Weekly, weekly_spells};
use crate::lots::{self, Timetabled};
use crate::plan::{self, RatePlan};
use crate::requirement::{Requirement, requirement};

pub use shops::press::{
    CycleLot, Halved, MovePart, Overload, PartLots, Policy, Press, PressLineLots, PressPart,
    Progress, Screen, ShopFigure, ShopValue, TooStrong, Watch, WeekLot,
};

const HOUR_S: f64 = 3_600.0;
const ALL_WEEK_H: f64 = 168.0;

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

/// The lots that drive plan and run where the book asks for it, or a note that
/// says why there are none.
pub(crate) fn driving(book: &Book) -> (Timetabled, Option<Problem>) {
    if !book.plant.lots_from_timetable.value || !leaves_a_lot_empty(book) {
        return (Timetabled::default(), None);
    }
    // What is wrong with the book is said by the plan itself.
    let Ok(press) = press(book, &Watch::none()) else {
        return (Timetabled::default(), Some(no_timetable(book, None)));
    };
    if press.lots.is_empty() {
        return (
            Timetabled::default(),
            Some(no_timetable(book, press.best.why)),
        );
    }
    let lots = press.lots.into_iter();
    let lots = lots.map(|lot| ((lot.part, lot.blanks), lot.lot));
    (Timetabled(lots.collect()), None)
}

fn leaves_a_lot_empty(book: &Book) -> bool {
    let made = book.parts.iter().filter(|p| p.source == PartSource::Made);
    made.into_iter().any(|part| {
        let blanks = part.blank_line.is_some() && part.blank_lot.is_none();
        let panels = part.press_line.is_some() && part.lot.is_none();
        blanks || panels
    })
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

/// The book with every lot that of the press shop's timetable, whatever the book
/// says: the variant to run against the book as it is. Places given stay as
/// they are, since the timetable's lots fit in.
#[must_use]
pub fn with_lots(book: &Book, press: &Press) -> Book {
    let mut book = book.clone();
    for lot in &press.lots {
        let Some(part) = book.parts.iter_mut().find(|part| part.part == lot.part) else {
            continue;
        };
        // a lot is at least one piece and below what a u32 counts
        let pieces = Some(lot.lot.ceil().clamp(1.0, f64::from(u32::MAX)) as u32);
        if lot.blanks {
            part.blank_lot = pieces;
            // blanks without a press of their own are parts
            if part.press_line.is_none() {
                part.lot = pieces;
            }
        } else {
            part.lot = pieces;
        }
    }
    book
}

#[cfg(test)]
mod tests;
