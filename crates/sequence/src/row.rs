//! A row of cars that knows what small changes to it would cost.
//!
//! For each rule the number of cars with the option is kept for every run of
//! `in_every` cars, so that an exchange of two cars is judged by looking at no
//! more than `2 x in_every` numbers of the rules in which the two differ
//! (Estellon, Gardi & Nouioua, "Two local search approaches for solving
//! real-life car sequencing problems", EJOR 191 (2008) 928-944).

use std::ops::Range;

use crate::cost::{Cost, TIERS};
use crate::evaluate;
use crate::model::Counted;
use crate::plan::Plan;
use crate::runs::{Stretch, run_cost};

#[derive(Clone)]
pub(crate) struct Row<'a> {
    pub(crate) plan: &'a Plan,
    pub(crate) cars: Vec<u16>,
    pub(crate) masks: Vec<u64>,
    pub(crate) cost: Cost,
    /// Whether level use is kept up to date: it takes longer than all else.
    pub(super) levels: bool,
    /// By rule, for each counted run its cars with the option.
    pub(super) counts: Vec<u16>,
    pub(super) offsets: Vec<usize>,
    /// By part, for each place of the order the distance from the level line.
    pub(super) far: Vec<i64>,
    /// For each promise, and each hold, the cars before its end.
    pub(super) in_time: Vec<i64>,
    /// Masks of a change that is being judged.
    pub(super) fresh: Vec<u64>,
    pub(super) old_counts: Vec<u16>,
    pub(super) old_cars: Vec<u16>,
}

/// How a part of a cost compares with the bound so far.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Verdict {
    Below,
    Even,
    Above,
}

/// Whether a change may still be within the bound, the tiers up to one known.
pub(super) fn verdict(so_far: Verdict, change: i64, bound: i64) -> Verdict {
    match so_far {
        Verdict::Even if change < bound => Verdict::Below,
        Verdict::Even if change > bound => Verdict::Above,
        other => other,
    }
}

impl<'a> Row<'a> {
    pub(crate) fn new(plan: &'a Plan, cars: Vec<u16>) -> Self {
        let mut offsets = Vec::with_capacity(plan.rules.len());
        let mut size = 0;
        for rule in &plan.rules {
            offsets.push(size);
            size += rule.starts.len();
        }
        let mut row = Self {
            plan,
            masks: cars
                .iter()
                .map(|car| plan.masks[usize::from(*car)])
                .collect(),
            cost: Cost::ZERO,
            levels: plan.level_price > 0,
            counts: vec![0; size],
            offsets,
            far: vec![0; plan.parts.len() * (plan.len - plan.first)],
            in_time: vec![0; plan.dues.len()],
            fresh: vec![0; plan.len],
            old_counts: Vec::new(),
            old_cars: Vec::new(),
            cars,
        };
        row.recount();
        row
    }

    /// Counts everything anew.
    pub(crate) fn recount(&mut self) {
        let plan = self.plan;
        self.masks.clear();
        self.masks
            .extend(self.cars.iter().map(|car| plan.masks[usize::from(*car)]));
        for bit in 0..plan.rules.len() {
            let starts = plan.rules[bit].starts.clone();
            self.recount_runs(bit, starts);
        }
        self.recount_level(0, plan.len - plan.first);
        for (at, due) in plan.dues.iter().enumerate() {
            let there = self.cars[plan.first..due.end.min(plan.len)].iter();
            self.in_time[at] = there.filter(|car| **car == due.class).count() as i64;
        }
        self.cost = evaluate::cost(plan, &self.cars);
    }

    /// Whether the cost tells level use as the row now is.
    pub(crate) const fn tells_level(&self) -> bool {
        self.levels || self.plan.level_price == 0
    }

    /// Keeps level use up to date from now on, or lets it be while only goals
    /// before it are looked at.
    pub(crate) fn mind_level(&mut self, minded: bool) {
        let minded = minded && self.plan.level_price > 0;
        if minded && !self.levels {
            self.recount_level(0, self.plan.len - self.plan.first);
            self.cost = evaluate::cost(self.plan, &self.cars);
        }
        self.levels = minded;
    }

