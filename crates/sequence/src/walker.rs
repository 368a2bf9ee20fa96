//! One walker: very many small changes, each kept or not by a manner of its own.
//!
//! Goals in strict order are taken up one after another, those before held where
//! they are. A cooling walker lets changes make things worse, much at first and
//! then less and less; a steady one seldom does, and begins anew from the best
//! after a kick. Which of them gets further differs from case to case.

use crate::cooling::{Cooling, Range};
use crate::cost::{Cost, TIERS};
use crate::evaluate;
use crate::model::Counted;
use crate::moves::{Move, Picker};
use crate::plan::Plan;
use crate::row::Row;
use crate::start;
use crate::stream::Stream;
use crate::watch::{Settings, Watch};

/// Moves between two looks at the cancel flag.
pub(crate) const CHUNK: u64 = 4_096;

pub(crate) struct Walker<'a> {
    row: Row<'a>,
    picker: Picker,
    stream: Stream,
    pub(crate) best: Cost,
    pub(crate) best_cars: Vec<u16>,
    cooling: Cooling,
    /// A small step of the cost looked at.
    step: i64,
    pub(crate) steps: u64,
    /// The last tier that changes are judged by.
    focus: usize,
    /// The least cost up to there, and the moves since it was bettered.
    focused: Cost,
    waited: u64,
    /// Moves since that tier was taken up.
    held: u64,
    manner: Manner,
    /// Moves before all walkers settle.
    of: u64,
}

/// How a walker lets changes make things worse.
#[derive(Clone, Copy)]
enum Manner {
    /// Less and less, over so many moves while many are left.
    Cooling { longest: u64 },
    /// Always as seldom, by one step, each goal for as long as it gets better, and so many
    /// moves more.
    Steady {
        daring: u64,
        patience: u64,
        holdable: u64,
    },
}

/// Where a search begins, and how far it may leave it.
#[derive(Clone, Copy)]
pub(crate) enum Begin<'a> {
    /// An order built anew by each walker.
    Anew,
    /// From a row that is no more than a start.
    Rough(&'a [u16]),
    /// From a row that is good already.
    Good(&'a [u16]),
}

/// How hot a cooling begins, in the dearest steps of a goal: the order is
/// forgotten.
const HOT: f64 = 0.9;

/// How cold it ends, in the cheapest steps: one change in 200,000 may make
/// things worse.
const COLD: f64 = 0.08;

/// How hot and how cold where costs have no steps, in what a change costs on
/// the average.
const HOT_UNSTEPPED: f64 = 0.5;
const COLD_UNSTEPPED: f64 = 0.002;

/// How often steady walkers let a change pass that makes things worse by one
/// step, in 65,536, by turns.
const STEADY: [u64; 4] = [0, 10, 0, 40];

/// Moves of the first coolings; those of each round through the goals are so
/// many times as long as those before, up to so many a car.
const FIRST_COOLING: u64 = 2_000_000;
const LONGER: u64 = 3;

/// The last long round may be so many times as long as the one that was due.
const LEAP: u64 = 10;

/// No more than one in so many of all moves makes the first cooling.
const FIRST_SHARE: u64 = 20;
const MOST_A_CAR: u64 = 60_000;

/// Moves a car with fewer of which no order is worth forgetting.
pub(crate) const LEAST_A_CAR: u64 = 8_000;

/// From this part of a search on all walkers go on steadily from the best order,
/// for what its last goals may still gain.
pub(crate) const SETTLED: f64 = 0.85;

/// How often settled walkers do, by turns.
const SETTLED_DARING: [u64; 4] = [10, 0, 10, 2];

/// Moves without gain in a goal before a steady walker looks at the next one
/// as well.
const PATIENCE: u64 = 1_000_000;

/// One in so many of the moves left is kept for the goals behind one that
/// gets better and better.
const LATER_SHARE: u64 = 4;

/// Places of the part that a kick mixes up.
const KICKED: usize = 40;

/// Changes that the average is taken of.
const SAMPLE: usize = 256;

/// More than any change costs.
const FREE: i64 = i64::MAX / 8;

/// The time of a search, as far as its caller tells it.
pub(crate) struct Clock<'a> {
    pub(crate) watch: &'a Watch<'a>,
    at_start: f64,
}

impl<'a> Clock<'a> {
    pub(crate) fn new(watch: &'a Watch<'a>) -> Self {
        Self {
            watch,
            at_start: (watch.gone)(),
        }
    }

    pub(crate) fn gone(&self) -> f64 {
        (self.watch.gone)().clamp(0.0, 1.0)
    }
}

