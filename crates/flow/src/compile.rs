//! Network to plan: every check first, all faults at once.

mod around;
mod build;
mod check;
mod reach;

use std::fmt;

use crate::model::Network;
use crate::plan::Plan;
use check::Check;

/// What makes a network impossible to run.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fault {
    /// Where: a path such as `station "framing 10", stop "gun", between`.
    pub place: String,
    /// What was found.
    pub found: String,
    /// What was expected.
    pub expected: String,
    /// The smallest change that frees it.
    pub mend: String,
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "{}: found {}, expected {}; {}",
            self.place, self.found, self.expected, self.mend
        )
    }
}

impl Plan {
    /// Checks the network and makes it ready to run.
    ///
    /// ```
    /// use flow::{Plan, model::Network};
    /// let faults = Plan::compile(&Network::default()).expect_err("nothing to run");
    /// assert!(faults[0].to_string().contains("at least one station"));
    /// ```
    ///
    /// # Errors
    /// All faults of the network, each with its place, what was found, what was
    /// expected and the smallest change that frees it.
    pub fn compile(network: &Network) -> Result<Self, Vec<Fault>> {
        let mut check = Check {
            network,
            faults: Vec::new(),
        };
        check.all();
        if check.faults.is_empty() {
            Ok(build::build(network))
        } else {
            Err(check.faults)
        }
    }
}
