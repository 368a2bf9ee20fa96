//! Spread of the output of one machine that stops and is repaired.

/// A machine that runs and stops in turn, never short of work, never blocked.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct UpAndDown {
    /// Mean time from repair to stop, seconds.
    pub mtbf_s: f64,
    /// Squared coefficient of variation of that time (1 for exponential).
    pub up_scv: f64,
    /// Mean time to repair, seconds.
    pub mttr_s: f64,
    /// Squared coefficient of variation of repairs (1 for exponential).
    pub down_scv: f64,
    /// Seconds a part.
    pub cycle_s: f64,
}

/// Variance of the parts made per second of a long run, parts^2/s.
///
/// The time up within t has variance t (s_u^2 m_d^2 + s_d^2 m_u^2) /
/// (m_u + m_d)^3 as t grows (alternating renewal process: Cox, *Renewal
/// Theory*, 1962, from memory); divided by the squared cycle it counts parts.
///
/// ```
/// use flow::statistics::{UpAndDown, output_variance_rate};
/// let press = UpAndDown { mtbf_s: 14_400.0, up_scv: 1.0, mttr_s: 300.0, down_scv: 1.0, cycle_s: 60.0 };
/// assert!((output_variance_rate(&press) - 0.003_263_946).abs() < 1e-9);
/// ```
pub fn output_variance_rate(machine: &UpAndDown) -> f64 {
    let up = machine.mtbf_s;
    let down = machine.mttr_s;
    let round = up + down;
    let spread = (machine.up_scv + machine.down_scv) * up * up * down * down;
    spread / (round * round * round) / (machine.cycle_s * machine.cycle_s)
}

/// Standard deviation of the parts made in `length_s` seconds, for lengths
/// that hold many stops.
pub fn output_sd(machine: &UpAndDown, length_s: f64) -> f64 {
    (output_variance_rate(machine) * length_s).sqrt()
}
