//! Lot lengths for a fixed sequence of lots on one line: a convex programme,
//! solved by an interior point method.
//!
//! Dobson (1987, "The economic lot-scheduling problem: achieving feasibility
//! using time-varying lot sizes") lets the lots of an item differ; Zipkin
//! (1991, "Computing optimal lot sizes in the economic lot scheduling
//! problem") finds their best lengths for a given sequence. Here the unknowns
//! are the starts of the runs and the length of the cycle. With a lot that
//! starts as the last one of its item runs out, the gap `g` to the item's next
//! start is the cover of the lot, its run takes `load x g` and it costs
//! `carry x g^2` to keep, so that
//!
//! ```text
//! least    (sum of changeover costs + sum of carry x g^2) / cycle
//! such that  start[j+1] - start[j] >= load x g[j] + changeover[j+1]
//!            g[j] <= most
//! ```
//!
//! is convex: squares over a positive linear function, on a polyhedron.
//! Mehrotra's predictor and corrector (1992) reaches a relative gap of 1e-6 in
//! about ten factorisations. The matrix couples a start with its neighbour and
//! the item's next start only, so that it is factorised within its envelope.

mod envelope;
mod rows;
mod step;

use crate::model::Job;
use envelope::Envelope;
use rows::{Row, Shape};

/// Starts and cycle of a fixed sequence.
#[derive(Clone, Debug)]
pub(crate) struct Lengths {
    /// Start of every run, in days, the first at 0.
    pub(crate) starts: Vec<f64>,
    /// Days of the cycle.
    pub(crate) cycle: f64,
    /// Money a day.
    pub(crate) cost: f64,
    /// Days by which the limits on cover would have to be longer; 0 when all
    /// are kept.
    pub(crate) over: f64,
}

impl Lengths {
    /// What a search compares: the cost, with a charge for limits not kept.
    pub(crate) fn rank(&self) -> f64 {
        if self.over > 0.0 {
            self.cost * (1.0 + CHARGE * self.over / self.cycle)
        } else {
            self.cost
        }
    }
}

/// What a day over a limit costs, in costs of the whole line per cycle: far
/// above any true price of cover, yet small enough for the arithmetic.
const CHARGE: f64 = 200.0;

/// When to stop.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Goal {
    /// Gap to the optimum, as a share of the cost.
    pub(crate) gap: f64,
    /// Stop as soon as the cost is certain to lie above this.
    pub(crate) give_up_above: f64,
    /// Days added to every changeover and taken off every limit, so that the
    /// rounding to ticks stays on the safe side.
    pub(crate) margin: f64,
}

/// Room to work in, kept from one sequence to the next.
#[derive(Default)]
pub(crate) struct Programme {
    matrix: Envelope,
    rows: Vec<Row>,
    z: Vec<f64>,
    dz: Vec<f64>,
    slack: Vec<f64>,
    dual: Vec<f64>,
    d_slack: Vec<f64>,
    d_dual: Vec<f64>,
    residual: Vec<f64>,
    gradient: Vec<f64>,
    right: Vec<f64>,
    centre: Vec<f64>,
    /// Multiply-adds spent so far: a clock that is the same everywhere.
    pub(crate) spent: u64,
}

/// How far inside the first point lies, and how dear its rows are: what a few
/// hundred sequences were solved from in the fewest steps, and further inside.
const STARTS: [f64; 3] = [0.2, 5.0, 100.0];

/// How a run of the method ends.
enum End {
    Solved(Lengths),
    /// The cost is certain to lie above the goal's limit.
    TooDear,
    /// The steps became too short.
    Stuck,
}

/// Factorisations at most; 10 to 20 are usual.
const MOST_STEPS: usize = 60;

impl Programme {
    /// The best lengths for `sequence`, indices into `jobs`. None when the
    /// cost is certain to lie above the goal's limit or the arithmetic fails.
    ///
    /// Every job must stand in the sequence, and no job twice in a row unless
    /// it is the only one.
    pub(crate) fn solve(&mut self, jobs: &[Job], sequence: &[u16], goal: &Goal) -> Option<Lengths> {
        let shape = Shape::of(jobs, sequence, goal.margin);
        // One sequence in ten thousand or so needs a start further inside.
        STARTS.iter().find_map(|start| {
            self.prepare(&shape, *start);
            match self.run(&shape, goal) {
                End::Solved(lengths) => Some(Some(lengths)),
                End::TooDear => Some(None),
                End::Stuck => None,
            }
        })?
    }

    fn run(&mut self, shape: &Shape, goal: &Goal) -> End {
        for _ in 0..MOST_STEPS {
            let seen = self.look(shape);
            if !seen.cost.is_finite() {
                return End::Stuck;
            }
            let exact = seen.infeasible < goal.gap * 1e-2;
            if exact && seen.unfit < goal.gap.max(1e-9) && seen.gap < goal.gap * seen.cost {
                return End::Solved(self.lengths(shape));
            }
            let sure = seen.infeasible < 1e-4 && seen.unfit < 1e-3;
            if sure && (seen.cost - 2.0 * seen.gap) * shape.money > goal.give_up_above {
                return End::TooDear;
            }
            if !self.advance(shape, seen.gap) {
                break;
            }
        }
        // The last digits are lost where a limit leaves next to no room; what
        // is there still holds when its rows do.
        let seen = self.look(shape);
        if seen.infeasible < 1e-7 && seen.gap < 1e-4 * seen.cost {
            End::Solved(self.lengths(shape))
        } else {
            End::Stuck
        }
    }

