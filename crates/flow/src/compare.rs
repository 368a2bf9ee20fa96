//! What a change gives: the same network again, changed in one place, with the
//! same luck.
//!
//! The critical path of one run gives the elasticity to every cycle and repair
//! time. It cannot tell what a place, a unit, a carrier or a crew more gives,
//! nor fewer stops (Fu & Xie 1998, from memory: perturbation analysis fails
//! where a change moves a stop to another job). For those the network is run
//! again: every stream belongs to a station and a purpose, so both runs meet
//! the same stops and the difference has a narrow interval.

use serde::Serialize;

use crate::compile::Fault;
use crate::model::{CrewIdx, FleetIdx, LinkIdx, Network, StationIdx, Work};
use crate::plan::Plan;
use crate::run::{Halt, Settings, Watch, run};
use crate::statistics::{Interval, paired_difference};

/// One change of a network.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Change {
    /// All cycles of a station times this factor; its stops still hit the same
    /// jobs.
    Cycle(#[serde(skip)] StationIdx, f64),
    /// All repairs of a station times this factor.
    Repair(#[serde(skip)] StationIdx, f64),
    /// The times between a station's stops times this factor.
    BetweenStops(#[serde(skip)] StationIdx, f64),
    /// The changeovers of a station that makes lots times this factor.
    Changeover(#[serde(skip)] StationIdx, f64),
    /// So many places more (or fewer) in a link.
    Places(#[serde(skip)] LinkIdx, i32),
    /// So many units more at a station.
    Units(#[serde(skip)] StationIdx, u32),
    /// So many carriers more (or fewer) in a fleet.
    Carriers(#[serde(skip)] FleetIdx, i32),
    /// So many repairs more at once by a crew.
    Crew(#[serde(skip)] CrewIdx, u32),
}

impl Change {
    /// The network so changed; none where it has nothing of the kind.
    pub fn apply(self, network: &Network) -> Option<Network> {
        let mut changed = network.clone();
        match self {
            Self::Cycle(s, factor) => {
                let station = changed.stations.get_mut(s.at())?;
                match &mut station.work {
                    Work::Cycle(cycles) => {
                        for cycle in &mut cycles.distributions {
                            *cycle = cycle.scaled(factor);
                        }
                    }
                    Work::Lots(lots) => {
                        for item in &mut lots.items {
                            item.cycle = item.cycle.scaled(factor);
                        }
                    }
                }
                station.wear /= factor;
            }
            Self::Repair(s, factor) => {
                let station = changed.stations.get_mut(s.at())?;
                if station.stops.is_empty() {
                    return None;
                }
                for stop in &mut station.stops {
                    stop.repair = stop.repair.scaled(factor);
                }
            }
            Self::BetweenStops(s, factor) => {
                let station = changed.stations.get_mut(s.at())?;
                if station.stops.is_empty() {
                    return None;
                }
                for stop in &mut station.stops {
                    stop.between = stop.between.scaled(factor);
                }
            }
            Self::Changeover(s, factor) => match &mut changed.stations.get_mut(s.at())?.work {
                Work::Lots(lots) if lots.changeover.mean() > 0.0 => {
                    lots.changeover = lots.changeover.scaled(factor);
                }
                _ => return None,
            },
            Self::Places(l, more) => {
                let holds = &mut changed.links.get_mut(l.at())?.holds;
                *holds = Some((*holds)?.checked_add_signed(more)?);
            }
            Self::Units(s, more) => changed.stations.get_mut(s.at())?.units += more,
            Self::Carriers(f, more) => {
                let count = &mut changed.fleets.get_mut(f.at())?.count;
                *count = count.checked_add_signed(more)?;
            }
            Self::Crew(c, more) => changed.crews.get_mut(c.at())?.count += more,
        }
        Some(changed)
    }
}

/// What a change gives.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Gain {
    /// The change.
    pub change: Change,
    /// Good jobs an hour more, with the 95 % interval of the paired difference.
    pub rate_per_h: Interval,
    /// Whether the interval leaves zero out; if not, no difference is shown.
    pub shown: bool,
}

/// Why a comparison could not be made.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum NoComparison {
    /// The network, as it is or changed, cannot be run.
    Faults(Vec<Fault>),
    /// A run ended early or its settings make none.
    Halt(Halt),
}

/// Runs the network as it is and with each of the changes, all with the same
/// luck, and gives the differences in the order of the changes. A change that
/// finds nothing to change is left out.
///
/// The gain of a place between two stations of 60 s exponential work is known:
/// 2/3 of a job a minute without, 3/4 with one (Hunt 1956).
///
/// ```
/// use flow::model::*;
/// use flow::{Change, Distribution, Settings, Watch, gains};
/// let station = |name: &str| Station::new(name, Distribution::Exponential(60.0));
/// let network = Network {
///     stations: vec![station("press"), station("trim")],
///     links: vec![Link::new(StationIdx(0), StationIdx(1), Some(0))],
///     ..Network::default()
/// };
/// let settings = Settings { length_s: 2e6, ..Settings::new(1, 20) };
/// let found = gains(&network, &[Change::Places(LinkIdx(0), 1)], &settings, &Watch::none())
///     .expect("both run");
/// assert!((found[0].rate_per_h.mean - 5.0).abs() < 0.3 && found[0].shown);
/// ```
///
/// # Errors
/// [`NoComparison`] when a network cannot be run or the run was cancelled.
pub fn gains(
    network: &Network,
    changes: &[Change],
    settings: &Settings,
    watch: &Watch<'_>,
) -> Result<Vec<Gain>, NoComparison> {
    let base = rates(network, settings, watch)?;
    let mut found = Vec::with_capacity(changes.len());
    for change in changes {
        let Some(changed) = change.apply(network) else {
            continue;
        };
        let rates = rates(&changed, settings, watch)?;
        if let Some(difference) = paired_difference(&rates, &base, 0.95) {
            found.push(Gain {
                change: *change,
                shown: !difference.holds(0.0),
                rate_per_h: difference,
            });
        }
    }
    Ok(found)
}

fn rates(
    network: &Network,
    settings: &Settings,
    watch: &Watch<'_>,
) -> Result<Vec<f64>, NoComparison> {
    let plan = Plan::compile(network).map_err(NoComparison::Faults)?;
    // Only the rate is compared.
    let settings = Settings {
        elasticities: false,
        banks: false,
        states: false,
        ..settings.clone()
    };
    let outcome = run(&plan, &settings, watch).map_err(NoComparison::Halt)?;
    Ok(outcome.rate_per_h.each)
}
