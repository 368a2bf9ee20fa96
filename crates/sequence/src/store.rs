//! The painted-body store: lanes that undo what paint has done to an order,
//! within their number and length.
//!
//! Bodies enter a lane at its tail and leave at its head, one in and one out a
//! beat once the store holds what it is told to hold. A body is known by its
//! place in the wanted order.

mod need;

use std::collections::VecDeque;

use crate::Fault;
use crate::told::some;
pub use need::{Need, least_disorder, need};

/// Lanes, all of one length.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Store {
    /// How many.
    pub lanes: usize,
    /// Places in each.
    pub places: usize,
    /// Bodies that it holds back while more arrive, so that it can choose; less
    /// than there are places.
    pub hold: usize,
}

/// Into which lane an arriving body goes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum RuleIn {
    /// The lanes in turn.
    InTurn,
    /// The emptiest lane.
    Shortest,
    /// Behind the body that is wanted last before it; where that is not
    /// possible, an empty lane or the one whose tail is wanted soonest after it.
    InOrder,
    /// The lane that leaves the cars nearest to the wanted order, the next
    /// arrivals being tried out behind it.
    LookAhead {
        /// How many arrivals.
        bodies: usize,
    },
}

/// From which lane the next body leaves.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum RuleOut {
    /// The lanes in turn.
    InTurn,
    /// The head that arrived first.
    Oldest,
    /// The head that is wanted first.
    NextWanted,
}

/// A body's way through the store.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Stay {
    /// Its place in the wanted order, from 0.
    pub body: usize,
    /// The lane.
    pub lane: usize,
    /// The beat in which it came.
    pub came: usize,
    /// The beat in which it left.
    pub left: usize,
}

/// What a store makes of an arriving order.
#[derive(Clone, Debug, PartialEq)]
pub struct Run {
    /// The bodies in the order in which they leave.
    pub leaves: Vec<usize>,
    /// Each body's stay, in the order of arrival.
    pub stays: Vec<Stay>,
    /// Most bodies in the store at once.
    pub fullest: usize,
    /// Most bodies in one lane at once.
    pub longest_lane: usize,
    /// How far from the wanted order.
    pub disorder: Disorder,
}

/// How far an order is from the wanted one.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Disorder {
    /// Pairs of cars the wrong way round.
    pub pairs: u64,
    /// Places that a car is away from its own, on average.
    pub mean_places: f64,
    /// The same of the car farthest away.
    pub most_places: usize,
    /// Share of cars that are in their place.
    pub in_place: f64,
}

/// A car that paint sends round again.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Repair {
    /// Its place in the order in which cars were painted, from 0.
    pub place: usize,
    /// Cars that overtake it meanwhile.
    pub overtaken_by: usize,
}

/// The order in which bodies arrive when some are repaired: a repaired body
/// falls back by so many places.
///
/// ```
/// use sequence::store::{Repair, after_repairs};
///
/// let arriving = after_repairs(5, &[Repair { place: 1, overtaken_by: 2 }]);
/// assert_eq!(arriving, [0, 2, 3, 1, 4]);
/// ```
pub fn after_repairs(cars: usize, repairs: &[Repair]) -> Vec<usize> {
    let mut keys: Vec<(usize, bool, usize)> = (0..cars).map(|car| (car, false, car)).collect();
    for repair in repairs.iter().filter(|repair| repair.place < cars) {
        let back = repair.place + repair.overtaken_by;
        keys[repair.place] = (back, repair.overtaken_by > 0, repair.place);
    }
    keys.sort_unstable();
    keys.into_iter().map(|(_, _, car)| car).collect()
}

/// How far an order of bodies, each known by its wanted place, is from 0, 1, 2.
pub fn disorder(order: &[usize]) -> Disorder {
    let cars = order.len().max(1) as f64;
    let away = |(at, body): (usize, &usize)| at.abs_diff(*body);
    let places: Vec<usize> = order.iter().enumerate().map(away).collect();
    Disorder {
        pairs: inversions(order),
        mean_places: places.iter().sum::<usize>() as f64 / cars,
        most_places: places.iter().copied().max().unwrap_or(0),
        in_place: places.iter().filter(|away| **away == 0).count() as f64 / cars,
    }
}

