//! The paint shop within the plant: how long it works, how many good bodies
//! leave it, and what its stations have from the coats.

use book::{Book, Problem, Severity};
use formulas::Sourced;
use shops::paint::Question;
use units::{Count, Hours, Minutes, PerWeek, Quantity};

use crate::calendar::{WEEK, Weekly, weekly_spells};
use crate::requirement::{Requirement, requirement};
use crate::work;

pub use shops::paint::{
    Applicators, BakeWindow, BlockPoint, CoatAge, CoatFilm, ColourShare, Colours, HeatSum, Paint,
    PaintStation, PaintStep, RepairHeat, RepairLoad, RepairWayLoad, ShopFigure, ShopValue, Solvent,
    SolventFrom, StopIn, StoreFor, StoreSize,
};

/// The plan of the paint shop for the book's cars.
///
/// # Errors
///
/// All problems at once: those of the requirement and of the paint shop; a book
/// without coats is one.
pub fn paint(book: &Book) -> Result<Paint, Vec<Problem>> {
    paint_at(book, None)
}

/// The same at another rate of good cars a week, the mix kept; none is the
/// book's own.
///
/// # Errors
///
/// As [`paint`].
pub fn paint_at(book: &Book, rate: Option<PerWeek>) -> Result<Paint, Vec<Problem>> {
    // The plan's own problems first: a paint shop without a plant is no answer.
    let worked = work::of(book)?;
    let need = requirement(&worked.book)?;
    let mut plan = of(book, &need, rate)?.ok_or_else(|| vec![no_coats()])?;
    let times = rate.map_or(1.0, |rate| rate.0 / need.cars());
    plan.notes.extend(routed(book, &need, &plan, times));
    Ok(plan)
}

/// The plan for a requirement; none where the book has no coats, or no car
/// comes to them.
pub(crate) fn of(
    book: &Book,
    need: &Requirement,
    rate: Option<PerWeek>,
) -> Result<Option<Paint>, Vec<Problem>> {
    let Some(shop) = shops::paint::shop_of(book) else {
        return Ok(None);
    };
    let times = rate.map_or(1.0, |rate| rate.0 / need.cars());
    let bodies = leaving(book, need, shop) * times;
    if bodies <= 0.0 {
        return Ok(None);
    }
    let week = weekly_spells(book, shop);
    let net = week.as_ref().map_or(WEEK, Weekly::net);
    let plan = shops::paint::paint(&Question {
        book,
        shop,
        net: Sourced::figure(Minutes(net.get() / 60.0), format!("shop.{shop}.net_time")),
        bodies: Sourced::figure(Count(bodies), "cascade"),
        shut: week.map_or(Hours(0.0), |week| shut(&week.open)),
    })?;
    Ok(Some(plan))
}

/// Good bodies a week that leave the shop for others; all cars where it is the
/// last one.
fn leaving(book: &Book, need: &Requirement, shop: &str) -> f64 {
    let of = |name: &str| {
        let row = book.stations.iter().find(|row| row.station == name);
        row.map(|row| row.shop.as_str())
    };
    let out: f64 = book
        .links
        .iter()
        .enumerate()
        .filter(|(_, link)| of(&link.from) == Some(shop) && of(&link.to) != Some(shop))
        .map(|(position, _)| need.over_link(position))
        .sum();
    if out > 0.0 { out } else { need.cars() }
}

/// The longest time between two spells of work, round the week.
fn shut(open: &[(units::Seconds, units::Seconds)]) -> Hours {
    let Some(((first, _), (_, last))) = open.first().zip(open.last()) else {
        return Hours(0.0);
    };
    let between = open.windows(2).map(|two| two[1].0 - two[0].1);
    let over = WEEK - *last + *first;
    between
        .chain([over])
        .fold(units::Seconds(0.0), |a, b| if b.0 > a.0 { b } else { a })
        .hours()
}

/// Loads of repairs that differ from the table by more are told.
const APART: f64 = 0.05;

/// Repairs whose stations get more or fewer bodies by their links than the table
/// of repairs says.
fn routed(book: &Book, need: &Requirement, plan: &Paint, times: f64) -> Vec<Problem> {
    let stations = || book.stations.iter().enumerate();
    let way = |way: &RepairWayLoad| {
        let row = book.repairs.iter().find(|row| row.repair == way.repair)?;
        let name = row.station.as_ref()?;
        let (position, _) = stations().find(|(_, row)| row.station == *name)?;
        let routed = need.visits(position) * times;
        ((routed - way.week).abs() > APART * way.week.max(1.0)).then(|| Problem {
            code: "repairs/routed-apart".into(),
            severity: Severity::Note,
            table: row.at.table.name().into(),
            row: Some(row.at.row),
            column: Some("share".into()),
            found: format!(
                "{:.0} bodies a week by this table, {routed:.0} over the links to `{name}`",
                way.week
            ),
            expected: "as many both ways".into(),
            mend: "correct the shares here, or those of the links; plan and run go by the links"
                .into(),
            nearest: None,
        })
    };
    plan.repairs.ways.iter().filter_map(way).collect()
}

/// What the paint shop says against the book: ovens outside their window,
/// conveyors that cannot hold the rate, repairs that have no bay, as notes; none
/// where the book has no coats or its plan has problems of its own.
#[must_use]
pub fn screens(book: &Book) -> Vec<Problem> {
    if book.coats.is_empty() {
        return Vec::new();
    }
    let Ok(plan) = paint(book) else {
        return Vec::new();
    };
    let note = |problem: Problem| Problem {
        severity: Severity::Note,
        ..problem
    };
    let broken = plan.broken.into_iter().map(note);
    broken.chain(plan.notes).collect()
}

fn no_coats() -> Problem {
    Problem {
        code: "coats/none".into(),
        severity: Severity::Error,
        table: "coats".into(),
        row: None,
        column: None,
        found: "no coat on a car that the plant makes".into(),
        expected: "the steps of the paint process".into(),
        mend: "give the book a coats table".into(),
        nearest: None,
    }
}

#[cfg(test)]
mod tests;
