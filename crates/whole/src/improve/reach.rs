//! The cheapest way to a rate or a lead time: which ideas, together, reach it at
//! least money.
//!
//! Every set is a plant of its own, built and run with the luck of all others;
//! nothing is added up from single ideas, for two on one constraint do not add,
//! and the constraint moves. The search ([`search`]) is exact but for luck where
//! its runs suffice; before it, ideas are added one after the other, that with
//! most for its money first, for the curve of money against cars.

mod model;
mod search;
mod sets;
mod told;

use book::raw::Workbook;
use flow::Watch;

use super::follow::Follow;
use super::plant::Runner;
use super::{Idea, Look, Memory, Unrun, UnrunIdea, look};
use crate::findings::{NoAnswer, Verdict};
use search::{Choice, cheapest};
use sets::Sets;

pub use model::{Goal, Reach, ReachSettings, Reached, WayPoint, WayStep};

/// Finds the cheapest way to a goal. The same book, goal, settings and seed give
/// the same way on any number of cores and whatever `memory` holds.
///
/// `watch` is told the cheapest set so far, or how far the nearest is from the goal.
/// Cancelled through it this gives the best so far, once the plant as it is and
/// all ideas together were run; asked again with the same `memory` it goes on.
///
/// # Errors
/// [`NoAnswer`]: problems of the book, a goal that is none, or cancelled before
/// anything can be said.
pub fn reach(
    workbook: &Workbook,
    goal: Goal,
    settings: &ReachSettings,
    memory: &Memory,
    watch: &shops::Watch<'_>,
) -> Result<Reach, NoAnswer> {
    sound(goal, settings)?;
    let follow = Follow::new(watch);
    let watch = &Watch {
        cancel: watch.cancel,
        progress: &|at| follow.ran(at),
    };
    let look = look(workbook, settings.seed, settings.level, watch)?;
    let terms = look.terms(settings.seed, settings.weeks);
    let runner = Runner::new(terms, memory, watch);
    runner.expect(settings.runs);
    let (ideas, mut left_out, without_money) = priced(workbook, &look, settings)?;
    let rate = look.as_it_is.hurdle_rate;
    let currency = look.as_it_is.currency.as_str();
    let asked = (goal, *settings);
    let mut sets = Sets::new(workbook, asked, (&runner, &follow), (ideas, rate, currency));
    left_out.extend(sets.drop_idle()?);
    // some runs are left for the sets that are told
    sets.allow(settings.runs * 8 / 10);
    let mut harmful = sets.begin()?;
    let way = sets.forward();
    harmful.extend(sets.screen(&way));
    let found = seek(&mut sets);
    sets.allow(settings.runs);
    let told = told::told(&mut sets, &found, &way, watch)?;
    let does_harm = |idea: &Idea| harmful.iter().any(|one| one.idea.id == idea.id);
    let tried = sets.tried();
    let ideas = sets.ideas.into_iter().filter(|idea| !does_harm(idea));
    Ok(Reach {
        ideas: ideas.collect(),
        as_it_is: look.as_it_is,
        goal,
        settings: *settings,
        left_out: left_out.into_iter().chain(harmful).collect(),
        without_money,
        cheapest: told.cheapest,
        perhaps: told.perhaps,
        all: told.all,
        curve: told.curve,
        sets: tried,
        runs: runner.done(),
        stopped: runner.cancelled(),
    })
}

/// What was found.
#[derive(Clone, Copy, Debug, Default)]
struct Found {
    best: Option<u64>,
    perhaps: Option<u64>,
    proved: bool,
}

/// Searches, and again where further runs of what was found take it back.
fn seek(sets: &mut Sets<'_>) -> Found {
    loop {
        let choice = Choice {
            costs: &sets.yearly.clone(),
            conflicts: sets.conflicts.clone(),
            reached: sets.all_met(),
        };
        let found = cheapest(choice, &mut |set, care| sets.judge(set, care));
        if found
            .best
            .is_some_and(|best| sets.confirm(best) && sets.verdict(best) != Verdict::Met)
        {
            continue;
        }
        if found.proved || found.perhaps.is_some() {
            return Found {
                best: found.best,
                perhaps: found.perhaps,
                proved: found.proved,
            };
        }
        // the runs ended before it was found or proved, but sets that were run tell
        let best = found.best.or_else(|| sets.cheapest_met());
        let cheaper = |set: &u64| best.is_none_or(|best| sets.cost(*set) < sets.cost(best));
        return Found {
            best,
            perhaps: sets.cheapest_by_mean().filter(cheaper),
            proved: false,
        };
    }
}

fn sound(goal: Goal, settings: &ReachSettings) -> Result<(), NoAnswer> {
    let wrong = |what: String| Err(NoAnswer::Settings(what));
    if goal.cars_per_week.is_none() && goal.days.is_none() {
        return wrong("neither cars a week nor days are to be reached; say one or both".to_owned());
    }
    let fits = |cars: f64| cars > 0.0 && cars <= 1e6;
    if let Some(cars) = goal.cars_per_week.filter(|cars| !fits(*cars)) {
        return wrong(format!(
            "{cars} cars a week, expected more than 0 and at most 1000000"
        ));
    }
    let fits = |days: f64| days > 0.0 && days <= 1e4;
    if let Some(days) = goal.days.filter(|days| !fits(*days)) {
        return wrong(format!(
            "{days} days from coil to car, expected more than 0 and at most 10000"
        ));
    }
    if settings.first < 2 || settings.ideas == 0 || settings.ideas > 60 || settings.weeks == 0 {
        return wrong(format!(
            "{} runs of a set, {} ideas and {} weeks; expected at least 2, 1 to 60 and at least 1",
            settings.first, settings.ideas, settings.weeks
        ));
    }
    Ok(())
}

/// The ideas with money, those left out, and how many found ones have none.
fn priced(
    workbook: &Workbook,
    look: &Look,
    settings: &ReachSettings,
) -> Result<(Vec<Idea>, Vec<UnrunIdea>, u32), NoAnswer> {
    let (yours, found) = look.ideas(workbook)?;
    let rate = look.as_it_is.hurdle_rate;
    let known = |idea: &Idea| idea.yearly(rate).is_some();
    let little = settings.indifferent * look.as_it_is.needed;
    let found = found.into_iter().filter(|found| found.promise >= little);
    let found: Vec<_> = found.collect();
    let without = found.iter().filter(|found| !known(&found.idea)).count() as u32;
    let found = found.into_iter().map(|found| found.idea).filter(known);
    let (mut ideas, mut left_out) = (Vec::new(), Vec::new());
    for idea in yours.into_iter().chain(found) {
        if idea.stands() {
            left_out.push(UnrunIdea {
                idea,
                why: Unrun::Stands,
            });
        } else if ideas.len() < settings.ideas {
            ideas.push(idea);
        }
    }
    Ok((ideas, left_out, without))
}
