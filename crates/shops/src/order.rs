//! The build order: in which order a week's cars go through body, paint and
//! assembly.
//!
//! [`order`] takes the book, the pace of its stations and the room of the week,
//! and makes a [`BuildOrder`]. Cars are those of the table of orders and, by
//! the shares of options and colours, the rest of the week. Spacing rules are
//! those of the options and those of stations that an option overruns. The
//! order is then walked car by car through the stations, and through paint's
//! repairs and the painted-body store to what really reaches the line.
//!
//! *Never:* a takt of its own, a run, a clock.

mod answer;
mod ask;
mod clash;
mod cycles;
mod drift;
mod follow;
mod hand;
mod late;
mod luck;
mod model;
mod noted;
mod painted;
mod prices;
mod rules;
mod seat;
mod told;
mod uses;
mod week;
mod wrong;

use book::{Book, Problem};
use formulas::Sourced;
use units::Seconds;

use crate::sheet::Sheet;

pub use crate::follow::Progress;
pub use crate::sheet::{ShopFigure, ShopValue};
pub use cycles::cycle_of;
pub use drift::{DriftOnLine, StationDrift};
pub use follow::Watch;
pub use hand::{ByHand, HandGoal, HandMove, HandOrder, HandPlaces, HandStep};
pub use model::{
    Block, BuildOrder, ColourUse, GoalProof, Held, LevelPoint, LevelUse, Levelling, OrderRule,
    OrderSums, PlacedCar, Promised, Proof, RuleFrom, RulePrice,
};
pub use painted::{LaneStay, Off, PaintedStore, RepairWay, StoreNeed, StoreRule};
pub use sequence::{Fault, Settings};

/// A station as the order sees it.
#[derive(Clone, Debug)]
pub struct LineStation {
    /// Position of its row in the book.
    pub station: usize,
    /// Seconds from one car to the next there, all units together.
    pub takt: Sourced<Seconds>,
    /// Seconds that its work may drift past its end.
    pub drift_s: f64,
}

/// Room for cars in the week.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Slots {
    /// Working hours of the line.
    pub net_h: f64,
    /// Position of the slowest station's row.
    pub station: usize,
    /// Its seconds a mean car.
    pub pace_s: f64,
}

impl Slots {
    /// Cars for which there is room.
    pub fn places(&self) -> u32 {
        // Of a cycle just met the last bit must not cost a place.
        (self.net_h * 3_600.0 / self.pace_s.max(1e-3) + 1e-9).floor() as u32
    }
}

/// How much the order is searched for, and with which luck. The same effort gives
/// the same order of the same book on every machine.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Effort {
    /// Seed of the search and of the luck in paint.
    pub seed: u64,
    /// So many times the usual moves, 1 to [`Effort::MOST`].
    pub times: u32,
}

impl Effort {
    /// The most times the usual moves, the same wherever an order is asked for:
    /// hours of search for a week of a large plant.
    pub const MOST: u32 = 1_000;

    /// The usual moves.
    pub const fn usual(seed: u64) -> Self {
        Self { seed, times: 1 }
    }
}

/// What the plan is asked for.
#[derive(Clone, Debug)]
pub struct Question<'a> {
    /// The plant book, checked, every cycle filled in.
    pub book: &'a Book,
    /// The week, the first being 1.
    pub week: u32,
    /// Working days of it.
    pub days: u32,
    /// Stations with cycles that differ by car.
    pub stations: &'a [LineStation],
    /// Room for cars; none where no station of the line has a pace.
    pub slots: Option<Slots>,
    /// Seconds from car to car on the line.
    pub takt_s: f64,
    /// How long and with which luck to search.
    pub search: Settings,
    /// The same for what each rule costs; none to leave that out.
    pub costs: Option<Settings>,
}

impl Question<'_> {
    /// The search that plan, run and page share: with the usual moves some
    /// seconds for a week of a large plant.
    pub const fn search(effort: Effort) -> Settings {
        Settings {
            seed: effort.seed,
            steps: 3_000_000 * effort.times as u64,
            walkers: 2,
            proof_states: 20_000,
        }
    }

    /// A short search, made again without each rule.
    pub const fn costs(seed: u64) -> Settings {
        Settings {
            seed,
            steps: 1_000_000,
            walkers: 1,
            proof_states: 0,
        }
    }
}

/// Cars of a week by the book, before any rule: those of `builds`, else of
/// `products`.
pub fn cars_of_week(book: &Book, week: u32) -> u32 {
    week::counts(book, week).iter().sum()
}

/// Plans the build order. An order that breaks a rule is no error;
/// [`BuildOrder::holds`] is false where something broken must hold.
///
/// # Errors
///
/// All problems at once, each with its row: more orders than cars, more cars
/// than places, promises that no order keeps with the rules and cars that
/// clash, a value that its formula refuses.
pub fn order(question: &Question<'_>, watch: &Watch<'_>) -> Result<BuildOrder, Vec<Problem>> {
    let ready = Ready::of(question)?;
    let cars = ready.week.row();
    let planned = answer::Planned {
        question,
        week: &ready.week,
        rules: &ready.rules,
        cars: &cars,
        asked: &ready.asked,
        checked: &ready.checked,
    };
    Ok(planned.answer(ready.sheet, ready.notes, watch))
}

/// Whether there is an order to plan: all that [`order`] refuses is refused
/// here, and nothing is searched.
///
/// # Errors
///
/// As [`order`].
pub fn check(question: &Question<'_>) -> Result<(), Vec<Problem>> {
    Ready::of(question).map(|_| ())
}

/// A week that can be planned.
struct Ready {
    week: week::Week,
    rules: Vec<rules::Spacing>,
    asked: ask::Asked,
    checked: sequence::model::Checked,
    sheet: Sheet,
    notes: Vec<Problem>,
}

impl Ready {
    fn of(question: &Question<'_>) -> Result<Self, Vec<Problem>> {
        let book = question.book;
        let week = week::Week::of(book, question.week, question.days)?;
        let mut problems: Vec<Problem> = Vec::new();
        problems.extend(wrong::beyond_slots(question, week.cars.len()));
        let (mut sheet, mut helpless) = (Sheet::default(), Vec::new());
        let rules = rules::rules(&mut sheet, question, &mut helpless);
        let mut notes = noted::noted(question, &week, &rules);
        notes.append(&mut helpless);
        problems.append(&mut sheet.problems);
        let cars = week.row();
        let asked = ask::asked(book, &cars, &week.before, &rules);
        match asked.problem.check() {
            Ok(checked) if problems.is_empty() => Ok(Self {
                week,
                rules,
                asked,
                checked,
                sheet,
                notes,
            }),
            Ok(_) => Err(problems),
            Err(faults) => {
                problems.extend(wrong::told(book, &cars, &asked, faults));
                Err(problems)
            }
        }
    }
}

#[cfg(test)]
mod hand_tests;
#[cfg(test)]
mod tests;
