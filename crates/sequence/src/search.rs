//! The search: walkers that try small changes, millions in a second, and keep
//! those that make the order no worse.

use rayon::prelude::*;

use crate::cost::{Cost, TIERS};
use crate::model::Checked;
use crate::moves::{Move, Picker};
use crate::plan::Plan;
use crate::row::Row;
use crate::start;
use crate::stream::Stream;
use crate::watch::{Progress, Settings, Watch};

/// Moves between two looks at the cancel flag.
const CHUNK: u64 = 4_096;

/// Rounds of a whole search; between them the walkers compare their orders.
const ROUNDS: u64 = 40;

/// Moves of a walker in a round at the most.
const LONGEST_ROUND: u64 = 4_000_000;

/// What came of a search.
#[derive(Clone, Debug)]
pub(crate) struct Found {
    /// The whole row, previous cars included.
    pub(crate) row: Vec<u16>,
    pub(crate) cost: Cost,
    /// Moves tried.
    pub(crate) steps: u64,
    /// False when the search was cancelled.
    pub(crate) complete: bool,
}

struct Walker<'a> {
    row: Row<'a>,
    picker: Picker,
    stream: Stream,
    best: Cost,
    best_cars: Vec<u16>,
    /// Of 65,536 chances, those in which a change may make things worse.
    daring: u64,
    steps: u64,
    /// Moves since the best was last bettered.
    stalled: u64,
}

/// By walker: how often it lets a change pass that makes things worse by one
/// unit, in 65,536. The first never does.
const DARING: [u64; 4] = [0, 300, 60, 1_200];

impl<'a> Walker<'a> {
    fn new(plan: &'a Plan, number: u32, seed: u64, from: Option<&[u16]>) -> Self {
        let mut stream = Stream::keyed(seed, number.into());
        let cars = match from {
            Some(cars) => cars.to_vec(),
            None => start::greedy(plan, &mut stream),
        };
        let row = Row::new(plan, cars);
        Self {
            best: row.cost,
            best_cars: row.cars.clone(),
            row,
            picker: Picker::new(plan),
            stream,
            daring: DARING[number as usize % DARING.len()],
            steps: 0,
            stalled: 0,
        }
    }

    /// The most that the next change may add.
    fn bound(&mut self) -> Cost {
        let mut bound = Cost::ZERO;
        if self.daring == 0 {
            return bound;
        }
        let draw = self.stream.bits();
        if draw & 0xFFFF >= self.daring {
            return bound;
        }
        let active = self.row.plan.active_tiers();
        let tiers = active.count_ones() as usize;
        if tiers == 0 {
            return bound;
        }
        let mut nth = (draw >> 32) as usize % tiers;
        for tier in 1..TIERS {
            if active >> tier & 1 == 1 {
                if nth == 0 {
                    bound[tier] = self.row.plan.step_of(tier);
                    break;
                }
                nth -= 1;
            }
        }
        bound
    }

    fn walk(&mut self, steps: u64, goal: &Cost, watch: &Watch<'_>) {
        let mut left = steps;
        while left > 0 && !watch.cancelled() && self.best > *goal {
            let chunk = left.min(CHUNK);
            for _ in 0..chunk {
                self.step();
            }
            left -= chunk;
            self.steps += chunk;
        }
    }

    fn step(&mut self) {
        self.stalled += 1;
        let bound = self.bound();
        let changed = match self.picker.pick(&self.row, &mut self.stream) {
            Move::None => None,
            Move::Swap(i, j) => {
                let change = self.row.swap_change(i, j, &bound);
                if let Some(change) = &change {
                    self.row.swap(i, j, change);
                }
                change
            }
            Move::Cut(cut) => {
                let change = self.row.cut_change(&cut, &bound);
                if let Some(change) = &change {
                    self.row.cut(&cut, change);
                }
                change
            }
        };
        if changed.is_some() && self.row.cost < self.best {
            self.best = self.row.cost;
            self.best_cars.clone_from(&self.row.cars);
            self.stalled = 0;
        }
    }

    fn restart_from(&mut self, cars: &[u16], cost: Cost) {
        self.row.cars.copy_from_slice(cars);
        self.row.recount();
        self.best = cost;
        self.best_cars.copy_from_slice(cars);
        self.stalled = 0;
    }
}

/// The best order found within the settings' steps; ends early when it costs
/// no more than `goal`.
pub(crate) fn search(
    checked: &Checked,
    settings: &Settings,
    from: Option<&[u16]>,
    goal: &Cost,
    watch: &Watch<'_>,
) -> Found {
    let plan = &checked.plan;
    let mut walkers: Vec<Walker<'_>> = (0..settings.walkers.max(1))
        .map(|number| Walker::new(plan, number, settings.seed, from))
        .collect();
    let nothing_to_do = plan.len - plan.free < 2;
    let round = settings.steps.div_ceil(ROUNDS).clamp(CHUNK, LONGEST_ROUND);
    let mut spent = 0;
    while spent < settings.steps && !nothing_to_do && !watch.cancelled() {
        let steps = round.min(settings.steps - spent);
        walkers
            .par_iter_mut()
            .for_each(|walker| walker.walk(steps, goal, watch));
        spent += steps;
        let best = leader(&walkers);
        let (cost, cars) = (walkers[best].best, walkers[best].best_cars.clone());
        (watch.progress)(Progress {
            steps: walkers.iter().map(|walker| walker.steps).sum(),
            of: settings.steps.saturating_mul(walkers.len() as u64),
            best: cost,
        });
        if cost <= *goal {
            break;
        }
        // Who has found nothing better for two rounds goes on from the leader.
        for walker in walkers.iter_mut() {
            if walker.stalled > 2 * round && walker.best > cost {
                walker.restart_from(&cars, cost);
            }
        }
    }
    let best = leader(&walkers);
    Found {
        row: walkers[best].best_cars.clone(),
        cost: walkers[best].best,
        steps: walkers.iter().map(|walker| walker.steps).sum(),
        complete: !watch.cancelled(),
    }
}

/// The walker with the best order; of equals the first.
fn leader(walkers: &[Walker<'_>]) -> usize {
    let costs = walkers.iter().map(|walker| walker.best).enumerate();
    costs.min_by_key(|(at, cost)| (*cost, *at)).map_or(0, |(at, _)| at)
}
