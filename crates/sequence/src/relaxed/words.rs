//! What the last few cars were, as far as minded rules ask, and the steps from
//! one car to the next.

use std::collections::HashMap;

use crate::plan::Plan;
use crate::watch::Watch;

use super::kinds::{Minded, Role, mask_of};

/// What one more car does, whatever the word before it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub(super) struct Way {
    /// Its rules, as a position among the masks.
    pub(super) mask: usize,
    /// What windows that end with it cost.
    pub(super) cost: i64,
}

/// A step seen from one of its words.
#[derive(Clone, Copy, Debug)]
pub(super) struct Step {
    /// The word at its other end.
    pub(super) word: u32,
    /// What its car does, as a position among the ways.
    pub(super) way: u32,
}

/// Steps by the word that they are seen from.
#[derive(Debug, Default)]
pub(super) struct Steps {
    steps: Vec<Step>,
    /// Where each word's steps begin; one more at the end.
    begins: Vec<u32>,
}

impl Steps {
    /// The steps of a word.
    pub(super) fn of(&self, word: usize) -> &[Step] {
        &self.steps[self.begins[word] as usize..self.begins[word + 1] as usize]
    }

    pub(super) const fn len(&self) -> usize {
        self.steps.len()
    }

    /// The same steps seen from their other ends.
    fn reversed(&self, count: usize) -> Self {
        let mut begins = vec![0_u32; count + 1];
        for step in &self.steps {
            begins[step.word as usize + 1] += 1;
        }
        for word in 0..count {
            begins[word + 1] += begins[word];
        }
        let mut next = begins.clone();
        let mut steps = vec![Step { word: 0, way: 0 }; self.steps.len()];
        for word in 0..count {
            for step in self.of(word) {
                let at = &mut next[step.word as usize];
                steps[*at as usize] = Step {
                    word: word as u32,
                    way: step.way,
                };
                *at += 1;
            }
        }
        Self { steps, begins }
    }
}

/// All words that can be reached, and the steps between them. For each rule a
/// word tells which of the last cars of its window count for it.
#[derive(Debug)]
pub(super) struct Words {
    /// Words; the first is that behind the fixed cars.
    pub(super) count: usize,
    pub(super) ways: Vec<Way>,
    /// Steps that lead to a word, with the words they come from.
    pub(super) into: Steps,
    /// Steps that leave a word, with the words they lead to.
    pub(super) out: Steps,
}

impl Words {
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
        let mut numbers: HashMap<Way, u32> = HashMap::new();
        let mut ways = Vec::new();
        let mut out = Steps::default();
        let mut next = 0;
        while next < words.len() {
            if next % 64 == 0 && watch.cancelled() {
                return None;
            }
            out.begins.push(out.steps.len() as u32);
            for (mask, rules) in masks.iter().enumerate() {
                let Some(cost) = shape.cost(plan, words[next], *rules) else {
                    continue;
                };
                if out.steps.len() == most_steps {
                    return None;
                }
                let word = shape.behind(words[next], *rules);
                let word = *at.entry(word).or_insert_with(|| {
                    words.push(word);
                    words.len() as u32 - 1
                });
                let way = Way { mask, cost };
                let way = *numbers.entry(way).or_insert_with(|| {
                    ways.push(way);
                    ways.len() as u32 - 1
                });
                out.steps.push(Step { word, way });
            }
            next += 1;
        }
        out.begins.push(out.steps.len() as u32);
        let count = words.len();
        let into = out.reversed(count);
        Some(Self {
            count,
            ways,
            into,
            out,
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
