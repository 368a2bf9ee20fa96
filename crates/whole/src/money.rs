//! What a car costs, what a lost one costs, and what changes would bring.
//!
//! * [`money`]: all of it for a book as text, metal laid on its coils first;
//! * [`money_by_runs`]: the same with runs of the plant for lost minutes and ideas;
//! * [`money_by_kept`]: the same with ideas by runs that were kept, and no others;
//! * [`money_by_ranking`]: the same with ideas by a ranking that was kept;
//! * [`of`]: the same for a checked book, where coils, a run or the ideas' gains
//!   are known already;
//! * [`CarWorth`]: only what one more car brings;
//! * [`CarMoney`]: the answer, which serialises as it is;
//! * [`returns`]: all rates of return of a stream of money, with what to mind.
//!
//! Yearly costs are spread over the plan's good cars. A price that the book does
//! not give is told as [`Missing`], never guessed: the figure is too low then,
//! and says so.

mod cases;
mod hours;
mod lost;
mod made;
mod make_buy;
mod missing;
mod model;
mod needs;
mod pieces;
mod stack;
#[cfg(test)]
mod tests;
mod worth;
mod yearly;

use std::collections::BTreeMap;

use book::raw::Workbook;
use book::{Book, Problem, Severity};
use formulas::{Origin, Sourced};
use shops::carts::ShopFigure;
use shops::coil::{Coil, NoPlan, Shelf, Watch};
use units::{Hours as HoursOf, PerWeek};

use crate::findings::{self, Answer, NoAnswer, RunSettings};
use crate::improve::{Improve, ImproveSettings, Memory};
use crate::plan::sheet::Sheet;
use crate::plan::{self, RatePlan};
use crate::requirement::{Requirement, requirement};
use crate::work;

pub use cases::{Gain, Span, gains_by_plan, gains_by_ranking, gains_by_run, returns};
pub use model::{
    BetterWay, CarMoney, Case, CostItem, CostKind, Exclusive, Freed, HourPrices, KindCost, LostCar,
    LostMinute, MakeOrBuy, MetalBridge, Missing, NotCompared, ProductCost, Returns, RobotHour,
    ShopCost, Spare,
};

pub use worth::CarWorth;
pub(crate) use worth::{Weights, weights};

use missing::Lacking;

/// What belongs to no shop.
pub(crate) const PLANT: &str = "whole plant";

/// What money is computed from.
#[derive(Clone, Copy, Debug)]
pub struct Known<'a> {
    /// The checked book.
    pub book: &'a Book,
    /// The coil plan; else why there is none.
    pub metal: Result<&'a Coil, &'a str>,
    /// A run of the plant, where there is one.
    pub run: Option<&'a Answer>,
    /// Cars a week that ideas give; one that is not named gives none.
    pub gains: &'a [Gain],
}

/// The money of a book as text: lays its blanks, plans it, and where no run tells
/// what the ideas give tries each on the plan.
///
/// # Errors
/// The errors of the book or its plan, or that it was cancelled.
pub fn money(
    workbook: &Workbook,
    run: Option<(&Answer, &[Gain])>,
    shelf: &Shelf,
    watch: &Watch<'_>,
) -> Result<CarMoney, NoPlan> {
    added_up(
        workbook,
        run.map(|run| run.0),
        run.map(|run| run.1),
        shelf,
        watch,
    )
}

/// The same, where a run and what ideas give may each be known or not.
fn added_up(
    workbook: &Workbook,
    run: Option<&Answer>,
    gains: Option<&[Gain]>,
    shelf: &Shelf,
    watch: &Watch<'_>,
) -> Result<CarMoney, NoPlan> {
    let checked = book::check(workbook);
    if !checked.holds() {
        return Err(NoPlan::Problems(checked.problems));
    }
    let book = &checked.book;
    let coil = metal(book, shelf, watch)?;
    let planned;
    let gains = match gains {
        Some(gains) => gains,
        None => {
            planned = gains_by_plan(workbook, book).map_err(NoPlan::Problems)?;
            &planned
        }
    };
    of(&Known {
        book,
        metal: coil.as_ref().map_err(String::as_str),
        run,
        gains,
    })
    .map_err(NoPlan::Problems)
}

