//! What to do next: ideas ranked by what the plant makes with each.
//!
//! [`improve`] takes the ideas of the book's table and those it finds itself,
//! carries each out in the book as somebody who types it would, builds the plant
//! anew and runs it with the luck of the plant as it is. Ideas that the critical
//! path promises too little are not run; of the others most runs go to those
//! near the first ([`select()`]). [`together`] runs several at once,
//! [`reach()`] finds the cheapest set that reaches a rate, [`buffers`] the places
//! that banks need.
//!
//! Every figure is an interval over pairs of runs. What lies inside luck is
//! said not to be shown.

pub mod buffers;
mod candidates;
mod follow;
mod found;
mod ideas;
mod model;
mod odds;
mod plant;
mod reach;
mod select;
#[cfg(test)]
mod tests;
mod tray;

use book::raw::Workbook;
use book::{Book, Severity};
use flow::statistics::Interval;
use flow::{Outcome, Watch};
use shops::SoFar;
use shops::coil::{Holding, NoPlan, Shelf};
use units::Quantity;

use crate::findings::measure;
use crate::findings::{NoAnswer, RunSettings, no_answer};
use crate::money::{self, Weights};
use crate::network::{self, Built};
use crate::plan;

pub use ideas::{CellChange, Idea, IdeaKind};
pub use model::{AsItIs, Improve, ImproveSettings, RankedIdea, Saving, Unrun, UnrunIdea};
pub use plant::{Memory, Seen};
pub use reach::{Goal, Reach, ReachSettings, Reached, WayPoint, WayStep, reach};
pub use select::{Rule, Selection, select};
pub use tray::{Together, together};

use candidates::{Candidate, candidates, problems_of};
use follow::Follow;
use ideas::Cells;
use plant::{Runner, Terms, Variant};

/// Runs that the plant as it is is read from: enough to see the critical path.
const LOOK: RunSettings = RunSettings {
    replications: 6,
    weeks: 2,
    warm_up_h: None,
    seed: 1,
    level: 0.95,
    trials: 0,
};

/// The plant as it is, looked at.
struct Look {
    book: Book,
    built: Built,
    outcome: Outcome,
    as_it_is: AsItIs,
}

fn look(workbook: &Workbook, seed: u64, level: f64, watch: &Watch<'_>) -> Result<Look, NoAnswer> {
    let checked = book::check(workbook);
    if !checked.holds() {
        let errors = checked.problems.into_iter();
        let errors = errors.filter(|problem| problem.severity == Severity::Error);
        return Err(NoAnswer::Problems(errors.collect()));
    }
    let book = checked.book;
    let built = network::build(&book)?;
    let settings = RunSettings {
        seed,
        level,
        ..LOOK
    };
    let quiet = Watch {
        cancel: watch.cancel,
        progress: &|_| {},
    };
    let (run, outcome) =
        measure::outcome(&built, &settings, true, &quiet).map_err(|s| no_answer(&built, s))?;
    let cars = measure::a_week(&outcome.rate_per_h);
    let days: Vec<f64> = outcome
        .time_in_plant_s
        .p90
        .each
        .iter()
        .map(|s| s / DAY_S)
        .collect();
    let as_it_is = AsItIs {
        plant: book.plant.name.value.clone(),
        currency: book.plant.currency.value.clone(),
        needed: book
            .products
            .iter()
            .map(|row| row.cars_per_week.get())
            .sum(),
        made: Interval::of(&cars, level),
        target_days: book.plant.coil_to_car_target_days.value.get(),
        days: Interval::of(&days, level),
        constraint: constraint(&built, &outcome),
        hurdle_rate: book.plant.hurdle_rate.value.0,
        weeks_per_year: book.plant.weeks_per_year.value,
        run,
    };
    Ok(Look {
        book,
        built,
        outcome,
        as_it_is,
    })
}

const DAY_S: f64 = 86_400.0;

