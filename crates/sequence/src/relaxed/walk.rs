//! The cheapest walk through the places where each kind of car has a price and
//! none need be used as often as there are cars of it.

use crate::watch::Watch;

use super::kinds::Kinds;
use super::words::Words;

/// More than any walk costs. Three times this still fits.
const FAR: i32 = 1 << 29;

/// What prices may add up to, either way, over a whole walk.
pub(super) const MOST_SUM: i64 = 1 << 28;

/// How a walk begins.
#[derive(Clone, Copy, Debug)]
pub(super) enum Begin {
    /// No car stands before the first place, or its colour is not minded.
    Empty,
    /// The last car before is of this lane.
    Lane(usize),
    /// It is of a colour that no car behind it has.
    Other,
}

/// Places, words and what steps between them cost.
pub(super) struct Walk<'a> {
    kinds: &'a Kinds,
    words: &'a Words,
    /// Costs of the ways, in the unit of prices.
    costs: Vec<i32>,
    /// What a change of colour costs, in the same.
    change: i32,
    begin: Begin,
    places: usize,
    /// First places that no whole window ends at, so that nothing is broken.
    open: usize,
}

impl<'a> Walk<'a> {
    /// `unit` is what one unit of cost is in the unit of prices.
    pub(super) fn new(
        kinds: &'a Kinds,
        words: &'a Words,
        (change, unit): (i64, i64),
        begin: Begin,
        (places, open): (usize, usize),
    ) -> Self {
        // What is dearer than any walk may as well cost that.
        let scaled = |cost: i64| cost.saturating_mul(unit).min(i64::from(FAR)) as i32;
        Self {
            kinds,
            words,
            costs: words.ways.iter().map(|way| scaled(way.cost)).collect(),
            change: scaled(change),
            begin,
            places,
            open,
        }
    }

    /// What no order costs less than, in the unit of prices: the cheapest walk
    /// at these prices, one for each kind, and the prices of all cars. None where
    /// the search was to end before it was found.
    pub(super) fn proven(&self, prices: &[i64], watch: &Watch<'_>) -> Option<i64> {
        let wide = self.kinds.lanes.len();
        let most = MOST_SUM / self.places.max(1) as i64;
        let mut off = vec![FAR; self.kinds.masks.len() * wide];
        let mut spent = 0;
        for (kind, price) in self.kinds.kinds.iter().zip(prices) {
            let price = *price.clamp(&-most, &most);
            off[kind.mask * wide + kind.lane] = -price as i32;
            spent += kind.cars * price;
        }
        let [free, whole] = [0, 1].map(|times| self.tolls(&off, times));
        let mut costs = self.first();
        let mut left = costs.clone();
        for place in 0..self.places {
            if watch.cancelled() {
                return None;
            }
            let tolls = if place < self.open { &free } else { &whole };
            self.leave(&costs, &mut left);
            if wide == 1 {
                self.forward_in_one_lane(&left, tolls, &mut costs);
            } else {
                self.forward(&left, tolls, &mut costs);
            }
        }
        Some(spent + i64::from(costs.into_iter().fold(FAR, i32::min)))
    }

    /// By word and lane, what the walk costs before its first place.
    fn first(&self) -> Vec<i32> {
        let wide = self.kinds.lanes.len();
        let mut costs = vec![FAR; self.words.count * wide];
        for (lane, cost) in costs[..wide].iter_mut().enumerate() {
            *cost = match self.begin {
                Begin::Empty => 0,
                Begin::Lane(last) if last == lane => 0,
                Begin::Lane(_) => FAR,
                Begin::Other => self.change,
            };
        }
        costs
    }

    /// Either the colour goes on, or it is left from the cheapest there is.
    fn leave(&self, costs: &[i32], left: &mut [i32]) {
        let wide = self.kinds.lanes.len();
        for (costs, left) in costs.chunks_exact(wide).zip(left.chunks_exact_mut(wide)) {
            let changed = costs.iter().fold(FAR, |least, cost| least.min(*cost)) + self.change;
            for (left, cost) in left.iter_mut().zip(costs) {
                *left = changed.min(*cost);
            }
        }
    }

    /// By way and lane, what a step costs with its car's price taken off.
    fn tolls(&self, off: &[i32], times: i32) -> Vec<i32> {
        let wide = self.kinds.lanes.len();
        let ways = self.words.ways.iter().zip(&self.costs);
        let tolls = ways.flat_map(|(way, cost)| {
            let off = &off[way.mask * wide..][..wide];
            off.iter().map(move |off| off + times * cost)
        });
        tolls.collect()
    }

    /// One place further.
    fn forward(&self, left: &[i32], tolls: &[i32], costs: &mut [i32]) {
        let wide = self.kinds.lanes.len();
        for (word, costs) in costs.chunks_exact_mut(wide).enumerate() {
            costs.fill(FAR);
            for step in self.words.into.of(word) {
                let left = &left[step.word as usize * wide..][..wide];
                let tolls = &tolls[step.way as usize * wide..][..wide];
                for ((cost, left), toll) in costs.iter_mut().zip(left).zip(tolls) {
                    *cost = (*cost).min(left + toll);
                }
            }
        }
    }

    /// The same with one lane, where a step is one sum.
    fn forward_in_one_lane(&self, left: &[i32], tolls: &[i32], costs: &mut [i32]) {
        for (word, cost) in costs.iter_mut().enumerate() {
            let steps = self.words.into.of(word).iter();
            let sums = steps.map(|step| left[step.word as usize] + tolls[step.way as usize]);
            *cost = sums.fold(FAR, i32::min);
        }
    }
}
