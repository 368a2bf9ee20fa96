//! Rows kept at different warmth, each at its own all the time, that change
//! places when a warm one has come to cost no more than a colder one: what is
//! warm wanders, what is cold mends, and no row is stuck for good (Swendsen &
//! Wang 1986, "Replica Monte Carlo simulation of spin glasses"; Hukushima &
//! Nemoto 1996, "Exchange Monte Carlo method").
//!
//! Where spacing rules with short windows are all there is, this finds with so
//! many moves what one row that cools takes several times as many for.

use rayon::prelude::*;

use crate::cost::Cost;
use crate::evaluate;
use crate::plan::Plan;
use crate::short::{ShortRow, Tables, step};
use crate::start;
use crate::stream::Stream;
use crate::walker::Begin;
use crate::watch::Watch;

/// Ladders that know nothing of one another: as many threads are busy without
/// ever waiting for the others' stints.
const LADDERS: usize = 2;

/// Rows of a ladder.
const RUNGS: usize = 8;

/// Rows that walk whole stints; the warmer ones, which lose their way anyhow,
/// walk a share.
const WHOLE: usize = 4;
const SHARE: u64 = 3;

/// Warmth of the coldest and of the warmest, in breaks. At the coldest one
/// change in 130,000 that adds a break passes; at the warmest the order of the
/// best rows is forgotten, of 400 cars too. So near to one another that at the
/// least one exchange in eight comes about.
const COLDEST: f64 = 0.085;
const WARMEST: f64 = 0.20;

/// Moves of a row between two exchanges.
const STINT: u64 = 65_536;

/// Stints of a ladder between two looks at the others, at the most: after a few
/// at first, for what is found at once.
const LONGEST_SPELL: u64 = 32;

/// Breaks that a change may add at the most.
const MOST_ADDED: usize = 12;

/// A row at its warmth.
struct Rung<'a> {
    row: ShortRow<'a>,
    stream: Stream,
    warmth: f64,
    /// Of 2^32 chances, those in which a change may add 1, 2, ... breaks.
    chances: [u64; MOST_ADDED],
    best: i64,
    best_cars: Vec<u16>,
}

/// Rows that exchange their warmth; what they find is the same on any number
/// of threads.
pub(crate) struct Tempering<'a> {
    plan: &'a Plan,
    ladders: Vec<Ladder<'a>>,
}

/// Rows from cold to warm.
struct Ladder<'a> {
    rungs: Vec<Rung<'a>>,
    /// Of the exchanges.
    stream: Stream,
    /// Which neighbours exchange next.
    turn: usize,
    /// Moves of all rows.
    steps: u64,
}

impl<'a> Tempering<'a> {
    pub(crate) fn new(plan: &'a Plan, tables: &'a Tables, seed: u64, begin: Begin<'_>) -> Self {
        let ladder = |number| Ladder::new(plan, tables, number, seed, begin);
        Self {
            plan,
            ladders: (0..LADDERS).map(ladder).collect(),
        }
    }

    /// Lets all rows together walk about so many moves; ends early where an
    /// order costs no more than `goal`, or the watch is cancelled. What they have
    /// is told between two spells, when none of them walks.
    pub(crate) fn walk(
        &mut self,
        moves: u64,
        goal: &Cost,
        watch: &Watch<'_>,
        told: impl Fn(&Self),
    ) {
        let wanted = goal[self.plan.rules[0].tier] / self.plan.rules[0].price;
        let shares = WHOLE as u64 * SHARE + (RUNGS - WHOLE) as u64;
        let each = moves / LADDERS as u64 * SHARE / shares;
        let (mut spent, mut spell) = (0, STINT);
        while spent < each && !watch.cancelled() && self.leader().best > wanted {
            let steps = spell.min(each - spent);
            let ladders = self.ladders.par_iter_mut();
            ladders.for_each(|ladder| ladder.walk(steps, wanted, watch));
            spent += steps;
            told(self);
            spell = (2 * spell).min(LONGEST_SPELL * STINT);
        }
    }

    /// Moves of all rows.
    pub(crate) fn steps(&self) -> u64 {
        self.ladders.iter().map(|ladder| ladder.steps).sum()
    }

    /// The rung with the best order; of equals the first ladder's coldest.
    fn leader(&self) -> &Rung<'a> {
        let rungs = self.ladders.iter().flat_map(|ladder| &ladder.rungs);
        let best = rungs.min_by_key(|rung| rung.best);
        best.unwrap_or(&self.ladders[0].rungs[0])
    }

    /// The best order found and what it costs.
    pub(crate) fn best(&self) -> (Cost, &[u16]) {
        let cars = &self.leader().best_cars;
        (evaluate::cost(self.plan, cars), cars)
    }
}

impl<'a> Ladder<'a> {
    fn new(plan: &'a Plan, tables: &'a Tables, number: usize, seed: u64, begin: Begin<'_>) -> Self {
        let first = number * (RUNGS + 1);
        let rung = |up: usize| {
            let stream = Stream::keyed(seed, (first + up) as u64);
            Rung::new(plan, tables, up, stream, begin)
        };
        Self {
            rungs: (0..RUNGS).map(rung).collect(),
            stream: Stream::keyed(seed, (first + RUNGS) as u64),
            turn: 0,
            steps: 0,
        }
    }

