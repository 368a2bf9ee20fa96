//! Stations that say how long they take.
//!
//! # Checks
//! A station has a cycle, tasks of its own or of its line that make one, joints
//! that its robots make, a step of the coats that it stands on, or a repair of
//! paint that it does.
//!
//! # Why it hurts
//! A station without work would let any number of cars through.
//!
//! # Example
//! A row of stations with an empty `cycle_s`, in a line without tasks or joins.
//!
//! # Mended
//! `cycle_s` is 162, or a task names the station.

use std::collections::BTreeSet;

use crate::{
    Book, Table,
    problem::{Problem, Problems},
};

pub(super) fn check(book: &Book, problems: &mut Problems) {
    if problems.unread(Table::Tasks) {
        return;
    }
    let named: BTreeSet<&str> = book
        .tasks
        .iter()
        .filter_map(|task| task.station.as_deref())
        .collect();
    let lines: BTreeSet<(&str, Option<&str>)> = book
        .tasks
        .iter()
        .map(|task| (task.shop.as_str(), task.line.as_deref()))
        .collect();
    let joined: BTreeSet<&str> = book
        .joins
        .iter()
        .filter_map(|join| join.station.as_deref())
        .collect();
    let by_joins = !problems.unread(Table::Joins);
    let painted: BTreeSet<&str> = book
        .coats
        .iter()
        .flat_map(|coat| &coat.stations)
        .chain(book.repairs.iter().filter_map(|row| row.station.as_ref()))
        .map(String::as_str)
        .collect();
    for row in book.stations.iter().filter(|row| row.cycle_s.is_none()) {
        let line = (row.shop.as_str(), row.line.as_deref());
        let name = row.station.as_str();
        let robots = row.robots_most.is_some() || joined.contains(name) || !by_joins;
        let tasked = named.contains(name) || lines.contains(&line);
        if tasked || robots || painted.contains(name) {
            continue;
        }
        problems.push(
            Problem::at(row.at, "empty-cell")
                .column("cycle_s")
                .found("an empty cell")
                .expected("a number of seconds, or tasks or joins of the station or its line")
                .mend("fill the cell"),
        );
    }
}
