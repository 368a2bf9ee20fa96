//! First time right, planned: the share of the cars begun that pass every
//! station on their way right at the first try: sent to no rework, and not
//! scrapped.
//!
//! It is the rolled throughput yield of the quality trade, over the way of the
//! car itself: what is done again to a sub-assembly before it is joined counts
//! there. A station that only some cars pass counts for those. The run measures
//! the same share, see [`crate::findings::FirstTimeRight`].

use std::collections::BTreeSet;

use book::{Book, PartSource, Takes};
use formulas::{Origin, Sourced, cascade, kpi};
use units::{Count, Share};

use super::Basis;
use super::sheet::{Sheet, cell};
use crate::requirement::{Need, Requirement, outcome, requirement};

/// Stations named as the worst.
const WORST: usize = 3;

/// The figures `product.NAME.first_time_right` and `plant.first_time_right`.
pub(super) fn plan(sheet: &mut Sheet, basis: &Basis<'_>) {
    let Some(once) = all_right(basis.book) else {
        return;
    };
    let way = way_of_the_car(basis.book, basis.need);
    if once.cars() <= 0.0 {
        return;
    }
    let (mut cars, mut right) = (Vec::new(), Vec::new());
    for (row, need) in basis.book.products.iter().zip(&once.products) {
        let stations = steps(basis.book, &way, &need.per_car.visits);
        let worst = worst(basis.book, &stations);
        let mut shares: Vec<_> = stations.into_iter().map(|(_, share)| share).collect();
        if shares.is_empty() {
            let always = Sourced::usual(Share(1.0), "stations", "first_time_ok");
            shares.push(always);
        }
        let id = format!("product.{}.first_time_right", row.product);
        let title = format!("share of {} right at the first try{worst}", row.product);
        let made = cascade::rolled_yield(shares);
        let Some(made) = sheet.add(id, title, Some(row.at), made) else {
            return;
        };
        let of_week = cell(Count(row.cars_per_week.0), row.at, "cars_per_week");
        right.push(made.part(|share| Count(share.0 * of_week.value.0)));
        cars.push(of_week);
    }
    let worst = worst(basis.book, &steps(basis.book, &way, &visits(&once)));
    let title = format!("share of all cars right at the first try{worst}");
    let made = kpi::first_pass_yield(sum(right), sum(cars));
    sheet.add("plant.first_time_right", title, None, made);
}

/// What the run is held against.
pub(crate) struct Expected {
    /// First time right by product, in the book's order.
    pub(crate) products: Vec<f64>,
    /// The checks on the way of the car, by their row of `stations`, each with
    /// the share of all cars that it lets go on at once.
    pub(crate) checks: Vec<(usize, f64)>,
}

impl Expected {
    /// Of these cars, by product.
    pub(crate) fn of(&self, cars: &[f64]) -> Option<f64> {
        let all: f64 = cars.iter().sum();
        let right = self.products.iter().zip(cars);
        let right: f64 = right.map(|(share, cars)| share * cars).sum();
        (all > 0.0).then(|| right / all)
    }
}

/// What the cars of a book, as worked out for a run, are expected to do.
pub(crate) fn expected(book: &Book) -> Option<Expected> {
    let (once, need) = (all_right(book)?, requirement(book).ok()?);
    let way = way_of_the_car(book, &need);
    let shares = |visits: &[f64]| {
        let steps = steps(book, &way, visits).into_iter();
        steps.map(|(i, share)| (i, share.value.0)).collect()
    };
    let product = |need: &Need| -> f64 {
        let checks: Vec<(usize, f64)> = shares(&need.per_car.visits);
        checks.into_iter().map(|(_, share)| share).product()
    };
    (once.cars() > 0.0).then(|| Expected {
        products: once.products.iter().map(product).collect(),
        checks: shares(&visits(&once)),
    })
}

/// How often a car of the mix comes to each station.
fn visits(once: &Requirement) -> Vec<f64> {
    let stations = 0..once
        .products
        .first()
        .map_or(0, |need| need.per_car.visits.len());
    stations
        .map(|station| once.visits(station) / once.cars())
        .collect()
}

