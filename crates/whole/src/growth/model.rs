//! Growth as it leaves the house.

use std::collections::BTreeMap;

use book::{At, LearningModel};
use flow::statistics::Interval;
use serde::{Deserialize, Serialize};
use shops::carts::{ShopFigure, ShopValue};

use super::period::Day;
use crate::findings::{RunSettings, Verdict};

/// The forecast against the plant. Serialises as it is.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Growth {
    /// The plant's name.
    pub plant: String,
    /// The currency of all money.
    pub currency: String,
    /// The products, in the book's order.
    pub products: Vec<String>,
    /// Whether the ideas of the book follow the forecast to its end.
    pub holds: bool,
    /// The periods, the earliest first.
    pub periods: Vec<PeriodGrowth>,
    /// The shops, from coil to car: when each runs out.
    pub shops: Vec<ShopGrowth>,
    /// The ideas that follow the forecast, in the order in which they are needed.
    pub steps: Vec<Step>,
    /// What no idea of the book frees.
    pub stuck: Vec<Stuck>,
    /// Money by quarter of the year, from the first decision to the last period.
    pub money: Vec<QuarterMoney>,
    /// What all steps cost once.
    pub investment: f64,
    /// What all steps cost a year once all of them are at work, beside that.
    pub cost_per_year: f64,
    /// How the runs were made, where they were asked for.
    pub run: Option<RunSettings>,
    /// The ramp of a start; none where the book has no model of learning.
    pub ramp: Option<Ramp>,
    /// Why there is no ramp.
    pub no_ramp: Option<String>,
    /// Figures with their working, by id; none once read back.
    #[serde(skip_deserializing)]
    pub figures: BTreeMap<String, ShopFigure>,
}

/// One period of the forecast.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct PeriodGrowth {
    /// Its name, as the forecast writes it.
    pub period: String,
    /// Its first day, year-month-day.
    pub starts: String,
    /// Weeks of the calendar in it.
    pub weeks: f64,
    /// Cars a week needed.
    pub cars: f64,
    /// Of each product, in the book's order.
    pub by_product: Vec<f64>,
    /// Cars a week that the weakest allows today.
    pub can: Option<f64>,
    /// The same with the ideas taken by then.
    pub can_with: Option<f64>,
    /// The shops.
    pub shops: Vec<ShopAt>,
    /// Cars a week that a run of the plant makes as it is.
    pub made: Option<Interval>,
    /// The same with the ideas taken by then.
    pub made_with: Option<Interval>,
    /// Whether that run makes what is needed as the plant is.
    pub verdict: Option<Verdict>,
    /// The same with the ideas taken by then.
    pub verdict_with: Option<Verdict>,
}

impl Growth {
    /// The steps by the day on which each must be decided, each with its number:
    /// a step counts on those with lower numbers.
    pub fn in_turn(&self) -> Vec<(usize, &Step)> {
        let mut steps: Vec<(usize, &Step)> = (1..).zip(&self.steps).collect();
        steps.sort_by(|a, b| a.1.decide_by.cmp(&b.1.decide_by).then(a.0.cmp(&b.0)));
        steps
    }

    /// The shops that run out first, all in one period; none where none does.
    pub fn first_out(&self) -> Option<(&str, Vec<&str>)> {
        let out = |name: &str| {
            let shops = self.shops.iter();
            let own = shops.filter(|shop| shop.saturates.as_deref() == Some(name));
            own.map(|shop| shop.shop.as_str()).collect::<Vec<_>>()
        };
        let periods = self.periods.iter().map(|one| one.period.as_str());
        periods
            .map(|name| (name, out(name)))
            .find(|(_, shops)| !shops.is_empty())
    }

    /// The steps whose day of decision has passed on a day, counted from
    /// 1970-01-01: what each would be decided today, and so too late.
    pub fn past(&self, today: i64) -> Vec<Past<'_>> {
        let today = Day(today);
        let now = today.to_string();
        let steps = self.in_turn().into_iter().map(|(_, step)| step);
        steps
            .filter(|step| step.decide_by < now)
            .map(|step| Past {
                step,
                works_from: today.after(step.weeks).to_string(),
            })
            .collect()
    }
}

/// A step whose day of decision has passed.
#[derive(Clone, Debug, PartialEq)]
pub struct Past<'a> {
    /// The step.
    pub step: &'a Step,
    /// The day from which it works if it is decided today, year-month-day.
    pub works_from: String,
}

