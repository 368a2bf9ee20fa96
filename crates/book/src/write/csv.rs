//! CSV after RFC 4180, rows kept at their numbers.

use crate::{raw::RawTable, read::SEPARATORS};

pub(super) fn text(table: &RawTable) -> String {
    let separator = if table.decimal_comma { ';' } else { ',' };
    let mut text = String::new();
    if table.decimal_comma && table.columns.len() == 1 {
        // A header of one cell shows no separator.
        text.push_str("sep=;\n");
    }
    // The reader tells the separator by the header, so there all are quoted.
    row(&mut text, &table.columns, separator, &SEPARATORS);
    let mut line = 1;
    for raw in &table.rows {
        // Empty rows keep the numbers of those below.
        while line + 1 < raw.line {
            text.push('\n');
            line += 1;
        }
        row(&mut text, &raw.cells, separator, &[separator]);
        line += 1;
    }
    text
}

/// One row. Quotes only what would not come back without, so that a file written
/// by hand and read and written by us shows no difference where nothing changed.
fn row(text: &mut String, cells: &[String], separator: char, quoted: &[char]) {
    for (index, cell) in cells.iter().enumerate() {
        if index > 0 {
            text.push(separator);
        }
        // The first cell of a file must not look like the separator's name.
        let first = text.is_empty() && (cell.starts_with("sep=") || cell.starts_with('\u{feff}'));
        if first || cell.contains(['"', '\n', '\r']) || cell.contains(quoted) {
            text.push('"');
            text.push_str(&cell.replace('"', "\"\""));
            text.push('"');
        } else {
            text.push_str(cell);
        }
    }
    text.push('\n');
}
