//! How a caller follows a long search and ends it.

use std::sync::atomic::{AtomicBool, Ordering};

use crate::bound::Bound;
use crate::cost::Cost;
use crate::model::Checked;

/// How far a search is.
#[derive(Clone, Copy, Debug)]
pub struct Progress<'a> {
    /// Moves tried, all walkers together.
    pub steps: u64,
    /// Moves to try.
    pub of: u64,
    /// The least cost so far.
    pub best: Cost,
    /// The order that costs it: looked into only where somebody asks.
    pub(crate) seen: Seen<'a>,
}

/// The best order so far and what it is an order of.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Seen<'a> {
    pub(crate) checked: &'a Checked,
    pub(crate) bound: &'a Bound,
    /// The whole row, previous cars included.
    pub(crate) row: &'a [u16],
}

/// The caller's eye on a search: solvers have no clock, so a limit on time is
/// a flag that the caller sets.
#[derive(Clone, Copy)]
pub struct Watch<'a> {
    /// Set to true to end the search with the best found.
    pub cancel: &'a AtomicBool,
    /// Called now and then.
    pub progress: &'a (dyn Fn(Progress<'_>) + Sync),
    /// How much of a limit on time has gone, from 0 to 1, so that a search can
    /// plan for what is left, and ends at 1; 0 where steps are the only limit.
    pub gone: &'a (dyn Fn() -> f64 + Sync),
}

static NEVER: AtomicBool = AtomicBool::new(false);

impl Watch<'_> {
    /// Nobody watches.
    pub fn none() -> Self {
        Self {
            cancel: &NEVER,
            progress: &|_| {},
            gone: &|| 0.0,
        }
    }

    /// Whether the search is to end: told so, or the limit on time is over.
    pub(crate) fn cancelled(&self) -> bool {
        self.cancel.load(Ordering::Relaxed) || (self.gone)() >= 1.0
    }

    /// Does some work within a part of the limit on time, as if that were all.
    pub(crate) fn share<T>(&self, from: f64, until: f64, work: impl FnOnce(&Watch<'_>) -> T) -> T {
        let gone = || ((self.gone)() - from) / (until - from).max(f64::EPSILON);
        work(&Watch {
            cancel: self.cancel,
            progress: self.progress,
            gone: &gone,
        })
    }
}

/// How much and with which luck to search. The same settings give the same
/// order on every machine and any number of threads.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Settings {
    /// Seed of the search.
    pub seed: u64,
    /// Moves that each walker may try.
    pub steps: u64,
    /// Walkers, each with its own luck.
    pub walkers: u32,
    /// States that the proof may remember; 0 for no proof beyond the bounds.
    pub proof_states: u32,
}

impl Settings {
    /// A search of some seconds on two cores.
    pub const fn thorough(seed: u64) -> Self {
        Self {
            seed,
            steps: 20_000_000,
            walkers: 4,
            proof_states: 300_000,
        }
    }

    /// A search of some tenths of a second.
    pub const fn quick(seed: u64) -> Self {
        Self {
            seed,
            steps: 400_000,
            walkers: 2,
            proof_states: 50_000,
        }
    }
}
