//! What no timetable can beat, and the proof that a line has too little time.
//!
//! *Independent solution with a price on line time* (Bomberger 1966; Dobson
//! 1987, section 1): take away that lots must not lie on each other, and keep
//! that running and changeovers fit into the time. What is left,
//!
//! ```text
//! least    sum of cost / g + carry x g
//! such that  sum of load + changeover / g <= 1,   g <= most
//! ```
//!
//! is convex with one multiplier for each line. Every timetable, with lots
//! equal or not, costs at least this: an item's average gap keeps the row, and
//! unequal gaps only add to its carrying. With several lines each item may take
//! whichever line is cheapest at the prices, so that any prices at all give a
//! bound; the best are sought.

use crate::model::{Checked, Job};

/// One line's items made at the least cost while lots may lie on each other.
#[derive(Clone, Debug)]
pub(crate) struct Independent {
    /// Money a day.
    pub(crate) cost: f64,
    /// Price of a day of line time.
    pub(crate) price: f64,
    /// Days between the starts of each item's lots.
    pub(crate) every: Vec<f64>,
}

/// The gap that is best for a job alone when line time has a price.
fn best_gap(job: &Job, price: f64) -> f64 {
    let fixed = job.cost + price * job.changeover;
    if job.carry > 0.0 {
        // A changeover that is free at this price would be made all the time.
        (fixed / job.carry).sqrt().clamp(1e-12, job.most)
    } else {
        job.most
    }
}

/// Least cost of a job when line time has a price.
fn priced(job: &Job, price: f64) -> f64 {
    let fixed = job.cost + price * job.changeover;
    let split = if fixed < job.carry * job.most * job.most {
        2.0 * (fixed * job.carry).sqrt()
    } else {
        fixed / job.most + job.carry * job.most
    };
    split + price * job.load
}

/// Share of the line's time that the jobs need at this price.
fn need(jobs: &[Job], price: f64) -> f64 {
    jobs.iter()
        .map(|job| job.load + job.changeover / best_gap(job, price))
        .sum()
}

/// The least share of the line's time that the jobs can do with.
pub(crate) fn least_load(jobs: &[Job]) -> f64 {
    jobs.iter().map(Job::least_load).sum()
}

/// Halvings of the bracket on the price: more than an f64 has digits.
const HALVINGS: usize = 90;

/// Solves the relaxation of one line of which `capacity` may be used, 1 for all
/// of it; none when the line has too little time.
pub(crate) fn independent(jobs: &[Job], capacity: f64) -> Option<Independent> {
    if least_load(jobs) > capacity {
        return None;
    }
    let excess = |price: f64| need(jobs, price) - capacity;
    let mut price = 0.0;
    if excess(0.0) > 0.0 {
        let ceiling = 1e8
            * jobs
                .iter()
                .map(|job| priced(job, 0.0))
                .sum::<f64>()
                .max(1e-6);
        let mut high = 1e-12 * ceiling;
        while excess(high) > 0.0 {
            high *= 4.0;
            // So near the limit a higher price tells nothing more, and its
            // rounding would reach into the bound.
            if high > ceiling {
                break;
            }
        }
        let mut low = 0.0;
        for _ in 0..HALVINGS {
            let middle = f64::midpoint(low, high);
            if middle <= low || middle >= high {
                break;
            }
            if excess(middle) > 0.0 {
                low = middle;
            } else {
                high = middle;
            }
        }
        price = high;
    }
    let every: Vec<f64> = jobs.iter().map(|job| best_gap(job, price)).collect();
    // The dual function, so that a price a hair off still gives a bound.
    let cost = jobs.iter().map(|job| priced(job, price)).sum::<f64>() - price * capacity;
    Some(Independent { cost, price, every })
}

/// Rounds of the search for prices when items can choose among lines.
const ROUNDS: usize = 400;

/// A bound on any timetable of the whole problem. `prices` are where the search
/// for better ones starts, one for each line.
pub(crate) fn of_all(checked: &Checked, prices: &[f64], near: f64) -> f64 {
    let mut prices = prices.to_vec();
    let (mut bound, mut slope) = dual(checked, &prices);
    let mut reach = 1.0;
    for _ in 0..ROUNDS {
        let size: f64 = slope.iter().map(|s| s * s).sum();
        if size < 1e-24 || bound >= near {
            break;
        }
        // Polyak's step towards the cost of a timetable at hand.
        let step = reach * (near - bound) / size;
        let tried: Vec<f64> = prices
            .iter()
            .zip(&slope)
            .map(|(price, s)| (price + step * s).max(0.0))
            .collect();
        let (value, next) = dual(checked, &tried);
        if value > bound {
            (bound, slope, prices) = (value, next, tried);
        } else {
            reach *= 0.7;
        }
    }
    // Rounding of a few hundred sums must not lift it.
    bound * (1.0 - 1e-12)
}

/// The dual function at these prices, and its slope.
fn dual(checked: &Checked, prices: &[f64]) -> (f64, Vec<f64>) {
    let mut value = -prices.iter().sum::<f64>();
    let mut slope = vec![-1.0; prices.len()];
    for item in 0..checked.item_count() {
        let ways = checked.ways(item).iter().enumerate().map(|(way, job)| {
            let line = checked.line_of(item, way);
            (priced(job, prices[line]), line, job)
        });
        if let Some((cost, line, job)) = ways.min_by(|a, b| a.0.total_cmp(&b.0)) {
            value += cost;
            slope[line] += job.load + job.changeover / best_gap(job, prices[line]);
        }
    }
    (value, slope)
}
