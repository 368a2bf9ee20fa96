//! The run, and what the findings need of it, replication by replication.

use flow::model::Network;
use flow::statistics::mean;
use flow::{Estimate, Fault, Halt, Outcome, Plan, Settings, Stuck, WarmUp, Watch};
use serde::{Deserialize, Serialize};

use super::RunSettings;
use crate::calendar::WEEK;
use crate::network::Built;

/// Weeks in which the warm-up is looked for, one after the other until it is
/// found. A plant within its target of some days has filled in the first, and
/// each week more costs every replication a week.
const WARM_UP_WEEKS: [u32; 3] = [1, 2, 4];
const HOURS_PER_WEEK: f64 = 168.0;

/// How a figure was simulated: the passport of every figure of an answer.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct RunFacts {
    /// Independent replications.
    pub replications: u32,
    /// Weeks measured in each.
    pub weeks: u32,
    /// Hours cut off before, found by MSER-5 in whole days, or given.
    pub warm_up_h: f64,
    /// Whether the search for the warm-up ended before its limit; none where
    /// the warm-up was given. If not, the first weeks may still show.
    pub warm_up_found: Option<bool>,
    /// The seed of all streams.
    pub seed: u64,
    /// Level of the intervals.
    pub level: f64,
    /// Station completions simulated, warm-up included, trials not.
    pub moves: u64,
}

/// Shares of the critical path spent at a station.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct PathShare {
    /// In its cycle.
    pub cycle: f64,
    /// In its stops.
    pub repair: f64,
    /// In its changeovers.
    pub changeover: f64,
}

impl PathShare {
    /// All of it: what the rate gains for all its times 1 % shorter, in
    /// per cent.
    pub fn total(self) -> f64 {
        self.cycle + self.repair + self.changeover
    }
}

/// Shares of its open time that a station spent in each state, over all its
/// units, in one replication.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) struct States {
    pub(super) working: f64,
    pub(super) starved: f64,
    pub(super) blocked: f64,
    pub(super) stopped: f64,
    pub(super) changeover: f64,
    /// Of starved, for want of a carrier.
    pub(super) carrier_wait: f64,
    /// Of stopped, for want of a crew.
    pub(super) crew_wait: f64,
}

/// A run, as the findings need it.
#[derive(Clone, Debug)]
pub(super) struct Measured {
    pub(super) run: RunFacts,
    /// Cars a week, by replication.
    pub(super) cars: Vec<f64>,
    /// The same over the weeks that trials are compared on.
    pub(super) cars_on_trial: Vec<f64>,
    /// By station, then by replication.
    pub(super) states: Vec<Vec<States>>,
    /// By station.
    pub(super) paths: Vec<PathShare>,
    pub(super) outcome: Outcome,
}

impl Measured {
    pub(super) fn level(&self) -> f64 {
        self.run.level
    }

    pub(super) fn stuck(&self) -> Option<&Stuck> {
        self.outcome.stuck.as_ref()
    }

    /// Mean over the replications of a state of a station.
    pub(super) fn share(&self, station: usize, of: fn(&States) -> f64) -> f64 {
        mean(&self.states[station].iter().map(of).collect::<Vec<f64>>())
    }
}

/// Why a run gave nothing.
#[derive(Clone, Debug)]
pub(crate) enum Stopped {
    Faults(Vec<Fault>),
    Halt(Halt),
}

/// Runs the network of a book with all measures.
pub(super) fn run(
    built: &Built,
    settings: &RunSettings,
    watch: &Watch,
) -> Result<Measured, Stopped> {
    let (run, outcome) = outcome(built, settings, true, watch)?;
    let path = |station: &flow::StationOutcome| {
        station
            .path
            .as_ref()
            .map_or_else(PathShare::default, |path| PathShare {
                cycle: path.cycle.mean,
                repair: path.stopped.mean,
                changeover: path.changeover.mean,
            })
    };
    Ok(Measured {
        cars: a_week(&outcome.rate_per_h),
        cars_on_trial: on_trial(&outcome, run.weeks),
        states: outcome.stations.iter().map(states).collect(),
        paths: outcome.stations.iter().map(path).collect(),
        run,
        outcome,
    })
}

