//! The transfer line of the handbooks: stages with a buffer of parts between.
//!
//! A quick formula for two stages that costs nothing to work out by hand. For
//! like stages it is 0.1 to 0.6 points of efficiency lower than an exact
//! simulation of the same line; use it for a first size, not for a promise.
//!
//! **Caution**: for unlike stages the formula, as remembered, does not tend to
//! the efficiency of the weaker stage when the buffer grows (with 0.06 and
//! 0.04 stops a cycle it ends 7 points too high, the other way round 4 points
//! too low). Compare with [`super::slotted`] before relying on it.
//!
//! Source: Groover, *Automation, Production Systems, and Computer-Integrated
//! Manufacturing*, after Buzacott 1967 (from memory).

use super::{Refused, positive, within};

/// How long repairs last.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Repairs {
    /// All the same.
    Constant,
    /// Geometric: as likely to end in any cycle.
    Geometric,
}

/// Two stages of a transfer line with a buffer between.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TwoStages {
    /// Stops per cycle of the first stage.
    pub stops_1: f64,
    /// Stops per cycle of the second stage.
    pub stops_2: f64,
    /// Ideal cycle.
    pub cycle: f64,
    /// Mean time of a stop, in the same unit.
    pub repair: f64,
}

/// Efficiency of a stage alone, or of a whole line without buffers, with
/// `stops` per cycle.
///
/// # Errors
/// [`Refused`] when a time is not above 0 or `stops` is below 0.
///
/// ```
/// // Twenty stations with 0.005 stops a cycle each.
/// let share = flow::theory::transfer::efficiency(20.0 * 0.005, 1.2, 8.0)?;
/// assert!((share - 0.6).abs() < 1e-15);
/// # Ok::<(), flow::theory::Refused>(())
/// ```
pub fn efficiency(stops: f64, cycle: f64, repair: f64) -> Result<f64, Refused> {
    within("stops a cycle", stops, stops >= 0.0, "0 or more")?;
    positive("cycle", cycle)?;
    positive("time of a stop", repair)?;
    Ok(cycle / (cycle + stops * repair))
}

impl TwoStages {
    /// Efficiency with `places` between the stages.
    ///
    /// E = E0 + D1' h E2: without a buffer, plus the share of the first
    /// stage's stops through which the second can go on.
    ///
    /// # Errors
    /// As [`efficiency`].
    ///
    /// ```
    /// use flow::theory::transfer::{Repairs, TwoStages};
    /// let line = TwoStages { stops_1: 0.05, stops_2: 0.05, cycle: 1.2, repair: 8.0 };
    /// assert!((line.efficiency(10, Repairs::Constant)? - 0.6875).abs() < 1e-15);
    /// # Ok::<(), flow::theory::Refused>(())
    /// ```
    pub fn efficiency(&self, places: u32, repairs: Repairs) -> Result<f64, Refused> {
        let none = efficiency(self.stops_1 + self.stops_2, self.cycle, self.repair)?;
        let second = efficiency(self.stops_2, self.cycle, self.repair)?;
        let lost_to_first = self.stops_1 * self.repair * none / self.cycle;
        let covered = match repairs {
            Repairs::Constant => self.covered_constant(f64::from(places)),
            Repairs::Geometric => self.covered_geometric(f64::from(places)),
        };
        Ok(none + lost_to_first * covered * second)
    }

    /// Efficiency with a buffer without limit: that of the weaker stage.
    ///
    /// # Errors
    /// As [`efficiency`].
    pub fn without_limit(&self) -> Result<f64, Refused> {
        efficiency(self.stops_1.max(self.stops_2), self.cycle, self.repair)
    }

    fn covered_constant(&self, places: f64) -> f64 {
        let cycles = self.repair / self.cycle;
        // Repairs that the buffer covers whole, and what is left of it. The
        // nudge keeps a ratio that should be whole from falling short.
        let whole = (places / cycles + 1e-9).floor();
        let left = (places - whole * cycles).max(0.0) / cycles;
        let r = self.stops_1 / self.stops_2;
        if r == 1.0 {
            return whole / (whole + 1.0) + left / ((whole + 1.0) * (whole + 2.0));
        }
        // Powers of the smaller of r and 1/r, which can't overflow.
        let s = r.min(1.0 / r);
        let power = |n: f64| libm::pow(s, n);
        let (now, next, after) = (power(whole), power(whole + 1.0), power(whole + 2.0));
        let outer = if r < 1.0 { (r, next) } else { (1.0, now) };
        outer.0 * (1.0 - now) / (1.0 - next)
            + left * outer.1 * (1.0 - s) * (1.0 - s) / ((1.0 - next) * (1.0 - after))
    }

    fn covered_geometric(&self, places: f64) -> f64 {
        let ends = self.cycle / self.repair;
        let r = self.stops_1 / self.stops_2;
        if r == 1.0 {
            return places * ends / (2.0 + (places - 1.0) * ends);
        }
        let k = (1.0 + r - ends) / (1.0 + r - r * ends);
        if k < 1.0 {
            let power = libm::pow(k, places);
            r * (1.0 - power) / (1.0 - r * power)
        } else {
            let power = libm::pow(k, -places);
            r * (1.0 - power) / (r - power)
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn like_stages_run_from_no_buffer_to_one_stage_alone() {
        let line = TwoStages {
            stops_1: 0.05,
            stops_2: 0.05,
            cycle: 1.2,
            repair: 8.0,
        };
        for repairs in [Repairs::Constant, Repairs::Geometric] {
            let none = line.efficiency(0, repairs).unwrap();
            assert!((none - 0.6).abs() < 1e-12);
            let many = line.efficiency(1_000_000, repairs).unwrap();
            assert!((many - line.without_limit().unwrap()).abs() < 1e-5);
        }
    }

    #[test]
    fn unlike_stages_miss_the_limit_of_the_weaker_stage_as_cautioned() {
        let line = TwoStages {
            stops_1: 0.06,
            stops_2: 0.04,
            cycle: 1.2,
            repair: 8.0,
        };
        let many = line.efficiency(1_000_000, Repairs::Constant).unwrap();
        assert!(many > line.without_limit().unwrap() + 0.05);
        let swapped = TwoStages {
            stops_1: 0.04,
            stops_2: 0.06,
            ..line
        };
        let many = swapped.efficiency(1_000_000, Repairs::Constant).unwrap();
        assert!(many < swapped.without_limit().unwrap() - 0.03);
    }
}
