//! Books from outside.

use std::io::{Cursor, Read as _};
use std::sync::Arc;

use axum::Json;
use axum::extract::State;
use axum::http::{HeaderMap, StatusCode, header};
use book::raw::{RawTable, Workbook};
use book::{Problem, ReadError, Severity, caps};
use serde::{Deserialize, Serialize};

use super::body::{Asked, In, Raw};
use super::failure::Failure;
use super::{Desk, on_a_thread};
use crate::store::{Author, Incoming, Revision};

/// Bytes of a file.
pub(crate) const MOST_BYTES: usize = caps::FILE_BYTES as usize;
/// Files in an archive.
const MOST_FILES: usize = 1_000;

/// Who imports what.
#[derive(Debug, Deserialize)]
pub(crate) struct How {
    author: String,
    #[serde(default)]
    note: String,
    /// The table that a CSV file is.
    table: Option<String>,
    /// The plant's name, where the file has none.
    #[serde(default)]
    name: String,
}

/// What became of an import.
#[derive(Debug, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub(crate) struct Imported {
    /// The new head; the old one when nothing changed.
    pub revision: Revision,
    /// What the reader and the checks say.
    pub problems: Vec<Problem>,
}

/// `POST /api/variants/{variant}/import`.
pub(crate) async fn import(
    State(desk): State<Arc<Desk>>,
    In(variant): In<i64>,
    Asked(how): Asked<How>,
    headers: HeaderMap,
    Raw(bytes): Raw,
) -> Result<Json<Imported>, Failure> {
    let kind = headers.get(header::CONTENT_TYPE);
    let is_csv = kind.is_some_and(|kind| kind.as_bytes().starts_with(b"text/csv"));
    let _turn = desk.imports.acquire().await;
    on_a_thread(&desk, move |office| {
        let by = Author::new(&how.author, &how.note);
        let (revision, told) = if is_csv {
            let table = one_table(how.table.as_deref(), &bytes)?;
            let revision = office.store.import(variant, Incoming::Table(&table), &by)?;
            (revision, Vec::new())
        } else {
            let workbook = whole_book(&bytes)?;
            let incoming = Incoming::Book {
                workbook: &workbook,
                name: &how.name,
            };
            (
                office.store.import(variant, incoming, &by)?,
                workbook.problems,
            )
        };
        let (_, checked) = office.checked(revision.id)?;
        let problems = told.into_iter().chain(checked.problems.iter().cloned());
        Ok(Json(Imported {
            revision,
            problems: problems.collect(),
        }))
    })
    .await
}

fn one_table(name: Option<&str>, bytes: &[u8]) -> Result<RawTable, Failure> {
    let name = name.filter(|name| !name.trim().is_empty()).ok_or_else(|| {
        Failure::bad_request("a CSV file without the name of its table in `table`")
    })?;
    let mut table =
        book::read_csv_bytes(&format!("{name}.csv"), bytes).map_err(|error| unreadable(&error))?;
    name.trim().clone_into(&mut table.name);
    Ok(table)
}

/// A book that could not be read whole is not taken: whoever saved over it
/// would lose what the reader left out.
fn whole_book(bytes: &[u8]) -> Result<Workbook, Failure> {
    let workbook = if is_archive_of_tables(bytes) {
        archive(bytes)?
    } else {
        book::read_xlsx_bytes(bytes).map_err(|error| unreadable(&error))?
    };
    let left_out = |problem: &&Problem| problem.severity == Severity::Error;
    if workbook.problems.iter().any(|problem| left_out(&problem)) {
        return Err(Failure::problems(workbook.problems));
    }
    Ok(workbook)
}

fn unreadable(error: &ReadError) -> Failure {
    Failure::problems(vec![error.problem()])
}

fn is_archive_of_tables(bytes: &[u8]) -> bool {
    let Ok(zip) = zip::ZipArchive::new(Cursor::new(bytes)) else {
        return false;
    };
    let has_table = zip.file_names().any(is_table);
    has_table && zip.index_for_name("[Content_Types].xml").is_none()
}

fn is_table(path: &str) -> bool {
    let lower = path.to_lowercase();
    let ending = lower.ends_with(".csv") || lower.ends_with(".tsv");
    // Archives made on some systems carry shadow files of each file.
    ending && !lower.starts_with("__macosx/") && !lower.contains("/.") && !lower.starts_with('.')
}

/// The tables of an archive; only the last part of a path counts, and nothing
/// is ever written where the path says.
fn archive(bytes: &[u8]) -> Result<Workbook, Failure> {
    let broken = |what: &str| {
        Failure::new(
            StatusCode::UNPROCESSABLE_ENTITY,
            "archive",
            format!("the archive {what}"),
            "pack the book's CSV files again, one for each table",
        )
    };
    let mut zip = zip::ZipArchive::new(Cursor::new(bytes)).map_err(|_| broken("cannot be read"))?;
    if zip.len() > MOST_FILES {
        return Err(broken("holds too many files"));
    }
    let mut workbook = Workbook::default();
    let mut left = caps::FILE_BYTES;
    for index in 0..zip.len() {
        let entry = zip.by_index(index).map_err(|_| broken("cannot be read"))?;
        let path = entry.name().replace('\\', "/");
        if !is_table(&path) || !entry.is_file() {
            continue;
        }
        if workbook.tables.len() >= caps::TABLES {
            return Err(broken("holds too many tables"));
        }
        let mut text = Vec::new();
        let read = entry.take(left + 1).read_to_end(&mut text);
        let size = read.map_err(|_| broken("is cut off or damaged"))? as u64;
        left = left
            .checked_sub(size)
            .ok_or_else(|| broken("unpacks to more than a book may have"))?;
        let name = path.rsplit('/').next().unwrap_or(&path);
        match book::read_csv_bytes(name, &text) {
            Ok(table) if workbook.table(&table.name).is_some() => {
                return Err(broken(&format!("holds table `{}` twice", table.name)));
            }
            Ok(table) => workbook.tables.push(table),
            Err(error) => workbook.problems.push(error.problem()),
        }
    }
    Ok(workbook)
}
