//! Like joints to robots at stations in a row, with a chart of every station.
//!
//! Groups of like joints, which may be divided by the joint, are shared out over
//! stations and over the robots around each. Three things make it more than
//! filling boxes: what must come before what, zones that two robots may not be
//! in at once, and tools that cost time to change. All three are kept in time:
//! every robot's steps have a start and an end, and waiting is what the chart
//! shows, not an allowance.
//!
//! The search is in two layers. Robots by kind at each station are changed one
//! by one (the fewest that complete the work are kept); whether so many
//! suffice, and what each of them does when, is built forward in time, the free
//! robot that is earliest taking the work that can begin soonest, as in schedule
//! generation after Giffler and Thompson, Operations Research 8, 1960. Lines that
//! share no station are searched apart and at once. The bound is of work over
//! time: see [`bound`].

mod bound;
mod check;
mod frame;
mod hands;
mod level;
mod lines;
mod search;

use std::sync::Mutex;

use rayon::prelude::*;

use crate::{Fault, Least, Progress, Watch};

pub use bound::bound;

/// Like joints, which may be divided between robots and between stations.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Group {
    /// How many.
    pub joints: u32,
    /// Ticks of each.
    pub ticks: u32,
    /// Ticks once for every robot that takes a part of it.
    pub start: u32,
    /// The tool that makes them.
    pub tool: usize,
    /// The kinds of robot that can carry that tool to them.
    pub kinds: Vec<usize>,
    /// Groups that are complete before the first of these is begun.
    pub after: Vec<usize>,
    /// The zone in which a robot is alone as long as it works there.
    pub zone: Option<usize>,
    /// Stations at which they may be made, from first to last.
    pub stations: Vec<usize>,
    /// Whether they come before all others at their one station, but for what
    /// they themselves come after.
    pub geometry: bool,
}

/// A station; stations stand in the order in which cars pass them.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Place {
    /// Ticks of each cycle in which its robots may work.
    pub ticks: u32,
    /// The most robots around a car.
    pub most: u32,
}

/// A kind of robot.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Kind {
    /// What one costs; 1 for all asks for the fewest robots.
    pub cost: u64,
    /// Ticks from one tool to another.
    pub change: u32,
}

/// What is asked.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Shop {
    /// The joints.
    pub groups: Vec<Group>,
    /// The stations.
    pub stations: Vec<Place>,
    /// The robots that can be had.
    pub kinds: Vec<Kind>,
}

/// A robot's work on a group without a break.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Step {
    /// The group.
    pub group: usize,
    /// Joints of it.
    pub joints: u32,
    /// When it begins, in ticks from when robots may work.
    pub start: u32,
    /// When it ends.
    pub end: u32,
    /// Whether the tool was changed before it.
    pub changed: bool,
}

/// One robot and its work on every car.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Robot {
    /// Its kind.
    pub kind: usize,
    /// Its work in order.
    pub steps: Vec<Step>,
    /// When it is ready for the next car, the change back to its first tool
    /// included.
    pub end: u32,
    /// Tool changes on every car, that back to the first included.
    pub changes: u32,
}

/// The robots of every station with their work.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Plan {
    /// The robots of each station.
    pub stations: Vec<Vec<Robot>>,
    /// What they cost together.
    pub cost: u64,
    /// No plan costs less.
    pub bound: u64,
    /// Joints that found no robot in time, by group; empty where the plan holds.
    pub left: Vec<(usize, u32)>,
    /// Whether the search ran to its end.
    pub complete: bool,
}

impl Plan {
    /// Whether every joint is made.
    pub fn holds(&self) -> bool {
        self.left.is_empty()
    }

    /// How many robots there are.
    pub fn robots(&self) -> usize {
        self.stations.iter().map(Vec::len).sum()
    }

    /// Whether nothing cheaper can exist.
    pub fn proven(&self) -> bool {
        self.holds() && self.cost == self.bound
    }
}

/// The robots that make all joints within the stations' time for the least cost
/// that `steps` trials on each line find, and their charts.
///
/// ```
/// use balance::Watch;
/// use balance::robots::{Group, Kind, Place, Shop, allocate};
///
/// // 900 rivets of 4.2 s, at 19 stations of 206.592 s with one robot each.
/// let rivets = Group {
///     joints: 900, ticks: 4_200, start: 0, tool: 0, kinds: vec![0], after: vec![],
///     zone: None, stations: (0..25).collect(), geometry: false,
/// };
/// let shop = Shop {
///     groups: vec![rivets],
///     stations: vec![Place { ticks: 206_592, most: 1 }; 25],
///     kinds: vec![Kind { cost: 1, change: 12_000 }],
/// };
/// let plan = allocate(&shop, 1_000, &Watch::none()).map_err(|f| f[0].to_string())?;
/// assert_eq!((plan.robots(), plan.proven()), (19, true));
/// # Ok::<(), String>(())
/// ```
///
/// # Errors
///
/// Everything that no number of robots mends: a circle, a joint longer than
/// its stations' time, a zone with more work than time.
pub fn allocate(shop: &Shop, steps: u64, watch: &Watch<'_>) -> Result<Plan, Vec<Fault>> {
    let faults = check::faults(shop);
    if !faults.is_empty() {
        return Err(faults);
    }
    let lines = lines::apart(shop);
    let bounds: Vec<u64> = lines
        .iter()
        .map(|line| bound::of_line(shop, line))
        .collect();
    let bound = bounds.iter().sum();
    let found: Mutex<Vec<Option<u64>>> = Mutex::new(vec![None; lines.len()]);
    let tell = |line: usize, cost: u64| {
        let Ok(mut found) = found.lock() else { return };
        found[line] = Some(cost);
        let best = found
            .iter()
            .try_fold(0, |sum, cost| cost.map(|cost| sum + cost));
        (watch.progress)(Progress {
            least: Least::Cost,
            best,
            bound,
        });
    };
    let plans: Vec<search::Found> = lines
        .par_iter()
        .enumerate()
        .map(|(at, line)| {
            let tell = |cost| tell(at, cost);
            search::search(shop, line, bounds[at], steps, (watch, &tell))
        })
        .collect();
    let mut plan = Plan {
        stations: vec![Vec::new(); shop.stations.len()],
        cost: 0,
        bound,
        left: Vec::new(),
        complete: true,
    };
    for found in plans {
        for (station, robots) in found.stations {
            plan.stations[station] = robots;
        }
        plan.left.extend(found.left);
        plan.complete &= found.complete;
    }
    plan.left.sort_unstable();
    let kinds = plan.stations.iter().flatten().map(|robot| robot.kind);
    plan.cost = kinds.map(|kind| shop.kinds[kind].cost).sum();
    Ok(plan)
}
