//! What a question is answered with, as JSON writes it.

use serde::Serialize;

use super::{Question, Run};
use crate::model::LinkIdx;
use crate::outcome::{Estimate, Outcome};
use crate::run::{Settings, WarmUp};

/// How good an answer is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Status {
    /// Everything asked for was run.
    Done,
    /// The time ran out; the answer rests on less than was asked for.
    Feasible,
    /// The network stands still for good: stations wait for each other.
    Infeasible,
}

/// The answer to a question; a face adds `wall_s`.
#[derive(Clone, Debug, Serialize)]
pub struct Answer {
    /// How good it is.
    pub status: Status,
    /// Good jobs out an hour.
    pub rate_per_h: Estimate,
    /// Seconds from entering to leaving the plant.
    pub time_in_plant_s: TimeInPlant,
    /// Jobs in the plant.
    pub jobs_in_plant: Estimate,
    /// Jobs lost as scrap an hour.
    pub scrapped_per_h: Estimate,
    /// The stations in the question's order.
    pub stations: Vec<StationAnswer>,
    /// The links in the question's order; a way to rework that no link said
    /// comes last.
    pub links: Vec<LinkAnswer>,
    /// Station completions simulated, all replications.
    pub moves: u64,
    /// Jobs out of every replication, for the repeatable line: the numbers to
    /// compare.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub jobs_out: Option<Vec<u64>>,
    /// How it was run.
    pub run: RunFacts,
    /// Stations that wait for each other for ever, if any do.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub stuck: Option<StuckAnswer>,
}

/// Time in plant: the mean with its interval, and what share takes longer.
#[derive(Clone, Debug, Serialize)]
pub struct TimeInPlant {
    /// Mean.
    pub mean: f64,
    /// Half-width of its 95 % interval.
    pub half_width_95: f64,
    /// One job in ten takes less.
    pub p10: f64,
    /// Median.
    pub p50: f64,
    /// One job in ten takes more.
    pub p90: f64,
}

/// A station's shares of time, which add to 1, and the queue before it.
#[derive(Clone, Debug, Serialize)]
pub struct StationAnswer {
    /// Name.
    pub name: String,
    /// Working.
    pub working: Estimate,
    /// Waiting for a job.
    pub starved: Estimate,
    /// Done, but the job cannot leave.
    pub blocked: Estimate,
    /// Down.
    pub stopped: Estimate,
    /// Jobs waiting before it, on average.
    pub queue_mean: f64,
}

/// What a link held.
#[derive(Clone, Debug, Serialize)]
pub struct LinkAnswer {
    /// From this station.
    pub from: String,
    /// To that one.
    pub to: String,
    /// Jobs in it, on average.
    pub content_mean: f64,
}

/// How an answer was simulated.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct RunFacts {
    /// Seed of the first replication.
    pub seed: u64,
    /// Replications that the figures rest on.
    pub replications: u32,
    /// Seconds left out at the start of each.
    pub warm_up_s: f64,
    /// False when the warm-up was looked for and did not end within the run:
    /// run longer.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub warm_up_found: Option<bool>,
    /// Seconds measured in each.
    pub length_s: f64,
}

/// A deadlock.
#[derive(Clone, Debug, Serialize)]
pub struct StuckAnswer {
    /// The stations that wait for each other.
    pub stations: Vec<String>,
    /// Replications in which it came to that.
    pub replications: u32,
    /// Seconds from the start of the first of them.
    pub since_s: f64,
    /// What would free it.
    pub mend: String,
}

/// Slabs that the engine cuts the measured time into when it looks for the end
/// of the warm-up; half as many more may be left out before.
const SLABS: u32 = 20;

impl Run {
    /// The engine's settings for this run.
    pub(super) fn settings(&self) -> Settings {
        let step_s = self.length_s / f64::from(SLABS);
        Settings {
            warm_up: match self.warm_up_s {
                Some(warm_up_s) => WarmUp::Fixed(warm_up_s),
                None => WarmUp::Found {
                    at_most_s: step_s * f64::from(SLABS / 2),
                    step_s,
                },
            },
            length_s: self.length_s,
            slabs: if self.warm_up_s.is_some() { 1 } else { SLABS },
            banks: false,
            ..Settings::new(self.seed, self.replications)
        }
    }
}

