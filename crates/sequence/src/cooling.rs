//! How much worse a change may make things, so that a search leaves places
//! where small changes lead no further: much at first, then less and less
//! (Kirkpatrick, Gelatt & Vecchi 1983, "Optimization by simulated annealing",
//! Science 220, 671-680).

use crate::stream::Stream;

/// A range of warmth, in cost, that is run through from hot to cold.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Cooling {
    range: Range,
    length: u64,
    done: u64,
    warmth: f64,
    /// Of 2^32 chances, those in which a change may cost the least step.
    chances: u64,
}

/// How hot a cooling begins, and how cold it ends.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Range {
    pub(crate) hot: f64,
    pub(crate) cold: f64,
    /// All costs are multiples of this; 0 where they are not.
    pub(crate) step: i64,
}

impl Range {
    /// No range at all.
    pub(crate) const NONE: Self = Self {
        hot: 1.0,
        cold: 1.0,
        step: 0,
    };
}

impl Cooling {
    /// A cooling that takes so many moves.
    pub(crate) fn new(range: Range, length: u64) -> Self {
        let mut cooling = Self {
            range,
            length: length.max(1),
            done: 0,
            warmth: range.hot,
            chances: 0,
        };
        cooling.pass(0);
        cooling
    }

    /// Goes on by so many moves.
    pub(crate) fn pass(&mut self, moves: u64) {
        self.done += moves;
        let share = (self.done as f64 / self.length as f64).min(1.0);
        let Range { hot, cold, step } = self.range;
        self.warmth = hot * libm::pow(cold / hot, share);
        let least = libm::exp(-(step as f64) / self.warmth);
        self.chances = (least * f64::from(u32::MAX)) as u64;
    }

    pub(crate) const fn is_over(&self) -> bool {
        self.done >= self.length
    }

    /// The most that the next change may add.
    pub(crate) fn allowance(&self, stream: &mut Stream) -> i64 {
        let draw = stream.bits() >> 32;
        if draw > self.chances {
            return 0;
        }
        let chance = (draw as f64 + 0.5) / (f64::from(u32::MAX) + 1.0);
        (-libm::log(chance) * self.warmth) as i64
    }
}
