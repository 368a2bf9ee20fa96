//! The best split of work over the stations of a short line.

use super::Refused;
use super::line::Line;

/// A split of work and what it gives.
#[derive(Clone, Debug, PartialEq)]
pub struct Split {
    /// Mean time of each station.
    pub means: Vec<f64>,
    /// Jobs out per unit of time.
    pub throughput: f64,
}

/// The symmetric split of the line's total work that makes its exact
/// throughput greatest, found by golden-section search over one pair of
/// stations at a time; means are right to about 1e-6.
///
/// Middle stations get less work than the ends: the bowl. Source: Hillier &
/// Boling, Management Science 12 (1966) 651 (from memory). The search starts
/// from an even split, assumes a line that is symmetric in all else, and keeps
/// every mean between 0.2 and 3 times the even share.
///
/// # Errors
/// As [`Line::figures`].
///
/// ```
/// use flow::theory::{bowl, line::Line};
/// let best = bowl::best_split(&Line::exponential(&[1.0, 1.0, 1.0], &[0, 0]))?;
/// assert!(best.means[1] < 0.83 && best.throughput > 22.0 / 39.0);
/// # Ok::<(), flow::theory::Refused>(())
/// ```
pub fn best_split(line: &Line) -> Result<Split, Refused> {
    let n = line.services.len();
    let total: f64 = line.services.iter().map(|s| s.mean).sum();
    let even = total / n as f64;
    let pairs = n / 2;
    // Excess of each outer pair over the even share; the middle takes the rest.
    let mut excess = vec![
        0.0;
        if n % 2 == 1 {
            pairs
        } else {
            pairs.saturating_sub(1)
        }
    ];
    let mut best = throughput_of(line, even, &excess)?;
    for _ in 0..ROUNDS {
        let before = best.throughput;
        for k in 0..excess.len() {
            excess[k] = golden_section(-0.8 * even, 2.0 * even, |x| {
                let mut trial = excess.clone();
                trial[k] = x;
                match throughput_of(line, even, &trial) {
                    // A split that leaves a station no work is no split.
                    Err(Refused::OutOfRange { .. }) => Ok(f64::NEG_INFINITY),
                    other => other.map(|split| split.throughput),
                }
            })?;
        }
        best = throughput_of(line, even, &excess)?;
        if best.throughput - before <= 1e-13 * best.throughput {
            return Ok(best);
        }
    }
    Err(Refused::NotSettled { rounds: ROUNDS })
}

const ROUNDS: usize = 100;

fn throughput_of(line: &Line, even: f64, excess: &[f64]) -> Result<Split, Refused> {
    let n = line.services.len();
    let given = excess.len();
    let middle = n - 2 * given;
    let rest = -2.0 * excess.iter().sum::<f64>() / middle as f64;
    let means: Vec<f64> = (0..n)
        .map(|i| even + excess.get(i.min(n - 1 - i)).copied().unwrap_or(rest))
        .collect();
    let mut trial = line.clone();
    for (service, &mean) in trial.services.iter_mut().zip(&means) {
        service.mean = mean;
    }
    Ok(Split {
        throughput: trial.throughput()?,
        means,
    })
}

/// Place of the greatest value of a single-peaked function (Kiefer 1953, from
/// memory).
fn golden_section(
    mut low: f64,
    mut high: f64,
    f: impl Fn(f64) -> Result<f64, Refused>,
) -> Result<f64, Refused> {
    let ratio = (5.0_f64.sqrt() - 1.0) / 2.0;
    let mut left = high - ratio * (high - low);
    let mut right = low + ratio * (high - low);
    let (mut at_left, mut at_right) = (f(left)?, f(right)?);
    while high - low > 1e-8 {
        if at_left > at_right {
            (high, right, at_right) = (right, left, at_left);
            left = high - ratio * (high - low);
            at_left = f(left)?;
        } else {
            (low, left, at_left) = (left, right, at_right);
            right = low + ratio * (high - low);
            at_right = f(right)?;
        }
    }
    Ok(0.5 * (low + high))
}
