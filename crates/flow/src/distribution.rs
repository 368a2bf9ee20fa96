//! Distributions of times, sampled by inverse transform.
//!
//! On `libm`, so that a draw gives the same bits on every machine, and with a
//! fixed count of uniform numbers per draw, so that two variants of a line stay
//! in step with each other.

use std::sync::OnceLock;

use crate::clock::{NEVER, PER_SECOND, Ticks, ticks, whole_ticks};
use crate::stream::Stream;

/// A distribution of a time in seconds.
#[derive(Clone, Debug, PartialEq)]
pub enum Distribution {
    /// Always this.
    Fixed(f64),
    /// Exponential with this mean.
    Exponential(f64),
    /// Even between two values.
    Uniform(f64, f64),
    /// Triangular: least, most likely, most.
    Triangular(f64, f64, f64),
    /// Erlang: number of phases, mean.
    Erlang(u32, f64),
    /// Lognormal: mean and coefficient of variation of the time itself.
    Lognormal(f64, f64),
    /// Weibull: shape and scale.
    Weibull(f64, f64),
    /// One of these values, each as likely.
    Empirical(Vec<f64>),
    /// These values, one after the other, then none any more: what really
    /// happened, for a replay. For stops only.
    Listed(Vec<f64>),
}

impl Distribution {
    /// The mean, seconds.
    ///
    /// ```
    /// use flow::Distribution;
    /// assert_eq!(Distribution::Triangular(10.0, 20.0, 60.0).mean(), 30.0);
    /// ```
    pub fn mean(&self) -> f64 {
        match self {
            Self::Fixed(x) | Self::Exponential(x) | Self::Erlang(_, x) | Self::Lognormal(x, _) => {
                *x
            }
            Self::Uniform(a, b) => (a + b) / 2.0,
            Self::Triangular(a, m, b) => (a + m + b) / 3.0,
            Self::Weibull(shape, scale) => scale * libm::tgamma(1.0 + 1.0 / shape),
            Self::Empirical(xs) | Self::Listed(xs) => xs.iter().sum::<f64>() / xs.len() as f64,
        }
    }

    /// The same distribution with every time multiplied by `factor`.
    #[must_use]
    pub fn scaled(&self, factor: f64) -> Self {
        match self {
            Self::Fixed(x) => Self::Fixed(x * factor),
            Self::Exponential(x) => Self::Exponential(x * factor),
            Self::Uniform(a, b) => Self::Uniform(a * factor, b * factor),
            Self::Triangular(a, m, b) => Self::Triangular(a * factor, m * factor, b * factor),
            Self::Erlang(k, x) => Self::Erlang(*k, x * factor),
            Self::Lognormal(x, cv) => Self::Lognormal(x * factor, *cv),
            Self::Weibull(shape, scale) => Self::Weibull(*shape, scale * factor),
            Self::Empirical(xs) => Self::Empirical(xs.iter().map(|x| x * factor).collect()),
            Self::Listed(xs) => Self::Listed(xs.iter().map(|x| x * factor).collect()),
        }
    }

    /// Why the distribution is not usable, if it is not: what was expected.
    pub fn fault(&self) -> Option<&'static str> {
        // A time above 100 years is a slip of the pen, and the clock's integer
        // must not overflow when thousands of them are added.
        let time = |x: f64| x.is_finite() && (0.0..3.2e9).contains(&x);
        let (ok, expected) = match self {
            Self::Fixed(x) | Self::Exponential(x) => (time(*x), "a time from 0 to 3.2e9 s"),
            Self::Uniform(a, b) => (time(*a) && time(*b) && a <= b, "two times, the least first"),
            Self::Triangular(a, m, b) => (
                time(*a) && time(*b) && a <= m && m <= b,
                "least, most likely and most time in that order",
            ),
            Self::Erlang(k, x) => (
                (1..=1_000).contains(k) && time(*x),
                "1 to 1000 phases and a mean from 0 to 3.2e9 s",
            ),
            Self::Lognormal(x, cv) => (
                time(*x) && cv.is_finite() && (0.0..=100.0).contains(cv),
                "a mean from 0 to 3.2e9 s and a coefficient of variation from 0 to 100",
            ),
            Self::Weibull(shape, scale) => (
                shape.is_finite() && (0.05..=1_000.0).contains(shape) && time(*scale),
                "a shape from 0.05 to 1000 and a scale from 0 to 3.2e9 s",
            ),
            Self::Empirical(xs) | Self::Listed(xs) => (
                !xs.is_empty() && xs.iter().all(|x| time(*x)),
                "at least one time, each from 0 to 3.2e9 s",
            ),
        };
        (!ok).then_some(expected)
    }
}

