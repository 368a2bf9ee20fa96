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
    /// Costs of the steps, in the unit of prices.
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
            costs: words.steps.iter().map(|step| scaled(step.cost)).collect(),
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
        let mut costs = self.first();
        let mut left = costs.clone();
        let nothing = vec![0; self.costs.len()];
        for place in 0..self.places {
            if watch.cancelled() {
                return None;
            }
            let own = if place < self.open {
                &nothing
            } else {
                &self.costs
            };
            self.leave(&costs, &mut left);
            self.forward(&left, (&off, own), &mut costs);
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

    /// One place further, with what kinds take off and steps cost.
    fn forward(&self, left: &[i32], (off, steps): (&[i32], &[i32]), costs: &mut [i32]) {
        let wide = self.kinds.lanes.len();
        for (word, costs) in costs.chunks_exact_mut(wide).enumerate() {
            costs.fill(FAR);
            for at in self.words.into(word) {
                let step = &self.words.steps[at];
                let left = &left[step.from as usize * wide..][..wide];
                let off = &off[step.mask as usize * wide..][..wide];
                let own = steps[at];
                for ((cost, left), off) in costs.iter_mut().zip(left).zip(off) {
                    *cost = (*cost).min(left + off + own);
                }
            }
        }
    }
}
