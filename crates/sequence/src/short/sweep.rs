//! Many changes tried in a row, one place the same in all of them: what is known
//! of that place is looked up once.

use std::ops::Range;

use super::row::ShortRow;

/// What came of a sweep.
pub(crate) struct Swept {
    /// Changes tried.
    pub(crate) tried: u64,
    /// Whether the last one of them was made.
    pub(crate) made: bool,
}

impl ShortRow<'_> {
    /// Turns the first part that adds no more breaks than are allowed, of those
    /// between a joint and each of some others in a row. What reaches an end of
    /// the row is let be.
    pub(crate) fn sweep_turns(
        &mut self,
        joint: usize,
        others: Range<usize>,
        allowed: i32,
    ) -> Swept {
        let (reach, inner, fixed) = (self.tables.reach, self.inner(), self.pad + joint);
        if fixed < inner.start || fixed > inner.end {
            return Swept::NOTHING;
        }
        let from = (self.pad + others.start).max(inner.start);
        let others = from..(self.pad + others.end).min(inner.end + 1).max(from);
        let beside = self.tables.beside(self.before[fixed]);
        let most = allowed + self.across[fixed];
        let mut tried = 1;
        for other in others {
            let mut more = beside.across(self.before[other]) - self.across[other];
            tried += 1;
            if more > most || other.abs_diff(fixed) < reach {
                continue;
            }
            more += self.tables.across(self.behind[fixed], self.behind[other]);
            if more <= most {
                let part = fixed.min(other)..fixed.max(other);
                let more = more - self.across[fixed];
                self.cars[part.clone()].reverse();
                self.masks[part.clone()].reverse();
                self.look_at_turned(part.start, part.end);
                self.breaks += i64::from(more);
                return Swept { tried, made: true };
            }
        }
        Swept { tried, made: false }
    }

    /// Exchanges a car with the first of some in a row with which that adds no more
    /// breaks than are allowed. Places near an end of the row, or near the car's
    /// own, are let be.
    pub(crate) fn sweep_swaps(
        &mut self,
        place: usize,
        others: Range<usize>,
        allowed: i32,
    ) -> Swept {
        let (reach, inner, fixed) = (self.tables.reach, self.inner(), self.pad + place);
        if !inner.contains(&fixed) {
            return Swept::NOTHING;
        }
        let from = (self.pad + others.start).max(inner.start);
        let others = from..(self.pad + others.end).min(inner.end).max(from);
        let mask = self.masks[fixed];
        let (before, behind) = (self.before[fixed], self.behind[fixed + 1]);
        let most = allowed + self.with[fixed];
        let mut tried = 1;
        for other in others {
            let theirs = self.masks[other];
            tried += 1;
            if theirs == mask || other.abs_diff(fixed) <= reach {
                continue;
            }
            let mut more = self.tables.with(before, theirs, behind) - self.with[other];
            if more > most {
                continue;
            }
            more += self
                .tables
                .with(self.before[other], mask, self.behind[other + 1]);
            if more <= most {
                let more = more - self.with[fixed];
                self.cars.swap(fixed, other);
                self.masks.swap(fixed, other);
                self.look(fixed, fixed + 1);
                self.look(other, other + 1);
                self.breaks += i64::from(more);
                return Swept { tried, made: true };
            }
        }
        Swept { tried, made: false }
    }
}

impl Swept {
    const NOTHING: Self = Self {
        tried: 1,
        made: false,
    };
}
