//! The page that describes the book, written by the schema itself.

use std::fmt::Write;

use crate::{Column, Kind, Plant, Table, Usual, caps, cell::kind_words, schema};

/// The plant book's reference page, in Markdown: every table and column with
/// kind, unit, legal range, usual value and meaning.
///
/// ```
/// let page = book::schema_markdown();
/// assert!(page.contains("## stations"));
/// ```
pub fn schema_markdown() -> String {
    let mut page = String::from(INTRODUCTION);
    // Writing into a string can't fail.
    let _ = writeln!(
        page,
        "\nA table has at most {} rows and {} columns, a cell at most {} characters, a book at \
         most {} tables,\n{} cells and {} MB.\n",
        caps::ROWS,
        caps::COLUMNS,
        caps::CELL_CHARS,
        caps::TABLES,
        caps::CELLS,
        caps::FILE_BYTES >> 20
    );
    for table in schema() {
        let _ = write!(page, "## {}\n\n{}\n\n", table.name, table.doc);
        let key: Vec<_> = table
            .key
            .iter()
            .map(|column| format!("`{column}`"))
            .collect();
        let _ = writeln!(page, "Key: {}.\n", key.join(" + "));
        columns(&mut page, "column", table.columns);
        if table.table == Table::Plant {
            page.push_str("The settings known:\n\n");
            columns(&mut page, "setting", Plant::SETTINGS);
        }
    }
    page.truncate(page.trim_end().len());
    page.push('\n');
    page
}

const INTRODUCTION: &str = "\
# The plant book

The book is a folder of CSV files, one a table, or one .xlsx workbook, one sheet a table; both hold
the same. Leave out the tables and columns you do not need: a book with only shifts, products, stations
and links already gets its answer. Tables and columns of your own are kept and not used.

This page is made from the schema in `crates/book`; `cargo xtask docs` makes it again.

- **Empty cell**: the usual value, where the table below names one.
- **Lists** are separated by `;`.
- **Numbers** have a decimal point. A decimal comma is understood in files that separate cells by
  semicolons, and wherever it can mean nothing else (`0,5`). Thousands groups are refused. A number may
  carry another unit of the same kind: `2.5 min` in a column of seconds. Shares may be percentages: `85 %`;
  where they must add to 1 they may miss it by 0.001, as rounded thirds do, and are scaled, with a note.
- **Times** are `hh:mm`; `24:00` is the day's end.
- **Headers and table names** may differ in upper case, outer blanks, and blanks or hyphens for `_`.
- **Rows** count as the spreadsheet shows them: the header is row 1, empty rows count and are skipped.
";

fn columns(page: &mut String, heading: &str, columns: &[Column]) {
    let _ = writeln!(page, "| {heading} | kind | legal | empty | meaning |");
    page.push_str("|---|---|---|---|---|\n");
    for column in columns {
        let legal = match (column.legal, column.kind) {
            (Some(legal), Kind::Number | Kind::Count | Kind::Share | Kind::Places) => {
                legal.to_string()
            }
            _ => String::new(),
        };
        let empty = match column.usual {
            Usual::Needed => "not allowed".to_owned(),
            Usual::None => "none".to_owned(),
            Usual::Value(text) => format!("`{text}`"),
        };
        let _ = writeln!(
            page,
            "| `{}` | {} | {legal} | {empty} | {} |",
            column.name,
            kind_words(column),
            column.doc
        );
    }
    page.push('\n');
}