    /// Counts the runs that start in a range, from the masks as they are.
    pub(super) fn recount_runs(&mut self, bit: usize, range: Range<usize>) {
        let rule = &self.plan.rules[bit];
        let (reach, len) = (rule.in_every, self.plan.len);
        let from = range.start.max(rule.starts.start);
        let end = range.end.min(rule.starts.end);
        if from >= end {
            return;
        }
        let has = |mask: u64| (mask >> bit & 1) as u16;
        let mut count: u16 = self.masks[from..len.min(from + reach)]
            .iter()
            .map(|mask| has(*mask))
            .sum();
        let base = self.offsets[bit];
        for start in from..end {
            self.counts[base + start - rule.starts.start] = count;
            count -= has(self.masks[start]);
            if let Some(mask) = self.masks.get(start + reach) {
                count += has(*mask);
            }
        }
    }

    /// Distances from the level lines for places of the order.
    pub(super) fn recount_level(&mut self, from: usize, end: usize) {
        let cars = self.plan.len - self.plan.first;
        let plan = self.plan;
        for (part, (per_car, line)) in plan.parts.iter().zip(&plan.lines).enumerate() {
            let far = &mut self.far[part * cars..(part + 1) * cars];
            let mut used = match from.checked_sub(1) {
                Some(before) => far[before] + line[before],
                None => 0,
            };
            for at in from..end {
                used += plan.level_unit * per_car[usize::from(self.cars[plan.first + at])];
                far[at] = used - line[at];
            }
        }
    }

    /// The counts of the runs of a rule that start in a range.
    pub(super) fn runs(&self, bit: usize, from: usize, end: usize) -> &[u16] {
        let starts = &self.plan.rules[bit].starts;
        let from = from.max(starts.start);
        let end = end.min(starts.end);
        if from >= end {
            return &[];
        }
        let base = self.offsets[bit];
        &self.counts[base + from - starts.start..base + end - starts.start]
    }

    fn runs_mut(&mut self, bit: usize, from: usize, end: usize) -> &mut [u16] {
        let starts = &self.plan.rules[bit].starts;
        let from = from.max(starts.start);
        let end = end.min(starts.end);
        if from >= end {
            return &mut [];
        }
        let base = self.offsets[bit];
        &mut self.counts[base + from - starts.start..base + end - starts.start]
    }

    /// Breaks of the rule in runs that start in a range.
    pub(super) fn breaks_in(&self, bit: usize, from: usize, end: usize) -> i64 {
        let most = self.plan.rules[bit].at_most;
        let runs = self.runs(bit, from, end);
        match self.plan.counted {
            Counted::Windows => i64::from(runs.iter().map(|n| u16::from(*n > most)).sum::<u16>()),
            Counted::Excess => {
                let over = runs.iter().map(|n| u32::from(n.saturating_sub(most)));
                i64::from(over.sum::<u32>())
            }
        }
    }

    /// What one car more in each of these runs adds to the breaks.
    fn added(&self, bit: usize, from: usize, end: usize) -> i64 {
        let most = self.plan.rules[bit].at_most;
        let runs = self.runs(bit, from, end);
        let sum: u16 = match self.plan.counted {
            Counted::Windows => runs.iter().map(|n| u16::from(*n == most)).sum(),
            Counted::Excess => runs.iter().map(|n| u16::from(*n >= most)).sum(),
        };
        i64::from(sum)
    }

    /// What one car less in each of these runs takes from the breaks.
    fn taken(&self, bit: usize, from: usize, end: usize) -> i64 {
        let most = self.plan.rules[bit].at_most;
        let runs = self.runs(bit, from, end);
        let sum: u16 = match self.plan.counted {
            Counted::Windows => runs.iter().map(|n| u16::from(*n == most + 1)).sum(),
            Counted::Excess => runs.iter().map(|n| u16::from(*n > most)).sum(),
        };
        i64::from(sum)
    }

