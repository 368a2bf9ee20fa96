//! How many cars a week a yearly budget mans the assembly lines for.

use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Mutex, PoisonError};

use book::{Book, Problem};
use serde::{Deserialize, Serialize};
use units::PerWeek;

use super::{Assembly, LineNeed, Question, needs};
use crate::lots::Timetabled;
use crate::plan;

/// Rates are told apart to this share of the rate.
const FINE: f64 = 0.006;

/// Rates looked at between two that are known, at most; each is a balance of all
/// lines.
const LOOKS: u32 = 6;

/// Rates looked at before those: the book's own, two below the guess, one above.
const FIRST_LOOKS: u32 = 4;

/// What a yearly budget for people, robots, tools and stations buys.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Budgeted {
    /// Money a year.
    pub budget_per_year: f64,
    /// The most cars a week for which the lines were found to cost no more; none
    /// where even the fewest looked at cost more.
    pub cars: Option<f64>,
    /// At this rate and above no way to man the lines costs so little; none where
    /// no rate looked at shows that.
    pub none_from: Option<f64>,
    /// By line, in the order of the book, its takt at that rate.
    pub lines: Vec<BudgetedLine>,
    /// What the lines cost a year at that rate.
    pub cost_per_year: f64,
    /// The fewest cars that were looked at, and what they cost.
    pub fewest: RateCost,
    /// Cars a week that the book asks for, and what these cost.
    pub asked: RateCost,
}

/// How far the search for what a budget buys is.
#[derive(Clone, Debug, PartialEq)]
pub struct Looking {
    /// Lines balanced, over all rates.
    pub done: u32,
    /// Lines to balance, at most.
    pub of: u32,
    /// Cars a week that are looked at.
    pub cars: f64,
    /// The rates that were looked at, in their order, with what they cost.
    pub seen: Vec<RateCost>,
}

/// A rate and what it costs.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct RateCost {
    /// Cars a week.
    pub cars: f64,
    /// Money a year; none where some line has no balance at that rate.
    pub cost_per_year: Option<f64>,
    /// No way to man the lines costs less.
    pub bound_per_year: f64,
}

/// A line at the rate that the budget buys.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct BudgetedLine {
    /// Its shop.
    pub shop: String,
    /// Its name; none where the shop's tasks name no line.
    pub line: Option<String>,
    /// Seconds from one car to the next.
    pub takt_s: f64,
    /// Stations.
    pub stations: u32,
    /// People a shift.
    pub people: u32,
    /// Money a year.
    pub cost_per_year: f64,
}

/// The most cars a week, the mix kept, for which the assembly lines cost no more
/// than a yearly budget: the least takt that the budget buys on all lines. Every
/// rate that is looked at is balanced, so what is found holds; that nothing more
/// can be is shown by the lines' bounds on cost. `told` hears of every line that
/// was balanced; whoever cancels has the most cars found so far.
///
/// # Errors
///
/// As [`super::assembly`].
pub fn within_budget(
    book: &Book,
    budget: f64,
    cancel: &AtomicBool,
    told: &(dyn Fn(&Looking) + Sync),
) -> Result<Budgeted, Vec<Problem>> {
    let asked = plan::plan_with(book, &Timetabled::default())?.cars;
    let mut looked = Looked {
        book,
        cancel,
        told,
        budget,
        best: None,
        none_from: None,
        seen: Vec::new(),
    };
    let own = looked.at(asked)?;
    let cost = own.cost_per_year.unwrap_or(own.bound_per_year).max(1.0);
    // Cost goes about with the rate.
    let guess = asked * budget / cost;
    let (mut low, mut high) = (guess * 0.94, guess * 1.08);
    let mut fewest = looked.at(low)?;
    if looked.best.is_none() {
        (low, high) = (guess * 0.5, low);
        fewest = looked.at(low)?;
    }
    let mut least = fewest.cost_per_year.unwrap_or(0.0);
    let mut most = looked.at(high)?.cost_per_year;
    for _ in 0..LOOKS {
        let (Some(dearer), true) = (most, looked.best.is_some()) else {
            break;
        };
        if looked.cancelled() || dearer <= budget || high - low <= FINE * high {
            break;
        }
        // Cost rises in steps, so never to the very ends.
        let part = ((budget - least) / (dearer - least).max(1.0)).clamp(0.15, 0.85);
        let middle = (low + (high - low) * part).round();
        let found = looked.at(middle)?;
        match found.cost_per_year {
            Some(cost) if cost <= budget => (low, least) = (middle, cost),
            cost => (high, most) = (middle, cost.or(most)),
        }
    }
    Ok(looked.told(own, fewest))
}

