//! A good order to begin with, built from its first car to its last.
//!
//! Each place gets the car that breaks least there; among those, the one whose
//! options are hardest to place given the cars that are left (the dynamic sum
//! of utilisation rates: Gottlieb, Puchta & Solnon 2003, "A study of greedy,
//! local search, and ant colony optimization approaches for car sequencing
//! problems").

use crate::cost::Cost;
use crate::plan::{Due, Plan};
use crate::stream::Stream;

struct Greedy<'a> {
    plan: &'a Plan,
    cars: Vec<u16>,
    left: Vec<u32>,
    left_total: usize,
    /// By rule, cars left that have the option.
    with_option: Vec<u32>,
    by_colour: Vec<u32>,
    block: usize,
}

/// An order of the free cars behind the fixed ones.
pub(crate) fn greedy(plan: &Plan, stream: &mut Stream) -> Vec<u16> {
    let colours = plan.colours.iter().map(|colour| colour_at(*colour)).max();
    let mut state = Greedy {
        plan,
        cars: plan.fixed.clone(),
        left: plan.counts.clone(),
        left_total: plan.len - plan.free,
        with_option: vec![0; plan.rules.len()],
        by_colour: vec![0; colours.unwrap_or(0) + 1],
        block: 0,
    };
    for (class, cars) in plan.counts.iter().enumerate() {
        for (bit, with) in state.with_option.iter_mut().enumerate() {
            *with += cars * (plan.masks[class] >> bit & 1) as u32;
        }
        state.by_colour[colour_at(plan.colours[class])] += cars;
    }
    let last = plan.fixed.last().map(|car| plan.colours[usize::from(*car)]);
    let same = plan.fixed.iter().rev();
    state.block = same
        .take_while(|car| Some(plan.colours[usize::from(**car)]) == last)
        .count();
    while state.left_total > 0 {
        let class = state.choose(stream);
        state.place(class);
    }
    state.cars
}

/// Colours by number, the one of cars without a colour first.
const fn colour_at(colour: u16) -> usize {
    colour.wrapping_add(1) as usize
}

impl Greedy<'_> {
    fn choose(&self, stream: &mut Stream) -> usize {
        let mut best: Option<(Cost, f64, u64, usize)> = None;
        for class in 0..self.left.len() {
            if self.left[class] == 0 {
                continue;
            }
            let mut cost = self.cost_of(class);
            cost[0] += self.too_early(class);
            let hardness = self.hardness(class);
            let luck = stream.bits();
            let better = match &best {
                None => true,
                Some((least, most, drawn, _)) => {
                    let order = cost.cmp(least);
                    let order = order.then(most.total_cmp(&hardness));
                    order.then(drawn.cmp(&luck)).is_lt()
                }
            };
            if better {
                best = Some((cost, hardness, luck, class));
            }
        }
        best.map_or(0, |(.., class)| class)
    }

    /// Holds that the car would be too early for.
    fn too_early(&self, class: usize) -> i64 {
        let plan = self.plan;
        let order = &self.cars[plan.first..];
        let early = |due: &&Due| {
            let of_class = due.held && usize::from(due.class) == class;
            let there = || order.iter().filter(|car| **car == due.class).count() as i64;
            of_class && due.end > self.cars.len() && there() >= due.count
        };
        plan.dues.iter().filter(early).count() as i64
    }

    /// What the car adds to the runs that end with it.
    fn cost_of(&self, class: usize) -> Cost {
        let plan = self.plan;
        let mask = plan.masks[class];
        let mut cost = Cost::ZERO;
        for (bit, rule) in plan.rules.iter().enumerate() {
            if mask >> bit & 1 == 0 {
                continue;
            }
            let from = (self.cars.len() + 1).saturating_sub(rule.in_every);
            let recent = self.cars[from..].iter();
            let with = recent.filter(|car| plan.masks[usize::from(**car)] >> bit & 1 == 1);
            cost[rule.tier] += plan.breaks(with.count() as u16 + 1, rule.at_most) * rule.price;
        }
        let colour = plan.colours[class];
        let before = self.cars.last().map(|car| plan.colours[usize::from(*car)]);
        match before {
            Some(before) if before == colour => {
                cost[0] += i64::from(plan.max_block.is_some_and(|most| self.block >= most));
            }
            Some(_) => cost[plan.change_tier] += plan.change_price,
            None => {}
        }
        cost
    }

    /// How hard the car's options, and its colour, are to place later.
    fn hardness(&self, class: usize) -> f64 {
        let plan = self.plan;
        let left = self.left_total as f64;
        let of_rule = |(bit, rule): (usize, &crate::plan::Spacing)| {
            if plan.masks[class] >> bit & 1 == 0 {
                return 0.0;
            }
            let share = f64::from(self.with_option[bit]) / left;
            share * rule.in_every as f64 / f64::from(rule.at_most.max(1))
        };
        let spacing: f64 = plan.rules.iter().enumerate().map(of_rule).sum();
        let colour = match plan.max_block {
            Some(_) => f64::from(self.by_colour[colour_at(plan.colours[class])]) / left,
            None => 0.0,
        };
        spacing + colour
    }

    fn place(&mut self, class: usize) {
        let plan = self.plan;
        for (bit, with) in self.with_option.iter_mut().enumerate() {
            *with -= (plan.masks[class] >> bit & 1) as u32;
        }
        let colour = plan.colours[class];
        let same = self
            .cars
            .last()
            .is_some_and(|car| plan.colours[usize::from(*car)] == colour);
        self.block = if same { self.block + 1 } else { 1 };
        self.by_colour[colour_at(colour)] -= 1;
        self.left[class] -= 1;
        self.left_total -= 1;
        self.cars.push(class as u16);
    }
}
