//! How a caller follows the planning of a shop and ends it.

use std::sync::atomic::AtomicBool;

use units::SoFar;

/// How far a plan is, and what was found so far.
#[derive(Clone, Debug, PartialEq)]
pub struct Progress {
    /// What is going on, as in `ordering the cars`.
    pub doing: String,
    /// Steps of the search done, all its parts together.
    pub done: u64,
    /// Steps in all; 0 where that is not known.
    pub of: u64,
    /// The best so far, in the order in which it counts; empty while there is
    /// none.
    pub best: Vec<SoFar>,
}

/// The caller's eye on a plan.
#[derive(Clone, Copy)]
pub struct Watch<'a> {
    /// Set to true to end with the best found so far.
    pub cancel: &'a AtomicBool,
    /// Called now and then, from any thread.
    pub progress: &'a (dyn Fn(&Progress) + Sync),
}

pub(crate) static NEVER: AtomicBool = AtomicBool::new(false);

impl Watch<'_> {
    /// Nobody watches.
    pub fn none() -> Self {
        Self {
            cancel: &NEVER,
            progress: &|_| {},
        }
    }
}