    fn spacing_of_swap(&self, i: usize, j: usize, bits: u64) -> i64 {
        let mut left = bits;
        let mut sum = 0;
        while left != 0 {
            let bit = left.trailing_zeros() as usize;
            left &= left - 1;
            let rule = &self.plan.rules[bit];
            let reach = rule.in_every;
            let near_i = (
                (i + 1).saturating_sub(reach),
                (i + 1).min((j + 1).saturating_sub(reach)),
            );
            let near_j = ((j + 1).saturating_sub(reach).max(i + 1), j + 1);
            let (leave, enter) = if self.masks[i] >> bit & 1 == 1 {
                (near_i, near_j)
            } else {
                (near_j, near_i)
            };
            let change = self.added(bit, enter.0, enter.1) - self.taken(bit, leave.0, leave.1);
            sum += change * rule.price;
        }
        sum
    }

    fn changes_of_swap(&self, i: usize, j: usize) -> i64 {
        let colour = |at: usize| self.plan.colours[usize::from(self.cars[at])];
        let (a, b) = (colour(i), colour(j));
        if a == b {
            return 0;
        }
        let mut change = 0;
        let mut junction = |neighbour: u16, old: u16, new: u16| {
            change += i64::from(neighbour != new) - i64::from(neighbour != old);
        };
        if i > 0 {
            junction(colour(i - 1), a, b);
        }
        if j > i + 1 {
            junction(colour(i + 1), a, b);
            junction(colour(j - 1), b, a);
        }
        if j + 1 < self.plan.len {
            junction(colour(j + 1), b, a);
        }
        change
    }

    /// Change of cars beyond the longest block if `i` and `j` changed places.
    fn blocks_of_swap(&self, i: usize, j: usize) -> i64 {
        let colour = |at: usize| self.plan.colours[usize::from(self.cars[at])];
        let Some(most) = self.plan.max_block else {
            return 0;
        };
        if colour(i) == colour(j) {
            return 0;
        }
        let one = |at: usize| Some(Stretch::plain(colour(at), 1));
        let (left, right) = self.around(i, j + 1);
        let middle = self.stretch(i + 1, j);
        let (_, old) = run_cost([left, one(i), middle, one(j), right], most);
        let (_, new) = run_cost([left, one(j), middle, one(i), right], most);
        new - old
    }

    /// The runs of one colour that end before `lo` and start at `hi`.
    pub(super) fn around(&self, lo: usize, hi: usize) -> (Option<Stretch>, Option<Stretch>) {
        let colour = |car: &u16| self.plan.colours[usize::from(*car)];
        let run = |mut cars: &mut dyn Iterator<Item = &u16>| {
            let first = colour(cars.next()?);
            let more = (&mut cars).take_while(|car| colour(car) == first).count();
            Some(Stretch::plain(first, more + 1))
        };
        (
            run(&mut self.cars[..lo].iter().rev()),
            run(&mut self.cars[hi..].iter()),
        )
    }

    /// The first and the last run of one colour of some cars in a row.
    pub(super) fn stretch(&self, from: usize, end: usize) -> Option<Stretch> {
        if from >= end {
            return None;
        }
        let cars = &self.cars[from..end];
        let colour = |car: &u16| self.plan.colours[usize::from(*car)];
        let (first, last) = (colour(&cars[0]), colour(&cars[cars.len() - 1]));
        let head = cars.iter().take_while(|car| colour(car) == first).count();
        if head == cars.len() {
            return Some(Stretch::plain(first, head));
        }
        let tail = cars.iter().rev().take_while(|car| colour(car) == last);
        Some(Stretch {
            first: (first, head),
            last: Some((last, tail.count())),
        })
    }

    fn level_of_swap(&self, i: usize, j: usize) -> i64 {
        let cars = self.plan.len - self.plan.first;
        let (a, b) = (usize::from(self.cars[i]), usize::from(self.cars[j]));
        let (from, end) = (i - self.plan.first, j - self.plan.first);
        let mut sum = 0;
        for (part, per_car) in self.plan.parts.iter().enumerate() {
            let step = (per_car[b] - per_car[a]) * self.plan.level_unit;
            if step != 0 {
                let far: i64 = self.far[part * cars + from..part * cars + end].iter().sum();
                sum += 2 * step * far + (end - from) as i64 * step * step;
            }
        }
        sum
    }

