//! Several ideas at once: what the plant makes with all of them, beside what
//! each makes alone.

use book::raw::Workbook;
use flow::Watch;
use flow::statistics::Interval;
use rayon::prelude::*;
use serde::{Deserialize, Serialize};

use super::odds::Estimate;
use super::plant::{self, Runner, Terms, Variant};
use super::{AsItIs, Idea, Memory, Seen, look, problems_of, shows};
use crate::findings::measure;
use crate::findings::{NoAnswer, RunSettings, Verdict, no_answer};
use crate::network::Built;

/// Pairs of runs behind every figure of a tray.
const RUNS: u32 = 8;
/// Runs of the plant as it is, whose luck is taken out of the pairs: as many as
/// a ranking makes, which mostly comes before.
const CONTROL: u32 = super::ImproveSettings::USUAL.control;

/// The plant with several ideas.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Together {
    /// The plant as it is.
    pub as_it_is: AsItIs,
    /// The ideas.
    pub ideas: Vec<Idea>,
    /// Cars a week more with each of them alone.
    pub alone: Vec<Interval>,
    /// Cars a week with all.
    pub made: Interval,
    /// Cars a week more with all.
    pub cars: Interval,
    /// Whether that interval leaves zero out.
    pub shown: bool,
    /// What all make more than the sum of each alone; below zero they get in each
    /// other's way, above they help each other.
    pub beyond: Interval,
    /// Days from coil to car that nine cars in ten keep, with all.
    pub days: Interval,
    /// The same more than as it is.
    pub days_more: Interval,
    /// Whether that interval leaves zero out.
    pub days_shown: bool,
    /// Whether the needed rate is made.
    pub verdict: Verdict,
    /// Whether the plant locked itself up.
    pub locked: bool,
    /// The station that then has most of the critical path, and its share.
    pub constraint: Option<(String, f64)>,
    /// What all cost once; none where the money of one is not known.
    pub investment: Option<f64>,
    /// What all cost a year, investments spread over their lives.
    pub yearly: Option<f64>,
    /// Pairs of runs behind the figures.
    pub runs: u32,
}

/// Runs the plant with all of some ideas, and with each alone.
///
/// # Errors
/// [`NoAnswer`]: problems of the book as it is or with the ideas, two ideas for
/// one cell, or cancelled.
pub fn together(
    workbook: &Workbook,
    ideas: &[Idea],
    seed: u64,
    memory: &Memory,
    watch: &Watch<'_>,
) -> Result<Together, NoAnswer> {
    beside_each_other(ideas)?;
    let level = 0.95;
    let look = look(workbook, seed, level, watch)?;
    let terms = look.terms(seed, 1);
    let mut sets: Vec<Vec<&Idea>> = vec![Vec::new()];
    sets.extend(ideas.iter().map(|idea| vec![idea]));
    sets.push(ideas.iter().collect());
    let variants: Result<Vec<(Built, Variant)>, NoAnswer> = sets
        .par_iter()
        .map(|set| variant(workbook, set, &terms))
        .collect();
    let variants = variants?;
    let seen = pairs(&Runner::new(terms, memory, watch), &variants)?;
    let (base, others) = seen.split_at(CONTROL as usize);
    let others: Vec<&[Seen]> = others.chunks(RUNS as usize).collect();
    let (Some((all, singles)), Some((built, _))) = (others.split_last(), variants.last()) else {
        return Err(NoAnswer::Cancelled);
    };
    let gains = Gains::of(base, all, singles, level);
    let rate = look.as_it_is.hurdle_rate;
    Ok(Together {
        ideas: ideas.to_vec(),
        alone: gains.alone,
        verdict: Verdict::at_least(look.as_it_is.needed, gains.made),
        made: gains.made,
        cars: gains.cars,
        shown: shows(gains.cars),
        beyond: gains.beyond,
        days: Interval::of(&all.iter().map(|seen| seen.days).collect::<Vec<_>>(), level),
        days_more: gains.days_more,
        days_shown: shows(gains.days_more),
        locked: all.iter().any(|seen| seen.locked),
        constraint: next_constraint(built, &terms, watch)?,
        investment: ideas.iter().map(|idea| idea.investment).sum(),
        yearly: ideas.iter().map(|idea| idea.yearly(rate)).sum(),
        runs: RUNS,
        as_it_is: look.as_it_is,
    })
}

