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

/// Share of a misfit that one change of prices makes good, without and with
/// colours: more of it, and prices swing, since a change is felt only some cars
/// later, and some blocks later where blocks are long.
const SHARE: [f64; 2] = [0.4, 0.1];

/// How much of what rates were they keep with each car: rows that repeat every
/// few cars would swing for ever if rates followed at once.
const KEPT: f64 = 0.3;

/// Steps, lanes counted each, from which on the two ways along the row are gone
/// side by side.
const MANY: usize = 16_384;

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
    come: Rates,
    go: Rates,
    /// The rates of `come` as they were, once any colour may follow.
    left: Vec<f64>,
    /// By way and lane: how readily it is gone, and how often it is.
    ready: Vec<f64>,
    gone: Vec<f64>,
}

/// Rates by word and lane, and room for what they come to.
struct Rates {
    now: Vec<f64>,
    next: Vec<f64>,
}

impl<'a> Chain<'a> {
    /// From prices that are known from fewer rules, or from none.
    pub(super) fn new(kinds: &'a Kinds, words: &'a Words, change: i64, prices: Vec<f64>) -> Self {
        let wide = kinds.lanes.len();
        let cells = words.count * wide;
        let rates = || Rates {
            now: vec![1.0; cells],
            next: vec![0.0; cells],
        };
        Self {
            kinds,
            words,
            change: change as f64,
            wide,
            prices,
            come: rates(),
            go: rates(),
            left: vec![0.0; cells],
            ready: vec![0.0; words.ways.len() * wide],
            gone: vec![0.0; words.ways.len() * wide],
        }
    }

