//! Work that waits for itself.
//!
//! # Checks
//! The `after` columns of tasks and joins make no circle.
//!
//! # Why it hurts
//! No order of work fits: each of the circle would have to be first.
//!
//! # Example
//! `fit seal` after `hang door`, `hang door` after `fit seal`.
//!
//! # Mended
//! One of the two names is taken out of `after`.

use std::collections::BTreeMap;

use super::graph;
use crate::{
    At, Book,
    problem::{Problem, Problems},
};

pub(super) fn check(book: &Book, problems: &mut Problems) {
    let tasks: Vec<_> = book
        .tasks
        .iter()
        .map(|row| (row.at, &row.task, &row.after))
        .collect();
    circles(&tasks, problems);
    let joins: Vec<_> = book
        .joins
        .iter()
        .map(|row| (row.at, &row.join, &row.after))
        .collect();
    circles(&joins, problems);
}

fn circles(rows: &[(At, &String, &Vec<String>)], problems: &mut Problems) {
    let places: BTreeMap<&str, usize> = rows
        .iter()
        .enumerate()
        .map(|(place, (_, name, _))| (name.as_str(), place))
        .collect();
    let edges: Vec<Vec<usize>> = rows
        .iter()
        .map(|(.., after)| {
            after
                .iter()
                .filter_map(|name| places.get(name.as_str()).copied())
                .collect()
        })
        .collect();
    for component in graph::components(&edges) {
        let Some(way) = graph::round(&edges, &component) else {
            continue;
        };
        let names: Vec<&str> = way.iter().map(|place| rows[*place].1.as_str()).collect();
        let (at, name, _) = rows[way[0]];
        problems.push(
            Problem::at(at, "circle")
                .column("after")
                .found(format!("the circle `{}`", names.join(" > ")))
                .expected("an order in which each comes after what it waits for")
                .mend(format!(
                    "take `{}` out of the `after` of `{name}`, or break it elsewhere",
                    names[1]
                )),
        );
    }
}