    fn prepare(&mut self, shape: &Shape, start: f64) {
        shape.rows(&mut self.rows);
        self.matrix.lay_out(shape.unknowns, shape, &self.rows);
        shape.first_guess(&mut self.z);
        for room in [&mut self.dz, &mut self.gradient, &mut self.right] {
            room.clear();
            room.resize(shape.unknowns, 0.0);
        }
        let m = self.rows.len();
        for room in [
            &mut self.d_slack,
            &mut self.d_dual,
            &mut self.residual,
            &mut self.centre,
        ] {
            room.clear();
            room.resize(m, 0.0);
        }
        self.slack.clear();
        self.dual.clear();
        // Slack of about a fifth of a mean slot keeps the first steps long.
        let usual = start / shape.n as f64;
        for row in &self.rows {
            let slack = row.value(&self.z).max(usual);
            self.slack.push(slack);
            self.dual.push(start / (m as f64 * slack));
        }
        if shape.capped {
            // Nearly all of the charge for excess is the price of its own row:
            // a start far from that throws the excess about by powers of ten.
            self.dual[shape.n] = CHARGE;
            self.slack[shape.n] = self.z[shape.n];
        }
    }

    fn lengths(&self, shape: &Shape) -> Lengths {
        let n = shape.n;
        let mut starts = Vec::with_capacity(n);
        starts.push(0.0);
        starts.extend(self.z[..n - 1].iter().map(|s| s * shape.days));
        let over = if shape.capped { self.z[n] } else { 0.0 };
        Lengths {
            starts,
            cycle: self.z[n - 1] * shape.days,
            cost: shape.cost(&self.z) * shape.money,
            // What the interior point leaves of a limit that can be kept.
            over: if over > 1e-6 { over * shape.days } else { 0.0 },
        }
    }
}

#[cfg(test)]
mod tests {
    use super::{Goal, Programme};
    use crate::model::{Job, LONGEST_DAYS};
    use crate::rotation;
    use crate::stream::Stream;

    const GOAL: Goal = Goal {
        gap: 1e-9,
        give_up_above: f64::INFINITY,
        margin: 0.0,
    };

    fn jobs(stream: &mut Stream, count: usize, capped: bool) -> Vec<Job> {
        let fill = 0.2 + 0.78 * stream.uniform();
        let share: Vec<f64> = (0..count).map(|_| stream.uniform()).collect();
        let whole: f64 = share.iter().sum();
        let job = |share: &f64| {
            let load = fill * share / whole;
            let carry = libm::exp(6.0 * stream.uniform() - 3.0) * (1.0 - load);
            Job {
                rate: 100.0,
                make: 100.0 / load,
                load,
                changeover: libm::exp(4.0 * stream.uniform() - 5.0),
                cost: if stream.below(4) == 0 {
                    0.0
                } else {
                    200.0 * stream.uniform()
                },
                carry,
                most: if capped && stream.below(2) == 0 {
                    200.0 * stream.uniform() + 1.0
                } else {
                    LONGEST_DAYS
                },
            }
        };
        share.iter().map(job).collect()
    }

    fn sequence(stream: &mut Stream, items: usize) -> Vec<u16> {
        let mut sequence: Vec<u16> = (0..items as u16).collect();
        for _ in 0..stream.below(40) {
            let at = stream.below(sequence.len() + 1);
            let item = stream.below(items) as u16;
            let before = sequence[(at + sequence.len() - 1) % sequence.len()];
            let after = sequence[at % sequence.len()];
            if before != item && after != item {
                sequence.insert(at, item);
            }
        }
        sequence
    }

    #[test]
    fn every_sequence_of_a_line_with_time_enough_has_its_best_lengths() {
        let mut stream = Stream::keyed(5, 0, 0);
        let mut programme = Programme::default();
        for round in 0..400 {
            let items = 2 + stream.below(12);
            let jobs = jobs(&mut stream, items, round % 2 == 1);
            let sequence = sequence(&mut stream, items);
            let lengths = programme.solve(&jobs, &sequence, &GOAL);
            assert!(lengths.is_some(), "round {round}: {jobs:?} {sequence:?}");
        }
    }

    #[test]
    fn the_rotation_cycle_gets_its_closed_form() {
        let mut stream = Stream::keyed(6, 0, 0);
        let mut programme = Programme::default();
        for round in 0..200 {
            let items = 2 + stream.below(12);
            let jobs = jobs(&mut stream, items, round % 2 == 1);
            let sequence: Vec<u16> = (0..items as u16).collect();
            let lengths = programme.solve(&jobs, &sequence, &GOAL).unwrap();
            match rotation::of(&jobs) {
                Ok(rotation) => {
                    assert!(lengths.over <= 0.0, "round {round}");
                    let off = (lengths.cost / rotation.cost - 1.0).abs();
                    assert!(
                        off < 1e-7,
                        "round {round}: {} {}",
                        lengths.cost,
                        rotation.cost
                    );
                }
                Err(floor) => {
                    let over = floor.least_days - floor.most_days;
                    assert!(
                        (lengths.over - over).abs() < 1e-4 * floor.least_days,
                        "round {round}"
                    );
                }
            }
        }
    }
}
