//! What cannot be ordered, told by the rows that make it so.

use book::{At, Book, OrderRow, Problem, Table};
use sequence::Fault;

use super::ask::Asked;
use super::week::{self, Car};
use super::{Question, Slots, told};
use crate::sheet::problem;

/// The solver's faults as problems of the book.
pub(super) fn told(book: &Book, cars: &[&Car], asked: &Asked, faults: Vec<Fault>) -> Vec<Problem> {
    faults
        .into_iter()
        .map(|fault| one(book, cars, asked, fault))
        .collect()
}

fn one(book: &Book, cars: &[&Car], asked: &Asked, fault: Fault) -> Problem {
    let row = |at: usize| cars[at].order.map(|order| &book.orders[order]);
    let promise = fault
        .place
        .strip_prefix("before[")
        .and_then(|rest| rest.split(']').next()?.parse::<usize>().ok());
    let behind = promise.and_then(|promise| asked.promised.get(promise));
    let within = promise.and_then(|promise| asked.problem.promises.get(promise));
    if let (Some(behind), Some(promise)) = (behind, within) {
        let due = |car: &&&Car| {
            car.frozen.is_none() && car.must && car.due.is_some_and(|due| due <= promise.within)
        };
        let named = cars.iter().filter(due).filter_map(|car| car.order);
        let names: Vec<&str> = named.map(|at| book.orders[at].order.as_str()).collect();
        let first = behind.iter().find(|car| cars[**car].frozen.is_none());
        let at = first.and_then(|car| row(*car)).map(|row| row.at);
        return Problem {
            found: format!(
                "{}; orders promised by then: {}",
                fault.found,
                listed(&names)
            ),
            expected: fault.expected,
            mend: fault.mend,
            ..problem(
                "promise-not-kept",
                at.unwrap_or_default(),
                Some("due_place"),
            )
        };
    }
    let (at, column) = behind_fault(book, &fault.place);
    Problem {
        found: format!("{}: {}", fault.place, fault.found),
        expected: fault.expected,
        mend: fault.mend,
        ..problem("no-order", at, column)
    }
}

/// The row that a fault of the whole week comes from.
fn behind_fault(book: &Book, place: &str) -> (At, Option<&'static str>) {
    let plant = &book.plant;
    let whole = |table| At { table, row: 1 };
    let cars = || {
        let built = book.builds.first().map(|row| (row.at, Some("cars")));
        let made = || {
            let row = book.products.first();
            row.map(|row| (row.at, Some("cars_per_week")))
        };
        built
            .or_else(made)
            .unwrap_or((whole(Table::Products), None))
    };
    match place.split(['[', '.']).next() {
        Some("level") => {
            let at = plant.level_weight.at.unwrap_or(whole(Table::Plant));
            (at, Some("level_weight"))
        }
        Some("colours") => {
            let at = plant.longest_colour_block.at.unwrap_or(whole(Table::Plant));
            (at, Some("longest_colour_block"))
        }
        Some("classes") => cars(),
        Some("rules") => {
            let row = book.options.first().map(|row| row.at);
            (row.unwrap_or(whole(Table::Options)), Some("weight"))
        }
        _ => {
            let row = book.orders.first().map(|row| row.at);
            (row.unwrap_or(whole(Table::Orders)), None)
        }
    }
}

/// Names, those beyond the first ten as a number.
pub(super) fn listed(names: &[impl AsRef<str>]) -> String {
    const SHOWN: usize = 10;
    let more = names.len().saturating_sub(SHOWN);
    let shown = names[..names.len() - more].iter().map(AsRef::as_ref);
    let shown = shown.collect::<Vec<&str>>().join(", ");
    if more > 0 {
        format!("{shown} and {more} more")
    } else {
        shown
    }
}

/// For each promise of a problem the orders behind it.
pub(super) fn promised_orders(book: &Book, cars: &[&Car], asked: &Asked) -> Vec<Vec<String>> {
    let names = |behind: &Vec<usize>| {
        let orders = behind.iter().filter_map(|car| cars[*car].order);
        orders.map(|at| book.orders[at].order.clone()).collect()
    };
    asked.promised.iter().map(names).collect()
}

/// A promise by the orders behind it.
pub(super) fn promise_of(orders: &[String]) -> String {
    format!("promise of {}", listed(orders))
}

