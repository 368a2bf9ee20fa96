//! What grows: the forecast against what each shop can do, the ideas that follow
//! it and when each must be decided, money by quarter, and the ramp of a start.
//!
//! * [`growth`]: all of it for a book as text;
//! * [`Growth`]: the answer, which serialises as it is.
//!
//! What a shop can do is the rate plan's: stops are counted, waiting is not. Where
//! runs are asked for, each period says what the plant really makes, before and
//! with the ideas.

mod learning;
mod model;
mod period;
mod ramp;
mod steps;
#[cfg(test)]
mod tests;

use std::collections::BTreeMap;
use std::ops::Add as _;
use std::sync::atomic::{AtomicU32, Ordering};

use book::raw::Workbook;
use book::{Book, Problem};
use flow::Watch;
use units::PerWeek;

use crate::findings::{self, NoAnswer, RunSettings};
use crate::lots::Timetabled;
use crate::plan::{self, RatePlan};

pub use model::{
    Growth, Past, PeriodGrowth, QuarterMoney, Ramp, RampWeek, ShopAt, ShopGrowth, Step, Stuck,
};

use period::Forecasted;
use steps::Followed;

/// How a face runs the periods unless told otherwise.
pub const RUNS: RunSettings = RunSettings {
    replications: 6,
    weeks: 1,
    trials: 0,
    ..RunSettings::USUAL
};

/// The growth of a book as text; `runs` also runs the plant of every period.
///
/// # Errors
/// [`NoAnswer`]: the errors of book or plan, a forecast with gaps, settings that
/// make no run, or that it was cancelled.
pub fn growth(
    workbook: &Workbook,
    runs: Option<&RunSettings>,
    watch: &Watch,
) -> Result<Growth, NoAnswer> {
    let checked = book::check(workbook);
    if !checked.holds() {
        return Err(NoAnswer::Problems(checked.problems));
    }
    let book = &checked.book;
    let periods = period::read(book)?;
    let now = periods
        .iter()
        .map(|period| planned(book, period))
        .collect::<Result<Vec<_>, _>>()?;
    let followed = steps::follow(workbook, book, &periods, watch)?;
    let runs_to_make: u32 = followed.books.iter().map(|with| runs_of(book, with)).sum();
    let made = AtomicU32::new(0);
    let mut told = Vec::with_capacity(periods.len());
    for ((period, plan), with) in periods.iter().zip(&now).zip(&followed.plans) {
        if watch.cancel.load(Ordering::Relaxed) {
            return Err(NoAnswer::Cancelled);
        }
        let mut one = at_period(period, plan, with);
        if let Some(settings) = runs {
            let books = (book, &followed.books[told.len()]);
            let progress = |at: flow::Progress| {
                (watch.progress)(flow::Progress {
                    done: made.load(Ordering::Relaxed) * at.of + at.done,
                    of: runs_to_make * at.of,
                });
            };
            let watch = Watch {
                cancel: watch.cancel,
                progress: &progress,
            };
            run(&mut one, period, books, settings, (&watch, &made))?;
        }
        told.push(one);
    }
    let ramp = ramp::ramp(book)?;
    let sum = |of: fn(&Step) -> f64| followed.steps.iter().map(of).fold(0.0, f64::add);
    Ok(Growth {
        plant: book.plant.name.value.clone(),
        currency: book.plant.currency.value.clone(),
        products: book
            .products
            .iter()
            .map(|row| row.product.clone())
            .collect(),
        holds: followed.stuck.is_empty(),
        shops: shops(&periods, &now, &followed),
        money: steps::by_quarter(&periods, &followed.steps),
        investment: sum(|step| step.investment),
        cost_per_year: sum(|step| step.cost_per_year),
        periods: told,
        steps: followed.steps,
        stuck: followed.stuck,
        run: runs.copied(),
        ramp: ramp.as_ref().ok().map(|made| made.0.clone()),
        no_ramp: ramp.as_ref().err().cloned(),
        figures: ramp.map(|made| made.1).unwrap_or_default(),
    })
}