/// A distribution made ready for drawing.
#[derive(Clone, Debug)]
pub(crate) enum Sampler {
    Fixed(Ticks),
    Exponential(f64),
    Uniform(f64, f64),
    Triangular {
        least: f64,
        left: f64,
        most: f64,
        split: f64,
    },
    Erlang(u32, f64),
    Lognormal {
        mu: f64,
        sigma: f64,
    },
    /// A lognormal of little spread, as nearly all cycles are: the median in
    /// ticks and the spread of the logarithm, at most [`NARROW`].
    Narrow {
        median: f64,
        sigma: f64,
    },
    Weibull {
        inverse_shape: f64,
        scale: f64,
    },
    Empirical(Vec<Ticks>),
    Listed(Vec<Ticks>),
}

impl Sampler {
    pub(crate) fn new(distribution: &Distribution) -> Self {
        match *distribution {
            Distribution::Fixed(x) | Distribution::Lognormal(x, 0.0) => Self::Fixed(ticks(x)),
            Distribution::Exponential(mean) => Self::Exponential(mean),
            Distribution::Uniform(a, b) => Self::Uniform(a, b - a),
            Distribution::Triangular(a, m, b) => Self::Triangular {
                least: a,
                left: m - a,
                most: b,
                split: if b > a { (m - a) / (b - a) } else { 0.5 },
            },
            Distribution::Erlang(k, mean) => Self::Erlang(k, mean / f64::from(k)),
            Distribution::Lognormal(mean, cv) => {
                let variance = libm::log1p(cv * cv);
                let mu = libm::log(mean.max(1e-300)) - variance / 2.0;
                let sigma = variance.sqrt();
                if sigma <= NARROW {
                    let median = libm::exp(mu) * PER_SECOND;
                    Self::Narrow { median, sigma }
                } else {
                    Self::Lognormal { mu, sigma }
                }
            }
            Distribution::Weibull(shape, scale) => Self::Weibull {
                inverse_shape: 1.0 / shape,
                scale,
            },
            Distribution::Empirical(ref xs) => {
                Self::Empirical(xs.iter().map(|x| ticks(*x)).collect())
            }
            Distribution::Listed(ref xs) => Self::Listed(xs.iter().map(|x| ticks(*x)).collect()),
        }
    }

    /// Whether its stream only counts.
    pub(crate) fn is_listed(&self) -> bool {
        matches!(self, Self::Listed(_))
    }

    /// The next time. Every kind takes a fixed count of numbers of the stream:
    /// none if fixed, k for k phases, one otherwise.
    #[inline]
    pub(crate) fn draw(&self, stream: &mut Stream) -> Ticks {
        match self {
            Self::Fixed(t) => *t,
            Self::Narrow { median, sigma } => {
                let p = stream.uniform();
                if (TAIL..1.0 - TAIL).contains(&p) {
                    let x = sigma * tabled_normal(p);
                    whole_ticks(median * near_exp(x))
                } else {
                    whole_ticks(median * libm::exp(sigma * tail_normal(p)))
                }
            }
            Self::Exponential(mean) => ticks(-mean * libm::log(stream.uniform())),
            other => other.draw_rare(stream),
        }
    }

