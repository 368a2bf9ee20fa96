//! A line laid down to the last random number, for comparing engines job for
//! job.
//!
//! Stations in series with operation-dependent stops and small banks; every
//! engine draws the same numbers, so all must count the same jobs. Cycles are
//! 60 s within 2 %, mean time between stops 4 h of running, mean repair 5 min,
//! both exponential; splitmix64 streams as in [`crate::stream`].

use crate::distribution::{Distribution, Sampler};
use crate::model::{Basis, Link, Network, Release, Station, StationIdx, Stop};
use crate::plan::Plan;
use crate::run::Settings;
use crate::stream::Stream;

/// Mean running time between stops, seconds.
const BETWEEN_S: f64 = 14_400.0;
/// Mean repair, seconds.
const REPAIR_S: f64 = 300.0;

/// The line's size.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ReferenceLine {
    /// Stations in series.
    pub stations: u32,
    /// Places between neighbours.
    pub places: u32,
    /// Days from the empty line.
    pub days: f64,
    /// Seed of the stops; the cycles' jitter is always that of seed 1.
    pub seed: u64,
    /// Replications; each adds one to the seed of the stops.
    pub replications: u32,
    /// Cycles differ within 2 %; false makes all 60 s.
    pub jitter: bool,
}

/// The line as a plan and the settings to run it with.
///
/// ```
/// use flow::reference::{ReferenceLine, plan};
/// let line = ReferenceLine { stations: 10, places: 2, days: 10.0, seed: 1, replications: 1, jitter: true };
/// let (plan, settings) = plan(&line).expect("the line is sound");
/// let outcome = flow::run(&plan, &settings, &flow::Watch::none()).expect("it runs");
/// assert_eq!((outcome.rate_per_h.mean * 240.0).round(), 12_775.0);
/// ```
///
/// # Errors
/// The faults of a line without stations or with too many places.
pub fn plan(line: &ReferenceLine) -> Result<(Plan, Settings), Vec<crate::Fault>> {
    let mut jitter = Stream::from_state(1);
    let stations = (0..line.stations)
        .map(|i| {
            let u = jitter.uniform();
            let cycle = if line.jitter {
                60.0 * (1.0 + 0.02 * (2.0 * u - 1.0))
            } else {
                60.0
            };
            station(i, cycle)
        })
        .collect();
    let links = (1..line.stations)
        .map(|i| Link::new(StationIdx(i - 1), StationIdx(i), Some(line.places)))
        .collect();
    let network = Network {
        stations,
        links,
        ..Network::default()
    };
    let mut plan = Plan::compile(&network)?;
    for pool in &mut plan.pools {
        for stop in &mut pool.stops {
            stop.shared = Some(pool.first_unit);
            stop.between = Sampler::Exponential(BETWEEN_S);
            stop.repair = Sampler::Exponential(REPAIR_S);
        }
    }
    let settings = Settings {
        length_s: line.days * 86_400.0,
        banks: false,
        ..Settings::new(line.seed, line.replications)
    };
    Ok((plan, settings))
}

/// The one stream of a station's stops: its state is the first output of a
/// stream that starts at the seed plus a multiple for the station.
pub(crate) fn stops_stream(seed: u64, replication: u32, station: u32) -> Stream {
    let start = seed
        .wrapping_add(u64::from(replication))
        .wrapping_add((u64::from(station) + 1).wrapping_mul(0xD1B5_4A32_D192_ED03));
    Stream::from_state(Stream::from_state(start).bits())
}

fn station(i: u32, cycle_s: f64) -> Station {
    Station {
        stops: vec![Stop {
            cause: "stop".to_owned(),
            basis: Basis::Running,
            between: Distribution::Exponential(BETWEEN_S),
            repair: Distribution::Exponential(REPAIR_S),
            crew: None,
            in_breaks: true,
        }],
        release: (i == 0).then(|| Release::Mix(Vec::new())),
        ..Station::new(format!("station {}", i + 1), Distribution::Fixed(cycle_s))
    }
}
