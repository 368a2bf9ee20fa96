//! First sequences.

use crate::model::Job;
use crate::stream::Stream;

/// Lots in one cycle at most: the work per candidate grows faster than their
/// number, and cycles much longer than the longest gap gain next to nothing.
const MOST_LOTS: usize = 110;

/// Draws a sequence from gaps that would be best if lots could lie on each
/// other. Even walks take powers of two, as Dobson does, odd ones any number.
pub(crate) fn sequence(jobs: &[Job], every: &[f64], walk: usize, stream: &mut Stream) -> Vec<u16> {
    let count = counts(jobs, every, walk, stream);
    lay_out(jobs, &count, stream)
}

/// Every item once, the shortest gap first: the rotation cycle.
pub(crate) fn rotation(jobs: &[Job]) -> Vec<u16> {
    (0..jobs.len() as u16).collect()
}

fn counts(jobs: &[Job], every: &[f64], walk: usize, stream: &mut Stream) -> Vec<usize> {
    let longest = every.iter().copied().fold(0.0, f64::max);
    // Spread the first few evenly over two octaves, then draw.
    let octave = if walk < 6 {
        walk as f64 / 6.0
    } else {
        stream.uniform()
    };
    let mut cycle = longest * libm::pow(2.0, 1.6 * octave - 0.6);
    loop {
        let lean = stream.uniform() * 0.5 + 0.25;
        let of = |(job, every): (&Job, &f64)| {
            let wanted = cycle / every;
            let count = if walk.is_multiple_of(2) {
                libm::pow(2.0, libm::floor(libm::log2(wanted) + 0.5)) as usize
            } else {
                libm::floor(wanted + lean) as usize
            };
            // Fewer than this and even equal gaps break the limit.
            count
                .max(libm::ceil(cycle / job.most - 1e-9) as usize)
                .max(1)
        };
        let count: Vec<usize> = jobs.iter().zip(every).map(of).collect();
        if count.iter().sum::<usize>() <= MOST_LOTS.max(jobs.len()) || cycle < every[0] * 1e-3 {
            return count;
        }
        cycle *= 0.8;
    }
}

/// Offsets tried for each item.
const OFFSETS: usize = 8;

/// Equal gaps for each item, offset so that the work spreads evenly.
fn lay_out(jobs: &[Job], count: &[usize], stream: &mut Stream) -> Vec<u16> {
    let lots: usize = count.iter().sum();
    let bins = (2 * count.iter().copied().max().unwrap_or(1)).max(8);
    let mut work = vec![0.0; bins];
    let mut order: Vec<usize> = (0..jobs.len()).collect();
    // Frequent items first, long runs first among them.
    order.sort_by(|a, b| {
        let size = |i: usize| jobs[i].load / count[i] as f64;
        count[*b]
            .cmp(&count[*a])
            .then(size(*b).total_cmp(&size(*a)))
    });
    let mut placed: Vec<(f64, u16)> = Vec::with_capacity(lots);
    for item in order {
        let f = count[item] as f64;
        let each = jobs[item].load / f + 1e-3;
        let bin = |offset: f64, k: usize| {
            (((offset + k as f64) / f * bins as f64) as usize).min(bins - 1)
        };
        let mut best = (f64::INFINITY, 0.0);
        for _ in 0..OFFSETS {
            let offset = stream.uniform();
            let peak = (0..count[item])
                .map(|k| work[bin(offset, k)])
                .fold(0.0, f64::max);
            if peak < best.0 {
                best = (peak, offset);
            }
        }
        for k in 0..count[item] {
            work[bin(best.1, k)] += each;
            placed.push(((best.1 + k as f64) / f, item as u16));
        }
    }
    placed.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
    let mut sequence: Vec<u16> = placed.into_iter().map(|(_, item)| item).collect();
    merge(&mut sequence);
    sequence
}

/// Joins lots of an item that follow each other, round the end too.
pub(crate) fn merge(sequence: &mut Vec<u16>) {
    sequence.dedup();
    while sequence.len() > 1 && sequence.first() == sequence.last() {
        sequence.pop();
    }
}
