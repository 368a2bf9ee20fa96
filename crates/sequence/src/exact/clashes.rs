//! Rules of one goal that no order keeps together.

use super::{LONGEST, Verdict, counted_out};
use crate::clash::sets;
use crate::cost::Cost;
use crate::plan::Plan;
use crate::watch::Watch;

/// Rules of one goal that no order keeps together.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Clash {
    /// The rules, as bits of the plan.
    pub(crate) bits: Vec<usize>,
    /// What they cost together at the least.
    pub(crate) least: i64,
    /// What they cost at the least one by one.
    pub(crate) alone: i64,
}

/// Sets of rules that no order keeps together, of the fewest rules that
/// counting out within so many states shows. `singles` has for each rule what
/// it costs alone, `enough` for each tier what need not be passed.
pub(crate) fn clashes(
    plan: &Plan,
    singles: &[i64],
    enough: &Cost,
    states: usize,
    watch: &Watch<'_>,
) -> Vec<Clash> {
    let short = |bit: &usize| plan.rules[*bit].in_every <= LONGEST;
    let mut tight: Vec<usize> = (0..plan.rules.len()).filter(short).collect();
    tight.retain(|bit| plan.load(*bit) >= LEAST_LOAD);
    tight.sort_by_key(|bit| (std::cmp::Reverse(plan.load(*bit)), *bit));
    let mut budget = BUDGET * states;
    for (size, most) in [(2, 16), (3, 8), (4, 6)] {
        let mut found = Vec::new();
        for set in sets(tight.len().min(most), size) {
            let bits: Vec<usize> = set.iter().map(|at| tight[*at]).collect();
            let tier = plan.rules[bits[0]].tier;
            if watch.cancelled()
                || budget == 0
                || bits.iter().any(|bit| plan.rules[*bit].tier != tier)
            {
                continue;
            }
            let alone = bits.iter().map(|bit| singles[*bit]).sum();
            let limit = Limit {
                enough: enough[tier],
                states,
            };
            let least = together(plan, &bits, alone, &limit, &mut budget, watch);
            if least > alone {
                found.push(Clash { bits, least, alone });
            }
        }
        if !found.is_empty() {
            return found;
        }
    }
    Vec::new()
}

/// Rules whose cars take less than so many thousandths of what they let
/// through hardly ever clash with another.
const LEAST_LOAD: u64 = 600;

/// All sets together may take so many times the states of one.
const BUDGET: usize = 12;

/// How far to go with one set of rules.
struct Limit {
    /// A cost that need not be passed.
    enough: i64,
    states: usize,
}

/// What rules of one tier cost together at the least, as far as it shows.
fn together(
    plan: &Plan,
    bits: &[usize],
    alone: i64,
    limit: &Limit,
    budget: &mut usize,
    watch: &Watch<'_>,
) -> i64 {
    let tier = plan.rules[bits[0]].tier;
    let step = bits.iter().map(|bit| plan.rules[*bit].price).min();
    let step = step.unwrap_or(1).max(1);
    let small = plan.only(bits);
    let mut allowed = Cost::ZERO;
    allowed[tier] = alone;
    while allowed[tier] < limit.enough {
        // Rules that are known to clash are worth more states.
        let more = if allowed[tier] > alone { 4 } else { 1 };
        match counted_out(&small, &allowed, more * limit.states, budget, watch) {
            Verdict::Nothing => allowed[tier] += step,
            // Prices that are no multiples of the least may leave a gap.
            Verdict::Best(..) | Verdict::GaveUp => break,
        }
    }
    if allowed[tier] == alone {
        return alone;
    }
    // Nothing costs as little as one step less, so a unit more is proven.
    let uniform = bits.iter().all(|bit| plan.rules[*bit].price == step);
    if uniform {
        allowed[tier]
    } else {
        allowed[tier] - step + 1
    }
}

impl Plan {
    /// How much of what a rule lets through its cars take, in thousandths.
    fn load(&self, bit: usize) -> u64 {
        let of = |(class, cars): (usize, &u32)| u64::from(*cars) * (self.masks[class] >> bit & 1);
        let cars: u64 = self.counts.iter().enumerate().map(of).sum();
        let rule = &self.rules[bit];
        let through = u64::from(rule.at_most) * (self.len - self.free) as u64;
        cars * rule.in_every as u64 * 1_000 / through.max(1)
    }

    /// The plan with nothing but some of its rules.
    pub(crate) fn only(&self, bits: &[usize]) -> Self {
        let rules: Vec<_> = bits.iter().map(|bit| self.rules[*bit].clone()).collect();
        let pick = |mask: &u64| {
            let picked = bits.iter().enumerate();
            picked.map(|(new, old)| (mask >> old & 1) << new).sum()
        };
        Self {
            masks: self.masks.iter().map(pick).collect(),
            tier_masks: self.tier_masks.map(|mask| pick(&mask)),
            rules,
            max_block: None,
            change_price: 0,
            level_price: 0,
            parts: Vec::new(),
            part_totals: Vec::new(),
            lines: Vec::new(),
            dues: Vec::new(),
            ..self.clone()
        }
    }
}
