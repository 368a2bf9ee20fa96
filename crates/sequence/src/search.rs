//! The search: walkers that try small changes, millions in a second, and keep
//! those that make the order no worse.

use rayon::prelude::*;

use crate::bound::Bound;
use crate::cost::Cost;
use crate::model::Checked;
use crate::short::Tables;
use crate::tempering::Tempering;
use crate::walker::{Begin, CHUNK, Clock, LEAST_A_CAR, SETTLED, Walker};
use crate::watch::{Progress, Seen, Settings, Watch};

/// Rounds of a whole search; between them the walkers compare their orders.
const ROUNDS: u64 = 40;

/// Moves of a walker in a round at the most.
const LONGEST_ROUND: u64 = 1_000_000;

/// Where rows that exchange their warmth walk beside the walkers, they try this
/// many changes for each of a walker. What a change is looked up in makes it
/// about eight times cheaper, so that they have most of the time; the walkers
/// still find, now and then, what those miss.
const TEMPERED: u64 = 128;

/// What came of a search.
#[derive(Clone, Debug)]
pub(crate) struct Found {
    /// The whole row, previous cars included.
    pub(crate) row: Vec<u16>,
    pub(crate) cost: Cost,
    /// Moves tried.
    pub(crate) steps: u64,
}

/// The best order found within the settings' steps; ends early when no order
/// costs less by its bound.
pub(crate) fn search(
    checked: &Checked,
    settings: &Settings,
    begin: Begin<'_>,
    bound: &Bound,
    watch: &Watch<'_>,
) -> Found {
    let plan = &checked.plan;
    let goal = &bound.goal(plan);
    let nothing_to_do = plan.len - plan.free < 2;
    let enough = settings.steps >= LEAST_A_CAR * plan.len as u64;
    let anew = !matches!(begin, Begin::Good(_));
    let tables = (enough && anew && !nothing_to_do)
        .then(|| Tables::new(plan))
        .flatten();
    let mut tempering = tables
        .as_ref()
        .map(|tables| Tempering::new(plan, tables, settings.seed, begin));
    let of = settings
        .steps
        .saturating_mul(settings.walkers.max(1).into());
    let tell = |steps: u64, best: Cost, row: &[u16]| {
        tell(watch, (steps, of), best, (checked, bound, row));
    };
    let settings = &Settings {
        steps: if tempering.is_some() {
            settings.steps / (1 + TEMPERED)
        } else {
            settings.steps
        },
        ..*settings
    };
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
        if let Some(rows) = &mut tempering
            && walkers[leader(&walkers)].best > *goal
        {
            let moves = steps * TEMPERED * walkers.len() as u64;
            warm(rows, &walkers, moves, (goal, watch), &tell);
        }
        let found = found(&walkers, tempering.as_ref());
        let (cost, cars) = (found.cost, found.row);
        tell(found.steps, cost, &cars);
        if cost <= *goal {
            break;
        }
        if cools {
            let share = spent as f64 / settings.steps as f64;
            let late = share.max(clock.gone()) >= SETTLED;
            follow(&mut walkers, (&cars, cost), settled, late);
            settled |= late;
        }
    }
    found(&walkers, tempering.as_ref())
}

/// Tells whoever watches how far the search is.
fn tell(
    watch: &Watch<'_>,
    (steps, of): (u64, u64),
    best: Cost,
    (checked, bound, row): (&Checked, &Bound, &[u16]),
) {
    let seen = Seen {
        checked,
        bound,
        row,
    };
    (watch.progress)(Progress {
        steps,
        of,
        best,
        seen,
    });
}

/// Lets the rows that exchange their warmth walk a round; rounds of theirs are
/// long, so that they are told of within.
fn warm(
    rows: &mut Tempering<'_>,
    walkers: &[Walker<'_>],
    moves: u64,
    (goal, watch): (&Cost, &Watch<'_>),
    tell: &dyn Fn(u64, Cost, &[u16]),
) {
    let tried: u64 = walkers.iter().map(|walker| walker.steps).sum();
    let leads = &walkers[leader(walkers)];
    rows.walk(moves, goal, watch, |rows| {
        let (cost, row) = (leads.best, leads.best_cars.as_slice());
        let (best, row) = rows.best().min((cost, row));
        tell(tried + rows.steps(), best, row);
    });
}

/// Late in a search all walkers settle on the best order; settled ones go on from
/// what one of them has gained at the last goals.
fn follow(walkers: &mut [Walker<'_>], (cars, cost): (&[u16], Cost), settled: bool, late: bool) {
    if settled {
        for walker in walkers.iter_mut().filter(|walker| walker.is_behind(&cost)) {
            walker.go_on_from(cars, cost);
        }
    } else if late {
        for (number, walker) in walkers.iter_mut().enumerate() {
            walker.settle(number, cars, cost);
        }
    }
}

/// The best order of all; of equals a walker's.
fn found(walkers: &[Walker<'_>], tempering: Option<&Tempering<'_>>) -> Found {
    let best = leader(walkers);
    let mut found = Found {
        row: walkers[best].best_cars.clone(),
        cost: walkers[best].best,
        steps: walkers.iter().map(|walker| walker.steps).sum(),
    };
    if let Some(rows) = tempering {
        let (cost, cars) = rows.best();
        found.steps += rows.steps();
        if cost < found.cost {
            (found.cost, found.row) = (cost, cars.to_vec());
        }
    }
    found
}

/// The walker with the best order; of equals the first.
fn leader(walkers: &[Walker<'_>]) -> usize {
    let costs = walkers.iter().map(|walker| walker.best).enumerate();
    costs
        .min_by_key(|(at, cost)| (*cost, *at))
        .map_or(0, |(at, _)| at)
}
