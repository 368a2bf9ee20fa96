//! Series from one long run: autocorrelation and batch means.

use super::interval::{Interval, mean, variance};
use super::quantile::normal_quantile;

/// Interval from the means of consecutive batches of one long run.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BatchMeans {
    /// Mean and half-width over the batches.
    pub interval: Interval,
    /// Observations in a batch; what is left over at the start is dropped.
    pub size: usize,
    /// Correlation of neighbouring batch means.
    pub lag_1: f64,
    /// Whether the batches pass for independent: `lag_1` is not above what
    /// chance gives in one case of twenty. If not, the interval is too
    /// narrow: take longer batches.
    pub independent: bool,
}

/// Batch means with a test of the correlation between neighbours.
///
/// Twenty batches or more are wise; none is returned for fewer than three or
/// for batches without an observation. The raw times of a run are strongly
/// correlated, and an interval from them holds the truth far too seldom; the
/// means of long batches are nearly independent. The test is von Neumann's
/// ratio in its normal approximation: the lag-1 correlation of b independent
/// values has standard deviation sqrt((b - 2) / (b^2 - 1)). Source: Fishman,
/// Management Science 24 (1978) 510 (from memory).
///
/// ```
/// let series: Vec<f64> = (0..100).map(|k| f64::from(k % 4)).collect();
/// let found = flow::statistics::batch_means(&series, 25, 0.95).unwrap();
/// assert_eq!(found.size, 4);
/// assert_eq!(found.interval.mean, 1.5);
/// ```
pub fn batch_means(series: &[f64], batches: usize, level: f64) -> Option<BatchMeans> {
    if batches < 3 || series.len() < batches {
        return None;
    }
    let size = series.len() / batches;
    // The start is the part that may still be warming up.
    let kept = series.get(series.len() - size * batches..)?;
    let means: Vec<f64> = kept.chunks_exact(size).map(mean).collect();
    let b = batches as f64;
    let spread = ((b - 2.0) / (b * b - 1.0)).sqrt();
    let lag_1 = autocorrelation(&means, 1);
    Some(BatchMeans {
        interval: Interval::of(&means, level),
        size,
        lag_1,
        independent: lag_1 <= normal_quantile(0.95) * spread,
    })
}

/// Autocorrelation of a series at `lag`; 0 for a series that does not vary or
/// is not longer than the lag.
pub fn autocorrelation(series: &[f64], lag: usize) -> f64 {
    if series.len() <= lag || series.len() < 2 {
        return 0.0;
    }
    let centre = mean(series);
    let total = variance(series) * (series.len() - 1) as f64;
    if total <= 0.0 {
        return 0.0;
    }
    let shared: f64 = series
        .iter()
        .zip(series.iter().skip(lag))
        .map(|(a, b)| (a - centre) * (b - centre))
        .sum();
    shared / total
}

/// Variance of the mean of `n` values of an autoregressive series of first
/// order, x' = `phi` x + w, with standard deviation `innovation_sd` of w.
///
/// The check value for interval methods: with phi = 0.9 an interval that takes
/// the values for independent holds the truth in about one case of three.
/// Source: any text on time series, by summing phi^k (1 - k/n).
///
/// ```
/// let v = flow::statistics::ar1_variance_of_mean(0.5, 10_000, 1.0);
/// assert!((v - 0.000_399_946_666_666_666_7).abs() < 1e-15);
/// ```
pub fn ar1_variance_of_mean(phi: f64, n: u64, innovation_sd: f64) -> f64 {
    let n = n as f64;
    let stationary = innovation_sd * innovation_sd / (1.0 - phi * phi);
    let gap = 1.0 - phi;
    let end = 2.0 * phi * (1.0 - libm::pow(phi, n)) / (n * gap * gap);
    stationary / n * ((1.0 + phi) / gap - end)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn alternating_values_are_perfectly_anticorrelated() {
        let series: Vec<f64> = (0..1000).map(|k| f64::from(k % 2)).collect();
        assert!((autocorrelation(&series, 1) + 0.999).abs() < 1e-12);
        assert!((autocorrelation(&series, 2) - 0.998).abs() < 1e-12);
    }

    #[test]
    fn a_slow_drift_fails_the_batch_test() {
        let series: Vec<f64> = (0..1000).map(f64::from).collect();
        let found = batch_means(&series, 20, 0.95).unwrap();
        assert!(!found.independent);
    }

    #[test]
    fn too_few_batches_give_nothing() {
        assert_eq!(batch_means(&[1.0, 2.0, 3.0], 2, 0.95), None);
        assert_eq!(batch_means(&[1.0, 2.0, 3.0], 4, 0.95), None);
    }

    #[test]
    fn the_variance_formula_equals_the_sum_it_comes_from() {
        let (phi, n): (f64, i32) = (0.7, 50);
        let stationary = 1.0 / (1.0 - phi * phi);
        let sum: f64 = (-(n - 1)..n)
            .map(|k| (1.0 - f64::from(k.abs()) / f64::from(n)) * libm::pow(phi, f64::from(k.abs())))
            .sum();
        let direct = stationary * sum / f64::from(n);
        assert!((ar1_variance_of_mean(phi, 50, 1.0) / direct - 1.0).abs() < 1e-12);
    }
}
