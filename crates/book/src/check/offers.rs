//! Offers for lines that there are.
//!
//! # Checks
//! An offer names a line of the `stations` table that sends its work on to another
//! line.
//!
//! # Why it hurts
//! An offer for no line would be compared with nothing, and nobody would see.
//!
//! # Example
//! An offer for the line `front door`, or for the line that cars leave the plant from.
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
    let of = |station: &str| {
        let row = book.stations.iter().find(|row| row.station == station);
        row.and_then(|row| row.line.as_deref())
    };
    let sends_on = |line: &str| {
        let mut links = book.links.iter();
        links.any(|link| of(&link.from) == Some(line) && of(&link.to) != Some(line))
    };
    let ends = book
        .offers
        .iter()
        .filter(|row| lines().any(|line| line == row.line) && !sends_on(&row.line));
    problems.extend(ends.map(|row| {
        Problem::at(row.at, "ends-the-plant")
            .column("line")
            .found(format!("`{}`, which sends nothing on", row.line))
            .expected("a line whose sub-assembly goes to another line")
            .mend("name such a line, or take the offer out")
    }));
}
