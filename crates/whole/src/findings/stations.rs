//! What every station did with its time.

use book::At;
use flow::model::Station;
use flow::statistics::Interval;
use serde::{Deserialize, Serialize};

use super::measure::{Measured, PathShare, States};
use crate::network::{Built, StationOrigin};

/// The states of a station as shares of the time in which it is there to
/// work (for several units, of their time together). Working, starved,
/// blocked, stopped and changeover add to 1.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct StationStates {
    /// The station.
    pub station: String,
    /// Its row.
    pub at: At,
    /// Its shop.
    pub shop: String,
    /// Its stage.
    pub stage: String,
    /// Units side by side.
    pub units: u32,
    /// Hours a week in which it is there to work, each unit.
    pub open_h: f64,
    /// Working.
    pub working: Interval,
    /// Nothing to work on, or no carrier.
    pub starved: Interval,
    /// Of starved: no carrier.
    pub carrier_wait: Interval,
    /// No place for finished work.
    pub blocked: Interval,
    /// Down, under repair or waiting for a crew.
    pub stopped: Interval,
    /// Of stopped: waiting for a crew.
    pub crew_wait: Interval,
    /// Changing over.
    pub changeover: Interval,
    /// Share of the critical path.
    pub path: PathShare,
}

pub(super) fn states(built: &Built, measured: &Measured) -> Vec<StationStates> {
    let rows = built
        .stations
        .iter()
        .zip(&built.network.stations)
        .enumerate();
    let state = |(position, (origin, station)): (usize, (&StationOrigin, &Station))| {
        let share = |of: fn(&States) -> f64| {
            let shares: Vec<f64> = measured.states[position].iter().map(of).collect();
            Interval::of(&shares, measured.level())
        };
        StationStates {
            station: origin.name.clone(),
            at: origin.at,
            shop: origin.shop.clone(),
            stage: built.stages[origin.stage].name.clone(),
            units: station.units,
            open_h: built.open_s_per_week[position] / 3_600.0,
            working: share(|s| s.working),
            starved: share(|s| s.starved),
            carrier_wait: share(|s| s.carrier_wait),
            blocked: share(|s| s.blocked),
            stopped: share(|s| s.stopped),
            crew_wait: share(|s| s.crew_wait),
            changeover: share(|s| s.changeover),
            path: measured.paths[position],
        }
    };
    rows.map(state).collect()
}
