//! Places shared out, each try judged by paired runs.
//!
//! Both searches move single places, or several while there are many: the rate
//! of a line grows with every place and by less with each further one, so that
//! where no move of a place gains, none of several does (concavity of throughput
//! in buffer places: L. E. Meester and J. G. Shanthikumar, Advances in Applied
//! Probability 22 (1990) 764, for lines with exponential times, from memory). Where a plant is of another
//! kind the answer is the best that moves of a place find. Moves are chosen by
//! [`select()`](super::super::select()), so that luck does not choose them.

use std::cell::RefCell;
use std::collections::BTreeMap;
use std::sync::Mutex;

use flow::statistics::mean;

use super::super::odds;
use super::super::select::{Rule, select};

/// How places are shared out.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SplitRule {
    /// How each move is chosen.
    pub moves: Rule,
    /// The fewest places of a link.
    pub fewest: u32,
}

/// Places found.
#[derive(Clone, Debug, PartialEq)]
pub struct Places {
    /// For each link its places.
    pub places: Vec<u32>,
    /// What they make, run by run.
    pub figures: Vec<f64>,
    /// A lower bound on the probability that no move of a place makes more by
    /// more than the indifference.
    pub good: f64,
    /// Whether that is the level asked for, and the goal is reached if there
    /// is one.
    pub reached: bool,
}

/// The figure of these places in a run.
type Sample<'a> = &'a (dyn Fn(&[u32], u32) -> Option<f64> + Sync);

/// Figures that were asked for before.
struct Known<'a> {
    sample: Sample<'a>,
    seen: Mutex<BTreeMap<(Vec<u32>, u32), f64>>,
}

impl Known<'_> {
    fn of(&self, places: &[u32], run: u32) -> Option<f64> {
        let held = || {
            self.seen
                .lock()
                .unwrap_or_else(std::sync::PoisonError::into_inner)
        };
        let key = (places.to_vec(), run);
        if let Some(figure) = held().get(&key) {
            return Some(*figure);
        }
        let figure = (self.sample)(places, run)?;
        held().insert(key, figure);
        Some(figure)
    }
}

/// The best split of `total` places over `links`; none where the time is over
/// before anything is known.
///
/// ```
/// use whole::improve::Rule;
/// use whole::improve::buffers::{SplitRule, best_split};
/// // a figure that wants the middle link to have half of the places
/// let figure = |places: &[u32], run: u32| {
///     let off = f64::from(places[1]) - 4.0;
///     Some(10.0 - off * off - 0.1 * f64::from(places[0].abs_diff(places[2])) + f64::from(run % 3))
/// };
/// let moves = Rule { level: 0.95, indifferent: 0.01, first: 3, control: 0, most: 20, budget: 400, places: 1 };
/// let best = best_split(3, 8, &SplitRule { moves, fewest: 0 }, &figure).unwrap();
/// assert_eq!(best.places, [2, 4, 2]);
/// ```
pub fn best_split(
    links: usize,
    total: u32,
    rule: &SplitRule,
    sample: Sample<'_>,
) -> Option<Places> {
    let even = total / links.max(1) as u32;
    let mut places = vec![even.max(rule.fewest); links];
    // what is over goes to the middle, where it mostly does most
    let mut over = total.saturating_sub(places.iter().sum());
    for at in from_the_middle(links) {
        if over == 0 {
            break;
        }
        places[at] += 1;
        over -= 1;
    }
    let known = Known {
        sample,
        seen: Mutex::default(),
    };
    let mut step = (total / 16).max(1);
    loop {
        let tries = moves(&places, step, rule.fewest);
        let chosen = choose(&places, &tries, rule, &known)?;
        if chosen.places != places {
            places = chosen.places;
        } else if step > 1 {
            step /= 2;
        } else {
            return Some(chosen);
        }
    }
}

/// Positions from the middle outwards.
fn from_the_middle(links: usize) -> Vec<usize> {
    let mut order: Vec<usize> = (0..links).collect();
    order.sort_by_key(|at| (2 * at + 1).abs_diff(links));
    order
}

/// Every split that moves so many places from one link to another.
fn moves(places: &[u32], step: u32, fewest: u32) -> Vec<Vec<u32>> {
    let mut tries = Vec::new();
    for from in 0..places.len() {
        for to in 0..places.len() {
            if from != to && places[from] >= fewest + step {
                let mut other = places.to_vec();
                other[from] -= step;
                other[to] += step;
                tries.push(other);
            }
        }
    }
    tries
}

