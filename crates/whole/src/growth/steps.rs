//! The ideas that follow a forecast: period by period the least costly that free
//! what is short, then those taken back that were not needed after all.
//!
//! Whether a set of ideas suffices is asked of the rate plan with all of them
//! carried out, never of the sum of what each does alone.

use std::collections::BTreeMap;
use std::ops::Add as _;
use std::sync::atomic::Ordering;

use book::raw::Workbook;
use book::{Book, Idea, Problem};
use flow::Watch;
use rayon::prelude::*;

use super::model::{QuarterMoney, Step, Stuck};
use super::period::{Forecasted, quarter_name};
use super::planned;
use crate::change::{carried_out, costs, names, rows};
use crate::findings::NoAnswer;
use crate::plan::RatePlan;

/// A cost a year below which an idea counts as this dear, so that what is free
/// does not win without end.
const LEAST_COST: f64 = 1.0;
/// Years over which an investment is weighed against a yearly cost.
const WEIGHED_YEARS: f64 = 5.0;

/// The steps, and each period's plan and book with those taken by then.
pub(super) struct Followed {
    pub(super) steps: Vec<Step>,
    pub(super) stuck: Vec<Stuck>,
    /// Of each shop that runs out, the place among the steps of the one to be decided
    /// first.
    pub(super) first_for: BTreeMap<String, Option<usize>>,
    pub(super) plans: Vec<RatePlan>,
    pub(super) books: Vec<Book>,
}

/// A book with some ideas, in a period.
struct Tried {
    book: Book,
    plan: RatePlan,
}

impl Tried {
    /// How much is short in all.
    fn short(&self) -> f64 {
        self.plan
            .shortfalls
            .iter()
            .map(|short| short.load - 1.0)
            .sum()
    }

    /// The same in one shop.
    fn short_in(&self, shop: &str) -> f64 {
        let own = self
            .plan
            .shortfalls
            .iter()
            .filter(|short| short.shop == shop);
        own.map(|short| short.load - 1.0).sum()
    }

    fn weakest(&self) -> Option<String> {
        let stations = self
            .plan
            .stations
            .iter()
            .map(|row| (&row.station, &row.alone));
        let lines = self
            .plan
            .press_lines
            .iter()
            .map(|row| (&row.press_line, &row.alone));
        let fleets = self
            .plan
            .carriers
            .iter()
            .map(|row| (&row.carrier, &row.alone));
        stations
            .chain(lines)
            .chain(fleets)
            .filter_map(|(place, alone)| Some((place, alone.as_ref()?.value)))
            .min_by(|a, b| a.1.total_cmp(&b.1))
            .map(|(place, _)| place.clone())
    }
}

/// Follows the forecast from its first period to its last.
pub(super) fn follow(
    workbook: &Workbook,
    book: &Book,
    periods: &[Forecasted],
    watch: &Watch,
) -> Result<Followed, NoAnswer> {
    let mut followed = Followed {
        steps: Vec::new(),
        stuck: Vec::new(),
        first_for: BTreeMap::new(),
        plans: Vec::new(),
        books: Vec::new(),
    };
    let mut taken: Vec<String> = Vec::new();
    for period in periods {
        let one = Period {
            workbook,
            book,
            period,
            watch,
        };
        let at_first = taken.len();
        let reached = one.take(&mut taken)?;
        let reached = one.take_back(&mut taken, at_first, reached)?;
        one.steps(&taken, at_first, &mut followed.steps)?;
        one.first_for(&taken, &followed.steps, &mut followed.first_for)?;
        for short in &reached.plan.shortfalls {
            if !followed.stuck.iter().any(|known| known.place == short.name) {
                followed.stuck.push(Stuck {
                    period: period.label.clone(),
                    place: short.name.clone(),
                    shop: short.shop.clone(),
                    at: short.at,
                    load: short.load,
                    mend: short.mend.clone(),
                });
            }
        }
        followed.plans.push(reached.plan);
        followed.books.push(reached.book);
    }
    Ok(followed)
}