    fn draw_rare(&self, stream: &mut Stream) -> Ticks {
        match self {
            Self::Fixed(_) | Self::Exponential(_) | Self::Narrow { .. } => self.draw(stream),
            Self::Uniform(a, width) => ticks(a + width * stream.uniform()),
            Self::Triangular {
                least,
                left,
                most,
                split,
            } => {
                let u = stream.uniform();
                let width = most - least;
                ticks(if u < *split {
                    least + (u * width * left).sqrt()
                } else {
                    most - ((1.0 - u) * width * (width - left)).sqrt()
                })
            }
            Self::Erlang(k, phase) => {
                let mut logs = 0.0;
                for _ in 0..*k {
                    logs += libm::log(stream.uniform());
                }
                ticks(-phase * logs)
            }
            Self::Lognormal { mu, sigma } => {
                ticks(quick_exp(mu + sigma * quick_normal(stream.uniform()))).min(NEVER / 1_024)
            }
            Self::Weibull {
                inverse_shape,
                scale,
            } => ticks(scale * libm::pow(-libm::log(stream.uniform()), *inverse_shape))
                .min(NEVER / 1_024),
            Self::Empirical(xs) => {
                let i = (stream.uniform() * xs.len() as f64) as usize;
                xs[i.min(xs.len() - 1)]
            }
            Self::Listed(xs) => usize::try_from(stream.counted())
                .ok()
                .and_then(|i| xs.get(i))
                .copied()
                .unwrap_or(NEVER / 1_024),
        }
    }
}

/// Cells of the table behind [`quick_normal`].
const CELLS: usize = 1_024;

/// Below this and above one less this the table of the normal quantile is too
/// coarse and a finer one serves.
const TAIL: f64 = 1.0 / 32.0;

/// Below this and above one less this the finer table, too, is too coarse.
const FAR_TAIL: f64 = TAIL / 32.0;

/// The widest spread for which [`near_exp`] is close enough: twice it, the most
/// that the table gives, stays below 0.2.
const NARROW: f64 = 0.1;

/// The exponential of at most 0.2 either way, within 4e-6.
#[inline]
fn near_exp(x: f64) -> f64 {
    let square = x * x;
    (1.0 + x) + square * ((0.5 + x * (1.0 / 6.0)) + square * (1.0 / 24.0))
}

/// As [`normal_quantile`] by straight lines over a table: never more than 1e-4
/// off, at a fifth of the time.
#[inline]
fn quick_normal(p: f64) -> f64 {
    if (TAIL..1.0 - TAIL).contains(&p) {
        tabled_normal(p)
    } else {
        tail_normal(p)
    }
}

/// As [`quick_normal`] outside the middle: by straight lines over a table for
/// all but one draw in 512.
fn tail_normal(p: f64) -> f64 {
    static TABLE: OnceLock<Box<[f64; CELLS + 1]>> = OnceLock::new();
    let tail = p.min(1.0 - p);
    if tail < FAR_TAIL {
        return normal_quantile(p);
    }
    let table = TABLE.get_or_init(|| {
        Box::new(std::array::from_fn(|i| {
            normal_quantile((i as f64 / CELLS as f64 * TAIL).max(1e-9))
        }))
    });
    let place = tail * (CELLS as f64 / TAIL);
    let cell = (place as usize).min(CELLS - 1);
    let (low, high) = (table[cell], table[cell + 1]);
    let z = low + (place - cell as f64) * (high - low);
    if p < 0.5 { z } else { -z }
}

#[inline]
fn tabled_normal(p: f64) -> f64 {
    static TABLE: OnceLock<Box<[f64; CELLS + 1]>> = OnceLock::new();
    let table = TABLE.get_or_init(|| {
        Box::new(std::array::from_fn(|i| {
            normal_quantile((i as f64 / CELLS as f64).clamp(1e-9, 1.0 - 1e-9))
        }))
    });
    let place = p * CELLS as f64;
    let cell = (place as usize).min(CELLS - 1);
    let (low, high) = (table[cell], table[cell + 1]);
    low + (place - cell as f64) * (high - low)
}

/// Steps of the table behind [`quick_exp`] to a factor of two.
const STEPS: usize = 64;

