//! The paint shop: conveyors and ovens, films and robots, colours, repairs, the
//! heat that a body gets, the store behind paint, solvent to the air.
//!
//! [`paint`] takes the book, the working time of the shop and the good bodies
//! that a week needs of it, and makes a [`Paint`]. Inspection and repairs are an
//! absorbing chain; it says how often a body passes each step, and with that how
//! fast each conveyor has to run. From the speed follow lengths, from the times
//! at metal temperature the stops that an oven bears; from films the litres, and
//! from those the applicators, a robot each, which the stations must have room
//! for. Nothing is searched: the plan is there at once.
//!
//! *Never:* a requirement of its own, the flow.

mod air;
mod colour;
mod film;
mod heat;
mod line;
mod model;
mod repair;
mod stations;
mod store;

use book::{At, Book, Coat, CoatKind, Problem, Severity};
use formulas::{Sourced, calendar};
use units::{Count, Hours, Minutes};

use crate::sheet::Sheet;

pub use crate::sheet::{ShopFigure, ShopValue};
pub use model::{
    Applicators, BakeWindow, BlockPoint, CoatAge, CoatFilm, ColourShare, Colours, HeatSum, Paint,
    PaintStation, PaintStep, RepairHeat, RepairLoad, RepairWayLoad, Solvent, SolventFrom, StopIn,
    StoreFor, StoreSize,
};

const CAUTIONS: [&str; 4] = [
    "Spray booths, mixing rooms and solvent stores are explosive zones: rated equipment, earthing, \
     airflow that locks the applicators, and no ignition source. Zoning and permits follow local \
     codes and a licensed engineer.",
    "Two-part clear coats and primers hold isocyanates, which can make people ill for life: \
     supplied-air masks, closed skin, health checks, and no entry while the mist stands.",
    "Ovens collect solvent vapour and burn fuel: purge before lighting, exhaust and burner \
     interlocks, explosion relief, and a plan for a full oven whose conveyor stands.",
    "Pretreatment holds acids, caustics and fluorides; limits for solvent and waste water are set \
     by local codes. The figures here are for planning; what is built is measured and approved on \
     site.",
];

/// What the plan is asked for.
#[derive(Clone, Debug)]
pub struct Question<'a> {
    /// The plant book, checked.
    pub book: &'a Book,
    /// The shop.
    pub shop: &'a str,
    /// Its working time a week.
    pub net: Sourced<Minutes>,
    /// Good bodies that leave it a week.
    pub bodies: Sourced<Count>,
    /// The longest time in which it is shut.
    pub shut: Hours,
}

/// The shop that the book's coats are of: that of the first row with one, else
/// the plant's `paint_shop`; none without coats.
#[must_use]
pub fn shop_of(book: &Book) -> Option<&str> {
    book.coats.first()?;
    let named = book.coats.iter().find_map(|row| row.shop.as_deref());
    Some(named.unwrap_or(&book.plant.paint_shop.value))
}

/// A shop's steps in the order of the line, each with its kind.
fn steps<'a>(book: &'a Book, shop: &str) -> Vec<Step<'a>> {
    let own = |row: &&Coat| row.shop.as_deref().is_none_or(|named| named == shop);
    let mut steps: Vec<Step<'a>> = book
        .coats
        .iter()
        .filter(own)
        .map(|row| Step {
            row,
            kind: kind(row),
        })
        .collect();
    steps.sort_by_key(|step| step.row.step);
    steps
}

/// A step of the line.
#[derive(Clone, Copy, Debug)]
struct Step<'a> {
    row: &'a Coat,
    kind: CoatKind,
}

/// From this temperature on a step is an oven unless it says what it is.
const OVEN_C: f64 = 100.0;

fn kind(row: &Coat) -> CoatKind {
    let hot = row.temperature_c.is_some_and(|at| at >= OVEN_C);
    row.kind.unwrap_or(match row.film_um {
        Some(_) => CoatKind::Spray,
        None if hot => CoatKind::Oven,
        None => CoatKind::Work,
    })
}

/// The stations of inspections that leave `first_time_ok` to the coats, each
/// with what the coats before it make.
#[must_use]
pub fn inspections(book: &Book) -> Vec<(&str, f64)> {
    let Some(shop) = shop_of(book) else {
        return Vec::new();
    };
    let mut ok = 1.0;
    let mut found = Vec::new();
    for step in steps(book, shop) {
        ok *= step.row.ok_share.0;
        if step.kind == CoatKind::Inspect {
            found.extend(step.row.stations.iter().map(|name| (name.as_str(), ok)));
            break;
        }
    }
    found
}

