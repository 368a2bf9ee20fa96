//! A robot that changes tools: the order of its work on a car.

use std::collections::BTreeMap;

use crate::fault::Fault;
use crate::watch::Watch;
use crate::work::Work;

/// A piece of the robot's work.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Job {
    /// Ticks it takes.
    pub ticks: u32,
    /// The tool it takes; none where any tool may be in hand.
    pub tool: Option<usize>,
    /// Jobs on the same car that come before it.
    pub after: Vec<usize>,
}

/// Adhesive that must be closed in time: from the start of one job to the end
/// of another.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct OpenTime {
    /// The job that lays the bead.
    pub from: usize,
    /// The job that sets the part into it.
    pub to: usize,
    /// Ticks that the adhesive stays open, from its data sheet.
    pub ticks: u32,
}

/// A robot cell.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Cell {
    /// Its work on a car.
    pub jobs: Vec<Job>,
    /// Ticks of a tool change.
    pub change: u32,
    /// Open times to keep.
    pub open_times: Vec<OpenTime>,
    /// A stop of the line, in ticks, that must not cost a bead.
    pub stop: u32,
    /// Cars done between returns to the first tool; at least one.
    pub cars: u32,
}

/// A job in its place in time.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Step {
    /// The job.
    pub job: usize,
    /// The car of the batch, from 0.
    pub car: u32,
    /// When it starts; a tool change before it has ended then.
    pub start: u64,
    /// When it ends.
    pub end: u64,
    /// Whether the tool was changed for it.
    pub changed: bool,
}

/// An open time as the plan keeps it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Kept {
    /// Its position in the cell's list.
    pub open_time: usize,
    /// Ticks from laying to set, the longest over the cars, without a stop.
    pub path: u64,
    /// The longest stop of the line that does not cost the bead.
    pub margin: u64,
}

/// The cell's plan.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CellPlan {
    /// Jobs in order of work.
    pub steps: Vec<Step>,
    /// Tool changes, that back to the first tool included.
    pub changes: u32,
    /// Ticks for all cars of the batch, changes included.
    pub ticks: u64,
    /// The open times.
    pub kept: Vec<Kept>,
    /// No order takes less.
    pub bound: u64,
    /// Whether this is the least.
    pub proven: bool,
}

impl CellPlan {
    /// Ticks that each car has left within takt; negative where it lacks them.
    pub fn spare(&self, takt: u32, cars: u32) -> i64 {
        let cars = i64::from(cars.max(1));
        (i64::from(takt) * cars - self.ticks as i64).div_euclid(cars)
    }
}

/// Jobs of all cars of a batch that one search can hold.
const MOST_JOBS: usize = 64;

/// The order of work with the least ticks for a batch of cars, as tool changes
/// are all that order can save; every open time is kept over a stop.
///
/// Exact up to where `steps` orders have been looked at, then the best so far.
///
/// ```
/// use balance::Watch;
/// use balance::cell::{Cell, Job, plan_cell};
///
/// let job = |ticks, tool| Job { ticks, tool: Some(tool), after: vec![] };
/// let cell = Cell {
///     jobs: vec![job(38, 0), job(23, 1), job(38, 0)],
///     change: 12, open_times: vec![], stop: 0, cars: 1,
/// };
/// let plan = plan_cell(&cell, 1_000_000, &Watch::none()).map_err(|f| f[0].to_string())?;
/// assert_eq!((plan.ticks, plan.changes, plan.proven), (123, 2, true));
/// # Ok::<(), String>(())
/// ```
///
/// # Errors
///
/// A circle; jobs that are not there; more jobs than 64; open times that no
/// order keeps.
pub fn plan_cell(cell: &Cell, steps: u64, watch: &Watch<'_>) -> Result<CellPlan, Vec<Fault>> {
    let work = Work {
        ticks: cell.jobs.iter().map(|job| job.ticks).collect(),
        after: cell.jobs.iter().map(|job| job.after.clone()).collect(),
    };
    let mut faults = work.faults();
    let cars = cell.cars.max(1);
    let jobs = cell.jobs.len() * cars as usize;
    if jobs > MOST_JOBS {
        faults.push(Fault::TooMany {
            tasks: jobs,
            most: MOST_JOBS,
        });
    }
    for open in &cell.open_times {
        for named in [open.from, open.to] {
            if named >= cell.jobs.len() {
                faults.push(Fault::NoSuchTask {
                    task: open.from,
                    named,
                });
            }
        }
    }
    if !faults.is_empty() {
        return Err(faults);
    }
    match searched(cell, steps, watch).told() {
        Found::Plan(plan) => Ok(plan),
        Found::Ended => Err(vec![Fault::NoAssignment {
            shown: "no order that keeps the open times was found before the search was ended; \
                    let it run longer"
                .to_owned(),
        }]),
        Found::None => Err(missed(cell, steps, watch)),
    }
}