/// The coil plan; inside, why there is none.
fn metal(book: &Book, shelf: &Shelf, watch: &Watch<'_>) -> Result<Result<Coil, String>, NoPlan> {
    match crate::coil::coil(book, shelf, watch) {
        Ok(coil) => Ok(Ok(coil)),
        Err(NoPlan::Cancelled) => Err(NoPlan::Cancelled),
        Err(NoPlan::Problems(problems)) => Ok(Err(problems
            .iter()
            .find(|problem| problem.severity == Severity::Error)
            .map_or_else(
                || "no part is cut from coil".to_owned(),
                ToString::to_string,
            ))),
    }
}

/// How the plant is run for what lost minutes cost and ideas give: as for its
/// answer, so that both say the same of how many cars it makes.
pub const RUNS: RunSettings = RunSettings {
    trials: 0,
    ..RunSettings::USUAL
};

/// The same with runs of the plant: one as it is for where lost minutes cost cars,
/// and the ranking of its ideas ([`crate::improve::improve`]) for what each gives.
/// What `memory` holds of that ranking is not run again.
///
/// # Errors
/// [`NoAnswer`]: the errors of the book, its plan or an idea, settings that make no
/// run, or that it was cancelled.
pub fn money_by_runs(
    workbook: &Workbook,
    settings: &RunSettings,
    shelf: &Shelf,
    memory: &Memory,
    watch: &flow::Watch,
) -> Result<CarMoney, NoAnswer> {
    let checked = book::check(workbook);
    if !checked.holds() {
        return Err(NoAnswer::Problems(checked.problems));
    }
    let settings = RunSettings {
        trials: 0,
        ..*settings
    };
    let ranking = ImproveSettings {
        seed: settings.seed,
        ..ImproveSettings::USUAL
    };
    let gains = gains_by_run(workbook, &ranking, memory, watch)?;
    let base = findings::find(&checked.book, &settings, watch)?;
    laid(workbook, Some(&base), &gains, shelf, watch)
}

/// The same without runs of its own: what ideas give is told by the ranking of
/// `settings` ([`crate::improve::improve`]) whose runs `memory` holds, and lost
/// minutes by the plan's weakest station. None where the ranking needs a run that is
/// not kept.
///
/// # Errors
/// [`NoAnswer`]: as of [`money_by_runs`].
pub fn money_by_kept(
    workbook: &Workbook,
    settings: &ImproveSettings,
    shelf: &Shelf,
    memory: &Memory,
    watch: &flow::Watch,
) -> Result<Option<CarMoney>, NoAnswer> {
    let checked = book::check(workbook);
    if !checked.holds() {
        return Err(NoAnswer::Problems(checked.problems));
    }
    let stopped = || watch.cancel.load(std::sync::atomic::Ordering::Relaxed);
    let gains = match gains_by_run(workbook, settings, memory, watch) {
        Err(NoAnswer::Cancelled) if !stopped() => return Ok(None),
        gains => gains?,
    };
    laid(workbook, None, &gains, shelf, watch).map(Some)
}

/// The same without runs of its own: what ideas give is told by a ranking of this very
/// book that was found before, and lost minutes by the plan's weakest station.
///
/// # Errors
/// [`NoAnswer`]: as of [`money_by_runs`], and that the ranking was cut short.
pub fn money_by_ranking(
    workbook: &Workbook,
    found: &Improve,
    shelf: &Shelf,
    watch: &flow::Watch,
) -> Result<CarMoney, NoAnswer> {
    if found.stopped {
        return Err(NoAnswer::Settings(
            "the ranking of ideas was cut short; let it come to its end first".to_owned(),
        ));
    }
    let checked = book::check(workbook);
    if !checked.holds() {
        return Err(NoAnswer::Problems(checked.problems));
    }
    let gains = gains_by_ranking(found, &checked.book)?;
    laid(workbook, None, &gains, shelf, watch)
}

