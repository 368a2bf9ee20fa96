//! The body shop: which method joins which stack, what that takes and uses up,
//! and which robot at which station makes which joint within takt.
//!
//! [`body`] takes the book and the working time and cars of each line, and makes
//! a [`Body`]. Stacks are screened by limits that the book may replace; where
//! several methods are allowed the least money a year decides. Joints go to
//! robots by the solver `balance::robots`, whose charts keep zones, order and tool
//! changes in time; its answer carries a bound.

mod chart;
mod choose;
mod follow;
mod kinds;
mod ladder;
mod method;
mod model;
mod place;
mod screen;
mod seconds;
mod stack;
mod times;
mod told;
mod usual;

use balance::Fault;
use balance::robots::{Plan, Shop, allocate};
use book::{Book, Problem};
use formulas::Sourced;
use units::{Count, Minutes, Seconds};

use crate::known::Known;
use crate::sheet::Sheet;

pub use crate::follow::{Progress, Watch};
pub use crate::sheet::{ShopFigure, ShopValue};
pub use model::{
    Aim, AtTakt, Body, BodyLine, BodyRobot, BodyStation, BrokenLimit, Consumable, JoinGroup,
    LimitUsed, MethodWay, OneLess, RefillStop, RobotStep, StuckJoints,
};

use chart::{Charts, Times};
use choose::{Choices, Chooser};
use kinds::JoiningKind;
use ladder::Ladder;
use method::Methods;
use stack::{Floor, Stack};
use times::LineTime;

/// Joints on robots, by shop and steps.
static PLANS: Known<(Shop, u64), Result<Plan, Vec<Fault>>> = Known::new();

/// What a line works on, beside the book.
#[derive(Clone, Debug, PartialEq)]
pub struct BodyNeed {
    /// Its name, or its shop's where the stations name no line.
    pub line: String,
    /// Its shop.
    pub shop: String,
    /// Its working time a week.
    pub net: Sourced<Minutes>,
    /// Cars a week that it works on.
    pub jobs: Sourced<Count>,
}

/// What the plan is asked for.
#[derive(Clone, Debug)]
pub struct Question<'a> {
    /// The plant book, checked.
    pub book: &'a Book,
    /// The lines that join, from [`lines`], each with its need.
    pub needs: &'a [BodyNeed],
    /// A takt for all lines in place of their own.
    pub takt: Option<Seconds>,
    /// What is made least.
    pub aim: Aim,
    /// Trials of the search on each line.
    pub steps: u64,
    /// Whether to work out what a second of takt more or a robot less does.
    pub ladder: bool,
}

impl Question<'_> {
    /// The search that plan, run and page share, so that they speak of the same
    /// robots.
    pub const STEPS: u64 = 2_500;
}

/// The lines whose stations take joints, with their shops, in the order of the
/// book.
pub fn lines(book: &Book) -> Vec<(String, String)> {
    let floor = Floor::of(book);
    let mut lines: Vec<(String, String)> = Vec::new();
    for (at, row) in floor.stations.iter().enumerate() {
        let line = (floor.line(at).to_owned(), row.shop.clone());
        if !lines.contains(&line) {
            lines.push(line);
        }
    }
    lines
}

/// Plans the body shop. Joints that find no robot are no error but
/// [`Body::stuck`].
///
/// # Errors
///
/// All problems at once, each with its row: a stack that no method joins, a joint
/// longer than the cycle, a zone with more work than time, an order against the
/// stations, a value that its formula refuses.
pub fn body(question: &Question<'_>, watch: &Watch<'_>) -> Result<Body, Vec<Problem>> {
    let book = question.book;
    let methods = Methods::of(book);
    let floor = Floor::of(book);
    let mut sheet = Sheet::default();
    let mut problems = methods.problems();
    let stacks = stack::stacks(book, &floor, &mut problems);
    let lines = times::lines(&mut sheet, question);
    let (times, shares) = times::stations(&mut sheet, question, &floor, &lines);
    problems.append(&mut sheet.problems);
    if !problems.is_empty() {
        return Err(problems);
    }
    let kinds = times::kinds_of(&mut sheet, question);
    let cars: Vec<f64> = stacks
        .iter()
        .map(|stack| times::jobs(question, &floor, stack) * book.plant.weeks_per_year.value)
        .collect();
    let chooser = Chooser {
        methods: &methods,
        kinds: &kinds,
        cars_per_year: &cars,
    };
    let choices = chooser.choose(&stacks, &mut problems);
    problems.append(&mut sheet.problems);
    if !problems.is_empty() {
        return Err(problems);
    }
    let net: Vec<f64> = times.iter().map(|times| times.net_s.value).collect();
    let ask = |aim| place::question(&floor, &stacks, &choices, &kinds, (&net, aim));
    let shop = ask(question.aim);
    let asked = (shop, question.steps);
    let plan = PLANS.ask(&asked, watch.cancel, || {
        follow::found(watch, question.aim, |watch| {
            allocate(&asked.0, asked.1, watch)
        })
    });
    let (shop, _) = asked;
    let plan = plan.map_err(|faults| {
        let told = faults
            .iter()
            .map(|fault| place::told(fault, &floor, &stacks));
        told.collect::<Vec<_>>()
    })?;
    let room = Room {
        question,
        floor: &floor,
        stacks: &stacks,
        choices: &choices,
        kinds: &kinds,
        lines: &lines,
        times: &times,
        shares: &shares,
        chooser: &chooser,
        robots_bound: balance::robots::bound(&ask(Aim::FewestRobots)),
        cost_bound: balance::robots::bound(&ask(Aim::LeastCost)),
    };
    room.answer(sheet, &shop, &plan, watch)
}