/// Plans the paint shop. An oven too short for its window, a conveyor too slow
/// and the like are no error: they stand under [`Paint::broken`].
///
/// # Errors
///
/// All problems at once, each with its row: no body to paint, or a value that
/// its formula refuses.
pub fn paint(question: &Question<'_>) -> Result<Paint, Vec<Problem>> {
    let steps = steps(question.book, question.shop);
    let mut work = Work {
        question,
        steps: &steps,
        sheet: Sheet::default(),
        broken: Vec::new(),
        notes: other_shops(question),
    };
    let plan = work.plan();
    match plan {
        Some(plan) if work.sheet.problems.is_empty() => Ok(plan),
        _ => Err(work.sheet.problems),
    }
}

/// The plan in the making.
struct Work<'a> {
    question: &'a Question<'a>,
    steps: &'a [Step<'a>],
    sheet: Sheet,
    broken: Vec<Problem>,
    notes: Vec<Problem>,
}

impl Work<'_> {
    fn plan(&mut self) -> Option<Paint> {
        let question = self.question;
        let first = self.steps.first()?.row.at;
        let takt = self.sheet.add(
            "paint.takt",
            "time from good body to good body",
            first,
            calendar::takt(&question.net, &question.bodies),
        )?;
        let chain = self.chain()?;
        let mut steps = self.line(&chain)?;
        let colours = self.colours(&steps);
        self.films(&mut steps);
        let stations = self.stations(&steps, colours.as_ref());
        let repairs = self.repairs(&chain, &steps);
        let heat = self.heat(&steps);
        let store = self.store(colours.as_ref(), &repairs, &takt);
        let solvent = self.solvent(&steps, colours.as_ref());
        self.ages(&mut steps);
        let book = question.book;
        Some(Paint {
            plant: book.plant.name.value.clone(),
            currency: book.plant.currency.value.clone(),
            shop: question.shop.to_owned(),
            holds: self.broken.is_empty(),
            bodies: question.bodies.value.0,
            net_h: question.net.value.0 / 60.0,
            takt_s: takt.value(|takt| takt.0),
            length_m: steps.iter().map(|step| step.length_m).sum(),
            hours: steps.iter().map(|step| step.dwell_min).sum::<f64>() / 60.0,
            robots: robots(&stations),
            material_cost: material_cost(&steps),
            steps,
            stations,
            colours,
            repairs,
            heat,
            store,
            solvent,
            broken: std::mem::take(&mut self.broken),
            notes: std::mem::take(&mut self.notes),
            cautions: CAUTIONS.map(str::to_owned).to_vec(),
            figures: std::mem::take(&mut self.sheet.figures),
        })
    }
}

/// Money for paint and sealer on a good body.
fn material_cost(steps: &[PaintStep]) -> f64 {
    let films = steps.iter().filter_map(|step| step.film.as_ref());
    films.map(|film| film.cost).sum()
}

/// Robots of all stations: of the applicators, or those that the book gives.
fn robots(stations: &[PaintStation]) -> u32 {
    let of = |row: &PaintStation| row.robots.unwrap_or(row.robots_given);
    stations.iter().map(of).sum()
}

/// Coats of other shops, which this plan leaves out.
fn other_shops(question: &Question<'_>) -> Vec<Problem> {
    let other = question.book.coats.iter().find(|row| {
        row.shop
            .as_deref()
            .is_some_and(|shop| shop != question.shop)
    });
    let note = |row: &Coat| {
        said(
            Severity::Note,
            (row.at, "other-shop", "shop"),
            format!("`{}`", row.shop.as_deref().unwrap_or_default()),
            format!("`{}`, the shop of the first coat", question.shop),
            "one shop paints; rows of another are in no figure",
        )
    };
    other.map(note).into_iter().collect()
}

/// A problem with all its words.
fn said(
    severity: Severity,
    (at, code, column): (At, &str, &str),
    found: impl Into<String>,
    expected: impl Into<String>,
    mend: impl Into<String>,
) -> Problem {
    Problem {
        severity,
        found: found.into(),
        expected: expected.into(),
        mend: mend.into(),
        ..crate::sheet::problem(code, at, Some(column))
    }
}

/// A number for a message: three significant digits or so.
fn told(value: f64) -> String {
    let digits = match value.abs() {
        of if of >= 100.0 => 0,
        of if of >= 10.0 => 1,
        _ => 2,
    };
    format!("{value:.digits$}")
}

#[cfg(test)]
mod tests;
