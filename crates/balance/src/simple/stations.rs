//! Fewest stations for a takt.

use super::Balance;
use super::graph::Graph;
use super::hunt::{Hunt, Line};
use crate::fault::Fault;
use crate::watch::{Least, Limits, Progress, Watch};
use crate::work::Work;

/// The fewest stations that do all the work within takt.
///
/// Start answers by weighted Hoffmann runs from both ends; bounds by sum,
/// count, packing, heads and tails and stretches of stations; then branch,
/// bound and remember from both ends side by side. The answer holds at any
/// time the caller ends the search: the best found with its bound.
///
/// ```
/// use balance::{Limits, Watch, Work, fewest_stations};
///
/// let work = Work { ticks: vec![6, 4, 5, 5], after: vec![vec![], vec![0], vec![0], vec![2]] };
/// let limits = Limits { memory_mb: 100, steps: None };
/// let found = fewest_stations(&work, 10, &limits, &Watch::none()).map_err(|f| f[0].to_string())?;
/// assert_eq!(found.stations, [vec![0, 1], vec![2, 3]]);
/// assert!(found.proven);
/// # Ok::<(), String>(())
/// ```
///
/// # Errors
///
/// Every fault of the work, and every task that is longer than takt.
pub fn fewest_stations(
    work: &Work,
    takt: u32,
    limits: &Limits,
    watch: &Watch<'_>,
) -> Result<Balance, Vec<Fault>> {
    let mut faults = work.faults();
    faults.extend(work.longer_than(takt));
    if !faults.is_empty() {
        return Err(faults);
    }
    if work.ticks.is_empty() {
        return Ok(Balance {
            stations: Vec::new(),
            bound: 0,
            proven: true,
            steps: 0,
        });
    }
    let order = work.order().map_err(|circle| vec![circle])?;
    Ok(sized!(
        work.ticks.len(),
        solve(work, &order, takt, limits, watch)
    ))
}

fn solve<const W: usize>(
    work: &Work,
    order: &[usize],
    takt: u32,
    limits: &Limits,
    watch: &Watch<'_>,
) -> Balance {
    let graph = Graph::<W>::of(work, order);
    let back = graph.reversed();
    let line = Line {
        graph: &graph,
        back: &back,
        limits,
        watch,
    };
    let mut hunt = Hunt::new(&line, takt, limits.steps.unwrap_or(u64::MAX));
    let report = |hunt: &Hunt<'_, W>| {
        (watch.progress)(Progress {
            least: Least::Stations,
            best: Some(hunt.best.len() as u64),
            bound: u64::from(hunt.bound),
        });
    };
    hunt.start(hunt.bound, 100);
    report(&hunt);
    if !hunt.is_over() {
        hunt.weigh();
        report(&hunt);
    }
    // A short try at the bound itself: where it is too low the search is soon
    // at its end, for there is little idle time to give away.
    while !hunt.is_over() && hunt.bound as usize + 1 < hunt.best.len() {
        let before = hunt.bound;
        if !hunt.decide(hunt.bound, 400_000) || hunt.bound == before {
            break;
        }
        report(&hunt);
    }
    while !hunt.is_over() && hunt.decide(hunt.best.len() as u32 - 1, u64::MAX) {
        report(&hunt);
    }
    Balance {
        stations: graph.listed(&hunt.best, order),
        bound: u64::from(hunt.bound),
        proven: hunt.is_over(),
        steps: hunt.steps,
    }
}