    /// Lets a whole row walk so many moves, and the others theirs.
    fn walk(&mut self, moves: u64, wanted: i64, watch: &Watch<'_>) {
        let mut spent = 0;
        let found = |rung: &Rung<'_>| rung.best <= wanted;
        while spent < moves && !watch.cancelled() && !self.rungs.iter().any(found) {
            let steps = STINT.min(moves - spent);
            // One by one, so that the long ones are shared evenly where there
            // are more threads than ladders.
            let walked = self.rungs.par_iter_mut().with_max_len(1).enumerate();
            let walked = walked.map(|(number, rung)| {
                let share = if number < WHOLE { 1 } else { SHARE };
                rung.walk(steps / share, wanted)
            });
            self.steps += walked.sum::<u64>();
            spent += steps;
            exchange(&mut self.rungs[self.turn..], &mut self.stream);
            self.turn = 1 - self.turn;
        }
    }
}

/// Neighbours change places by the chance that keeps each warmth in balance.
fn exchange(rungs: &mut [Rung<'_>], stream: &mut Stream) {
    for pair in rungs.chunks_exact_mut(2) {
        let [cold, warm] = pair else { continue };
        let gain = (cold.row.breaks - warm.row.breaks) as f64;
        let chance = libm::exp(gain * (1.0 / cold.warmth - 1.0 / warm.warmth));
        let draw = (stream.bits() >> 32) as f64 / f64::from(u32::MAX);
        if draw < chance {
            std::mem::swap(&mut cold.row, &mut warm.row);
        }
    }
}

impl<'a> Rung<'a> {
    fn new(
        plan: &'a Plan,
        tables: &'a Tables,
        number: usize,
        mut stream: Stream,
        begin: Begin<'_>,
    ) -> Self {
        let cars = match begin {
            Begin::Rough(cars) | Begin::Good(cars) => cars.to_vec(),
            Begin::Anew => start::greedy(plan, &mut stream),
        };
        let up = number as f64 / (RUNGS - 1) as f64;
        let warmth = COLDEST * libm::pow(WARMEST / COLDEST, up);
        let chance = |added: usize| {
            let share = libm::exp(-(added as f64 + 1.0) / warmth);
            (share * f64::from(u32::MAX)) as u64
        };
        let row = ShortRow::new(plan, tables, &cars);
        Self {
            best: row.breaks,
            best_cars: cars,
            row,
            stream,
            warmth,
            chances: std::array::from_fn(chance),
        }
    }

    /// Gives the moves tried.
    fn walk(&mut self, steps: u64, wanted: i64) -> u64 {
        let mut tried = 0;
        while tried < steps && self.best > wanted {
            let chance = self.stream.bits() >> 32;
            let allowed = self.chances.iter().take_while(|most| chance < **most);
            let swept = step(&mut self.row, &mut self.stream, allowed.count() as i32);
            tried += swept.tried;
            if swept.made && self.row.breaks < self.best {
                self.best = self.row.breaks;
                self.best_cars.copy_from_slice(self.row.cars());
            }
        }
        tried
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::{Class, Force, Problem, Rule};

    /// Vans with three options that are nearly used up: no order known keeps all
    /// three rules.
    fn week() -> Problem {
        let counts = [3, 6, 7, 9, 5, 8, 4, 2];
        let class = |(set, count): (usize, &u32)| Class {
            name: set.to_string(),
            count: *count,
            options: (0..3).map(|option| set >> option & 1 == 1).collect(),
            colour: None,
        };
        let rule = |(option, (at_most, in_every)): (usize, (u32, u32))| Rule {
            option,
            at_most,
            in_every,
            force: Force::Soft(2),
        };
        Problem {
            classes: counts.iter().enumerate().map(class).collect(),
            options: (0..3).map(|option| option.to_string()).collect(),
            rules: [(2, 3), (1, 2), (2, 5)]
                .into_iter()
                .enumerate()
                .map(rule)
                .collect(),
            ..Problem::empty()
        }
    }

    #[test]
    fn rows_that_change_places_find_the_same_order_on_any_number_of_threads() {
        let checked = week().check().unwrap();
        let plan = &checked.plan;
        let tables = Tables::new(plan).unwrap();
        let on = |threads: usize| {
            let pool = rayon::ThreadPoolBuilder::new().num_threads(threads);
            let run = || {
                let mut rows = Tempering::new(plan, &tables, 3, Begin::Anew);
                rows.walk(240_000, &Cost::ZERO, &Watch::none(), |_| {});
                let (cost, cars) = rows.best();
                (cost, cars.to_vec())
            };
            pool.build().unwrap().install(run)
        };
        let (one, three) = (on(1), on(3));
        assert_eq!(one.1, three.1);
        assert_eq!(one.0, evaluate::cost(plan, &one.1));
        let begun = start::greedy(plan, &mut Stream::keyed(3, 0));
        assert!(one.0 <= evaluate::cost(plan, &begun));
    }
}