    fn dues_of_swap(&self, i: usize, j: usize, change: &mut Cost) {
        for (at, due) in self.plan.dues.iter().enumerate() {
            if due.end <= i || due.end > j {
                continue;
            }
            let step = i64::from(self.cars[j] == due.class) - i64::from(self.cars[i] == due.class);
            let in_time = self.in_time[at];
            let missed = due.missed(in_time + step) - due.missed(in_time);
            change[due.tier] += missed * due.price;
        }
    }

    /// What exchanging the cars in two places (`i` before `j`, both free)
    /// changes in the cost; none where that is above the bound.
    pub(crate) fn swap_change(&self, i: usize, j: usize, bound: &Cost) -> Option<Cost> {
        let plan = self.plan;
        let differ = self.masks[i] ^ self.masks[j];
        let mut change = Cost::ZERO;
        self.dues_of_swap(i, j, &mut change);
        if self.cost[0] == 0 && change[0] > bound[0] {
            return None;
        }
        let mut so_far = Verdict::Even;
        // While all musts hold a change can only break some: they are judged
        // last, since most changes fail at a goal that is cheaper to judge.
        let musts_first = self.cost[0] > 0;
        if musts_first {
            change[0] += self.musts_of_swap(i, j, differ);
            so_far = verdict(so_far, change[0], bound[0]);
        }
        for tier in 1..TIERS {
            if so_far == Verdict::Above && (musts_first || bound[0] <= 0) {
                return None;
            }
            change[tier] += self.spacing_of_swap(i, j, differ & plan.tier_masks[tier]);
            if tier == plan.change_tier && plan.change_price > 0 {
                change[tier] += self.changes_of_swap(i, j) * plan.change_price;
            }
            if tier == plan.level_tier && self.levels {
                change[tier] += self.level_of_swap(i, j) * plan.level_price;
            }
            so_far = verdict(so_far, change[tier], bound[tier]);
        }
        if musts_first {
            return (so_far != Verdict::Above).then_some(change);
        }
        if so_far == Verdict::Above && bound[0] <= 0 {
            return None;
        }
        change[0] += self.musts_of_swap(i, j, differ);
        (change <= *bound).then_some(change)
    }

    fn musts_of_swap(&self, i: usize, j: usize, differ: u64) -> i64 {
        self.spacing_of_swap(i, j, differ & self.plan.tier_masks[0]) + self.blocks_of_swap(i, j)
    }

    /// Exchanges the cars in two places, `i` before `j`.
    pub(crate) fn swap(&mut self, i: usize, j: usize, change: &Cost) {
        let mut left = self.masks[i] ^ self.masks[j];
        while left != 0 {
            let bit = left.trailing_zeros() as usize;
            left &= left - 1;
            let reach = self.plan.rules[bit].in_every;
            let end = (i + 1).min((j + 1).saturating_sub(reach));
            let from = (j + 1).saturating_sub(reach).max(i + 1);
            let step: u16 = if self.masks[i] >> bit & 1 == 1 {
                1
            } else {
                u16::MAX
            };
            for count in self.runs_mut(bit, (i + 1).saturating_sub(reach), end) {
                *count = count.wrapping_sub(step);
            }
            for count in self.runs_mut(bit, from, j + 1) {
                *count = count.wrapping_add(step);
            }
        }
        for (at, due) in self.plan.dues.iter().enumerate() {
            if due.end > i && due.end <= j {
                self.in_time[at] +=
                    i64::from(self.cars[j] == due.class) - i64::from(self.cars[i] == due.class);
            }
        }
        self.cars.swap(i, j);
        self.masks.swap(i, j);
        if self.levels {
            self.recount_level(i - self.plan.first, j - self.plan.first);
        }
        self.cost += *change;
    }
}
