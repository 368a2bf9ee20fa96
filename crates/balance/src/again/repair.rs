//! Moves tasks out of overloaded stations, and home again.

use super::place::Places;
use crate::line::Luck;
use crate::watch::Watch;

/// Steps of repair a task.
const STEPS: usize = 400;

/// Today's places mended: the least moved of what several runs find.
pub(crate) fn repaired(
    places: &Places<'_>,
    order: &[usize],
    start: Vec<usize>,
    watch: &Watch<'_>,
) -> Option<Vec<usize>> {
    let mut best: Option<Vec<usize>> = None;
    let start = made_legal(places, order, start);
    for run in 0..4 {
        let found = run_once(places, start.clone(), run, watch);
        let Some(found) = found.and_then(|at| brought_home(places, at)) else {
            continue;
        };
        if best
            .as_ref()
            .is_none_or(|best| places.moved(&found) < places.moved(best))
        {
            best = Some(found);
        }
    }
    best
}

/// Puts tasks that stand before what they follow, or beyond the last station,
/// where they are legal; load aside.
fn made_legal(places: &Places<'_>, order: &[usize], mut at: Vec<usize>) -> Vec<usize> {
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

fn run_once(
    places: &Places<'_>,
    mut at: Vec<usize>,
    run: u64,
    watch: &Watch<'_>,
) -> Option<Vec<usize>> {
    let mut luck = Luck(run);
    let mut loads = places.loads(&at);
    let mut quiet = vec![0_usize; at.len()];
    for step in 1..STEPS * at.len() {
        if step % 256 == 0 && watch.cancelled() {
            return None;
        }
        let over: Vec<usize> = (0..places.count)
            .filter(|station| places.over(&loads, *station) > 0)
            .collect();
        if over.is_empty() {
            if places.feasible(at.clone()).is_some() {
                return Some(at);
            }
            return None;
        }
        let from = over[luck.below(over.len() as u64) as usize];
        let mut best: Option<(i64, usize, usize)> = None;
        for task in 0..at.len() {
            if at[task] != from || quiet[task] > step {
                continue;
            }
            for to in 0..places.count {
                if to == from || !places.may_stand(&at, task, to) {
                    continue;
                }
                let worse = cost_of(places, &mut loads, task, from, to);
                let noise = luck.below(20) as i64;
                if best.is_none_or(|(least, ..)| worse + noise < least) {
                    best = Some((worse + noise, task, to));
                }
            }
        }
        let Some((_, task, to)) = best else { continue };
        places.take(&mut loads, task, from);
        places.add(&mut loads, task, to);
        at[task] = to;
        quiet[task] = step + 5 + luck.below(10) as usize;
    }
    None
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

/// Brings tasks back to where they stand today as long as that holds: alone,
/// or in exchange for another that goes home too.
pub(crate) fn brought_home(places: &Places<'_>, at: Vec<usize>) -> Option<Vec<usize>> {
    let mut at = places.feasible(at)?;
    loop {
        let mut away: Vec<usize> = (0..at.len())
            .filter(|t| at[*t] != places.today[*t])
            .collect();
        away.sort_by_key(|task| {
            let either = places.is_either(*task);
            (std::cmp::Reverse(places.measures[0].ticks[*task]), either)
        });
        let mut better = None;
        'found: for (index, task) in away.iter().enumerate() {
            if places.today[*task] >= places.count {
                continue;
            }
            let mut home = at.clone();
            home[*task] = places.today[*task];
            if let Some(home) = places.feasible(home.clone()) {
                better = Some(home);
                break;
            }
            for other in away[index + 1..].iter().take(40) {
                if places.today[*other] >= places.count {
                    continue;
                }
                let mut both = home.clone();
                both[*other] = places.today[*other];
                if let Some(both) = places.feasible(both) {
                    better = Some(both);
                    break 'found;
                }
            }
        }
        match better {
            Some(better) => at = better,
            None => return Some(at),
        }
    }
}
