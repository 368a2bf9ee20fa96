//! The book as text: tables, headers and cells exactly as the user wrote them.
//!
//! Readers make it, writers take it, [`crate::check()`] gives it a meaning.
//! Nothing is converted here, so a book goes from folder to workbook and back
//! without a changed character.

use serde::{Deserialize, Serialize};

use crate::Problem;

/// A whole book as text.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Workbook {
    /// The name of the folder, or of the file without its ending.
    #[serde(default)]
    pub name: String,
    /// The tables in the order they were found.
    pub tables: Vec<RawTable>,
    /// What the reader had to report (a hidden sheet, a table over the caps).
    /// [`crate::check()`] passes it on, so that no caller can forget it.
    #[serde(default)]
    pub problems: Vec<Problem>,
}

impl Workbook {
    /// The table with this name, written exactly so.
    pub fn table(&self, name: &str) -> Option<&RawTable> {
        self.tables.iter().find(|table| table.name == name)
    }
}

/// One table as text.
///
/// Readers give every row as many cells as there are columns.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct RawTable {
    /// The table's name: file name without ending, or the sheet's name.
    pub name: String,
    /// The header cells; one may be empty where cells stand below no header.
    pub columns: Vec<String>,
    /// The rows below the header that hold something.
    pub rows: Vec<RawRow>,
    /// The file or sheet it came from, for messages.
    pub source: String,
    /// Whether a comma in a number is a decimal comma, as in files that
    /// separate cells by semicolons. Elsewhere `1,234` has two meanings.
    #[serde(default)]
    pub decimal_comma: bool,
}

/// One row as text.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct RawRow {
    /// The row's number as a spreadsheet shows it; the header is 1.
    pub line: u32,
    /// The cells, left to right.
    pub cells: Vec<String>,
}
