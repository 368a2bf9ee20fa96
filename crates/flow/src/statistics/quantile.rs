//! Quantiles of the distributions that intervals need.

use statrs::distribution::{ChiSquared, Continuous, ContinuousCDF, Normal, StudentsT};

/// Quantile of Student's t distribution with `degrees` degrees of freedom.
///
/// NaN where `p` is outside (0, 1) or `degrees` is not positive. Source:
/// Student, Biometrika 6 (1908) 1 (from memory).
///
/// ```
/// // Half-width factor of a 95 % interval from ten replications.
/// let t = flow::statistics::student_t_quantile(0.975, 9.0);
/// assert!((t - 2.262_157_162_798_2).abs() < 1e-9);
/// ```
pub fn student_t_quantile(p: f64, degrees: f64) -> f64 {
    let Ok(t) = StudentsT::new(0.0, 1.0, degrees) else {
        return f64::NAN;
    };
    if !open_unit(p) {
        return f64::NAN;
    }
    // The lower half by symmetry: polishing works on small tail areas.
    if p < 0.5 {
        return -student_t_quantile(1.0 - p, degrees);
    }
    polish(t.inverse_cdf(p), |x| ((1.0 - p) - t.sf(x)) / t.pdf(x))
}

/// Quantile of the standard normal distribution; NaN where `p` is outside
/// (0, 1).
///
/// ```
/// let z = flow::statistics::normal_quantile(0.975);
/// assert!((z - 1.959_963_984_540_054).abs() < 1e-12);
/// ```
pub fn normal_quantile(p: f64) -> f64 {
    let Ok(z) = Normal::new(0.0, 1.0) else {
        return f64::NAN;
    };
    if !open_unit(p) {
        return f64::NAN;
    }
    if p < 0.5 {
        return -normal_quantile(1.0 - p);
    }
    // Not the library's own tail area: it is right to 1e-11 only.
    polish(z.inverse_cdf(p), |x| {
        let tail = 0.5 * libm::erfc(x * std::f64::consts::FRAC_1_SQRT_2);
        ((1.0 - p) - tail) / z.pdf(x)
    })
}

/// Quantile of the chi-square distribution with `degrees` degrees of freedom;
/// NaN where `p` is outside (0, 1) or `degrees` is not positive.
///
/// ```
/// let c = flow::statistics::chi_square_quantile(0.95, 10.0);
/// assert!((c - 18.307_038_053_275_15).abs() < 1e-9);
/// ```
pub fn chi_square_quantile(p: f64, degrees: f64) -> f64 {
    let Ok(c) = ChiSquared::new(degrees) else {
        return f64::NAN;
    };
    if !open_unit(p) {
        return f64::NAN;
    }
    polish(c.inverse_cdf(p), |x| {
        if p < 0.5 {
            (c.cdf(x) - p) / c.pdf(x)
        } else {
            ((1.0 - p) - c.sf(x)) / c.pdf(x)
        }
    })
}

fn open_unit(p: f64) -> bool {
    p > 0.0 && p < 1.0
}

/// Newton steps from the library's start value, whose search stops at a
/// coarser tolerance than the 1e-9 that the checks ask for.
fn polish(start: f64, step: impl Fn(f64) -> f64) -> f64 {
    let mut x = start;
    for _ in 0..4 {
        let change = step(x);
        // Where the density vanishes there is nothing left to improve.
        if !change.is_finite() {
            break;
        }
        x -= change;
        if change.abs() <= 1e-15 * x.abs() {
            break;
        }
    }
    x
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quantile_and_distribution_are_inverse() {
        for degrees in [1.0, 2.0, 4.0, 9.0, 29.0, 400.0] {
            let t = StudentsT::new(0.0, 1.0, degrees).unwrap();
            for p in [0.005, 0.3, 0.9, 0.975, 0.995, 0.9995] {
                let back = t.cdf(student_t_quantile(p, degrees));
                assert!((back - p).abs() < 1e-12, "{degrees} {p} {back}");
            }
        }
        for degrees in [1.0, 5.0, 50.0] {
            let c = ChiSquared::new(degrees).unwrap();
            for p in [0.01, 0.5, 0.99] {
                let back = c.cdf(chi_square_quantile(p, degrees));
                assert!((back - p).abs() < 1e-12, "{degrees} {p} {back}");
            }
        }
    }

    #[test]
    fn one_degree_of_freedom_is_the_cauchy_quantile() {
        // tan(pi (p - 1/2)) at p = 3/4 is 1.
        assert!((student_t_quantile(0.75, 1.0) - 1.0).abs() < 1e-12);
    }

    #[test]
    fn nonsense_gives_nan() {
        assert!(student_t_quantile(1.0, 3.0).is_nan());
        assert!(student_t_quantile(0.9, 0.0).is_nan());
        assert!(normal_quantile(f64::NAN).is_nan());
        assert!(chi_square_quantile(0.5, -1.0).is_nan());
    }
}
