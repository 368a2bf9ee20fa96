//! The order in which cars are released.
//!
//! A levelled order by goal chasing: each place goes to the product furthest
//! behind its share, and within the product to the class whose options are
//! furthest behind theirs (J. Miltenburg, Level schedules for mixed-model
//! assembly lines, Management Science 35 (1989) 192, from memory). A spacing
//! rule of an option comes before its share. The order is built once and every source
//! releases by it, so that sub-plants build the cars that the main line builds.

use std::collections::VecDeque;

use flow::model::ClassIdx;
use serde::Serialize;

/// Places in an order: long enough that no share is off by 1 in 1000.
const LEAST: usize = 2_000;
/// Places beyond which a longer order only costs time.
const MOST: usize = 20_000;
/// What breaking a spacing rule weighs against lagging behind a share.
const BROKEN: f64 = 1e9;

/// Not more than `at_most` cars with an option in any `in_every` in a row.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct Spacing {
    /// Cars with the option.
    pub at_most: u32,
    /// Cars in a row.
    pub in_every: u32,
}

/// A class as the order sees it.
pub(super) struct Kind {
    /// Position of its product.
    pub(super) product: usize,
    /// Positions of its options.
    pub(super) options: Vec<usize>,
    /// Its share of all cars.
    pub(super) share: f64,
}

/// A levelled order of classes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Order {
    /// The classes, to be released over and over.
    pub places: Vec<ClassIdx>,
    /// Places at which a spacing rule of an option could not be kept.
    pub spacing_broken: u32,
}

/// Builds the levelled order of `kinds`, whose shares add to 1.
pub(super) fn level(kinds: &[Kind], spacing: &[Option<Spacing>]) -> Order {
    let places = (kinds.len() * 20).clamp(LEAST, MOST);
    let mut chase = Chase::new(kinds, spacing, places);
    let order = (0..places).filter_map(|_| chase.next()).collect();
    Order {
        places: order,
        spacing_broken: chase.broken,
    }
}

/// The state of goal chasing.
struct Chase<'a> {
    kinds: &'a [Kind],
    spacing: &'a [Option<Spacing>],
    places: usize,
    /// For each product its classes.
    classes: Vec<Vec<usize>>,
    /// Goals and what has been placed, by class, product and option.
    class: Vec<Goal>,
    product: Vec<Goal>,
    option: Vec<Goal>,
    /// For each option the latest places it was given.
    recent: Vec<VecDeque<usize>>,
    placed: usize,
    broken: u32,
}

#[derive(Clone, Copy, Default)]
struct Goal {
    total: usize,
    placed: usize,
}

impl Goal {
    /// How far behind its even spread the goal is after `placed` of `places`.
    fn behind(self, placed: usize, places: usize) -> f64 {
        self.total as f64 * placed as f64 / places as f64 - self.placed as f64
    }
}

impl<'a> Chase<'a> {
    fn new(kinds: &'a [Kind], spacing: &'a [Option<Spacing>], places: usize) -> Self {
        let products = kinds.iter().map(|k| k.product + 1).max().unwrap_or(0);
        let mut classes = vec![Vec::new(); products];
        for (class, kind) in kinds.iter().enumerate() {
            classes[kind.product].push(class);
        }
        let share = |members: &Vec<usize>| members.iter().map(|&c| kinds[c].share).sum();
        let by_product = apportion(&classes.iter().map(share).collect::<Vec<f64>>(), places);
        let mut class = vec![Goal::default(); kinds.len()];
        for (members, &total) in classes.iter().zip(&by_product) {
            let shares: Vec<f64> = members.iter().map(|&c| kinds[c].share).collect();
            for (&c, total) in members.iter().zip(apportion(&shares, total)) {
                class[c].total = total;
            }
        }
        let mut option = vec![Goal::default(); spacing.len()];
        for (kind, goal) in kinds.iter().zip(&class) {
            for &o in &kind.options {
                option[o].total += goal.total;
            }
        }
        let product = by_product.iter().map(|&total| Goal { total, placed: 0 });
        Self {
            kinds,
            spacing,
            places,
            classes,
            class,
            product: product.collect(),
            option,
            recent: vec![VecDeque::new(); spacing.len()],
            placed: 0,
            broken: 0,
        }
    }

    fn next(&mut self) -> Option<ClassIdx> {
        let now = self.placed + 1;
        let product = best(
            (0..self.product.len())
                .filter(|&p| self.product[p].placed < self.product[p].total)
                .map(|p| (p, self.product[p].behind(now, self.places))),
        )?;
        let pull: Vec<f64> = (0..self.option.len()).map(|o| self.pull(o, now)).collect();
        let class = best(
            self.classes[product]
                .iter()
                .filter(|&&c| self.class[c].placed < self.class[c].total)
                .map(|&c| {
                    let options: f64 = self.kinds[c].options.iter().map(|&o| pull[o]).sum();
                    (c, options + self.class[c].behind(now, self.places))
                }),
        )?;
        self.place(product, class);
        u32::try_from(class).ok().map(ClassIdx)
    }

    /// What taking the option at this place is worth: the fall of the squared
    /// lag, halved; far below zero where a spacing rule would be broken.
    fn pull(&self, option: usize, now: usize) -> f64 {
        let behind = self.option[option].behind(now, self.places) - 0.5;
        if self.is_full(option) {
            behind - BROKEN
        } else {
            behind
        }
    }

