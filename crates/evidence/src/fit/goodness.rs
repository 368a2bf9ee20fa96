//! Whether times look like the family fitted to them: Anderson and Darling's
//! statistic.
//!
//! A time that was cut off is spread evenly over what the fit leaves above it.
//! Where few of many are cut off, the p-value is that of the published tables
//! for fitted parameters; elsewhere it is found by drawing from the fit, cutting
//! the times off as those seen were, and fitting again (parametric bootstrap; W.
//! Stute, W. González Manteiga and M. Presedo Quindimil, Metrika 40, 1993, 243).
//! As those seen were: either each time was watched for the same span, as in a
//! life test, or times follow one another in records that were watched until
//! their end, as the stops of a unit in a log do.

use flow::stream::Stream;
use serde::{Deserialize, Serialize};

use super::Times;
use super::family::Family;

/// Beyond this share of cut-off times the tables no longer hold.
const FEW_CUT: f64 = 0.1;
/// Trials where they do not: so many that chance can be told below 1 %.
const TRIALS: u32 = 199;
/// Times seen to their end below which nothing is said.
const LEAST: usize = 5;
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
    if times.ended.len() < LEAST {
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

/// How times come to be cut off.
#[derive(Clone, Debug, PartialEq)]
enum Cutting {
    /// Each of so many times is watched for the same span.
    Limit(usize, f64),
    /// Times follow one another in records of these lengths.
    Records(Vec<f64>),
}

impl Cutting {
    /// As these were. One span for all can only be where no time seen to its end
    /// exceeds it; a single cut-off time is the end of a record. Where lengths of
    /// records are not told, those that ended are taken to be equally long.
    fn of(times: &Times) -> Self {
        let longest = times.ended.iter().copied().fold(0.0, f64::max);
        let (first, more) = (times.cut.first().copied().unwrap_or(0.0), times.cut.len());
        let common = times.cut.iter().all(|cut| (cut / first - 1.0).abs() < 1e-9);
        if more > 1 && common && longest <= first {
            return Self::Limit(times.ended.len() + more, first);
        }
        if !times.watched.is_empty() {
            return Self::Records(times.watched.clone());
        }
        Self::Records(vec![times.total() / more as f64; more])
    }

    /// Times of a further such log; none if they are more than are worth it.
    fn drawn(&self, mut draw: impl FnMut() -> f64, most: usize) -> Option<Times> {
        let mut times = Times::default();
        match self {
            Self::Limit(all, limit) => {
                for _ in 0..*all {
                    let x = draw();
                    if x > *limit {
                        times.cut.push(*limit);
                    } else {
                        times.ended.push(x);
                    }
                }
            }
            Self::Records(lengths) => {
                for length in lengths {
                    let mut left = *length;
                    loop {
                        let x = draw();
                        if x > left {
                            times.cut.push(left);
                            break;
                        }
                        left -= x;
                        times.ended.push(x);
                        if times.ended.len() > most {
                            return None;
                        }
                    }
                }
            }
        }
        Some(times.floored())
    }
}

/// The share of trials drawn from the fit that look worse, among those of which
/// as much would be said.
fn by_trials(
    family: Family,
    times: &Times,
    (shape, scale): (f64, f64),
    statistic_seen: f64,
) -> Option<f64> {
    let cutting = Cutting::of(times);
    let most = 10 * (times.ended.len() + times.cut.len());
    let (mut worse, mut trials) = (0, 0);
    for trial in 0..10 * TRIALS {
        if trials == TRIALS {
            break;
        }
        let mut stream = Stream::keyed(1, trial, family.word(), "goodness of fit");
        let draw = || {
            family
                .draw(stream.uniform(), shape, scale)
                .max(super::SHORTEST)
        };
        let drawn = cutting.drawn(draw, most);
        let Some(drawn) = drawn.filter(|drawn| drawn.ended.len() >= LEAST) else {
            continue;
        };
        let Some((k, s)) = family.estimate(&drawn) else {
            continue;
        };
        trials += 1;
        worse += u32::from(statistic(family, &drawn, k, s) >= statistic_seen);
    }
    (trials == TRIALS).then(|| f64::from(worse + 1) / f64::from(TRIALS + 1))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// How many of 100 logs of a family are called unlike it at 5 %.
    fn size(family: Family, shape: f64, cutting: &Cutting, told: bool) -> f64 {
        const LOGS: u32 = 1_000;
        let (mut logs, mut unlike) = (0, 0);
        for log in 0.. {
            if logs == LOGS {
                break;
            }
            let mut luck = Stream::keyed(11, log, family.word(), "size");
            let draw = || family.draw(luck.uniform(), shape, 100.0);
            let mut times = cutting.drawn(draw, 1_000).unwrap();
            if let (Cutting::Records(lengths), true) = (cutting, told) {
                times.watched.clone_from(lengths);
            }
            let Some((k, s)) = family.estimate(&times) else {
                continue;
            };
            let Some(p) = of(family, &times, k, s).and_then(|found| found.p) else {
                continue;
            };
            logs += 1;
            unlike += u32::from(p <= 0.05);
        }
        100.0 * f64::from(unlike) / f64::from(LOGS)
    }

    #[test]
    fn one_station_watched_until_its_log_ends_is_called_unlike_as_often_as_it_may() {
        for expected in [8.0, 14.0, 30.0] {
            let cutting = Cutting::Records(vec![100.0 * expected]);
            let found = size(Family::Exponential, 1.0, &cutting, false);
            assert!((3.0..=7.2).contains(&found), "{expected} stops: {found} %");
        }
        let cutting = Cutting::Records(vec![800.0]);
        for (family, shape) in [(Family::Weibull, 2.0), (Family::Lognormal, 0.6)] {
            let found = size(family, shape, &cutting, true);
            // Where the spread is fitted too, trials tell a little less often.
            assert!((2.0..=7.2).contains(&found), "{family:?}: {found} %");
        }
    }

    #[test]
    fn units_and_life_tests_are_called_unlike_as_often_as_they_may() {
        let units = Cutting::Records(vec![300.0, 500.0, 200.0]);
        for told in [true, false] {
            let found = size(Family::Exponential, 1.0, &units, told);
            assert!((3.0..=7.2).contains(&found), "{told}: {found} %");
        }
        let test = Cutting::Limit(16, 80.0);
        let found = size(Family::Exponential, 1.0, &test, false);
        assert!((3.0..=7.2).contains(&found), "{found} %");
    }

    #[test]
    fn a_log_far_from_exponential_is_called_unlike_at_one_percent() {
        // Sixteen stops of two units, all after 95 to 105 minutes.
        let even = |n: u32| 5_700.0 + 40.0 * f64::from(n * 7 % 16);
        let times = Times {
            ended: (0..16).map(even).collect(),
            cut: vec![5_500.0; 2],
            ..Times::default()
        };
        let fit = crate::fit::fit(&times, &Family::ALL, 0.95);
        assert!(fit.family(Family::Exponential).unwrap().unlike(0.01));
        assert!(!fit.family(Family::Weibull).unwrap().unlike(0.01));
    }

    #[test]
    fn one_cut_that_is_no_limit_is_the_end_of_a_record() {
        let times = |ended: &[f64], cut: &[f64]| Times {
            ended: ended.to_vec(),
            cut: cut.to_vec(),
            ..Times::default()
        };
        let of = |ended: &[f64], cut: &[f64]| Cutting::of(&times(ended, cut));
        assert_eq!(of(&[10.0, 30.0], &[20.0]), Cutting::Records(vec![60.0]));
        assert_eq!(of(&[10.0, 30.0], &[40.0; 3]), Cutting::Limit(5, 40.0));
        assert_eq!(
            of(&[10.0, 50.0], &[40.0; 2]),
            Cutting::Records(vec![70.0; 2])
        );
    }
}
