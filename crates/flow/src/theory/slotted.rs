//! Machines that work in step, one slot a part, as exact Markov chains.

use super::chain::Chain;
use super::{Refused, fits, positive, probability};

/// A line of machines of equal, fixed cycle that fail and are repaired by
/// chance from slot to slot (the deterministic processing time model).
///
/// In each slot every machine first changes state: a machine that is down is
/// repaired with its probability `repair`; one that is up, has a part and has
/// a place fails with probability `fail` (operation-dependent). Then every
/// machine that is up, had a part and had a place at the start of the slot
/// moves one part. The first machine is never short of work, the last never
/// blocked. Source: Buzacott 1967; Gershwin, *Manufacturing Systems
/// Engineering*, 1994, chapter 3 (from memory).
#[derive(Clone, Debug, PartialEq)]
pub struct SlottedLine {
    /// Probability a slot that each machine is repaired.
    pub repair: Vec<f64>,
    /// Probability a slot that each working machine fails.
    pub fail: Vec<f64>,
    /// Storage between neighbours, the places at the two machines included:
    /// for two machines it is the places between plus two.
    pub storage: Vec<u16>,
}

/// Long-run figures of a slotted line.
#[derive(Clone, Debug, PartialEq)]
pub struct SlottedFigures {
    /// Parts out per slot.
    pub rate: f64,
    /// Mean content of each storage.
    pub content: Vec<f64>,
    /// Probability that each machine is up and has no part.
    pub starved: Vec<f64>,
    /// Probability that each machine is up and has no place.
    pub blocked: Vec<f64>,
    /// States of the chain that are visited for ever.
    pub states: usize,
}

/// Up (1) or down (0) of each machine, then the storages.
type State = Vec<u16>;

impl SlottedLine {
    /// Two machines with one storage.
    pub fn two(r1: f64, p1: f64, r2: f64, p2: f64, storage: u16) -> Self {
        Self {
            repair: vec![r1, r2],
            fail: vec![p1, p2],
            storage: vec![storage],
        }
    }

    /// Solves the chain.
    ///
    /// # Errors
    /// [`Refused`] when lists don't fit, a number is not a probability, a
    /// repair probability is 0, or the chain is too large.
    ///
    /// ```
    /// use flow::theory::slotted::SlottedLine;
    /// let pair = SlottedLine::two(0.1, 0.01, 0.1, 0.01, 3).figures()?;
    /// assert!((pair.rate - 0.8375).abs() < 1e-14);
    /// # Ok::<(), flow::theory::Refused>(())
    /// ```
    pub fn figures(&self) -> Result<SlottedFigures, Refused> {
        let machines = self.repair.len();
        positive("machines", machines as f64)?;
        fits("failure probabilities", self.fail.len(), machines)?;
        fits("storages", self.storage.len(), machines - 1)?;
        for (&r, &p) in self.repair.iter().zip(&self.fail) {
            positive("repair probability", probability("repair probability", r)?)?;
            probability("failure probability", p)?;
        }
        for &storage in &self.storage {
            positive("storage", f64::from(storage))?;
        }
        let mut start = vec![1; machines];
        start.extend(self.storage.iter().map(|n| n / 2));
        let steady = Chain::explore(start, |s, moves| self.moves(s, moves))?.steady()?;
        let last = machines - 1;
        Ok(SlottedFigures {
            rate: steady.mean(|s| self.up_next(s, last) * flag(self.can_work(s, last))),
            content: (machines..2 * machines - 1)
                .map(|k| steady.mean(|s| f64::from(s[k])))
                .collect(),
            starved: (0..machines)
                .map(|i| steady.share(|s| s[i] == 1 && !self.has_part(s, i)))
                .collect(),
            blocked: (0..machines)
                .map(|i| steady.share(|s| s[i] == 1 && !self.has_place(s, i)))
                .collect(),
            states: steady.states.len(),
        })
    }

    fn has_part(&self, state: &State, i: usize) -> bool {
        i == 0 || state[self.repair.len() + i - 1] > 0
    }

    fn has_place(&self, state: &State, i: usize) -> bool {
        self.storage
            .get(i)
            .is_none_or(|&storage| state[self.repair.len() + i] < storage)
    }

    fn can_work(&self, state: &State, i: usize) -> bool {
        self.has_part(state, i) && self.has_place(state, i)
    }

    /// Probability that machine `i` is up in the slot that begins.
    fn up_next(&self, state: &State, i: usize) -> f64 {
        match (state[i], self.can_work(state, i)) {
            (0, _) => self.repair[i],
            (_, true) => 1.0 - self.fail[i],
            (_, false) => 1.0,
        }
    }

    fn moves(&self, state: &State, moves: &mut Vec<(State, f64)>) {
        let machines = self.repair.len();
        for pattern in 0..1_u32 << machines {
            let mut next = state.clone();
            let mut chance = 1.0;
            for i in 0..machines {
                let up = pattern >> i & 1 == 1;
                let share = self.up_next(state, i);
                chance *= if up { share } else { 1.0 - share };
                next[i] = u16::from(up);
                if up && self.can_work(state, i) {
                    if i > 0 {
                        next[machines + i - 1] -= 1;
                    }
                    if i + 1 < machines {
                        next[machines + i] += 1;
                    }
                }
            }
            moves.push((next, chance));
        }
    }
}