/// Refuses two ideas for one cell.
fn beside_each_other(ideas: &[Idea]) -> Result<(), NoAnswer> {
    for (n, idea) in ideas.iter().enumerate() {
        if let Some(other) = ideas[..n].iter().find(|other| other.excludes(idea)) {
            return Err(NoAnswer::Settings(format!(
                "`{}` and `{}` change the same cell, so that only one of them can be done; take one off",
                other.name, idea.name
            )));
        }
    }
    Ok(())
}

/// The runs of the plant as it is, then those of each other variant.
fn pairs(runner: &Runner<'_>, variants: &[(Built, Variant)]) -> Result<Vec<Seen>, NoAnswer> {
    runner.expect(CONTROL + RUNS * (variants.len() as u32 - 1));
    let runs_of = |v: usize| if v == 0 { CONTROL } else { RUNS };
    let jobs: Vec<(usize, u32)> = (0..variants.len())
        .flat_map(|v| (0..runs_of(v)).map(move |run| (v, run)))
        .collect();
    let seen: Option<Vec<Seen>> = jobs
        .par_iter()
        .map(|(v, run)| runner.run(&variants[*v].1, *run))
        .collect();
    seen.ok_or(NoAnswer::Cancelled)
}

/// What the pairs of runs tell.
struct Gains {
    alone: Vec<Interval>,
    made: Interval,
    cars: Interval,
    beyond: Interval,
    days_more: Interval,
}

impl Gains {
    fn of(base: &[Seen], all: &[Seen], singles: &[&[Seen]], level: f64) -> Self {
        let control: Vec<f64> = base.iter().map(|seen| seen.cars).collect();
        let led = |figures: &[f64]| Estimate::led(figures, &control).interval(level);
        let more = |new: &[Seen], of: fn(&Seen) -> f64| -> Vec<f64> {
            let pairs = new.iter().zip(base);
            pairs.map(|(new, old)| of(new) - of(old)).collect()
        };
        let cars = more(all, |seen| seen.cars);
        let singles: Vec<Vec<f64>> = singles
            .iter()
            .map(|seen| more(seen, |seen| seen.cars))
            .collect();
        let beyond: Vec<f64> = cars
            .iter()
            .enumerate()
            .map(|(run, cars)| cars - singles.iter().map(|single| single[run]).sum::<f64>())
            .collect();
        Self {
            alone: singles.iter().map(|single| led(single)).collect(),
            made: led(&all.iter().map(|seen| seen.cars).collect::<Vec<_>>()),
            cars: led(&cars),
            beyond: led(&beyond),
            days_more: Interval::of(&more(all, |seen| seen.days), level),
        }
    }
}

/// The plant with a set of ideas.
pub(super) fn variant(
    workbook: &Workbook,
    ideas: &[&Idea],
    terms: &Terms,
) -> Result<(Built, Variant), NoAnswer> {
    let rows: Vec<book::Idea> = ideas.iter().flat_map(|idea| idea.rows()).collect();
    let built = plant::with(workbook, &rows.iter().collect::<Vec<_>>())?;
    let variant = Variant::of(&built.network, terms)
        .map_err(|stopped| NoAnswer::Problems(problems_of(&built, stopped)))?;
    Ok((built, variant))
}

/// Where the critical path then lies, seen in a few runs.
pub(super) fn next_constraint(
    built: &Built,
    terms: &Terms,
    watch: &Watch<'_>,
) -> Result<Option<(String, f64)>, NoAnswer> {
    let settings = RunSettings {
        replications: 3,
        weeks: 2,
        warm_up_h: Some(terms.warm_up_s / 3_600.0),
        seed: terms.seed,
        level: 0.95,
        trials: 0,
    };
    let quiet = Watch {
        cancel: watch.cancel,
        progress: &|_| {},
    };
    let (_, outcome) =
        measure::outcome(built, &settings, true, &quiet).map_err(|s| no_answer(built, s))?;
    Ok(super::constraint(built, &outcome))
}
