//! Shops that have a calendar.
//!
//! # Checks
//! Every shop named anywhere has a row in shifts; a misspelt one is an error,
//! an unknown one a note.
//!
//! # Why it hurts
//! A station whose shop has no shift works always: a misspelt shop would work
//! through the night.
//!
//! # Example
//! A station in the shop `Bdoy`, shifts for `Body`.
//!
//! # Mended
//! The station's shop is `Body`.

use std::collections::BTreeSet;

use crate::{
    At, Book,
    problem::{Problem, Problems},
    tables::Row,
};
use units::nearest;

pub(super) fn check(book: &Book, problems: &mut Problems) {
    let known: BTreeSet<&str> = book
        .shifts
        .iter()
        .map(|shift| shift.shop.as_str())
        .collect();
    if known.is_empty() {
        return;
    }
    let mut seen = BTreeSet::new();
    for (at, shop) in named(book) {
        let first = seen.insert((at.table, shop));
        if shop.is_empty() || known.contains(shop) || !first {
            continue;
        }
        let near = nearest(shop, known.iter().copied());
        let problem = Problem::at(at, "shop-without-shifts")
            .column("shop")
            .found(format!("`{shop}`, which has no row in shifts"));
        problems.push(if near.is_some() {
            problem
                .expected("a shop with shifts")
                .mend("correct the name, or give the shop a row in shifts")
                .nearest(near)
        } else {
            problem.mend("it works always").into_note()
        });
    }
}

/// Every place that names a shop.
fn named(book: &Book) -> Vec<(At, &str)> {
    let mut all = Vec::new();
    all.extend(
        book.stations
            .iter()
            .map(|row| (row.at(), row.shop.as_str())),
    );
    all.extend(
        book.press_lines
            .iter()
            .map(|row| (row.at(), row.shop.as_str())),
    );
    all.extend(book.tasks.iter().map(|row| (row.at(), row.shop.as_str())));
    let crews = book.crews.iter().map(|row| (row.at(), &row.shop));
    let coats = book.coats.iter().map(|row| (row.at(), &row.shop));
    all.extend(
        crews
            .chain(coats)
            .filter_map(|(at, shop)| Some((at, shop.as_deref()?))),
    );
    all
}
