//! What holds the plant back: ranked by critical path, confirmed by trial.
//!
//! The rank is the share of the critical path spent at a station, which is the
//! elasticity of the rate to its times. What it predicts is put to the proof
//! for the first few: the same plant with one time shorter, the same luck, and
//! an interval on the difference.

use flow::model::{Network, StationIdx};
use flow::statistics::{Interval, paired_difference};
use flow::{Change, Watch};
use serde::{Deserialize, Serialize};

use super::measure::{self, Measured, PathShare, Stopped};

/// The trial shortens a cycle by this share.
pub const CYCLE_CUT: f64 = 0.05;
/// The trial shortens repairs and changeovers by this share.
pub const REPAIR_CUT: f64 = 0.25;

/// The time that a trial shortens.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum Lever {
    /// The cycle, by [`CYCLE_CUT`].
    Cycle,
    /// All repairs, by [`REPAIR_CUT`].
    Repair,
    /// Changeovers, by [`REPAIR_CUT`].
    Changeover,
}

impl Lever {
    fn cut(self) -> f64 {
        match self {
            Self::Cycle => CYCLE_CUT,
            Self::Repair | Self::Changeover => REPAIR_CUT,
        }
    }

    fn share(self, path: PathShare) -> f64 {
        match self {
            Self::Cycle => path.cycle,
            Self::Repair => path.repair,
            Self::Changeover => path.changeover,
        }
    }
}

/// A trial: the plant again with one time shorter and the same luck.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Trial {
    /// The time that was shortened.
    pub lever: Lever,
    /// By what share.
    pub cut: f64,
    /// Cars a week that the critical path promises at most: what a small change
    /// gives for each per cent, before another station becomes the constraint.
    pub predicted: f64,
    /// Cars a week that the trial gained.
    pub gain: Interval,
    /// Whether the interval leaves zero out; if not, no difference is shown.
    pub shown: bool,
    /// What was found, in words.
    pub finding: String,
}

/// A station that holds the plant back.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Suspect {
    /// Position of the station in the answer's stations.
    pub station: usize,
    /// Its name.
    pub name: String,
    /// Share of the critical path spent there.
    pub path: PathShare,
    /// Trials, for the first few.
    pub trials: Vec<Trial>,
    /// How the stations around it wait, in words.
    pub explanation: String,
}

/// Positions of the stations by falling share of the critical path.
pub(super) fn ranked(measured: &Measured) -> Vec<usize> {
    let mut order: Vec<usize> = (0..measured.paths.len()).collect();
    let total = |station: usize| measured.paths[station].total();
    order.sort_by(|&a, &b| total(b).total_cmp(&total(a)).then(a.cmp(&b)));
    order.retain(|&station| total(station) > 0.0);
    order
}

/// Puts that time of a station to trial which promises most by the critical
/// path; none if it has no time that could be shorter.
pub(super) fn trial(
    network: &Network,
    station: usize,
    measured: &Measured,
    watch: &Watch,
) -> Result<Option<Trial>, Stopped> {
    let path = measured.paths[station];
    let mut levers = [Lever::Cycle, Lever::Repair, Lever::Changeover];
    let promise = |lever: Lever| lever.share(path) * lever.cut();
    levers.sort_by(|a, b| promise(*b).total_cmp(&promise(*a)));
    let found = levers
        .into_iter()
        .find_map(|lever| Some((lever, shortened(network, station, lever)?)));
    let Some((lever, variant)) = found else {
        return Ok(None);
    };
    let cars = measure::cars_again(&variant, measured, watch)?;
    let Some(gain) = paired_difference(&cars, &measured.cars_on_trial, measured.level()) else {
        return Ok(None);
    };
    let made = flow::statistics::mean(&measured.cars_on_trial);
    let shown = !gain.holds(0.0);
    Ok(Some(Trial {
        lever,
        cut: lever.cut(),
        predicted: lever.share(path) * lever.cut() * made,
        finding: finding(lever, gain, shown),
        gain,
        shown,
    }))
}

fn finding(lever: Lever, gain: Interval, shown: bool) -> String {
    let what = match lever {
        Lever::Cycle => "cycle",
        Lever::Repair => "repairs",
        Lever::Changeover => "changeovers",
    };
    let percent = lever.cut() * 100.0;
    let change = format!("{:+.1} ± {:.1} cars a week", gain.mean, gain.half_width);
    if shown {
        format!("{what} {percent:.0} % shorter: {change}")
    } else {
        format!("{what} {percent:.0} % shorter: no difference shown ({change})")
    }
}

/// The network with one time of one station shorter; none when the station
/// has no such time.
fn shortened(network: &Network, station: usize, lever: Lever) -> Option<Network> {
    let factor = 1.0 - lever.cut();
    let station = StationIdx(u32::try_from(station).ok()?);
    let change = match lever {
        Lever::Cycle => Change::Cycle(station, factor),
        Lever::Repair => Change::Repair(station, factor),
        Lever::Changeover => Change::Changeover(station, factor),
    };
    change.apply(network)
}
