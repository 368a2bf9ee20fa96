//! Rows told apart, names that can be listed.
//!
//! # Checks
//! No two rows of a table have the same key. A name holds no `;`.
//!
//! # Why it hurts
//! Of two rows with one name, which one is meant is anybody's guess; a name with
//! `;` in it can't stand in a list.
//!
//! # Example
//! Two rows `weld 1` in stations.
//!
//! # Mended
//! The second is called `weld 2`, or is taken away.

use std::collections::BTreeMap;

use super::sheets::{Sheet, Sheets};
use crate::problem::{Problem, Problems};

pub(super) fn check(sheets: &Sheets<'_>, problems: &mut Problems) {
    for sheet in sheets.iter() {
        twice(sheet, problems);
        unlistable(sheet, problems);
    }
}

fn twice(sheet: &Sheet<'_>, problems: &mut Problems) {
    let schema = sheet.table.schema();
    let mut first: BTreeMap<Vec<&str>, u32> = BTreeMap::new();
    for row in sheet.rows() {
        let key = sheet.key(row);
        // An empty name is reported as an empty cell.
        if key[0].is_empty() {
            continue;
        }
        let Some(line) = first.get(&key) else {
            first.insert(key, row.line);
            continue;
        };
        problems.push(
            Problem::error(schema.name, "key-twice")
                .row(row.line)
                .column(&schema.key.join(" + "))
                .found(format!("`{}` as in row {line}", shown(&key)))
                .expected("each row's key once")
                .mend(format!(
                    "rename it, or take row {} or row {line} away",
                    row.line
                )),
        );
    }
}

/// A key as people write it: its parts joined, empty ones left out.
pub(super) fn shown(key: &[&str]) -> String {
    let parts: Vec<_> = key
        .iter()
        .copied()
        .filter(|part| !part.is_empty())
        .collect();
    parts.join(" / ")
}

fn unlistable(sheet: &Sheet<'_>, problems: &mut Problems) {
    let schema = sheet.table.schema();
    let column = schema.key[0];
    // In other tables the first column is a reference and reported there.
    if schema
        .column(column)
        .is_none_or(|column| column.kind != crate::Kind::Text)
    {
        return;
    }
    for row in sheet.rows() {
        let name = sheet.text(row, column);
        if name.contains(';') {
            problems.push(
                Problem::error(schema.name, "semicolon-in-name")
                    .row(row.line)
                    .column(column)
                    .found(format!("`{name}`"))
                    .expected("a name without `;`, which separates names in lists")
                    .mend("write another sign for the `;`"),
            );
        }
    }
}
