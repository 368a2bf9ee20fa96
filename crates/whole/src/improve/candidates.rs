//! Which ideas are run, and why the others are not.

use book::Problem;
use book::raw::Workbook;
use rayon::prelude::*;

use super::plant::{self, Terms, Variant};
use super::{Idea, ImproveSettings, Look, Unrun, UnrunIdea, found};
use crate::findings::measure::Stopped;
use crate::findings::{NoAnswer, no_answer};
use crate::network::Built;

/// A found idea that promises less than this part of what makes no difference is
/// none.
const NOTHING: f64 = 0.2;

/// An idea that is run.
pub(super) struct Candidate {
    pub(super) idea: Idea,
    pub(super) promise: Option<f64>,
    pub(super) variant: Variant,
}

/// Ideas that are run, and those that are not with the reason.
pub(super) fn candidates(
    workbook: &Workbook,
    look: &Look,
    settings: &ImproveSettings,
    (base, terms): (&Variant, &Terms),
    indifferent: f64,
) -> Result<(Vec<Candidate>, Vec<UnrunIdea>), NoAnswer> {
    let (chosen, mut unrun) = worth_a_run(workbook, look, settings, indifferent)?;
    let tried: Vec<Result<Candidate, Box<UnrunIdea>>> = chosen
        .into_par_iter()
        .map(
            |(idea, promise)| match carried_out(workbook, &idea, terms) {
                Ok(variant) => Ok(Candidate {
                    idea,
                    promise,
                    variant,
                }),
                Err(problems) => Err(Box::new(UnrunIdea {
                    idea,
                    why: Unrun::Refused { problems },
                })),
            },
        )
        .collect();
    let mut kept: Vec<Candidate> = Vec::new();
    for tried in tried {
        match tried.and_then(|candidate| unlike(base, &kept, candidate)) {
            Ok(candidate) => kept.push(candidate),
            Err(refused) => unrun.push(*refused),
        }
    }
    Ok((kept, unrun))
}

/// Ideas with what the found ones promise, and those that are not run.
type Sorted = (Vec<(Idea, Option<f64>)>, Vec<UnrunIdea>);

/// Your ideas and those of the found that promise enough, as many as there are
/// runs for.
fn worth_a_run(
    workbook: &Workbook,
    look: &Look,
    settings: &ImproveSettings,
    indifferent: f64,
) -> Result<Sorted, NoAnswer> {
    let (yours, found) = look.ideas(workbook)?;
    let mut unrun = Vec::new();
    let mut chosen: Vec<(Idea, Option<f64>)> = Vec::new();
    // each has its first runs and leaves some for those that are close
    let room = (settings.runs / (settings.first * 5 / 4).max(1)) as usize;
    let mut left = settings.ideas.min(room.max(1)).saturating_sub(yours.len());
    for idea in yours {
        if idea.stands() {
            unrun.push(UnrunIdea {
                idea,
                why: Unrun::Stands,
            });
        } else {
            chosen.push((idea, None));
        }
    }
    let rate = look.as_it_is.hurdle_rate;
    for found::Found { idea, promise } in found {
        let saves = idea.yearly(rate).is_some_and(|yearly| yearly < 0.0);
        let why = if idea.stands() {
            Unrun::Stands
        } else if saves && left > 0 {
            // it pays where it loses no car, which only runs tell
            left -= 1;
            chosen.push((idea, Some(promise)));
            continue;
        } else if promise < NOTHING * indifferent {
            continue;
        } else if promise < indifferent {
            Unrun::Little { promise }
        } else if left == 0 {
            Unrun::Many { promise }
        } else {
            left -= 1;
            chosen.push((idea, Some(promise)));
            continue;
        };
        unrun.push(UnrunIdea { idea, why });
    }
    Ok((chosen, unrun))
}

/// The candidate, unless the run sees the plant as it is or one that is kept
/// already.
fn unlike(
    base: &Variant,
    kept: &[Candidate],
    candidate: Candidate,
) -> Result<Candidate, Box<UnrunIdea>> {
    let why = if candidate.variant.is(base) {
        Unrun::Unseen
    } else if let Some(same) = kept.iter().find(|one| one.variant.is(&candidate.variant)) {
        Unrun::Same {
            other: same.idea.name.clone(),
        }
    } else {
        return Ok(candidate);
    };
    Err(Box::new(UnrunIdea {
        idea: candidate.idea,
        why,
    }))
}

/// The plant with an idea.
fn carried_out(workbook: &Workbook, idea: &Idea, terms: &Terms) -> Result<Variant, Vec<Problem>> {
    let rows = idea.rows();
    let built = plant::with(workbook, &rows.iter().collect::<Vec<_>>())?;
    Variant::of(&built.network, terms).map_err(|stopped| problems_of(&built, stopped))
}

pub(super) fn problems_of(built: &Built, stopped: Stopped) -> Vec<Problem> {
    match no_answer(built, stopped) {
        NoAnswer::Problems(problems) => problems,
        NoAnswer::Settings(_) | NoAnswer::Cancelled => Vec::new(),
    }
}