impl<'a> Walker<'a> {
    pub(crate) fn new(plan: &'a Plan, number: u32, settings: &Settings, begin: Begin<'_>) -> Self {
        let mut stream = Stream::keyed(settings.seed, number.into());
        let cars = match begin {
            Begin::Rough(cars) | Begin::Good(cars) => cars.to_vec(),
            Begin::Anew => start::greedy(plan, &mut stream),
        };
        let row = Row::new(plan, cars);
        let few = settings.steps < LEAST_A_CAR * plan.len as u64;
        let all_steady = few || matches!(begin, Begin::Good(_));
        // Runs counted once however far they exceed a rule make a flat country,
        // where walking on the level finds more than warmth does.
        let flat = plan.counted == Counted::Windows && plan.active_tiers().count_ones() == 1;
        let cools = if flat {
            number % 4 == 2
        } else {
            number.is_multiple_of(2)
        };
        let turn = if all_steady || flat {
            number
        } else {
            number / 2
        };
        let manner = if all_steady || !cools {
            Manner::Steady {
                daring: STEADY[turn as usize % STEADY.len()],
                patience: PATIENCE,
                holdable: 0,
            }
        } else {
            Manner::Cooling {
                longest: FIRST_COOLING.min(settings.steps / FIRST_SHARE).max(CHUNK),
            }
        };
        let mut walker = Self {
            best: row.cost,
            best_cars: row.cars.clone(),
            row,
            picker: Picker::new(plan),
            stream,
            cooling: Cooling::new(Range::NONE, 1),
            step: 0,
            steps: 0,
            focus: 0,
            focused: Cost::ZERO,
            waited: 0,
            held: 0,
            manner,
            of: (settings.steps as f64 * SETTLED) as u64,
        };
        walker.look_at(plan.next_tier(0), walker.of);
        walker
    }

    /// Judges changes by the tiers up to this one.
    fn look_at(&mut self, tier: usize, left: u64) {
        self.focus = tier;
        self.row.mind_level(tier >= self.row.plan.level_tier);
        self.focused = self.row.cost.up_to(tier);
        (self.waited, self.held) = (0, 0);
        let plan = self.row.plan;
        let painted = plan.change_price > 0 && tier >= plan.change_tier;
        let blocked = plan.max_block.is_some() && (painted || plan.change_price == 0);
        self.picker.mind_colours(painted || blocked);
        self.step = plan.step_of(tier);
        match &mut self.manner {
            Manner::Steady { holdable, .. } => *holdable = left - left / LATER_SHARE,
            Manner::Cooling { longest } => {
                let length = share(left, plan.next_tier(tier) == tier, *longest, most_of(plan));
                self.cooling = Cooling::new(self.range(), length);
            }
        }
    }

    /// Moves left before all walkers settle: of the steps, and of the time by
    /// how many it has taken so far.
    fn left(&self, clock: &Clock<'_>) -> u64 {
        let by_steps = self.of - self.steps.min(self.of);
        let now = clock.gone();
        let gone = now - clock.at_start;
        if gone <= 0.0 || self.steps == 0 {
            return by_steps;
        }
        let by_time = self.steps as f64 * (SETTLED - now).max(0.0) / gone;
        by_steps.min(by_time as u64)
    }

    /// How hot and how cold the goal looked at is cooled.
    fn range(&mut self) -> Range {
        let plan = self.row.plan;
        let Some((least, most)) = plan.steps_of(self.focus) else {
            let mean = self.mean_change();
            return Range {
                hot: HOT_UNSTEPPED * mean,
                cold: COLD_UNSTEPPED * mean,
                step: 0,
            };
        };
        let levels = plan.level_price > 0 && plan.level_tier == self.focus;
        Range {
            hot: HOT * most as f64,
            cold: COLD * least as f64,
            step: if levels { 0 } else { least },
        }
    }

    /// What exchanging two cars adds to the goal looked at or takes from it,
    /// on the average of some.
    fn mean_change(&mut self) -> f64 {
        let plan = self.row.plan;
        let (free, all) = (plan.len - plan.free, Cost([FREE; TIERS]));
        let (mut sum, mut count) = (0.0, 0.0);
        let sample = if free < 2 { 0 } else { SAMPLE };
        for _ in 0..sample {
            let (i, j) = (self.stream.below(free), self.stream.below(free));
            let (i, j) = (plan.free + i.min(j), plan.free + i.max(j));
            if self.row.cars[i] == self.row.cars[j] {
                continue;
            }
            if let Some(change) = self.row.swap_change(i, j, &all) {
                sum += change[self.focus].abs() as f64;
                count += 1.0;
            }
        }
        (sum / f64::max(count, 1.0)).max(1.0)
    }

    /// The most that the next change may add. Goals behind the one looked at
    /// may suffer: minding all of them at once would leave too few ways open.
    fn bound(&mut self) -> Cost {
        let mut bound = Cost::ZERO;
        for tier in self.focus + 1..TIERS {
            bound[tier] = FREE;
        }
        bound[self.focus] = match self.manner {
            Manner::Cooling { .. } => self.cooling.allowance(&mut self.stream),
            Manner::Steady { daring: 0, .. } => 0,
            Manner::Steady { daring, .. } if self.stream.bits() & 0xFFFF < daring => self.step,
            Manner::Steady { .. } => 0,
        };
        bound
    }

