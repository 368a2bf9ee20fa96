//! Tasks pushed out of overloaded stations, the dearest overload first, and
//! brought home again.

use super::place::{Effort, Places};
use super::repair::{brought_home, made_legal};
use crate::line::Luck;
use crate::watch::Watch;

/// Today's places mended: the least moved of what several runs find.
pub(crate) fn repaired(
    places: &Places<'_>,
    order: &[usize],
    start: Vec<usize>,
    effort: &mut Effort,
    watch: &Watch<'_>,
) -> Option<Vec<usize>> {
    let mut best: Option<Vec<usize>> = None;
    let start = made_legal(places, order, start);
    for run in 0..RUNS {
        let mut own = effort.part(RUNS - run);
        let mut mend = own.part(2);
        let found = run_once(places, start.clone(), run, &mut mend, watch);
        own.back(&mend);
        let found = found.map(|at| brought_home(places, at, &mut own));
        effort.back(&own);
        let Some(found) = found else {
            continue;
        };
        let less = |best: &Vec<usize>| places.moved(&found) < places.moved(best);
        if best.as_ref().is_none_or(less) {
            best = Some(found);
        }
    }
    best
}

/// Runs, each with its own luck.
const RUNS: u64 = 4;

fn run_once(
    places: &Places<'_>,
    mut at: Vec<usize>,
    run: u64,
    effort: &mut Effort,
    watch: &Watch<'_>,
) -> Option<Vec<usize>> {
    let mut luck = Luck(run);
    let mut loads = places.loads(&at);
    let mut quiet = vec![0_usize; at.len()];
    let excess = |at: &[usize], station| places.excess(&places.tasks_at(at, station));
    let mut over: Vec<u64> = (0..places.count).map(|s| excess(&at, s)).collect();
    let mut step = 0;
    loop {
        step += 1;
        let heavy: Vec<usize> = (0..places.count).filter(|s| over[*s] > 0).collect();
        if heavy.is_empty() {
            return places.feasible(at);
        }
        if !effort.spend() || step % 64 == 0 && watch.cancelled() {
            return None;
        }
        let from = heavy[luck.below(heavy.len() as u64) as usize];
        let mut best: Option<(i64, usize, usize)> = None;
        for task in places.tasks_at(&at, from) {
            if quiet[task] > step {
                continue;
            }
            for (to, heavy) in over.iter().enumerate() {
                if to == from || !places.may_stand(&at, task, to) {
                    continue;
                }
                effort.spend();
                let worse = cost_of(places, &mut loads, task, from, to);
                // A station whose posts wait for each other is worse than its
                // sum tells.
                let waits = if *heavy > 0 { 50 } else { 0 };
                let noise = luck.below(20) as i64;
                if best.is_none_or(|(least, ..)| worse + waits + noise < least) {
                    best = Some((worse + waits + noise, task, to));
                }
            }
        }
        let Some((_, task, to)) = best else { continue };
        places.take(&mut loads, task, from);
        places.add(&mut loads, task, to);
        at[task] = to;
        for station in [from, to] {
            over[station] = excess(&at, station);
        }
        quiet[task] = step + 5 + luck.below(10) as usize;
    }
}

/// What a move costs: overload made less overload mended, and work moved from
/// home less work brought home, both in thousandths of takt.
fn cost_of(
    places: &Places<'_>,
    loads: &mut super::place::Loads,
    task: usize,
    from: usize,
    to: usize,
) -> i64 {
    let before = places.over(loads, from) + places.over(loads, to);
    places.take(loads, task, from);
    places.add(loads, task, to);
    let after = places.over(loads, from) + places.over(loads, to);
    places.take(loads, task, to);
    places.add(loads, task, from);
    let measure = &places.measures[0];
    let work = (measure.ticks[task] * 1_000 / measure.room) as i64;
    let home = places.today[task];
    let moved = i64::from(to != home) - i64::from(from != home);
    let far = from.abs_diff(to) as i64;
    4 * (after as i64 - before as i64) + moved * work + far
}
