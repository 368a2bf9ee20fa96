//! The chance that a figure's true mean lies above zero, from its replications.

use flow::statistics::{Interval, mean, student_t_quantile, variance};

/// The upper tail of Student's t for whole degrees of freedom, by the finite
/// series of Abramowitz & Stegun, *Handbook of Mathematical Functions* (1964),
/// 26.7.3 and 26.7.4 (from memory; the tests compare with printed quantiles).
pub(super) fn tail(t: f64, degrees: u32) -> f64 {
    if t.is_nan() || degrees == 0 {
        return 0.5;
    }
    if t.is_infinite() {
        return if t > 0.0 { 0.0 } else { 1.0 };
    }
    let angle = libm::atan(t / f64::from(degrees).sqrt());
    let (sine, cosine) = (libm::sin(angle), libm::cos(angle));
    // the chance that |t| is not exceeded, with the sign of t
    let within = if degrees % 2 == 1 {
        let mut sum = 0.0;
        let mut term = cosine;
        for odd in (1..degrees).step_by(2) {
            sum += term;
            term *= cosine * cosine * f64::from(odd + 1) / f64::from(odd + 2);
        }
        std::f64::consts::FRAC_2_PI * (angle + sine * sum)
    } else {
        let mut sum = 0.0;
        let mut term = 1.0;
        for even in (0..degrees).step_by(2) {
            sum += term;
            term *= cosine * cosine * f64::from(even + 1) / f64::from(even + 2);
        }
        sine * sum
    };
    (0.5 * (1.0 - within)).clamp(0.0, 1.0)
}

/// A mean and how far luck may have moved it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Estimate {
    pub(super) mean: f64,
    /// Its standard error; infinite with fewer than two samples.
    error: f64,
    degrees: u32,
}

/// The fewest samples from which luck is taken out.
const FITTED: usize = 5;

impl Estimate {
    /// Of independent samples.
    pub(super) fn plain(samples: &[f64]) -> Self {
        if samples.len() < 2 {
            return Self {
                mean: samples.first().copied().unwrap_or(0.0),
                error: f64::INFINITY,
                degrees: 0,
            };
        }
        Self {
            mean: mean(samples),
            error: (variance(samples) / samples.len() as f64).sqrt(),
            degrees: samples.len() as u32 - 1,
        }
    }

    /// Of samples that met the luck of the first of `control`, which was run
    /// further: what the samples follow of it by a straight line is set to its
    /// mean over all its runs (regression estimate with double sampling: W. G.
    /// Cochran, *Sampling Techniques*, 3rd ed. 1977, chapter 12; for simulation
    /// S. S. Lavenberg and P. D. Welch, Management Science 27 (1981) 322; both
    /// from memory).
    pub(super) fn led(samples: &[f64], control: &[f64]) -> Self {
        let n = samples.len();
        if n < FITTED || control.len() <= n {
            return Self::plain(samples);
        }
        let here = &control[..n];
        let (centre, middle) = (mean(here), mean(samples));
        let square: f64 = here.iter().map(|x| (x - centre) * (x - centre)).sum();
        if square <= 0.0 {
            return Self::plain(samples);
        }
        let both = here.iter().zip(samples);
        let slope = both
            .clone()
            .map(|(x, y)| (x - centre) * (y - middle))
            .sum::<f64>()
            / square;
        let left = |(x, y): (&f64, &f64)| y - middle - slope * (x - centre);
        let residual = both.map(|pair| left(pair) * left(pair)).sum::<f64>() / (n - 2) as f64;
        let off = centre - mean(control);
        let own = residual * (1.0 / n as f64 + off * off / square);
        let shared = slope * slope * variance(control) / control.len() as f64;
        Self {
            mean: middle - slope * off,
            error: (own + shared).sqrt(),
            degrees: n as u32 - 2,
        }
    }

    /// The chance that the true mean is above `at`; luck that never differed
    /// leaves no doubt.
    pub(super) fn above(self, at: f64) -> f64 {
        let centre = self.mean - at;
        if self.error == 0.0 {
            return match centre.partial_cmp(&0.0) {
                Some(std::cmp::Ordering::Greater) => 1.0,
                Some(std::cmp::Ordering::Less) => 0.0,
                _ => 0.5,
            };
        }
        tail(-centre / self.error, self.degrees)
    }

    /// The interval at a level.
    pub(super) fn interval(self, level: f64) -> Interval {
        let half_width = if self.degrees == 0 {
            f64::INFINITY
        } else if self.error == 0.0 {
            0.0
        } else {
            self.error * student_t_quantile(0.5 + 0.5 * level, f64::from(self.degrees))
        };
        Interval {
            mean: self.mean,
            half_width,
        }
    }
}

/// The chance that the true mean of these is above `at`.
pub(super) fn above(samples: &[f64], at: f64) -> f64 {
    Estimate::plain(samples).above(at)
}

#[cfg(test)]
mod tests {
    use flow::stream::Stream;

    use super::{Estimate, above, tail};

    /// Quantiles of Student's t as any printed table has them.
    #[test]
    fn the_tail_agrees_with_the_printed_table() {
        for (degrees, t, chance) in [
            (1, 6.314, 0.05),
            (2, 2.920, 0.05),
            (3, 3.182, 0.025),
            (4, 2.132, 0.05),
            (7, 3.499, 0.005),
            (10, 2.228, 0.025),
            (30, 1.697, 0.05),
        ] {
            let seen = tail(t, degrees);
            assert!((seen - chance).abs() < 4e-5, "{degrees} {t}: {seen}");
            assert!((tail(-t, degrees) - (1.0 - chance)).abs() < 4e-5);
        }
    }

    #[test]
    fn equal_luck_leaves_no_doubt_and_a_single_run_leaves_all() {
        assert_eq!(above(&[3.0, 3.0, 3.0], 0.0), 1.0);
        assert_eq!(above(&[0.0, 0.0, 0.0], 0.0), 0.5);
        assert_eq!(above(&[9.0], 0.0), 0.5);
        assert!(above(&[3.0, 2.0, 4.0], 0.0) > 0.97);
    }

    #[test]
    fn luck_that_the_control_had_is_taken_out() {
        // a variant that mends the control's bad weeks: its gain is what those lost
        let luck = |run: u32| 50.0 * Stream::keyed(3, run, "plant", "luck").uniform();
        let own = |run: u32| Stream::keyed(3, run, "own", "luck").uniform();
        let control: Vec<f64> = (0..80).map(|run| 1_350.0 - luck(run)).collect();
        let gains: Vec<f64> = (0..8).map(|run| luck(run) + own(run)).collect();
        let (plain, led) = (Estimate::plain(&gains), Estimate::led(&gains, &control));
        assert!(led.interval(0.95).half_width < 0.5 * plain.interval(0.95).half_width);
        assert!(led.interval(0.99).holds(25.5), "{led:?}");
    }

    #[test]
    fn a_led_interval_holds_the_truth_as_often_as_it_says() {
        let held = (0..400)
            .filter(|seed| {
                let draw = |run: u32, what: &str| Stream::keyed(*seed, run, what, "luck").uniform();
                let control: Vec<f64> = (0..40).map(|run| draw(run, "plant")).collect();
                let gains: Vec<f64> = (0..8)
                    .map(|run| 2.0 - 0.8 * draw(run, "plant") + 0.5 * draw(run, "own"))
                    .collect();
                Estimate::led(&gains, &control)
                    .interval(0.95)
                    .holds(2.0 - 0.4 + 0.25)
            })
            .count();
        assert!((366..=396).contains(&held), "{held} of 400");
    }
}