    pub(crate) fn walk(&mut self, steps: u64, goal: &Cost, clock: &Clock<'_>) {
        let mut left = steps;
        while left > 0 && !clock.watch.cancelled() && self.best > *goal {
            let chunk = left.min(CHUNK);
            for _ in 0..chunk {
                self.step();
            }
            left -= chunk;
            self.steps += chunk;
            self.cooling.pass(chunk);
            self.take_up(goal, clock);
        }
    }

    /// Goes on to the next goal when this one is met or gets no better, and
    /// from the last one back to the first that is not met, with more patience.
    fn take_up(&mut self, goal: &Cost, clock: &Clock<'_>) {
        match self.manner {
            Manner::Cooling { .. } => self.cool_on(goal, clock),
            Manner::Steady { .. } => self.hold_on(goal, clock),
        }
    }

    fn cool_on(&mut self, goal: &Cost, clock: &Clock<'_>) {
        let plan = self.row.plan;
        let met = self.best.up_to(self.focus) <= goal.up_to(self.focus);
        if !met && !self.cooling.is_over() {
            return;
        }
        let mut tier = plan.next_tier(self.focus);
        if tier == self.focus {
            if let Manner::Cooling { longest, .. } = &mut self.manner {
                *longest = (*longest * LONGER).min(most_of(plan));
            }
            tier = plan.next_tier(0);
        }
        let left = self.left(clock);
        self.go_on_from_best();
        let tier = self.first_open(tier, goal);
        self.look_at(tier, left);
    }

    /// A goal that was long in getting better is waited for as long again.
    fn hold_on(&mut self, goal: &Cost, clock: &Clock<'_>) {
        let plan = self.row.plan;
        let Manner::Steady {
            patience, holdable, ..
        } = &mut self.manner
        else {
            return;
        };
        let next = plan.next_tier(self.focus);
        if next > self.focus {
            let met = self.focused <= goal.up_to(self.focus);
            let waited_out = self.waited > (*patience).max(self.held / 2);
            if met || waited_out || self.held > *holdable {
                let left = self.left(clock);
                self.look_at(next, left);
            }
        } else if self.waited > 2 * *patience {
            *patience += *patience / 2;
            let left = self.left(clock);
            self.go_on_from_best();
            self.kick();
            let tier = self.first_open(plan.next_tier(0), goal);
            self.look_at(tier, left);
        }
    }

    /// The first tier from this one on whose goals the best order has not met.
    fn first_open(&self, mut tier: usize, goal: &Cost) -> usize {
        let plan = self.row.plan;
        while self.best.up_to(tier) <= goal.up_to(tier) && plan.next_tier(tier) > tier {
            tier = plan.next_tier(tier);
        }
        tier
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
        }
    }

    fn go_on_from_best(&mut self) {
        self.row.cars.copy_from_slice(&self.best_cars);
        self.row.recount();
    }

    /// Whether it cools down, which forgets much of an order.
    pub(crate) const fn cools(&self) -> bool {
        matches!(self.manner, Manner::Cooling { .. })
    }

    /// Whether its best order costs more.
    pub(crate) fn is_behind(&self, cost: &Cost) -> bool {
        self.best > *cost
    }

    /// Goes on from an order that costs less than its best.
    pub(crate) fn go_on_from(&mut self, cars: &[u16], cost: Cost) {
        self.best = cost;
        self.best_cars.copy_from_slice(cars);
        self.go_on_from_best();
        self.focused = cost.up_to(self.focus);
        self.waited = 0;
    }

    /// Goes on steadily from an order, from its last goal on.
    pub(crate) fn settle(&mut self, number: usize, cars: &[u16], cost: Cost) {
        self.go_on_from(cars, cost);
        self.manner = Manner::Steady {
            daring: SETTLED_DARING[number % SETTLED_DARING.len()],
            patience: PATIENCE,
            holdable: 0,
        };
        let mut last = self.focus;
        while self.row.plan.next_tier(last) > last {
            last = self.row.plan.next_tier(last);
        }
        self.look_at(last, u64::MAX / 2);
    }
}

/// Moves of the longest cooling while many are left.
fn most_of(plan: &Plan) -> u64 {
    (MOST_A_CAR * (plan.len - plan.free) as u64).max(FIRST_COOLING)
}

/// Moves of a cooling while so many are left. A goal with others behind it gets
/// two thirds of them; what is not too long and would leave too little for a
/// longer round is taken whole.
const fn share(left: u64, is_last: bool, longest: u64, most: u64) -> u64 {
    let share = if is_last { left } else { left / 3 * 2 };
    if share < LEAP * longest && share < 2 * most {
        if share < CHUNK { CHUNK } else { share }
    } else {
        longest
    }
}
