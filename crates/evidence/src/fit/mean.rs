//! Intervals of a mean that hold what they promise for few times too: the
//! profile of the likelihood is too narrow there.

use statrs::distribution::{ChiSquared, ContinuousCDF};

use super::Times;
use super::profile::Span;

/// Points over the spread's distribution.
const POINTS: u32 = 128;
/// Degrees of freedom from which a quantile of chi-square is taken by
/// approximation (E. B. Wilson and M. M. Hilferty, 1931).
const MANY: f64 = 12.0;

/// The exponential mean's interval: the total over its mean is chi-square with
/// two degrees of freedom a time that ended, and one more where times were cut
/// off by the end of the log (D. R. Cox, "Some simple approximate tests for
/// Poisson variates", Biometrika 40, 1953, 354).
///
/// ```
/// use evidence::fit::{Times, exponential_mean};
/// let times = Times { ended: vec![10.0, 20.0, 30.0], ..Times::default() };
/// let span = exponential_mean(&times, 0.95);
/// // 120 over the 97.5 % and 2.5 % points of chi-square, 14.449 and 1.2373.
/// assert!((span.low - 8.305).abs() < 1e-3 && (span.high - 96.98).abs() < 1e-2);
/// ```
pub fn exponential_mean(times: &Times, level: f64) -> Span {
    let ended = times.ended.len() as u64;
    mean_by_total(times.total(), ended, !times.cut.is_empty(), level)
}

/// The same of times of which only the total is known, and how many ended.
pub(crate) fn mean_by_total(total: f64, ended: u64, cut: bool, level: f64) -> Span {
    let n = ended as f64;
    let freedom = if cut { 2.0 * n + 1.0 } else { 2.0 * n };
    let tail = (1.0 - level) / 2.0;
    let limit =
        |p: f64| ChiSquared::new(freedom).map_or(f64::NAN, |chi| 2.0 * total / chi.inverse_cdf(p));
    Span {
        value: total / n,
        low: limit(1.0 - tail),
        high: limit(tail),
    }
}

/// The lognormal mean's generalized confidence interval, from the mean and the
/// deviation (by maximum likelihood) of the logarithms of `n` times
/// (K. Krishnamoorthy and T. Mathew, Journal of Statistical Planning and
/// Inference 115, 2003, 103). Their pivot is drawn there; here its distribution
/// is summed over quantiles of the spread.
pub(super) fn lognormal_mean(n: usize, mu: f64, sigma: f64, level: f64) -> Option<(f64, f64)> {
    let freedom = n.checked_sub(1).filter(|freedom| *freedom > 0)? as f64;
    let n = n as f64;
    let squares = sigma * sigma * n;
    let quantile = quantiles(freedom)?;
    // For each possible spread the centre and the deviation of the mean's
    // logarithm.
    let parts: Vec<(f64, f64)> = (0..POINTS)
        .map(|i| {
            let variance = squares / quantile((f64::from(i) + 0.5) / f64::from(POINTS));
            (mu + variance / 2.0, (variance / n).sqrt())
        })
        .collect();
    let below = |t: f64| {
        let share = |(centre, deviation): &(f64, f64)| {
            0.5 * libm::erfc((centre - t) / deviation * std::f64::consts::FRAC_1_SQRT_2)
        };
        parts.iter().map(share).sum::<f64>() / f64::from(POINTS)
    };
    let (mut least, mut most) = (f64::INFINITY, f64::NEG_INFINITY);
    for (centre, deviation) in &parts {
        least = least.min(centre - 9.0 * deviation);
        most = most.max(centre + 9.0 * deviation);
    }
    let end = |p: f64| {
        let (mut low, mut high) = (least, most);
        for _ in 0..80 {
            let middle = 0.5 * (low + high);
            if below(middle) < p {
                low = middle;
            } else {
                high = middle;
            }
        }
        libm::exp(0.5 * (low + high))
    };
    let tail = (1.0 - level) / 2.0;
    Some((end(tail), end(1.0 - tail)))
}

/// Quantiles of chi-square.
fn quantiles(freedom: f64) -> Option<Box<dyn Fn(f64) -> f64>> {
    if freedom < MANY {
        let chi = ChiSquared::new(freedom).ok()?;
        return Some(Box::new(move |p| chi.inverse_cdf(p)));
    }
    let ninth = 2.0 / (9.0 * freedom);
    Some(Box::new(move |p| {
        let z = std::f64::consts::SQRT_2 * statrs::function::erf::erf_inv(2.0 * p - 1.0);
        let root = 1.0 - ninth + z * ninth.sqrt();
        freedom * root * root * root
    }))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fit::Family;
    use flow::stream::Stream;

    /// How many of 95 % intervals of the mean of so many times hold it.
    fn held(family: Family, n: usize, shape: f64, span: impl Fn(&Times) -> Span) -> f64 {
        let trials = 800;
        let mean = family.mean(shape, 60.0);
        let inside = (0..trials).filter(|trial| {
            let mut luck = Stream::keyed(1, *trial, family.word(), "interval");
            let times = Times {
                ended: (0..n)
                    .map(|_| family.draw(luck.uniform(), shape, 60.0))
                    .collect(),
                ..Times::default()
            };
            span(&times).holds(mean)
        });
        inside.count() as f64 / f64::from(trials)
    }

    #[test]
    fn few_repairs_have_an_interval_that_holds_what_it_promises() {
        let lognormal = |times: &Times| {
            let (sigma, median) = Family::Lognormal.estimate(times).unwrap();
            let n = times.ended.len();
            let (low, high) = lognormal_mean(n, libm::log(median), sigma, 0.95).unwrap();
            Span {
                value: median,
                low,
                high,
            }
        };
        for (n, spread) in [(5, 0.6), (8, 0.3), (20, 0.8), (60, 0.6)] {
            let share = held(Family::Lognormal, n, spread, lognormal);
            assert!((0.93..=0.975).contains(&share), "{n} times: {share}");
        }
        for n in [1, 3, 10] {
            let share = held(Family::Exponential, n, 1.0, |times| {
                exponential_mean(times, 0.95)
            });
            assert!((0.93..=0.97).contains(&share), "{n} times: {share}");
        }
    }

    #[test]
    fn many_repairs_have_the_interval_of_the_large_sample() {
        // Half width of the log of the mean: 1.96 · s · sqrt(1/n + s²/2n), by
        // Cox's method as given in C. E. Land, Technometrics 14, 1972.
        let (n, s) = (2_000, 0.7_f64);
        let (low, high) = lognormal_mean(n, 2.0, s, 0.95).unwrap();
        let half = 1.959_964 * s * ((1.0 + s * s / 2.0) / n as f64).sqrt();
        let centre = 2.0 + s * s / 2.0;
        assert!((libm::log(low) - (centre - half)).abs() < 0.05 * half);
        assert!((libm::log(high) - (centre + half)).abs() < 0.05 * half);
        assert!(lognormal_mean(1, 2.0, 0.5, 0.95).is_none());
    }
}
