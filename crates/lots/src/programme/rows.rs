//! The programme of one sequence: its rows, its cost and a first guess, all in
//! units in which the cycle and the cost are about 1.

use crate::model::{Job, LONGEST_DAYS};

/// A linear inequality `sum of coefficient x unknown >= bound`.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Row {
    /// Unknown and coefficient; unused places have a coefficient of 0 and the
    /// unknown of the first.
    pub(crate) terms: [(u32, f64); 4],
    pub(crate) bound: f64,
}

impl Row {
    fn new(bound: f64) -> Self {
        Self {
            terms: [(u32::MAX, 0.0); 4],
            bound,
        }
    }

    fn add(&mut self, unknown: Option<u32>, by: f64) {
        let Some(unknown) = unknown else { return };
        for term in &mut self.terms {
            if term.0 == unknown || term.0 == u32::MAX {
                *term = (unknown, term.1 + by);
                return;
            }
        }
    }

    /// Points unused places at a real unknown, so that loops need no test.
    fn close(mut self) -> Self {
        let first = self.terms[0].0;
        for term in &mut self.terms {
            if term.0 == u32::MAX {
                term.0 = first;
            }
        }
        self
    }

    pub(crate) fn product(&self, z: &[f64]) -> f64 {
        let [a, b, c, d] = self.terms;
        a.1 * z[a.0 as usize]
            + b.1 * z[b.0 as usize]
            + (c.1 * z[c.0 as usize] + d.1 * z[d.0 as usize])
    }

    /// How far above its bound it is.
    pub(crate) fn value(&self, z: &[f64]) -> f64 {
        self.product(z) - self.bound
    }
}

/// A lot in the sequence.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Lot {
    /// Position of the item's next lot.
    pub(crate) next: usize,
    /// Whether that is in the next cycle.
    pub(crate) wraps: bool,
    pub(crate) carry: f64,
    load: f64,
    /// Lots of the item in the cycle.
    count: f64,
    /// Changeover to the lot that follows.
    changeover: f64,
    most: f64,
}

/// A sequence with its figures scaled.
pub(crate) struct Shape {
    pub(crate) n: usize,
    /// Starts but the first, the cycle, and the excess over limits if any.
    pub(crate) unknowns: usize,
    pub(crate) lots: Vec<Lot>,
    /// Sum of the changeover costs.
    pub(crate) fixed: f64,
    /// Days of one unit of time.
    pub(crate) days: f64,
    /// Money a day of one unit of cost.
    pub(crate) money: f64,
    /// Whether any lot has a limit.
    pub(crate) capped: bool,
}

impl Shape {
    pub(crate) fn of(jobs: &[Job], sequence: &[u16], margin: f64) -> Self {
        let n = sequence.len();
        let mut count = vec![0_u32; jobs.len()];
        for &item in sequence {
            count[usize::from(item)] += 1;
        }
        let (mut fixed, mut carry, mut busy, mut load) = (0.0, 0.0, 0.0, 0.0);
        let mut shortest = f64::INFINITY;
        for (job, &f) in jobs.iter().zip(&count) {
            let f = f64::from(f);
            fixed += f * job.cost;
            carry += job.carry / f.max(1.0);
            busy += f * (job.changeover + margin);
            load += job.load;
            shortest = shortest.min(f * job.most);
        }
        // The equal gaps that would be best if lots could lie on each other.
        let least = busy / (1.0 - load).max(1e-9);
        let best = if carry > 0.0 {
            (fixed / carry).sqrt()
        } else {
            shortest
        };
        let days = best.clamp(least, least.max(shortest)).max(1e-6);
        let money = (fixed / days + carry * days).max(1e-12);
        let lots = lots(jobs, sequence, &count, (days, money), margin);
        let capped = lots.iter().any(|lot| lot.most.is_finite());
        Self {
            n,
            unknowns: n + usize::from(capped),
            lots,
            fixed: fixed / days / money,
            days,
            money,
            capped,
        }
    }