/// The order of work that comes nearest to keeping all open times: the least
/// time by which all adhesives together would have to stay open longer. What
/// it keeps is told by the cell's own open times. None where no order at all
/// was found in so many steps each.
pub fn nearest_plan(cell: &Cell, steps: u64, watch: &Watch<'_>) -> Option<CellPlan> {
    let work: u32 = cell.jobs.iter().map(|job| job.ticks).sum();
    let jobs = cell.jobs.len() as u32;
    let cars = cell.cars.max(1);
    let all = (work + jobs * cell.change).checked_mul(cars)?;
    let all = all.checked_add(cell.stop)?;
    let with = |longer: u32| {
        let mut longer_open = cell.clone();
        for open in &mut longer_open.open_times {
            open.ticks = open.ticks.saturating_add(longer);
        }
        match searched(&longer_open, steps, watch).told() {
            Found::Plan(plan) => Some(plan),
            Found::None | Found::Ended => None,
        }
    };
    let mut best = with(all)?;
    let (mut low, mut high) = (0, all);
    while low < high && !watch.cancelled() {
        let middle = low + (high - low) / 2;
        match with(middle) {
            Some(plan) => {
                high = middle;
                best = plan;
            }
            None => low = middle + 1,
        }
    }
    best.kept = kept(cell, &best.steps);
    Some(best)
}

fn searched<'a>(cell: &'a Cell, steps: u64, watch: &'a Watch<'a>) -> Search<'a> {
    let cars = cell.cars.max(1);
    let mut search = Search {
        cell,
        cars,
        steps_left: steps,
        watch,
        known: BTreeMap::new(),
        best: None,
        ended: false,
    };
    search.go_on(&mut State::start(cell, cars));
    search
}

/// The open times that the nearest order does not keep.
fn missed(cell: &Cell, steps: u64, watch: &Watch<'_>) -> Vec<Fault> {
    let Some(plan) = nearest_plan(cell, steps, watch) else {
        return vec![Fault::NoAssignment {
            shown: "no order of work sets every part into a bead that is laid before it; change \
                    the order of the jobs"
                .to_owned(),
        }];
    };
    let broken = plan.kept.iter().filter_map(|kept| {
        let open = cell.open_times[kept.open_time];
        let (open_for, stop) = (u64::from(open.ticks), u64::from(cell.stop));
        (kept.path + stop > open_for).then_some(Fault::OpenTooShort {
            from: open.from,
            to: open.to,
            open: open_for,
            stop,
            path: kept.path,
        })
    });
    broken.collect()
}

/// How a search for an order ended.
enum Found {
    Plan(CellPlan),
    /// There is none.
    None,
    /// The steps do not tell.
    Ended,
}

/// Jobs done, by car and job.
struct State {
    order: Vec<(usize, u32)>,
    done: u64,
    first: Option<usize>,
    in_hand: Option<usize>,
    changes: u32,
    time: u64,
    /// For each open time and car, when its bead was laid, if it is open.
    laid: Vec<Option<u64>>,
}

