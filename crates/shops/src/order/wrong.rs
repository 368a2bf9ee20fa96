//! What cannot be ordered, told by the rows that make it so.

use book::{At, Book, Problem, Table};
use sequence::Fault;

use super::ask::Asked;
use super::week::{Car, Week};
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

/// The promises of a problem by the orders behind each.
pub(super) fn promise_names(book: &Book, cars: &[&Car], asked: &Asked) -> Vec<String> {
    let name = |behind: &Vec<usize>| {
        let orders = behind.iter().filter_map(|car| cars[*car].order);
        let names: Vec<&str> = orders.map(|at| book.orders[at].order.as_str()).collect();
        format!("promise of {}", listed(&names))
    };
    asked.promised.iter().map(name).collect()
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
            cars - most as usize,
            row.shop,
            row.station
        ),
        ..problem("more-than-slots", at, Some(column))
    })
}

/// A rule that no car of the week comes under: a note.
pub(super) fn option_of_no_class(rule: &super::rules::Spacing) -> Option<Problem> {
    let super::model::RuleFrom::Given { at } = rule.from else {
        return None;
    };
    Some(Problem {
        severity: book::Severity::Note,
        found: format!("a rule for `{}`, which no car of the week has", rule.option),
        expected: "an option that some car has".into(),
        mend: "empty at_most and in_every, or order a car with it".into(),
        ..problem("option-of-no-car", at, Some("option"))
    })
}

/// Cars on hold that would come back after the week's last working day: notes.
pub(super) fn back_too_late(question: &Question<'_>, week: &Week) -> Vec<Problem> {
    let (book, days) = (question.book, question.days);
    let rows = week.held.iter().map(|at| &book.orders[*at]);
    let late = rows.filter_map(|row| {
        let day = row.back_day?;
        Some(Problem {
            severity: book::Severity::Note,
            found: format!("day {day} of a week of {days} working days: it stays out of the week"),
            expected: format!("a working day from 1 to {days}, or none"),
            mend: format!("write a day up to {days}, or empty back_day and order it next week"),
            ..problem("back-after-the-week", row.at, Some("back_day"))
        })
    });
    late.collect()
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