/// The same settings for a part of the time and other replications: what can be
/// answered when the time is short.
pub fn shortened(settings: &Settings, part: f64, replications: u32) -> Settings {
    Settings {
        warm_up: match settings.warm_up {
            WarmUp::Fixed(warm_up_s) => WarmUp::Fixed(warm_up_s * part),
            WarmUp::Found { at_most_s, step_s } => WarmUp::Found {
                at_most_s: at_most_s * part,
                step_s: step_s * part,
            },
        },
        length_s: settings.length_s * part,
        replications,
        ..settings.clone()
    }
}

impl Question {
    /// Words an outcome of this question's network; `complete` says whether
    /// all that was asked for has been run.
    pub fn answer(&self, outcome: &Outcome, complete: bool) -> Answer {
        let names: Vec<&str> = self
            .network
            .stations
            .iter()
            .map(|station| station.name.as_str())
            .collect();
        let times = &outcome.time_in_plant_s;
        let stations = names.iter().zip(&outcome.stations);
        let stations = stations.map(|(name, station)| StationAnswer {
            name: (*name).to_owned(),
            working: station.working.clone(),
            starved: station.starved.clone(),
            blocked: station.blocked.clone(),
            stopped: station.stopped.clone(),
            queue_mean: station.queue_mean.mean,
        });
        let links = self.network.links.iter().zip(&outcome.links);
        let links = links.map(|(link, seen)| LinkAnswer {
            from: names[link.from.at()].to_owned(),
            to: names[link.to.at()].to_owned(),
            content_mean: seen.content.mean,
        });
        let stuck = outcome
            .stuck
            .as_ref()
            .map(|stuck| self.stuck(stuck, &names));
        Answer {
            status: match (&stuck, complete) {
                (Some(stuck), _) if stuck.replications == outcome.replications => {
                    Status::Infeasible
                }
                (_, true) => Status::Done,
                (_, false) => Status::Feasible,
            },
            rate_per_h: outcome.rate_per_h.clone(),
            time_in_plant_s: TimeInPlant {
                mean: times.mean.mean,
                half_width_95: times.mean.half_width_95,
                p10: times.p10.mean,
                p50: times.p50.mean,
                p90: times.p90.mean,
            },
            jobs_in_plant: outcome.jobs_in_plant.clone(),
            scrapped_per_h: outcome.scrapped_per_h.clone(),
            stations: stations.collect(),
            links: links.collect(),
            moves: outcome.moves,
            jobs_out: self.repeatable.as_ref().map(|_| jobs_out(outcome)),
            run: RunFacts {
                seed: outcome.seed,
                replications: outcome.replications,
                warm_up_s: outcome.warm_up_s,
                warm_up_found: outcome.warm_up_found,
                length_s: outcome.length_s,
            },
            stuck,
        }
    }

    fn stuck(&self, stuck: &crate::outcome::Stuck, names: &[&str]) -> StuckAnswer {
        // The narrowest link inside the loop is where one place more helps.
        let inside = |at: usize| stuck.stations.contains(&at);
        let narrowest = (0_u32..)
            .map(LinkIdx)
            .zip(&self.network.links)
            .filter(|(_, link)| inside(link.from.at()) && inside(link.to.at()))
            .filter_map(|(at, link)| Some((link.holds?, at)))
            .min();
        StuckAnswer {
            stations: stuck
                .stations
                .iter()
                .filter_map(|at| names.get(*at).map(|name| (*name).to_owned()))
                .collect(),
            replications: stuck.replications,
            since_s: stuck.since_s,
            mend: match narrowest {
                Some((holds, at)) => format!(
                    "raise links[{}].holds above {holds}, or let the loop leave by a link without limit",
                    at.0
                ),
                None => "give one station of the loop a way out".to_owned(),
            },
        }
    }
}

/// The counts behind the rates.
fn jobs_out(outcome: &Outcome) -> Vec<u64> {
    let hours = outcome.length_s / 3_600.0;
    let rates = outcome.rate_per_h.each.iter();
    // Whole and far below 2^53 once the rounding of the division is undone.
    rates.map(|rate| (rate * hours).round() as u64).collect()
}