impl State {
    fn start(cell: &Cell, cars: u32) -> Self {
        Self {
            order: Vec::new(),
            done: 0,
            first: None,
            in_hand: None,
            changes: 0,
            time: 0,
            laid: vec![None; cell.open_times.len() * cars as usize],
        }
    }
}

/// Jobs done, tool in hand, first tool: what counts for what can follow.
type Point = (u64, Option<usize>, Option<usize>);

/// With how many changes a point was reached, and for how long beads were
/// open then.
type Reached = (u32, Vec<u64>);

struct Search<'a> {
    cell: &'a Cell,
    cars: u32,
    steps_left: u64,
    watch: &'a Watch<'a>,
    known: BTreeMap<Point, Vec<Reached>>,
    best: Option<(u32, Vec<(usize, u32)>)>,
    ended: bool,
}

impl Search<'_> {
    fn go_on(&mut self, state: &mut State) {
        let jobs = self.cell.jobs.len();
        let around = state.changes + u32::from(state.first != state.in_hand);
        let fewest = self.best.as_ref().map_or(u32::MAX, |(fewest, _)| *fewest);
        if around.max(self.tools_to_come(state)) >= fewest {
            return;
        }
        if state.order.len() == jobs * self.cars as usize {
            self.best = Some((around, state.order.clone()));
            return;
        }
        self.ended |= self.steps_left == 0 || self.watch.cancelled();
        if self.ended || self.was_here(state) {
            return;
        }
        self.steps_left -= 1;
        let mut next: Vec<(bool, usize, u32)> = Vec::new();
        for car in 0..self.cars {
            for (job, what) in self.cell.jobs.iter().enumerate() {
                let at = |job: usize| 1_u64 << (job + jobs * car as usize);
                let ready = what
                    .after
                    .iter()
                    .all(|before| state.done & at(*before) != 0);
                // Cars are alike: the first in the batch goes first in each job.
                let turn = car == 0 || state.done & (at(job) >> jobs) != 0;
                if state.done & at(job) == 0 && ready && turn {
                    let changes = what.tool.is_some() && what.tool != state.in_hand;
                    next.push((changes, job, car));
                }
            }
        }
        next.sort_unstable();
        for (_, job, car) in next {
            if let Some(mut after) = self.done(state, job, car) {
                self.go_on(&mut after);
            }
        }
    }

    /// At least the tools that are still to be taken up, and one change more.
    fn tools_to_come(&self, state: &State) -> u32 {
        let jobs = self.cell.jobs.len();
        let mut tools: Vec<usize> = Vec::new();
        for car in 0..self.cars as usize {
            for (job, what) in self.cell.jobs.iter().enumerate() {
                let undone = state.done & (1 << (job + jobs * car)) == 0;
                if undone && what.tool.is_some() && what.tool != state.in_hand {
                    tools.extend(what.tool);
                }
            }
        }
        tools.sort_unstable();
        tools.dedup();
        let to_come = tools.len() as u32;
        // The start brings the first tool without a change; the end brings it
        // back where it is not the last.
        let start = u32::from(state.in_hand.is_none());
        state.changes + to_come.saturating_sub(start)
    }

    fn done(&self, state: &State, job: usize, car: u32) -> Option<State> {
        let what = &self.cell.jobs[job];
        let changed = what.tool.is_some() && state.in_hand.is_some() && what.tool != state.in_hand;
        let start = state.time
            + if changed {
                u64::from(self.cell.change)
            } else {
                0
            };
        let end = start + u64::from(what.ticks);
        let mut laid = state.laid.clone();
        let bit = |job: usize| 1_u64 << (job + self.cell.jobs.len() * car as usize);
        // Nothing is set into a bead that is not laid.
        let dry = |open: &OpenTime| open.to == job && state.done & bit(open.from) == 0;
        if self.cell.open_times.iter().any(dry) {
            return None;
        }
        for (at, open) in self.cell.open_times.iter().enumerate() {
            let slot = &mut laid[at * self.cars as usize + car as usize];
            if open.from == job {
                *slot = Some(start);
            }
            let limit = u64::from(open.ticks.saturating_sub(self.cell.stop));
            if slot.is_some_and(|laid| end - laid > limit) {
                return None;
            }
            if open.to == job {
                *slot = None;
            }
        }
        let late = self.cell.open_times.iter().enumerate().any(|(at, open)| {
            // A bead that another car left open must not have run out either.
            let limit = u64::from(open.ticks.saturating_sub(self.cell.stop));
            let cars = at * self.cars as usize..(at + 1) * self.cars as usize;
            laid[cars].iter().flatten().any(|laid| end - laid > limit)
        });
        if late {
            return None;
        }
        let mut order = state.order.clone();
        order.push((job, car));
        Some(State {
            order,
            done: state.done | 1 << (job + self.cell.jobs.len() * car as usize),
            first: state.first.or(what.tool),
            in_hand: what.tool.or(state.in_hand),
            changes: state.changes + u32::from(changed),
            time: end,
            laid,
        })
    }

    /// Whether the same was reached before with no more changes and no bead
    /// open for longer; notes it otherwise.
    fn was_here(&mut self, state: &State) -> bool {
        let age = |laid: &Option<u64>| laid.map_or(0, |laid| state.time - laid + 1);
        let ages: Vec<u64> = state.laid.iter().map(age).collect();
        let point = (state.done, state.in_hand, state.first);
        let reached = self.known.entry(point).or_default();
        let as_good = |(changes, other): &Reached| {
            *changes <= state.changes && other.iter().zip(&ages).all(|(a, b)| a <= b)
        };
        if reached.iter().any(as_good) {
            return true;
        }
        reached.push((state.changes, ages));
        false
    }

    fn told(&self) -> Found {
        let cell = self.cell;
        let Some((changes, order)) = &self.best else {
            return if self.ended {
                Found::Ended
            } else {
                Found::None
            };
        };
        let work: u64 = cell.jobs.iter().map(|job| u64::from(job.ticks)).sum();
        let work = work * u64::from(self.cars);
        let ticks = work + u64::from(*changes) * u64::from(cell.change);
        let steps = timed(cell, order);
        let mut tools: Vec<usize> = cell.jobs.iter().filter_map(|job| job.tool).collect();
        tools.sort_unstable();
        tools.dedup();
        let least = if tools.len() > 1 {
            tools.len() as u64
        } else {
            0
        };
        let bound = if self.ended {
            work + least * u64::from(cell.change)
        } else {
            ticks
        };
        Found::Plan(CellPlan {
            kept: kept(cell, &steps),
            steps,
            changes: *changes,
            ticks,
            bound,
            proven: bound == ticks,
        })
    }
}

