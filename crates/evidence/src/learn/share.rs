//! A share of counts.

use statrs::distribution::{ContinuousCDF, Normal};

use crate::fit::Span;

/// A share with its score interval (E. B. Wilson, Journal of the American
/// Statistical Association 22, 1927, 209).
pub(crate) fn share_span(hits: u64, of: u64, level: f64) -> Span {
    if of == 0 {
        return Span {
            value: 0.0,
            low: 0.0,
            high: 1.0,
        };
    }
    let z = Normal::new(0.0, 1.0).map_or(1.96, |normal| normal.inverse_cdf(0.5 + level / 2.0));
    let (n, p) = (of as f64, hits as f64 / of as f64);
    let denominator = 1.0 + z * z / n;
    let centre = (p + z * z / (2.0 * n)) / denominator;
    let half = z / denominator * (p * (1.0 - p) / n + z * z / (4.0 * n * n)).sqrt();
    Span {
        value: p,
        low: if hits == 0 { 0.0 } else { centre - half },
        high: if hits == of { 1.0 } else { centre + half },
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn four_bad_of_twenty_may_be_eight_to_forty_two_in_a_hundred() {
        // Wilson's formula with z = 1.96, by hand.
        let span = share_span(4, 20, 0.95);
        assert!((span.low - 0.0807).abs() < 1e-4, "{}", span.low);
        assert!((span.high - 0.4160).abs() < 1e-4, "{}", span.high);
        assert!(span.holds(0.2));
    }
}
