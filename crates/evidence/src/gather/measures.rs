//! Sums that can be added up: time by state, moments, samples.

use serde::{Deserialize, Serialize};

use crate::hours::Turn;
use crate::time::Micros;

/// What a unit did in one shift of one day.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Cell {
    /// The shift.
    pub turn: Turn,
    /// Time in each state, in the order of [`crate::state::State::ALL`].
    pub time: [Micros; 7],
    /// Planned time without any row.
    pub unknown: Micros,
    /// Time worked outside planned time, contained in `time`.
    pub outside: Micros,
    /// Jobs finished.
    pub jobs: u32,
    /// Of these, jobs whose planned cycle the book knows.
    pub known: u32,
    /// Planned run time of those.
    pub planned: Micros,
    /// Time worked on those.
    pub worked: Micros,
    /// Stops begun.
    pub stops: u32,
    /// Of these, short ones.
    pub short: u32,
    /// Time down in short ones.
    pub short_time: Micros,
}

impl Cell {
    /// Nothing yet.
    pub fn new(turn: Turn) -> Self {
        Self {
            turn,
            time: [0; 7],
            unknown: 0,
            outside: 0,
            jobs: 0,
            known: 0,
            planned: 0,
            worked: 0,
            stops: 0,
            short: 0,
            short_time: 0,
        }
    }

    /// Adds another.
    pub fn add(&mut self, other: &Self) {
        for (mine, theirs) in self.time.iter_mut().zip(other.time) {
            *mine += theirs;
        }
        self.unknown += other.unknown;
        self.outside += other.outside;
        self.jobs += other.jobs;
        self.known += other.known;
        self.planned += other.planned;
        self.worked += other.worked;
        self.stops += other.stops;
        self.short += other.short;
        self.short_time += other.short_time;
    }
}

/// Count, mean and spread of a quantity (B. P. Welford, Technometrics 4, 1962;
/// joined as in T. F. Chan, G. H. Golub and R. J. LeVeque, 1983).
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Moments {
    /// How many values were added.
    pub n: u64,
    /// Their arithmetic mean, in the unit of what was added; 0 for none.
    pub mean: f64,
    /// Sum of the squared distances from the mean, in that unit squared: over
    /// `n - 1` it is the variance.
    pub squares: f64,
    /// The least value added; 0 for none.
    pub least: f64,
    /// The greatest value added; 0 for none.
    pub most: f64,
}

impl Moments {
    /// Adds one value by Welford's recurrence, which loses no digits where the
    /// values lie close together and far from 0.
    #[inline]
    pub fn add(&mut self, x: f64) {
        if self.n == 0 {
            (self.least, self.most) = (x, x);
        }
        self.n += 1;
        let from_mean = x - self.mean;
        self.mean += from_mean / self.n as f64;
        self.squares += from_mean * (x - self.mean);
        self.least = self.least.min(x);
        self.most = self.most.max(x);
    }

    /// Adds what another was given, as if all had been added to this one (Chan, Golub
    /// and LeVeque's pairwise update).
    pub fn join(&mut self, other: &Self) {
        if other.n == 0 {
            return;
        }
        if self.n == 0 {
            *self = *other;
            return;
        }
        let (a, b) = (self.n as f64, other.n as f64);
        let apart = other.mean - self.mean;
        self.squares += other.squares + apart * apart * a * b / (a + b);
        self.mean += apart * b / (a + b);
        self.n += other.n;
        self.least = self.least.min(other.least);
        self.most = self.most.max(other.most);
    }

    /// Standard deviation of the sample, the root of `squares / (n - 1)`, in the unit
    /// of what was added; none below two values.
    pub fn deviation(&self) -> Option<f64> {
        (self.n > 1).then(|| (self.squares / (self.n - 1) as f64).max(0.0).sqrt())
    }
}

/// Times kept for a fit. Beyond the cap every second is dropped, again and
/// again, so that what is kept stays even over the log; count and sum stay
/// those of all.
#[derive(Clone, Debug, PartialEq)]
pub struct Sample {
    /// The times that were kept, in seconds and in the order of the log.
    pub kept: Vec<f64>,
    /// How many times were seen, kept or not.
    pub n: u64,
    /// Sum of all that were seen, kept or not, in seconds: over `n` the mean is that of
    /// the whole log.
    pub sum: f64,
    /// One in so many is kept; a power of two, 1 while all are.
    pub one_in: u64,
}

/// Times that are kept of one cause at one unit.
const KEPT: usize = 8_192;

impl Default for Sample {
    fn default() -> Self {
        Self {
            kept: Vec::new(),
            n: 0,
            sum: 0.0,
            one_in: 1,
        }
    }
}

impl Sample {
    /// One more.
    pub fn add(&mut self, x: f64) {
        if self.n.is_multiple_of(self.one_in) {
            if self.kept.len() == KEPT {
                let mut n = 0;
                self.kept.retain(|_| {
                    n += 1;
                    n % 2 == 1
                });
                self.one_in *= 2;
            }
            if self.n.is_multiple_of(self.one_in) {
                self.kept.push(x);
            }
        }
        self.n += 1;
        self.sum += x;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn moments_of_parts_join_to_those_of_the_whole(
            a in proptest::collection::vec(0.0..500.0f64, 0..40),
            b in proptest::collection::vec(0.0..500.0f64, 0..40),
        ) {
            let of = |xs: &[f64]| {
                let mut m = Moments::default();
                xs.iter().for_each(|x| m.add(*x));
                m
            };
            let mut joined = of(&a);
            joined.join(&of(&b));
            let whole = of(&[a, b].concat());
            prop_assert_eq!(joined.n, whole.n);
            prop_assert!((joined.mean - whole.mean).abs() < 1e-9);
            prop_assert!((joined.squares - whole.squares).abs() < 1e-6 * (1.0 + whole.squares));
        }
    }

    #[test]
    fn a_sample_keeps_even_parts_of_a_long_log() {
        let mut sample = Sample::default();
        for i in 0..50_000 {
            sample.add(f64::from(i));
        }
        assert!(sample.kept.len() <= KEPT && sample.kept.len() > KEPT / 4);
        let step = sample.one_in as f64;
        assert!(sample.kept.windows(2).all(|pair| pair[1] - pair[0] == step));
        assert_eq!(sample.n, 50_000);
    }
}