/// The best of these places and their tries, the first where none is shown to
/// be better.
fn choose(
    places: &[u32],
    tries: &[Vec<u32>],
    rule: &SplitRule,
    known: &Known<'_>,
) -> Option<Places> {
    let of = |at: usize| at.checked_sub(1).map_or(places, |at| &tries[at]);
    let seen = select(tries.len() + 1, &rule.moves, &|at, run| {
        known.of(of(at), run)
    });
    if seen.stopped {
        return None;
    }
    let leader = seen.order.first().copied().unwrap_or(0);
    // a move must gain more than what makes no difference, or moves go on for ever
    let gain = seen.pairs(leader, 0);
    let moves = leader != 0 && mean(&gain) > rule.moves.indifferent;
    let chosen = if moves { leader } else { 0 };
    Some(Places {
        places: of(chosen).to_vec(),
        figures: seen.samples[chosen].clone(),
        good: seen.good,
        reached: seen.reached,
    })
}

/// The fewest places with which the figure reaches a goal: one after the other
/// is put where it gains most, from the fewest there may be, and in the end all
/// that can go are taken away again. None where the time is over, or where
/// `most` places do not reach it.
pub fn least_places(
    links: usize,
    goal: f64,
    most: u32,
    rule: &SplitRule,
    sample: Sample<'_>,
) -> Option<Places> {
    let known = Known {
        sample,
        seen: Mutex::default(),
    };
    let judged: RefCell<BTreeMap<Vec<u32>, Option<bool>>> = RefCell::default();
    let reaches = |places: &[u32]| -> Option<bool> {
        if let Some(said) = judged.borrow().get(places) {
            return *said;
        }
        let said = reaches(places, goal, rule, &known);
        judged.borrow_mut().insert(places.to_vec(), said);
        said
    };
    let mut places = vec![rule.fewest; links];
    while !reaches(&places)? {
        if places.iter().sum::<u32>() >= most {
            return None;
        }
        let tries: Vec<Vec<u32>> = (0..links).map(|at| with(&places, at, 1)).collect();
        let (first, others) = tries.split_first()?;
        let seen = choose_any(first, others, rule, &known)?;
        places = seen;
    }
    // a place that was put early may not be needed in the end
    loop {
        let fewer = (0..links).filter(|at| places[*at] > rule.fewest);
        let fewer: Vec<Vec<u32>> = fewer.map(|at| with(&places, at, -1)).collect();
        let mut next = None;
        for fewer in fewer {
            // or a place less elsewhere does, with one moved
            for other in std::iter::once(fewer.clone()).chain(moves(&fewer, 1, rule.fewest)) {
                if next.is_none() && reaches(&other)? {
                    next = Some(other);
                }
            }
        }
        match next {
            Some(fewer) => places = fewer,
            None => break,
        }
    }
    let runs = rule.moves.first.max(2);
    let figures: Option<Vec<f64>> = (0..runs).map(|run| known.of(&places, run)).collect();
    Some(Places {
        places,
        figures: figures?,
        good: rule.moves.level,
        reached: true,
    })
}

fn with(places: &[u32], at: usize, more: i32) -> Vec<u32> {
    let mut places = places.to_vec();
    places[at] = places[at].saturating_add_signed(more);
    places
}

fn choose_any(
    first: &[u32],
    others: &[Vec<u32>],
    rule: &SplitRule,
    known: &Known<'_>,
) -> Option<Vec<u32>> {
    let of = |at: usize| at.checked_sub(1).map_or(first, |at| &others[at]);
    let seen = select(others.len() + 1, &rule.moves, &|at, run| {
        known.of(of(at), run)
    });
    (!seen.stopped).then(|| of(seen.order.first().copied().unwrap_or(0)).to_vec())
}

/// Whether the figure reaches the goal, on as many runs as it takes to tell.
fn reaches(places: &[u32], goal: f64, rule: &SplitRule, known: &Known<'_>) -> Option<bool> {
    let unsure = 0.5 * (1.0 - rule.moves.level);
    let mut figures = Vec::new();
    let mut runs = rule.moves.first.max(2);
    loop {
        while figures.len() < runs as usize {
            figures.push(known.of(places, figures.len() as u32)?);
        }
        let chance = odds::above(&figures, goal);
        if chance < unsure || chance > 1.0 - unsure || runs >= rule.moves.most {
            return Some(chance >= 0.5);
        }
        runs = (runs + runs.div_ceil(2)).min(rule.moves.most);
    }
}