/// A shop in a period.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct ShopAt {
    /// The shop.
    pub shop: String,
    /// Cars a week that it allows alone, in the period's mix.
    pub can: Option<f64>,
    /// The same with the ideas taken by then.
    pub can_with: Option<f64>,
    /// Its busiest station or line.
    pub busiest: Option<String>,
    /// The load of that; above 1 the shop is short.
    pub load: f64,
}

/// When a shop runs out.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct ShopGrowth {
    /// The shop.
    pub shop: String,
    /// The first period that it cannot meet as it is; none within the forecast.
    pub saturates: Option<String>,
    /// The station or line that is short then.
    pub at: Option<String>,
    /// Its load then.
    pub load: Option<f64>,
    /// Of the ideas that leave it less short in that period the one to be decided
    /// first, whatever it was taken for; none where no idea of the book helps.
    pub idea: Option<String>,
    /// The day by which that must be decided, year-month-day.
    pub decide_by: Option<String>,
}

/// An idea that the forecast needs.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Step {
    /// The idea.
    pub idea: String,
    /// Its first row.
    pub at: At,
    /// The period from which it is needed.
    pub needed_in: String,
    /// The day by which it must be decided, year-month-day: the period's first
    /// day less the weeks to do it.
    pub decide_by: String,
    /// The quarter of that day.
    pub quarter: String,
    /// Weeks until it works.
    pub weeks: f64,
    /// What it costs once.
    pub investment: f64,
    /// What it costs a year from then on.
    pub cost_per_year: f64,
    /// The shop that it frees most.
    pub shop: String,
    /// All shops in which it leaves less short.
    pub frees: Vec<String>,
    /// Cars a week that the plant could make before it, in that period.
    pub can_before: Option<f64>,
    /// Cars a week with it, and with those before it.
    pub can_after: Option<f64>,
    /// What is weakest then.
    pub next: Option<String>,
}

/// What the ideas of the book do not free.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Stuck {
    /// The first period in which it is short.
    pub period: String,
    /// The station, line or fleet.
    pub place: String,
    /// Its shop.
    pub shop: String,
    /// Its row.
    pub at: At,
    /// Its load then, with all ideas that help.
    pub load: f64,
    /// The smallest changes that would free it.
    pub mend: String,
}

/// Money of a quarter.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct QuarterMoney {
    /// The quarter, such as `2027 Q2`.
    pub quarter: String,
    /// Invested in it: each idea in the quarter in which it must be decided.
    pub investment: f64,
    /// What the ideas that work by then cost in it.
    pub running: f64,
    /// All money spent up to its end.
    pub spent: f64,
    /// The ideas decided in it.
    pub ideas: Vec<String>,
}

/// The ramp of a start.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Ramp {
    /// What a doubling shortens. Figures of the two models do not compare.
    pub model: LearningModel,
    /// What a doubling multiplies by.
    pub rate: f64,
    /// Hours of work in the first car.
    pub first_hours: f64,
    /// Hours of work in a car once all is settled: those of the plan.
    pub settled_hours: ShopValue,
    /// The car with which the work is that of the plan.
    pub settled_with: f64,
    /// Cars a week of the plan.
    pub cars: f64,
    /// People at work on the mean, once settled.
    pub people: f64,
    /// Week by week.
    pub weeks: Vec<RampWeek>,
    /// The first week with 99 of 100 cars of the plan, with the settled people.
    pub full_in: Option<u32>,
    /// Cars fewer than the plan's until then, with the settled people.
    pub cars_lost: f64,
    /// Cars fewer than the plan's with as many people as the stops let work.
    pub cars_lost_manned: f64,
    /// The most people at work that this takes.
    pub most_people: f64,
    /// What the people beyond the settled ones cost in the ramp.
    pub manning_cost: f64,
}

/// A week of the ramp.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct RampWeek {
    /// The week, from 1.
    pub week: u32,
    /// The part of the plan's rate that stops let through.
    pub availability: f64,
    /// Cars made with the settled people: the least of what stops and work let.
    pub cars: f64,
    /// Cars made since the start.
    pub built: f64,
    /// Hours of work in the week's last car.
    pub hours: f64,
    /// Whether work holds the week back; else stops do.
    pub by_work: bool,
    /// Cars made with as many people as needed: all that stops let through.
    pub cars_manned: f64,
    /// People at work that those take.
    pub people: f64,
}
