//! A problem made ready for speed: classes as bit masks, prices by tier.

use crate::cost::TIERS;
use crate::holds;
use crate::lateness;
use crate::model::{Class, Counted, Force, Goal, Goals, Problem};
use crate::unit;

/// A spacing rule.
#[derive(Clone, Debug)]
pub(crate) struct Spacing {
    /// Position in the problem's list.
    pub(crate) given: usize,
    pub(crate) at_most: u16,
    pub(crate) in_every: usize,
    pub(crate) tier: usize,
    pub(crate) price: i64,
    /// Starts of the first and the last run of cars that counts, and one more.
    pub(crate) starts: std::ops::Range<usize>,
}

/// So many cars of a class up to a place: at the least, or where they are held
/// back at the most.
#[derive(Clone, Debug)]
pub(crate) struct Due {
    pub(crate) class: u16,
    pub(crate) count: i64,
    /// Places in the whole row, previous cars included, before this one.
    pub(crate) end: usize,
    pub(crate) tier: usize,
    pub(crate) price: i64,
    pub(crate) held: bool,
}

impl Due {
    /// Cars that come too late, or too early, where so many stand before its
    /// end.
    pub(crate) const fn missed(&self, there: i64) -> i64 {
        let over = there - self.count;
        let missed = if self.held { over } else { -over };
        if missed > 0 { missed } else { 0 }
    }
}

#[derive(Clone, Debug)]
pub(crate) struct Plan {
    /// Previous cars, then the order.
    pub(crate) len: usize,
    /// The first place of the order.
    pub(crate) first: usize,
    /// The first place whose car may be chosen.
    pub(crate) free: usize,
    /// The cars before `free`.
    pub(crate) fixed: Vec<u16>,
    /// Cars of each class behind `free`.
    pub(crate) counts: Vec<u32>,
    /// The rules by tier; bit n of a mask is the n-th of these.
    pub(crate) rules: Vec<Spacing>,
    pub(crate) masks: Vec<u64>,
    pub(crate) tier_masks: [u64; TIERS],
    pub(crate) counted: Counted,
    pub(crate) longest_window: usize,
    pub(crate) colours: Vec<u16>,
    pub(crate) max_block: Option<usize>,
    pub(crate) change_tier: usize,
    pub(crate) change_price: i64,
    pub(crate) level_tier: usize,
    pub(crate) level_price: i64,
    /// By part, by class.
    pub(crate) parts: Vec<Vec<i64>>,
    pub(crate) part_totals: Vec<i64>,
    /// By part, after each car of the order, what is used on the level line, in
    /// these parts of one:
    pub(crate) lines: Vec<Vec<i64>>,
    pub(crate) level_unit: i64,
    pub(crate) dues: Vec<Due>,
    /// What one unit of a weight is worth in each tier.
    pub(crate) units: [i64; TIERS],
}

/// The tier of each kind of goal; none where it is in no cost.
pub(crate) struct Ranks {
    pub(crate) rules: Vec<Option<usize>>,
    pub(crate) colours: Option<usize>,
    pub(crate) level: Option<usize>,
    pub(crate) promises: Option<usize>,
    pub(crate) lateness: Option<usize>,
}

pub(crate) fn ranks(problem: &Problem) -> Ranks {
    match &problem.goals {
        Goals::Weighted => Ranks {
            rules: vec![Some(1); problem.rules.len()],
            colours: Some(1),
            level: Some(1),
            promises: Some(1),
            lateness: None,
        },
        Goals::Ordered(groups) => {
            let find = |goal: Goal| {
                let at = groups.iter().position(|group| group.contains(&goal));
                at.map(|at| at + 1)
            };
            Ranks {
                rules: (0..problem.rules.len())
                    .map(|rule| find(Goal::Rule(rule)))
                    .collect(),
                colours: find(Goal::Colours),
                level: find(Goal::Level),
                promises: find(Goal::Promises),
                lateness: find(Goal::Lateness),
            }
        }
    }
}

