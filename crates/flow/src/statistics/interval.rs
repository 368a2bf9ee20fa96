//! Means, variances and confidence intervals over independent replications.

use super::quantile::student_t_quantile;

/// A mean with the half-width of its confidence interval.
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize, serde::Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Interval {
    /// Mean over the replications; not a number of none (null in JSON).
    #[serde(deserialize_with = "number_or_nan")]
    #[cfg_attr(feature = "schema", schemars(with = "f64"))]
    pub mean: f64,
    /// Half-width at the level asked for; infinite with fewer than two
    /// replications (written as null in JSON), because one run says nothing
    /// about its own spread.
    #[serde(deserialize_with = "number_or_infinite")]
    #[cfg_attr(feature = "schema", schemars(with = "Option<f64>"))]
    pub half_width: f64,
}

/// JSON has no word for what is not a number or infinite; both are written as
/// null and read back as what they were.
fn number_or_nan<'de, D: serde::Deserializer<'de>>(from: D) -> Result<f64, D::Error> {
    <Option<f64> as serde::Deserialize>::deserialize(from).map(|read| read.unwrap_or(f64::NAN))
}

fn number_or_infinite<'de, D: serde::Deserializer<'de>>(from: D) -> Result<f64, D::Error> {
    let read = <Option<f64> as serde::Deserialize>::deserialize(from);
    read.map(|read| read.unwrap_or(f64::INFINITY))
}

impl Interval {
    /// Student's t interval at `level` (0.95, 0.99) from independent
    /// replications.
    ///
    /// ```
    /// use flow::statistics::Interval;
    /// let rate = Interval::of(&[47.0, 48.0, 49.0], 0.95);
    /// assert_eq!(rate.mean, 48.0);
    /// assert!((rate.half_width - 2.484_137_7).abs() < 1e-6);
    /// ```
    pub fn of(samples: &[f64], level: f64) -> Self {
        Self {
            mean: mean(samples),
            half_width: half_width(samples, level),
        }
    }

    /// Whether the interval holds `value`.
    pub fn holds(&self, value: f64) -> bool {
        (value - self.mean).abs() <= self.half_width
    }

    /// Half-width as a share of the mean; infinite where the mean is 0.
    pub fn relative(&self) -> f64 {
        if self.mean == 0.0 {
            f64::INFINITY
        } else {
            self.half_width / self.mean.abs()
        }
    }
}

/// Arithmetic mean; NaN of nothing.
pub fn mean(samples: &[f64]) -> f64 {
    samples.iter().sum::<f64>() / samples.len() as f64
}

/// Variance with n - 1 in the denominator; NaN with fewer than two samples.
pub fn variance(samples: &[f64]) -> f64 {
    if samples.len() < 2 {
        return f64::NAN;
    }
    let centre = mean(samples);
    let squares: f64 = samples.iter().map(|x| (x - centre) * (x - centre)).sum();
    squares / (samples.len() - 1) as f64
}

/// Half-width of Student's t interval at `level` from independent
/// replications; infinite with fewer than two.
pub fn half_width(samples: &[f64], level: f64) -> f64 {
    if samples.len() < 2 {
        return f64::INFINITY;
    }
    let degrees = (samples.len() - 1) as f64;
    let factor = student_t_quantile(0.5 + 0.5 * level, degrees);
    factor * (variance(samples) / samples.len() as f64).sqrt()
}

/// Interval on the difference `new - old` of two variants whose replications
/// shared their luck pair by pair (common random numbers).
///
/// None where the two have different lengths: they can't be pairs. Source:
/// Law, *Simulation Modeling and Analysis*, chapter on comparing alternatives
/// (from memory).
///
/// ```
/// let old = [46.0, 47.5, 47.0];
/// let new = [46.5, 48.1, 47.4];
/// let gain = flow::statistics::paired_difference(&new, &old, 0.95).unwrap();
/// assert!((gain.mean - 0.5).abs() < 1e-9);
/// assert!(!gain.holds(0.0));
/// ```
pub fn paired_difference(new: &[f64], old: &[f64], level: f64) -> Option<Interval> {
    if new.len() != old.len() {
        return None;
    }
    let differences: Vec<f64> = new.iter().zip(old).map(|(n, o)| n - o).collect();
    Some(Interval::of(&differences, level))
}

/// How many of a set of intervals hold the truth they were built for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Coverage {
    /// Intervals tried.
    pub tried: usize,
    /// Intervals that hold the truth.
    pub held: usize,
}

impl Coverage {
    /// Share that held; NaN when none was tried.
    pub fn share(&self) -> f64 {
        self.held as f64 / self.tried as f64
    }
}

/// Counts the intervals that hold `truth`: the test of an interval method on
/// a process whose mean is known.
pub fn coverage(intervals: &[Interval], truth: f64) -> Coverage {
    Coverage {
        tried: intervals.len(),
        held: intervals.iter().filter(|i| i.holds(truth)).count(),
    }
}

/// The number of intervals at `level` out of `tried` that may miss by chance:
/// the smallest k with P(more than k miss) <= `risk`, were they independent.
///
/// With many intervals some must miss; a suite of checks compares its count
/// with this instead of widening each interval.
///
/// ```
/// // One interval in a hundred misses; of sixty, up to four may.
/// assert_eq!(flow::statistics::most_outside(60, 0.99, 0.001), 4);
/// ```
pub fn most_outside(tried: usize, level: f64, risk: f64) -> usize {
    let miss = 1.0 - level;
    let mut term = libm::pow(level, tried as f64);
    let mut below = term;
    let mut k = 0;
    while k < tried && 1.0 - below > risk {
        term *= (tried - k) as f64 / (k + 1) as f64 * miss / level;
        below += term;
        k += 1;
    }
    k
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_replication_has_no_interval() {
        let only = Interval::of(&[3.0], 0.95);
        assert_eq!(only.mean, 3.0);
        assert_eq!(only.half_width, f64::INFINITY);
    }

    #[test]
    fn pairs_of_unlike_length_are_refused() {
        assert_eq!(paired_difference(&[1.0], &[1.0, 2.0], 0.95), None);
    }

    #[test]
    fn coverage_counts_the_intervals_that_hold() {
        let near = Interval {
            mean: 1.0,
            half_width: 0.5,
        };
        let far = Interval {
            mean: 3.0,
            half_width: 0.5,
        };
        let seen = coverage(&[near, far, near], 1.2);
        assert_eq!((seen.tried, seen.held), (3, 2));
    }

    #[test]
    fn the_allowed_misses_grow_with_the_suite() {
        assert_eq!(most_outside(1, 0.99, 0.02), 0);
        assert_eq!(most_outside(1, 0.99, 0.001), 1);
        let mut last = 0;
        for tried in [10, 100, 400] {
            let k = most_outside(tried, 0.99, 0.001);
            assert!(k >= last);
            last = k;
        }
        assert_eq!(last, 11);
    }
}
