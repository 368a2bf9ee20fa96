//! The rate plan: what a week's cars ask of every shop, station, line and
//! fleet, what each could make alone, and where the plan does not hold.
//!
//! Nothing here is simulated. A plan that does not hold cannot be met whatever
//! the buffers do; one that holds may still lose cars to stops and waiting,
//! which a run of the plant measures.

mod carriers;
mod first_time;
mod kinds;
mod lead_time;
mod presses;
pub(crate) mod sheet;
mod shops;
mod shortfall;
mod stations;
mod tasks;
#[cfg(test)]
mod tests;

use std::collections::BTreeMap;

use book::{At, Book, Problem, Severity};
use formulas::{Origin, Working, rate_plan};
use serde::Serialize;
use units::{Count, PerWeek};

use crate::assembly::{self, Screened};
use crate::calendar;
use crate::lots::Timetabled;
use crate::press;
use crate::requirement::{Requirement, requirement};

use crate::work::{self, Worked};
use sheet::{Sheet, cell};

/// The whole rate plan; serialises as it is.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct RatePlan {
    /// The plant's name.
    pub plant: String,
    /// The currency of all money.
    pub currency: String,
    /// Nothing is short, every load at most 1, and every task has somebody who
    /// may do it.
    pub holds: bool,
    /// Good cars a week in the plan.
    pub cars: f64,
    /// Good cars a week that the weakest of all would allow, the mix kept.
    pub capable: Option<Planned>,
    /// The products, in the book's order.
    pub products: Vec<ProductPlan>,
    /// The shops, from coil to car.
    pub shops: Vec<ShopPlan>,
    /// The stations, in the book's order.
    pub stations: Vec<StationPlan>,
    /// The blanking, laser and press lines, in the book's order.
    pub press_lines: Vec<PressLinePlan>,
    /// The fleets, in the book's order.
    pub carriers: Vec<CarrierPlan>,
    /// The planned time from coil to finished car.
    pub lead_time: Option<LeadTime>,
    /// All that cannot do what the plan asks, the worst first.
    pub shortfalls: Vec<Shortfall>,
    /// Assembly tasks of which a hard screen refuses a way: those that nobody
    /// may do first, then those that need an aid.
    pub screened: Vec<Screened>,
    /// What is odd but can be computed.
    pub notes: Vec<Problem>,
    /// Every figure with its working, by id.
    pub figures: BTreeMap<String, Figure>,
}

/// A figure with everything needed to check it by hand.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Figure {
    /// Its id, unique in the plan, as [`Origin::Figure`] names it.
    pub id: String,
    /// What it is, in words.
    pub title: String,
    /// Its value.
    pub value: f64,
    /// Its unit; empty for plain numbers and shares.
    pub unit: String,
    /// How it came about.
    pub working: Working,
}

/// A value of the plan and where it came from: mostly a figure of
/// [`RatePlan::figures`], or a cell of the book.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Planned {
    /// The value.
    pub value: f64,
    /// Its figure or cell.
    pub from: Origin,
}

/// A product's part of the plan.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct ProductPlan {
    /// The product.
    pub product: String,
    /// Good cars a week.
    pub cars: f64,
    /// Its part of all cars.
    pub share: f64,
    /// Its row.
    pub at: At,
}

/// A shop's part of the plan.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct ShopPlan {
    /// The shop.
    pub shop: String,
    /// Working hours a week; a shop without shifts always works.
    pub net_time_h: Planned,
    /// Good cars a week that pass it.
    pub cars: f64,
    /// Seconds from one good car to the next.
    pub takt_s: Option<Planned>,
    /// The station or line with the highest load, and the load.
    pub busiest: Option<(String, Planned)>,
    /// Good cars a week that the shop would allow alone.
    pub alone: Option<Planned>,
    /// People on a shift.
    pub positions: Option<Planned>,
    /// People on the payroll.
    pub payroll: Option<Planned>,
    /// Robots.
    pub robots: u32,
}

