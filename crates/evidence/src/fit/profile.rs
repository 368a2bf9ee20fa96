//! Intervals by profile likelihood: the values that the data do not speak
//! against, whatever the other parameter may be.

use serde::{Deserialize, Serialize};
use statrs::distribution::{ChiSquared, ContinuousCDF};

use super::Times;
use super::family::Family;

/// A value with its interval.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Span {
    /// The estimate; null in JSON where there is none, only a limit.
    #[cfg_attr(feature = "schema", schemars(with = "Option<f64>"))]
    pub value: f64,
    /// Lower end.
    pub low: f64,
    /// Upper end; null in JSON where there is none.
    #[cfg_attr(feature = "schema", schemars(with = "Option<f64>"))]
    pub high: f64,
}

impl Span {
    /// A value that is known.
    pub fn exact(value: f64) -> Self {
        Self {
            value,
            low: value,
            high: value,
        }
    }

    /// Whether the interval holds a value.
    pub fn holds(self, value: f64) -> bool {
        self.low <= value && value <= self.high
    }

    /// The same in another unit.
    #[must_use]
    pub fn scaled(self, factor: f64) -> Self {
        Self {
            value: self.value * factor,
            low: self.low * factor,
            high: self.high * factor,
        }
    }
}

/// Intervals of shape, scale and mean.
pub(super) fn spans(
    family: Family,
    times: &Times,
    (shape, scale, best): (f64, f64, f64),
    level: f64,
) -> (Span, Span, Span) {
    let drop = ChiSquared::new(1.0).map_or(3.841, |chi| chi.inverse_cdf(level)) / 2.0;
    let mean = family.mean(shape, scale);
    if family == Family::Exponential {
        // One parameter: the likelihood is a function of scale over estimate.
        let n = times.ended.len() as f64;
        let less = |ratio: f64| -n * (libm::log(ratio) + 1.0 / ratio - 1.0) + drop;
        let span = Span {
            value: scale,
            low: scale * end(less, 1.0, false),
            high: scale * end(less, 1.0, true),
        };
        return (Span::exact(1.0), span, span);
    }
    let at_shape = |k: f64| {
        let s = peak(|s| family.log_likelihood(times, k, s), scale);
        family.log_likelihood(times, k, s)
    };
    let at_scale = |s: f64| {
        let k = peak(|k| family.log_likelihood(times, k, s), shape);
        family.log_likelihood(times, k, s)
    };
    let at_mean = |m: f64| {
        let scale_of = |k: f64| m / family.mean_over_scale(k);
        let k = peak(|k| family.log_likelihood(times, k, scale_of(k)), shape);
        family.log_likelihood(times, k, scale_of(k))
    };
    let span = |value: f64, profile: &dyn Fn(f64) -> f64| Span {
        value,
        low: end(|x| profile(x) - best + drop, value, false),
        high: end(|x| profile(x) - best + drop, value, true),
    };
    (
        span(shape, &at_shape),
        span(scale, &at_scale),
        span(mean, &at_mean),
    )
}

/// Where `f`, above zero at `from`, falls to zero on one side; steps first,
/// then halves, all on the logarithm. Zero or infinity where it never does.
fn end(f: impl Fn(f64) -> f64, from: f64, up: bool) -> f64 {
    let step = if up { 1.25 } else { 0.8 };
    let (mut inside, mut outside) = (from, from * step);
    let mut steps = 0;
    while f(outside) > 0.0 {
        inside = outside;
        outside *= step;
        steps += 1;
        if steps > 120 {
            return if up { f64::INFINITY } else { 0.0 };
        }
    }
    for _ in 0..40 {
        let middle = (inside * outside).sqrt();
        if f(middle) > 0.0 {
            inside = middle;
        } else {
            outside = middle;
        }
        if (outside / inside - 1.0).abs() < 1e-7 {
            break;
        }
    }
    (inside * outside).sqrt()
}

/// Where a function of one peak is greatest, near `start`: a golden section
/// over the logarithm (J. Kiefer, 1953).
fn peak(f: impl Fn(f64) -> f64, start: f64) -> f64 {
    const GOLDEN: f64 = 0.618_033_988_749_894_9;
    let g = |x: f64| {
        let y = f(libm::exp(x));
        if y.is_nan() { f64::NEG_INFINITY } else { y }
    };
    let centre = libm::log(start);
    let mut width = 0.3;
    let (mut low, mut high) = (centre - width, centre + width);
    // Widen until the peak lies inside.
    let here = g(centre);
    for _ in 0..12 {
        let (down, up) = (g(low), g(high));
        if down < here && up < here {
            break;
        }
        width *= 2.0;
        if down >= here {
            low = centre - width;
        }
        if up >= here {
            high = centre + width;
        }
        if down >= here && g(low) < down || up >= here && g(high) < up {
            break;
        }
    }
    let (mut a, mut b) = (high - GOLDEN * (high - low), low + GOLDEN * (high - low));
    let (mut fa, mut fb) = (g(a), g(b));
    for _ in 0..60 {
        if fa > fb {
            (high, b, fb) = (b, a, fa);
            a = high - GOLDEN * (high - low);
            fa = g(a);
        } else {
            (low, a, fa) = (a, b, fb);
            b = low + GOLDEN * (high - low);
            fb = g(b);
        }
        if high - low < 1e-6 {
            break;
        }
    }
    libm::exp(0.5 * (low + high))
}

/// The exponential mean's interval from a test of fixed length: chi-square
/// limits, never too narrow (NIST/SEMATECH e-Handbook of Statistical Methods,
/// 8.4.5.1).
pub fn exact_exponential(total: f64, failures: usize, level: f64) -> Span {
    let n = failures as f64;
    let limit = |freedom: f64, p: f64| {
        ChiSquared::new(freedom).map_or(f64::NAN, |chi| 2.0 * total / chi.inverse_cdf(p))
    };
    let tail = (1.0 - level) / 2.0;
    Span {
        value: if failures == 0 {
            f64::INFINITY
        } else {
            total / n
        },
        low: limit(2.0 * n + 2.0, 1.0 - tail),
        high: if failures == 0 {
            f64::INFINITY
        } else {
            limit(2.0 * n, tail)
        },
    }
}
