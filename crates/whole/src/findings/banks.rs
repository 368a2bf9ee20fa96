//! The banks between stations, the arrows over them and the content of stages.

use book::At;
use flow::statistics::Interval;
use serde::Serialize;

use super::measure::Measured;
use crate::network::{Built, Way};

/// A link that holds more than this many places is a bank.
const BANK_FROM: u32 = 2;

/// A bank: a link with room for several, or a stock.
#[derive(Clone, Debug, PartialEq, Serialize)]
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
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
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
#[derive(Clone, Debug, PartialEq, Serialize)]
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
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct StageContent {
    /// The stage.
    pub stage: String,
    /// Its shop.
    pub shop: String,
    /// Jobs in it: at its stations, and on the links and in the stocks behind
    /// them.
    pub jobs: Interval,
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

/// How the direct neighbours of a station wait.
pub(super) fn explanation(built: &Built, measured: &Measured, station: usize) -> String {
    let links = || built.network.links.iter().zip(&built.links);
    let above = links().filter(|(l, o)| l.to.at() == station && o.way != Way::Rework);
    let below = links().filter(|(l, o)| l.from.at() == station && o.way != Way::Rework);
    let name = |s: usize| built.stations[s].name.as_str();
    let mut said: Vec<String> = Vec::new();
    for (link, _) in above {
        let s = link.from.at();
        said.push(format!(
            "{} above is blocked {:.1} %",
            name(s),
            blocked(measured, s) * 100.0
        ));
    }
    for (link, _) in below {
        let s = link.to.at();
        said.push(format!(
            "{} below is starved {:.1} %",
            name(s),
            starved(measured, s) * 100.0
        ));
    }
    let own = format!(
        "it is itself starved {:.1} % and blocked {:.1} % of its open time",
        starved(measured, station) * 100.0,
        blocked(measured, station) * 100.0
    );
    said.push(own);
    said.join("; ")
}

pub(super) fn content(built: &Built, measured: &Measured) -> Vec<StageContent> {
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
    let stages = built.stages.iter().zip(&jobs);
    stages
        .map(|(stage, jobs)| StageContent {
            stage: stage.name.clone(),
            shop: stage.shop.clone(),
            jobs: Interval::of(jobs, measured.level()),
        })
        .collect()
}

fn blocked(measured: &Measured, station: usize) -> f64 {
    measured.share(station, |states| states.blocked)
}

fn starved(measured: &Measured, station: usize) -> f64 {
    measured.share(station, |states| states.starved)
}
