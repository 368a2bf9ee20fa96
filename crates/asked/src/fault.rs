//! What does not make sense in a solver's problem, however it was made.

use std::fmt;

/// A number of the problem that makes no sense.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fault {
    /// Where: `items[2].rate_per_day`, `rules[2].at_most`.
    pub place: String,
    /// What stands there.
    pub found: String,
    /// What could stand there.
    pub expected: String,
    /// The smallest change that mends it.
    pub mend: String,
}

impl Fault {
    /// A fault from its four parts.
    pub fn new(
        place: impl Into<String>,
        found: impl Into<String>,
        expected: impl Into<String>,
        mend: impl Into<String>,
    ) -> Self {
        Self {
            place: place.into(),
            found: found.into(),
            expected: expected.into(),
            mend: mend.into(),
        }
    }
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self {
            place,
            found,
            expected,
            mend,
        } = self;
        write!(f, "{place}: found {found}, expected {expected}; {mend}")
    }
}

impl std::error::Error for Fault {}