/// As `libm::exp` to the last bit or two, at a third of the time: a power of
/// two, a table step, and a short series for the rest.
#[inline]
fn quick_exp(x: f64) -> f64 {
    static TABLE: OnceLock<[f64; STEPS]> = OnceLock::new();
    if x.is_nan() || x.abs() > 600.0 {
        return libm::exp(x);
    }
    let table = TABLE.get_or_init(|| std::array::from_fn(|i| libm::exp2(i as f64 / STEPS as f64)));
    const STEP: f64 = std::f64::consts::LN_2 / STEPS as f64;
    // To the nearest by cutting: `round` is a call on older processors.
    let steps = (x * (1.0 / STEP) + if x < 0.0 { -0.5 } else { 0.5 }) as i64;
    let rest = x - steps as f64 * STEP;
    // The rest is at most 0.0055: the sixth power is below the last bit.
    let series = 1.0
        + rest
            * (1.0 + rest * (1.0 / 2.0 + rest * (1.0 / 6.0 + rest * (1.0 / 24.0 + rest / 120.0))));
    let power = f64::from_bits(((steps.div_euclid(STEPS as i64) + 1_023) as u64) << 52);
    table[steps.rem_euclid(STEPS as i64) as usize] * power * series
}

/// Quantile of the standard normal distribution, by algorithm AS 241 (PPND16)
/// of Wichura 1988, Applied Statistics 37, 477-484; about 16 figures.
pub(crate) fn normal_quantile(p: f64) -> f64 {
    let q = p - 0.5;
    if q.abs() <= 0.425 {
        let r = 0.180_625 - q * q;
        return q * ratio(r, &AS241_A, &AS241_B);
    }
    let tail = if q < 0.0 { p } else { 1.0 - p };
    let r = (-libm::log(tail)).sqrt();
    let x = if r <= 5.0 {
        ratio(r - 1.6, &AS241_C, &AS241_D)
    } else {
        ratio(r - 5.0, &AS241_E, &AS241_F)
    };
    if q < 0.0 { -x } else { x }
}

fn ratio(r: f64, above: &[f64; 8], below: &[f64; 8]) -> f64 {
    let horner = |c: &[f64; 8]| c.iter().rev().fold(0.0, |sum, c| sum * r + c);
    horner(above) / horner(below)
}

#[allow(clippy::excessive_precision, reason = "as published")]
const AS241_A: [f64; 8] = [
    3.387_132_872_796_366_608,
    133.141_667_891_784_377_45,
    1_971.590_950_306_551_442_7,
    13_731.693_765_509_461_125,
    45_921.953_931_549_871_457,
    67_265.770_927_008_700_853,
    33_430.575_583_588_128_105,
    2_509.080_928_730_122_672_7,
];
#[allow(clippy::excessive_precision, reason = "as published")]
const AS241_B: [f64; 8] = [
    1.0,
    42.313_330_701_600_911_252,
    687.187_007_492_057_908_3,
    5_394.196_021_424_751_107_7,
    21_213.794_301_586_595_867,
    39_307.895_800_092_710_61,
    28_729.085_735_721_942_674,
    5_226.495_278_852_854_561,
];
#[allow(clippy::excessive_precision, reason = "as published")]
const AS241_C: [f64; 8] = [
    1.423_437_110_749_683_577_34,
    4.630_337_846_156_545_295_9,
    5.769_497_221_460_691_405_5,
    3.647_848_324_763_204_605_04,
    1.270_458_252_452_368_382_58,
    0.241_780_725_177_450_611_77,
    0.022_723_844_989_269_184_583_4,
    7.745_450_142_783_414_076_4e-4,
];
#[allow(clippy::excessive_precision, reason = "as published")]
const AS241_D: [f64; 8] = [
    1.0,
    2.053_191_626_637_758_821_87,
    1.676_384_830_183_803_849_4,
    0.689_767_334_985_100_004_55,
    0.148_103_976_427_480_074_59,
    0.015_198_666_563_616_457_190_4,
    5.475_938_084_995_344_946e-4,
    1.050_750_071_644_416_843_24e-9,
];
#[allow(clippy::excessive_precision, reason = "as published")]
const AS241_E: [f64; 8] = [
    6.657_904_643_501_103_777_2,
    5.463_784_911_164_114_369_9,
    1.784_826_539_917_291_335_8,
    0.296_560_571_828_504_891_23,
    0.026_532_189_526_576_123_093,
    0.001_242_660_947_388_078_438_6,
    2.711_555_568_743_487_578_15e-5,
    2.010_334_399_292_288_132_65e-7,
];
#[allow(clippy::excessive_precision, reason = "as published")]
const AS241_F: [f64; 8] = [
    1.0,
    0.599_832_206_555_887_937_69,
    0.136_929_880_922_735_805_31,
    0.014_875_361_290_850_615_025,
    7.868_691_311_456_132_591e-4,
    1.846_318_317_510_054_681_8e-5,
    1.421_511_758_316_445_888_7e-7,
    2.044_263_103_389_939_785_64e-15,
];