/// The weeks of each period of the forecast, and its cars a week of all products;
/// none where there is no forecast that can be read.
pub(crate) fn needs(book: &Book) -> Vec<(f64, f64)> {
    let periods = period::read(book).unwrap_or_default().into_iter();
    periods
        .map(|period| (period.weeks(), period.cars.iter().sum()))
        .collect()
}

/// The book with a period's cars.
fn at(book: &Book, period: &Forecasted) -> Book {
    let mut book = book.clone();
    for (row, cars) in book.products.iter_mut().zip(&period.cars) {
        row.cars_per_week = PerWeek(*cars);
    }
    book
}

/// The rate plan of a period.
fn planned(book: &Book, period: &Forecasted) -> Result<RatePlan, Vec<Problem>> {
    plan::plan_with(&at(book, period), &Timetabled::default())
}

fn at_period(period: &Forecasted, plan: &RatePlan, with: &RatePlan) -> PeriodGrowth {
    let rates = |plan: &RatePlan| -> BTreeMap<String, Option<f64>> {
        let shops = plan.shops.iter();
        shops
            .map(|row| {
                (
                    row.shop.clone(),
                    row.alone.as_ref().map(|alone| alone.value),
                )
            })
            .collect()
    };
    let with_rates = rates(with);
    let shops = plan.shops.iter().map(|row| ShopAt {
        shop: row.shop.clone(),
        can: row.alone.as_ref().map(|alone| alone.value),
        can_with: with_rates.get(&row.shop).copied().flatten(),
        busiest: row.busiest.as_ref().map(|(place, _)| place.clone()),
        load: row.busiest.as_ref().map_or(0.0, |(_, load)| load.value),
    });
    PeriodGrowth {
        period: period.label.clone(),
        starts: period.starts.to_string(),
        weeks: period.weeks(),
        cars: period.cars.iter().sum(),
        by_product: period.cars.clone(),
        can: plan.capable.as_ref().map(|rate| rate.value),
        can_with: with.capable.as_ref().map(|rate| rate.value),
        shops: shops.collect(),
        made: None,
        made_with: None,
        verdict: None,
        verdict_with: None,
    }
}

/// How often the plant of a period is run: ideas that are not there yet make it
/// no other plant.
fn runs_of(now: &Book, with: &Book) -> u32 {
    if now == with { 1 } else { 2 }
}

fn run(
    one: &mut PeriodGrowth,
    period: &Forecasted,
    (now, with): (&Book, &Book),
    settings: &RunSettings,
    (watch, made): (&Watch, &AtomicU32),
) -> Result<(), NoAnswer> {
    let settings = RunSettings {
        trials: 0,
        ..*settings
    };
    let run = |book: &Book| {
        let found = findings::find(&at(book, period), &settings, watch)?;
        made.fetch_add(1, Ordering::Relaxed);
        Ok::<_, NoAnswer>((Some(found.made), Some(found.verdict)))
    };
    (one.made, one.verdict) = run(now)?;
    (one.made_with, one.verdict_with) = match runs_of(now, with) {
        1 => (one.made, one.verdict),
        _ => run(with)?,
    };
    Ok(())
}

/// When each shop runs out, and what must be decided first so that it does not.
fn shops(periods: &[Forecasted], plans: &[RatePlan], followed: &Followed) -> Vec<ShopGrowth> {
    let Some(first) = plans.first() else {
        return Vec::new();
    };
    let names = first.shops.iter().map(|row| row.shop.clone());
    names
        .map(|shop| {
            let short = periods.iter().zip(plans).find_map(|(period, plan)| {
                let row = plan.shops.iter().find(|row| row.shop == shop)?;
                let (place, load) = row.busiest.as_ref()?;
                formulas::over(load.value)
                    .then(|| (period.label.clone(), place.clone(), load.value))
            });
            let step = followed.first_for.get(&shop).copied().flatten();
            let step = step.and_then(|place| followed.steps.get(place));
            ShopGrowth {
                saturates: short.as_ref().map(|short| short.0.clone()),
                at: short.as_ref().map(|short| short.1.clone()),
                load: short.as_ref().map(|short| short.2),
                idea: step.map(|step| step.idea.clone()),
                decide_by: step.map(|step| step.decide_by.clone()),
                shop,
            }
        })
        .collect()
}
