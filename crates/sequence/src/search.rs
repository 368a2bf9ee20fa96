//! The search: walkers that try small changes, millions in a second, and keep
//! those that make the order no worse.

use rayon::prelude::*;

use crate::cost::{Cost, TIERS};
use crate::evaluate;
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
    /// The last tier that changes are judged by.
    focus: usize,
    /// The least cost up to there, and the moves since it was bettered.
    focused: Cost,
    waited: u64,
    /// Moves since that tier was taken up.
    held: u64,
    /// Moves that it may be held at the most.
    holdable: u64,
    /// Moves left of this search.
    left: u64,
    /// Moves without gain after which the next tier is taken up.
    patience: u64,
}

/// By walker: how often it lets a change pass that makes things worse by one
/// unit, in 65,536.
const DARING: [u64; 4] = [0, 10, 0, 40];

/// Moves without gain in a goal before the next one is looked at as well.
const PATIENCE: u64 = 1_000_000;

/// One in so many of the moves left is kept for the goals behind one that
/// gets better and better.
const LATER_SHARE: u64 = 4;

/// Places of the part that a kick mixes up.
const KICKED: usize = 40;

/// More than any change costs.
const FREE: i64 = i64::MAX / 8;

impl<'a> Walker<'a> {
    fn new(plan: &'a Plan, number: u32, settings: &Settings, from: Option<&[u16]>) -> Self {
        let mut stream = Stream::keyed(settings.seed, number.into());
        let cars = match from {
            Some(cars) => cars.to_vec(),
            None => start::greedy(plan, &mut stream),
        };
        let row = Row::new(plan, cars);
        let mut walker = Self {
            best: row.cost,
            best_cars: row.cars.clone(),
            row,
            picker: Picker::new(plan),
            stream,
            daring: DARING[number as usize % DARING.len()],
            steps: 0,
            stalled: 0,
            focus: 0,
            focused: Cost::ZERO,
            waited: 0,
            held: 0,
            holdable: 0,
            left: settings.steps,
            patience: PATIENCE,
        };
        walker.look_at(plan.next_tier(0));
        walker
    }

    /// Judges changes by the tiers up to this one.
    fn look_at(&mut self, tier: usize) {
        self.focus = tier;
        self.held = 0;
        self.holdable = self.left - self.left / LATER_SHARE;
        self.row.mind_level(tier >= self.row.plan.level_tier);
        self.focused = self.row.cost.up_to(tier);
        self.waited = 0;
        let plan = self.row.plan;
        let painted = plan.change_price > 0 && tier >= plan.change_tier;
        let blocked = plan.max_block.is_some() && (painted || plan.change_price == 0);
        self.picker.mind_colours(painted || blocked);
    }

    /// The most that the next change may add. Goals behind the one looked at
    /// may suffer: minding all of them at once would leave too few ways open.
    fn bound(&mut self) -> Cost {
        let mut bound = Cost::ZERO;
        for tier in self.focus + 1..TIERS {
            bound[tier] = FREE;
        }
        if self.daring > 0 && self.stream.bits() & 0xFFFF < self.daring {
            bound[self.focus] = self.row.plan.step_of(self.focus);
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
            self.left -= self.left.min(chunk);
            self.take_up(goal);
        }
    }

    /// Goes on to the next goal when this one is met or gets no better, and
    /// from the last one back to the first that is not met. A goal that was
    /// long in getting better is waited for as long again.
    fn take_up(&mut self, goal: &Cost) {
        let plan = self.row.plan;
        let met = self.focused <= goal.up_to(self.focus);
        let next = plan.next_tier(self.focus);
        if next > self.focus {
            let waited_out = self.waited > self.patience.max(self.held / 2);
            if met || waited_out || self.held > self.holdable {
                self.look_at(next);
            }
        } else if self.waited > 2 * self.patience {
            self.patience += self.patience / 2;
            let (cars, cost) = (self.best_cars.clone(), self.best);
            self.restart_from(&cars, cost);
            let mut tier = plan.next_tier(0);
            while cost.up_to(tier) <= goal.up_to(tier) && plan.next_tier(tier) > tier {
                tier = plan.next_tier(tier);
            }
            self.kick();
            self.look_at(tier);
        }
    }

    /// Mixes up a short part of the row, whatever it costs, to leave a place
    /// where small changes lead no further.
    fn kick(&mut self) {
        let plan = self.row.plan;
        let free = plan.len - plan.free;
        let reach = KICKED.min(free);
        let from = plan.free + self.stream.below(free - reach + 1);
        for _ in 0..3 + self.stream.below(8) {
            let (i, j) = (self.stream.below(reach), self.stream.below(reach));
            let (i, j) = (from + i.min(j), from + i.max(j));
            if self.row.cars[i] != self.row.cars[j]
                && let Some(change) = self.row.swap_change(i, j, &Cost([FREE; TIERS]))
            {
                self.row.swap(i, j, &change);
            }
        }
    }

    fn step(&mut self) {
        self.stalled += 1;
        self.waited += 1;
        self.held += 1;
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
        if changed.is_none() {
            return;
        }
        let focused = self.row.cost.up_to(self.focus);
        if focused < self.focused {
            self.focused = focused;
            self.waited = 0;
        }
        let cost = if self.row.tells_level() {
            self.row.cost
        } else if focused < self.best.up_to(self.focus) {
            evaluate::cost(self.row.plan, &self.row.cars)
        } else {
            return;
        };
        if cost < self.best {
            self.best = cost;
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
        self.look_at(self.focus);
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
        .map(|number| Walker::new(plan, number, settings, from))
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
            if walker.stalled > 8 * walker.patience && walker.best > cost {
                walker.restart_from(&cars, cost);
            }
        }
    }
    let best = leader(&walkers);
    Found {
        row: walkers[best].best_cars.clone(),
        cost: walkers[best].best,
        steps: walkers.iter().map(|walker| walker.steps).sum(),
    }
}

/// The walker with the best order; of equals the first.
fn leader(walkers: &[Walker<'_>]) -> usize {
    let costs = walkers.iter().map(|walker| walker.best).enumerate();
    costs
        .min_by_key(|(at, cost)| (*cost, *at))
        .map_or(0, |(at, _)| at)
}