/// More cars than the week's working time has room for.
pub(super) fn beyond_slots(question: &Question<'_>, cars: usize) -> Option<Problem> {
    let slots: &Slots = question.slots.as_ref()?;
    let book = question.book;
    let most = slots.places();
    if cars <= most as usize {
        return None;
    }
    let week = question.week;
    let build = book.builds.iter().find(|build| build.week == week);
    let (at, column) = build.map_or_else(
        || {
            (
                book.products.first().map(|row| row.at).unwrap_or_default(),
                "cars_per_week",
            )
        },
        |build| (build.at, "cars"),
    );
    let row = &book.stations[slots.station];
    Some(Problem {
        found: format!(
            "{} in week {week}, whose {:.1} h hold {most}: {} takes {:.1} s a car ({})",
            told::cars(cars),
            slots.net_h,
            row.station,
            slots.pace_s,
            row.at
        ),
        expected: format!("at most {}", told::cars(most as usize)),
        mend: format!(
            "build {} fewer, work longer in {}, or quicken {}",
            units::grouped(cars - most as usize),
            row.shop,
            row.station
        ),
        ..problem("more-than-slots", at, Some(column))
    })
}

/// A promise that must be kept of a car that stays on hold all week.
pub(super) fn held_and_promised(row: &OrderRow, (cars, days): (u32, u32)) -> Option<Problem> {
    let due = week::due(row, (cars, days)).filter(|_| row.must)?;
    let back = row.back_day.is_some();
    Some(Problem {
        found: format!(
            "{} is promised {} and stays on hold all week",
            row.order,
            promised(row, due)
        ),
        expected: "a car that is back by the day it is promised".into(),
        mend: format!(
            "have it back by day {}, or empty the promise",
            latest_day(due, (cars, days))
        ),
        ..problem(
            "promise-not-kept",
            row.at,
            Some(if back { "back_day" } else { "on_hold" }),
        )
    })
}

/// A promise that must be kept of a car that comes back later.
pub(super) fn promised_before_back(
    row: &OrderRow,
    car: &Car,
    (cars, days): (u32, u32),
) -> Option<Problem> {
    let (due, back) = car.due.zip(car.back).filter(|_| row.must)?;
    let day = row.back_day.filter(|_| back > due)?;
    let by_day = row.due_day.map(|day| week::last_place(cars, days, day));
    let column = if by_day == Some(due) {
        "due_day"
    } else {
        "due_place"
    };
    Some(Problem {
        found: format!(
            "{} is promised {} and back from day {day} (place {back})",
            row.order,
            promised(row, due)
        ),
        expected: "a car that is back by the day it is promised".into(),
        mend: format!(
            "have it back by day {}, promise it by day {day}, or write `no` in must to let it be \
             late",
            latest_day(due, (cars, days))
        ),
        ..problem("promise-not-kept", row.at, Some(column))
    })
}

/// A promise that must be kept of a car frozen behind it.
pub(super) fn frozen_past_due(row: &OrderRow, car: &Car) -> Option<Problem> {
    let (frozen, due) = car.lost().filter(|_| row.must)?;
    Some(Problem {
        found: format!(
            "{} is frozen at place {frozen} and promised {}",
            row.order,
            promised(row, due)
        ),
        expected: "a frozen place no later than the promise".into(),
        mend: format!(
            "write a frozen_place up to {due}, promise it later, or write `no` in must to let it \
             be late"
        ),
        ..problem("promise-not-kept", row.at, Some("frozen_place"))
    })
}

/// A promise in the planner's words, with its place.
fn promised(row: &OrderRow, due: u32) -> String {
    match (row.due_day, row.due_place) {
        (Some(day), place) if place != Some(due) => format!("by day {day} (place {due})"),
        _ => format!("by place {due}"),
    }
}

/// The last working day from whose start on a car may be back and among the
/// first so many.
fn latest_day(due: u32, (cars, days): (u32, u32)) -> u32 {
    let in_time = |day: &u32| week::last_place(cars, days, day - 1) < due;
    (1..=days).rev().find(in_time).unwrap_or(1)
}

#[cfg(test)]
mod tests {
    use super::super::tests::plant;
    use super::*;

    #[test]
    fn a_fault_of_the_whole_week_points_at_the_setting_or_the_table_it_comes_from() {
        let book = plant();
        let asked = super::super::ask::asked(&book, &[], &[], &[]);
        let fault = |place: &str| Fault::new(place, "found", "expected", "mend");
        let told = |place: &str| {
            let problem = told(&book, &[], &asked, vec![fault(place)]).remove(0);
            (problem.table, problem.row, problem.column)
        };
        let (table, _, column) = told("level");
        assert_eq!(table, "plant");
        assert_eq!(column.as_deref(), Some("level_weight"));
        let (table, row, column) = told("classes");
        assert_eq!(table, "products");
        assert_eq!((row, column.as_deref()), (Some(2), Some("cars_per_week")));
    }
}