/// The money where ideas are known by runs, metal laid on its coils.
fn laid(
    workbook: &Workbook,
    run: Option<&Answer>,
    gains: &[Gain],
    shelf: &Shelf,
    watch: &flow::Watch,
) -> Result<CarMoney, NoAnswer> {
    let laying = Watch {
        cancel: watch.cancel,
        progress: &|_| {},
    };
    added_up(workbook, run, Some(gains), shelf, &laying).map_err(|why| match why {
        NoPlan::Problems(problems) => NoAnswer::Problems(problems),
        NoPlan::Cancelled => NoAnswer::Cancelled,
    })
}

/// The money of a checked book.
///
/// # Errors
/// All problems at once: those of the plan, and values that a formula refuses.
pub fn of(known: &Known<'_>) -> Result<CarMoney, Vec<Problem>> {
    begun(known, |sheet, basis, pieces, machines| {
        let stack = stack::build(sheet, basis, pieces, machines)?;
        let at_made = known
            .run
            .and_then(|run| stack::at_made(sheet, basis, &stack, run));
        let lost = lost::lost(sheet, basis, &stack, known.run);
        let margin = lost.as_ref().map(|lost| lost.at_constraint.clone());
        let hours = hours::hours(sheet, basis);
        let compared = make_buy::compare(sheet, basis, pieces, machines, margin.as_ref());
        let cases = cases::cases(sheet, basis, known.gains, margin.as_ref());
        let exclusive = cases::exclusive(sheet, basis, &cases);
        let notes = sheet.notes();
        let figures = basis.with_borrowed(std::mem::take(sheet).finish()?);
        let missing = std::mem::take(&mut basis.lacking).finish();
        Ok(CarMoney {
            plant: basis.plan.plant.clone(),
            currency: known.book.plant.currency.value.clone(),
            cars: basis.need.cars(),
            total: stack.total,
            variable: stack.variable,
            made: known.run.map(|run| run.made),
            at_made,
            complete: missing.is_empty(),
            missing,
            shops: stack.shops,
            kinds: stack.kinds,
            metal: pieces::bridge(basis, pieces),
            products: stack.products,
            lost,
            hours,
            make_or_buy: compared.both,
            not_compared: compared.one_way,
            gains_by_run: known.gains.iter().any(|gain| gain.half_width.is_some()),
            cases,
            exclusive,
            notes,
            figures,
        })
    })
}

/// Plans the book, prices its pieces and machines, and goes on from there.
fn begun<T>(
    known: &Known<'_>,
    go_on: impl FnOnce(
        &mut Sheet,
        &mut Basis<'_>,
        &[pieces::Piece],
        &[yearly::Machine],
    ) -> Result<T, Vec<Problem>>,
) -> Result<T, Vec<Problem>> {
    let plan = plan::plan(known.book)?;
    let worked = work::of(known.book)?;
    let need = requirement(&worked.book)?;
    let cars = need.cars();
    let mut basis = Basis {
        book: &worked.book,
        plan: &plan,
        metal: known.metal.ok(),
        no_metal: format!(
            "the cost of metal is left out, since the coils are not planned: {}",
            known.metal.err().unwrap_or_default()
        ),
        mix: need.products.iter().map(|one| one.cars / cars).collect(),
        need: &need,
        lacking: Lacking::default(),
        borrowed: BTreeMap::new(),
    };
    let mut sheet = Sheet::default();
    let pieces = pieces::all(&mut sheet, &mut basis);
    let machines = yearly::machines(&mut basis);
    go_on(&mut sheet, &mut basis, &pieces, &machines)
}

/// What all parts of the money read, and what they find lacking.
struct Basis<'a> {
    book: &'a Book,
    plan: &'a RatePlan,
    need: &'a Requirement,
    metal: Option<&'a Coil>,
    no_metal: String,
    /// Each product's part of all cars.
    mix: Vec<f64>,
    lacking: Lacking,
    /// Figures of the coil plan that ours point to.
    borrowed: BTreeMap<String, ShopFigure>,
}

