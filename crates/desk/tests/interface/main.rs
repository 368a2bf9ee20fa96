//! The interface over a real socket, on the demo plant: one module a question.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::disallowed_methods,
    reason = "a test that cannot go on stops where it stands, and writes small books"
)]

mod edits;
mod files;
mod next;
mod runs;
mod shops;
#[path = "../support/mod.rs"]
mod support;

use serde_json::{Value, json};

/// A table of a book as the interface gives it.
pub(crate) fn table<'b>(book: &'b Value, name: &str) -> &'b Value {
    let tables = book["tables"].as_array().expect("tables");
    let found = tables.iter().find(|table| table["name"] == name);
    found.unwrap_or_else(|| panic!("no table {name}"))
}

/// Id and text of a cell: the first row whose first cell is `key`.
pub(crate) fn cell(book: &Value, name: &str, key: &str, column: &str) -> (String, String) {
    let table = table(book, name);
    let columns = table["columns"].as_array().expect("columns");
    let at = columns
        .iter()
        .position(|c| c == column)
        .expect("the column");
    let rows = table["rows"].as_array().expect("rows");
    let row = rows
        .iter()
        .find(|row| row["cells"][0] == key)
        .expect("the row");
    (
        row["id"].as_str().expect("an id").to_owned(),
        row["cells"][at].as_str().expect("text").to_owned(),
    )
}

pub(crate) fn set(table: &str, row: &str, column: &str, value: &str) -> Value {
    json!({"set": {"table": table, "row": row, "column": column, "value": value}})
}

pub(crate) fn edit(base: &Value, author: &str, patches: &[Value]) -> Value {
    json!({"base": base, "author": author, "note": "", "patches": patches})
}
