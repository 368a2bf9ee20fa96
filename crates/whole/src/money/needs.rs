//! Cars a week that are asked for, today and in the periods to come.

use book::Book;

use crate::growth;

/// Weeks of the calendar in a year.
pub(super) const YEAR_WEEKS: f64 = 365.25 / 7.0;

/// Cars a week that are asked for until a time.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Need {
    /// Years from today; without end for the last.
    pub(super) until: f64,
    /// Cars a week of all products.
    pub(super) cars: f64,
}

/// The needs of a book, the earliest first. The forecast's first period is taken
/// to begin today, since a book has no date of its own, and its last to hold on;
/// without a forecast that can be read today's need holds on.
pub(super) fn of(book: &Book) -> Vec<Need> {
    let mut until = 0.0;
    let periods = growth::needs(book).into_iter();
    let mut needs: Vec<Need> = periods
        .map(|(weeks, cars)| {
            until += weeks / YEAR_WEEKS;
            Need { until, cars }
        })
        .collect();
    if needs.is_empty() {
        let cars = book.products.iter().map(|row| row.cars_per_week.0).sum();
        needs.push(Need { until, cars });
    }
    if let Some(last) = needs.last_mut() {
        last.until = f64::INFINITY;
    }
    needs
}
