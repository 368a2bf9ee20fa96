//! What a search found, told: the set, its steps, money against cars.

use flow::Watch;

use super::super::{shows, tray};
use super::Found;
use super::model::{Reached, WayPoint, WayStep};
use super::search::bits;
use super::sets::Sets;
use crate::findings::NoAnswer;

/// What is told of a search.
pub(super) struct Told {
    pub(super) cheapest: Option<Reached>,
    pub(super) perhaps: Option<WayPoint>,
    pub(super) all: WayPoint,
    pub(super) curve: Vec<WayPoint>,
}

pub(super) fn told(
    sets: &mut Sets<'_>,
    found: &Found,
    way: &[u64],
    watch: &Watch<'_>,
) -> Result<Told, NoAnswer> {
    let all = sets.all();
    let perhaps = found.perhaps.filter(|set| Some(*set) != found.best);
    for set in found.best.into_iter().chain(perhaps) {
        sets.confirm(set);
    }
    let cheapest = match found.best {
        Some(set) => Some(Reached {
            set: point(sets, set, watch)?,
            steps: steps(sets, set, watch)?,
            proved: found.proved,
        }),
        None => None,
    };
    let perhaps = perhaps.map(|set| point(sets, set, watch)).transpose()?;
    let mut curve = Vec::new();
    for set in told_curve(sets, way, all, found.best) {
        curve.push(point(sets, set, watch)?);
    }
    Ok(Told {
        all: point(sets, all, watch)?,
        cheapest,
        perhaps,
        curve,
    })
}

/// The sets of the curve: confirmed as far as the runs reach, each shown to give
/// more than the one before.
fn told_curve(sets: &mut Sets<'_>, way: &[u64], all: u64, best: Option<u64>) -> Vec<u64> {
    let ends = [0, all].into_iter().chain(best);
    let mut points: Vec<u64> = way.iter().copied().chain(ends).collect();
    points.sort_by(|a, b| sets.cost(*a).total_cmp(&sets.cost(*b)).then(a.cmp(b)));
    points.dedup();
    let mut told: Vec<u64> = Vec::new();
    for set in points {
        // two runs are needed for an interval
        if !sets.confirm(set) && sets.seen(set).len() < 2 {
            continue;
        }
        let more = told.last().is_none_or(|before| {
            let gain = sets.more(set, *before);
            gain.mean > 0.0 && shows(gain)
        });
        if more || Some(set) == best {
            told.push(set);
        }
    }
    told
}

fn point(sets: &Sets<'_>, set: u64, watch: &Watch<'_>) -> Result<WayPoint, NoAnswer> {
    let ideas = || bits(set).map(|idea| &sets.ideas[idea]);
    Ok(WayPoint {
        ideas: ideas().map(|idea| idea.id).collect(),
        investment: ideas().filter_map(|idea| idea.investment).sum(),
        yearly: sets.cost(set),
        made: sets.cars(set).interval(sets.settings.level),
        days: sets.days(set),
        verdict: sets.verdict(set),
        constraint: constraint(sets, set, watch)?,
        runs: sets.seen(set).len() as u32,
    })
}

/// None where the time is over.
fn constraint(
    sets: &Sets<'_>,
    set: u64,
    watch: &Watch<'_>,
) -> Result<Option<(String, f64)>, NoAnswer> {
    let Some(tried) = sets.tried_set(set) else {
        return Ok(None);
    };
    match tray::next_constraint(&tried.built, &sets.runner.terms, watch) {
        Err(NoAnswer::Cancelled) => Ok(None),
        other => other,
    }
}

/// The set idea by idea, that first which adds most to those before it.
fn steps(sets: &mut Sets<'_>, set: u64, watch: &Watch<'_>) -> Result<Vec<WayStep>, NoAnswer> {
    let runs = (sets.seen(set).len() as u32).min(sets.settings.confirm);
    let mut steps = Vec::new();
    let mut before = 0;
    while before != set {
        let open: Vec<usize> = bits(set & !before).collect();
        let whole = sets.runs_of(before, runs).is_ok()
            && open
                .iter()
                .all(|idea| sets.runs_of(before | 1 << idea, runs).is_ok());
        if !whole {
            // too few runs are left to tell the steps
            return Ok(Vec::new());
        }
        let most = open.into_iter().max_by(|a, b| {
            let more = |idea: usize| sets.more(before | 1 << idea, before).mean;
            more(*a).total_cmp(&more(*b)).then(b.cmp(a))
        });
        let Some(idea) = most else { break };
        let after = before | 1 << idea;
        let cars = sets.first_pairs(after, before, runs, |seen| seen.cars);
        let days = sets.first_pairs(after, before, runs, |seen| seen.days);
        steps.push(WayStep {
            idea: sets.ideas[idea].id,
            shown: shows(cars),
            cars,
            days_shown: shows(days),
            days,
            constraint: constraint(sets, after, watch)?,
        });
        before = after;
    }
    Ok(steps)
}
