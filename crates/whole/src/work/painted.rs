//! What stations of the paint shop have from the coats: first time OK at the
//! inspection, cycles and robots of those that name none.

use std::borrow::Cow;
use std::collections::BTreeSet;

use book::{Book, Coat, Problem};
use formulas::{Origin, Sourced};
use shops::paint::PaintStation;
use units::{Seconds, Share};

use super::{Made, Worked, cell};
use crate::requirement::Requirement;

/// The book whose inspection of paint is as good as its coats, where it does not
/// say.
pub(crate) fn inspected(book: &Book) -> Cow<'_, Book> {
    let open: Vec<(usize, f64)> = shops::paint::inspections(book)
        .into_iter()
        .filter_map(|(name, ok)| {
            let mut stations = book.stations.iter();
            let place = stations.position(|row| row.station == name)?;
            let row = &book.stations[place];
            // without a way to rework what is not OK would be scrap
            let open = row.first_time_ok.is_none() && row.rework_to.is_some();
            open.then_some((place, ok))
        })
        .collect();
    if open.is_empty() {
        return Cow::Borrowed(book);
    }
    let mut book = book.clone();
    for (place, ok) in open {
        book.stations[place].first_time_ok = Some(Share(ok));
    }
    Cow::Owned(book)
}

/// Takes cycles and robots of the stations on coats and repairs into the book.
///
/// # Errors
///
/// The problems of the paint shop.
pub(super) fn take(
    worked: &mut Worked<'_>,
    filled: &mut Book,
    open: &BTreeSet<&str>,
    need: &Requirement,
) -> Result<(), Vec<Problem>> {
    let on_coats = filled.coats.iter().flat_map(|coat| &coat.stations);
    let on_repairs = filled.repairs.iter().filter_map(|row| row.station.as_ref());
    let mut named = on_coats.chain(on_repairs);
    if !named.any(|name| open.contains(name.as_str())) {
        return Ok(());
    }
    let Some(plan) = crate::paint::of(filled, need, None)? else {
        return Ok(());
    };
    for station in &plan.stations {
        let name = station.station.as_str();
        if !open.contains(name) || worked.made.contains_key(name) {
            continue;
        }
        let made = made(filled, station);
        let row = filled.stations.iter_mut().find(|row| row.station == name);
        let Some(row) = row.filter(|row| row.cycle_s.is_none()) else {
            continue;
        };
        row.cycle_s = Some(Seconds(station.cycle_s.value));
        if row.robots == 0 {
            row.robots = station.robots.unwrap_or(0);
        }
        worked.made.insert(name.to_owned(), made);
    }
    Ok(())
}

/// The station's time, with the cells that make it.
fn made(book: &Book, station: &PaintStation) -> Made {
    let mut cells: Vec<Origin> = Vec::new();
    for row in &book.coats {
        if row.stations.contains(&station.station) {
            cells.extend(cells_of(row));
        }
    }
    for row in &book.repairs {
        if row.station.as_ref() == Some(&station.station) {
            cells.push(cell((), row.at, "time_min").from);
        }
    }
    Made {
        posts: vec![Sourced::new(
            Seconds(station.cycle_s.value),
            Origin::Several(cells),
        )],
        waits: Seconds(0.0),
        tasks: vec![station.step.clone()],
        people: false,
        cells: Vec::new(),
    }
}

/// The cells of a step that make its stations' time.
fn cells_of(row: &Coat) -> impl Iterator<Item = Origin> {
    let given = [
        ("process_s", true),
        ("pitch_m", row.pitch_m.is_some()),
        ("speed_m_min", row.speed_m_min.is_some()),
        ("film_um", row.film_um.is_some()),
        ("wet_l", row.wet_l.is_some()),
        ("flow_ml_min", row.flow_ml_min.is_some()),
    ];
    let at = row.at;
    let given = given.into_iter().filter(|(_, given)| *given);
    given.map(move |(column, _)| cell((), at, column).from)
}
