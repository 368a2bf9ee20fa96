//! The cheapest set that suffices, each set judged by running it.
//!
//! Depth-first branch and bound (A. H. Land and A. G. Doig, Econometrica 28
//! (1960) 497, for the method, from memory) over ideas from the dearest to the
//! cheapest, leaving one out before taking it. A branch ends where its cost is
//! that of the best set known, or where all that is still open, together with
//! what was taken, does not suffice: that needs no set to make less for an idea
//! more, which holds but for luck. What a set makes is never added up from its
//! ideas.

use std::collections::BTreeMap;

/// What is known of a set.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Judged {
    /// Whether it suffices, by its mean.
    pub(crate) suffices: bool,
    /// Whether it may suffice, luck allowed for.
    pub(crate) may: bool,
}

/// What the search found.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Searched {
    /// The cheapest set that suffices, as bits.
    pub(crate) best: Option<u64>,
    /// Whether no branch is open.
    pub(crate) proved: bool,
    /// Sets judged.
    pub(crate) judged: BTreeMap<u64, Judged>,
}

/// Of two sets that cost the same the one with fewer ideas is cheaper.
const EACH: f64 = 1e-6;

struct Search<'a> {
    costs: &'a [f64],
    /// For each idea those that it excludes, as bits.
    excludes: &'a [u64],
    /// The dearest first.
    order: Vec<usize>,
    judge: &'a mut dyn FnMut(u64) -> Option<Judged>,
    found: Searched,
}

/// Finds the cheapest set; `judge` runs one, or says none where the time is
/// over. At most 64 ideas.
pub(crate) fn cheapest(
    costs: &[f64],
    excludes: &[u64],
    judge: &mut dyn FnMut(u64) -> Option<Judged>,
) -> Searched {
    let mut order: Vec<usize> = (0..costs.len()).collect();
    order.sort_by(|a, b| costs[*b].total_cmp(&costs[*a]).then(a.cmp(b)));
    let mut search = Search {
        costs,
        excludes,
        order,
        judge,
        found: Searched::default(),
    };
    let ended = search.branch(0, 0, true);
    search.found.proved = ended.is_some();
    search.found
}

impl Search<'_> {
    fn judged(&mut self, set: u64) -> Option<Judged> {
        if let Some(known) = self.found.judged.get(&set) {
            return Some(*known);
        }
        let judged = (self.judge)(set)?;
        self.found.judged.insert(set, judged);
        Some(judged)
    }

    fn cost(&self, set: u64) -> f64 {
        bits(set).map(|idea| self.costs[idea] + EACH).sum()
    }

    fn compatible(&self, set: u64, idea: usize) -> bool {
        self.excludes[idea] & set == 0
    }

    /// All that a branch could still be.
    fn most(&self, taken: u64, depth: usize) -> u64 {
        let mut most = taken;
        // of two that exclude each other the cheaper, as it stands later
        for &idea in self.order[depth..].iter().rev() {
            if self.compatible(most, idea) {
                most |= 1 << idea;
            }
        }
        most
    }

    /// None where the time is over.
    fn branch(&mut self, depth: usize, taken: u64, new: bool) -> Option<()> {
        let best = self
            .found
            .best
            .map_or(f64::INFINITY, |best| self.cost(best));
        if self.cost(taken) >= best {
            return Some(());
        }
        if new && self.judged(taken)?.suffices {
            self.found.best = Some(taken);
            return Some(());
        }
        let Some(&idea) = self.order.get(depth) else {
            return Some(());
        };
        let most = self.most(taken, depth);
        if most == taken || !self.judged(most)?.may {
            return Some(());
        }
        self.branch(depth + 1, taken, false)?;
        if self.compatible(taken, idea) {
            self.branch(depth + 1, taken | 1 << idea, true)?;
        }
        Some(())
    }
}

/// The ideas of a set.
pub(crate) fn bits(set: u64) -> impl Iterator<Item = usize> {
    (0..64).filter(move |idea| set >> idea & 1 == 1)
}

#[cfg(test)]
mod tests {
    use super::{Judged, bits, cheapest};
    use proptest::prelude::*;

    fn sure(suffices: bool) -> Option<Judged> {
        Some(Judged {
            suffices,
            may: suffices,
        })
    }

    #[test]
    fn two_ideas_on_one_constraint_are_not_added_up() {
        // either mends the first constraint, the third the second
        let makes = |set: u64| match (set & 0b011 != 0, set & 0b100 != 0) {
            (true, true) => 60.0,
            (true, false) => 52.0,
            _ => 50.0,
        };
        let mut judge = |set: u64| sure(makes(set) >= 55.0);
        let found = cheapest(&[5.0, 4.0, 3.0], &[0, 0, 0], &mut judge);
        assert_eq!(found.best, Some(0b110));
        assert!(found.proved);
    }

    #[test]
    fn of_two_for_one_cell_only_one_is_taken() {
        let mut judge = |set: u64| sure(bits(set).count() >= 2);
        let found = cheapest(&[1.0, 1.0, 9.0], &[0b010, 0b001, 0], &mut judge);
        let best = found.best.expect("a set");
        assert!(best & 0b011 != 0b011 && best & 0b100 != 0);
    }

    #[test]
    fn a_search_that_is_stopped_proves_nothing() {
        let mut left = 3;
        let mut judge = |_| {
            left -= 1;
            if left > 0 { sure(true) } else { None }
        };
        let found = cheapest(&[1.0], &[0], &mut judge);
        assert_eq!(found.best, Some(0));
        let mut never = |_| None;
        assert!(!cheapest(&[1.0], &[0], &mut never).proved);
    }

    proptest! {
        /// Against all sets, on plants whose rate is the least of what each
        /// constraint makes after its ideas: more ideas never make less.
        #[test]
        fn no_set_that_suffices_is_cheaper(
            costs in prop::collection::vec(1u32..50, 8),
            at in prop::collection::vec(0usize..3, 8),
            gains in prop::collection::vec(1u32..10, 8),
            goal in 50u32..70,
        ) {
            let makes = |set: u64| {
                (0..3)
                    .map(|constraint| {
                        let here = bits(set).filter(|i| at[*i] == constraint);
                        50 + 2 * constraint as u32 + here.map(|i| gains[i]).sum::<u32>()
                    })
                    .min()
                    .unwrap_or(0)
            };
            let costs: Vec<f64> = costs.into_iter().map(f64::from).collect();
            let cost = |set: u64| bits(set).map(|i| costs[i]).sum::<f64>();
            let mut judge = |set: u64| sure(makes(set) >= goal);
            let found = cheapest(&costs, &[0; 8], &mut judge);
            let least = (0..256u64).filter(|set| makes(*set) >= goal).map(cost).reduce(f64::min);
            prop_assert!(found.proved);
            prop_assert_eq!(found.best.map(cost), least);
        }
    }
}
