//! Whether times look like the family fitted to them: Anderson and Darling's
//! statistic.
//!
//! A time that was cut off is spread evenly over what the fit leaves above it.
//! Where few are cut off, the p-value is that of the published tables for
//! fitted parameters; where many are, it is found by drawing from the fit,
//! cutting at the same times and fitting again.

use flow::stream::Stream;
use serde::{Deserialize, Serialize};

use super::Times;
use super::family::Family;

/// Beyond this share of cut-off times the tables no longer hold.
const FEW_CUT: f64 = 0.1;
/// Trials where they do not.
const TRIALS: u32 = 99;
/// Times beyond which trials would cost more than they tell.
const MOST_TRIED: usize = 400;

/// Anderson and Darling's statistic and how often chance gives a worse one.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Goodness {
    /// A².
    pub statistic: f64,
    /// Share of logs of such a distribution that look worse; none where there
    /// is too little or too much cut off to say.
    pub p: Option<f64>,
}

/// Of times against their own fit.
pub(super) fn of(family: Family, times: &Times, shape: f64, scale: f64) -> Option<Goodness> {
    let all = times.ended.len() + times.cut.len();
    if times.ended.len() < 5 {
        return None;
    }
    let statistic = statistic(family, times, shape, scale);
    let cut = times.cut.len() as f64 / all as f64;
    let p = if cut <= FEW_CUT {
        Some(tabled(family, statistic, all as f64))
    } else if all <= MOST_TRIED {
        by_trials(family, times, (shape, scale), statistic)
    } else {
        None
    };
    Some(Goodness { statistic, p })
}

/// A² of the fitted distribution function at the times.
fn statistic(family: Family, times: &Times, shape: f64, scale: f64) -> f64 {
    let below = |x: f64| -libm::expm1(family.log_survival(x, shape, scale));
    let mut cut = times.cut.clone();
    cut.sort_by(f64::total_cmp);
    let mut shares: Vec<f64> = times.ended.iter().map(|x| below(*x)).collect();
    let mut at = 0;
    while at < cut.len() {
        let same = cut[at..].iter().take_while(|x| **x == cut[at]).count();
        let from = below(cut[at]);
        shares.extend((0..same).map(|j| from + (1.0 - from) * (j as f64 + 0.5) / same as f64));
        at += same;
    }
    shares.sort_by(f64::total_cmp);
    let n = shares.len();
    let log = |x: f64| libm::log(x.clamp(1e-15, 1.0));
    let sum: f64 = (0..n)
        .map(|i| (2.0 * i as f64 + 1.0) * (log(shares[i]) + log(1.0 - shares[n - 1 - i])))
        .sum();
    -(n as f64) - sum / n as f64
}

/// Upper-tail points of A² with fitted parameters (D'Agostino and Stephens
/// 1986, tables 4.14 exponential, 4.17 Weibull by the extreme-value form, 4.7
/// normal; from memory), between which the logarithm of p runs straight.
fn tabled(family: Family, statistic: f64, n: f64) -> f64 {
    let (modified, points): (f64, &[(f64, f64)]) = match family {
        Family::Exponential => (
            statistic * (1.0 + 0.6 / n),
            &[
                (0.25, 0.736),
                (0.15, 0.916),
                (0.10, 1.062),
                (0.05, 1.321),
                (0.025, 1.591),
                (0.01, 1.959),
            ],
        ),
        Family::Weibull => (
            statistic * (1.0 + 0.2 / n.sqrt()),
            &[
                (0.25, 0.474),
                (0.10, 0.637),
                (0.05, 0.757),
                (0.025, 0.877),
                (0.01, 1.038),
            ],
        ),
        Family::Lognormal => (
            statistic * (1.0 + 0.75 / n + 2.25 / (n * n)),
            &[
                (0.25, 0.470),
                (0.15, 0.561),
                (0.10, 0.631),
                (0.05, 0.752),
                (0.025, 0.873),
                (0.01, 1.035),
            ],
        ),
    };
    let (first, rest) = (points[0], &points[1..]);
    if modified <= first.1 {
        // Above a quarter nothing hangs on the figure: straight to 1 at 0.
        return 1.0 - (1.0 - first.0) * (modified / first.1).max(0.0);
    }
    let mut below = first;
    for point in rest {
        if modified <= point.1 || *point == points[points.len() - 1] {
            let slope = (libm::log(point.0) - libm::log(below.0)) / (point.1 - below.1);
            return libm::exp(libm::log(below.0) + slope * (modified - below.1)).max(1e-6);
        }
        below = *point;
    }
    0.0
}

/// The share of trials drawn from the fit that look worse.
fn by_trials(
    family: Family,
    times: &Times,
    (shape, scale): (f64, f64),
    statistic_seen: f64,
) -> Option<f64> {
    // Where times were cut, a trial's times are cut at the same instants.
    let mut limits: Vec<f64> = times.cut.clone();
    limits.sort_by(f64::total_cmp);
    let common = (limits.first() == limits.last())
        .then(|| limits.first().copied())
        .flatten();
    let mut worse = 0;
    for trial in 0..TRIALS {
        let mut stream = Stream::keyed(1, trial, family.word(), "goodness of fit");
        let mut drawn = Times::default();
        let mut put = |limit: f64| {
            let x = family.draw(stream.uniform(), shape, scale);
            if x > limit {
                drawn.cut.push(limit);
            } else {
                drawn.ended.push(x);
            }
        };
        match common {
            Some(limit) => (0..times.ended.len() + times.cut.len()).for_each(|_| put(limit)),
            None => {
                times.ended.iter().for_each(|_| put(f64::INFINITY));
                limits.iter().for_each(|limit| put(*limit));
            }
        }
        let Some((k, s)) = family.estimate(&drawn) else {
            continue;
        };
        worse += u32::from(statistic(family, &drawn, k, s) >= statistic_seen);
    }
    Some(f64::from(worse + 1) / f64::from(TRIALS + 1))
}