    /// The unknown of a start; the first start is 0 and has none.
    fn start(&self, at: usize) -> Option<u32> {
        if at == self.n {
            Some(self.cycle())
        } else if at == 0 {
            None
        } else {
            Some(at as u32 - 1)
        }
    }

    /// The unknown of the cycle's length.
    pub(crate) fn cycle(&self) -> u32 {
        self.n as u32 - 1
    }

    /// The unknowns that make up a lot's gap: less, plus, and the cycle.
    pub(crate) fn gap(&self, at: usize) -> [(Option<u32>, f64); 3] {
        let lot = self.lots[at];
        [
            (self.start(at), -1.0),
            (self.start(lot.next), 1.0),
            (Some(self.cycle()), f64::from(u8::from(lot.wraps))),
        ]
    }

    pub(crate) fn rows(&self, rows: &mut Vec<Row>) {
        rows.clear();
        for (at, lot) in self.lots.iter().enumerate() {
            let mut row = Row::new(lot.changeover);
            row.add(self.start(at), -1.0);
            row.add(self.start(at + 1), 1.0);
            for (unknown, by) in self.gap(at) {
                row.add(unknown, -lot.load * by);
            }
            rows.push(row.close());
        }
        if !self.capped {
            return;
        }
        let excess = Some(self.n as u32);
        let mut least = Row::new(0.0);
        least.add(excess, 1.0);
        rows.push(least.close());
        for (at, lot) in self.lots.iter().enumerate() {
            if lot.most.is_finite() {
                let mut row = Row::new(-lot.most);
                row.add(excess, 1.0);
                for (unknown, by) in self.gap(at) {
                    row.add(unknown, -by);
                }
                rows.push(row.close());
            }
        }
    }

    /// Length of a lot's gap.
    pub(crate) fn gap_at(&self, z: &[f64], at: usize) -> f64 {
        self.gap(at)
            .iter()
            .map(|(unknown, by)| unknown.map_or(0.0, |unknown| by * z[unknown as usize]))
            .sum()
    }

    /// Money per unit of time, without the charge for excess.
    pub(crate) fn cost(&self, z: &[f64]) -> f64 {
        let mut sum = self.fixed;
        for at in 0..self.n {
            let gap = self.gap_at(z, at);
            sum += self.lots[at].carry * gap * gap;
        }
        sum / z[self.n - 1]
    }

    /// Slots in proportion to what runs in them, on a cycle of one unit.
    pub(crate) fn first_guess(&self, z: &mut Vec<f64>) {
        let slot = |lot: &Lot| lot.load / lot.count + lot.changeover;
        let sum: f64 = self.lots.iter().map(slot).sum();
        let mut at = 0.0;
        z.clear();
        for lot in &self.lots {
            at += slot(lot) / sum;
            z.push(at);
        }
        z[self.n - 1] = 1.0;
        if self.capped {
            z.push(0.01);
        }
    }
}

fn lots(
    jobs: &[Job],
    sequence: &[u16],
    count: &[u32],
    (days, money): (f64, f64),
    margin: f64,
) -> Vec<Lot> {
    let n = sequence.len();
    let mut next = vec![None; jobs.len()];
    let mut first = vec![None; jobs.len()];
    for (at, &item) in sequence.iter().enumerate() {
        first[usize::from(item)].get_or_insert(at);
    }
    let mut lots = Vec::with_capacity(n);
    for (at, &item) in sequence.iter().enumerate().rev() {
        let item = usize::from(item);
        let job = &jobs[item];
        let follower = &jobs[usize::from(sequence[(at + 1) % n])];
        lots.push(Lot {
            next: next[item].or(first[item]).unwrap_or(at),
            wraps: next[item].is_none(),
            carry: job.carry * days / money,
            load: job.load,
            count: f64::from(count[item]),
            changeover: (follower.changeover + margin) / days,
            // A limit far above the whole cycle needs no row.
            most: if job.most < LONGEST_DAYS {
                (job.most - margin) / days
            } else {
                f64::INFINITY
            },
        });
        next[item] = Some(at);
    }
    lots.reverse();
    lots
}
