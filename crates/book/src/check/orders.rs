//! Cars ordered that can be built.
//!
//! # Checks
//! An order names options that its product can have, each once; a car on hold
//! has no frozen place, and only such a car comes back; a promise by place that
//! must be kept is not behind its frozen place; frozen places of a week
//! are 1, 2, 3 and so on, each once, and so are the places of cars built before
//! it, which are neither promised nor on hold.
//!
//! # Why it hurts
//! A gap in the frozen part leaves open which car stands there, and an option
//! that no car of the product has is left out of every count.
//!
//! # Example
//! Two orders with `frozen_place` 4.
//!
//! # Mended
//! The second has `frozen_place` 5.

use std::collections::{BTreeMap, BTreeSet};

use crate::{
    Book, OrderRow,
    problem::{Problem, Problems},
};

pub(super) fn check(book: &Book, problems: &mut Problems) {
    let mut of_product: BTreeSet<(&str, Option<&str>)> = BTreeSet::new();
    for row in &book.options {
        of_product.insert((row.option.as_str(), row.product.as_deref()));
    }
    let known: BTreeSet<&str> = book.options.iter().map(|row| row.option.as_str()).collect();
    for row in &book.orders {
        options(row, &known, &of_product, problems);
        hold(row, problems);
        frozen_past_due(row, problems);
    }
    let weeks: BTreeSet<u32> = book.orders.iter().map(|row| row.week).collect();
    for week in weeks {
        for which in [FROZEN, BUILT] {
            in_turn(book, week, &which, problems);
        }
    }
}

fn options(
    row: &OrderRow,
    known: &BTreeSet<&str>,
    of_product: &BTreeSet<(&str, Option<&str>)>,
    problems: &mut Problems,
) {
    for (at, option) in row.options.iter().enumerate() {
        if row.options[..at].contains(option) {
            problems.push(
                Problem::at(row.at, "option-twice")
                    .column("options")
                    .found(format!("`{option}` twice"))
                    .expected("each option once")
                    .mend("drop one of the two"),
            );
        }
        let own = of_product.contains(&(option.as_str(), Some(row.product.as_str())));
        let any = of_product.contains(&(option.as_str(), None));
        if known.contains(option.as_str()) && !own && !any {
            problems.push(
                Problem::at(row.at, "option-of-another")
                    .column("options")
                    .found(format!("`{option}` on a {}", row.product))
                    .expected("an option that the product can have")
                    .mend(format!(
                        "give `{option}` a row for {} in the options table, or take it off",
                        row.product
                    )),
            );
        }
    }
}

fn hold(row: &OrderRow, problems: &mut Problems) {
    if row.on_hold && row.frozen_place.is_some() {
        problems.push(
            Problem::at(row.at, "held-and-frozen")
                .column("frozen_place")
                .found("a place for a car on hold")
                .expected("a car that is on hold or has its place")
                .mend(
                    "empty frozen_place and move the frozen places behind it up, or lift the hold",
                ),
        );
    }
    let asked = [
        ("frozen_place", row.frozen_place.is_some()),
        ("due_day", row.due_day.is_some()),
        ("due_place", row.due_place.is_some()),
        ("on_hold", row.on_hold),
    ];
    let asked = asked.iter().find(|(_, asked)| *asked);
    if let Some((column, _)) = asked.filter(|_| row.built_before.is_some()) {
        problems.push(
            Problem::at(row.at, "built-and-asked")
                .column(column)
                .found("a value for a car that was built before the week")
                .expected("an empty cell")
                .mend(format!("empty {column}, or empty built_before")),
        );
    }
    if !row.on_hold && row.back_day.is_some() {
        problems.push(
            Problem::at(row.at, "back-without-hold")
                .column("back_day")
                .found("a day to come back for a car that is not on hold")
                .expected("an empty cell")
                .mend("empty back_day, or write `yes` in on_hold"),
        );
    }
}

/// A promise by place that must be kept of a car frozen behind it.
fn frozen_past_due(row: &OrderRow, problems: &mut Problems) {
    let places = row.frozen_place.zip(row.due_place);
    let Some((frozen, due)) = places.filter(|(frozen, due)| row.must && frozen > due) else {
        return;
    };
    problems.push(
        Problem::at(row.at, "frozen-past-due")
            .column("frozen_place")
            .found(format!(
                "`{}` frozen at place {frozen} and promised by place {due}",
                row.order
            ))
            .expected("a frozen place no later than due_place, where the promise must be kept")
            .mend(format!(
                "write a frozen_place up to {due}, a due_place from {frozen} on, or `no` in must \
                 to let it be late"
            )),
    );
}

/// Places of a week that are counted from 1 without a gap.
struct Counted {
    column: &'static str,
    place: fn(&OrderRow) -> Option<u32>,
    twice: &'static str,
    gap: &'static str,
    expected: &'static str,
    mend: &'static str,
}

const FROZEN: Counted = Counted {
    column: "frozen_place",
    place: |row| row.frozen_place.filter(|_| !row.on_hold),
    twice: "frozen-twice",
    gap: "frozen-gap",
    expected: "frozen places from 1 on without a gap",
    mend: "freeze a car in place",
};

const BUILT: Counted = Counted {
    column: "built_before",
    place: |row| row.built_before,
    twice: "built-twice",
    gap: "built-gap",
    expected: "cars built before the week from 1 on without a gap",
    mend: "name the car that was number",
};

fn in_turn(book: &Book, week: u32, which: &Counted, problems: &mut Problems) {
    let mut places: BTreeMap<u32, &OrderRow> = BTreeMap::new();
    for row in book.orders.iter().filter(|row| row.week == week) {
        let Some(place) = (which.place)(row) else {
            continue;
        };
        if let Some(first) = places.get(&place) {
            problems.push(
                Problem::at(row.at, which.twice)
                    .column(which.column)
                    .found(format!("place {place}, where `{}` stands", first.order))
                    .expected("a place of its own")
                    .mend("give one of the two the next free place"),
            );
            continue;
        }
        places.insert(place, row);
    }
    for ((place, row), wanted) in places.into_iter().zip(1..) {
        if place != wanted {
            problems.push(
                Problem::at(row.at, which.gap)
                    .column(which.column)
                    .found(format!("place {place} without a car in place {wanted}"))
                    .expected(which.expected)
                    .mend(format!("write {wanted}, or {} {wanted}", which.mend)),
            );
            return;
        }
    }
}
