//! What every shop sent on in the flow, in cars a week.

use book::{Book, Problem};
use flow::statistics::Interval;
use serde::{Deserialize, Serialize};

use super::measure::{Measured, a_week};
use crate::network::{Built, Way};
use crate::requirement::{Requirement, requirement};

/// What a shop sent on.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct ShopOutput {
    /// The shop.
    pub shop: String,
    /// Cars a week: good completions of its last stations, over what the
    /// requirement asks of them for one car of the planned mix. A shop that
    /// fills or empties its stock differs from the plant by that.
    pub made: Interval,
    /// The stations that were counted: those from which work leaves the shop.
    pub last: Vec<String>,
}

/// The shops from coil to car; one without a station that work leaves, or of
/// which no car asks anything, is not told.
///
/// # Errors
/// The reasons why the requirement cascade cannot be solved.
pub(super) fn output(
    book: &Book,
    built: &Built,
    measured: &Measured,
) -> Result<Vec<ShopOutput>, Vec<Problem>> {
    let requirement = requirement(book)?;
    let mut shops: Vec<&str> = Vec::new();
    for stage in &built.stages {
        if !shops.contains(&stage.shop.as_str()) {
            shops.push(&stage.shop);
        }
    }
    let of_shop = |shop: &str| {
        let last = last_stations(built, shop);
        let asked: f64 = last
            .iter()
            .map(|&station| good_a_week(book, built, &requirement, station))
            .sum();
        let cars = requirement.cars();
        if last.is_empty() || asked <= 0.0 || cars <= 0.0 {
            return None;
        }
        let good = good_by_replication(measured, &last);
        let made: Vec<f64> = good.iter().map(|good| good / asked * cars).collect();
        Some(ShopOutput {
            shop: shop.to_owned(),
            made: Interval::of(&made, measured.level()),
            last: last
                .iter()
                .map(|&station| built.stations[station].name.clone())
                .collect(),
        })
    };
    Ok(shops.into_iter().filter_map(of_shop).collect())
}

/// The stations of a shop with a way into another shop, or out of the plant.
/// Ways to rework do not count: who sends a car there has not sent it on.
fn last_stations(built: &Built, shop: &str) -> Vec<usize> {
    let here = |station: usize| built.stations[station].shop == shop;
    let leaves = |station: usize| {
        let mut onward = built
            .network
            .links
            .iter()
            .zip(&built.links)
            .filter(|(link, origin)| link.from.at() == station && origin.way != Way::Rework)
            .peekable();
        onward.peek().is_none() || onward.any(|(link, _)| !here(link.to.at()))
    };
    (0..built.stations.len())
        .filter(|&station| here(station) && leaves(station))
        .collect()
}

/// Good jobs or pieces a week that the planned cars ask of a station.
fn good_a_week(book: &Book, built: &Built, requirement: &Requirement, station: usize) -> f64 {
    let Some(lots) = lots(built, station) else {
        return requirement.good(station);
    };
    let item = |name: &str| {
        let part = book.parts.iter().position(|part| part.part == name)?;
        Some((&requirement.parts[part], &book.parts[part]))
    };
    let of_item = |lot: &flow::model::LotItem| {
        // scrap falls where a part is formed last: what goes there is whole
        item(&lot.name).map_or(0.0, |(need, _)| need.begun * (1.0 - lot.scrap))
    };
    lots.items.iter().map(of_item).sum()
}

fn lots(built: &Built, station: usize) -> Option<&flow::model::Lots> {
    match &built.network.stations[station].work {
        flow::model::Work::Lots(lots) => Some(lots),
        flow::model::Work::Cycle(_) => None,
    }
}

/// Good completions a week of the stations together, by replication.
fn good_by_replication(measured: &Measured, stations: &[usize]) -> Vec<f64> {
    let mut sums = vec![0.0; measured.cars.len()];
    for &station in stations {
        let seen = &measured.outcome.stations[station];
        let done = a_week(&seen.done_per_h);
        let lost = seen.reworked.each.iter().zip(&seen.scrapped.each);
        for ((sum, done), (reworked, scrapped)) in sums.iter_mut().zip(done).zip(lost) {
            *sum += done * (1.0 - reworked - scrapped);
        }
    }
    sums
}