fn inversions(order: &[usize]) -> u64 {
    // Counted from behind in a tree of sums (Fenwick 1994).
    let size = order.iter().copied().max().map_or(0, |most| most + 1);
    let mut tree = vec![0_u64; size + 1];
    let mut pairs = 0;
    for body in order.iter().rev() {
        let mut at = *body;
        while at > 0 {
            pairs += tree[at];
            at &= at - 1;
        }
        let mut at = body + 1;
        while at <= size {
            tree[at] += 1;
            at += at & at.wrapping_neg();
        }
    }
    pairs
}

/// The store while bodies go through it.
#[derive(Clone)]
struct Filled {
    /// Bodies with their beat of arrival.
    lanes: Vec<VecDeque<(usize, usize)>>,
    turn_in: usize,
    turn_out: usize,
}

impl Filled {
    fn held(&self) -> usize {
        self.lanes.iter().map(VecDeque::len).sum()
    }

    fn enter(&mut self, lane: usize, body: usize, beat: usize) {
        self.lanes[lane].push_back((body, beat));
        self.turn_in = (lane + 1) % self.lanes.len();
    }

    fn leave(&mut self, rule: RuleOut) -> Option<(usize, usize, usize)> {
        let lanes = self.lanes.len();
        let open = (0..lanes)
            .map(|n| (self.turn_out + n) % lanes)
            .filter_map(|lane| self.lanes[lane].front().map(|front| (lane, *front)));
        let (lane, (body, came)) = match rule {
            RuleOut::InTurn => open.min_by_key(|_| 0),
            RuleOut::Oldest => open.min_by_key(|(_, (_, came))| *came),
            RuleOut::NextWanted => open.min_by_key(|(_, (body, _))| *body),
        }?;
        self.lanes[lane].pop_front();
        self.turn_out = (lane + 1) % lanes;
        Some((lane, body, came))
    }

    /// A lane with room for a body, by a rule that looks at no later arrival.
    fn lane_for(&self, rule: RuleIn, body: usize, places: usize) -> Option<usize> {
        let lanes = self.lanes.len();
        let open = (0..lanes)
            .map(|n| (self.turn_in + n) % lanes)
            .filter(|lane| self.lanes[*lane].len() < places);
        let tail = |lane: &usize| self.lanes[*lane].back().map(|(body, _)| *body);
        match rule {
            RuleIn::InTurn => open.min_by_key(|_| 0),
            RuleIn::Shortest => open.min_by_key(|lane| self.lanes[*lane].len()),
            RuleIn::InOrder | RuleIn::LookAhead { .. } => {
                open.min_by_key(|lane| match tail(lane) {
                    Some(tail) if tail < body => (0, body - tail),
                    None => (1, 0),
                    Some(tail) => (2, usize::MAX - tail),
                })
            }
        }
    }
}

/// Sends bodies through a store. `arriving` holds each of 0, 1, 2 ... once, the
/// wanted places of the bodies in their order of arrival.
///
/// # Errors
///
/// What makes no sense in the store or the order; never an empty list.
///
/// ```
/// use sequence::store::{RuleIn, RuleOut, Store, run};
///
/// // The first body is late by two places: two lanes bring it forward again.
/// let store = Store { lanes: 2, places: 3, hold: 2 };
/// let through = run(&store, &[1, 2, 0, 3], RuleIn::InOrder, RuleOut::NextWanted);
/// let through = through.map_err(|faults| faults[0].to_string())?;
/// assert_eq!(through.leaves, [0, 1, 2, 3]);
/// assert_eq!((through.disorder.pairs, through.fullest), (0, 3));
/// # Ok::<(), String>(())
/// ```
pub fn run(
    store: &Store,
    arriving: &[usize],
    rule_in: RuleIn,
    rule_out: RuleOut,
) -> Result<Run, Vec<Fault>> {
    check(store, arriving)?;
    let mut filled = Filled {
        lanes: vec![VecDeque::new(); store.lanes],
        turn_in: 0,
        turn_out: 0,
    };
    let mut leaves = Vec::with_capacity(arriving.len());
    let mut stays: Vec<Option<Stay>> = vec![None; arriving.len()];
    let (mut fullest, mut longest_lane) = (0, 0);
    let mut coming = 0;
    for beat in 0.. {
        if leaves.len() == arriving.len() {
            break;
        }
        if let Some(body) = arriving.get(coming) {
            let lane = match rule_in {
                RuleIn::LookAhead { bodies } => {
                    let end = arriving.len().min(coming + 1 + bodies);
                    ahead(store, &filled, *body, &arriving[coming + 1..end], rule_out)
                }
                _ => filled.lane_for(rule_in, *body, store.places),
            };
            if let Some(lane) = lane {
                filled.enter(lane, *body, coming);
                stays[coming] = Some(Stay {
                    body: *body,
                    lane,
                    came: beat,
                    left: beat,
                });
                coming += 1;
            }
        }
        fullest = fullest.max(filled.held());
        let longest = filled.lanes.iter().map(VecDeque::len).max();
        longest_lane = longest_lane.max(longest.unwrap_or(0));
        let blocked = coming < arriving.len() && filled.held() == store.lanes * store.places;
        if (coming == arriving.len() || filled.held() > store.hold || blocked)
            && let Some((_, body, came)) = filled.leave(rule_out)
        {
            leaves.push(body);
            if let Some(stay) = &mut stays[came] {
                stay.left = beat;
            }
        }
    }
    Ok(Run {
        disorder: disorder(&leaves),
        leaves,
        stays: stays.into_iter().flatten().collect(),
        fullest,
        longest_lane,
    })
}

