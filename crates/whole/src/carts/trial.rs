//! Variants of a plant with the same luck, each run once.

use std::collections::BTreeMap;

use flow::Watch;
use flow::model::Network;
use flow::statistics::{Interval, paired_difference};

use crate::findings::measure::{Stopped, Window, cars_of};

/// A difference up to this part of the cars may stay open where the interval
/// does not tell; a larger one counts as a loss, to be on the safe side.
pub(super) const OPEN: f64 = 0.005;

/// What a variant makes.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Seen {
    /// Cars a week by replication.
    pub(super) cars: Vec<f64>,
    /// Whether it locked itself up.
    pub(super) locked: bool,
}

/// How all variants are run, and the plant as it is.
#[derive(Clone, Debug)]
pub(super) struct Terms {
    pub(super) window: Window,
    pub(super) level: f64,
    pub(super) as_it_is: Seen,
}

impl Terms {
    /// Whether a gain is shown: its whole interval is above zero, and it is more
    /// than the one car that the edges of the window make or cost.
    pub(super) fn shows(&self, gain: Interval) -> bool {
        let edge = 1.0 / f64::from(self.window.weeks);
        gain.mean - gain.half_width > 0.0 && gain.mean > edge
    }
}

/// The variants of one number in the network, by that number.
pub(super) struct Trials<'a> {
    pub(super) terms: &'a Terms,
    pub(super) watch: &'a Watch<'a>,
    /// The network with the number changed.
    pub(super) variant: &'a (dyn Fn(u32) -> Network + Sync),
    pub(super) seen: BTreeMap<u32, Seen>,
}

impl<'a> Trials<'a> {
    /// No variant run yet but the plant as it is, with this number.
    pub(super) fn of(
        terms: &'a Terms,
        as_it_is: u32,
        variant: &'a (dyn Fn(u32) -> Network + Sync),
        watch: &'a Watch<'a>,
    ) -> Self {
        Self {
            terms,
            watch,
            variant,
            seen: BTreeMap::from([(as_it_is, terms.as_it_is.clone())]),
        }
    }

    /// Runs the plant with this number, unless it was.
    pub(super) fn at(&mut self, number: u32) -> Result<&Seen, Stopped> {
        if !self.seen.contains_key(&number) {
            let network = (self.variant)(number);
            let (cars, locked) = cars_of(&network, &self.terms.window, self.watch)?;
            self.seen.insert(number, Seen { cars, locked });
        }
        Ok(&self.seen[&number])
    }

    /// Cars a week of the first number over those of the second.
    pub(super) fn gain(&mut self, number: u32, over: u32) -> Result<Interval, Stopped> {
        let level = self.terms.level;
        let new = self.at(number)?.cars.clone();
        let old = &self.at(over)?.cars;
        // both have as many replications
        let gain = paired_difference(&new, old, level);
        Ok(gain.unwrap_or_else(|| Interval::of(&[], level)))
    }

    /// Whether the first makes more than the second: the interval says so, or
    /// the difference is too large to be left open.
    pub(super) fn better(&mut self, number: u32, than: u32) -> Result<bool, Stopped> {
        let gain = self.gain(number, than)?;
        let large = flow::statistics::mean(&self.at(number)?.cars) * OPEN;
        Ok(self.terms.shows(gain) || gain.mean > large)
    }

    /// The number tried that makes most; of equals the smallest.
    pub(super) fn best(&self) -> Option<u32> {
        let mut best: Option<(u32, f64)> = None;
        for (&number, seen) in &self.seen {
            let mean = flow::statistics::mean(&seen.cars);
            if best.is_none_or(|(_, before)| mean > before) {
                best = Some((number, mean));
            }
        }
        best.map(|(number, _)| number)
    }

    /// The smallest number that is not shown to make less than `best`, sought
    /// between one that is (`low`) and one that is not (`high`).
    pub(super) fn knee(&mut self, mut low: u32, mut high: u32, best: u32) -> Result<u32, Stopped> {
        while high - low > 1 {
            let middle = low.midpoint(high);
            if self.better(best, middle)? {
                low = middle;
            } else {
                high = middle;
            }
        }
        Ok(high)
    }
}
