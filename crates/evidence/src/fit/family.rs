//! The three families, by shape and scale.
//!
//! | family | shape | scale | mean |
//! |---|---|---|---|
//! | exponential | 1 | mean | scale |
//! | Weibull | k | characteristic life | scale · Γ(1 + 1/k) |
//! | lognormal | σ of the logarithm | median | scale · exp(σ²/2) |

use serde::{Deserialize, Serialize};

use super::Times;
use super::goodness::{self, Goodness};
use super::mean;
use super::profile::{self, Span};

/// A family of distributions.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum Family {
    /// No memory: as likely to stop now as before.
    Exponential,
    /// Wears out (shape above 1) or in (below).
    Weibull,
    /// Most are short, few are long: repairs.
    Lognormal,
}

impl Family {
    /// All three.
    pub const ALL: [Self; 3] = [Self::Exponential, Self::Weibull, Self::Lognormal];

    /// Its name.
    pub fn word(self) -> &'static str {
        match self {
            Self::Exponential => "exponential",
            Self::Weibull => "weibull",
            Self::Lognormal => "lognormal",
        }
    }

    fn parameters(self) -> f64 {
        if self == Self::Exponential { 1.0 } else { 2.0 }
    }

    /// Log-likelihood of times at a shape and scale.
    pub fn log_likelihood(self, times: &Times, shape: f64, scale: f64) -> f64 {
        let ended: f64 = times
            .ended
            .iter()
            .map(|x| self.log_density(*x, shape, scale))
            .sum();
        let cut: f64 = times
            .cut
            .iter()
            .map(|x| self.log_survival(*x, shape, scale))
            .sum();
        ended + cut
    }

    fn log_density(self, x: f64, shape: f64, scale: f64) -> f64 {
        match self {
            Self::Exponential => -libm::log(scale) - x / scale,
            Self::Weibull => {
                let log = libm::log(x / scale);
                libm::log(shape / scale) + (shape - 1.0) * log - libm::exp(shape * log)
            }
            Self::Lognormal => {
                let z = libm::log(x / scale) / shape;
                -0.5 * z * z - libm::log(x * shape) - 0.918_938_533_204_672_7
            }
        }
    }

    /// Logarithm of the share that lasts longer than `x`.
    pub fn log_survival(self, x: f64, shape: f64, scale: f64) -> f64 {
        match self {
            Self::Exponential => -x / scale,
            Self::Weibull => -libm::pow(x / scale, shape),
            Self::Lognormal => log_upper_normal(libm::log(x / scale) / shape),
        }
    }

    /// The mean at a shape and scale.
    pub fn mean(self, shape: f64, scale: f64) -> f64 {
        scale * self.mean_over_scale(shape)
    }

    pub(super) fn mean_over_scale(self, shape: f64) -> f64 {
        match self {
            Self::Exponential => 1.0,
            Self::Weibull => libm::tgamma(1.0 + 1.0 / shape),
            Self::Lognormal => libm::exp(shape * shape / 2.0),
        }
    }

    /// Median at a shape and scale.
    fn median(self, shape: f64, scale: f64) -> f64 {
        match self {
            Self::Exponential => scale * std::f64::consts::LN_2,
            Self::Weibull => scale * libm::pow(std::f64::consts::LN_2, 1.0 / shape),
            Self::Lognormal => scale,
        }
    }

    /// The time of a uniform number: inverse transform.
    pub(super) fn draw(self, u: f64, shape: f64, scale: f64) -> f64 {
        match self {
            Self::Exponential => -scale * libm::log(u),
            Self::Weibull => scale * libm::pow(-libm::log(u), 1.0 / shape),
            Self::Lognormal => {
                // statrs: erf⁻¹, accurate beyond what 99 trials can tell.
                let z = std::f64::consts::SQRT_2 * statrs::function::erf::erf_inv(2.0 * u - 1.0);
                scale * libm::exp(shape * z)
            }
        }
    }

    /// Shape and scale of greatest likelihood; none for too little or too
    /// even data.
    pub(super) fn estimate(self, times: &Times) -> Option<(f64, f64)> {
        let n = times.ended.len() as f64;
        match self {
            Self::Exponential => (n >= 1.0).then(|| (1.0, times.total() / n)),
            Self::Weibull if apart(times) => weibull(times),
            Self::Lognormal if apart(times) => lognormal(times),
            _ => None,
        }
    }
}

/// Two times at least, and not all the same.
fn apart(times: &Times) -> bool {
    let first = times.ended.first().copied().unwrap_or(0.0);
    times.ended.iter().any(|x| (x / first - 1.0).abs() > 1e-9)
}

