//! Cars that miss their promise, brought forward: what is lost is lost, but a
//! customer who waits a day is better served than one who waits a week.

use std::sync::atomic::Ordering;

use sequence::model::{Checked, Goal, Goals};
use sequence::{Arranged, Clean, Cost, Settings, Solution, Step, better};

use super::Watch;
use super::ask::{self, Asked};
use super::follow::{Follow, moves};

/// The goal of late cars in words.
pub(super) const GOAL: &str = "places that late cars come too late, in steps";

/// The problem whose late cars matter, and the order found for it.
pub(super) struct Sooner {
    pub(super) asked: Asked,
    pub(super) solution: Solution,
}

/// The goals with how late cars come behind all that spacing and promises
/// weigh, before colours; the tier that it has.
pub(super) fn minded(asked: &Asked) -> (Asked, usize) {
    let mut asked = asked.clone();
    let problem = &mut asked.problem;
    if problem.goals == Goals::Weighted {
        let rules = (0..problem.rules.len()).map(Goal::Rule);
        let others = [Goal::Promises, Goal::Colours, Goal::Level];
        problem.goals = Goals::Ordered(vec![rules.chain(others).collect()]);
    }
    let mut at = 0;
    if let Goals::Ordered(groups) = &mut problem.goals {
        let first = asked.goals.first();
        at = usize::from(first.is_some_and(|first| BEFORE.contains(first)));
        groups.insert(at, vec![Goal::Lateness]);
        asked.goals.insert(at, GOAL);
    }
    (asked, at + 1)
}

/// Goals that come before it.
const BEFORE: [&str; 2] = [ask::GIVEN, ask::ALL];

/// Goes on from an order with late cars: each is tried in every place, then
/// the whole is searched on. None where no promise is missed.
pub(super) fn sooner(
    asked: &Asked,
    found: &Solution,
    search: &Settings,
    (watch, follow): (&Watch<'_>, &Follow<'_>),
) -> Option<Sooner> {
    if found.tally.late.iter().all(|late| *late == 0) {
        return None;
    }
    let (asked, tier) = minded(asked);
    let checked = asked.problem.check().ok()?;
    let order = each_moved(&checked, &found.order, watch)?;
    let settings = settings(search);
    let own = ("bringing late cars forward", moves(&settings));
    let on = follow.order(own, &asked, |watch| {
        better(&checked, &order, &settings, watch)
    });
    let mut solution = on.ok()?;
    solution.steps += found.steps;
    solution.complete &= found.complete;
    if solution.clean != Clean::Found {
        solution.clean = found.clean.clone();
        solution.clash.clone_from(&found.clash);
    }
    solution.bound.clone_from(&found.bound);
    solution.bound.cost = shifted(found.bound.cost, tier);
    Some(Sooner { asked, solution })
}

/// The search goes on for so many times fewer moves.
const SHORTER: u64 = 4;

/// How long it goes on.
pub(super) fn settings(search: &Settings) -> Settings {
    Settings {
        steps: search.steps / SHORTER,
        ..*search
    }
}

/// Bounds of the goals before, with nothing for the one put in.
fn shifted(bound: Cost, tier: usize) -> Cost {
    let mut shifted = bound;
    shifted.0[tier..].rotate_right(1);
    shifted.0[tier] = 0;
    shifted
}

/// Late cars that are tried in every place, and how often.
const MOST_TRIED: usize = 200;
const ROUNDS: usize = 3;
/// So many are tried once even where the time is over: it takes no longer than
/// telling the order does, and a car may else stand anywhere.
const ALWAYS_TRIED: usize = 40;

/// The part of a limit on time in which the order is searched for; the rest is
/// for cars that miss their promise.
const SEARCHED: f64 = 0.85;

/// Searches within that part where there is anything promised.
pub(super) fn time_left<T>(
    asked: &Asked,
    watch: &sequence::Watch<'_>,
    search: impl FnOnce(&sequence::Watch<'_>) -> T,
) -> T {
    if asked.problem.promises.is_empty() {
        return search(watch);
    }
    let gone = || (watch.gone)() / SEARCHED;
    search(&sequence::Watch {
        gone: &gone,
        ..*watch
    })
}

fn each_moved(checked: &Checked, order: &[usize], watch: &Watch<'_>) -> Option<Vec<usize>> {
    let mut hand = Arranged::new(checked, order).ok()?;
    for round in 0..ROUNDS {
        let mut any = false;
        let late = late_places(checked, &hand).into_iter().take(MOST_TRIED);
        for (tried, place) in late.enumerate() {
            let cheap = round == 0 && tried < ALWAYS_TRIED;
            if !cheap && watch.cancel.load(Ordering::Relaxed) {
                return Some(hand.order());
            }
            let Ok(costs) = hand.everywhere(place, 1) else {
                continue;
            };
            let costs = costs.into_iter().zip(0..);
            let best = costs.filter_map(|(cost, to)| Some((cost?, to))).min();
            let step = |to| Step {
                from: place,
                cars: 1,
                to,
            };
            if let Some((cost, to)) = best
                && cost < Cost::ZERO
            {
                any |= hand.take(step(to)).is_ok();
            }
        }
        if !any {
            break;
        }
    }
    Some(hand.order())
}

/// Places of cars that miss a promise, those farthest behind first.
fn late_places(checked: &Checked, hand: &Arranged<'_>) -> Vec<usize> {
    let (order, tally) = (hand.order(), hand.tally());
    let mut places: Vec<usize> = Vec::new();
    for (promise, late) in checked.problem().promises.iter().zip(tally.late) {
        let behind = (promise.within as usize..order.len())
            .filter(|place| order[*place] == promise.class)
            .take(late as usize);
        places.extend(behind);
    }
    places.sort_unstable();
    places.dedup();
    places.reverse();
    places
}
