//! The banks between stations, the arrows over them and the content of stages.

use std::collections::BTreeSet;

use book::At;
use flow::statistics::Interval;
use serde::{Deserialize, Serialize};

use super::measure::Measured;
use super::stage_days::{self, StageDays};
use crate::network::{Built, Way};
use crate::plan::RatePlan;

/// A link that holds more than this many places is a bank.
const BANK_FROM: u32 = 2;

/// A bank: a link with room for several, or a stock.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Bank {
    /// Its row in `links` or `parts`.
    pub at: At,
    /// What it is.
    pub way: Way,
    /// The station above.
    pub from: String,
    /// The station below.
    pub to: String,
    /// Places; none means without limit.
    pub holds: Option<u32>,
    /// Jobs or pieces in it, on average.
    pub content: Interval,
    /// Share of the time in which it is full.
    pub full: Interval,
    /// Share of the time in which it is empty.
    pub empty: Interval,
}

/// Where the constraint lies as seen from a link.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum Toward {
    /// The station above is blocked more than the one below is starved: look
    /// downstream.
    Below,
    /// The station below is starved more: look upstream.
    Above,
}

/// The arrow over a link (arrow rule on blocked and starved, S.-Y. Chiang,
/// C.-T. Kuo and S. M. Meerkov, Mathematical Problems in Engineering 6 (2000),
/// from memory). An explanation, not the proof.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Arrow {
    /// The station above.
    pub from: String,
    /// The station below.
    pub to: String,
    /// Share of its open time in which the station above is blocked.
    pub blocked: f64,
    /// Share of its open time in which the station below is starved.
    pub starved: f64,
    /// Where the arrow points.
    pub toward: Toward,
}

/// A stage of the plant in the answer.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct StageContent {
    /// The stage.
    pub stage: String,
    /// Its shop.
    pub shop: String,
    /// Jobs in it: at its stations, and on the links and in the stocks behind
    /// them.
    pub jobs: Interval,
    /// Days that a car or its pieces are in it, where it lies on the way that
    /// takes longest from coil to car: jobs over the pieces that a car needs there
    /// times the cars made a day (Little's law), each place for itself, so that
    /// the stages add up.
    pub days: Option<Interval>,
    /// Days in it by plan, with every place filled and every lot just begun, where
    /// it lies on the plan's longest way.
    pub planned_days: Option<f64>,
}

pub(super) fn banks(built: &Built, measured: &Measured) -> Vec<Bank> {
    let level = measured.level();
    let links = built
        .network
        .links
        .iter()
        .zip(&built.links)
        .zip(&measured.outcome.links);
    links
        .filter(|((link, _), _)| link.holds.is_none_or(|holds| holds >= BANK_FROM))
        .map(|((link, origin), seen)| Bank {
            at: origin.at,
            way: origin.way.clone(),
            from: built.stations[link.from.at()].name.clone(),
            to: built.stations[link.to.at()].name.clone(),
            holds: link.holds,
            content: seen.content.interval(level),
            full: seen.full.interval(level),
            empty: seen.empty.interval(level),
        })
        .collect()
}

pub(super) fn arrows(built: &Built, measured: &Measured) -> Vec<Arrow> {
    let onward = |way: &Way| matches!(way, Way::Onward);
    let links = built.network.links.iter().zip(&built.links);
    links
        .filter(|(_, origin)| onward(&origin.way))
        .map(|(link, _)| {
            let blocked = blocked(measured, link.from.at());
            let starved = starved(measured, link.to.at());
            Arrow {
                from: built.stations[link.from.at()].name.clone(),
                to: built.stations[link.to.at()].name.clone(),
                blocked,
                starved,
                toward: if blocked > starved {
                    Toward::Below
                } else {
                    Toward::Above
                },
            }
        })
        .collect()
}

/// How a station waits, and how its direct neighbours and its stocks do.
pub(super) fn explanation(built: &Built, measured: &Measured, station: usize) -> String {
    let percent = |share: f64| format!("{:.1} %", share * 100.0);
    let mut said = vec![format!(
        "it is itself starved {} and blocked {} of its open time",
        percent(starved(measured, station)),
        percent(blocked(measured, station))
    )];
    let onward = |l: &usize| built.links[*l].way == Way::Onward;
    let links = || (0..built.links.len()).filter(onward);
    let end = |l: usize| {
        (
            built.network.links[l].from.at(),
            built.network.links[l].to.at(),
        )
    };
    let above = links().filter(|&l| end(l).1 == station).map(|l| end(l).0);
    for (share, name) in most(built, above, |s| blocked(measured, s)) {
        said.push(format!("{name} above is blocked {}", percent(share)));
    }
    let below = links().filter(|&l| end(l).0 == station).map(|l| end(l).1);
    for (share, name) in most(built, below, |s| starved(measured, s)) {
        said.push(format!("{name} below is starved {}", percent(share)));
    }
    let empty = |l: usize| measured.outcome.links[l].empty.mean;
    let stocks = (0..built.links.len()).filter(|&l| end(l).0 == station);
    let stocks = stocks.filter_map(|l| match &built.links[l].way {
        Way::Panels(part) | Way::Blanks(part) => Some((empty(l), part)),
        Way::Onward | Way::Rework => None,
    });
    if let Some((share, part)) = stocks.max_by(|a, b| a.0.total_cmp(&b.0)) {
        said.push(format!(
            "of its stocks, {part} is empty most, {}",
            percent(share)
        ));
    }
    said.join("; ")
}

/// Neighbours named in an explanation, on each side.
const NAMED: usize = 3;

/// The neighbours that wait most, each once.
fn most(
    built: &Built,
    neighbours: impl Iterator<Item = usize>,
    waits: impl Fn(usize) -> f64,
) -> Vec<(f64, &str)> {
    let neighbours: BTreeSet<usize> = neighbours.collect();
    let name = |s: usize| built.stations[s].name.as_str();
    let mut found: Vec<(f64, &str)> = neighbours
        .into_iter()
        .map(|s| (waits(s), name(s)))
        .collect();
    found.sort_by(|a, b| b.0.total_cmp(&a.0));
    found.truncate(NAMED);
    found
}

pub(super) fn content(
    built: &Built,
    measured: &Measured,
    days: &StageDays,
    plan: Option<&RatePlan>,
) -> Vec<StageContent> {
    let replications = measured.cars.len();
    let mut jobs = vec![vec![0.0; replications]; built.stages.len()];
    let stations = measured
        .states
        .iter()
        .zip(&built.stations)
        .zip(&built.network.stations);
    for ((states, origin), station) in stations {
        for (sum, state) in jobs[origin.stage].iter_mut().zip(states) {
            // a unit that is neither starved nor changing over has a job
            *sum += f64::from(station.units) * (1.0 - state.starved - state.changeover);
        }
    }
    for (link, seen) in built.network.links.iter().zip(&measured.outcome.links) {
        let stage = built.stations[link.from.at()].stage;
        for (sum, content) in jobs[stage].iter_mut().zip(&seen.content.each) {
            *sum += content;
        }
    }
    let stages = built.stages.iter().zip(&jobs).zip(&days.seen);
    stages
        .map(|((stage, jobs), days)| StageContent {
            stage: stage.name.clone(),
            shop: stage.shop.clone(),
            jobs: Interval::of(jobs, measured.level()),
            days: *days,
            planned_days: stage_days::planned(plan, stage),
        })
        .collect()
}

fn blocked(measured: &Measured, station: usize) -> f64 {
    measured.share(station, |states| states.blocked)
}

fn starved(measured: &Measured, station: usize) -> f64 {
    measured.share(station, |states| states.starved)
}
