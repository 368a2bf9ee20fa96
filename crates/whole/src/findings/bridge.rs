//! From the needed rate to what was made: where the shortfall lies.
//!
//! The bridge stands on the constraint. Its open hours are split into what it
//! did in them (worked, stood still, waited for a crew, changed over, starved,
//! blocked), and every second is worth `1 / s` cars, where `s` is its clean
//! seconds a car: mean cycle by mix times pieces a car, without repeats. So
//!
//! ```text
//! open     = open hours / s             what it could make without any loss
//! lost     = time in a state / s        one loss for each state
//! repeats  = worked / s * (1 - s / s')  s' being its seconds with rework and scrap
//! made     = needed + (open - needed) - all losses - repeats + remainder
//! ```
//!
//! and the parts add up to the gap by construction. The remainder is what
//! the clean plan does not see: cycles and mix as drawn, and cars that entered
//! or left the stock of work in the plant during the run.

use flow::statistics::Interval;
use serde::{Deserialize, Serialize};

use super::measure::{Measured, States};

/// A cause in the bridge, in the order in which it is told.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum Cause {
    /// What the constraint's clean cycle would give in its open hours, less the
    /// needed rate.
    OpenHours,
    /// Stops under repair.
    Stops,
    /// Stops waiting for a repair crew.
    CrewWaits,
    /// Changeovers.
    Changeovers,
    /// Nothing to work on.
    Starved,
    /// Work there, no carrier.
    CarrierWaits,
    /// No place to put finished work.
    Blocked,
    /// Work done twice, or on cars that were lost.
    ReworkAndScrap,
    /// Cycles and mix as drawn, and change of the work in the plant.
    Remainder,
}

impl Cause {
    /// The cause in words, as every face says it.
    pub const fn words(self) -> &'static str {
        match self {
            Self::OpenHours => "what its clean cycle could make in its open hours, above the need",
            Self::Stops => "stops under repair",
            Self::CrewWaits => "stops waiting for a crew",
            Self::Changeovers => "changeovers",
            Self::Starved => "nothing to work on",
            Self::CarrierWaits => "waiting for a carrier",
            Self::Blocked => "no place for finished work",
            Self::ReworkAndScrap => "rework and scrap",
            Self::Remainder => "cycles and mix as drawn, work in the plant",
        }
    }
}

/// One part of the bridge.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct BridgePart {
    /// The cause.
    pub cause: Cause,
    /// The same in words.
    pub words: String,
    /// Cars a week that it adds (or, below zero, takes).
    pub cars: Interval,
}

/// From needed to made in cars a week.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Bridge {
    /// The station on which the bridge stands.
    pub station: String,
    /// Its clean seconds a car.
    pub clean_s_per_car: f64,
    /// Its seconds a car with rework and scrap.
    pub gross_s_per_car: f64,
    /// Needed cars a week.
    pub needed: f64,
    /// The parts, in order; needed plus all parts is made.
    pub parts: Vec<BridgePart>,
    /// Cars a week made.
    pub made: Interval,
}

/// What the bridge has to know of its station.
#[derive(Clone, Debug)]
pub(super) struct Pillar {
    /// Position in the network.
    pub(super) station: usize,
    pub(super) name: String,
    pub(super) units: u32,
    /// Open seconds a week of a unit.
    pub(super) open_s: f64,
    pub(super) clean_s_per_car: f64,
    pub(super) gross_s_per_car: f64,
}

/// Builds the bridge on a station; none when no car needs it.
pub(super) fn build(measured: &Measured, needed: f64, pillar: &Pillar) -> Option<Bridge> {
    let s = pillar.clean_s_per_car;
    if s.is_nan() || s <= 0.0 {
        return None;
    }
    let repeats = 1.0 - s / pillar.gross_s_per_car;
    let units = f64::from(pillar.units);
    // cars that the open hours are worth
    let open = pillar.open_s * units / s;
    let states = &measured.states[pillar.station];
    let part = |cause: Cause, cars: &dyn Fn(&States, f64) -> f64| {
        let each = states.iter().zip(&measured.cars);
        let cars: Vec<f64> = each.map(|(states, &made)| cars(states, made)).collect();
        BridgePart {
            cause,
            words: cause.words().to_owned(),
            cars: Interval::of(&cars, measured.level()),
        }
    };
    let worked = |states: &States| states.working * open;
    let parts = vec![
        part(Cause::OpenHours, &|_, _| open - needed),
        part(Cause::Stops, &|s, _| (s.crew_wait - s.stopped) * open),
        part(Cause::CrewWaits, &|s, _| -s.crew_wait * open),
        part(Cause::Changeovers, &|s, _| -s.changeover * open),
        part(Cause::Starved, &|s, _| (s.carrier_wait - s.starved) * open),
        part(Cause::CarrierWaits, &|s, _| -s.carrier_wait * open),
        part(Cause::Blocked, &|s, _| -s.blocked * open),
        part(Cause::ReworkAndScrap, &|s, _| -worked(s) * repeats),
        part(Cause::Remainder, &|s, made| {
            made - worked(s) * (1.0 - repeats)
        }),
    ];
    Some(Bridge {
        station: pillar.name.clone(),
        clean_s_per_car: s,
        gross_s_per_car: pillar.gross_s_per_car,
        needed,
        parts,
        made: Interval::of(&measured.cars, measured.level()),
    })
}

impl Bridge {
    /// Cars a week that the parts add to the needed rate; it equals made less
    /// needed.
    pub fn gap(&self) -> f64 {
        self.parts.iter().map(|part| part.cars.mean).sum()
    }
}