/// The station with most of the critical path.
fn constraint(built: &Built, outcome: &Outcome) -> Option<(String, f64)> {
    let share = |station: &flow::StationOutcome| {
        let path = station.path.as_ref();
        path.map_or(0.0, |p| p.cycle.mean + p.stopped.mean + p.changeover.mean)
    };
    let shares = outcome.stations.iter().map(share).zip(&built.stations);
    let most = shares.max_by(|a, b| a.0.total_cmp(&b.0))?;
    (most.0 > 0.0).then(|| (most.1.name.clone(), most.0))
}

impl Look {
    fn terms(&self, seed: u64, weeks: u32) -> Terms {
        Terms {
            seed,
            weeks: weeks.max(1),
            warm_up_s: self.outcome.warm_up_s,
        }
    }

    /// The book's ideas, then those found with what they promise.
    fn ideas(&self, workbook: &Workbook) -> Result<(Vec<Idea>, Vec<found::Found>), NoAnswer> {
        let cells = Cells(workbook);
        let yours = ideas::yours(cells, &self.book);
        let plan = plan::plan(&self.book)?;
        let mut found = found::found(&found::Shown {
            book: &self.book,
            cells,
            built: &self.built,
            outcome: &self.outcome,
            plan: &plan,
            made: self.as_it_is.made.mean,
        });
        for (more, found) in found.iter_mut().enumerate() {
            found.idea.id = (yours.len() + more + 1) as u32;
        }
        Ok((yours, found))
    }
}

/// The ideas of a book without a ranking: its own, and all that are found, in
/// the order of what they promise.
///
/// # Errors
/// [`NoAnswer`] as for [`improve`].
pub fn ideas_of(workbook: &Workbook, seed: u64, watch: &Watch<'_>) -> Result<Vec<Idea>, NoAnswer> {
    let look = look(workbook, seed, 0.95, watch)?;
    let (mut yours, found) = look.ideas(workbook)?;
    yours.extend(found.into_iter().map(|found| found.idea));
    Ok(yours)
}

/// Ranks the ideas of a book and those found in it by the cars a week that the
/// plant makes with each. The same book, settings and seed give the same
/// ranking, to the last bit, on any number of cores and whatever `memory` holds.
///
/// Once every idea has two runs `watch` is told the first so far. Cancelled through it
/// from then on, this gives the best so far; asked again with the same `memory` it
/// goes on from there.
///
/// # Errors
/// [`NoAnswer`]: problems of the book, settings out of range, or cancelled
/// before anything can be said.
pub fn improve(
    workbook: &Workbook,
    settings: &ImproveSettings,
    shelf: &Shelf,
    memory: &Memory,
    watch: &shops::Watch<'_>,
) -> Result<Improve, NoAnswer> {
    let follow = Follow::new(watch);
    let running = Watch {
        cancel: watch.cancel,
        progress: &|at| follow.ran(at),
    };
    let told = |best: Vec<SoFar>| follow.found(best);
    let mut found = rank(workbook, settings, memory, &running, &told)?;
    let weights = weights(workbook, shelf, &running)?;
    let a_year = found.as_it_is.weeks_per_year;
    let brings = weights.car.as_ref().map(|car| car.value * a_year);
    for ranked in &mut found.ideas {
        ranked.worth = brings.zip(ranked.yearly).map(|(brings, yearly)| Interval {
            mean: ranked.cars.mean * brings - yearly,
            half_width: ranked.cars.half_width * brings,
        });
    }
    found.savings = savings(&found, weights.coils.as_ref());
    found.car = weights.car;
    Ok(found)
}

/// What a car more brings; nothing too where the time is over.
fn weights(workbook: &Workbook, shelf: &Shelf, watch: &Watch<'_>) -> Result<Weights, NoAnswer> {
    let book = book::check(workbook).book;
    let laying = shops::coil::Watch {
        cancel: watch.cancel,
        progress: &|_| {},
    };
    match money::weights(&book, shelf, &laying) {
        Ok(weights) => Ok(weights),
        Err(NoPlan::Cancelled) => Ok(Weights::default()),
        Err(NoPlan::Problems(problems)) => Err(NoAnswer::Problems(problems)),
    }
}

