//! Stations that stop: effective process time, lines without buffers.

use super::{Refused, positive, within};

/// What a job sees of a station that stops while it works.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Effective {
    /// Mean time the job holds the station, repairs included.
    pub mean: f64,
    /// Squared coefficient of variation of that time.
    pub scv: f64,
    /// Share of the time up, the station alone and never short of work.
    pub availability: f64,
}

/// Effective process time: a cycle of mean `cycle` and squared coefficient of
/// variation `cycle_scv`, stops at rate 1/`mtbf` of working time, repairs of
/// mean `mttr` and squared coefficient of variation `repair_scv`.
///
/// The clock runs only while the station works and the job resumes after the
/// repair; the number of stops in a cycle is Poisson. Source: Hopp & Spearman,
/// *Factory Physics*, preemptive outages (from memory), with their
/// approximation replaced by the compound Poisson sum, which is exact.
///
/// # Errors
/// [`Refused`] when a time is not above 0.
///
/// ```
/// use flow::theory::stops::effective_process_time;
/// let seen = effective_process_time(60.0, 0.0, 14_400.0, 300.0, 1.0)?;
/// assert!((seen.mean - 61.25).abs() < 1e-12);
/// # Ok::<(), flow::theory::Refused>(())
/// ```
pub fn effective_process_time(
    cycle: f64,
    cycle_scv: f64,
    mtbf: f64,
    mttr: f64,
    repair_scv: f64,
) -> Result<Effective, Refused> {
    positive("cycle", cycle)?;
    positive("time between stops", mtbf)?;
    positive("time to repair", mttr)?;
    within(
        "variation of the cycle",
        cycle_scv,
        cycle_scv >= 0.0,
        "0 or more",
    )?;
    within(
        "variation of repairs",
        repair_scv,
        repair_scv >= 0.0,
        "0 or more",
    )?;
    let slower = 1.0 + mttr / mtbf;
    let mean = cycle * slower;
    // Given the cycle c: mean c * slower, variance (c / mtbf) E[repair^2].
    let given = cycle / mtbf * mttr * mttr * (1.0 + repair_scv);
    let variance = given + slower * slower * cycle * cycle * cycle_scv;
    Ok(Effective {
        mean,
        scv: variance / (mean * mean),
        availability: mtbf / (mtbf + mttr),
    })
}

/// Production per slot of machines without places between, moving in step,
/// where a machine can fail only in a slot in which all work
/// (operation-dependent): 1 / (1 + sum of p/r).
///
/// `repair` and `fail` are probabilities a slot of each machine; one machine
/// is down at a time. Source: Buzacott 1968; Gershwin, *Manufacturing Systems
/// Engineering*, 1994 (from memory).
///
/// # Errors
/// [`Refused`] when the lists differ or a repair probability is not above 0.
///
/// ```
/// let rate = flow::theory::stops::in_step(&[0.1, 0.1], &[0.01, 0.01])?;
/// assert!((rate - 1.0 / 1.2).abs() < 1e-15);
/// # Ok::<(), flow::theory::Refused>(())
/// ```
pub fn in_step(repair: &[f64], fail: &[f64]) -> Result<f64, Refused> {
    super::fits("failure probabilities", fail.len(), repair.len())?;
    let mut lost = 0.0;
    for (&r, &p) in repair.iter().zip(fail) {
        lost += p / positive("repair probability", r)?;
    }
    Ok(1.0 / (1.0 + lost))
}

/// As [`in_step`], but machines fail by the clock whether they work or not
/// (time-dependent): the product of the machines' availabilities.
///
/// # Errors
/// As [`in_step`].
///
/// ```
/// let rate = flow::theory::stops::in_step_by_clock(&[0.1, 0.1], &[0.01, 0.01])?;
/// assert!((rate - 1.0 / 1.21).abs() < 1e-15);
/// # Ok::<(), flow::theory::Refused>(())
/// ```
pub fn in_step_by_clock(repair: &[f64], fail: &[f64]) -> Result<f64, Refused> {
    super::fits("failure probabilities", fail.len(), repair.len())?;
    let mut up = 1.0;
    for (&r, &p) in repair.iter().zip(fail) {
        up *= positive("repair probability", r)? / (r + p);
    }
    Ok(up)
}
