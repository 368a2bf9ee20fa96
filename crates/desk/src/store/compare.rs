//! Two revisions, cell by cell.

use std::collections::BTreeMap;
use std::sync::Arc;

use serde::Serialize;

use super::content::{Content, Row, Table};

/// A cell that differs. A text that is absent means that the column is.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct ChangedCell {
    /// The table's name.
    pub table: String,
    /// The row's id.
    pub row: String,
    /// The row's key, for people.
    pub key: String,
    /// The column's header.
    pub column: String,
    /// The text in the first revision.
    pub a: Option<String>,
    /// The text in the second.
    pub b: Option<String>,
}

/// A row that only one of the revisions has.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct OneSidedRow {
    /// The table's name.
    pub table: String,
    /// The row's id.
    pub row: String,
    /// The row's key, for people.
    pub key: String,
    /// Its cells by header, empty ones left out.
    pub cells: BTreeMap<String, String>,
}

/// What differs between the texts of two revisions.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct BookDifference {
    /// Cells of rows that both have.
    pub cells: Vec<ChangedCell>,
    /// Rows of the second only.
    pub rows_added: Vec<OneSidedRow>,
    /// Rows of the first only.
    pub rows_removed: Vec<OneSidedRow>,
}

/// Compares two books by table, row id and column.
pub fn compare(a: &Content, b: &Content) -> BookDifference {
    let mut difference = BookDifference::default();
    let nothing = Arc::new(Table::default());
    for first in &a.tables {
        let second = b.table(&first.name).unwrap_or(&nothing);
        if !Arc::ptr_eq(first, second) && first != second {
            compare_table(first, second, &mut difference);
        }
    }
    for second in &b.tables {
        if a.table(&second.name).is_none() {
            compare_table(&nothing, second, &mut difference);
        }
    }
    difference
}

fn compare_table(a: &Table, b: &Table, difference: &mut BookDifference) {
    let by_id: BTreeMap<&str, &Row> = a.rows.iter().map(|row| (row.id.as_str(), row)).collect();
    let mut columns: Vec<&String> = a.columns.iter().collect();
    columns.extend(
        b.columns
            .iter()
            .filter(|column| !a.columns.contains(column)),
    );
    let places: Vec<_> = columns
        .iter()
        .map(|column| (*column, a.column(column), b.column(column)))
        .collect();
    let mut left: BTreeMap<&str, ()> = by_id.keys().map(|id| (*id, ())).collect();
    for row in &b.rows {
        let Some(old) = by_id.get(row.id.as_str()) else {
            difference.rows_added.push(one_sided(b, row));
            continue;
        };
        left.remove(row.id.as_str());
        for (column, in_a, in_b) in &places {
            let before = in_a.map(|at| old.cells.get(at).map_or("", String::as_str));
            let after = in_b.map(|at| row.cells.get(at).map_or("", String::as_str));
            // A column that only one has says something where it is filled.
            if before.unwrap_or("") != after.unwrap_or("") {
                difference.cells.push(ChangedCell {
                    table: b.name.clone(),
                    row: row.id.clone(),
                    key: b.key_of(row),
                    column: (*column).clone(),
                    a: before.map(str::to_owned),
                    b: after.map(str::to_owned),
                });
            }
        }
    }
    let gone = a
        .rows
        .iter()
        .filter(|row| left.contains_key(row.id.as_str()));
    difference
        .rows_removed
        .extend(gone.map(|row| one_sided(a, row)));
}

fn one_sided(table: &Table, row: &Row) -> OneSidedRow {
    let cells = table.columns.iter().zip(&row.cells);
    OneSidedRow {
        table: table.name.clone(),
        row: row.id.clone(),
        key: table.key_of(row),
        cells: cells
            .filter(|(_, cell)| !cell.is_empty())
            .map(|(column, cell)| (column.clone(), cell.clone()))
            .collect(),
    }
}
