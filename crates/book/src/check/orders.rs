//! Cars ordered that can be built.
//!
//! # Checks
//! An order names options that its product can have, each once; a car on hold
//! has no frozen place, and only such a car comes back; frozen places are 1, 2,
//! 3 and so on, each once.
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
    }
    frozen(book, problems);
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

fn frozen(book: &Book, problems: &mut Problems) {
    let mut places: BTreeMap<u32, &OrderRow> = BTreeMap::new();
    for row in book.orders.iter().filter(|row| !row.on_hold) {
        let Some(place) = row.frozen_place else {
            continue;
        };
        if let Some(first) = places.get(&place) {
            problems.push(
                Problem::at(row.at, "frozen-twice")
                    .column("frozen_place")
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
                Problem::at(row.at, "frozen-gap")
                    .column("frozen_place")
                    .found(format!("place {place} without a car in place {wanted}"))
                    .expected("frozen places from 1 on without a gap")
                    .mend(format!("write {wanted}, or freeze a car in place {wanted}")),
            );
            return;
        }
    }
}
