//! One side, one person a station: fewest stations, least takt.

/// Calls a function with sets that are large enough for so many tasks.
macro_rules! sized {
    ($tasks:expr, $solve:ident $arguments:tt) => {
        match $tasks {
            0..=64 => $solve::<1> $arguments,
            65..=128 => $solve::<2> $arguments,
            129..=192 => $solve::<3> $arguments,
            193..=320 => $solve::<5> $arguments,
            321..=512 => $solve::<8> $arguments,
            513..=1024 => $solve::<16> $arguments,
            _ => $solve::<32> $arguments,
        }
    };
}

mod bound;
mod graph;
mod hunt;
mod loads;
mod memory;
mod packing;
mod search;
mod start;
mod stations;
mod takt;

use crate::work::Work;

pub(crate) use bound::packed;
pub(crate) use memory::{Memory, OUTDONE, Seen};
pub(crate) use packing::{Weights, weights_by_reach};
pub use stations::fewest_stations;
pub use takt::least_takt;

/// A balance and how good it is known to be.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Balance {
    /// Tasks by station, in an order in which they can be done.
    pub stations: Vec<Vec<usize>>,
    /// No balance is better: fewest stations, or least takt in ticks,
    /// whichever was asked for.
    pub bound: u64,
    /// Whether the bound is met, which proves the balance optimal.
    pub proven: bool,
    /// Steps of search taken.
    pub steps: u64,
}

impl Balance {
    /// Ticks of each station.
    pub fn loads(&self, work: &Work) -> Vec<u64> {
        let sum = |tasks: &Vec<usize>| tasks.iter().map(|task| u64::from(work.ticks[*task])).sum();
        self.stations.iter().map(sum).collect()
    }

    /// Ticks of the longest station.
    pub fn longest(&self, work: &Work) -> u64 {
        self.loads(work).into_iter().max().unwrap_or(0)
    }
}
