//! A fit as it is drawn: the survival curve with every family's own, and for each
//! family its probability paper, on which times of that family lie on a line.
//!
//! Points stand half-way up the steps of the curve straight from the times; their
//! intervals are of the logit of the share, which keeps them between 0 and 1
//! (W. Q. Meeker and L. A. Escobar, Statistical Methods for Reliability Data,
//! 1998, chapters 3 and 6).

use serde::Serialize;
use statrs::distribution::{ContinuousCDF, Normal};

use super::family::{Family, Fitted};
use super::survival::Step;

/// Points of a drawn curve.
const DRAWN: u32 = 60;
/// Shares ended that a paper is ruled at.
const RULED: [f64; 9] = [0.01, 0.05, 0.1, 0.25, 0.5, 0.75, 0.9, 0.95, 0.99];

/// A point on a family's paper.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct PaperPoint {
    /// The time.
    pub time: f64,
    /// Share ended by then.
    pub share: f64,
    /// Where it lies across.
    pub x: f64,
    /// Where it lies up.
    pub y: f64,
    /// Lower end of its interval, up the paper.
    pub low: f64,
    /// Upper end.
    pub high: f64,
}

/// A line of the paper.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Mark {
    /// A share ended or a time.
    pub value: f64,
    /// Where it lies.
    pub at: f64,
}

/// A family's paper and its curve.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Paper {
    /// The family.
    pub family: Family,
    /// Share that lasts longer by the family, at each of the plot's times.
    pub survival: Vec<f64>,
    /// The times of the log.
    pub points: Vec<PaperPoint>,
    /// The fitted line: where it lies up at the paper's left and right edge.
    pub line: [f64; 2],
    /// Times that the paper is ruled at, the first its left edge, the last its
    /// right one.
    pub times: Vec<Mark>,
    /// Shares that it is ruled at.
    pub shares: Vec<Mark>,
}

/// What a fit is drawn of.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Plot {
    /// Times at which the families' curves are drawn.
    pub times: Vec<f64>,
    /// Each family.
    pub papers: Vec<Paper>,
}

/// Draws fitted families against the curve straight from the times; `ended` is the
/// number of times behind its steps, and intervals are of this level.
///
/// ```
/// use evidence::fit::{Family, Times, fit, plot, survival};
/// let times = Times { ended: (1..=40).map(f64::from).collect(), ..Times::default() };
/// let drawn = plot(&fit(&times, &Family::ALL, 0.95).families, &survival(&times), 40, 0.95);
/// let paper = &drawn.papers[1];
/// assert_eq!(paper.family, Family::Weibull);
/// assert!(paper.points.iter().all(|at| at.low < at.y && at.y < at.high));
/// ```
pub fn plot(families: &[Fitted], curve: &[Step], ended: usize, level: f64) -> Plot {
    let (Some(first), Some(last)) = (curve.first(), curve.last()) else {
        return Plot {
            times: Vec::new(),
            papers: Vec::new(),
        };
    };
    let far = last.time.max(first.time * 1.001);
    let times: Vec<f64> = (0..=DRAWN)
        .map(|n| far * f64::from(n) / f64::from(DRAWN))
        .collect();
    let shares = midpoints(curve, ended);
    let papers = families
        .iter()
        .map(|fitted| paper(fitted, &times, curve, &shares, level))
        .collect();
    Plot { times, papers }
}

/// Shares ended half-way up each step. Where only one in so many steps was kept the
/// others are as high.
fn midpoints(curve: &[Step], ended: usize) -> Vec<f64> {
    let mut before = 1.0;
    let one_in = (ended as f64 / curve.len().max(1) as f64).max(1.0);
    let mut shares = Vec::with_capacity(curve.len());
    for (n, step) in curve.iter().enumerate() {
        let jump = (before - step.share) / if n == 0 { 1.0 } else { one_in };
        shares.push((1.0 - step.share - jump / 2.0).clamp(1e-6, 1.0 - 1e-6));
        before = step.share;
    }
    shares
}

fn paper(fitted: &Fitted, times: &[f64], curve: &[Step], shares: &[f64], level: f64) -> Paper {
    let family = fitted.family;
    let (shape, scale) = (fitted.shape.value, fitted.scale.value);
    let lasts = |t: f64| {
        if t <= 0.0 {
            1.0
        } else {
            libm::exp(family.log_survival(t, shape, scale))
        }
    };
    let z = Normal::new(0.0, 1.0).map_or(1.96, |normal| normal.inverse_cdf(0.5 + level / 2.0));
    // Behind the last time nothing is left and no error either: the one before it
    // stands for it.
    let mut error = 0.0;
    let points: Vec<PaperPoint> = curve
        .iter()
        .zip(shares)
        .map(|(step, share)| {
            if step.error > 0.0 {
                error = step.error;
            }
            let spread = error / (share * (1.0 - share));
            let logit = libm::log(share / (1.0 - share));
            let end = |sign: f64| {
                let at = logit + sign * z * spread;
                up(family, 1.0 / (1.0 + libm::exp(-at)))
            };
            PaperPoint {
                time: step.time,
                share: *share,
                x: across(family, step.time),
                y: up(family, *share),
                low: end(-1.0),
                high: end(1.0),
            }
        })
        .collect();
    let far = times.last().copied().unwrap_or(1.0);
    let near = if family == Family::Exponential {
        0.0
    } else {
        curve.first().map_or(far, |step| step.time)
    };
    let ruled = ruled(family, near, far);
    let ends = [ruled.first(), ruled.last()].map(|mark| mark.map_or(far, |mark| mark.value));
    Paper {
        family,
        survival: times.iter().map(|t| lasts(*t)).collect(),
        points,
        line: ends.map(|t| fitted_up(family, t, shape, scale)),
        times: ruled,
        shares: RULED
            .iter()
            .map(|share| Mark {
                value: *share,
                at: up(family, *share),
            })
            .collect(),
    }
}

