//! The engine's clock and the shift calendars on it.
//!
//! Time is a whole number of nanoseconds, so that sums do not depend on their
//! order and every machine agrees; 292 years fit.

use crate::model::{AtClose, Calendar};

/// A time or duration in nanoseconds.
pub(crate) type Ticks = i64;

/// Later than anything that happens.
pub(crate) const NEVER: Ticks = i64::MAX / 4;

pub(crate) const PER_SECOND: f64 = 1e9;

/// Seconds to ticks, to the nearest.
#[inline]
pub(crate) fn ticks(seconds: f64) -> Ticks {
    // Adding a half and cutting is one instruction less than rounding, and
    // times are never negative.
    whole_ticks(seconds * PER_SECOND)
}

/// Ticks with a fraction to the nearest whole one.
#[inline]
pub(crate) fn whole_ticks(ticks: f64) -> Ticks {
    (ticks + 0.5) as Ticks
}

/// Ticks to seconds.
pub(crate) fn seconds(t: Ticks) -> f64 {
    t as f64 / PER_SECOND
}

/// An open spell and the open time that lies before it.
#[derive(Clone, Copy, Debug)]
struct Spell {
    open: Ticks,
    close: Ticks,
    before: Ticks,
}

/// A calendar laid out over a run.
#[derive(Clone, Debug)]
pub(crate) struct Shifts {
    spells: Vec<Spell>,
    pub(crate) at_close: AtClose,
}

/// Where a station stands in its calendar; only ever moves forward.
pub(crate) type Hand = u32;

impl Shifts {
    /// Lays the repeated spells out up to `horizon`; after that the last spell
    /// stays open, which nothing measured can see.
    pub(crate) fn lay_out(calendar: &Calendar, horizon: Ticks) -> Self {
        let mut spells: Vec<Spell> = Vec::new();
        let mut before = 0;
        let repeat = ticks(calendar.repeat_s);
        let mut origin = 0;
        while origin <= horizon + repeat {
            for &(from, to) in &calendar.open {
                let (open, close) = (origin + ticks(from), origin + ticks(to));
                match spells.last_mut() {
                    Some(last) if last.close == open => last.close = close,
                    _ => spells.push(Spell {
                        open,
                        close,
                        before,
                    }),
                }
                before += close - open;
            }
            origin += repeat;
        }
        if let Some(last) = spells.last_mut() {
            last.close = NEVER;
        }
        Self {
            spells,
            at_close: calendar.at_close,
        }
    }

    /// Moves the hand to the spell that holds `t` or the next one.
    #[inline]
    fn seek(&self, hand: &mut Hand, t: Ticks) -> Spell {
        let mut spell = self.spells[*hand as usize];
        while spell.close <= t {
            *hand += 1;
            spell = self.spells[*hand as usize];
        }
        spell
    }

    /// The first open instant at or after `t`.
    #[inline]
    pub(crate) fn open_at(&self, hand: &mut Hand, t: Ticks) -> Ticks {
        self.seek(hand, t).open.max(t)
    }

    /// The first instant at or after `t` from which `work` fits in one spell;
    /// where no spell is long enough, the first open instant.
    pub(crate) fn fits_at(&self, hand: &mut Hand, t: Ticks, work: Ticks) -> Ticks {
        let first = self.open_at(hand, t);
        let mut probe = *hand;
        let mut at = first;
        for _ in 0..200 {
            let spell = self.spells[probe as usize];
            if spell.close - at >= work {
                *hand = probe;
                return at;
            }
            probe += 1;
            match self.spells.get(probe as usize) {
                Some(next) => at = next.open,
                None => break,
            }
        }
        first
    }

    /// When `work` begun at the open instant `t` is done, pausing while closed.
    #[inline]
    pub(crate) fn after(&self, hand: &mut Hand, t: Ticks, work: Ticks) -> Ticks {
        let mut spell = self.seek(hand, t);
        let mut at = t.max(spell.open);
        let mut left = work;
        // Work that ends exactly at a close is done at the close, not at the
        // next opening.
        while left > spell.close - at {
            left -= spell.close - at;
            *hand += 1;
            spell = self.spells[*hand as usize];
            at = spell.open;
        }
        at + left
    }

    /// Whether all of `[from, to]` lies in the spell that the hand stands at, so
    /// that open time is plain time.
    #[inline]
    pub(crate) fn holds(&self, hand: Hand, from: Ticks, to: Ticks) -> bool {
        let spell = self.spells[hand as usize];
        spell.open <= from && to <= spell.close
    }

    /// Open time up to `t`. The hand may stand at an earlier spell.
    #[inline]
    pub(crate) fn open_time(&self, hand: Hand, t: Ticks) -> Ticks {
        let mut at = hand as usize;
        // `after` may leave the hand one spell ahead of a time that is asked
        // for later, when work ended exactly at a close.
        while at > 0 && self.spells[at].open > t {
            at -= 1;
        }
        loop {
            let spell = self.spells[at];
            if t < spell.close || at + 1 == self.spells.len() {
                return spell.before + (t - spell.open).max(0);
            }
            if t < self.spells[at + 1].open {
                return self.spells[at + 1].before;
            }
            at += 1;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn day() -> Shifts {
        let calendar = Calendar {
            name: "day".into(),
            open: vec![
                (6.0 * 3600.0, 10.0 * 3600.0),
                (10.25 * 3600.0, 14.0 * 3600.0),
            ],
            repeat_s: 86_400.0,
            at_close: AtClose::Pause,
        };
        Shifts::lay_out(&calendar, ticks(5.0 * 86_400.0))
    }

    #[test]
    fn work_pauses_in_the_break_and_goes_on_after_it() {
        let shifts = day();
        let mut hand = 0;
        let end = shifts.after(&mut hand, ticks(9.5 * 3600.0), ticks(3600.0));
        assert_eq!(end, ticks(10.75 * 3600.0));
    }

    #[test]
    fn work_that_ends_with_the_shift_is_done_with_the_shift() {
        let shifts = day();
        let mut hand = 0;
        let end = shifts.after(&mut hand, ticks(13.0 * 3600.0), ticks(3600.0));
        assert_eq!(end, ticks(14.0 * 3600.0));
        assert_eq!(shifts.open_at(&mut hand, end), ticks(30.0 * 3600.0));
    }

    proptest! {
        #[test]
        fn open_time_grows_by_the_work_done(start in 0.0..300_000.0f64, work in 0.0..50_000.0f64) {
            let shifts = day();
            let mut hand = 0;
            let at = shifts.open_at(&mut hand, ticks(start));
            let before = shifts.open_time(hand, at);
            let end = shifts.after(&mut hand, at, ticks(work));
            prop_assert_eq!(shifts.open_time(hand, end) - before, ticks(work));
        }
    }
}