/// Everything that the answer is told from.
struct Room<'a, 'b> {
    question: &'a Question<'b>,
    floor: &'a Floor<'b>,
    stacks: &'a [Stack<'b>],
    choices: &'a [Choices],
    kinds: &'a [JoiningKind],
    lines: &'a [LineTime],
    times: &'a [Times],
    shares: &'a [f64],
    chooser: &'a Chooser<'a, 'b>,
    robots_bound: u64,
    cost_bound: u64,
}

impl Room<'_, '_> {
    fn answer(
        &self,
        mut sheet: Sheet,
        shop: &Shop,
        plan: &Plan,
        watch: &Watch<'_>,
    ) -> Result<Body, Vec<Problem>> {
        let watch = &follow::quiet(watch);
        let ladder = self.ladder(shop, plan);
        let (takts, one_less, station_less) = if self.question.ladder {
            (
                ladder.takts(watch),
                ladder.one_less(watch),
                ladder.stations(watch),
            )
        } else {
            (Vec::new(), None, vec![None; plan.stations.len()])
        };
        let with_index = station_less.iter().zip(self.times);
        let with_index: Vec<Option<f64>> = with_index
            .map(|(less, times)| less.map(|less| less + times.index_s))
            .collect();
        let stations = self.charts().stations(&mut sheet, plan, &with_index);
        let groups = self.groups(&mut sheet, &stations);
        if !sheet.problems.is_empty() {
            return Err(sheet.problems);
        }
        let consumables = self.consumables();
        let robots = plan.stations.iter().flatten();
        let cost: f64 = robots.map(|robot| self.kinds[robot.kind].per_year).sum();
        let book = self.question.book;
        Ok(Body {
            plant: book.plant.name.value.clone(),
            currency: book.plant.currency.value.clone(),
            holds: plan.holds(),
            joints: groups.iter().map(|group| group.joints).sum(),
            robots: plan.robots() as u32,
            robots_bound: self.robots_bound as u32,
            robots_cost_per_year: cost,
            cost_bound_per_year: self.cost_bound as f64,
            aim: self.question.aim,
            gap: gap(plan),
            consumables_cost_per_year: consumables.iter().map(|row| row.cost_per_year).sum(),
            lines: self.body_lines(&stations),
            stuck: told::stuck(plan, shop, self.stacks, self.floor),
            limits: told::limits(self.chooser.methods),
            cautions: told::cautions(),
            notes: told::notes(self.stacks, self.choices, book),
            groups,
            stations,
            consumables,
            takts,
            one_less,
            complete: plan.complete,
            figures: sheet.figures,
        })
    }

    fn charts(&self) -> Charts<'_, '_> {
        Charts {
            floor: self.floor,
            stacks: self.stacks,
            choices: self.choices,
            kinds: self.kinds,
            times: self.times,
        }
    }

    fn ladder<'c>(&'c self, shop: &'c Shop, plan: &'c Plan) -> Ladder<'c> {
        let longest = self
            .lines
            .iter()
            .max_by(|a, b| a.takt_s.value.total_cmp(&b.takt_s.value));
        Ladder {
            shop,
            plan,
            share: self.shares,
            takt_s: longest.map_or(1.0, |line| line.takt_s.value),
            cars: longest.map_or(0.0, |line| line.cars),
            per_year: self.kinds.iter().map(|kind| kind.per_year).collect(),
        }
    }
}

/// How far a plan may be above the best there is, as a share of the bound.
fn gap(plan: &Plan) -> f64 {
    match plan.bound {
        0 => 0.0,
        bound => plan.cost as f64 / bound as f64 - 1.0,
    }
}

#[cfg(test)]
mod tests;
