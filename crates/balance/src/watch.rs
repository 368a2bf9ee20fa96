//! How a caller follows a long search and ends it.

use std::sync::atomic::{AtomicBool, Ordering};

use units::SoFar;

/// What a search makes least.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Least {
    /// Stations.
    Stations,
    /// Takt, in ticks.
    Takt,
    /// What stations, people or robots cost.
    Cost,
    /// Work moved from today's stations, in ticks.
    WorkMoved,
}

/// How far a search is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Progress {
    /// What is made least.
    pub least: Least,
    /// The best answer so far, in the unit of the objective; none yet where
    /// no answer was found.
    pub best: Option<u64>,
    /// No answer can be better than this.
    pub bound: u64,
}

impl Progress {
    /// The best so far in words, ticks and costs being those of the question;
    /// none while there is none.
    pub fn so_far(&self) -> Option<SoFar> {
        let what = match self.least {
            Least::Stations => "stations",
            Least::Takt => "takt",
            Least::Cost => "cost",
            Least::WorkMoved => "work moved",
        };
        self.best
            .map(|best| SoFar::new(what, best as f64, self.bound as f64))
    }
}

/// The caller's eye on a search: solvers have no clock, so a limit on time is
/// a flag that the caller sets.
#[derive(Clone, Copy)]
pub struct Watch<'a> {
    /// Set to true to end the search with the best found and its bound.
    pub cancel: &'a AtomicBool,
    /// Called whenever the best or the bound moves, from any thread.
    pub progress: &'a (dyn Fn(Progress) + Sync),
}

static NEVER: AtomicBool = AtomicBool::new(false);

impl Watch<'_> {
    /// Nobody watches.
    pub fn none() -> Self {
        Self {
            cancel: &NEVER,
            progress: &|_| {},
        }
    }

    /// Whether the caller wants the search to end.
    pub(crate) fn cancelled(&self) -> bool {
        self.cancel.load(Ordering::Relaxed)
    }
}

/// What a search may use.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Limits {
    /// Megabytes for remembered states, all threads together. A search that
    /// reaches it goes on without remembering more, slower but still exact.
    pub memory_mb: u32,
    /// Steps of search after which it ends with what it has: the same on every
    /// machine, unlike a limit on time. None for as many as it takes.
    pub steps: Option<u64>,
}
