//! Least takt for a number of stations.

use super::Balance;
use super::graph::Graph;
use super::hunt::{Hunt, Line};
use crate::fault::Fault;
use crate::set::Set;
use crate::watch::{Least, Limits, Progress, Watch};
use crate::work::Work;

/// The least takt, in ticks, at which so many stations do all the work.
///
/// Whether a takt can be met is asked of the search for fewest stations, with
/// few steps at first and more where that leaves a gap (SALBP-2 by SALBP-1 as
/// an oracle). [`Balance::bound`] is in ticks; the takt of the answer is its
/// longest station, [`Balance::longest`].
///
/// ```
/// use balance::{Limits, Watch, Work, least_takt};
///
/// let work = Work { ticks: vec![6, 4, 5, 5], after: vec![vec![], vec![0], vec![0], vec![2]] };
/// let limits = Limits { memory_mb: 100, steps: None };
/// let found = least_takt(&work, 3, &limits, &Watch::none()).map_err(|f| f[0].to_string())?;
/// assert_eq!((found.longest(&work), found.bound), (9, 9));
/// # Ok::<(), String>(())
/// ```
///
/// # Errors
///
/// Every fault of the work; a line of no stations.
pub fn least_takt(
    work: &Work,
    stations: u32,
    limits: &Limits,
    watch: &Watch<'_>,
) -> Result<Balance, Vec<Fault>> {
    let mut faults = work.faults();
    if stations == 0 {
        faults.push(Fault::NoStations);
    }
    if !faults.is_empty() {
        return Err(faults);
    }
    if work.ticks.iter().all(|ticks| *ticks == 0) {
        let order = work.order().map_err(|circle| vec![circle])?;
        return Ok(Balance {
            stations: vec![order],
            bound: 0,
            proven: true,
            steps: 0,
        });
    }
    let order = work.order().map_err(|circle| vec![circle])?;
    Ok(sized!(
        work.ticks.len(),
        solve(work, &order, stations, limits, watch)
    ))
}

/// What is known of the least takt.
struct Gap<'a, const W: usize> {
    line: &'a Line<'a, W>,
    stations: u32,
    /// No takt below this will do.
    low: u32,
    /// This will, as the loads show.
    high: u32,
    loads: Vec<Set<W>>,
    steps: u64,
}

enum Verdict {
    Meets,
    Fails,
    Open,
}

fn solve<const W: usize>(
    work: &Work,
    order: &[usize],
    stations: u32,
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
    let low = least(&graph.ticks, stations);
    let mut gap = Gap {
        line: &line,
        stations,
        low,
        high: graph.total as u32,
        loads: vec![graph.all],
        steps: 0,
    };
    gap.widen();
    let mut most = 50_000;
    while gap.low < gap.high && !gap.is_ended() {
        gap.narrow(most);
        most *= 4;
    }
    Balance {
        stations: graph.listed(&gap.loads, order),
        bound: u64::from(gap.low),
        proven: gap.low >= gap.high,
        steps: gap.steps,
    }
}

/// By sum; and of `k * stations + 1` tasks some station has `k + 1`, so it
/// takes at least the shortest of them.
fn least(ticks: &[u32], stations: u32) -> u32 {
    let total: u64 = ticks.iter().map(|ticks| u64::from(*ticks)).sum();
    let mut least = total.div_ceil(u64::from(stations)) as u32;
    let mut share = 1;
    while let Some(shortest) = ticks.get((share - 1) * stations as usize) {
        let last = (share - 1) * stations as usize;
        let together: u32 = ticks[(last + 1).saturating_sub(share)..=last].iter().sum();
        debug_assert!(*shortest <= together);
        least = least.max(together);
        share += 1;
    }
    least
}

impl<const W: usize> Gap<'_, W> {
    fn is_ended(&self) -> bool {
        let most = self.line.limits.steps.unwrap_or(u64::MAX);
        self.line.watch.cancelled() || self.steps >= most
    }

    /// A first takt that will do, found from the bound up by ever larger steps.
    fn widen(&mut self) {
        let mut step = (self.low / 100).max(1);
        let mut takt = self.low;
        while takt < self.high && !self.line.watch.cancelled() {
            match self.ask(takt, 0) {
                Verdict::Meets => return,
                Verdict::Fails | Verdict::Open => takt = takt.saturating_add(step),
            }
            step = step.saturating_mul(2);
        }
    }

    /// Halves the gap from above, taking what stays open for a no; then from
    /// below, taking it for a yes.
    fn narrow(&mut self, most: u64) {
        let mut floor = self.low;
        while floor < self.high && !self.is_ended() {
            let middle = floor + (self.high - floor) / 2;
            if let Verdict::Open = self.ask(middle, most) {
                floor = middle + 1;
            }
            floor = floor.max(self.low);
        }
        let mut ceiling = self.high;
        while self.low < ceiling && !self.is_ended() {
            let middle = self.low + (ceiling - self.low) / 2;
            if let Verdict::Open = self.ask(middle, most) {
                ceiling = middle;
            }
            ceiling = ceiling.min(self.high);
        }
        // More often than not the best found is the least.
        if self.low < self.high && !self.is_ended() {
            self.ask(self.high - 1, most.saturating_mul(2));
        }
    }

    /// Whether a takt can be met, with so many steps; narrows the gap.
    fn ask(&mut self, takt: u32, most: u64) -> Verdict {
        let left = self.line.limits.steps.unwrap_or(u64::MAX);
        let mut hunt = Hunt::new(self.line, takt, left.saturating_sub(self.steps));
        let enough = hunt.bound <= self.stations;
        if enough {
            hunt.start(self.stations, if most > 200_000 { 40 } else { 8 });
        }
        if enough && hunt.best.len() > self.stations as usize {
            hunt.weigh();
            if hunt.bound <= self.stations && most > 0 {
                hunt.decide(self.stations, most);
            }
        }
        self.steps += hunt.steps;
        let verdict = if hunt.bound > self.stations {
            self.low = self.low.max(takt + 1);
            Verdict::Fails
        } else if hunt.best.len() <= self.stations as usize {
            self.high = self.line.graph.longest(&hunt.best);
            self.loads = hunt.best;
            Verdict::Meets
        } else {
            Verdict::Open
        };
        (self.line.watch.progress)(Progress {
            least: Least::Takt,
            best: Some(u64::from(self.high)),
            bound: u64::from(self.low),
        });
        verdict
    }
}
