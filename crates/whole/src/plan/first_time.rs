//! First time right, planned: the share of cars that pass every station on
//! their way right at the first try, and are sent to no rework.
//!
//! It is the rolled throughput yield of the quality trade, over the way of the
//! car itself: what is done again to a sub-assembly before it is joined counts
//! there. A station that only some cars pass counts for those.

use std::collections::BTreeSet;

use book::{Book, PartSource, Takes};
use formulas::{Origin, Sourced, cascade, kpi};
use units::{Count, Share};

use super::Basis;
use super::sheet::{Sheet, cell};
use crate::requirement::{Requirement, requirement};

/// Stations named as the worst.
const WORST: usize = 3;

/// The figures `product.NAME.first_time_right` and `plant.first_time_right`.
pub(super) fn plan(sheet: &mut Sheet, basis: &Basis<'_>) {
    let Some(once) = all_right(basis.book) else {
        return;
    };
    let way = way_of_the_car(basis);
    if once.cars() <= 0.0 {
        return;
    }
    let (mut cars, mut right) = (Vec::new(), Vec::new());
    for (row, need) in basis.book.products.iter().zip(&once.products) {
        let stations = steps(basis, &way, &need.per_car.visits);
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
    let stations = 0..basis.book.stations.len();
    let mean = |station: usize| once.visits(station) / once.cars();
    let visits: Vec<f64> = stations.map(mean).collect();
    let worst = worst(basis.book, &steps(basis, &way, &visits));
    let title = format!("share of all cars right at the first try{worst}");
    let made = kpi::first_pass_yield(sum(right), sum(cars));
    sheet.add("plant.first_time_right", title, None, made);
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

/// For each station of the way that may send a car to rework, by its position,
/// the share of cars that it lets go on at once.
fn steps(basis: &Basis<'_>, way: &BTreeSet<usize>, visits: &[f64]) -> Vec<(usize, Sourced<Share>)> {
    let stations = way.iter().filter(|&&i| visits[i] > 0.0);
    let fallible = stations.filter_map(|&i| {
        let row = &basis.book.stations[i];
        let ok = row.ok().0;
        if row.rework_to.is_none() || ok >= 1.0 {
            return None;
        }
        // Of the cars that do not come here none is wrong; one that comes more
        // often must be right each time.
        let right = if visits[i] <= 1.0 {
            1.0 - visits[i] * (1.0 - ok)
        } else {
            libm::pow(ok, visits[i])
        };
        let from = match row.first_time_ok {
            Some(_) => cell((), row.at, "first_time_ok").from,
            None => Origin::Given,
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
fn way_of_the_car(basis: &Basis<'_>) -> BTreeSet<usize> {
    let book = basis.book;
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
        } else if basis.need.released(at) <= 0.0 {
            todo.extend(into.take(1));
        }
    }
    way
}