/// An order of jobs and cars in time, from the first tool in hand.
pub fn timed(cell: &Cell, order: &[(usize, u32)]) -> Vec<Step> {
    let mut in_hand = None;
    let mut time = 0;
    let steps = order.iter().map(|(job, car)| {
        let what = &cell.jobs[*job];
        let changed = what.tool.is_some() && in_hand.is_some() && what.tool != in_hand;
        if changed {
            time += u64::from(cell.change);
        }
        in_hand = what.tool.or(in_hand);
        let start = time;
        time += u64::from(what.ticks);
        Step {
            job: *job,
            car: *car,
            start,
            end: time,
            changed,
        }
    });
    steps.collect()
}

fn kept(cell: &Cell, steps: &[Step]) -> Vec<Kept> {
    let path = |open: &OpenTime| {
        let laid = steps.iter().filter(|step| step.job == open.from);
        let paths = laid.filter_map(|laid| {
            let set = steps
                .iter()
                .find(|step| step.job == open.to && step.car == laid.car)?;
            Some(set.end.saturating_sub(laid.start))
        });
        paths.max().unwrap_or(0)
    };
    let listed = cell.open_times.iter().enumerate().map(|(at, open)| Kept {
        open_time: at,
        path: path(open),
        margin: u64::from(open.ticks).saturating_sub(path(open)),
    });
    listed.collect()
}
