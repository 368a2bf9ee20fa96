//! What a long search tells while it runs.

use serde::Serialize;

/// The best that a search has found so far, in one thing that it is judged by.
/// A search lists them in the order in which they count.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct SoFar {
    /// What is counted, with its unit where it has one, as in `changes of colour`.
    pub what: String,
    /// So much of it.
    pub value: f64,
    /// No answer has less; none where no more than that is known.
    pub at_least: Option<f64>,
}

impl SoFar {
    /// One of them. A bound of nothing says nothing, and is left out.
    pub fn new(what: impl Into<String>, value: f64, at_least: f64) -> Self {
        Self {
            what: what.into(),
            value,
            at_least: (at_least > 0.0).then_some(at_least),
        }
    }
}
