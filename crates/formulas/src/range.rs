use std::fmt;

use serde::{Serialize, Serializer};

use crate::rounding::show;

/// The legal values of a symbol, in the symbol's unit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Range {
    /// Smallest value, or the open end below.
    pub low: f64,
    /// Whether `low` itself is outside.
    pub low_open: bool,
    /// Largest value, or the open end above.
    pub high: f64,
    /// Whether `high` itself is outside.
    pub high_open: bool,
    /// Whether only whole numbers are legal.
    pub whole: bool,
}

impl Range {
    /// From `low` to `high`, both included.
    pub const fn closed(low: f64, high: f64) -> Self {
        Self {
            low,
            low_open: false,
            high,
            high_open: false,
            whole: false,
        }
    }

    const fn above(low: f64) -> Self {
        Self {
            low_open: true,
            ..Self::closed(low, f64::INFINITY)
        }
    }

    /// Whether the value is legal; not-a-number and infinity never are.
    pub fn contains(self, value: f64) -> bool {
        value.is_finite()
            && value >= self.low
            && value <= self.high
            && !(self.low_open && value == self.low)
            && !(self.high_open && value == self.high)
            && (!self.whole || value.fract() == 0.0)
    }
}

/// Any finite number.
pub(crate) const ANY: Range = Range::closed(f64::NEG_INFINITY, f64::INFINITY);
/// Greater than 0.
pub(crate) const POSITIVE: Range = Range::above(0.0);
/// 0 or more.
pub(crate) const NOT_NEGATIVE: Range = Range::closed(0.0, f64::INFINITY);
/// 0 to 1.
pub(crate) const SHARE: Range = Range::closed(0.0, 1.0);
/// Greater than 0, at most 1.
pub(crate) const SOME_SHARE: Range = Range {
    low_open: true,
    ..Range::closed(0.0, 1.0)
};
/// 0 or more, less than 1.
pub(crate) const PART: Range = Range {
    high_open: true,
    ..Range::closed(0.0, 1.0)
};
/// A whole number of at least 1. The cap keeps a sum over pieces finite work.
pub(crate) const WHOLE: Range = Range {
    whole: true,
    ..Range::closed(1.0, 10_000_000.0)
};
/// A rate of interest: above -1, at which money vanishes.
pub(crate) const INTEREST: Range = Range::above(-1.0);

impl fmt::Display for Range {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.whole {
            f.write_str("whole number, ")?;
        }
        let low = match (self.low.is_finite(), self.low_open) {
            (false, _) => None,
            (true, true) => Some(format!("greater than {}", show(self.low))),
            (true, false) => Some(format!("at least {}", show(self.low))),
        };
        let high = match (self.high.is_finite(), self.high_open) {
            (false, _) => None,
            (true, true) => Some(format!("less than {}", show(self.high))),
            (true, false) => Some(format!("at most {}", show(self.high))),
        };
        match (low, high) {
            (Some(low), Some(high)) => write!(f, "{low} and {high}"),
            (Some(one), None) | (None, Some(one)) => f.write_str(&one),
            (None, None) => f.write_str("any number"),
        }
    }
}

impl Serialize for Range {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}