/// What saves money and gives no car: ideas that the run does not see, and coils
/// of other widths.
fn savings(found: &Improve, coils: Option<&Holding>) -> Vec<Saving> {
    let unseen = found.unrun.iter().filter(|one| one.why == Unrun::Unseen);
    let mut savings: Vec<Saving> = unseen
        .filter_map(|one| {
            let yearly = one.idea.yearly(found.as_it_is.hurdle_rate)?;
            (yearly < 0.0).then(|| Saving {
                name: one.idea.name.clone(),
                place: one.idea.place.clone(),
                a_year: -yearly,
            })
        })
        .collect();
    savings.extend(coils.and_then(other_widths));
    savings.sort_by(|a, b| b.a_year.total_cmp(&a.a_year));
    savings
}

/// Coil widths named each.
const NAMED: usize = 3;

/// The coils that the coil shop would hold, where some are new.
fn other_widths(coils: &Holding) -> Option<Saving> {
    let new = coils.chosen.iter().filter(|held| !held.in_book);
    let new: Vec<&str> = new.map(|held| held.coil.as_str()).collect();
    let a_year = coils.now.all - coils.then.all;
    if new.is_empty() || a_year <= 0.0 {
        return None;
    }
    let named = new[..new.len().min(NAMED)].join(", ");
    let more = match new.len().saturating_sub(NAMED) {
        0 => String::new(),
        more => format!(" and {more} more"),
    };
    let widths = if new.len() == 1 { "width" } else { "widths" };
    let instead = match coils.dropped.len() {
        0 => String::new(),
        dropped => format!(", {dropped} of today's given up"),
    };
    Some(Saving {
        name: format!("{} more coil {widths}: {named}{more}{instead}", new.len()),
        place: "coils".to_owned(),
        a_year,
    })
}

/// The ranking by cars, without what they are worth; the first so far is told
/// between rounds of runs.
///
/// # Errors
/// As [`improve`].
pub(crate) fn rank(
    workbook: &Workbook,
    settings: &ImproveSettings,
    memory: &Memory,
    watch: &Watch<'_>,
    told: &dyn Fn(Vec<SoFar>),
) -> Result<Improve, NoAnswer> {
    sound(settings)?;
    let look = look(workbook, settings.seed, settings.level, watch)?;
    let terms = look.terms(settings.seed, settings.weeks);
    let base = Variant::of(&look.built.network, &terms).map_err(|s| no_answer(&look.built, s))?;
    let indifferent = settings.indifferent * look.as_it_is.needed.max(1.0);
    let (candidates, unrun) = candidates(workbook, &look, settings, (&base, &terms), indifferent)?;
    let runner = Runner::new(terms, memory, watch);
    runner.expect(settings.runs);
    let variant = |at: usize| match at.checked_sub(1) {
        None => &base,
        Some(at) => &candidates[at].variant,
    };
    let rule = Rule {
        level: settings.level,
        indifferent,
        first: settings.first,
        control: settings.control.min(settings.runs / 4),
        most: settings.runs,
        budget: settings.runs,
        places: settings.places,
    };
    let sample = |at: usize, run: u32| runner.run(variant(at), run).map(|seen| seen.cars);
    let told = |seen: &Selection| told(first_so_far(seen, &candidates, settings.level));
    let selection = select::select_telling(candidates.len() + 1, &rule, &sample, &told);
    if selection.stopped && selection.samples.iter().any(|seen| seen.len() < 2) {
        return Err(NoAnswer::Cancelled);
    }
    let runs = selection.samples.iter().map(|seen| seen.len() as u32).sum();
    // what was run is remembered, so that reading it runs nothing
    let reading = Watch::none();
    let reader = Runner::new(terms, memory, &reading);
    Ok(Improve {
        ideas: ranked(
            &look.as_it_is,
            settings.level,
            &candidates,
            &selection,
            &|at, run| reader.run(variant(at), run),
        ),
        as_it_is: look.as_it_is,
        settings: *settings,
        car: None,
        savings: Vec::new(),
        runs,
        unrun,
        first_is_good: selection.good,
        first_is_best: selection.best,
        indifferent,
        reached: selection.reached,
        further: selection.further(&rule),
        sure: sure_ideas(&selection),
        stopped: selection.stopped,
        notes: look.built.notes,
    })
}

