//! Readers: a folder of CSV files or one .xlsx workbook becomes a
//! [`Workbook`].
//!
//! They are made for files from anywhere: every size is capped before memory
//! is asked for, and what is wrong with one table leaves the others readable.

mod builder;
pub mod caps;
mod csv;
mod package;
mod xlsx;

use std::path::{Path, PathBuf};

use crate::{
    Problem,
    raw::{RawTable, Workbook},
};

use builder::Budget;
pub(crate) use csv::SEPARATORS;
pub(crate) use xlsx::{DECIMAL_COMMA, shortest};

/// Why there is no workbook at all.
#[derive(Debug, thiserror::Error)]
pub enum ReadError {
    /// The file system refused.
    #[error("can't read `{}`: {source}", path.display())]
    File {
        /// The file or folder.
        path: PathBuf,
        /// What the system said.
        source: std::io::Error,
    },
    /// The content is no book, or too big for one.
    #[error("{}; found {}; {}", .0.table, .0.found, .0.mend)]
    Refused(Box<Problem>),
}

impl ReadError {
    /// The error as a problem, for faces that list problems.
    pub fn problem(&self) -> Problem {
        match self {
            Self::File { path, source } => Problem::error(&path.display().to_string(), "no-file")
                .found(source.to_string())
                .expected("a folder of CSV files or an .xlsx workbook")
                .mend("check the path and the right to read it"),
            Self::Refused(problem) => (**problem).clone(),
        }
    }
}

impl From<Box<Problem>> for ReadError {
    fn from(problem: Box<Problem>) -> Self {
        Self::Refused(problem)
    }
}

/// Reads a folder of CSV files, one .xlsx workbook or one CSV file.
///
/// What is wrong with a single table is in [`Workbook::problems`].
///
/// # Errors
/// When the path can't be read, or holds nothing that could be a book.
pub fn read_path(path: &Path) -> Result<Workbook, ReadError> {
    if std::fs::metadata(path)
        .map_err(|source| file_error(path, source))?
        .is_dir()
    {
        return read_folder(path);
    }
    let bytes = read_file(path, caps::FILE_BYTES)?;
    let mut workbook = if is_csv(path) {
        let table = read_csv_bytes(&file_name(path), &bytes)?;
        Workbook {
            tables: vec![table],
            ..Workbook::default()
        }
    } else {
        read_xlsx_bytes(&bytes)?
    };
    workbook.name = stem(path);
    Ok(workbook)
}

/// Reads an .xlsx workbook: every sheet with cells is a table.
///
/// Formulas count as their cached values; dates and times become ISO dates and
/// `hh:mm`; hidden sheets are read and noted.
///
/// # Errors
/// When the bytes are no .xlsx workbook, are cut off, or unpack to more than
/// the [`caps`] allow.
pub fn read_xlsx_bytes(bytes: &[u8]) -> Result<Workbook, ReadError> {
    Ok(xlsx::read(bytes)?)
}

/// Reads one CSV file; the table's name is the file's, without its ending.
///
/// Cells may be separated by comma, semicolon or tab; the header tells.
///
/// # Errors
/// When the bytes are no UTF-8 text, a quoted cell does not end, or the table
/// is larger than the [`caps`] allow.
pub fn read_csv_bytes(name: &str, bytes: &[u8]) -> Result<RawTable, ReadError> {
    Ok(csv::read(name, bytes, &mut Budget::default())?)
}

fn read_folder(folder: &Path) -> Result<Workbook, ReadError> {
    let mut files = Vec::new();
    for entry in std::fs::read_dir(folder).map_err(|source| file_error(folder, source))? {
        let path = entry.map_err(|source| file_error(folder, source))?.path();
        if is_csv(&path) && path.is_file() {
            files.push(path);
        }
    }
    if files.is_empty() {
        return Err(Problem::error(&folder.display().to_string(), "no-tables")
            .found("no .csv or .tsv file in the folder")
            .expected("one CSV file a table")
            .mend("give the folder of the book, or an .xlsx workbook")
            .boxed()
            .into());
    }
    // The system lists files in any order; a book has one.
    files.sort();
    let mut workbook = Workbook {
        name: stem(folder),
        ..Workbook::default()
    };
    if files.len() > caps::TABLES {
        return Err(caps::too_many_tables(files.len()).into());
    }
    let mut budget = Budget::default();
    let mut left = caps::FILE_BYTES;
    for path in files {
        let bytes = match read_file(&path, left) {
            Ok(bytes) => bytes,
            Err(error) => {
                workbook.problems.push(error.problem());
                continue;
            }
        };
        left = left.saturating_sub(bytes.len() as u64);
        match csv::read(&file_name(&path), &bytes, &mut budget) {
            Ok(table) => workbook.tables.push(table),
            Err(problem) => workbook.problems.push(*problem),
        }
    }
    Ok(workbook)
}

#[allow(clippy::disallowed_methods, reason = "the book's reader opens files")]
fn read_file(path: &Path, most: u64) -> Result<Vec<u8>, ReadError> {
    use std::io::Read;

    let failed = |source| file_error(path, source);
    let file = std::fs::File::open(path).map_err(failed)?;
    let size = file.metadata().map_err(failed)?.len();
    let mut bytes = Vec::new();
    if size <= most {
        // A file may grow while it is read; the limit holds all the same.
        file.take(most + 1)
            .read_to_end(&mut bytes)
            .map_err(failed)?;
    }
    if size.max(bytes.len() as u64) > most {
        return Err(Problem::error(&file_name(path), "file-too-big")
            .found(format!("{size} bytes"))
            .expected(format!("at most {} bytes in the book", caps::FILE_BYTES))
            .mend("take out what the book does not need")
            .boxed()
            .into());
    }
    Ok(bytes)
}

fn file_error(path: &Path, source: std::io::Error) -> ReadError {
    ReadError::File {
        path: path.to_owned(),
        source,
    }
}

fn is_csv(path: &Path) -> bool {
    path.extension().is_some_and(|ending| {
        ending.eq_ignore_ascii_case("csv") || ending.eq_ignore_ascii_case("tsv")
    })
}

fn file_name(path: &Path) -> String {
    path.file_name()
        .unwrap_or_default()
        .to_string_lossy()
        .into_owned()
}

fn stem(path: &Path) -> String {
    let path = path.canonicalize().unwrap_or_else(|_| path.to_owned());
    let stem = if path.is_dir() {
        path.file_name()
    } else {
        path.file_stem()
    };
    stem.unwrap_or_default().to_string_lossy().into_owned()
}