    /// What each kind's price is.
    pub(super) fn prices(&self) -> &[f64] {
        &self.prices
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

    /// Changes the prices once.
    fn fit(&mut self, warmth: f64) {
        self.weigh(warmth);
        let stay = libm::exp(-self.change / warmth);
        mixed(&self.come.now, &mut self.left, self.wide, stay);
        self.pass(stay);
        let used = self.used();
        let all: f64 = used.iter().sum();
        let cars: i64 = self.kinds.kinds.iter().map(|kind| kind.cars).sum();
        let share = SHARE[usize::from(self.wide > 1)];
        for (kind, price) in self.kinds.kinds.iter().zip(&mut self.prices) {
            let wanted = kind.cars as f64 / cars as f64;
            let is = used[kind.mask * self.wide + kind.lane] / all;
            let misfit = libm::log(wanted / is.max(1e-300)).clamp(-3.0, 3.0);
            *price += share * warmth * misfit;
        }
        let mean: f64 = (self.kinds.kinds.iter().zip(&self.prices))
            .map(|(kind, price)| kind.cars as f64 / cars as f64 * price)
            .sum();
        for price in &mut self.prices {
            *price -= mean;
        }
    }

    fn weigh(&mut self, warmth: f64) {
        let wide = self.wide;
        let mut weights = vec![0.0; self.kinds.masks.len() * wide];
        for (kind, price) in self.kinds.kinds.iter().zip(&self.prices) {
            weights[kind.mask * wide + kind.lane] = libm::exp((price / warmth).min(600.0));
        }
        for (way, ready) in self
            .words
            .ways
            .iter()
            .zip(self.ready.chunks_exact_mut(wide))
        {
            let own = libm::exp(-(way.cost as f64) / warmth);
            for (ready, weight) in ready.iter_mut().zip(&weights[way.mask * wide..]) {
                *ready = weight * own;
            }
        }
    }

    /// How often cars of each mask and lane were drawn.
    fn used(&self) -> Vec<f64> {
        let wide = self.wide;
        let mut used = vec![0.0; self.kinds.masks.len() * wide];
        let lanes = (self.gone.chunks_exact(wide)).zip(self.ready.chunks_exact(wide));
        for (way, (gone, ready)) in self.words.ways.iter().zip(lanes) {
            let used = &mut used[way.mask * wide..][..wide];
            for ((used, gone), ready) in used.iter_mut().zip(gone).zip(ready) {
                *used += gone * ready;
            }
        }
        used
    }

    /// One car more at both ends of the row.
    fn pass(&mut self, stay: f64) {
        let (words, wide, ready) = (self.words, self.wide, &self.ready[..]);
        let (left, gone) = (&self.left[..], &mut self.gone[..]);
        let (come, go) = (&mut self.come, &mut self.go);
        let mut forward = || {
            if wide == 1 {
                forward_in_one_lane(words, left, ready, &mut come.next);
            } else {
                forward(words, wide, (left, ready), &mut come.next);
            }
            moved(&mut come.now, &come.next);
        };
        let mut backward = || {
            gone.fill(0.0);
            if wide == 1 {
                backward_in_one_lane(words, (left, ready, &go.now), &mut go.next, gone);
            } else {
                backward(words, wide, (left, ready, &go.now), &mut go.next, gone);
            }
            spread(&mut go.next, wide, stay);
            moved(&mut go.now, &go.next);
        };
        if words.into.len() * wide < MANY {
            forward();
            backward();
        } else {
            rayon::join(forward, backward);
        }
    }
}

/// One car more: from the rates of the words before to those behind.
fn forward(words: &Words, wide: usize, (left, ready): (&[f64], &[f64]), next: &mut [f64]) {
    next.fill(0.0);
    for (word, next) in next.chunks_exact_mut(wide).enumerate() {
        for step in words.into.of(word) {
            let left = &left[step.word as usize * wide..][..wide];
            let ready = &ready[step.way as usize * wide..][..wide];
            for ((next, left), ready) in next.iter_mut().zip(left).zip(ready) {
                *next += left * ready;
            }
        }
    }
}

/// The same with one lane, where a step is one product.
fn forward_in_one_lane(words: &Words, left: &[f64], ready: &[f64], next: &mut [f64]) {
    for (word, next) in next.iter_mut().enumerate() {
        let steps = words.into.of(word).iter();
        *next = steps
            .map(|step| left[step.word as usize] * ready[step.way as usize])
            .sum();
    }
}

/// One car more before: and how often each way is gone.
fn backward(
    words: &Words,
    wide: usize,
    (left, ready, go): (&[f64], &[f64], &[f64]),
    next: &mut [f64],
    gone: &mut [f64],
) {
    next.fill(0.0);
    for (word, next) in next.chunks_exact_mut(wide).enumerate() {
        let left = &left[word * wide..][..wide];
        for step in words.out.of(word) {
            let go = &go[step.word as usize * wide..][..wide];
            let ready = &ready[step.way as usize * wide..][..wide];
            let gone = &mut gone[step.way as usize * wide..][..wide];
            for lane in 0..wide {
                next[lane] += ready[lane] * go[lane];
                gone[lane] += left[lane] * go[lane];
            }
        }
    }
}

/// The same with one lane.
fn backward_in_one_lane(
    words: &Words,
    (left, ready, go): (&[f64], &[f64], &[f64]),
    next: &mut [f64],
    gone: &mut [f64],
) {
    for (word, next) in next.iter_mut().enumerate() {
        let left = left[word];
        let mut sum = 0.0;
        for step in words.out.of(word) {
            let go = go[step.word as usize];
            sum += ready[step.way as usize] * go;
            gone[step.way as usize] += left * go;
        }
        *next = sum;
    }
}

/// Brings rates nearer to what they are one car on, the largest of which is made
/// one.
fn moved(rates: &mut [f64], next: &[f64]) {
    let most = next.iter().copied().fold(f64::MIN_POSITIVE, f64::max);
    for (rate, next) in rates.iter_mut().zip(next) {
        *rate = KEPT * *rate + (1.0 - KEPT) * next / most;
    }
}

/// By word: what stays in its lane, and what changes from any to any.
fn mixed(from: &[f64], to: &mut [f64], wide: usize, change: f64) {
    to.copy_from_slice(from);
    spread(to, wide, change);
}

/// The same in place.
fn spread(rates: &mut [f64], wide: usize, change: f64) {
    if wide == 1 {
        return;
    }
    for rates in rates.chunks_exact_mut(wide) {
        let all: f64 = rates.iter().sum();
        for rate in rates {
            *rate += change * (all - *rate);
        }
    }
}
