//! Whether stops come more and more often, or less: a fit of times between
//! stops means nothing where they do.

use serde::{Deserialize, Serialize};
use statrs::distribution::{ChiSquared, ContinuousCDF, Normal};

/// What is known of one unit's stops over its time.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Course {
    /// Stops seen, the last included.
    pub stops: u64,
    /// Time seen in all, by the clock that runs towards the stops; the unit is free, but
    /// the same in all fields.
    pub total: f64,
    /// Sum of the times from the start to each stop.
    pub when_sum: f64,
    /// Sum of the natural logarithms of those times.
    pub when_log: f64,
    /// The record ends with the last stop and not at a time of its own.
    pub ends_with_stop: bool,
}

impl Course {
    /// Stops that are free to lie anywhere in the time, the sum of their times
    /// and of the logarithms of those. Where the record ends with a stop that
    /// one lies at its end by itself (MIL-HDBK-189C, 2011, and NIST/SEMATECH
    /// e-Handbook 8.2.3.4: 2(n - 1) degrees of freedom).
    fn free(&self) -> (u64, f64, f64) {
        let Self {
            stops,
            total,
            when_sum,
            when_log,
            ..
        } = *self;
        if self.ends_with_stop {
            (stops - 1, when_sum - total, when_log - libm::log(total))
        } else {
            (stops, when_sum, when_log)
        }
    }
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
    let (mut all, mut stops, mut apart, mut spread, mut handbook) = (0, 0, 0.0, 0.0, 0.0);
    for unit in units {
        if unit.stops == 0 || unit.total <= 0.0 {
            continue;
        }
        all += unit.stops;
        let (free, when_sum, when_log) = unit.free();
        let n = free as f64;
        stops += free;
        apart += when_sum - n * unit.total / 2.0;
        spread += n * unit.total * unit.total / 12.0;
        handbook += 2.0 * (n * libm::log(unit.total) - when_log);
    }
    if all < 4 || stops == 0 {
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
