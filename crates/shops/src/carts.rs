//! Carts: how many follow each loop of the plant, and how many bring material.
//!
//! [`carts`] takes the book and what lies on each loop, and makes a
//! [`CartPlan`]. A loop needs a cart at each station under the cars, those on
//! the move, loading, unloading and on the way back, where further ones may
//! slow each other, and more for those that charge or are unfit (Little's law).
//! Supply carts are counted by the work of all loads over what one cart does.
//! A store between a sub-plant and the main line lasts the longest stop of a week.
//! These are means; the run of the plant shows what waiting adds.
//!
//! *Never:* a requirement of its own, a run, a clock.

mod loops;
mod model;
mod stores;
mod supply;

use book::{Book, Problem, Severity};
use formulas::Sourced;
use units::{Count, Minutes, PerHour, Seconds};

use crate::sheet::Sheet;

pub use crate::sheet::{ShopFigure, ShopValue};
pub use loops::{InService, Loops, loops};
pub use model::{CartLoop, CartPlan, Crowding, StorePlan, SupplyFleet, SupplyRun};
pub use stores::StoreNeed;

const CAUTION: &str = "Driverless carts among people need what ISO 3691-4 asks: personnel \
                       detection, 0.5 m of clearance on both sides or guards, a floor that is \
                       flat and clean enough to stop on, and a risk assessment on site. Charging \
                       places need ventilation, fire protection and protection against contact. \
                       Local codes and licensed practice decide; the figures here are for \
                       planning.";

/// What lies on a fleet's loop, beside its row of the book.
#[derive(Clone, Debug, PartialEq)]
pub struct LoopNeed {
    /// Position of the fleet in the book's carriers.
    pub carrier: usize,
    /// Jobs a week that take one.
    pub jobs: Sourced<Count>,
    /// Working time a week of the shop that takes them.
    pub net: Sourced<Minutes>,
    /// Places at the stations on the way, one carrier each.
    pub stations: Sourced<Count>,
    /// Mean time in a round on the move between stations and in rework.
    pub moves: Sourced<Seconds>,
}

/// What the plan is asked for.
#[derive(Clone, Debug)]
pub struct Question<'a> {
    /// The plant book, checked.
    pub book: &'a Book,
    /// The loops that cars come to, in the book's order.
    pub loops: &'a [LoopNeed],
    /// For each row of the book's supplies the cars an hour at its station;
    /// none where it names none.
    pub cars: &'a [Option<Sourced<PerHour>>],
    /// The ways by which sub-plants feed the main line.
    pub stores: &'a [StoreNeed],
}

/// Plans all carts. A fleet that is too small is no error;
/// [`CartPlan::holds`] is false then.
///
/// # Errors
///
/// All problems at once, each with its row: a way under the cars with no room
/// for its stations, a battery that does not last a round, charging that takes
/// all the time, a way so crowded that no number suffices, a value that its
/// formula refuses.
pub fn carts(question: &Question<'_>) -> Result<CartPlan, Vec<Problem>> {
    let Loops {
        loops,
        mut figures,
        mut problems,
    } = loops(question.book, question.loops);
    let mut sheet = Sheet::default();
    let supplies = supply::fleets(&mut sheet, question);
    let stores = stores::stores(&mut sheet, question.stores);
    problems.extend(sheet.problems);
    figures.extend(sheet.figures);
    let errors = problems.iter().any(|p| p.severity == Severity::Error);
    if errors {
        return Err(problems);
    }
    Ok(CartPlan {
        holds: loops.iter().all(|fleet| !fleet.over) && supplies.iter().all(|fleet| !fleet.over),
        loops,
        supplies,
        stores,
        notes: problems,
        caution: CAUTION.into(),
        figures,
    })
}

#[cfg(test)]
mod tests;
