//! Jobs that fail and come again, or are lost.

use super::{Refused, probability, within};

/// Mean visits of a job to a station that it must repeat with probability
/// `again` after every visit (geometric).
///
/// # Errors
/// [`Refused`] when `again` is not a probability below 1.
///
/// ```
/// assert_eq!(flow::theory::rework::visits(0.2)?, 1.25);
/// # Ok::<(), flow::theory::Refused>(())
/// ```
pub fn visits(again: f64) -> Result<f64, Refused> {
    within(
        "share sent back",
        again,
        (0.0..1.0).contains(&again),
        "0 or more and below 1",
    )?;
    Ok(1.0 / (1.0 - again))
}

/// Outcome of a station that repairs a failed job a limited number of times.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Capped {
    /// Share of started jobs that end good.
    pub good: f64,
    /// Mean passes of a started job.
    pub passes_per_start: f64,
    /// Mean passes spent for one good job.
    pub passes_per_good: f64,
    /// Jobs started for one good job.
    pub starts_per_good: f64,
}

/// A job fails each pass with probability `fail`; after `repairs` repairs in
/// vain it is scrap.
///
/// # Errors
/// [`Refused`] when `fail` is not a probability below 1.
///
/// ```
/// let outcome = flow::theory::rework::capped(0.15, 2)?;
/// assert!((outcome.good - 0.996_625).abs() < 1e-15);
/// assert!((outcome.passes_per_good - 1.0 / 0.85).abs() < 1e-15);
/// # Ok::<(), flow::theory::Refused>(())
/// ```
pub fn capped(fail: f64, repairs: u32) -> Result<Capped, Refused> {
    within(
        "share that fails",
        fail,
        (0.0..1.0).contains(&fail),
        "0 or more and below 1",
    )?;
    let good = 1.0 - libm::pow(fail, f64::from(repairs) + 1.0);
    let passes = good / (1.0 - fail);
    Ok(Capped {
        good,
        passes_per_start: passes,
        passes_per_good: passes / good,
        starts_per_good: 1.0 / good,
    })
}

/// Starts needed at the first of a row of steps for `good` out of the last,
/// where each step passes its share of `yields`.
///
/// # Errors
/// [`Refused`] when a yield is not a probability above 0.
///
/// ```
/// let starts = flow::theory::rework::starts(60.0, &[0.995, 0.98, 0.99])?;
/// assert!((starts - 62.153_687_422_890_58).abs() < 1e-12);
/// # Ok::<(), flow::theory::Refused>(())
/// ```
pub fn starts(good: f64, yields: &[f64]) -> Result<f64, Refused> {
    let mut passed = 1.0;
    for &share in yields {
        passed *= probability("yield", share)?;
    }
    Ok(good / super::positive("product of yields", passed)?)
}
