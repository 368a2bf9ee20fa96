//! Small books for tests, written as text: a table's name in brackets, its
//! header, its rows.

use book::raw::{RawRow, RawTable, Workbook};
use book::{Book, Severity};

/// A small book as text; commas separate cells.
pub(crate) fn workbook(text: &str) -> Workbook {
    let mut tables: Vec<RawTable> = Vec::new();
    for line in text.lines().map(str::trim).filter(|line| !line.is_empty()) {
        let cells = || line.split(',').map(|cell| cell.trim().to_owned()).collect();
        if let Some(name) = line.strip_prefix('[').and_then(|l| l.strip_suffix(']')) {
            tables.push(RawTable {
                name: name.to_owned(),
                ..RawTable::default()
            });
        } else if let Some(table) = tables.last_mut() {
            if table.columns.is_empty() {
                table.columns = cells();
            } else {
                table.rows.push(RawRow {
                    line: table.rows.len() as u32 + 2,
                    cells: cells(),
                });
            }
        }
    }
    Workbook {
        tables,
        ..Workbook::default()
    }
}

/// Reads a small book.
pub(crate) fn book(text: &str) -> Book {
    let workbook = workbook(text);
    let checked = book::check(&workbook);
    let errors = checked
        .problems
        .iter()
        .filter(|p| p.severity == Severity::Error);
    let errors: Vec<String> = errors.map(ToString::to_string).collect();
    assert!(
        errors.is_empty(),
        "the book has errors:\n{}",
        errors.join("\n")
    );
    checked.book
}