/// The run as it is and how it was made, the warm-up found; with or without
/// critical path and banks, which take twice the time.
pub(crate) fn outcome(
    built: &Built,
    settings: &RunSettings,
    all: bool,
    watch: &Watch,
) -> Result<(RunFacts, Outcome), Stopped> {
    let plan = Plan::compile(&built.network).map_err(Stopped::Faults)?;
    let weeks = settings.weeks.max(1);
    let how = |warm_up: WarmUp| Settings {
        seed: settings.seed,
        replications: settings.replications,
        warm_up,
        length_s: f64::from(weeks) * WEEK.0,
        slabs: 7 * weeks,
        precise: None,
        elasticities: all,
        banks: all,
        states: true,
    };
    let simulate = |warm_up| flow::run(&plan, &how(warm_up), watch).map_err(Stopped::Halt);
    let outcome = match settings.warm_up_h {
        Some(hours) => simulate(WarmUp::Fixed(hours * 3_600.0))?,
        // whole days; the window after it is whole weeks wherever it begins
        None => {
            let within = |weeks: u32| WarmUp::Found {
                at_most_s: f64::from(weeks) * WEEK.0,
                step_s: WEEK.0 / 7.0,
            };
            let mut outcome = simulate(within(WARM_UP_WEEKS[0]))?;
            for more in &WARM_UP_WEEKS[1..] {
                if outcome.warm_up_found != Some(false) || outcome.stuck.is_some() {
                    break;
                }
                outcome = simulate(within(*more))?;
            }
            outcome
        }
    };
    let run = RunFacts {
        replications: outcome.replications,
        weeks,
        warm_up_h: outcome.warm_up_s / 3_600.0,
        warm_up_found: outcome.warm_up_found,
        seed: settings.seed,
        level: settings.level,
        moves: outcome.moves,
    };
    Ok((run, outcome))
}

/// Weeks that a trial is compared on: half of those measured. The difference
/// with the same luck needs less than the rate itself, and the answer waits for
/// the trials.
fn weeks_on_trial(weeks: u32) -> u32 {
    weeks.div_ceil(2)
}

fn on_trial(outcome: &Outcome, weeks: u32) -> Vec<f64> {
    let days = 7 * weeks_on_trial(weeks);
    (0..outcome.rate_per_h.each.len())
        .map(|r| {
            let spells = outcome.over_time.iter().take(days as usize);
            let sum: f64 = spells.map(|spell| spell.rate_each[r]).sum();
            sum / f64::from(days) * HOURS_PER_WEEK
        })
        .collect()
}

/// Cars a week of a variant of the network over the weeks of a trial, with the
/// same luck, replication by replication.
pub(super) fn cars_again(
    variant: &Network,
    before: &Measured,
    watch: &Watch,
) -> Result<Vec<f64>, Stopped> {
    let window = Window {
        seed: before.run.seed,
        replications: before.run.replications,
        warm_up_s: before.outcome.warm_up_s,
        weeks: weeks_on_trial(before.run.weeks),
    };
    cars_of(variant, &window, watch).map(|(cars, _)| cars)
}

/// What two variants of a plant are compared on.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Window {
    pub(crate) seed: u64,
    pub(crate) replications: u32,
    pub(crate) warm_up_s: f64,
    pub(crate) weeks: u32,
}

/// Cars a week of a network by replication, and whether it locked itself up.
pub(crate) fn cars_of(
    network: &Network,
    window: &Window,
    watch: &Watch,
) -> Result<(Vec<f64>, bool), Stopped> {
    let plan = Plan::compile(network).map_err(Stopped::Faults)?;
    let how = Settings {
        seed: window.seed,
        replications: window.replications,
        warm_up: WarmUp::Fixed(window.warm_up_s),
        length_s: f64::from(window.weeks) * WEEK.0,
        slabs: 1,
        precise: None,
        elasticities: false,
        banks: false,
        states: false,
    };
    let outcome = flow::run(&plan, &how, watch).map_err(Stopped::Halt)?;
    Ok((a_week(&outcome.rate_per_h), outcome.stuck.is_some()))
}

/// A rate an hour of calendar time as one a week.
pub(crate) fn a_week(per_h: &Estimate) -> Vec<f64> {
    per_h
        .each
        .iter()
        .map(|rate| rate * HOURS_PER_WEEK)
        .collect()
}

fn states(station: &flow::StationOutcome) -> Vec<States> {
    let at = |estimate: &Estimate, replication: usize| {
        estimate.each.get(replication).copied().unwrap_or(0.0)
    };
    (0..station.working.each.len())
        .map(|r| States {
            working: at(&station.working, r),
            starved: at(&station.starved, r),
            blocked: at(&station.blocked, r),
            stopped: at(&station.stopped, r),
            changeover: at(&station.changeover, r),
            carrier_wait: at(&station.carrier_wait, r),
            crew_wait: at(&station.crew_wait, r),
        })
        .collect()
}
