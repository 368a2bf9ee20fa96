//! What an order costs, goal by goal.

use std::ops::{Add, AddAssign, Index, IndexMut, Sub, SubAssign};

/// Goals that may stand above one another, what must hold being the first.
pub(crate) const TIERS: usize = 5;

/// The cost of an order: what must hold and does not, then the goals in their
/// order. Compared like words in a dictionary, so that no amount of a later
/// goal outweighs one unit of an earlier one.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub struct Cost(pub [i64; TIERS]);

impl Cost {
    /// Nothing.
    pub const ZERO: Self = Self([0; TIERS]);

    /// Any cost of an order that keeps all that must hold.
    pub(crate) const NO_BREAK: Self = {
        let mut cost = [i64::MAX; TIERS];
        cost[0] = 0;
        Self(cost)
    };

    /// The cost up to a tier, nothing behind it.
    pub(crate) fn up_to(mut self, tier: usize) -> Self {
        for behind in self.0.iter_mut().skip(tier + 1) {
            *behind = 0;
        }
        self
    }

    /// Whether all that must hold does.
    pub(crate) const fn keeps_all_musts(&self) -> bool {
        self.0[0] == 0
    }
}

impl Index<usize> for Cost {
    type Output = i64;

    fn index(&self, tier: usize) -> &i64 {
        &self.0[tier]
    }
}

impl IndexMut<usize> for Cost {
    fn index_mut(&mut self, tier: usize) -> &mut i64 {
        &mut self.0[tier]
    }
}

impl AddAssign for Cost {
    fn add_assign(&mut self, other: Self) {
        for (mine, theirs) in self.0.iter_mut().zip(other.0) {
            *mine += theirs;
        }
    }
}

impl SubAssign for Cost {
    fn sub_assign(&mut self, other: Self) {
        for (mine, theirs) in self.0.iter_mut().zip(other.0) {
            *mine -= theirs;
        }
    }
}

impl Add for Cost {
    type Output = Self;

    fn add(mut self, other: Self) -> Self {
        self += other;
        self
    }
}

impl Sub for Cost {
    type Output = Self;

    fn sub(mut self, other: Self) -> Self {
        self -= other;
        self
    }
}
