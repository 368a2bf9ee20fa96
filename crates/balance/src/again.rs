//! Balancing again: the least work moved from where it stands today.

mod exact;
mod place;
mod repair;
mod walk;

use crate::fault::Fault;
use crate::line::{Line, Station, balance_line};
use crate::watch::{Limits, Progress, Watch};
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

/// Steps of the walks near today's places, on a long line and on a short one.
const WALK: u64 = 400_000;
const SHORT_WALK: u64 = 1_500;

/// Tasks of a line that is so short that all its assignments may be looked at.
const SHORT: usize = 24;

/// The least work that must move from today's stations so that all is within
/// takt again, on at most so many stations. Steps are assignments looked at; with
/// a limit it always ends soon, with what was found and the bound.
///
/// A search that moves tasks out of overloaded stations and home again gives
/// the answer; a search over all assignments proves it where the line is short
/// or the moves few. The bound is what each overloaded station must give away.
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
    let order = line.work.order().map_err(|circle| vec![circle])?;
    let places = Places::of(line, takt, today, stations);
    let bound = places.bound();
    let report = |best: Option<u64>, bound: u64| (watch.progress)(Progress { best, bound });
    let mut effort = Effort::of(limits.steps.unwrap_or(3_000_000));
    let mut best = places.feasible(today.to_vec());
    if best.is_none() {
        // A search of all assignments only pays on a short line.
        let mut part = effort.at_most(if today.len() > SHORT {
            WALK
        } else {
            SHORT_WALK
        });
        best = repair::repaired(&places, &order, today.to_vec(), &mut part, watch);
        effort.back(&part);
        report(best.as_ref().map(|at| places.moved(at)), bound);
    }
    // Where today's cannot be mended step by step, a new balance brought near.
    if best.is_none() {
        let half = Limits {
            steps: limits.steps.map(|steps| steps / 2),
            ..*limits
        };
        let new = balance_line(line, takt, &half, watch)?;
        if new.bound > stations as u64 {
            return Err(vec![Fault::NoAssignment {
                shown: format!(
                    "{stations} stations cannot do the work at this takt: it needs at least {}",
                    new.bound
                ),
            }]);
        }
        if !new.stations.is_empty() && new.stations.len() <= stations {
            let mut part = effort.part(2).at_most(WALK);
            best = places
                .feasible(stations_of(&new.stations, today.len()))
                .map(|at| repair::polished(&places, &places.units(), at, &mut part, watch));
            effort.back(&part);
        }
    }
    places.all_certain();
    let (at, all_seen) = exact::least(&places, &order, best, bound, &mut effort, watch);
    let all_seen = all_seen && places.all_certain();
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
    report(Some(moved), bound);
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