/// Parts per slot of a line of Bernoulli machines: each is up in a slot with
/// its probability, whatever happened before.
///
/// A machine that is up moves a part if its storage above held one at the
/// start of the slot and the storage below has a place or is given one in the
/// same slot by the machine below (blocking before service). Source: Jacobs &
/// Meerkov 1995; Li & Meerkov, *Production Systems Engineering*, 2009 (from
/// memory).
///
/// # Errors
/// [`Refused`] when lists don't fit, a number is not a probability above 0, or
/// the chain is too large.
///
/// ```
/// let rate = flow::theory::slotted::bernoulli_line(&[0.9, 0.9], &[3])?;
/// assert!((rate - 27.0 / 31.0).abs() < 1e-15);
/// # Ok::<(), flow::theory::Refused>(())
/// ```
pub fn bernoulli_line(up: &[f64], storage: &[u16]) -> Result<f64, Refused> {
    positive("machines", up.len() as f64)?;
    fits("storages", storage.len(), up.len() - 1)?;
    for &share in up {
        positive("probability up", probability("probability up", share)?)?;
    }
    let machines = up.len();
    let next = |state: &State, moves: &mut Vec<(State, f64)>| {
        for pattern in 0..1_u32 << machines {
            let mut chance = 1.0;
            for (i, &share) in up.iter().enumerate() {
                chance *= if pattern >> i & 1 == 1 {
                    share
                } else {
                    1.0 - share
                };
            }
            moves.push((bernoulli_slot(state, pattern, storage), chance));
        }
    };
    let steady = Chain::explore(vec![0; machines - 1], next)?.steady()?;
    let last_fed = steady.share(|s| s.last().is_none_or(|&content| content > 0));
    Ok(up[machines - 1] * last_fed)
}

fn bernoulli_slot(state: &State, pattern: u32, storage: &[u16]) -> State {
    let machines = storage.len() + 1;
    let mut next = state.clone();
    let mut below_takes = false;
    for i in (0..machines).rev() {
        let has_part = i == 0 || state[i - 1] > 0;
        let has_place = i + 1 == machines || state[i] < storage[i] || below_takes;
        let moves = pattern >> i & 1 == 1 && has_part && has_place;
        if moves && i > 0 {
            next[i - 1] -= 1;
        }
        if moves && i + 1 < machines {
            next[i] += 1;
        }
        below_takes = moves;
    }
    next
}

fn flag(holds: bool) -> f64 {
    f64::from(u8::from(holds))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn the_closed_form_for_two_bernoulli_machines() {
        // Unlike machines: Q = (1-p1)(1-a) / (1 - p1/p2 a^N), a = p1(1-p2)/(p2(1-p1)).
        let (p1, p2, n) = (0.8, 0.95, 2);
        let a: f64 = p1 * (1.0 - p2) / (p2 * (1.0 - p1));
        let empty = (1.0 - p1) * (1.0 - a) / (1.0 - p1 / p2 * a.powi(n));
        let rate = bernoulli_line(&[p1, p2], &[2]).unwrap();
        assert!((rate - p2 * (1.0 - empty)).abs() < 1e-14);
    }

    #[test]
    fn impossible_machines_are_refused() {
        assert!(SlottedLine::two(0.0, 0.1, 0.1, 0.1, 4).figures().is_err());
        assert!(SlottedLine::two(0.1, 1.5, 0.1, 0.1, 4).figures().is_err());
        assert!(bernoulli_line(&[0.9], &[3]).is_err());
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(30))]

        #[test]
        fn reversing_two_machines_keeps_the_rate(r1 in 0.05..0.9_f64, p1 in 0.01..0.3_f64, r2 in 0.05..0.9_f64, p2 in 0.01..0.3_f64, storage in 4..20_u16) {
            let there = SlottedLine::two(r1, p1, r2, p2, storage).figures().unwrap();
            let back = SlottedLine::two(r2, p2, r1, p1, storage).figures().unwrap();
            prop_assert!((there.rate - back.rate).abs() < 1e-12);
            // Each machine's rate is its own when never starved nor blocked.
            let alone = r2 / (r2 + p2) * (1.0 - there.starved[1]);
            prop_assert!((there.rate - alone).abs() < 1e-12);
        }

        #[test]
        fn more_storage_never_lowers_the_rate(r in 0.05..0.9_f64, p in 0.01..0.3_f64, storage in 2..20_u16) {
            let less = SlottedLine::two(r, p, 0.2, 0.05, storage).figures().unwrap();
            let more = SlottedLine::two(r, p, 0.2, 0.05, storage + 1).figures().unwrap();
            prop_assert!(more.rate >= less.rate - 1e-14);
        }
    }
}
