//! The coil shop: how blanks lie on their strips, which coil specifications to
//! hold, and what to order when.
//!
//! * [`plan`]: all of it, from a checked book and the blanks needed each week;
//! * [`problems`]: what keeps a book from being planned, without a search;
//! * [`Coil`]: the plan, which serialises as it is;
//! * [`Shelf`]: layouts kept from plan to plan.
//!
//! *Never:* a requirement of its own, a clock, a sentence for the screen beside
//! the reasons of its parts.

mod choose;
mod clients;
mod cutting;
mod drawing;
mod figures;
mod hold;
mod lay;
mod lost;
mod model;
mod orders;
mod parts;
mod price;
mod refused;
mod so_far;
mod supply;
mod wrong;

use std::collections::BTreeSet;
use std::sync::atomic::AtomicBool;

use book::{Book, Problem};
use strip::Request;

use clients::{Client, Share};
use cutting::Cutting;
use figures::Figures;
use lay::{Laid, Place, Stage, micrometres};
use parts::Shown;
use price::Spec;

pub use crate::follow::{Progress, Watch};
pub use crate::sheet::ShopFigure;
pub use lay::Shelf;
pub use model::*;
pub use refused::problems;

/// The blanks of a part that must be cut, week by week, scrap included.
#[derive(Clone, Debug, PartialEq)]
pub struct PartNeed {
    /// The part.
    pub part: String,
    /// Blanks in each week; all parts have the same weeks.
    pub blanks: Vec<f64>,
}

/// Why there is no plan.
#[derive(Clone, Debug, PartialEq)]
pub enum NoPlan {
    /// What is wrong with the book, all of it.
    Problems(Vec<Problem>),
    /// It was stopped.
    Cancelled,
}

/// Effort of a layout on a width that is only thought of.
const ROUGH: usize = 800;

/// Plans the coils of a checked book for the blanks needed each week.
///
/// Layouts found stay on the shelf; the next plan lays only what has changed. Once
/// every part lies on a coil the watch is told the cheapest way so far; cancelled
/// through it there is no plan.
///
/// # Errors
/// Everything wrong with the rows that coils are planned from, or that it was
/// cancelled; nothing is half planned.
pub fn plan(
    book: &Book,
    needs: &[PartNeed],
    shelf: &Shelf,
    watch: &Watch<'_>,
) -> Result<Coil, NoPlan> {
    let cut = cutting::read(book, needs).map_err(NoPlan::Problems)?;
    let mut specs: Vec<Spec<'_>> = book.coils.iter().map(Spec::of).collect();
    let held = specs.len();
    let mut laid = Laid::default();
    let mut way = None;
    let places = on_widths(&cut, &specs, true);
    let as_they_are = |laid: &Laid| so_far::as_they_are(&basis(book, &cut, laid, (&[], &specs)));
    let stage = |from, to| Stage {
        shelf,
        watch,
        from,
        to,
        find: &as_they_are,
    };
    laid.add(&cut, &places, Request::EFFORT, stage(0.0, 0.4), &mut way)?;
    let shown = Shown {
        book,
        cut: &cut,
        laid: &laid,
        specs: &specs,
    };
    let problems = parts::problems(&shown);
    if !problems.is_empty() {
        return Err(NoPlan::Problems(problems));
    }
    let clients = clients::clients(&cut, &laid, &specs);
    if book.plant.coil_width_step_mm.value.0 > 0.0 {
        let places = on_any_width(&cut).collect();
        laid.add(&cut, &places, ROUGH, stage(0.4, 0.5), &mut way)?;
    }
    let more = hold::thought_of(book, &cut, &laid, &specs);
    specs.extend(more);
    let mut places = on_widths(&cut, &specs[held..], false);
    let pairs = on_widths(&cut, &specs[held..], true);
    let paired = |place: &&Place| {
        place.mixed
            && clients
                .iter()
                .any(|c| c.parts.len() > 1 && c.parts[0] == place.cutting)
    };
    places.extend(pairs.iter().filter(paired));
    let chosen = |laid: &Laid| {
        let basis = basis(book, &cut, laid, (&clients, &specs));
        so_far::chosen(&basis, watch.cancel)
    };
    let stage = Stage {
        shelf,
        watch,
        from: 0.5,
        to: 1.0,
        find: &chosen,
    };
    laid.add(&cut, &places, ROUGH, stage, &mut way)?;
    whole(book, &cut, &laid, &clients, (&specs, held), watch.cancel)
}

/// The plan from what has been laid.
fn whole(
    book: &Book,
    cut: &[Cutting<'_>],
    laid: &Laid,
    clients: &[Client],
    (specs, held): (&[Spec<'_>], usize),
    cancel: &AtomicBool,
) -> Result<Coil, NoPlan> {
    let mut figures = Figures::default();
    let used: Vec<(usize, Share)> = clients
        .iter()
        .filter_map(|client| clients::best(cut, laid, client, &specs[..held]))
        .flat_map(|(spec, shares)| shares.into_iter().map(move |share| (spec, share)))
        .collect();
    let basis = basis(book, cut, laid, (clients, specs));
    let (holding, to_cut_from) = hold::choose(&mut figures, &basis, &used, cancel)?;
    let shown = Shown {
        book,
        cut,
        laid,
        specs: &specs[..held],
    };
    let parts = parts::all(&mut figures, &shown, clients, &used, &to_cut_from);
    let coils = supply::coils(&mut figures, &shown, &used);
    let orders = orders::plan(&mut figures, book, &supply::uses(book, cut, &used));
    let mut notes = supply::notes(book, &coils);
    notes.extend(parts::notes(&shown, clients));
    notes.extend(orders::notes(&orders));
    let most = orders
        .stored
        .iter()
        .copied()
        .fold(orders.stored_now, f64::max);
    Ok(Coil {
        plant: book.plant.name.value.clone(),
        currency: book.plant.currency.value.clone(),
        holds: orders.coils.iter().all(|coil| coil.runs_out.is_none())
            && most <= f64::from(orders.places),
        parts,
        metal: supply::metal(&shown, &used),
        coils,
        holding,
        orders,
        notes,
        figures: figures.finish().map_err(NoPlan::Problems)?,
    })
}

fn basis<'a, 'b>(
    book: &'a Book,
    cut: &'b [Cutting<'a>],
    laid: &'b Laid,
    (clients, specs): (&'b [Client], &'b [Spec<'a>]),
) -> hold::Basis<'a, 'b> {
    hold::Basis {
        book,
        cut,
        laid,
        clients,
        specs,
    }
}

/// Each part on each width of its sort that its line takes, alone or, where it
/// is asked for too, with the part it names.
fn on_widths(cut: &[Cutting<'_>], specs: &[Spec<'_>], pairs: bool) -> BTreeSet<Place> {
    let mut places = BTreeSet::new();
    for (i, cutting) in cut.iter().enumerate() {
        for spec in specs.iter().filter(|spec| spec.sort == cutting.sort()) {
            if !cutting.takes(spec.width_mm) {
                continue;
            }
            let place = |mixed| Place {
                cutting: i,
                width: Some(micrometres(spec.width_mm)),
                mixed,
            };
            places.insert(place(false));
            if pairs && cutting.part.strip_with.is_some() {
                places.insert(place(true));
            }
        }
    }
    places
}

fn on_any_width(cut: &[Cutting<'_>]) -> impl Iterator<Item = Place> {
    (0..cut.len()).map(|cutting| Place {
        cutting,
        width: None,
        mixed: false,
    })
}