impl Plan {
    pub(crate) fn new(problem: &Problem) -> Self {
        let ranks = ranks(problem);
        let first = problem.previous.len();
        let len = first + problem.cars();
        let levels = problem.level.weight > 0 && ranks.level.is_some();
        let level_unit = unit::level_unit(problem).unwrap_or(1);
        let mut units = [1; TIERS];
        if let Some(tier) = ranks.level.filter(|_| levels) {
            // The sum is kept in whole numbers, as a multiple of 1 / cars^2 if
            // these are not too large.
            units[tier] = level_unit.pow(2);
        }
        let mut rules = spacings(problem, &ranks, &units, len);
        rules.sort_by_key(|rule| rule.tier);
        let fixed = problem.previous.iter().chain(&problem.frozen);
        let fixed: Vec<u16> = fixed.map(|class| *class as u16).collect();
        let parts = if levels { uses(problem) } else { Vec::new() };
        Self {
            len,
            first,
            free: fixed.len(),
            fixed,
            counts: open_cars(problem),
            masks: masks(problem, &rules),
            tier_masks: tier_masks(&rules),
            counted: problem.counted,
            longest_window: rules.iter().map(|rule| rule.in_every).max().unwrap_or(1),
            rules,
            colours: problem
                .classes
                .iter()
                .map(|class| class.colour.map_or(u16::MAX, |colour| colour as u16))
                .collect(),
            max_block: problem.longest_block().map(|most| most as usize),
            change_tier: ranks.colours.unwrap_or(1),
            change_price: ranks.colours.map_or(0, |tier| {
                i64::from(problem.colours.change_weight) * units[tier]
            }),
            level_tier: ranks.level.unwrap_or(1),
            level_price: if levels {
                i64::from(problem.level.weight)
            } else {
                0
            },
            lines: lines(problem, &parts, level_unit),
            level_unit,
            part_totals: parts.iter().map(|part| total(problem, part)).collect(),
            parts,
            dues: dues(problem, &ranks, &units, first),
            units,
        }
    }

    /// Whether anything depends on where colours stand.
    pub(crate) const fn minds_colours(&self) -> bool {
        self.max_block.is_some() || self.change_price > 0
    }

    /// What a run of cars with so many of the option costs, in breaks.
    pub(crate) fn breaks(&self, count: u16, at_most: u16) -> i64 {
        match self.counted {
            Counted::Windows => i64::from(count > at_most),
            Counted::Excess => i64::from(count.saturating_sub(at_most)),
        }
    }
}

/// Cars of each class behind the frozen ones.
fn open_cars(problem: &Problem) -> Vec<u32> {
    let mut counts: Vec<u32> = problem.classes.iter().map(|class| class.count).collect();
    for class in &problem.frozen {
        counts[*class] = counts[*class].saturating_sub(1);
    }
    counts
}

/// By class the rules that its cars count for, as bits.
fn masks(problem: &Problem, rules: &[Spacing]) -> Vec<u64> {
    let mask = |class: &Class| {
        let set = |(bit, rule): (usize, &Spacing)| {
            u64::from(class.options[problem.rules[rule.given].option]) << bit
        };
        rules.iter().enumerate().map(set).sum()
    };
    problem.classes.iter().map(mask).collect()
}

/// By tier its rules, as bits.
fn tier_masks(rules: &[Spacing]) -> [u64; TIERS] {
    let mut masks = [0; TIERS];
    for (bit, rule) in rules.iter().enumerate() {
        masks[rule.tier] |= 1 << bit;
    }
    masks
}

/// By part, by class, what a car uses.
fn uses(problem: &Problem) -> Vec<Vec<i64>> {
    let parts = problem.level.parts.iter();
    let uses = parts.map(|part| part.per_car.iter().map(|n| i64::from(*n)).collect());
    uses.collect()
}

/// By part the level line, after each car, in a unit's parts of one.
fn lines(problem: &Problem, parts: &[Vec<i64>], unit: i64) -> Vec<Vec<i64>> {
    let cars = problem.cars() as i128;
    let line = |part: &Vec<i64>| {
        let total = i128::from(total(problem, part)) * i128::from(unit);
        let at = |place: i128| (2 * place * total + cars).div_euclid(2 * cars.max(1)) as i64;
        (1..=cars).map(at).collect()
    };
    parts.iter().map(line).collect()
}

