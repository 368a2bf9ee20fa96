//! What the rules break across every joint and around every car, counted
//! beforehand.

use crate::plan::{Plan, Spacing};

/// Bits of the largest table that is looked up anywhere, so that all of them
/// stay in the nearest cache.
const MOST_BITS: usize = 14;

/// Bits of the largest table of which one row is looked up again and again.
const MOST_WIDE_BITS: usize = 16;

/// Bits of all that is known of one side of a joint.
const MOST_KNOWN: usize = 32;

/// Rules at the most.
const MOST_RULES: usize = 8;

/// Some rules that are looked up together.
#[derive(Clone, Debug)]
struct Group {
    /// Where its bits begin among those of one side, and how many there are.
    at: usize,
    width: usize,
    /// The first of its rules, and how many there are.
    first: usize,
    count: usize,
    /// Breaks in runs across a joint, by what stands before and behind it.
    across: Vec<u16>,
    /// Breaks in runs with a car, by what stands before it, its own options and
    /// what stands behind it.
    with: Vec<u16>,
}

/// The tables of a plan.
///
/// One side of a joint is known as a number: for each rule of a window of q cars
/// q - 1 bits, the nearest car's the lowest. It is the same number whichever way
/// the cars are read, so that a part may be joined back to front.
#[derive(Clone, Debug)]
pub(crate) struct Tables {
    groups: Vec<Group>,
    /// The same rules in fewer and larger groups, across joints alone.
    wide: Vec<Group>,
    /// For each set of rules the bits of a nearest car with their options.
    nearest: Vec<u32>,
    /// The bits that stay when one car more comes between.
    stays: u32,
    /// Cars on either side that matter.
    pub(super) reach: usize,
}

impl Tables {
    /// The tables of a plan in which spacing rules are all there is, each as dear
    /// as the others and with a short window; none for any other.
    pub(crate) fn new(plan: &Plan) -> Option<Self> {
        let rule = plan.rules.first()?;
        let alike = |other: &Spacing| other.tier == rule.tier && other.price == rule.price;
        let alone = plan.active_tiers() & !(1 << rule.tier) == 0
            && plan.rules.iter().all(alike)
            && plan.dues.is_empty()
            && plan.level_price == 0
            && !plan.minds_colours();
        let known: usize = plan.rules.iter().map(side_of).sum();
        let longest = plan.rules.iter().map(side_of).max()?;
        let small = plan.rules.len() <= MOST_RULES
            && known <= MOST_KNOWN
            && 2 * longest < MOST_BITS
            && longest > 0;
        (alone && small).then(|| Self::of(plan, longest))
    }

    fn of(plan: &Plan, reach: usize) -> Self {
        let mut begins = Vec::new();
        let mut known = 0;
        for rule in &plan.rules {
            begins.push(known);
            known += side_of(rule);
        }
        let mut groups = grouped(plan, |width, count| 2 * width + count <= MOST_BITS);
        for group in &mut groups {
            group.fill_across(plan, &begins);
            group.fill_with(plan, &begins);
        }
        let mut wide = grouped(plan, |width, _| 2 * width <= MOST_WIDE_BITS);
        for group in &mut wide {
            group.fill_across(plan, &begins);
        }
        let lowest = |at: usize| u32::from(side_of(&plan.rules[at]) > 0) << (begins[at] & 31);
        let of_set = |set: usize| {
            let within = (0..plan.rules.len()).filter(|at| set >> at & 1 == 1);
            within.map(lowest).sum()
        };
        let all: u32 = (0..plan.rules.len()).map(lowest).sum();
        let bits = ((1_u64 << known) - 1) as u32;
        Self {
            groups,
            wide,
            nearest: (0..1 << plan.rules.len()).map(of_set).collect(),
            stays: bits & !all,
            reach,
        }
    }

    /// What is known of a side once a car with these options has come between.
    pub(super) fn next(&self, side: u32, mask: u8) -> u32 {
        side << 1 & self.stays | self.nearest[usize::from(mask)]
    }

    /// The bits of a car with these options that so many cars stand before.
    pub(super) fn bits_at(&self, mask: u8, cars_between: usize) -> u32 {
        (0..cars_between).fold(self.nearest[usize::from(mask)], |bits, _| {
            bits << 1 & self.stays
        })
    }