/// How often a car of the mix comes to each station on its first way; 0 for what
/// only failed cars come to.
pub(crate) fn first_visits(book: &Book) -> Option<Vec<f64>> {
    let once = all_right(book)?;
    (once.cars() > 0.0).then(|| visits(&once))
}

/// Cars of all products together.
fn sum(cars: Vec<Sourced<Count>>) -> Sourced<Count> {
    let all: Sourced<Vec<Count>> = cars.into();
    all.map(|cars| cars.into_iter().sum())
}

/// What the cars would ask if every job were right at once: how often a car
/// comes to each station on its first way.
fn all_right(book: &Book) -> Option<Requirement> {
    let mut book = book.clone();
    for row in &mut book.stations {
        row.first_time_ok = Some(Share(1.0));
        row.scrap = Share(0.0);
    }
    requirement(&book).ok()
}

/// For each station of the way that may send a car to rework or lose it, by its
/// position, the share of cars that it lets go on at once.
fn steps(book: &Book, way: &BTreeSet<usize>, visits: &[f64]) -> Vec<(usize, Sourced<Share>)> {
    let stations = way.iter().filter(|&&i| visits[i] > 0.0);
    let fallible = stations.filter_map(|&i| {
        let row = &book.stations[i];
        let (ok, _) = outcome(row);
        if ok >= 1.0 {
            return None;
        }
        // Of the cars that do not come here none is wrong; one that comes more
        // often must be right each time.
        let right = if visits[i] <= 1.0 {
            1.0 - visits[i] * (1.0 - ok)
        } else {
            libm::pow(ok, visits[i])
        };
        let of_cell = |column: &str| cell((), row.at, column).from;
        let from = match (row.first_time_ok, row.scrap.0 > 0.0) {
            (Some(_), true) => Origin::Several(vec![of_cell("first_time_ok"), of_cell("scrap")]),
            (Some(_), false) => of_cell("first_time_ok"),
            (None, true) => of_cell("scrap"),
            (None, false) => Origin::Given,
        };
        Some((i, Sourced::new(Share(right), from)))
    });
    fallible.collect()
}

/// The stations that let the fewest cars go on at once, in words.
fn worst(book: &Book, steps: &[(usize, Sourced<Share>)]) -> String {
    let mut worst: Vec<(usize, f64)> = steps
        .iter()
        .map(|(station, share)| (*station, share.value.0))
        .collect();
    worst.sort_by(|a, b| a.1.total_cmp(&b.1).then(a.0.cmp(&b.0)));
    let names = worst.iter().take(WORST).map(|(station, share)| {
        let name = &book.stations[*station].station;
        format!("{name} {:.1} %", share * 100.0)
    });
    let names: Vec<String> = names.collect();
    if names.is_empty() {
        String::new()
    } else {
        format!(", least at {}", names.join(", "))
    }
}

/// The stations that the car itself passes: back from where cars leave the
/// plant, at a merge by the link that brings the car, the first listed.
fn way_of_the_car(book: &Book, need: &Requirement) -> BTreeSet<usize> {
    let find = |name: &str| book.stations.iter().position(|row| row.station == name);
    let onward: Vec<(usize, usize)> = book
        .links
        .iter()
        .filter_map(|link| Some((find(&link.from)?, find(&link.to)?, &link.to)))
        .filter(|(from, _, to)| book.stations[*from].rework_to.as_ref() != Some(to))
        .map(|(from, to, _)| (from, to))
        .collect();
    let joins = |i: usize| {
        let row = &book.stations[i];
        let mut parts = book.parts.iter();
        row.takes != Takes::Any
            || parts.any(|part| {
                part.source == PartSource::Made && part.to.as_ref() == Some(&row.station)
            })
    };
    let mut todo: Vec<usize> = (0..book.stations.len())
        .filter(|&i| onward.iter().all(|(from, _)| *from != i))
        .collect();
    let mut way = BTreeSet::new();
    while let Some(at) = todo.pop() {
        if !way.insert(at) {
            continue;
        }
        let into = onward.iter().filter(|(_, to)| *to == at);
        let into = into.map(|(from, _)| *from);
        if !joins(at) {
            todo.extend(into);
        } else if need.released(at) <= 0.0 {
            todo.extend(into.take(1));
        }
    }
    way
}