/// Where a time lies across a family's paper.
fn across(family: Family, time: f64) -> f64 {
    if family == Family::Exponential {
        time
    } else {
        libm::log(time.max(1e-3))
    }
}

/// Where a share ended lies up a family's paper.
fn up(family: Family, share: f64) -> f64 {
    let share = share.clamp(1e-9, 1.0 - 1e-9);
    match family {
        Family::Exponential => -libm::log1p(-share),
        Family::Weibull => libm::log(-libm::log1p(-share)),
        Family::Lognormal => Normal::new(0.0, 1.0).map_or(0.0, |normal| normal.inverse_cdf(share)),
    }
}

/// Where the fit lies up its paper at a time: a line by the paper's making, so that
/// no share too near to 0 or 1 to be told apart bends it.
fn fitted_up(family: Family, time: f64, shape: f64, scale: f64) -> f64 {
    let over = across(family, time) - across(family, scale);
    match family {
        Family::Exponential => time / scale,
        Family::Weibull => shape * over,
        Family::Lognormal => over / shape,
    }
}

/// Round times that hold those of the log: on a logarithm's paper 1, 2 and 5 of
/// each power of ten.
fn ruled(family: Family, near: f64, far: f64) -> Vec<Mark> {
    let mark = |value: f64| Mark {
        value,
        at: across(family, value),
    };
    let power = |x: f64| libm::pow(10.0, libm::floor(libm::log10(x.max(1e-3))));
    if family == Family::Exponential {
        let rough = far / 5.0;
        let step = [1.0, 2.0, 5.0, 10.0]
            .map(|round| round * power(rough))
            .into_iter()
            .find(|step| *step >= rough)
            .unwrap_or(rough);
        let marks = (0..=6).map(|n| f64::from(n) * step);
        let mut all: Vec<Mark> = Vec::new();
        for value in marks {
            all.push(mark(value));
            if value >= far {
                break;
            }
        }
        return all;
    }
    let mut all: Vec<f64> = Vec::new();
    let mut decade = power(near);
    while all.last().is_none_or(|last| *last < far) && all.len() < 60 {
        for round in [1.0, 2.0, 5.0] {
            let value = round * decade;
            if all.last().is_none_or(|last| *last < far) {
                all.push(value);
            }
        }
        decade *= 10.0;
    }
    let from = all.iter().rposition(|value| *value <= near).unwrap_or(0);
    all[from..].iter().map(|value| mark(*value)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fit::{Times, fit, survival};

    #[test]
    fn times_of_a_family_lie_on_a_line_of_its_paper() {
        // Evenly spread shares of a Weibull distribution of shape 2 and scale 100.
        let ended: Vec<f64> = (0..80)
            .map(|n| {
                let share = (f64::from(n) + 0.5) / 80.0;
                100.0 * libm::pow(-libm::log1p(-share), 0.5)
            })
            .collect();
        let times = Times {
            ended,
            ..Times::default()
        };
        let found = fit(&times, &Family::ALL, 0.95);
        let drawn = plot(&found.families, &survival(&times), 80, 0.95);
        let paper = drawn
            .papers
            .iter()
            .find(|paper| paper.family == Family::Weibull)
            .unwrap();
        let (left, right) = (paper.times[0].at, paper.times.last().unwrap().at);
        for point in &paper.points {
            let along = (point.x - left) / (right - left);
            let line = paper.line[0] + along * (paper.line[1] - paper.line[0]);
            assert!((line - point.y).abs() < 0.15, "{point:?} beside {line}");
            assert!(point.low < line && line < point.high);
        }
        assert!((paper.survival[0] - 1.0).abs() < 1e-12);
        assert!(paper.survival.windows(2).all(|pair| pair[1] <= pair[0]));
    }

    #[test]
    fn a_paper_is_ruled_at_round_times_around_those_of_the_log() {
        let marks: Vec<f64> = ruled(Family::Weibull, 3.0, 180.0)
            .iter()
            .map(|mark| mark.value)
            .collect();
        assert_eq!(marks, [2.0, 5.0, 10.0, 20.0, 50.0, 100.0, 200.0]);
        let marks: Vec<f64> = ruled(Family::Exponential, 0.0, 180.0)
            .iter()
            .map(|mark| mark.value)
            .collect();
        assert_eq!(marks, [0.0, 50.0, 100.0, 150.0, 200.0]);
    }
}