#[cfg(test)]
mod tests {
    use super::*;
    use crate::clock::seconds;
    use statrs::distribution::{ContinuousCDF, Normal};

    #[test]
    fn the_normal_quantile_agrees_with_a_reference_library() {
        let normal = Normal::new(0.0, 1.0).unwrap();
        for p in [
            1e-12,
            1e-6,
            0.01,
            0.075,
            0.3,
            0.5,
            0.8,
            0.924,
            0.999,
            1.0 - 1e-9,
        ] {
            let reference = normal.inverse_cdf(p);
            assert!(
                (normal_quantile(p) - reference).abs() < 1e-7 * (1.0 + reference.abs()),
                "{p}"
            );
        }
        // Table value, NIST/SEMATECH e-Handbook 1.3.6.7.1: z(0.975) = 1.95996.
        assert!((normal_quantile(0.975) - 1.959_963_984_540_054).abs() < 1e-14);
    }

    #[test]
    fn the_table_of_the_normal_quantile_is_as_close_as_it_says() {
        for i in 1..100_000 {
            let p = f64::from(i) / 100_000.0;
            assert!((quick_normal(p) - normal_quantile(p)).abs() < 1e-4, "{p}");
        }
    }

    #[test]
    fn the_quick_exponential_is_the_slow_one() {
        for i in -60_000..60_000 {
            let x = f64::from(i) * 0.009_7;
            let (quick, slow) = (quick_exp(x), libm::exp(x));
            assert!((quick / slow - 1.0).abs() < 1e-13, "{x}: {quick} {slow}");
        }
        assert_eq!(quick_exp(1e3), f64::INFINITY);
    }

    #[test]
    fn the_exponential_near_zero_is_as_close_as_it_says() {
        for i in -2_000..=2_000 {
            let x = f64::from(i) * 1e-4;
            assert!((near_exp(x) / libm::exp(x) - 1.0).abs() < 4e-6, "{x}");
        }
    }

    #[test]
    fn a_cycle_of_little_spread_is_the_lognormal_of_the_same_number() {
        let narrow = Sampler::new(&Distribution::Lognormal(60.0, 0.08));
        let variance = libm::log1p(0.08 * 0.08);
        let (mu, sigma) = (libm::log(60.0) - variance / 2.0, variance.sqrt());
        let mut stream = Stream::keyed(7, 0, "narrow", "test");
        for _ in 0..100_000 {
            let p = stream.clone().uniform();
            let exact = libm::exp(mu + sigma * normal_quantile(p));
            let drawn = seconds(narrow.draw(&mut stream));
            assert!((drawn / exact - 1.0).abs() < 2e-5, "{p}: {drawn} {exact}");
        }
    }

    #[test]
    fn drawn_times_have_the_stated_mean() {
        let cases = [
            Distribution::Fixed(60.0),
            Distribution::Exponential(300.0),
            Distribution::Uniform(20.0, 40.0),
            Distribution::Triangular(10.0, 20.0, 60.0),
            Distribution::Erlang(3, 90.0),
            Distribution::Lognormal(120.0, 0.7),
            Distribution::Lognormal(60.0, 0.05),
            Distribution::Weibull(1.7, 100.0),
            Distribution::Empirical(vec![1.0, 2.0, 9.0]),
        ];
        for distribution in cases {
            let sampler = Sampler::new(&distribution);
            let mut stream = Stream::keyed(7, 0, "mean", "test");
            let n = 200_000;
            let (mut sum, mut squares) = (0.0, 0.0);
            for _ in 0..n {
                let x = seconds(sampler.draw(&mut stream));
                sum += x;
                squares += x * x;
            }
            let mean = sum / f64::from(n);
            let sd = (squares / f64::from(n) - mean * mean).max(0.0).sqrt();
            let limit = 3.9 * sd / f64::from(n).sqrt() + 1e-6;
            assert!(
                (mean - distribution.mean()).abs() < limit,
                "{distribution:?}: {mean}"
            );
        }
    }
}
