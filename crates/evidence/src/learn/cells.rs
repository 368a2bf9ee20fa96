//! Which cells of the book a log can speak of.

use std::collections::BTreeMap;

use book::{At, Book};
use flow::model::{Stop, Work};
use units::Quantity as _;
use whole::network::Built;

use super::is_line;
use crate::roster::OWN_STOP;

/// What a cell says.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum What {
    /// A cycle: which of the network's.
    Cycle(u16),
    /// The one cycle of a station whose tasks make it.
    TaskCycle,
    /// The coefficient of variation of its cycles.
    Spread,
    /// Time between stops of a cause, by its position.
    Mtbf(usize),
    /// Time to repair.
    Mttr(usize),
    /// How many joints lie between two stops of this cause that joints make.
    JointsBetween(&'static str),
    /// How long such a stop takes.
    JointStop(&'static str),
    /// Part of the jobs right at the first try.
    FirstTimeOk,
    /// Part of the jobs lost.
    Scrap,
    /// Time to change; the first piece off the new tool takes this on top.
    Change {
        /// Minutes.
        first_off_min: f64,
    },
}

/// A cell of the book.
#[derive(Clone, Debug, PartialEq)]
pub struct BookCell {
    /// Its row.
    pub at: At,
    /// Its column.
    pub column: &'static str,
    /// The station or line.
    pub station: String,
    /// The cause, where it is of one.
    pub cause: Option<String>,
    /// Its value, in the column's unit.
    pub book: Option<f64>,
    /// What it says.
    pub what: What,
    /// Stations of the network that it holds for.
    pub places: Vec<usize>,
}

/// Every cell that a log can speak of, in the order of the network; figures of
/// joints last.
pub fn cells(book: &Book, built: &Built) -> Vec<BookCell> {
    let mut cells: Vec<BookCell> = Vec::new();
    let stations: BTreeMap<u32, &book::Station> =
        book.stations.iter().map(|row| (row.at.row, row)).collect();
    for (place, origin) in built.stations.iter().enumerate() {
        if is_line(origin.at.table) {
            // Like lines of one row share its cells.
            let known = cells.iter().position(|cell| cell.at == origin.at);
            if known.is_some() {
                let same = cells.iter_mut().filter(|cell| cell.at == origin.at);
                same.for_each(|cell| cell.places.push(place));
                continue;
            }
            of_line(book, built, place, &mut cells);
        } else if let Some(row) = stations.get(&origin.at.row) {
            of_station(book, built, row, place, &mut cells);
        }
    }
    cells.extend(super::joints::joint_figures(book, built));
    cells
}

fn of_station(
    book: &Book,
    built: &Built,
    row: &book::Station,
    place: usize,
    cells: &mut Vec<BookCell>,
) {
    let blank = |column, what, value| BookCell {
        at: row.at,
        column,
        station: row.station.clone(),
        cause: None,
        book: value,
        what,
        places: vec![place],
    };
    let station = &built.network.stations[place];
    of_cycles(book, row, &station.work, &blank, cells);
    for (slot, stop) in station.stops.iter().enumerate() {
        let mut rows = book.stops.iter();
        let is_of = |cause: &&book::Stop| cause.station == row.station && cause.cause == stop.cause;
        let (at, cause) = match rows.find(is_of) {
            _ if stop.cause == OWN_STOP => (row.at, None),
            Some(further) => (further.at, Some(further.cause.clone())),
            // The care of tools follows from the joints: no cell of its own.
            None => continue,
        };
        for (column, what, seconds) in times(stop, slot) {
            cells.push(BookCell {
                at,
                cause: cause.clone(),
                ..blank(column, what, Some(seconds / 60.0))
            });
        }
    }
    let quality = &station.quality;
    cells.push(blank(
        "first_time_ok",
        What::FirstTimeOk,
        Some(quality.first_time_ok),
    ));
    // Without a way to rework and with a scrap of its own, the two cannot be
    // told apart.
    let apart = quality.rework.is_some() || quality.first_time_ok >= 1.0;
    if quality.scrap > 0.0 && apart && quality.attempts.is_none() {
        cells.push(blank("scrap", What::Scrap, Some(quality.scrap)));
    }
}

/// Its cycles, one for each that differs, and how much they vary.
fn of_cycles(
    book: &Book,
    row: &book::Station,
    work: &Work,
    blank: &impl Fn(&'static str, What, Option<f64>) -> BookCell,
    cells: &mut Vec<BookCell>,
) {
    let Work::Cycle(cycles) = work else {
        return;
    };
    for (kind, cycle) in (0..).zip(&cycles.distributions) {
        let mean = cycle.mean();
        let same = |seconds: f64| (seconds - mean).abs() < 1e-9;
        let exception = book
            .cycles
            .iter()
            .find(|cycle| cycle.station == row.station && same(cycle.cycle_s.get()));
        let own = row.cycle_s.filter(|own| same(own.get()));
        let at = match (own, exception) {
            (Some(_), _) => row.at,
            (None, Some(cycle)) => cycle.at,
            (None, None) if cycles.distributions.len() == 1 && mean > 0.0 => {
                cells.push(blank("cycle_s", What::TaskCycle, Some(mean)));
                continue;
            }
            // Its tasks make several: there is no one cell for them.
            (None, None) => continue,
        };
        cells.push(BookCell {
            at,
            ..blank("cycle_s", What::Cycle(kind), Some(mean))
        });
    }
    if cycles.distributions.iter().any(|cycle| cycle.mean() > 0.0) {
        cells.push(blank("spread", What::Spread, Some(row.spread)));
    }
}

fn of_line(book: &Book, built: &Built, place: usize, cells: &mut Vec<BookCell>) {
    let at = built.stations[place].at;
    let Some(row) = book.press_lines.iter().find(|row| row.at == at) else {
        return;
    };
    let blank = |column, what, value| BookCell {
        at,
        column,
        station: row.press_line.clone(),
        cause: None,
        book: Some(value),
        what,
        places: vec![place],
    };
    for (slot, stop) in built.network.stations[place].stops.iter().enumerate() {
        for (column, what, seconds) in times(stop, slot) {
            cells.push(blank(column, what, seconds / 60.0));
        }
    }
    let first_off_min = row.first_off_min.get();
    let change = What::Change { first_off_min };
    cells.push(blank("change_min", change, row.change_min.get()));
}

fn times(stop: &Stop, slot: usize) -> [(&'static str, What, f64); 2] {
    [
        ("mtbf_min", What::Mtbf(slot), stop.between.mean()),
        ("mttr_min", What::Mttr(slot), stop.repair.mean()),
    ]
}