/// What is asked of one period.
struct Period<'a> {
    workbook: &'a Workbook,
    book: &'a Book,
    period: &'a Forecasted,
    watch: &'a Watch<'a>,
}

impl Period<'_> {
    fn with(&self, ideas: &[String]) -> Result<Tried, Vec<Problem>> {
        let rows: Vec<&Idea> = ideas
            .iter()
            .flat_map(|idea| rows(self.book, idea))
            .collect();
        let book = if rows.is_empty() {
            self.book.clone()
        } else {
            carried_out(self.workbook, &rows)?.1
        };
        let plan = planned(&book, self.period)?;
        Ok(Tried { book, plan })
    }

    /// Takes ideas until nothing is short or none helps.
    fn take(&self, taken: &mut Vec<String>) -> Result<Tried, NoAnswer> {
        let mut now = self.with(taken)?;
        while now.short() > 0.0 {
            if self.watch.cancel.load(Ordering::Relaxed) {
                return Err(NoAnswer::Cancelled);
            }
            let open = names(self.book)
                .into_iter()
                .filter(|idea| self.may_join(taken, idea));
            let open: Vec<String> = open.collect();
            let tried: Vec<Option<(f64, String, Tried)>> = open
                .into_par_iter()
                .map(|idea| {
                    let mut ideas = taken.clone();
                    ideas.push(idea.clone());
                    // An idea that makes the plan impossible is none.
                    let tried = self.with(&ideas).ok()?;
                    let freed = now.short() - tried.short();
                    (freed > 1e-9).then(|| (freed / self.yearly(&idea), idea, tried))
                })
                .collect();
            let best = tried.into_iter().flatten().reduce(
                |best, one| {
                    if one.0 > best.0 { one } else { best }
                },
            );
            let Some((_, idea, tried)) = best else {
                break;
            };
            taken.push(idea);
            now = tried;
        }
        Ok(now)
    }

    /// Whether an idea is still open: not taken, and on no cell of one taken.
    fn may_join(&self, taken: &[String], idea: &str) -> bool {
        let own = rows(self.book, idea);
        let of_taken = taken.iter().flat_map(|name| rows(self.book, name));
        let mut of_taken = of_taken;
        !of_taken.any(|other| {
            other.idea == idea
                || own.iter().any(|row| {
                    (&row.table, &row.row, &row.column) == (&other.table, &other.row, &other.column)
                })
        })
    }

    /// What an idea costs a year, its investment spread over some years.
    fn yearly(&self, idea: &str) -> f64 {
        let of = costs(&rows(self.book, idea));
        (of.investment / WEIGHED_YEARS.min(of.life_years) + of.cost_per_year).max(LEAST_COST)
    }

    /// Takes back those of this period, the dearest first, without which nothing
    /// more is short.
    fn take_back(
        &self,
        taken: &mut Vec<String>,
        at_first: usize,
        mut reached: Tried,
    ) -> Result<Tried, NoAnswer> {
        let mut own: Vec<String> = taken[at_first..].to_vec();
        own.sort_by(|a, b| self.yearly(b).total_cmp(&self.yearly(a)));
        for idea in own {
            let without: Vec<String> = taken
                .iter()
                .filter(|name| **name != idea)
                .cloned()
                .collect();
            let tried = self.with(&without)?;
            if tried.short() <= reached.short() + 1e-9 {
                *taken = without;
                reached = tried;
            }
        }
        Ok(reached)
    }

    /// Words the steps taken in this period, each with what it does on top of
    /// those before it.
    fn steps(
        &self,
        taken: &[String],
        at_first: usize,
        steps: &mut Vec<Step>,
    ) -> Result<(), NoAnswer> {
        for position in at_first..taken.len() {
            let (before, after) = (
                self.with(&taken[..position])?,
                self.with(&taken[..=position])?,
            );
            let idea = &taken[position];
            let rows = rows(self.book, idea);
            let of = costs(&rows);
            let decide_by = self.period.starts.before(of.weeks);
            let freed = |shop: &str| before.short_in(shop) - after.short_in(shop);
            let shops = || before.plan.shops.iter().map(|row| row.shop.as_str());
            let most = shops().max_by(|a, b| freed(a).total_cmp(&freed(b)));
            let frees = shops().filter(|shop| freed(shop) > 1e-9);
            steps.push(Step {
                at: rows.first().map_or_else(Default::default, |row| row.at),
                idea: idea.clone(),
                needed_in: self.period.label.clone(),
                decide_by: decide_by.to_string(),
                quarter: quarter_name(decide_by.quarter()),
                weeks: of.weeks,
                investment: of.investment,
                cost_per_year: of.cost_per_year,
                shop: most.unwrap_or_default().to_owned(),
                frees: frees.map(ToOwned::to_owned).collect(),
                can_before: before.plan.capable.as_ref().map(|rate| rate.value),
                can_after: after.plan.capable.as_ref().map(|rate| rate.value),
                next: after.weakest(),
            });
        }
        Ok(())
    }

    /// For each shop that runs out in this period and did not before: which of the
    /// steps that leave it less short must be decided first. An idea taken earlier
    /// for another shop may be what keeps this one going.
    fn first_for(
        &self,
        taken: &[String],
        steps: &[Step],
        known: &mut BTreeMap<String, Option<usize>>,
    ) -> Result<(), NoAnswer> {
        let mut before = self.with(&[])?;
        let shops = before.plan.shops.iter().map(|row| &row.shop);
        let runs_out =
            shops.filter(|shop| before.short_in(shop) > 0.0 && !known.contains_key(*shop));
        let runs_out: Vec<String> = runs_out.cloned().collect();
        if runs_out.is_empty() {
            return Ok(());
        }
        let mut first: Vec<Option<usize>> = vec![None; runs_out.len()];
        for (place, step) in steps.iter().enumerate().take(taken.len()) {
            let after = self.with(&taken[..=place])?;
            for (shop, held) in runs_out.iter().zip(&mut first) {
                let frees = before.short_in(shop) - after.short_in(shop) > 1e-9;
                let sooner = held.is_none_or(|held| step.decide_by < steps[held].decide_by);
                if frees && sooner {
                    *held = Some(place);
                }
            }
            before = after;
        }
        known.extend(runs_out.into_iter().zip(first));
        Ok(())
    }
}

