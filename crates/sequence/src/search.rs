//! The search: walkers that try small changes, millions in a second, and keep
//! those that make the order no worse.

use rayon::prelude::*;

use crate::cost::Cost;
use crate::model::Checked;
use crate::short::Tables;
use crate::tempering::temper;
use crate::walker::{Begin, CHUNK, Clock, LEAST_A_CAR, SETTLED, Walker};
use crate::watch::{Progress, Settings, Watch};

/// Rounds of a whole search; between them the walkers compare their orders.
const ROUNDS: u64 = 40;

/// Moves of a walker in a round at the most.
const LONGEST_ROUND: u64 = 1_000_000;

/// What came of a search.
#[derive(Clone, Debug)]
pub(crate) struct Found {
    /// The whole row, previous cars included.
    pub(crate) row: Vec<u16>,
    pub(crate) cost: Cost,
    /// Moves tried.
    pub(crate) steps: u64,
}

/// The best order found within the settings' steps; ends early when it costs
/// no more than `goal`.
pub(crate) fn search(
    checked: &Checked,
    settings: &Settings,
    begin: Begin<'_>,
    goal: &Cost,
    watch: &Watch<'_>,
) -> Found {
    let plan = &checked.plan;
    let nothing_to_do = plan.len - plan.free < 2;
    let enough = settings.steps >= LEAST_A_CAR * plan.len as u64;
    if enough
        && !nothing_to_do
        && !matches!(begin, Begin::Good(_))
        && let Some(tables) = Tables::new(plan)
    {
        return temper(plan, &tables, settings, begin, goal, watch);
    }
    let mut walkers: Vec<Walker<'_>> = (0..settings.walkers.max(1))
        .map(|number| Walker::new(plan, number, settings, begin))
        .collect();
    let round = settings.steps.div_ceil(ROUNDS).clamp(CHUNK, LONGEST_ROUND);
    let clock = Clock::new(watch);
    let cools = walkers.iter().any(Walker::cools);
    let mut settled = false;
    let mut spent = 0;
    while spent < settings.steps && !nothing_to_do && !watch.cancelled() {
        let steps = round.min(settings.steps - spent);
        walkers
            .par_iter_mut()
            .for_each(|walker| walker.walk(steps, goal, &clock));
        spent += steps;
        let best = leader(&walkers);
        let (cost, cars) = (walkers[best].best, walkers[best].best_cars.clone());
        (watch.progress)(Progress {
            steps: walkers.iter().map(|walker| walker.steps).sum(),
            of: settings.steps.saturating_mul(walkers.len() as u64),
            best: cost,
        });
        if cost <= *goal {
            break;
        }
        let share = spent as f64 / settings.steps as f64;
        if !cools {
            continue;
        }
        if settled {
            // What one has gained at the last goals the others go on from.
            for walker in walkers.iter_mut().filter(|walker| walker.is_behind(&cost)) {
                walker.go_on_from(&cars, cost);
            }
        } else if share.max(clock.gone()) >= SETTLED {
            settled = true;
            for (number, walker) in walkers.iter_mut().enumerate() {
                walker.settle(number, &cars, cost);
            }
        }
    }
    let best = leader(&walkers);
    Found {
        row: walkers[best].best_cars.clone(),
        cost: walkers[best].best,
        steps: walkers.iter().map(|walker| walker.steps).sum(),
    }
}

/// The walker with the best order; of equals the first.
fn leader(walkers: &[Walker<'_>]) -> usize {
    let costs = walkers.iter().map(|walker| walker.best).enumerate();
    costs
        .min_by_key(|(at, cost)| (*cost, *at))
        .map_or(0, |(at, _)| at)
}
