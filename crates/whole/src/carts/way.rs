//! What lies on a fleet's loop, from the book and its requirement.
//!
//! On the way from `taken_at` to `returned_at` every station holds a carrier
//! for each of its units, at the pace of the line; moves and rework hold what
//! travels meanwhile. Full buffers hold more; the run shows them.

use std::collections::BTreeMap;

use book::{Book, Carrier, Gives};
use formulas::Sourced;
use shops::carts::LoopNeed;
use units::{Count, Minutes, Seconds};

use crate::requirement::Requirement;

/// The loops that jobs come to, in the book's order. `net` gives a shop's
/// working time a week.
pub(crate) fn needs(
    book: &Book,
    need: &Requirement,
    net: &dyn Fn(&str) -> Option<Sourced<Minutes>>,
) -> Vec<LoopNeed> {
    let index: BTreeMap<&str, usize> = (0..book.stations.len())
        .map(|i| (book.stations[i].station.as_str(), i))
        .collect();
    let one = |(carrier, row): (usize, &Carrier)| {
        let from = *index.get(row.taken_at.as_str())?;
        let to = *index.get(row.returned_at.as_str())?;
        let jobs = need.fresh(from);
        if jobs <= 0.0 {
            return None;
        }
        let way = Way::of(book, &index, from, to);
        Some(LoopNeed {
            carrier,
            jobs: Sourced::figure(Count(jobs), format!("station.{}.jobs", row.taken_at)),
            net: net(&book.stations[from].shop)?,
            stations: way.stations(book),
            moves: way.moves(book, need, jobs),
        })
    };
    book.carriers.iter().enumerate().filter_map(one).collect()
}

/// What lies between the two ends of a loop.
struct Way {
    /// Stations on a way without rework.
    main: Vec<usize>,
    /// Stations that only rework comes to.
    side: Vec<usize>,
}

impl Way {
    fn of(book: &Book, index: &BTreeMap<&str, usize>, from: usize, to: usize) -> Self {
        let main = between(book, index, (from, to), false);
        let all = between(book, index, (from, to), true);
        let side = all
            .into_iter()
            .filter(|station| !main.contains(station))
            .collect();
        Self { main, side }
    }

    /// Units of the stations on the way.
    fn stations(&self, book: &Book) -> Sourced<Count> {
        let rows = self.main.iter().map(|&i| &book.stations[i]);
        let units: Vec<Sourced<f64>> = rows
            .map(|row| cell(f64::from(row.units), row.at, "units"))
            .collect();
        Sourced::<Vec<f64>>::from(units).map(|units| Count(units.iter().sum()))
    }

    /// Mean time a carrier is on the move between stations or in rework.
    fn moves(&self, book: &Book, need: &Requirement, jobs: f64) -> Sourced<Seconds> {
        let inside = |name: &str| {
            let named = |&&i: &&usize| book.stations[i].station == name;
            self.main.iter().chain(&self.side).find(named).is_some()
        };
        let mut parts: Vec<Sourced<f64>> = Vec::new();
        for (l, link) in book.links.iter().enumerate() {
            if link.move_s.0 > 0.0 && inside(&link.from) && inside(&link.to) {
                let share = need.over_link(l) / jobs;
                parts.push(cell(link.move_s.0 * share, link.at, "move_s"));
            }
        }
        for &i in &self.side {
            let station = &book.stations[i];
            let share = need.visits(i) / jobs;
            parts.push(cell(station.cycle().0 * share, station.at, "cycle_s"));
        }
        Sourced::<Vec<f64>>::from(parts).map(|parts| Seconds(parts.iter().sum()))
    }
}

/// Units of the stations that a car passes from where a line is split off to
/// where it comes back, beyond those of the line, which ends at `last`; 0 where
/// the line is split off nothing.
pub(super) fn ahead(book: &Book, last: &str, merge: &str) -> Sourced<Count> {
    let index: BTreeMap<&str, usize> = (0..book.stations.len())
        .map(|i| (book.stations[i].station.as_str(), i))
        .collect();
    let none = || Sourced::from(Count(0.0));
    let Some((&end, &to)) = index.get(last).zip(index.get(merge)) else {
        return none();
    };
    let splits = |i: &usize| book.stations[*i].gives == Gives::OneToEach;
    let Some((from, own)) = (0..book.stations.len())
        .filter(splits)
        .map(|from| (from, between(book, &index, (from, end), false)))
        .filter(|(_, own)| !own.is_empty())
        .min_by_key(|(_, own)| own.len())
    else {
        return none();
    };
    let all = between(book, &index, (from, to), false);
    let main = all.iter().filter(|i| **i != to && !own.contains(i));
    let units = |i: &usize| {
        let row = &book.stations[*i];
        cell(f64::from(row.units), row.at, "units")
    };
    let of_line = own.iter().filter(|i| **i != from);
    let taken: f64 = of_line.map(|i| f64::from(book.stations[*i].units)).sum();
    let cars: Vec<Sourced<f64>> = main.map(units).collect();
    Sourced::<Vec<f64>>::from(cars).map(|cars| Count((cars.iter().sum::<f64>() - taken).max(0.0)))
}

/// Stations on a way between two, both included, with or without rework.
fn between(
    book: &Book,
    index: &BTreeMap<&str, usize>,
    (from, to): (usize, usize),
    rework: bool,
) -> Vec<usize> {
    let find = |name: &str| index.get(name).copied();
    let ways: Vec<(usize, usize)> = book
        .links
        .iter()
        .filter_map(|link| Some((find(&link.from)?, find(&link.to)?)))
        .filter(|&(a, b)| {
            rework || book.stations[a].rework_to.as_ref() != Some(&book.stations[b].station)
        })
        .collect();
    let ahead = reach(book.stations.len(), from, Some(to), &ways);
    let turned: Vec<(usize, usize)> = ways.iter().map(|&(a, b)| (b, a)).collect();
    let behind = reach(book.stations.len(), to, Some(from), &turned);
    (0..book.stations.len())
        .filter(|&i| ahead[i] && behind[i])
        .collect()
}

/// Stations reached from one without going on beyond another.
fn reach(stations: usize, from: usize, stop: Option<usize>, ways: &[(usize, usize)]) -> Vec<bool> {
    let mut seen = vec![false; stations];
    let mut todo = vec![from];
    while let Some(at) = todo.pop() {
        if std::mem::replace(&mut seen[at], true) || Some(at) == stop {
            continue;
        }
        todo.extend(ways.iter().filter(|way| way.0 == at).map(|way| way.1));
    }
    seen
}

fn cell<T>(value: T, at: book::At, column: &str) -> Sourced<T> {
    Sourced::cell(value, at.table.name(), at.row as usize, column)
}