impl Basis<'_> {
    fn station(&self, name: &str) -> Option<usize> {
        let mut rows = self.book.stations.iter();
        rows.position(|row| row.station == name)
    }

    /// The shop of a station; the plant as a whole for none.
    fn shop_of(&self, station: Option<&str>) -> String {
        station
            .and_then(|name| self.station(name))
            .map_or_else(|| PLANT.to_owned(), |i| self.book.stations[i].shop.clone())
    }

    /// Working hours of a shop a week.
    fn hours(&self, shop: &str) -> Sourced<HoursOf> {
        let planned = self.plan.shops.iter().find(|row| row.shop == shop);
        planned.map_or_else(
            || Sourced::usual(crate::calendar::WEEK.hours(), "shifts", "shop"),
            |row| Sourced::new(HoursOf(row.net_time_h.value), row.net_time_h.from.clone()),
        )
    }

    fn load_of(&self, place: yearly::Place) -> Origin {
        match place {
            yearly::Place::Station(i) => self.plan.stations[i].load.from.clone(),
            yearly::Place::Line(i) => self.plan.press_lines[i].load.from.clone(),
        }
    }

    fn cars_a_week(&self) -> Sourced<PerWeek> {
        let rows = self.book.products.iter();
        let cells = rows.map(|row| {
            let (table, row) = (row.at.table.name().to_owned(), row.at.row as usize);
            let column = "cars_per_week".to_owned();
            Origin::Cell { table, row, column }
        });
        Sourced::new(PerWeek(self.need.cars()), Origin::Several(cells.collect()))
    }

    /// Whether a car of each product passes a shop; a shop without stations
    /// serves all.
    fn passes(&self, shop: &str) -> Vec<bool> {
        let rows = self.book.stations.iter().enumerate();
        let here: Vec<usize> = rows
            .filter(|(_, row)| row.shop == shop)
            .map(|(i, _)| i)
            .collect();
        let products = self.need.products.iter();
        products
            .map(|need| here.is_empty() || here.iter().any(|&i| need.per_car.visits[i] > 0.0))
            .collect()
    }

    /// Takes over a figure of the coil plan.
    fn of_coil(&mut self, coil: &Coil, id: &str) {
        let mut open = vec![id.to_owned()];
        while let Some(id) = open.pop() {
            let Some(figure) = coil.figures.get(&id) else {
                continue;
            };
            if self.borrowed.contains_key(&id) {
                continue;
            }
            let inputs = figure.working.inputs.iter();
            inputs
                .filter_map(|term| term.from.as_ref())
                .for_each(|from| named(from, &mut open));
            self.borrowed.insert(id, figure.clone());
        }
    }

    /// The figures with those of plan and coils that their workings point to.
    fn with_borrowed(&self, own: BTreeMap<String, plan::Figure>) -> BTreeMap<String, ShopFigure> {
        let mut open = Vec::new();
        let mut all = BTreeMap::new();
        let mut take = |figure: plan::Figure, open: &mut Vec<String>| {
            let inputs = figure.working.inputs.iter();
            inputs
                .filter_map(|term| term.from.as_ref())
                .for_each(|from| named(from, open));
            all.insert(figure.id.clone(), shop_figure(figure));
            all.len()
        };
        let known: Vec<String> = own.keys().cloned().collect();
        for figure in own.into_values() {
            take(figure, &mut open);
        }
        let mut seen: std::collections::BTreeSet<String> = known.into_iter().collect();
        while let Some(id) = open.pop() {
            if !seen.insert(id.clone()) {
                continue;
            }
            if let Some(figure) = self.plan.figures.get(&id) {
                take(figure.clone(), &mut open);
            }
        }
        for (id, figure) in &self.borrowed {
            all.entry(id.clone()).or_insert_with(|| figure.clone());
        }
        all
    }
}

fn shop_figure(figure: plan::Figure) -> ShopFigure {
    ShopFigure {
        id: figure.id,
        title: figure.title,
        value: figure.value,
        unit: figure.unit,
        working: figure.working,
    }
}

/// The figures that an origin names.
fn named(from: &Origin, into: &mut Vec<String>) {
    match from {
        Origin::Figure(id) => into.push(id.clone()),
        Origin::Several(origins) => origins.iter().for_each(|origin| named(origin, into)),
        Origin::Given | Origin::Cell { .. } | Origin::Usual { .. } => {}
    }
}