/// A station's part of the plan.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct StationPlan {
    /// The station.
    pub station: String,
    /// Its shop.
    pub shop: String,
    /// Its line, where the book names one.
    pub line: Option<String>,
    /// Its row.
    pub at: At,
    /// Like units side by side.
    pub units: u32,
    /// Jobs a week, repeats counted.
    pub jobs: Planned,
    /// Mean cycle over products and options, stops not counted.
    pub cycle_s: Planned,
    /// Share of the time in which a unit can work.
    pub availability: Planned,
    /// Mean time from job to job, units and stops counted.
    pub effective_cycle_s: Planned,
    /// Work over what it can do; above 1 it cannot.
    pub load: Planned,
    /// Whether that is more than it can do.
    pub over: bool,
    /// Whole units for this work.
    pub units_needed: Planned,
    /// Hours a week that are missing, 0 if none.
    pub overtime_h: Planned,
    /// Longest mean cycle that holds the plan; none without jobs.
    pub cycle_to_reach_s: Option<Planned>,
    /// Good cars a week that it would allow alone; none without jobs.
    pub alone: Option<Planned>,
    /// The worst run of heavy cars, where some cars take longer than it has.
    pub heavy: Option<HeavyRun>,
}

/// The run of heavy cars that carries a station's work furthest out of it.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct HeavyRun {
    /// The products or the option that make the cars heavy.
    pub cars: String,
    /// Whether an option's spacing rule limits the run; else chance does, at
    /// [`HeavyRun::QUANTILE`] of the weeks.
    pub by_rule: bool,
    /// Share of the station's jobs.
    pub share: f64,
    /// Cycle of a heavy car.
    pub cycle_s: f64,
    /// Heavy cars in a row that one unit gets.
    pub run: Planned,
    /// Seconds of work behind after the run.
    pub overrun_s: Planned,
    /// Other cars that make it good, at least; none when they cannot.
    pub recovery: Option<Planned>,
}

impl HeavyRun {
    /// Share of the weeks that bring no longer run, where only chance limits it.
    pub const QUANTILE: f64 = 0.95;
}

/// A blanking, laser or press line's part of the plan.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct PressLinePlan {
    /// The line.
    pub press_line: String,
    /// Its shop.
    pub shop: String,
    /// Its row.
    pub at: At,
    /// What it makes.
    pub runs: Vec<LotRun>,
    /// Share of the running time wanted in which it runs.
    pub availability: Planned,
    /// Work over what it can do; above 1 it cannot.
    pub load: Planned,
    /// Whether that is more than it can do.
    pub over: bool,
    /// Hours a week of changeovers.
    pub changing_h: Planned,
    /// Whole lines for this work.
    pub units_needed: Planned,
    /// Hours a week that are missing, 0 if none.
    pub overtime_h: Planned,
    /// Good cars a week that it would allow alone.
    pub alone: Option<Planned>,
}

/// One part on a line.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct LotRun {
    /// The part.
    pub part: String,
    /// Blanks are cut, else panels are pressed.
    pub blanks: bool,
    /// Pieces a week, scrap included.
    pub pieces: Planned,
    /// Pieces in a lot.
    pub lot: Planned,
    /// Lots a week.
    pub lots: Planned,
    /// Hours of running a week.
    pub run_h: Planned,
    /// Days a piece lies at most in the stock the line fills.
    pub worst_age_days: Planned,
}

/// A fleet's part of the plan.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct CarrierPlan {
    /// The fleet.
    pub carrier: String,
    /// Its row.
    pub at: At,
    /// How many there are.
    pub count: u32,
    /// How many the plan needs, whole.
    pub needed: Planned,
    /// Needed over count; above 1 the fleet is short.
    pub load: f64,
    /// Whether the fleet is short.
    pub over: bool,
    /// Good cars a week that it would allow alone.
    pub alone: Option<Planned>,
}

/// The planned time from coil to finished car on the longest way.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct LeadTime {
    /// The stages of the longest way, from coil to car.
    pub stages: Vec<StageAge>,
    /// Days from coil to finished car, with every place filled.
    pub total_days: Planned,
    /// Days the plant allows itself.
    pub target_days: f64,
    /// What the figure is, for a reader.
    pub meaning: String,
}

/// A stage of the longest way.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct StageAge {
    /// The stage.
    pub stage: String,
    /// Days a car or part is in it at most.
    pub days: Planned,
}