/// Money by quarter, from the first decision to the end of the forecast.
pub(super) fn by_quarter(periods: &[Forecasted], steps: &[Step]) -> Vec<QuarterMoney> {
    let (Some(first), Some(last)) = (periods.first(), periods.last()) else {
        return Vec::new();
    };
    let start = |step: &Step| {
        let period = periods.iter().find(|period| period.label == step.needed_in);
        period.map_or(first.starts, |period| period.starts)
    };
    let decided = |step: &Step| start(step).before(step.weeks).quarter();
    let earliest = steps.iter().map(decided).min();
    let from = first.starts.quarter().min(earliest.unwrap_or(i64::MAX));
    let to = super::period::Day(last.ends.0 - 1).quarter();
    let mut spent = 0.0;
    (from..=to)
        .map(|quarter| {
            let now = steps.iter().filter(|step| decided(step) == quarter);
            let investment = now.clone().map(|step| step.investment).fold(0.0, f64::add);
            let works = steps.iter().filter(|step| start(step).quarter() <= quarter);
            let running = works
                .map(|step| step.cost_per_year / 4.0)
                .fold(0.0, f64::add);
            spent += investment + running;
            QuarterMoney {
                quarter: quarter_name(quarter),
                investment,
                running,
                spent,
                ideas: now.map(|step| step.idea.clone()).collect(),
            }
        })
        .collect()
}
