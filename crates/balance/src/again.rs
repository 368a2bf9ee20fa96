//! Balancing again: the least work moved from where it stands today.

mod cover;
mod mend;
mod place;
mod push;
mod repair;
mod walk;

use crate::fault::Fault;
use crate::line::{Line, Station, balance_line};
use crate::watch::{Least, Limits, Progress, Watch};
use mend::Mended;
use place::{Effort, Places};

/// A balance near today's.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Moved {
    /// Stations in order.
    pub stations: Vec<Station>,
    /// Tasks that stand elsewhere than today, with the station from and to.
    pub moves: Vec<(usize, usize, usize)>,
    /// Their work, in ticks of the first measure of [`Line::measures`].
    pub moved: u64,
    /// No balance moves less.
    pub bound: u64,
    /// Whether the bound is met.
    pub proven: bool,
}

/// Steps of the walk near today's places.
const WALK: u64 = 400_000;

/// The least work that must move from today's stations so that all is within
/// takt again, on at most so many stations. Steps are assignments looked at; with
/// a limit it always ends soon, with what was found and the bound.
///
/// Three ways look for it, and the best counts: of whatever breaks a rule one
/// task after the other is put elsewhere, cheapest first, which proves the answer
/// where the moves are few and gives the bound where they are many; tasks are
/// pushed out of overloaded stations and brought home again; and a walk exchanges
/// tasks near today's places.
///
/// # Errors
///
/// Every fault of the line; a list of stations of another length than the
/// tasks; that no balance was found on so many stations.
pub fn balance_again(
    line: &Line,
    takt: u32,
    today: &[usize],
    stations: usize,
    limits: &Limits,
    watch: &Watch<'_>,
) -> Result<Moved, Vec<Fault>> {
    let order = sound(line, takt, today, stations)?;
    let places = Places::of(line, takt, today, stations);
    let report = |best: Option<u64>, bound: u64| {
        (watch.progress)(Progress {
            least: Least::WorkMoved,
            best,
            bound,
        });
    };
    let mut effort = Effort::of(limits.steps.unwrap_or(3_000_000));
    let home = places.feasible(today.to_vec());
    // First the few moves that most lines need, with a fourth of the effort.
    let mut part = effort.part(4);
    let mut seen = mend::mended(&places, home, &mut part, watch);
    effort.back(&part);
    report(seen.best.as_ref().map(|at| places.moved(at)), seen.bound);
    if seen.best.is_none() && seen.bound == u64::MAX {
        // That too many stations are needed says more than that none is left.
        balanced_anew(&places, takt, limits, &mut effort, watch)?;
    } else if !is_met(&places, &seen) {
        let near = repaired(&places, &order, today, &mut effort, watch);
        let mut best = nearer(&places, seen.best, near);
        if best.is_none() {
            best = balanced_anew(&places, takt, limits, &mut effort, watch)?;
        }
        let bound = seen.bound;
        seen = mend::mended(&places, best, &mut effort, watch);
        seen.bound = seen.bound.max(bound);
    }
    let moved = told(&places, seen)?;
    report(Some(moved.moved), moved.bound);
    Ok(moved)
}

/// An order of the work, where the question has no fault.
fn sound(
    line: &Line,
    takt: u32,
    today: &[usize],
    stations: usize,
) -> Result<Vec<usize>, Vec<Fault>> {
    let mut faults = line.faults(takt);
    if today.len() != line.work.ticks.len() {
        faults.push(Fault::NoSuchTask {
            task: today.len(),
            named: line.work.ticks.len(),
        });
    }
    if stations == 0 {
        faults.push(Fault::NoStations);
    }
    if !faults.is_empty() {
        return Err(faults);
    }
    line.work.order().map_err(|circle| vec![circle])
}

/// The balance that was found, or that there is none, or was none to be found.
fn told(places: &Places<'_>, seen: Mended) -> Result<Moved, Vec<Fault>> {
    let all_seen = is_met(places, &seen) && places.all_certain();
    let (at, bound) = (seen.best, seen.bound);
    let stations = places.count;
    let Some(at) = at else {
        return Err(vec![Fault::NoAssignment {
            shown: if all_seen {
                format!("no assignment to {stations} stations meets takt and all rules")
            } else {
                format!(
                    "no assignment to {stations} stations was found before the search was \
                     ended; add a station or let it run longer"
                )
            },
        }]);
    };
    let moved = places.moved(&at);
    let bound = if all_seen { moved } else { bound.min(moved) };
    let today = &places.today;
    Ok(Moved {
        moves: (0..at.len())
            .filter(|task| at[*task] != today[*task])
            .map(|task| (task, today[task], at[task]))
            .collect(),
        stations: places.stations(&at),
        moved,
        bound,
        proven: moved == bound,
    })
}

/// Whether nothing moves less, waits taken as they were found.
fn is_met(places: &Places<'_>, seen: &Mended) -> bool {
    let least = seen.best.as_ref().map_or(u64::MAX, |at| places.moved(at));
    seen.bound >= least
}

/// The nearer to today's of two, where there are.
fn nearer(
    places: &Places<'_>,
    one: Option<Vec<usize>>,
    other: Option<Vec<usize>>,
) -> Option<Vec<usize>> {
    let each = [one, other].into_iter().flatten();
    each.min_by_key(|at| places.moved(at))
}

/// Today's places mended step by step, in two ways.
fn repaired(
    places: &Places<'_>,
    order: &[usize],
    today: &[usize],
    effort: &mut Effort,
    watch: &Watch<'_>,
) -> Option<Vec<usize>> {
    let mut part = effort.part(3);
    let pushed = push::repaired(places, order, today.to_vec(), &mut part, watch);
    effort.back(&part);
    let mut part = effort.part(2).at_most(WALK);
    let walked = repair::repaired(places, order, today.to_vec(), &mut part, watch);
    effort.back(&part);
    nearer(places, pushed, walked)
}

/// Where today's cannot be mended step by step, a new balance brought near;
/// none where the search ended without any.
fn balanced_anew(
    places: &Places<'_>,
    takt: u32,
    limits: &Limits,
    effort: &mut Effort,
    watch: &Watch<'_>,
) -> Result<Option<Vec<usize>>, Vec<Fault>> {
    let half = Limits {
        steps: limits.steps.map(|steps| steps / 2),
        ..*limits
    };
    let stations = places.count;
    let new = balance_line(places.line, takt, &half, watch)?;
    if new.bound > stations as u64 {
        return Err(vec![Fault::NoAssignment {
            shown: format!(
                "{stations} stations cannot do the work at this takt: it needs at least {}",
                new.bound
            ),
        }]);
    }
    if new.stations.is_empty() || new.stations.len() > stations {
        return Ok(None);
    }
    let mut part = effort.part(2).at_most(WALK);
    let at = places.feasible(stations_of(&new.stations, places.today.len()));
    let at = at.map(|at| repair::polished(places, &places.units(), at, &mut part, watch));
    effort.back(&part);
    Ok(at)
}

/// Where each task stands in a balance.
fn stations_of(stations: &[Station], tasks: usize) -> Vec<usize> {
    let mut at = vec![0; tasks];
    for (station, made) in stations.iter().enumerate() {
        for task in made.tasks() {
            at[task] = station;
        }
    }
    at
}
