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
}

impl Kinds {
    pub(super) fn new(plan: &Plan, minded: &[Minded], by_colour: bool) -> Self {
        let mut cars: BTreeMap<(u16, u64), i64> = BTreeMap::new();
        for (class, count) in plan.counts.iter().enumerate().filter(|(_, n)| **n > 0) {
            let colour = if by_colour { plan.colours[class] } else { 0 };
            let kind = (colour, mask_of(plan.masks[class], minded));
            *cars.entry(kind).or_insert(0) += i64::from(*count);
        }
        let mut lanes: Vec<u16> = cars.keys().map(|(colour, _)| *colour).collect();
        lanes.dedup();
        let mut masks: Vec<u64> = cars.keys().map(|(_, mask)| *mask).collect();
        masks.sort_unstable();
        masks.dedup();
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
        }
    }
}

/// A car's rules among those minded.
pub(super) fn mask_of(rules: u64, minded: &[Minded]) -> u64 {
    let bit = |(at, rule): (usize, &Minded)| (rules >> rule.bit & 1) << at;
    minded.iter().enumerate().map(bit).sum()
}
