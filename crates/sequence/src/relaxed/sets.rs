//! Which rules are minded together: twos and threes first, then more and more.

use rayon::prelude::*;

use super::kinds::Minded;
use super::{ALONE, Question, TOGETHER};
use crate::watch::Watch;

/// Rules are minded together several times, each time as many as leave such a
/// part of the steps that there is time for, the prices known from the time
/// before: with few, prices are found soon and exactly.
const PARTS: [usize; 3] = [64, 8, 1];

/// Before that, twos and threes of rules are tried, each with no more steps than
/// this, in such a part of the time: rules that ask for nothing alone may do so
/// beside certain others.
const TRIED: usize = 2048;
const TRIED_PART: u64 = 8;

/// The last places of a window that may be minded instead of the whole.
const SHORTER: [usize; 6] = [2, 3, 4, 5, 6, 8];

/// The most that is proven so far.
struct Proven {
    /// In the unit of prices.
    cost: i64,
    rules: Vec<Minded>,
    /// The prices of classes that prove it, where they are kept.
    prices: Option<Vec<f64>>,
}

impl Question<'_> {
    /// What the cars behind the fixed ones cost at the least, and by which rules.
    pub(super) fn proven(&self, sums: u64, watch: &Watch<'_>) -> (i64, Vec<usize>) {
        let mut ranked: Vec<(i64, i64, Minded)> = Vec::new();
        for rule in &self.rules {
            let (alone, rule) = self.alone(rule, sums, watch);
            ranked.push((alone, self.crowding(&rule), rule));
        }
        ranked.sort_by_key(|(alone, crowding, _)| std::cmp::Reverse((*alone, *crowding)));
        let mut best = Proven {
            cost: ranked.first().map_or(0, |(alone, _, _)| *alone),
            rules: ranked.iter().take(1).map(|(_, _, rule)| *rule).collect(),
            prices: None,
        };
        let mut ranked: Vec<Minded> = ranked.into_iter().map(|(_, _, rule)| rule).collect();
        if let Some(tried) = self.tried(&ranked, sums / TRIED_PART, watch)
            && tried.cost > best.cost
        {
            let is_first = |rule: &Minded| tried.rules.iter().any(|first| first.bit == rule.bit);
            ranked.sort_by_key(|rule| !is_first(rule));
            best = tried;
        }
        self.grown(&ranked, &mut best, sums, watch);
        let cost = self.units(best.cost);
        if cost > 0 && self.change == 0 {
            self.lessen(&mut best, watch);
        }
        let given = |rule: &Minded| self.plan.rules[rule.bit].given;
        (cost, best.rules.iter().map(given).collect())
    }

    /// Leaves out rules without which something is proven still, the least
    /// crowded first.
    fn lessen(&self, best: &mut Proven, watch: &Watch<'_>) {
        for at in (0..best.rules.len()).rev() {
            let mut fewer = best.rules.clone();
            fewer.remove(at);
            if fewer.is_empty() || watch.cancelled() {
                break;
            }
            let Some(minding) = self.minding(&fewer, usize::MAX, watch) else {
                break;
            };
            let known = best.prices.as_deref();
            let proven = self.priced(&minding, ALONE, known, watch).proven;
            if proven > 0 {
                best.rules = fewer;
            }
        }
    }

    /// The twos and threes of the first rules that ask for most together; none
    /// where there is time for none of them.
    fn tried(&self, ranked: &[Minded], sums: u64, watch: &Watch<'_>) -> Option<Proven> {
        let sets = |rules: usize| rules * (rules.max(1) - 1) / 2 * (rules + 1) / 3;
        let room = self.steps(sums, ALONE) * 2 / TRIED;
        let rules = (2..=ranked.len()).take_while(|rules| sets(*rules) <= room);
        let ranked = &ranked[..rules.last()?];
        let mut chosen = Vec::new();
        for (at, one) in ranked.iter().enumerate() {
            for (next, other) in ranked.iter().enumerate().skip(at + 1) {
                chosen.push(vec![*one, *other]);
                let thirds = ranked.iter().skip(next + 1);
                chosen.extend(thirds.map(|third| vec![*one, *other, *third]));
            }
        }
        let proven = |rules: &Vec<Minded>| {
            let mut minded: Vec<Minded> = Vec::new();
            for rule in rules {
                minded.extend(self.beside(&minded, rule, TRIED, watch));
            }
            let minding = self.minding(&minded, TRIED, watch)?;
            let priced = self.priced(&minding, ALONE, None, watch);
            Some(Proven {
                cost: priced.proven,
                rules: minded,
                prices: Some(priced.prices),
            })
        };
        let all: Vec<Option<Proven>> = chosen.par_iter().map(proven).collect();
        // Of equals the first: its rules ask for most alone, or are most crowded.
        let all = all.into_iter().flatten().rev();
        let mut best = all.max_by_key(|proven| proven.cost)?;
        let minding = self.minding(&best.rules, TRIED, watch)?;
        let priced = self.priced(&minding, TOGETHER[1], None, watch);
        if priced.proven > best.cost {
            (best.cost, best.prices) = (priced.proven, Some(priced.prices));
        }
        Some(best)
    }

    /// Minds more and more rules, as many as there is time for in the end.
    fn grown(&self, ranked: &[Minded], best: &mut Proven, sums: u64, watch: &Watch<'_>) {
        let mut before: Vec<Minded> = Vec::new();
        for part in PARTS {
            let most_steps = self.steps(sums, TOGETHER[0]) / part;
            let mut minded: Vec<Minded> = Vec::new();
            for rule in ranked {
                minded.extend(self.beside(&minded, rule, most_steps, watch));
            }
            if self.units(best.cost) >= self.most || watch.cancelled() {
                break;
            }
            if minded == before {
                continue;
            }
            let Some(all) = self.minding(&minded, usize::MAX, watch) else {
                break;
            };
            let steps = (all.words.into.len() * all.kinds.lanes.len()).max(1);
            let changes = TOGETHER[0] as usize * self.steps(sums, TOGETHER[0]) / steps;
            let changes = (changes as u32).clamp(TOGETHER[0], TOGETHER[1]);
            let together = self.priced(&all, changes, best.prices.as_deref(), watch);
            if together.proven > best.cost {
                *best = Proven {
                    cost: together.proven,
                    rules: minded.clone(),
                    prices: Some(together.prices),
                };
            }
            before = minded;
        }
    }

    /// What a rule asks for by itself, and in which of the last places of its
    /// window it asks for no less.
    fn alone(&self, rule: &Minded, sums: u64, watch: &Watch<'_>) -> (i64, Minded) {
        let proven = |rule: &Minded| {
            let most_steps = self.steps(sums, ALONE) / self.rules.len();
            let minding = self.minding(&[*rule], most_steps, watch);
            minding.map_or(0, |alone| self.priced(&alone, ALONE, None, watch).proven)
        };
        let whole = proven(rule);
        if whole > 0 {
            for width in SHORTER {
                let shorter = Minded { width, ..*rule };
                if width <= usize::from(rule.at_most) || width >= rule.width {
                    continue;
                }
                // Within a third of a unit, since prices are none too exact.
                let enough = proven(&shorter);
                if enough + self.unit / 3 >= whole {
                    return (enough.max(whole), shorter);
                }
            }
        }
        (whole, *rule)
    }

    /// How much of what its windows hold a rule's cars take up, in per mille.
    fn crowding(&self, rule: &Minded) -> i64 {
        let classes = self.plan.counts.iter().zip(&self.plan.masks);
        let having = classes.filter(|(_, mask)| **mask >> rule.bit & 1 == 1);
        let cars: i64 = having.map(|(cars, _)| i64::from(*cars)).sum();
        let room = i64::from(rule.at_most) * self.places as i64;
        1000 * cars * self.plan.rules[rule.bit].in_every as i64 / room.max(1)
    }

    /// The rule beside those that are minded, in as much of its window as lets
    /// there be no more than so many steps.
    fn beside(
        &self,
        minded: &[Minded],
        rule: &Minded,
        most_steps: usize,
        watch: &Watch<'_>,
    ) -> Option<Minded> {
        let shorter = SHORTER
            .into_iter()
            .rev()
            .filter(|width| *width < rule.width && *width > usize::from(rule.at_most));
        let mut widths = std::iter::once(rule.width).chain(shorter);
        widths.find_map(|width| {
            let rule = Minded { width, ..*rule };
            let all: Vec<Minded> = minded.iter().copied().chain([rule]).collect();
            self.minding(&all, most_steps, watch).map(|_| rule)
        })
    }
}
