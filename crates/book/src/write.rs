//! Writers: a [`Workbook`] becomes a folder of CSV files or one .xlsx file,
//! and reads back the same, cell by cell.

mod csv;
mod xlsx;

use std::path::{Path, PathBuf};

use crate::{
    Problem, Severity,
    raw::{RawTable, Workbook},
    read::caps,
};

/// Why a book was not written.
#[derive(Debug, thiserror::Error)]
pub enum WriteError {
    /// The file system refused.
    #[error("can't write `{}`: {source}", path.display())]
    File {
        /// The file or folder.
        path: PathBuf,
        /// What the system said.
        source: std::io::Error,
    },
    /// The book would not come back whole.
    #[error("{0}")]
    Refused(Box<Problem>),
}

/// Writes each table as a CSV file into the folder, which is made if missing:
/// UTF-8, comma (semicolon where the table has decimal commas), quotes where
/// needed. Files of other names stay.
///
/// # Errors
/// When the system refuses, when the reader had left something out, or when a
/// table's name can't be that of a file.
pub fn write_folder(workbook: &Workbook, folder: &Path) -> Result<(), WriteError> {
    whole(workbook)?;
    for table in &workbook.tables {
        file_name_fits(&table.name).map_err(refused)?;
    }
    std::fs::create_dir_all(folder).map_err(|source| file_error(folder, source))?;
    for table in &workbook.tables {
        let path = folder.join(format!("{}.csv", table.name));
        write_file(&path, csv::text(table).as_bytes())?;
    }
    Ok(())
}

/// Writes one .xlsx workbook, a sheet a table.
///
/// # Errors
/// As [`xlsx_bytes`], and when the system refuses.
pub fn write_xlsx(workbook: &Workbook, path: &Path) -> Result<(), WriteError> {
    write_file(path, &xlsx_bytes(workbook)?)
}

/// One .xlsx workbook, a sheet a table: numbers as numbers where they come back
/// as the same text, headers bold, frozen and with their meaning as a comment.
///
/// # Errors
/// When the reader had left something out, or a table's name can't be that of a
/// sheet.
pub fn xlsx_bytes(workbook: &Workbook) -> Result<Vec<u8>, WriteError> {
    whole(workbook)?;
    xlsx::bytes(workbook).map_err(refused)
}

/// One table as the text of a CSV file.
pub fn csv_text(table: &RawTable) -> String {
    csv::text(table)
}

/// Refuses a book that would not come back: half read, or over the caps.
fn whole(workbook: &Workbook) -> Result<(), WriteError> {
    let left_out = workbook
        .problems
        .iter()
        .find(|problem| problem.severity == Severity::Error);
    if let Some(problem) = left_out {
        return Err(refused(problem.clone().boxed()));
    }
    for (index, table) in workbook.tables.iter().enumerate() {
        let lower = table.name.to_lowercase();
        if workbook.tables[..index]
            .iter()
            .any(|other| other.name.to_lowercase() == lower)
        {
            return Err(refused(
                Problem::error(&table.name, "table-twice")
                    .found("two tables of one name")
                    .mend("rename one of them")
                    .boxed(),
            ));
        }
        fits(table).map_err(refused)?;
    }
    Ok(())
}

fn fits(table: &RawTable) -> Result<(), Box<Problem>> {
    let wrong = |what, found: String, mend| {
        Problem::error(&table.name, what)
            .found(found)
            .mend(mend)
            .boxed()
    };
    if table.columns.iter().all(String::is_empty) {
        let mend = "give it a header";
        return Err(wrong("no-header", "a table without columns".into(), mend));
    }
    let mut line = 1;
    for row in &table.rows {
        if row.line <= line || row.line > caps::ROWS + 1 {
            let found = format!("row {} after row {line}", row.line);
            return Err(wrong("row-order", found, "number the rows upwards from 2"));
        }
        line = row.line;
    }
    let rows = table.rows.iter().map(|row| &row.cells);
    for cells in std::iter::once(&table.columns).chain(rows) {
        let wide = cells.len() > table.columns.len() || cells.len() > caps::COLUMNS;
        if wide
            || cells
                .iter()
                .any(|cell| cell.chars().count() > caps::CELL_CHARS)
        {
            let found = "a row with too many cells, or a cell too long".into();
            return Err(wrong("too-big", found, "shorten it"));
        }
    }
    Ok(())
}

/// A table's name must be that of a file on every system.
fn file_name_fits(name: &str) -> Result<(), Box<Problem>> {
    const RESERVED: [&str; 4] = ["con", "prn", "aux", "nul"];
    let lower = name.to_lowercase();
    let stem = lower.split('.').next().unwrap_or_default();
    let device = stem.len() == 4
        && (stem.starts_with("com") || stem.starts_with("lpt"))
        && stem.ends_with(|c: char| c.is_ascii_digit());
    let odd = |c: char| c.is_control() || r#"/\:*?"<>|"#.contains(c);
    let bad = name.is_empty()
        || name.len() > 200
        || name.starts_with(['.', ' '])
        || name.ends_with(['.', ' '])
        || name.contains(odd)
        || RESERVED.contains(&stem)
        || device;
    if bad {
        return Err(Problem::error(name, "table-name")
            .found(format!("`{name}` as the name of a table"))
            .expected("a name that every system takes for a file")
            .mend("rename the table")
            .boxed());
    }
    Ok(())
}

fn refused(problem: Box<Problem>) -> WriteError {
    WriteError::Refused(problem)
}

fn file_error(path: &Path, source: std::io::Error) -> WriteError {
    WriteError::File {
        path: path.to_owned(),
        source,
    }
}

#[allow(clippy::disallowed_methods, reason = "the book's writer writes files")]
fn write_file(path: &Path, bytes: &[u8]) -> Result<(), WriteError> {
    std::fs::write(path, bytes).map_err(|source| file_error(path, source))
}
