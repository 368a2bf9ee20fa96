//! The kinds of job at a station: which cycle how many jobs take.
//!
//! The row of `cycles` that says most about a car wins: product and option,
//! then option, then product, then a row for all, then the station's own cycle;
//! of rows that say as much the longest. Options are independent, so the share
//! of cars for which a row wins is what the rows before it leave. The run uses
//! the same rule car by car.

use book::{At, Book, Cycle, OptionRow, Station};
use formulas::{Origin, Sourced};
use units::Seconds;

use super::sheet::cell;
use crate::work::Worked;

/// Jobs of one product with one cycle.
#[derive(Clone, Debug)]
pub(super) struct Kind<'a> {
    pub(super) product: &'a str,
    pub(super) jobs: f64,
    pub(super) cycle: Sourced<Seconds>,
    /// The option that makes the cycle; none where the product or the station
    /// does.
    pub(super) option: Option<&'a OptionRow>,
}

/// The kinds of job at a station for a product's jobs.
pub(super) fn of<'a>(
    (book, worked): (&'a Book, &Worked<'_>),
    station: &'a Station,
    exceptions: &[&'a Cycle],
    product: &'a str,
    jobs: f64,
) -> Vec<Kind<'a>> {
    let mut rows: Vec<(u8, &Cycle)> = exceptions
        .iter()
        .filter(|row| row.product.as_deref().is_none_or(|p| p == product))
        .map(|row| (says(row), *row))
        .collect();
    rows.sort_by(|a, b| b.0.cmp(&a.0).then(b.1.cycle_s.0.total_cmp(&a.1.cycle_s.0)));
    let mut kinds = Vec::new();
    let mut left = jobs;
    let mut had: Vec<&str> = Vec::new();
    for (_, row) in rows {
        let kind = |jobs, option| Kind {
            product,
            jobs,
            cycle: Sourced::new(row.cycle_s, worked.origin(row)),
            option,
        };
        let Some(name) = row.option.as_deref() else {
            kinds.push(kind(left, None));
            return kinds;
        };
        let Some(option) = option_of(book, name, product).filter(|_| !had.contains(&name)) else {
            continue;
        };
        had.push(name);
        let share = option.share.0;
        if left * share > 0.0 {
            kinds.push(kind(left * share, Some(option)));
            left *= 1.0 - share;
        }
    }
    if left > 0.0 {
        kinds.push(Kind {
            product,
            jobs: left,
            cycle: own(worked, station),
            option: None,
        });
    }
    kinds
}

/// A station's own cycle with its cell, or with the figure of its work.
pub(super) fn own(worked: &Worked<'_>, station: &Station) -> Sourced<Seconds> {
    match worked.made(&station.station) {
        Some(_) => Sourced::figure(station.cycle(), work_figure(station)),
        None => cell(station.cycle(), station.at, "cycle_s"),
    }
}

/// The id of the figure of a station's work.
pub(super) fn work_figure(station: &Station) -> String {
    format!("station.{}.work", station.station)
}

fn says(row: &Cycle) -> u8 {
    u8::from(row.product.is_some()) + 2 * u8::from(row.option.is_some())
}

/// The row of an option for a product: its own before that for all.
pub(super) fn option_of<'a>(book: &'a Book, option: &str, product: &str) -> Option<&'a OptionRow> {
    let named = || book.options.iter().filter(move |row| row.option == option);
    named()
        .find(|row| row.product.as_deref() == Some(product))
        .or_else(|| named().find(|row| row.product.is_none()))
}

/// The rule that limits an option's cars in a row: at most so many, in its row.
pub(super) fn rule(option: &OptionRow) -> Option<Sourced<f64>> {
    let (most, every) = (option.at_most?, option.in_every?);
    // As many as places are no limit; none at all is a run of none.
    (most < every).then(|| cell(f64::from(most), option.at, "at_most"))
}

/// Where the cycles of several kinds stand, for a mean of them.
pub(super) fn origins(kinds: &[&Kind<'_>]) -> Origin {
    Origin::Several(kinds.iter().map(|kind| kind.cycle.from.clone()).collect())
}

/// Where a product's cars stand.
pub(super) fn cars_cell(book: &Book, product: usize) -> Sourced<f64> {
    let row = &book.products[product];
    let at: At = row.at;
    cell(row.cars_per_week.0, at, "cars_per_week")
}
