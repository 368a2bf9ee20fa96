//! The search for a takt, from first answers to proof.

use super::bound::at_root;
use super::graph::Graph;
use super::loads::Cut;
use super::packing::{Weights, weights};
use super::search::{Search, Spell};
use super::start::best_of;
use crate::set::Set;
use crate::watch::{Limits, Watch};

/// Work seen from both ends.
pub(crate) struct Line<'a, const W: usize> {
    pub(crate) graph: &'a Graph<W>,
    pub(crate) back: &'a Graph<W>,
    pub(crate) limits: &'a Limits,
    pub(crate) watch: &'a Watch<'a>,
}

/// What is known of one takt.
pub(crate) struct Hunt<'a, const W: usize> {
    line: &'a Line<'a, W>,
    takt: u32,
    weights: Weights,
    /// No balance has fewer stations.
    pub(crate) bound: u32,
    /// The best balance: loads by station. Empty before the start.
    pub(crate) best: Vec<Set<W>>,
    /// Steps taken, and the most of them.
    pub(crate) steps: u64,
    most_steps: u64,
}

impl<'a, const W: usize> Hunt<'a, W> {
    /// With the bounds that need no search.
    pub(crate) fn new(line: &'a Line<'a, W>, takt: u32, most_steps: u64) -> Self {
        Self {
            line,
            takt,
            weights: Weights::none(line.graph.len()),
            bound: at_root(line.graph, line.back, takt),
            best: Vec::new(),
            steps: 0,
            most_steps,
        }
    }

    pub(crate) fn is_over(&self) -> bool {
        !self.best.is_empty() && self.best.len() <= self.bound as usize
    }

    /// First answers by so many runs from each end; ended at `enough` stations.
    pub(crate) fn start(&mut self, enough: u32, runs: usize) {
        let Line {
            graph, back, watch, ..
        } = self.line;
        let cut = Cut {
            loads: 2_000,
            steps: if graph.len() > 300 { 4_000 } else { 20_000 },
        };
        let (forward, backward) = rayon::join(
            || best_of(graph, self.takt, enough, runs, cut, watch),
            || best_of(back, self.takt, enough, runs, cut, watch),
        );
        self.best = forward;
        if backward.len() < self.best.len() {
            self.best = backward;
            self.best.reverse();
        }
    }

    /// Prices the tasks, where the start left something open.
    pub(crate) fn weigh(&mut self) {
        if let Some(weights) = weights(&self.line.graph.ticks, self.takt) {
            let sum = weights.of.iter().map(|weight| u64::from(*weight)).sum();
            self.bound = self.bound.max(weights.stations(sum) as u32);
            self.weights = weights;
        }
    }

    /// Looks for a balance of so many stations from both ends in spells that
    /// double; moves the best or the bound. Returns whether it came to an end.
    ///
    /// The spells are counted in steps, and both ends finish theirs before
    /// either is believed, so the answer is the same on any number of threads.
    pub(crate) fn decide(&mut self, stations: u32, most: u64) -> bool {
        let Line {
            graph,
            back,
            limits,
            watch,
        } = self.line;
        let memory = limits.memory_mb / 2;
        let search =
            |one, other| Search::new(one, other, self.takt, stations, &self.weights, memory);
        let (mut ahead, mut behind) = (search(graph, back), search(back, graph));
        let mut spell = 50_000;
        let mut spent = 0;
        loop {
            spell = spell.min(self.most_steps.saturating_sub(self.steps));
            if spent >= most || spell == 0 || watch.cancelled() {
                return false;
            }
            let before = ahead.steps() + behind.steps();
            let (one, other) =
                rayon::join(|| ahead.spell(spell, watch), || behind.spell(spell, watch));
            let taken = ahead.steps() + behind.steps() - before;
            spent += taken;
            self.steps += taken;
            match (one, other) {
                (Spell::Found(loads), _) => self.best = loads,
                (_, Spell::Found(mut loads)) => {
                    loads.reverse();
                    self.best = loads;
                }
                (Spell::Refuted, _) | (_, Spell::Refuted) => self.bound = stations + 1,
                (Spell::Open, Spell::Open) => {
                    spell = (spell * 2).min(20_000_000);
                    continue;
                }
            }
            return true;
        }
    }
}