    /// Whether the cars just placed leave no room for the option here.
    fn is_full(&self, option: usize) -> bool {
        self.spacing[option].is_some_and(|rule| {
            let window = (self.placed + 1).saturating_sub(rule.in_every as usize);
            let near = self.recent[option].iter().filter(|&&at| at >= window);
            near.count() >= rule.at_most as usize
        })
    }

    fn place(&mut self, product: usize, class: usize) {
        self.product[product].placed += 1;
        self.class[class].placed += 1;
        for &o in &self.kinds[class].options {
            if self.is_full(o) {
                self.broken += 1;
            }
            self.option[o].placed += 1;
            if let Some(rule) = self.spacing[o] {
                self.recent[o].push_back(self.placed);
                while self.recent[o].len() > rule.in_every as usize {
                    self.recent[o].pop_front();
                }
            }
        }
        self.placed += 1;
    }
}

/// The first of the items with the greatest worth.
fn best(items: impl Iterator<Item = (usize, f64)>) -> Option<usize> {
    let mut best: Option<(usize, f64)> = None;
    for (item, worth) in items {
        if best.is_none_or(|(_, most)| worth > most) {
            best = Some((item, worth));
        }
    }
    best.map(|(item, _)| item)
}

/// Splits `total` whole places by share, the largest remainders rounded up.
fn apportion(shares: &[f64], total: usize) -> Vec<usize> {
    let sum: f64 = shares.iter().sum();
    if sum <= 0.0 {
        return vec![0; shares.len()];
    }
    let exact: Vec<f64> = shares.iter().map(|s| s / sum * total as f64).collect();
    let mut whole: Vec<usize> = exact.iter().map(|&e| e.floor() as usize).collect();
    let mut by_remainder: Vec<usize> = (0..shares.len()).collect();
    by_remainder.sort_by(|&a, &b| {
        let (a, b) = (exact[a] - exact[a].floor(), exact[b] - exact[b].floor());
        b.total_cmp(&a)
    });
    let missing = total.saturating_sub(whole.iter().sum());
    for &i in by_remainder.iter().take(missing) {
        whole[i] += 1;
    }
    whole
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn kinds(shares: &[f64]) -> Vec<Kind> {
        let sum: f64 = shares.iter().sum();
        let kind = |(product, share): (usize, &f64)| Kind {
            product,
            options: Vec::new(),
            share: share / sum,
        };
        shares.iter().enumerate().map(kind).collect()
    }

    fn count(order: &Order, class: u32) -> usize {
        order.places.iter().filter(|c| c.0 == class).count()
    }

    #[test]
    fn two_models_half_and_half_alternate() {
        let order = level(&kinds(&[1.0, 1.0]), &[]);
        for pair in order.places.chunks(2) {
            assert_ne!(pair[0], pair[1]);
        }
    }

    #[test]
    fn an_option_on_three_cars_in_ten_keeps_one_in_three() {
        let rule = Spacing {
            at_most: 1,
            in_every: 3,
        };
        let with = Kind {
            product: 0,
            options: vec![0],
            share: 0.3,
        };
        let without = Kind {
            product: 0,
            options: Vec::new(),
            share: 0.7,
        };
        let order = level(&[with, without], &[Some(rule)]);
        assert_eq!(order.spacing_broken, 0);
        for window in order.places.windows(3) {
            assert!(window.iter().filter(|c| c.0 == 0).count() <= 1);
        }
    }

    #[test]
    fn a_rule_that_the_share_cannot_keep_is_counted() {
        let rule = Spacing {
            at_most: 1,
            in_every: 4,
        };
        let with = Kind {
            product: 0,
            options: vec![0],
            share: 0.5,
        };
        let without = Kind {
            product: 0,
            options: Vec::new(),
            share: 0.5,
        };
        assert!(level(&[with, without], &[Some(rule)]).spacing_broken > 0);
    }

    proptest! {
        #[test]
        fn every_share_is_kept_within_one_in_a_thousand(
            shares in prop::collection::vec(0.01..1.0f64, 1..12)
        ) {
            let kinds = kinds(&shares);
            let order = level(&kinds, &[]);
            for (class, kind) in kinds.iter().enumerate() {
                let made = count(&order, class as u32) as f64 / order.places.len() as f64;
                prop_assert!((made - kind.share).abs() <= 1e-3);
            }
        }

        #[test]
        fn no_product_strays_from_its_share_along_the_way(
            shares in prop::collection::vec(0.05..1.0f64, 2..6)
        ) {
            let kinds = kinds(&shares);
            let order = level(&kinds, &[]);
            let mut made = vec![0usize; kinds.len()];
            for (k, class) in order.places.iter().enumerate() {
                made[class.at()] += 1;
                for (kind, &made) in kinds.iter().zip(&made) {
                    let lag = kind.share * (k + 1) as f64 - made as f64;
                    // one car, and the rounding of the whole order
                    prop_assert!(lag.abs() < kinds.len() as f64);
                }
            }
        }

        #[test]
        fn apportioned_places_add_up(
            shares in prop::collection::vec(0.0..1.0f64, 1..50), total in 0usize..5000
        ) {
            prop_assume!(shares.iter().sum::<f64>() > 0.0);
            prop_assert_eq!(apportion(&shares, total).iter().sum::<usize>(), total);
        }
    }
}
