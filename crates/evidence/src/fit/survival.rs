//! The share of times longer than each, straight from the data: what a fit is
//! drawn against.

use serde::{Deserialize, Serialize};

use super::Times;

/// Points that are drawn at most.
const DRAWN: usize = 100;

/// A step of the survival curve.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(
    feature = "schema",
    derive(schemars::JsonSchema),
    schemars(rename = "SurvivalStep")
)]
pub struct Step {
    /// The time.
    pub time: f64,
    /// Share that lasts longer.
    pub share: f64,
    /// Its standard error.
    pub error: f64,
}

/// The survival curve with cut-off times (E. L. Kaplan and P. Meier, Journal of
/// the American Statistical Association 53, 1958, 457; errors by M. Greenwood,
/// 1926). Of a long curve every so many steps are given, the last always.
///
/// ```
/// use evidence::fit::{Times, survival};
/// let times = Times { ended: vec![1.0, 3.0], cut: vec![2.0, 4.0], ..Times::default() };
/// let curve = survival(&times);
/// assert_eq!((curve[0].share, curve[1].share), (0.75, 0.375));
/// ```
pub fn survival(times: &Times) -> Vec<Step> {
    let mut all: Vec<(f64, bool)> = times.ended.iter().map(|x| (*x, true)).collect();
    all.extend(times.cut.iter().map(|x| (*x, false)));
    // Of one instant, what ended comes before what was cut off.
    all.sort_by(|a, b| a.0.total_cmp(&b.0).then(b.1.cmp(&a.1)));
    let (mut share, mut greenwood) = (1.0, 0.0);
    let mut steps: Vec<Step> = Vec::new();
    for (n, (time, ended)) in all.iter().enumerate() {
        if !ended {
            continue;
        }
        let at_risk = (all.len() - n) as f64;
        share *= 1.0 - 1.0 / at_risk;
        greenwood += 1.0 / (at_risk * (at_risk - 1.0).max(1.0));
        let step = Step {
            time: *time,
            share,
            error: share * f64::sqrt(greenwood),
        };
        match steps.last_mut() {
            Some(last) if last.time == *time => *last = step,
            _ => steps.push(step),
        }
    }
    let every = steps.len().div_ceil(DRAWN).max(1);
    let last = steps.len().saturating_sub(1);
    let kept = steps
        .iter()
        .enumerate()
        .filter(|(n, _)| n % every == 0 || *n == last);
    kept.map(|(_, step)| *step).collect()
}