/// Rates that were looked at.
struct Looked<'a> {
    book: &'a Book,
    cancel: &'a AtomicBool,
    told: &'a (dyn Fn(&Looking) + Sync),
    budget: f64,
    best: Option<(f64, Assembly)>,
    none_from: Option<f64>,
    seen: Vec<RateCost>,
}

impl Looked<'_> {
    fn cancelled(&self) -> bool {
        self.cancel.load(Ordering::Relaxed)
    }

    fn at(&mut self, cars: f64) -> Result<RateCost, Vec<Problem>> {
        let needs = needs(self.book, Some(PerWeek(cars)))?;
        let plan = self.balanced(cars, &needs)?;
        let bound: f64 = plan.lines.iter().map(|line| line.cost_bound_per_year).sum();
        if bound > self.budget && self.none_from.is_none_or(|from| cars < from) {
            self.none_from = Some(cars);
        }
        let cost = plan.holds.then_some(plan.cost_per_year);
        let more = self.best.as_ref().is_none_or(|(best, _)| cars > *best);
        if more && cost.is_some_and(|cost| cost <= self.budget) {
            self.best = Some((cars, plan));
        }
        let found = RateCost {
            cars,
            cost_per_year: cost,
            bound_per_year: bound,
        };
        self.seen.push(found.clone());
        Ok(found)
    }

    /// All lines at a rate, each told when it is done.
    fn balanced(&self, cars: f64, needs: &[LineNeed]) -> Result<Assembly, Vec<Problem>> {
        let (looks, lines) = (self.seen.len() as u32, needs.len() as u32);
        let done = Mutex::new(0);
        let tell = |of_rate: u32| {
            (self.told)(&Looking {
                done: looks * lines + of_rate.min(lines),
                of: (FIRST_LOOKS + LOOKS) * lines,
                cars,
                seen: self.seen.clone(),
            });
        };
        tell(0);
        shops::assembly::assembly_line_by_line(
            &Question {
                book: self.book,
                needs,
                steps: Question::STEPS / 2,
                only_cost: true,
            },
            &super::Watch {
                cancel: self.cancel,
                progress: &|_| {},
            },
            &|| {
                // Told under the lock, so that no number comes after a higher one.
                let mut done = done.lock().unwrap_or_else(PoisonError::into_inner);
                *done += 1;
                tell(*done);
            },
        )
    }

    fn told(self, asked: RateCost, fewest: RateCost) -> Budgeted {
        let (cars, plan) = self.best.unzip();
        let lines = plan.iter().flat_map(|plan| &plan.lines);
        Budgeted {
            budget_per_year: self.budget,
            cars,
            none_from: self.none_from,
            cost_per_year: plan.as_ref().map_or(0.0, |plan| plan.cost_per_year),
            lines: lines
                .map(|line| BudgetedLine {
                    shop: line.shop.clone(),
                    line: line.line.clone(),
                    takt_s: line.takt_s.value,
                    stations: line.stations.len() as u32,
                    people: line.people,
                    cost_per_year: line.cost_per_year,
                })
                .collect(),
            fewest,
            asked,
        }
    }
}
