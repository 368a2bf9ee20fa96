//! Exact and analytic references: the second opinion on a simulated figure.
//!
//! Nothing here draws a random number. Each function states its model, its
//! conventions and its published source; any unit of time will do, as long as
//! it is one. Where a result is an approximation its known error is stated.
//!
//! * one station: [`queue`], with stops ([`stops`]) and rework ([`rework`]);
//! * lines with few places: [`mod@line`] and [`merge`], exact Markov chains solved
//!   by [`chain`]; fixed times by [`tandem`]; the best split of work [`bowl`];
//! * machines that work in step: [`slotted`], [`fluid`], the textbook
//!   [`transfer`] line, and the [`decomposition`] of long ones;
//! * loops with a fixed number of carriers: [`closed`]; shared repair
//!   [`crews`]; the corridor of [`factory`] physics.

use std::fmt;

pub mod bowl;
pub mod chain;
pub mod closed;
pub mod crews;
pub mod decomposition;
pub mod factory;
pub mod fluid;
pub mod line;
mod linear;
pub mod merge;
pub mod queue;
pub mod rework;
pub mod slotted;
pub mod stops;
pub mod tandem;
pub mod transfer;

/// Why a reference can't be computed.
#[derive(Clone, Debug, PartialEq)]
pub enum Refused {
    /// More work arrives than can be done: no steady state exists.
    Overloaded {
        /// Work offered per unit of capacity.
        load: f64,
    },
    /// A number is outside the range the model allows.
    OutOfRange {
        /// Which one.
        what: &'static str,
        /// The value seen.
        value: f64,
        /// What is allowed.
        allowed: &'static str,
    },
    /// Lists that must fit each other do not.
    Mismatch {
        /// Which lists.
        what: &'static str,
        /// Length needed.
        needed: usize,
        /// Length seen.
        found: usize,
    },
    /// The exact chain would be larger than is sensible.
    TooLarge {
        /// States, or band entries, allowed.
        limit: usize,
    },
    /// The chain falls apart into parts that never meet, or the equations have
    /// no single solution.
    NotErgodic,
    /// An iteration did not settle.
    NotSettled {
        /// Rounds tried.
        rounds: usize,
    },
}

impl fmt::Display for Refused {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Overloaded { load } => write!(
                f,
                "load is {load}, must be below 1: less work or more capacity is needed for a steady state"
            ),
            Self::OutOfRange {
                what,
                value,
                allowed,
            } => write!(f, "{what} is {value}, must be {allowed}"),
            Self::Mismatch {
                what,
                needed,
                found,
            } => write!(f, "{what}: found {found}, needed {needed}"),
            Self::TooLarge { limit } => write!(
                f,
                "the exact chain has more than {limit} entries: take fewer stations or places, or simulate"
            ),
            Self::NotErgodic => write!(f, "the chain has no single steady state"),
            Self::NotSettled { rounds } => {
                write!(f, "the iteration has not settled after {rounds} rounds")
            }
        }
    }
}

impl std::error::Error for Refused {}

/// Checks that a number is above 0 and finite.
pub(crate) fn positive(what: &'static str, value: f64) -> Result<f64, Refused> {
    within(what, value, value > 0.0, "above 0")
}

/// Checks that a number is a probability.
pub(crate) fn probability(what: &'static str, value: f64) -> Result<f64, Refused> {
    within(what, value, (0.0..=1.0).contains(&value), "between 0 and 1")
}

pub(crate) fn within(
    what: &'static str,
    value: f64,
    fits: bool,
    allowed: &'static str,
) -> Result<f64, Refused> {
    if fits && value.is_finite() {
        Ok(value)
    } else {
        Err(Refused::OutOfRange {
            what,
            value,
            allowed,
        })
    }
}

/// Checks that two lists fit each other.
pub(crate) fn fits(what: &'static str, found: usize, needed: usize) -> Result<(), Refused> {
    if found == needed {
        Ok(())
    } else {
        Err(Refused::Mismatch {
            what,
            needed,
            found,
        })
    }
}
