//! The build order within the plant: the pace of its stations, the room of its
//! week, and how the planned order drives the flow.
//!
//! Where the plant says `order_from_plan`, every source of the network releases
//! cars in the planned order of the first week, over and over, instead of a
//! levelled one. [`by_plan`] does the same for a run that asks what the planned
//! order would give.

mod seen;

use std::collections::BTreeSet;

use book::{At, Book, Problem, Severity, Table};
use formulas::{Origin, Sourced};
use serde::{Deserialize, Serialize};
use shops::order::{LineStation, Question, Slots, cars_of_week};
use units::Seconds;

use crate::calendar::weekly_spells;
use crate::lots::Timetabled;
use crate::plan::{self, RatePlan, ShopPlan, StationPlan};
use crate::work;

pub use seen::OverrunInRun;
pub(crate) use seen::seen;
pub use shops::order::{
    Block, BuildOrder, ByHand, ColourUse, DriftOnLine, Effort, Fault, GoalProof, HandGoal,
    HandMove, HandOrder, HandPlaces, HandStep, Held, LaneStay, LevelPoint, LevelUse, Levelling,
    Off, OrderRule, OrderSums, PaintedStore, PlacedCar, Progress, Promised, Proof, RepairWay,
    RuleFrom, RulePrice, Settings, ShopFigure, ShopValue, StationDrift, StoreNeed, StoreRule,
    Watch,
};

const HOUR_S: f64 = 3_600.0;

/// The build order of a week, the first being 1, with what each rule costs. The
/// same book, week and effort give the same order.
///
/// # Errors
///
/// All problems at once: those of the rate plan and of the order.
pub fn order(
    book: &Book,
    week: u32,
    effort: Effort,
    watch: &Watch<'_>,
) -> Result<BuildOrder, Vec<Problem>> {
    let costs = Question::costs(effort.seed);
    planned(book, week, effort, Some(costs), watch)
}

fn planned(
    book: &Book,
    week: u32,
    effort: Effort,
    costs: Option<Settings>,
    watch: &Watch<'_>,
) -> Result<BuildOrder, Vec<Problem>> {
    asked(book, week, effort, |question| {
        shops::order::order(&Question { costs, ..question }, watch)
    })
}

/// Whether there is an order to plan: all that [`order`] refuses, at once and
/// with nothing searched.
///
/// # Errors
///
/// As [`order`].
pub fn check(book: &Book, week: u32) -> Result<(), Vec<Problem>> {
    asked(book, week, Effort::usual(DRIVING_SEED), |question| {
        shops::order::check(&question)
    })
}

/// What the orders of a book ask that contradicts itself: more orders of a
/// product than its week builds, promises that no order keeps. The rest of what
/// [`order`] refuses depends on the plan.
pub fn contradictions(book: &Book) -> Vec<Problem> {
    const OWN: [&str; 2] = ["orders/more-than-built", "orders/promise-not-kept"];
    let weeks: BTreeSet<u32> = book.orders.iter().map(|row| row.week).collect();
    let refused = weeks.into_iter().filter_map(|week| check(book, week).err());
    let own = |problem: &Problem| OWN.contains(&problem.code.as_str());
    refused.flatten().filter(own).collect()
}

/// A planned order made ready to be changed by hand. It must have been planned
/// for this book.
///
/// # Errors
///
/// All problems at once: those of the rate plan, an order of other cars.
pub fn by_hand(book: &Book, order: BuildOrder) -> Result<ByHand, Vec<Problem>> {
    // Nothing is searched, so that only the luck in paint matters.
    let (week, effort) = (order.week, Effort::usual(order.proof.seed));
    asked(book, week, effort, |question| ByHand::new(&question, order))
}

/// Asks something of a week of the plant. A book's week repeats, so that every
/// week has the same hours; its cars may differ.
fn asked<T>(
    book: &Book,
    week: u32,
    effort: Effort,
    ask: impl FnOnce(Question<'_>) -> Result<T, Vec<Problem>>,
) -> Result<T, Vec<Problem>> {
    let plan = plan::plan_with(book, &Timetabled::default())?;
    let worked = work::of(book)?;
    let book = &*worked.book;
    let Some(line) = line(book, &plan) else {
        return Err(vec![no_line(book, &plan)]);
    };
    let cars = f64::from(cars_of_week(book, week)).max(1.0);
    let days = weekly_spells(book, &line.shop).map_or(7, |week| week.workdays.max(1));
    ask(Question {
        book,
        week,
        days,
        stations: &stations(book, &plan, cars),
        slots: slots(book, &plan, line),
        takt_s: line.net_time_h.value * HOUR_S / cars,
        search: Question::search(effort),
        costs: None,
    })
}

/// The shop whose line the order is for.
fn line<'a>(book: &Book, plan: &'a RatePlan) -> Option<&'a ShopPlan> {
    let name = &book.plant.order_shop.value;
    plan.shops.iter().find(|shop| shop.shop == *name)
}