/// The likelihood equation for the shape has one root and rises to it (Meeker
/// and Escobar 1998, section 7.3).
fn weibull(times: &Times) -> Option<(f64, f64)> {
    let n = times.ended.len() as f64;
    let most = times
        .ended
        .iter()
        .chain(&times.cut)
        .copied()
        .fold(0.0, f64::max);
    let mean_log = times.ended.iter().map(|x| libm::log(x / most)).sum::<f64>() / n;
    let score = |k: f64| {
        let (mut sum, mut with_log) = (0.0, 0.0);
        for x in times.ended.iter().chain(&times.cut) {
            let log = libm::log(x / most);
            let power = libm::exp(k * log);
            sum += power;
            with_log += power * log;
        }
        (with_log / sum - 1.0 / k - mean_log, sum)
    };
    let (mut low, mut high) = (1e-3, 1e3);
    if score(low).0 > 0.0 || score(high).0 < 0.0 {
        return None;
    }
    for _ in 0..100 {
        let k = (low * high).sqrt();
        if score(k).0 > 0.0 {
            high = k;
        } else {
            low = k;
        }
        if high / low - 1.0 < 1e-13 {
            break;
        }
    }
    let k = (low * high).sqrt();
    Some((k, most * libm::pow(score(k).1 / n, 1.0 / k)))
}

/// Closed where nothing is cut off, else by the shape's profile.
fn lognormal(times: &Times) -> Option<(f64, f64)> {
    let n = times.ended.len() as f64;
    let logs: Vec<f64> = times.ended.iter().map(|x| libm::log(*x)).collect();
    let mean = logs.iter().sum::<f64>() / n;
    let sigma = (logs.iter().map(|l| (l - mean) * (l - mean)).sum::<f64>() / n).sqrt();
    if times.cut.is_empty() {
        return Some((sigma, libm::exp(mean)));
    }
    // Expectation and maximisation: a cut-off logarithm counts as the mean of
    // those above it (A. P. Dempster, N. M. Laird and D. B. Rubin, 1977).
    let cuts: Vec<f64> = times.cut.iter().map(|x| libm::log(*x)).collect();
    let all = n + cuts.len() as f64;
    let (mut mu, mut s) = (mean, sigma);
    for _ in 0..20_000 {
        let (mut sum, mut squares) = (0.0, 0.0);
        for cut in &cuts {
            let z = (cut - mu) / s;
            let hazard = hazard(z);
            sum += mu + s * hazard;
            squares += mu * mu + s * s + s * (cut + mu) * hazard;
        }
        let next = (logs.iter().sum::<f64>() + sum) / all;
        let second = (logs.iter().map(|l| l * l).sum::<f64>() + squares) / all;
        let spread = (second - next * next).max(1e-300).sqrt();
        let moved = (next - mu).abs() / spread + (spread / s - 1.0).abs();
        (mu, s) = (next, spread);
        if moved < 1e-12 {
            break;
        }
    }
    Some((s, libm::exp(mu)))
}

/// The standard normal's density over what lies above.
fn hazard(z: f64) -> f64 {
    libm::exp(-0.5 * z * z - 0.918_938_533_204_672_7 - log_upper_normal(z))
}

/// Logarithm of the standard normal's part above `z`.
fn log_upper_normal(z: f64) -> f64 {
    if z < 25.0 {
        return libm::log(0.5 * libm::erfc(z * std::f64::consts::FRAC_1_SQRT_2));
    }
    // Mills' ratio by its series; beyond 25 its first terms are exact enough.
    let square = z * z;
    -0.5 * square - libm::log(z) - 0.918_938_533_204_672_7
        + libm::log1p(-1.0 / square + 3.0 / (square * square))
}

/// A family fitted.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Fitted {
    /// Which.
    pub family: Family,
    /// Shape, see [`Family`]; 1 for the exponential.
    pub shape: Span,
    /// Scale: the exponential's mean, Weibull's characteristic life, the
    /// lognormal's median.
    pub scale: Span,
    /// Mean.
    pub mean: Span,
    /// Median.
    pub median: f64,
    /// Log-likelihood at its greatest.
    pub log_likelihood: f64,
    /// Akaike's criterion: twice the parameters less twice the likelihood.
    pub aic: f64,
    /// Whether the times look like it.
    pub goodness: Option<Goodness>,
}

impl Fitted {
    /// Whether chance alone gives times that look so little like the family
    /// no more often than `level`.
    pub fn unlike(&self, level: f64) -> bool {
        let p = self.goodness.and_then(|goodness| goodness.p);
        p.is_some_and(|p| p <= level)
    }
}

/// Fits one family.
pub(super) fn fitted(family: Family, times: &Times, level: f64) -> Option<Fitted> {
    let (shape, scale) = family.estimate(times)?;
    let log_likelihood = family.log_likelihood(times, shape, scale);
    if !log_likelihood.is_finite() {
        return None;
    }
    let mut spans = profile::spans(family, times, (shape, scale, log_likelihood), level);
    if family == Family::Lognormal
        && let Some((low, high)) =
            mean::lognormal_mean(times.ended.len(), libm::log(scale), shape, level)
    {
        (spans.2.low, spans.2.high) = (low, high);
    }
    Some(Fitted {
        family,
        shape: spans.0,
        scale: spans.1,
        mean: spans.2,
        median: family.median(shape, scale),
        log_likelihood,
        aic: 2.0 * family.parameters() - 2.0 * log_likelihood,
        goodness: goodness::of(family, times, shape, scale),
    })
}
