//! Whether stops come more and more often, or less: a fit of times between
//! stops means nothing where they do.

use serde::{Deserialize, Serialize};
use statrs::distribution::{ChiSquared, ContinuousCDF, Normal};

/// What is known of one unit's stops over its time.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Course {
    /// Stops.
    pub stops: u64,
    /// Time seen in all, by the clock that runs towards the stops.
    pub total: f64,
    /// Sum of the times from the start to each stop.
    pub when_sum: f64,
    /// Sum of their logarithms.
    pub when_log: f64,
}

/// Two tests for a trend.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Trend {
    /// Laplace's score: above 0 stops come closer together.
    pub laplace: f64,
    /// How often chance alone gives a score this far from 0.
    pub laplace_p: f64,
    /// The score of the military handbook: twice the sum of ln(total/when).
    pub handbook: f64,
    /// How often chance alone gives one this extreme.
    pub handbook_p: f64,
}

impl Trend {
    /// Whether neither test speaks against stops that come evenly.
    pub fn even(self, level: f64) -> bool {
        self.laplace_p >= level && self.handbook_p >= level
    }
}

/// Tests the stops of like units, each over its own time (Laplace's test and
/// that of MIL-HDBK-189, pooled; S. E. Rigdon and A. P. Basu, Statistical
/// Methods for the Reliability of Repairable Systems, 2000). None below four
/// stops.
pub fn trend(units: impl IntoIterator<Item = Course>) -> Option<Trend> {
    let (mut stops, mut apart, mut spread, mut handbook) = (0, 0.0, 0.0, 0.0);
    for unit in units {
        let n = unit.stops as f64;
        if unit.stops == 0 || unit.total <= 0.0 {
            continue;
        }
        stops += unit.stops;
        apart += unit.when_sum - n * unit.total / 2.0;
        spread += n * unit.total * unit.total / 12.0;
        handbook += 2.0 * (n * libm::log(unit.total) - unit.when_log);
    }
    if stops < 4 {
        return None;
    }
    let laplace = apart / spread.sqrt();
    let normal = Normal::new(0.0, 1.0).ok()?;
    let below = ChiSquared::new(2.0 * stops as f64).ok()?.cdf(handbook);
    Some(Trend {
        laplace,
        laplace_p: 2.0 * normal.cdf(-laplace.abs()),
        handbook,
        handbook_p: 2.0 * below.min(1.0 - below),
    })
}