    /// What is looked up again and again with one side the same.
    pub(super) fn beside(&self, one: u32) -> Beside<'_> {
        let mut parts = [Part::default(); MOST_RULES];
        for (part, group) in parts.iter_mut().zip(&self.wide) {
            let from = group.part(one) << group.width;
            *part = Part {
                at: group.at as u32,
                most: (1 << group.width) - 1,
                breaks: &group.across[from..from + (1 << group.width)],
            };
        }
        Beside {
            parts,
            count: self.wide.len(),
        }
    }

    /// Breaks in runs across a joint of two sides.
    pub(super) fn across(&self, one: u32, other: u32) -> i32 {
        let look = |group: &Group| {
            let at = group.part(one) << group.width | group.part(other);
            i32::from(group.across[at])
        };
        self.groups.iter().map(look).sum()
    }

    /// Breaks in runs with a car of these options between two sides.
    pub(super) fn with(&self, one: u32, mask: u8, other: u32) -> i32 {
        let look = |group: &Group| {
            let own = usize::from(mask) >> group.first & ((1 << group.count) - 1);
            let at = (group.part(one) << group.count | own) << group.width | group.part(other);
            i32::from(group.with[at])
        };
        self.groups.iter().map(look).sum()
    }
}

/// Breaks across a joint of which one side is known.
pub(super) struct Beside<'a> {
    parts: [Part<'a>; MOST_RULES],
    count: usize,
}

/// Those of one group, by its bits of the other side.
#[derive(Clone, Copy, Default)]
struct Part<'a> {
    at: u32,
    most: usize,
    breaks: &'a [u16],
}

impl Beside<'_> {
    /// Breaks across the joint with this other side.
    pub(super) fn across(&self, other: u32) -> i32 {
        let look =
            |part: &Part<'_>| i32::from(part.breaks[(other >> part.at) as usize & part.most]);
        self.parts[..self.count].iter().map(look).sum()
    }
}

/// Cars on one side of a joint that a rule sees.
const fn side_of(rule: &Spacing) -> usize {
    rule.in_every - 1
}

impl Group {
    /// The group's bits of what is known of a side.
    const fn part(&self, side: u32) -> usize {
        (side as usize >> self.at) & ((1 << self.width) - 1)
    }

    fn fill_across(&mut self, plan: &Plan, begins: &[usize]) {
        let low = (1 << self.width) - 1;
        let across = |at: usize| self.over(plan, begins, at >> self.width, None, at & low);
        self.across = (0..1 << (2 * self.width)).map(across).collect();
    }

    fn fill_with(&mut self, plan: &Plan, begins: &[usize]) {
        let low = (1 << self.width) - 1;
        let with = |at: usize| {
            let own = at >> self.width & ((1 << self.count) - 1);
            let before = at >> (self.width + self.count);
            self.over(plan, begins, before, Some(own), at & low)
        };
        self.with = (0..1 << (2 * self.width + self.count)).map(with).collect();
    }

    /// Breaks of all its rules between two sides, counted.
    fn over(
        &self,
        plan: &Plan,
        begins: &[usize],
        before: usize,
        own: Option<usize>,
        behind: usize,
    ) -> u16 {
        let rules = self.first..self.first + self.count;
        let of = |at: usize| {
            let rule = &plan.rules[at];
            let side = (1 << side_of(rule)) - 1;
            let part = |known: usize| known >> (begins[at] - self.at) & side;
            let own = own.map(|own| own >> (at - self.first) & 1);
            breaks(plan, rule, part(before), own, part(behind))
        };
        rules.map(of).sum()
    }
}

/// The rules of a plan in groups, each as large as fits by its bits and its
/// count; their tables are empty.
fn grouped(plan: &Plan, fits: impl Fn(usize, usize) -> bool) -> Vec<Group> {
    let mut groups: Vec<Group> = Vec::new();
    let mut known = 0;
    for (at, rule) in plan.rules.iter().enumerate() {
        let side = side_of(rule);
        match groups.last_mut() {
            Some(last) if fits(last.width + side, last.count + 1) => {
                last.width += side;
                last.count += 1;
            }
            _ => groups.push(Group {
                at: known,
                width: side,
                first: at,
                count: 1,
                across: Vec::new(),
                with: Vec::new(),
            }),
        }
        known += side;
    }
    groups
}

/// Breaks of a rule in the runs with the car between two sides, or in those
/// across the joint where there is none.
fn breaks(plan: &Plan, rule: &Spacing, before: usize, own: Option<usize>, behind: usize) -> u16 {
    let side = side_of(rule);
    // The cars in a row, the one before the joint at bit `side - 1`.
    let mut cars = 0;
    for n in 0..side {
        cars |= (before >> n & 1) << (side - 1 - n);
    }
    let middle = usize::from(own.is_some());
    cars |= own.unwrap_or(0) << side | behind << (side + middle);
    let window = (1 << rule.in_every) - 1;
    let of_run = |start: usize| {
        let with = (cars >> start & window).count_ones() as u16;
        plan.breaks(with, rule.at_most) as u16
    };
    (0..side + middle).map(of_run).sum()
}