/// The first idea so far, and how sure that is.
fn first_so_far(seen: &Selection, candidates: &[Candidate], level: f64) -> Vec<SoFar> {
    let first = seen.order.first().copied().unwrap_or_default();
    let idea = first.checked_sub(1).and_then(|at| candidates.get(at));
    let name = idea.map_or("nothing changed", |at| &at.idea.name);
    let more = seen.difference(first, 0, level).mean;
    vec![
        SoFar::new(format!("cars a week more, {name}"), more, 0.0),
        SoFar::new("% sure that no other makes more", 100.0 * seen.good, 0.0),
    ]
}

/// Ideas on the places that are sure; the plant as it is holds one of all.
fn sure_ideas(selection: &Selection) -> u32 {
    let sure = selection.order.iter().take(selection.sure);
    sure.filter(|variant| **variant != 0).count() as u32
}

fn sound(settings: &ImproveSettings) -> Result<(), NoAnswer> {
    let wrong = |what: String| Err(NoAnswer::Settings(what));
    if !(0.5..1.0).contains(&settings.level) {
        return wrong(format!(
            "level is {}, expected 0.5 to below 1",
            settings.level
        ));
    }
    if settings.first < 2 || settings.runs < 2 * settings.first {
        return wrong(format!(
            "{} runs with {} to begin with, expected at least 2 to begin with and twice as many in all",
            settings.runs, settings.first
        ));
    }
    if settings.weeks == 0 || settings.weeks > 52 {
        return wrong(format!("{} weeks, expected 1 to 52", settings.weeks));
    }
    Ok(())
}

/// The ideas in their order, each with its intervals and money.
fn ranked(
    as_it_is: &AsItIs,
    level: f64,
    candidates: &[Candidate],
    selection: &Selection,
    seen: &dyn Fn(usize, u32) -> Option<Seen>,
) -> Vec<RankedIdea> {
    let mut ranked: Vec<RankedIdea> = Vec::with_capacity(candidates.len());
    // the first of those that share a rank, and the rank
    let mut head: Option<(usize, u32)> = None;
    let order = selection
        .order
        .iter()
        .filter_map(|at| Some((*at, at.checked_sub(1)?)));
    for (position, (at, candidate)) in order.enumerate() {
        let candidate = &candidates[candidate];
        let apart = |other: usize| {
            let pairs = selection.difference(other, at, level);
            pairs.mean - pairs.half_width > 0.0
        };
        let rank = match head {
            Some((first, rank)) if !apart(first) => rank,
            _ => position as u32 + 1,
        };
        if head.is_none_or(|(_, before)| before != rank) {
            head = Some((at, rank));
        }
        let runs = selection.samples[at].len() as u32;
        let cars = selection.difference(at, 0, level);
        let both = (0..runs).filter_map(|run| Some((seen(at, run)?, seen(0, run)?)));
        let both: Vec<(Seen, Seen)> = both.collect();
        let days: Vec<f64> = both.iter().map(|(new, old)| new.days - old.days).collect();
        let days = Interval::of(&days, level);
        let shown = shows(cars);
        let yearly = candidate.idea.yearly(as_it_is.hurdle_rate);
        let a_year = as_it_is.weeks_per_year;
        ranked.push(RankedIdea {
            rank,
            idea: candidate.idea.clone(),
            cars,
            shown,
            days,
            days_shown: shows(days),
            locked: both.iter().any(|(new, _)| new.locked),
            runs,
            promise: candidate.promise,
            yearly,
            per_car: yearly
                .filter(|_| shown && cars.mean > 0.0)
                .map(|yearly| yearly / (cars.mean * a_year)),
            worth: None,
        });
    }
    ranked
}

/// Whether a difference is more than luck.
fn shows(difference: Interval) -> bool {
    difference.mean != 0.0 && !difference.holds(0.0)
}
