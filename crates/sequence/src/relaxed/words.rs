//! What the last few cars were, as far as minded rules ask, and the steps from
//! one car to the next.

use std::collections::HashMap;
use std::ops::Range;

use crate::plan::Plan;
use crate::watch::Watch;

use super::kinds::{Minded, Role, mask_of};

/// One more car.
#[derive(Clone, Copy, Debug)]
pub(super) struct Step {
    /// The word before it.
    pub(super) from: u32,
    /// Its rules, as a position among the masks.
    pub(super) mask: u32,
    /// What windows that end with it cost.
    pub(super) cost: i64,
}

/// All words that can be reached, and the steps between them. For each rule a
/// word tells which of the last cars of its window count for it.
#[derive(Debug)]
pub(super) struct Words {
    /// Words; the first is that behind the fixed cars.
    pub(super) count: usize,
    /// Steps in the order of the words they lead to.
    pub(super) steps: Vec<Step>,
    /// Where each word's steps begin; one more at the end.
    begins: Vec<u32>,
}

impl Words {
    /// The steps that lead to a word.
    pub(super) fn into(&self, word: usize) -> Range<usize> {
        self.begins[word] as usize..self.begins[word + 1] as usize
    }

    /// None where there are more than so many steps, or nobody waits for them.
    pub(super) fn new(
        plan: &Plan,
        minded: &[Minded],
        masks: &[u64],
        most_steps: usize,
        watch: &Watch<'_>,
    ) -> Option<Self> {
        let shape = Shape::new(minded)?;
        let first = plan.fixed.iter().fold(0, |word, car| {
            let mask = mask_of(plan.masks[usize::from(*car)], minded);
            shape.behind(word, mask)
        });
        let mut at: HashMap<u64, u32> = HashMap::from([(first, 0)]);
        let mut words = vec![first];
        let mut found: Vec<(u32, Step)> = Vec::new();
        let mut next = 0;
        while next < words.len() {
            if next % 64 == 0 && watch.cancelled() {
                return None;
            }
            for (mask, rules) in masks.iter().enumerate() {
                let Some(cost) = shape.cost(plan, words[next], *rules) else {
                    continue;
                };
                if found.len() == most_steps {
                    return None;
                }
                let word = shape.behind(words[next], *rules);
                let to = *at.entry(word).or_insert_with(|| {
                    words.push(word);
                    words.len() as u32 - 1
                });
                let step = Step {
                    from: next as u32,
                    mask: mask as u32,
                    cost,
                };
                found.push((to, step));
            }
            next += 1;
        }
        found.sort_by_key(|(to, _)| *to);
        let count = words.len();
        let begins = |word: usize| found.partition_point(|(to, _)| (*to as usize) < word) as u32;
        Some(Self {
            count,
            begins: (0..=count).map(begins).collect(),
            steps: found.into_iter().map(|(_, step)| step).collect(),
        })
    }
}

/// Where in a word each rule has its bits, the last car lowest.
struct Shape {
    rules: Vec<(Minded, u32)>,
}

impl Shape {
    /// None where a word has no room for all of them.
    fn new(minded: &[Minded]) -> Option<Self> {
        let mut end = 0;
        let mut rules = Vec::with_capacity(minded.len());
        for rule in minded {
            rules.push((*rule, end as u32));
            end += rule.width - 1;
        }
        (end < 64).then_some(Self { rules })
    }

    /// The word with one car more.
    fn behind(&self, word: u64, mask: u64) -> u64 {
        let mut next = 0;
        for (at, (rule, from)) in self.rules.iter().enumerate() {
            let room = (1_u64 << (rule.width - 1)) - 1;
            let before = word >> from & room;
            next |= ((before << 1 | mask >> at & 1) & room) << from;
        }
        next
    }

    /// What the windows that end with a car cost; none where it may not stand
    /// there.
    fn cost(&self, plan: &Plan, word: u64, mask: u64) -> Option<i64> {
        let mut cost = 0;
        for (at, (rule, from)) in self.rules.iter().enumerate() {
            let room = (1_u64 << (rule.width - 1)) - 1;
            let cars = (word >> from & room).count_ones() as u64 + (mask >> at & 1);
            let breaks = plan.breaks(cars as u16, rule.at_most);
            match rule.role {
                Role::Kept if breaks > 0 => return None,
                Role::Kept => {}
                Role::Priced(price) => cost += breaks * price,
            }
        }
        Some(cost)
    }
}
