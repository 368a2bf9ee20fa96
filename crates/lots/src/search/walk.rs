//! Annealing walks over sequences.

use std::sync::atomic::{AtomicBool, Ordering};

use rayon::prelude::*;

use super::{change, draw};
use crate::bound::Independent;
use crate::model::Job;
use crate::programme::{Goal, Lengths, Programme};
use crate::stream::Stream;

/// What to search, how long, and who is watching.
pub(crate) struct Hunt<'a> {
    pub(crate) jobs: &'a [Job],
    pub(crate) relaxed: &'a Independent,
    /// A sequence known already, if any.
    pub(crate) known: Option<&'a [u16]>,
    pub(crate) seed: u64,
    pub(crate) line: u64,
    /// Multiply-adds to spend.
    pub(crate) work: u64,
    pub(crate) cancel: &'a AtomicBool,
    /// Told the multiply-adds spent since it was last told, and the least cost so far.
    pub(crate) told: &'a (dyn Fn(u64, f64) + Sync),
}

/// A sequence with its rank.
#[derive(Clone, Debug)]
pub(crate) struct Found {
    pub(crate) sequence: Vec<u16>,
    pub(crate) rank: f64,
}

/// Walks at most. Many short ones from different sequences, and a long one from
/// each of the best two, came out ahead of few long ones on ten problems of 10
/// and 12 items, by a tenth of the distance to the bound.
const WALKS: usize = 64;
const FEWEST_WALKS: usize = 8;
const SURVIVORS: usize = 2;
/// Multiply-adds below which another walk is not worth its start.
const LEAST_WORK: u64 = 10_000_000;

/// A stretch of annealing: its share of the work, and the heat at its begin and
/// end as a share of the distance between cost and bound.
struct Stretch {
    share: f64,
    hot: f64,
    cold: f64,
}

const MANY: Stretch = Stretch {
    share: 0.6,
    hot: 0.02,
    cold: 0.004,
};
const FEW: Stretch = Stretch {
    share: 0.4,
    hot: 0.006,
    cold: 0.000_6,
};

/// Accuracy of a candidate's cost.
const GAP: f64 = 2e-6;

struct Walk {
    stream: Stream,
    programme: Programme,
    now: Found,
    best: Found,
}

/// The best sequence found.
pub(crate) fn hunt(hunt: &Hunt<'_>) -> Found {
    let rotation = draw::rotation(hunt.jobs);
    let mut programme = Programme::default();
    let mut best = hunt.found(rotation, &mut programme);
    if let Some(known) = hunt.known {
        let known = hunt.found(known.to_vec(), &mut programme);
        best = better(best, known);
    }
    if hunt.jobs.len() < 2 || hunt.work == 0 {
        return best;
    }
    let count = usize::try_from(hunt.work / LEAST_WORK).unwrap_or(WALKS);
    let count = count.clamp(FEWEST_WALKS, WALKS);
    let mut walks: Vec<Walk> = (0..count)
        .into_par_iter()
        .map(|n| hunt.begin(n, count, &best))
        .collect();
    hunt.anneal_all(&mut walks, &MANY);
    walks.sort_by(|a, b| a.best.rank.total_cmp(&b.best.rank));
    walks.truncate(SURVIVORS);
    for walk in &mut walks {
        walk.now = walk.best.clone();
    }
    hunt.anneal_all(&mut walks, &FEW);
    walks
        .into_iter()
        .fold(best, |best, walk| better(best, walk.best))
}

fn better(a: Found, b: Found) -> Found {
    if b.rank < a.rank { b } else { a }
}

impl Hunt<'_> {
    fn found(&self, sequence: Vec<u16>, programme: &mut Programme) -> Found {
        let rank = self.rank(&sequence, programme, f64::INFINITY);
        Found {
            rank: rank.unwrap_or(f64::INFINITY),
            sequence,
        }
    }

    fn rank(&self, sequence: &[u16], programme: &mut Programme, limit: f64) -> Option<f64> {
        let goal = Goal {
            gap: GAP,
            give_up_above: limit,
            margin: 0.0,
        };
        let lengths = programme.solve(self.jobs, sequence, &goal);
        lengths.as_ref().map(Lengths::rank)
    }

    /// A walk's first sequence: the best of a few drawn.
    fn begin(&self, n: usize, walks: usize, known: &Found) -> Walk {
        let mut stream = Stream::keyed(self.seed, self.line, n as u64);
        let mut programme = Programme::default();
        let mut best = Found {
            sequence: Vec::new(),
            rank: f64::INFINITY,
        };
        let tries = 12;
        for k in 0..tries {
            if self.cancel.load(Ordering::Relaxed) {
                break;
            }
            let drawn = draw::sequence(
                self.jobs,
                &self.relaxed.every,
                k * walks / 2 + n,
                &mut stream,
            );
            if let Some(rank) = self.rank(&drawn, &mut programme, best.rank) {
                best = better(
                    best,
                    Found {
                        sequence: drawn,
                        rank,
                    },
                );
            }
        }
        let start = if n == 0 || best.sequence.is_empty() {
            known.clone()
        } else {
            best
        };
        Walk {
            stream,
            programme,
            now: start.clone(),
            best: start,
        }
    }

    fn anneal_all(&self, walks: &mut [Walk], stretch: &Stretch) {
        let work = (self.work as f64 * stretch.share / walks.len() as f64) as u64;
        walks
            .par_iter_mut()
            .for_each(|walk| self.anneal(walk, work, stretch));
    }

    /// Walks until `work` is spent, from `hot` to `cold`: temperatures as a
    /// share of the distance between the cost and the bound.
    fn anneal(&self, walk: &mut Walk, work: u64, stretch: &Stretch) {
        let begun = walk.programme.spent;
        let most = 2 * walk.now.sequence.len() + 20;
        let mut tried = Vec::new();
        let mut steps = 0_u32;
        let mut told = 0;
        loop {
            let spent = walk.programme.spent - begun;
            // No better sequence can be told from one that meets the bound.
            let met = walk.best.rank <= self.relaxed.cost * (1.0 + GAP);
            if met || spent >= work || self.cancel.load(Ordering::Relaxed) {
                return;
            }
            // A change that is not possible costs next to nothing, but not
            // nothing: a sequence that allows none must come to an end.
            walk.programme.spent += 50;
            steps += 1;
            if steps.is_multiple_of(256) {
                (self.told)(spent - told, walk.best.rank);
                told = spent;
            }
            if !change::change(
                &walk.now.sequence,
                self.jobs.len(),
                most,
                &mut walk.stream,
                &mut tried,
            ) {
                continue;
            }
            let room = (walk.best.rank - self.relaxed.cost).max(1e-4 * walk.best.rank);
            let heat = room
                * stretch.hot
                * libm::pow(stretch.cold / stretch.hot, spent as f64 / work as f64);
            let limit = walk.now.rank - heat * libm::log(walk.stream.uniform());
            let Some(rank) = self.rank(&tried, &mut walk.programme, limit) else {
                continue;
            };
            if rank <= limit {
                walk.now.sequence.clone_from(&tried);
                walk.now.rank = rank;
                if rank < walk.best.rank {
                    walk.best = walk.now.clone();
                }
            }
        }
    }
}