fn no_line(book: &Book, plan: &RatePlan) -> Problem {
    let name = book.plant.order_shop.value.as_str();
    // Cars pass stations; presses and their like have none.
    let has_station = |shop: &&ShopPlan| plan.stations.iter().any(|row| row.shop == shop.shop);
    let lines = plan.shops.iter().filter(has_station);
    let mut shops: Vec<&str> = lines.map(|row| row.shop.as_str()).collect();
    let nearest = units::nearest(name, shops.iter().copied());
    shops.sort_by_key(|shop| Some(*shop) != nearest);
    Problem {
        code: "plant/no-such-line".into(),
        severity: Severity::Error,
        table: Table::Plant.name().into(),
        row: book.plant.order_shop.at.map(|at| at.row),
        column: Some("order_shop".into()),
        found: format!("`{name}`, in which no car is built"),
        expected: "the shop whose line the build order is for".into(),
        mend: format!("write order_shop as one of: {}", shops.join(", ")),
        nearest: nearest.map(Into::into),
    }
}

fn row_of(book: &Book, station: &StationPlan) -> Option<usize> {
    book.stations.iter().position(|row| row.at == station.at)
}

/// Stations whose cycle differs by car, each with the pace that the week's cars
/// give it.
fn stations(book: &Book, plan: &RatePlan, cars: f64) -> Vec<LineStation> {
    let differ: BTreeSet<&str> = book.cycles.iter().map(|row| row.station.as_str()).collect();
    let rows = plan
        .stations
        .iter()
        .filter(|row| differ.contains(row.station.as_str()));
    let of = |row: &StationPlan| {
        let shop = plan.shops.iter().find(|shop| shop.shop == row.shop)?;
        let jobs = row.jobs.value * cars / plan.cars;
        if jobs <= 0.0 || jobs.is_nan() {
            return None;
        }
        let takt = Seconds(shop.net_time_h.value * HOUR_S / jobs);
        let from = vec![shop.net_time_h.from.clone(), row.jobs.from.clone()];
        let plant = &book.plant;
        Some(LineStation {
            station: row_of(book, row)?,
            takt: Sourced::new(takt, Origin::Several(from)),
            // Work drifts with the car: metres past the end are seconds of pace.
            drift_s: takt.0 * plant.drift_m.value.0 / plant.pitch_m.value.0,
        })
    };
    rows.filter_map(of).collect()
}

/// Room of the week, by the station of the line that is slowest in the mean.
fn slots(book: &Book, plan: &RatePlan, line: &ShopPlan) -> Option<Slots> {
    let of_line = plan.stations.iter().filter(|row| row.shop == line.shop);
    let paced = of_line.filter_map(|row| {
        let per_car = row.jobs.value / plan.cars;
        let pace_s = row.cycle_s.value / f64::from(row.units.max(1)) * per_car;
        Some((pace_s, row_of(book, row)?))
    });
    let (pace_s, station) = paced.max_by(|a, b| a.0.total_cmp(&b.0))?;
    (pace_s > 0.0).then_some(Slots {
        net_h: line.net_time_h.value,
        station,
        pace_s,
    })
}

/// The order that drives the flow where the book asks for it, or a note that
/// says why there is none.
pub(crate) fn driving(book: &Book) -> (Option<BuildOrder>, Option<Problem>) {
    if !book.plant.order_from_plan.value {
        return (None, None);
    }
    match planned(book, 1, Effort::usual(DRIVING_SEED), None, &Watch::none()) {
        Ok(order) => (Some(order), None),
        Err(problems) => (None, Some(no_order(book, problems.first()))),
    }
}

/// A station that the order of a run overruns: from the plan, walked car by car
/// with mean times and no stops, and beside it what the station had in the run.
/// Places are those of the order, or on the line.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Overrun {
    /// The station.
    pub station: String,
    /// Its row.
    pub at: At,
    /// Seconds from car to car.
    pub takt_s: f64,
    /// Seconds that work may drift past its end.
    pub drift_s: f64,
    /// Cars whose work exceeds takt.
    pub heavy_cars: u32,
    /// Cars that end past the drift in the order as it is released.
    pub overruns: u32,
    /// The farthest that one ends past the station's end, seconds.
    pub worst_s: f64,
    /// Its place.
    pub worst_place: u32,
    /// Cars that end past the drift as they reach the line after repairs.
    pub overruns_on_line: u32,
    /// The farthest of them, seconds.
    pub worst_on_line_s: f64,
    /// Its place on the line.
    pub worst_place_on_line: u32,
    /// What the station had of it in the run; none before one is made.
    pub in_run: Option<OverrunInRun>,
}

