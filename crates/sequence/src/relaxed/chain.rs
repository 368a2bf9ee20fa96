//! Prices at which a random row uses each kind of car as often as there are
//! cars of it.
//!
//! A row is drawn with chances that fall with what it costs; how fast they fall
//! is its temperature. Of a long row only the rates matter with which kinds
//! follow words, and these are the two leading vectors of one matrix, which a
//! step of multiplication for each change of the prices keeps close enough.
//! While the row cools, its prices go to those at which the cheapest walk
//! proves most (the smoothed dual of Nesterov, "Smooth minimization of
//! non-smooth functions", Mathematical Programming 103 (2005) 127-152, with
//! prices fitted like margins of a table, Deming & Stephan 1940).

use crate::watch::Watch;

use super::kinds::Kinds;
use super::words::Words;

/// Share of a misfit that one change of prices makes good: more of it, and
/// prices swing, since a change is felt only some cars later.
const SHARE: f64 = 0.05;

/// The random row.
pub(super) struct Chain<'a> {
    kinds: &'a Kinds,
    words: &'a Words,
    /// What a change of colour costs.
    change: f64,
    wide: usize,
    /// What each kind's price is.
    prices: Vec<f64>,
    /// By word and lane: the rate with which rows come by, and go on from there.
    come: Vec<f64>,
    go: Vec<f64>,
    left: Vec<f64>,
    weights: Vec<f64>,
    costs: Vec<f64>,
    used: Vec<f64>,
}

impl<'a> Chain<'a> {
    pub(super) fn new(kinds: &'a Kinds, words: &'a Words, change: i64) -> Self {
        let wide = kinds.lanes.len();
        let cells = words.count * wide;
        Self {
            kinds,
            words,
            change: change as f64,
            wide,
            prices: vec![0.0; kinds.kinds.len()],
            come: vec![1.0; cells],
            go: vec![1.0; cells],
            left: vec![0.0; cells],
            weights: vec![0.0; kinds.masks.len() * wide],
            costs: vec![1.0; words.steps.len()],
            used: vec![0.0; kinds.masks.len() * wide],
        }
    }

    /// Cools from one temperature to another, its prices changed so often, or
    /// until the search is to end.
    pub(super) fn cool(&mut self, (from, to): (f64, f64), changes: u32, watch: &Watch<'_>) {
        let falls = libm::pow(to / from, 1.0 / f64::from(changes.max(1)));
        let mut warmth = from;
        for _ in 0..changes {
            if watch.cancelled() {
                return;
            }
            warmth *= falls;
            self.fit(warmth);
        }
    }

    /// The prices in whole parts of one unit of cost.
    pub(super) fn prices(&self, unit: i64) -> Vec<i64> {
        let whole = |price: &f64| libm::round(price * unit as f64) as i64;
        self.prices.iter().map(whole).collect()
    }

    /// Changes the prices once.
    fn fit(&mut self, warmth: f64) {
        self.weigh(warmth);
        let stay = libm::exp(-self.change / warmth);
        self.forward(stay);
        self.backward(stay);
        let all: f64 = self.used.iter().sum();
        let cars: i64 = self.kinds.kinds.iter().map(|kind| kind.cars).sum();
        for (kind, price) in self.kinds.kinds.iter().zip(&mut self.prices) {
            let wanted = kind.cars as f64 / cars as f64;
            let is = self.used[kind.mask * self.wide + kind.lane] / all;
            let misfit = libm::log(wanted / is.max(1e-300)).clamp(-3.0, 3.0);
            *price += SHARE * warmth * misfit;
        }
        let mean: f64 = (self.kinds.kinds.iter().zip(&self.prices))
            .map(|(kind, price)| kind.cars as f64 / cars as f64 * price)
            .sum();
        for price in &mut self.prices {
            *price -= mean;
        }
    }

    fn weigh(&mut self, warmth: f64) {
        for (kind, price) in self.kinds.kinds.iter().zip(&self.prices) {
            self.weights[kind.mask * self.wide + kind.lane] =
                libm::exp((price / warmth).min(600.0));
        }
        for (cost, step) in self.costs.iter_mut().zip(&self.words.steps) {
            *cost = if step.cost == 0 {
                1.0
            } else {
                libm::exp(-(step.cost as f64) / warmth)
            };
        }
    }

    /// One car more: from the rates of the words before to those behind.
    fn forward(&mut self, change: f64) {
        let wide = self.wide;
        scaled(&mut self.come);
        mixed(&self.come, &mut self.left, wide, change);
        for (word, come) in self.come.chunks_exact_mut(wide).enumerate() {
            come.fill(0.0);
            for at in self.words.into(word) {
                let step = &self.words.steps[at];
                let left = &self.left[step.from as usize * wide..][..wide];
                let weights = &self.weights[step.mask as usize * wide..][..wide];
                let own = self.costs[at];
                for ((come, left), weight) in come.iter_mut().zip(left).zip(weights) {
                    *come += left * weight * own;
                }
            }
        }
    }

    /// One car more before: and how often each kind is used on the way.
    fn backward(&mut self, change: f64) {
        let wide = self.wide;
        scaled(&mut self.go);
        let mut before = vec![0.0; self.go.len()];
        self.used.fill(0.0);
        for (word, go) in self.go.chunks_exact(wide).enumerate() {
            for at in self.words.into(word) {
                let step = &self.words.steps[at];
                let from = step.from as usize * wide;
                let mask = step.mask as usize * wide;
                let own = self.costs[at];
                let before = &mut before[from..][..wide];
                let left = &self.left[from..][..wide];
                let weights = &self.weights[mask..][..wide];
                let used = &mut self.used[mask..][..wide];
                for lane in 0..wide {
                    let on = weights[lane] * own * go[lane];
                    before[lane] += on;
                    used[lane] += left[lane] * on;
                }
            }
        }
        mixed(&before, &mut self.go, wide, change);
    }
}

/// Makes the largest rate one.
fn scaled(rates: &mut [f64]) {
    let most = rates.iter().copied().fold(f64::MIN_POSITIVE, f64::max);
    for rate in rates {
        *rate /= most;
    }
}

/// By word: what stays in its lane, and what changes from any to any.
fn mixed(from: &[f64], to: &mut [f64], wide: usize, change: f64) {
    for (from, to) in from.chunks_exact(wide).zip(to.chunks_exact_mut(wide)) {
        let all: f64 = from.iter().sum();
        for (to, from) in to.iter_mut().zip(from) {
            *to = from + change * (all - from);
        }
    }
}