impl StageAge {
    /// Whether cars are in it; else it is a stock of blanks or panels.
    pub(crate) fn of_cars(&self) -> bool {
        matches!(&self.days.from, Origin::Figure(id) if id.starts_with("stage."))
    }
}

/// What falls short.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum Short {
    /// A station.
    Station,
    /// A blanking, laser or press line.
    PressLine,
    /// A fleet.
    Carrier,
}

/// Something that cannot do what the plan asks, and the smallest changes that
/// would each free it.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Shortfall {
    /// Station, line or fleet.
    pub kind: Short,
    /// Its name.
    pub name: String,
    /// Its shop.
    pub shop: String,
    /// Its row.
    pub at: At,
    /// Work over what it can do.
    pub load: f64,
    /// Good cars a week that it costs if nothing else is short.
    pub cars_short: f64,
    /// Whole units to add.
    pub units_to_add: u32,
    /// Hours a week to work longer instead; none for a fleet, and none when the
    /// week has no such hours left.
    pub overtime_h: Option<f64>,
    /// Mean cycle to reach instead.
    pub cycle_to_reach_s: Option<f64>,
    /// The changes in a sentence.
    pub mend: String,
    /// The figure of the load.
    pub figure: String,
}

impl Shortfall {
    /// The same as a note on its row of the book: nothing is wrong with the
    /// table, and the plan does not hold.
    pub fn note(&self) -> Problem {
        let table = self.at.table.name();
        Problem {
            code: format!("{table}/falls-short"),
            severity: Severity::Note,
            table: table.to_owned(),
            row: Some(self.at.row),
            column: None,
            found: format!(
                "`{}` with a load of {:.1} %, {:.0} cars a week short",
                self.name,
                self.load * 100.0,
                self.cars_short
            ),
            expected: "at most 100 %".to_owned(),
            mend: self.mend.clone(),
            nearest: None,
        }
    }
}

/// What all parts of the plan read.
struct Basis<'a> {
    book: &'a Book,
    need: &'a Requirement,
    shops: BTreeMap<String, shops::Hours>,
    worked: &'a Worked<'a>,
    timetabled: &'a Timetabled,
}

/// Makes the rate plan of a checked book.
///
/// # Errors
/// All problems at once, when the requirement has no answer (a loop with no
/// way out, a product without a route, ...) or a figure is refused by its
/// formula. A station that cannot meet takt is no error but a [`Shortfall`], and
/// a task that nobody may do is one of [`RatePlan::screened`].
pub fn plan(book: &Book) -> Result<RatePlan, Vec<Problem>> {
    let driven = press::driving(book);
    let mut plan = plan_with(&driven.book, &driven.timetabled)?;
    plan.notes.extend(driven.why_not);
    Ok(plan)
}

/// The plan with these lots where the book gives none.
pub(crate) fn plan_with(book: &Book, timetabled: &Timetabled) -> Result<RatePlan, Vec<Problem>> {
    let mut problems = calendar::problems(book);
    let worked = work::of(book).map_err(|more| [std::mem::take(&mut problems), more].concat())?;
    let book = &*worked.book;
    let need = requirement(book).map_err(|more| [std::mem::take(&mut problems), more].concat())?;
    if !problems.is_empty() {
        return Err(problems);
    }
    let mut sheet = Sheet::default();
    balance(&mut sheet, book, &need);
    let basis = Basis {
        book,
        need: &need,
        shops: shops::hours(&mut sheet, book),
        worked: &worked,
        timetabled,
    };
    let stations = stations::plan(&mut sheet, &basis);
    let press_lines = presses::plan(&mut sheet, &basis);
    let carriers = carriers::plan(&mut sheet, &basis);
    let shops = shops::plan(&mut sheet, &basis, &stations, &press_lines);
    let lead_time = lead_time::plan(&mut sheet, &basis, &press_lines);
    first_time::plan(&mut sheet, &basis);
    let capable = capable(&mut sheet, &shops, &carriers);
    let shortfalls = shortfall::list(&basis, &stations, &press_lines, &carriers);
    let mut notes = need.notes.clone();
    notes.extend(worked.notes.iter().cloned());
    notes.extend(sheet.notes());
    let figures = sheet.finish()?;
    let cars = need.cars();
    let mut plan = RatePlan {
        plant: book.plant.name.value.clone(),
        currency: book.plant.currency.value.clone(),
        holds: shortfalls.is_empty(),
        cars,
        capable,
        products: products(book, cars),
        shops,
        stations,
        press_lines,
        carriers,
        lead_time,
        shortfalls,
        screened: Vec::new(),
        figures,
        notes,
    };
    plan.screened = assembly::screened(book, &plan);
    plan.notes.extend(tasks::notes(&basis, &plan.screened));
    plan.holds &= !plan.screened.iter().any(Screened::is_stuck);
    Ok(plan)
}

