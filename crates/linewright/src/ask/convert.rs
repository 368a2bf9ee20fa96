//! `linewright convert`: the same book in another form.

use std::path::Path;

use serde_json::json;

use super::check::read;
use crate::figure::things;
use crate::folder;
use crate::outcome::{Answer, Failure, Form};

/// Endings by which a file is meant, and not a folder.
const OF_FILES: [&str; 13] = [
    "csv", "tsv", "txt", "xls", "xlsm", "xlsb", "ods", "json", "html", "htm", "pdf", "zip",
    "parquet",
];

/// Writes the book to a folder of CSV, or to a workbook if the name says so.
pub(crate) fn convert(from: &Path, to: &Path, form: Form) -> Result<Answer, Failure> {
    let workbook = read(from)?;
    match folder::ending(to).as_str() {
        "xlsx" => {
            folder::must_be_new(to)?;
            book::write_xlsx(&workbook, to)
        }
        other if OF_FILES.contains(&other) => {
            return Err(Failure::usage(format!(
                "cannot write {}: a book is a folder of CSV or an .xlsx workbook, not .{other}; \
                 name a folder or end the name in .xlsx",
                to.display()
            )));
        }
        _ => {
            folder::make_empty(to)?;
            book::write_folder(&workbook, to)
        }
    }
    .map_err(|error| Failure::usage(error.to_string()))?;
    let tables = workbook.tables.len();
    Answer::of(form, true, &json!({ "book": to, "tables": tables }), || {
        format!(
            "The book with its {} is in {}.\n",
            things(tables, "table", "tables"),
            to.display()
        )
    })
}