/// What all cars use of a part.
fn total(problem: &Problem, part: &[i64]) -> i64 {
    let cars = problem.classes.iter().map(|class| i64::from(class.count));
    part.iter().zip(cars).map(|(each, cars)| each * cars).sum()
}

fn spacings(problem: &Problem, ranks: &Ranks, units: &[i64; TIERS], len: usize) -> Vec<Spacing> {
    let first = problem.previous.len();
    let spacing = |(given, rule): (usize, &crate::model::Rule)| {
        let (tier, price) = match rule.force {
            Force::Hard => (0, 1),
            Force::Soft(weight) => {
                let tier = ranks.rules[given]?;
                (tier, i64::from(weight) * units[tier])
            }
        };
        let in_every = rule.in_every as usize;
        let end = if problem.past_end {
            len
        } else {
            (len + 1).saturating_sub(in_every)
        };
        let start = (first + 1).saturating_sub(in_every);
        // A rule that any order keeps is none.
        let binds = price > 0 && rule.at_most < rule.in_every && start < end;
        binds.then(|| Spacing {
            given,
            at_most: rule.at_most as u16,
            in_every,
            tier,
            price,
            starts: start..end.max(start),
        })
    };
    problem
        .rules
        .iter()
        .enumerate()
        .filter_map(spacing)
        .collect()
}

fn dues(problem: &Problem, ranks: &Ranks, units: &[i64; TIERS], first: usize) -> Vec<Due> {
    let due = |promise: &crate::model::Promise| {
        let (tier, price) = match promise.force {
            Force::Hard => (0, 1),
            Force::Soft(weight) => {
                let tier = ranks.promises?;
                (tier, i64::from(weight) * units[tier])
            }
        };
        Some(Due {
            class: promise.class as u16,
            count: i64::from(promise.count),
            end: first + promise.within as usize,
            tier,
            price,
            held: false,
        })
    };
    let mut dues: Vec<Due> = problem.promises.iter().filter_map(due).collect();
    dues.extend(holds::dues(problem, first));
    if let Some(tier) = ranks.lateness {
        let weighed = (tier, units[tier]);
        let late = |promise| lateness::steps(promise, weighed, (first, problem.cars()));
        dues.extend(problem.promises.iter().flat_map(late));
    }
    dues
}

impl Plan {
    /// Tiers behind the musts that anything is in, as bits.
    pub(crate) fn active_tiers(&self) -> u32 {
        let mut active = 0;
        for (tier, mask) in self.tier_masks.iter().enumerate() {
            active |= u32::from(*mask != 0) << tier;
        }
        if self.change_price > 0 {
            active |= 1 << self.change_tier;
        }
        if self.level_price > 0 {
            active |= 1 << self.level_tier;
        }
        for due in &self.dues {
            active |= 1 << due.tier;
        }
        active & !1
    }

    /// The next tier that anything is in; the same one where there is none.
    pub(crate) fn next_tier(&self, after: usize) -> usize {
        let active = self.active_tiers();
        let mut behind = after + 1..TIERS;
        behind.find(|tier| active >> tier & 1 == 1).unwrap_or(after)
    }

    /// The least and the most price of what is counted in a tier; none where
    /// it is level use alone.
    pub(crate) fn steps_of(&self, tier: usize) -> Option<(i64, i64)> {
        let rules = self.rules.iter().filter(|rule| rule.tier == tier);
        let colour =
            (self.change_tier == tier && self.change_price > 0).then_some(self.change_price);
        let dues = self.dues.iter().filter(|due| due.tier == tier);
        let prices = rules.map(|rule| rule.price).chain(colour);
        let prices = prices.chain(dues.map(|due| due.price));
        prices.fold(None, |all, price| {
            let (least, most) = all.unwrap_or((price, price));
            Some((least.min(price), most.max(price)))
        })
    }

    /// A small step of a tier's cost: the least price in it.
    pub(crate) fn step_of(&self, tier: usize) -> i64 {
        let least = self.steps_of(tier).map(|(least, _)| least);
        least.unwrap_or(self.units[tier] * self.level_price)
    }
}