/// The products, each with its part of all cars.
fn products(book: &Book, cars: f64) -> Vec<ProductPlan> {
    let part = |own: f64| if cars > 0.0 { own / cars } else { 0.0 };
    let rows = book.products.iter().map(|row| ProductPlan {
        product: row.product.clone(),
        cars: row.cars_per_week.0,
        share: part(row.cars_per_week.0),
        at: row.at,
    });
    rows.collect()
}

/// The figure all jobs rest on: pieces released, finished, lost and joined.
fn balance(sheet: &mut Sheet, book: &Book, need: &Requirement) {
    let merged: Vec<bool> = book
        .stations
        .iter()
        .map(|row| row.takes != book::Takes::Any)
        .collect();
    let index: BTreeMap<&str, usize> = book
        .stations
        .iter()
        .enumerate()
        .map(|(i, row)| (row.station.as_str(), i))
        .collect();
    let (mut into, mut out, mut fresh, mut good) = (0.0, 0.0, 0.0, 0.0);
    for (l, link) in book.links.iter().enumerate() {
        let ends = (index.get(link.from.as_str()), index.get(link.to.as_str()));
        let (Some(&from), Some(&to)) = ends else {
            continue;
        };
        if book.stations[from].rework_to.as_ref() == Some(&link.to) {
            continue;
        }
        if merged[to] {
            into += need.over_link(l);
        }
        if book.stations[from].gives == book::Gives::OneToEach {
            out += need.over_link(l);
        }
    }
    for (i, row) in book.stations.iter().enumerate() {
        if merged[i] {
            let released: f64 = need.released(i);
            fresh += need.fresh(i) - released;
        }
        let gives = book.links.iter().any(|link| link.from == row.station);
        if row.gives == book::Gives::OneToEach && gives {
            good += need.good(i);
        }
    }
    let scrapped: f64 = (0..book.stations.len()).map(|i| need.scrapped(i)).sum();
    let cars = Count(need.cars());
    let cells = book
        .products
        .iter()
        .map(|row| cell(0.0, row.at, "cars_per_week").from);
    let cars = formulas::Sourced::new(cars, Origin::Several(cells.collect()));
    sheet.add(
        "cascade",
        "pieces released in a week",
        None,
        rate_plan::piece_balance(
            cars,
            Count(scrapped),
            Count((into - fresh).max(0.0)),
            Count((out - good).max(0.0)),
        ),
    );
}

/// Good cars a week that the weakest shop or fleet would allow.
fn capable(sheet: &mut Sheet, shops: &[ShopPlan], carriers: &[CarrierPlan]) -> Option<Planned> {
    let rates = shops
        .iter()
        .filter_map(|shop| shop.alone.as_ref())
        .chain(carriers.iter().filter_map(|fleet| fleet.alone.as_ref()));
    sheet::weakest(
        sheet,
        "plant.rate",
        "cars a week of the weakest shop or fleet",
        rates,
    )
}

/// A planned value as the input of a formula.
fn rate_of(planned: &Planned) -> formulas::Sourced<PerWeek> {
    formulas::Sourced::new(PerWeek(planned.value), planned.from.clone())
}

/// An error at a row of the book, for a formula that refuses its values.
fn refused(at: Option<At>, id: &str, refusal: &formulas::Refusal) -> Problem {
    let table = at.map_or("plant", |at| at.table.name());
    Problem {
        code: format!("{table}/refused"),
        severity: Severity::Error,
        table: table.to_owned(),
        row: at.map(|at| at.row),
        column: None,
        found: format!("values for which {id} has no figure: {refusal}"),
        expected: "values within the formula's ranges".to_owned(),
        mend: "change the value named".to_owned(),
        nearest: None,
    }
}
