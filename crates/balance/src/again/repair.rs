//! Today's places mended: out of what breaks a rule, and home again.

use super::nearer;
use super::place::{Effort, Places};
use super::walk::Walk;
use crate::watch::Watch;

/// Walks from every start, then from the best of them, each with its own luck.
const RUNS: u64 = 4;

/// How much worse a step may be at first, in thousandths of takt.
const WARM: u64 = 250;

/// The least moved of what several walks find, from today's places and from
/// those with one thing that fills a station put elsewhere.
pub(crate) fn repaired(
    places: &Places<'_>,
    order: &[usize],
    today: Vec<usize>,
    effort: &mut Effort,
    watch: &Watch<'_>,
) -> Option<Vec<usize>> {
    let units = places.units();
    let starts = starts(places, order, &units, &made_legal(places, order, today));
    let mut best: Option<Vec<usize>> = None;
    let mut half = effort.part(2);
    let mut ended: Vec<(i64, Vec<usize>)> = Vec::new();
    let count = starts.len() as u64;
    for (run, start) in (0..).zip(starts) {
        let mut own = half.part(count - run);
        let mut walk = Walk::from(places, &units, start, run);
        walk.go_on(WARM, &mut own, watch);
        half.back(&own);
        let cost = walk.cost();
        ended.push((cost, walk.at().to_vec()));
        best = nearer(places, best, walk.best());
    }
    effort.back(&half);
    ended.sort();
    ended.truncate(RUNS as usize);
    let count = ended.len() as u64;
    for (run, (_, at)) in (0..).zip(ended) {
        let mut own = effort.part(count - run);
        let mut walk = Walk::from(places, &units, at, 1_000 + run);
        walk.go_on(WARM / 2, &mut own, watch);
        effort.back(&own);
        best = nearer(places, best, walk.best());
    }
    best.map(|at| polished(places, &units, at, effort, watch))
}

/// An assignment that holds brought nearer to today's, as far as it goes.
pub(crate) fn polished(
    places: &Places<'_>,
    units: &[Vec<usize>],
    at: Vec<usize>,
    effort: &mut Effort,
    watch: &Watch<'_>,
) -> Vec<usize> {
    let mut own = effort.part(2);
    let mut walk = Walk::from(places, units, at.clone(), 2_000);
    walk.go_on(WARM / 5, &mut own, watch);
    effort.back(&own);
    let at = nearer(places, Some(at), walk.best());
    brought_home(places, at.unwrap_or_default(), effort)
}

/// Where to start from: today's, and for each thing that fills a station it
/// does not have to itself, today's with that thing at each other station and
/// what comes before and after it on the right side of it.
fn starts(
    places: &Places<'_>,
    order: &[usize],
    units: &[Vec<usize>],
    at: &[usize],
) -> Vec<Vec<usize>> {
    let mut starts = vec![at.to_vec()];
    for unit in units {
        let from = at[unit[0]];
        let alone = places.tasks_at(at, from).len() == unit.len();
        if alone || !places.fills(unit) {
            continue;
        }
        for to in (0..places.count).filter(|to| *to != from) {
            let start = around(places, order, unit, to, at);
            let fixed = places.line.rules.fixed.iter();
            if fixed
                .into_iter()
                .all(|(task, station)| start[*task] == *station)
            {
                starts.push(start);
            }
        }
    }
    starts
}

/// A unit at a station, with all that comes before it no later and all that
/// comes after it no sooner.
fn around(
    places: &Places<'_>,
    order: &[usize],
    unit: &[usize],
    to: usize,
    at: &[usize],
) -> Vec<usize> {
    let mut at = at.to_vec();
    for task in unit {
        at[*task] = to;
    }
    for task in order {
        for before in &places.line.work.after[*task] {
            if !unit.contains(task) {
                at[*task] = at[*task].max(at[*before]);
            }
        }
    }
    for task in unit {
        at[*task] = to;
    }
    for task in order.iter().rev() {
        for after in &places.after[*task] {
            at[*task] = at[*task].min(at[*after]);
        }
    }
    at
}

/// Puts tasks that stand before what they follow, or beyond the last station,
/// where they are legal; load aside.
pub(crate) fn made_legal(places: &Places<'_>, order: &[usize], mut at: Vec<usize>) -> Vec<usize> {
    for station in &mut at {
        *station = (*station).min(places.count - 1);
    }
    for (task, station) in &places.line.rules.fixed {
        at[*task] = *station;
    }
    for task in order {
        for before in &places.line.work.after[*task] {
            at[*task] = at[*task].max(at[*before]);
        }
    }
    at
}

/// Brings tasks back to where they stand today as long as that holds: alone,
/// or in exchange for another that goes home too. The assignment keeps every
/// rule and takt before and after.
pub(crate) fn brought_home(
    places: &Places<'_>,
    mut at: Vec<usize>,
    effort: &mut Effort,
) -> Vec<usize> {
    loop {
        let mut away: Vec<usize> = (0..at.len())
            .filter(|t| at[*t] != places.today[*t] && places.today[*t] < places.count)
            .collect();
        away.sort_by_key(|task| {
            let either = places.is_either(*task);
            (std::cmp::Reverse(places.measures[0].ticks[*task]), either)
        });
        let Some(better) = nearer_home(places, &at, &away, effort) else {
            return at;
        };
        at = better;
    }
}

/// The assignment with one or two more tasks at home; none where that does not
/// hold.
fn nearer_home(
    places: &Places<'_>,
    at: &[usize],
    away: &[usize],
    effort: &mut Effort,
) -> Option<Vec<usize>> {
    let mut home = at.to_vec();
    for (index, task) in away.iter().enumerate() {
        home[*task] = places.today[*task];
        if !effort.spend() {
            return None;
        }
        if places.holds_after(&home, &[*task], &[at[*task]]) {
            return Some(home);
        }
        for other in away[index + 1..].iter().take(40) {
            home[*other] = places.today[*other];
            if !effort.spend() {
                return None;
            }
            if places.holds_after(&home, &[*task, *other], &[at[*task], at[*other]]) {
                return Some(home);
            }
            home[*other] = at[*other];
        }
        home[*task] = at[*task];
    }
    None
}
