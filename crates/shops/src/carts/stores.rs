//! Stores from which a sub-plant feeds the main line, by the time they must last.

use book::At;
use formulas::{Sourced, stock};
use units::{Count, Minutes, Seconds};

use super::StorePlan;
use crate::sheet::Sheet;

/// A way by which a sub-plant feeds a merge, and what stops it.
#[derive(Clone, Debug, PartialEq)]
pub struct StoreNeed {
    /// Its row of the links.
    pub at: At,
    /// The line that fills it, or its shop.
    pub line: String,
    /// The last station of that line.
    pub from: String,
    /// The station that merges it into the car.
    pub to: String,
    /// Places in the book; none without limit.
    pub places: Option<u32>,
    /// Mean length of a stop of the feeding line.
    pub repair: Sourced<Minutes>,
    /// Its stops a week.
    pub stops: Sourced<Count>,
    /// The longest work of the merge in which the feeding line has none.
    pub closed: Sourced<Minutes>,
    /// The way to the merge.
    pub transport: Sourced<Seconds>,
    /// Time from car to car at the merge.
    pub takt: Sourced<Seconds>,
    /// Cars by which the feeding line runs ahead of the one it is for: what was
    /// taken off a car waits until this comes.
    pub ahead: Sourced<Count>,
    /// Pieces of a car.
    pub pieces: Sourced<Count>,
}

/// The stores in the order of their ways.
pub(super) fn stores(sheet: &mut Sheet, needs: &[StoreNeed]) -> Vec<StorePlan> {
    let one = |need: &StoreNeed| {
        let made = stock::feeder_store(
            &need.repair,
            &need.stops,
            &need.closed,
            &need.transport,
            &need.takt,
            &need.ahead,
            &need.pieces,
        );
        let made = sheet.add(
            format!("store.{}.{}", need.from, need.to),
            format!("places from {} to {}", need.from, need.to),
            need.at,
            made,
        )?;
        Some(StorePlan {
            at: need.at,
            line: need.line.clone(),
            from: need.from.clone(),
            to: need.to.clone(),
            places: need.places,
            needed: made.value(|store| store.places.0),
            longest_stop_min: made.value.longest.0,
            ahead: need.ahead.value.0,
            closed_min: need.closed.value.0,
            cover_min: made.value.cover.0,
        })
    };
    needs.iter().filter_map(one).collect()
}
