//! Small books written as one text, for examples and tests.

use crate::raw::{RawRow, RawTable, Workbook};
use crate::{Book, Severity, check};

/// The workbook of a text: a table's name in brackets, its header, its rows,
/// cells separated by commas. Blanks around lines and cells do not count.
///
/// ```
/// let workbook = book::small::workbook("
///     [products]
///     product, cars_per_week
///     Tern, 300
/// ");
/// let products = workbook.table("products").map(|table| &table.rows[0].cells);
/// assert_eq!(products, Some(&vec!["Tern".to_owned(), "300".to_owned()]));
/// ```
pub fn workbook(text: &str) -> Workbook {
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

/// The checked book of such a text.
///
/// # Panics
///
/// Where the book has errors; it is for texts that stand in the code.
pub fn book(text: &str) -> Book {
    let checked = check(&workbook(text));
    let problems = checked.problems.iter();
    let errors = problems.filter(|problem| problem.severity == Severity::Error);
    let errors: Vec<String> = errors.map(ToString::to_string).collect();
    assert!(
        errors.is_empty(),
        "the book has errors:\n{}",
        errors.join("\n")
    );
    checked.book
}
