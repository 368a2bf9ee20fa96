//! Offers for lines that there are.
//!
//! # Checks
//! An offer names a line of the `stations` table.
//!
//! # Why it hurts
//! An offer for no line would be compared with nothing, and nobody would see.
//!
//! # Example
//! An offer for the line `front door`.
//!
//! # Mended
//! The line is `front doors`.

use crate::{
    Book,
    problem::{Problem, Problems},
};
use units::nearest;

pub(super) fn check(book: &Book, problems: &mut Problems) {
    let lines = || {
        let lines = book.stations.iter();
        lines.filter_map(|row| row.line.as_deref())
    };
    let strangers = book.offers.iter().filter(|row| {
        let named = row.line.as_str();
        !named.is_empty() && !lines().any(|line| line == named)
    });
    problems.extend(strangers.map(|row| {
        Problem::at(row.at, "unknown-line")
            .column("line")
            .found(format!("`{}`", row.line))
            .expected("a line of stations")
            .mend("correct the name")
            .nearest(nearest(&row.line, lines()))
    }));
}
