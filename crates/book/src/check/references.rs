//! Names that must exist.
//!
//! # Checks
//! Every cell that names a row of another table names one that is there; not
//! while that table itself cannot be read.
//!
//! # Why it hurts
//! A link to a misspelt station would leave its cars nowhere to go.
//!
//! # Example
//! A link to `wedl 2`.
//!
//! # Mended
//! The link leads to `weld 2`.

use std::collections::{BTreeMap, BTreeSet};

use super::sheets::{Sheet, Sheets};
use crate::{
    Column, Kind, Table,
    cell::items,
    problem::{Problem, Problems},
};
use units::nearest;

pub(super) fn check(sheets: &Sheets<'_>, problems: &mut Problems) {
    let mut known: BTreeMap<Table, BTreeSet<&str>> = BTreeMap::new();
    for sheet in sheets.iter() {
        let column = sheet.table.schema().key[0];
        let names = sheet.rows().map(|row| sheet.text(row, column));
        known.insert(sheet.table, names.filter(|name| !name.is_empty()).collect());
    }
    for sheet in sheets.iter() {
        for column in sheet.table.schema().columns {
            let (Kind::Ref(target) | Kind::Refs(target)) = column.kind else {
                continue;
            };
            // What is wrong with an unread table is said; this cell may be right.
            if problems.unread(target) {
                continue;
            }
            let names = known.get(&target);
            column_names(sheet, column, target, names, problems);
        }
    }
}

/// So many names are compared with a wrong one; a plant has some hundreds.
const COMPARED: usize = 20_000;

fn column_names(
    sheet: &Sheet<'_>,
    column: &Column,
    target: Table,
    known: Option<&BTreeSet<&str>>,
    problems: &mut Problems,
) {
    let code = format!("{}/unknown-name", sheet.table.name());
    let list = matches!(column.kind, Kind::Refs(_));
    for row in sheet.rows() {
        let cell = sheet.text(row, column.name);
        // A single name is the whole cell, so that `;` in it is seen as wrong.
        let names: Vec<&str> = if list {
            items(cell).collect()
        } else {
            vec![cell]
        };
        for name in names {
            if name.is_empty() || known.is_some_and(|known| known.contains(name)) {
                continue;
            }
            let mend = match known {
                Some(_) => format!(
                    "correct the name, or add a row `{name}` to {}",
                    target.name()
                ),
                None => format!("add a table {} with a row `{name}`", target.name()),
            };
            let near = if problems.only_counts(&code) {
                None
            } else {
                nearest(name, known.into_iter().flatten().copied().take(COMPARED))
            };
            problems.push(
                Problem::error(sheet.table.name(), "unknown-name")
                    .row(row.line)
                    .column(column.name)
                    .found(format!("`{name}`"))
                    .expected(format!("a name from {}", target.name()))
                    .mend(mend)
                    .nearest(near),
            );
        }
    }
}