/// The lane that leaves the least disorder when the next arrivals go behind it
/// in order.
fn ahead(
    store: &Store,
    filled: &Filled,
    body: usize,
    next: &[usize],
    rule_out: RuleOut,
) -> Option<usize> {
    let usual = filled.lane_for(RuleIn::InOrder, body, store.places)?;
    let mut best = (tried(store, filled, usual, body, next, rule_out), usual);
    for lane in 0..store.lanes {
        let same = |other: usize| filled.lanes[other] == filled.lanes[lane];
        let seen = (0..lane).any(same) || same(usual);
        if seen || filled.lanes[lane].len() >= store.places {
            continue;
        }
        let disorder = tried(store, filled, lane, body, next, rule_out);
        if disorder < best.0 {
            best = (disorder, lane);
        }
    }
    Some(best.1)
}

/// Pairs the wrong way round among what leaves when a body takes a lane.
fn tried(
    store: &Store,
    filled: &Filled,
    lane: usize,
    body: usize,
    next: &[usize],
    rule_out: RuleOut,
) -> u64 {
    let mut filled = filled.clone();
    filled.enter(lane, body, 0);
    let mut leaves = Vec::new();
    for (n, body) in next.iter().enumerate() {
        if filled.held() > store.hold {
            leaves.extend(filled.leave(rule_out).map(|(_, body, _)| body));
        }
        if let Some(lane) = filled.lane_for(RuleIn::InOrder, *body, store.places) {
            filled.enter(lane, *body, n + 1);
        }
    }
    while let Some((_, body, _)) = filled.leave(rule_out) {
        leaves.push(body);
    }
    inversions(&leaves)
}

fn check(store: &Store, arriving: &[usize]) -> Result<(), Vec<Fault>> {
    let mut faults = Vec::new();
    let room = store.lanes.saturating_mul(store.places);
    if room == 0 {
        faults.push(Fault::new(
            "store",
            format!(
                "{} of {}",
                some(store.lanes, "lane"),
                some(store.places, "place")
            ),
            "at least one lane with one place",
            "add a lane or a place",
        ));
    } else if store.hold >= room {
        faults.push(Fault::new(
            "store.hold",
            some(store.hold, "body"),
            format!("fewer than its {}", some(room, "place")),
            format!("hold back {} or fewer", room - 1),
        ));
    }
    let mut seen = vec![false; arriving.len()];
    for (at, body) in arriving.iter().enumerate() {
        match seen.get_mut(*body) {
            Some(seen) if !*seen => *seen = true,
            _ => faults.push(Fault::new(
                format!("arriving[{at}]"),
                format!("body {body}"),
                format!("each of 0 to {} once", arriving.len() - 1),
                "give each body its place in the wanted order",
            )),
        }
    }
    if faults.is_empty() {
        Ok(())
    } else {
        Err(faults)
    }
}
