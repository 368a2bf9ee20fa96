//! Cars by what a bound sees of them: their colour, and which of the chosen
//! rules they count for.

use std::collections::BTreeMap;

use crate::plan::{Plan, Spacing};

/// What a break of a rule costs a walk.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Role {
    /// No walk breaks it.
    Kept,
    /// A break costs so much.
    Priced(i64),
}

/// A rule that walks mind, perhaps only in the last places of its window: what
/// is too much there is too much in the whole of it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Minded {
    /// Its position among the plan's rules.
    pub(super) bit: usize,
    pub(super) at_most: u16,
    /// Cars that are minded together, that of the place itself included.
    pub(super) width: usize,
    pub(super) role: Role,
}

impl Minded {
    pub(super) fn new(bit: usize, rule: &Spacing, role: Role) -> Self {
        Self {
            bit,
            at_most: rule.at_most,
            width: rule.in_every,
            role,
        }
    }
}

/// Cars that differ in nothing that is minded.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Kind {
    /// Its colour, as a position among the lanes.
    pub(super) lane: usize,
    /// Its rules, as a position among the masks.
    pub(super) mask: usize,
    /// Cars behind the fixed ones.
    pub(super) cars: i64,
}

/// The cars behind the fixed ones by kind.
#[derive(Debug)]
pub(super) struct Kinds {
    pub(super) kinds: Vec<Kind>,
    /// Bit n: whether a car counts for the n-th minded rule.
    pub(super) masks: Vec<u64>,
    /// Colours that are left; one lane where colours are not minded.
    pub(super) lanes: Vec<u16>,
    /// By class, its cars behind the fixed ones and their position among the
    /// kinds; classes without such cars are left out.
    classes: Vec<(usize, i64, usize)>,
}

impl Kinds {
    pub(super) fn new(plan: &Plan, minded: &[Minded], by_colour: bool) -> Self {
        let kind_of = |class: usize| {
            let colour = if by_colour { plan.colours[class] } else { 0 };
            (colour, mask_of(plan.masks[class], minded))
        };
        let counts = plan.counts.iter().enumerate();
        let counts = counts.filter(|(_, cars)| **cars > 0);
        let counts: Vec<(usize, i64)> = counts.map(|(at, cars)| (at, (*cars).into())).collect();
        let mut cars: BTreeMap<(u16, u64), i64> = BTreeMap::new();
        for (class, count) in &counts {
            *cars.entry(kind_of(*class)).or_insert(0) += count;
        }
        let mut lanes: Vec<u16> = cars.keys().map(|(colour, _)| *colour).collect();
        lanes.dedup();
        let mut masks: Vec<u64> = cars.keys().map(|(_, mask)| *mask).collect();
        masks.sort_unstable();
        masks.dedup();
        let at: Vec<(u16, u64)> = cars.keys().copied().collect();
        let classes = counts.into_iter().map(|(class, count)| {
            let kind = kind_of(class);
            (class, count, at.partition_point(|other| *other < kind))
        });
        let classes = classes.collect();
        let kinds = cars
            .iter()
            .map(|((colour, mask), cars)| Kind {
                lane: lanes.partition_point(|lane| lane < colour),
                mask: masks.partition_point(|other| other < mask),
                cars: *cars,
            })
            .collect();
        Self {
            kinds,
            masks,
            lanes,
            classes,
        }
    }

    /// The price of each kind, from the price of each class: that of its cars
    /// on the average.
    pub(super) fn by_kind(&self, prices: &[f64]) -> Vec<f64> {
        let mut sums = vec![0.0; self.kinds.len()];
        for (class, cars, kind) in &self.classes {
            sums[*kind] += *cars as f64 * prices[*class];
        }
        let kinds = sums.iter().zip(&self.kinds);
        kinds.map(|(sum, kind)| sum / kind.cars as f64).collect()
    }

    /// The price of each class, from the price of each kind; that of a class
    /// without cars stays.
    pub(super) fn by_class(&self, prices: &[f64], classes: &mut [f64]) {
        for (class, _, kind) in &self.classes {
            classes[*class] = prices[*kind];
        }
    }
}

/// A car's rules among those minded.
pub(super) fn mask_of(rules: u64, minded: &[Minded]) -> u64 {
    let bit = |(at, rule): (usize, &Minded)| (rules >> rule.bit & 1) << at;
    minded.iter().enumerate().map(bit).sum()
}