fn past(order: &BuildOrder) -> impl Iterator<Item = &StationDrift> {
    let any = |row: &&StationDrift| !row.past.is_empty() || !row.on_line.past.is_empty();
    order.stations.iter().filter(any)
}

/// Stations that the order overruns, the most cars first.
pub(crate) fn overruns(order: &BuildOrder) -> Vec<Overrun> {
    let of = |row: &StationDrift| Overrun {
        station: row.station.clone(),
        at: row.at,
        takt_s: row.takt_s,
        drift_s: row.drift_s,
        heavy_cars: row.heavy_cars,
        overruns: row.past.len() as u32,
        worst_s: row.worst_s,
        worst_place: row.worst_place,
        overruns_on_line: row.on_line.past.len() as u32,
        worst_on_line_s: row.on_line.worst_s,
        worst_place_on_line: row.on_line.worst_place,
        in_run: None,
    };
    let mut overruns: Vec<Overrun> = past(order).map(of).collect();
    overruns.sort_by_key(|row| std::cmp::Reverse((row.overruns_on_line, row.overruns)));
    overruns
}

/// The same as notes for the run that it drives.
pub(crate) fn overrun_notes(order: &BuildOrder) -> Vec<Problem> {
    let note = |row: &StationDrift| Problem {
        code: "stations/overrun".into(),
        severity: Severity::Note,
        table: row.at.table.name().into(),
        row: Some(row.at.row),
        column: Some("cycle_s".into()),
        found: overrun_told(row),
        expected: "work that ends within the drift allowed".into(),
        mend: overrun_way_out(order, row),
        nearest: None,
    };
    past(order).map(note).collect()
}

fn overrun_told(row: &StationDrift) -> String {
    let stop = match (row.restart_past, row.restart_cars) {
        (0, _) => String::new(),
        (1, cars) => format!(
            "; a stop at place {} adds 1 more, and catching up takes up to {cars} cars",
            row.restart_place
        ),
        (more, cars) => format!(
            "; a stop at place {} adds {more} more, and catching up takes up to {cars} cars",
            row.restart_place
        ),
    };
    format!(
        "`{}`, where {} of {} heavy cars of the planned order end past the drift of {:.0} s, the \
         worst {:.0} s late at place {}, and {} as they reach the line{stop}",
        row.station,
        row.past.len(),
        row.heavy_cars,
        row.drift_s,
        row.worst_s,
        row.worst_place,
        row.on_line.past.len(),
    )
}

/// Spacing helps only where one heavy car alone ends within the drift.
fn overrun_way_out(order: &BuildOrder, row: &StationDrift) -> String {
    let alone = order.rules.iter().filter_map(|rule| match &rule.from {
        RuleFrom::Station {
            station,
            past_alone_s,
            heavy_s,
            takt_s,
            ..
        } if *station == row.station && *past_alone_s > 0.0 => {
            Some((*past_alone_s, heavy_s - takt_s, &rule.option))
        }
        _ => None,
    });
    match alone.max_by(|a, b| a.0.total_cmp(&b.0)) {
        Some((past_s, over_s, option)) => format!(
            "take {past_s:.0} s of work off {} for cars with {option}, send a helper for them, or \
             allow a drift of {over_s:.0} s: one such car alone passes it, however they are spaced",
            row.station
        ),
        None => "space such cars wider, move work to a neighbour, or send a helper for them".into(),
    }
}

/// The seed of the order that drives the flow, which is that of the plan unless
/// asked otherwise.
pub const DRIVING_SEED: u64 = 1;

fn no_order(book: &Book, why: Option<&Problem>) -> Problem {
    Problem {
        code: "plant/no-order".into(),
        severity: Severity::Note,
        table: Table::Plant.name().into(),
        row: book.plant.order_from_plan.at.map(|at| at.row),
        column: Some("order_from_plan".into()),
        found: why.map_or_else(|| "no build order".into(), |why| why.found.clone()),
        expected: "a build order to release cars by; they are released levelled instead".into(),
        mend: "ask for the build order, which says what is missing".into(),
        nearest: None,
    }
}

/// The book with its cars released in the planned order, whatever it says: the
/// variant to run against the book as it is.
#[must_use]
pub fn by_plan(book: &Book) -> Book {
    let mut book = book.clone();
    book.plant.order_from_plan.value = true;
    book
}

#[cfg(test)]
mod tests;
