//! Books on their way out.

use std::fmt::Display;
use std::io::{Cursor, Write as _};
use std::sync::Arc;

use axum::extract::State;
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Response};

use super::body::In;
use super::failure::Failure;
use super::{Desk, on_a_thread};

pub(super) const XLSX: &str = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet";

/// `GET /api/revisions/{id}/export.xlsx`.
pub(crate) async fn workbook(
    State(desk): State<Arc<Desk>>,
    In(id): In<i64>,
) -> Result<Response, Failure> {
    on_a_thread(&desk, move |office| {
        let (revision, content, _) = office.store.revision(id)?;
        let bytes = book::xlsx_bytes(&content.workbook()).map_err(refused)?;
        let name = file_name(&content.name, revision.id, "xlsx");
        Ok(download(XLSX, &name, bytes))
    })
    .await
}

/// `GET /api/revisions/{id}/export.zip`.
pub(crate) async fn folder(
    State(desk): State<Arc<Desk>>,
    In(id): In<i64>,
) -> Result<Response, Failure> {
    on_a_thread(&desk, move |office| {
        let (revision, content, _) = office.store.revision(id)?;
        let bytes = packed(&content.workbook()).map_err(refused)?;
        let name = file_name(&content.name, revision.id, "zip");
        Ok(download("application/zip", &name, bytes))
    })
    .await
}

fn packed(workbook: &book::raw::Workbook) -> zip::result::ZipResult<Vec<u8>> {
    let mut zip = zip::ZipWriter::new(Cursor::new(Vec::new()));
    // No time: the same book gives the same bytes.
    let options =
        zip::write::SimpleFileOptions::default().last_modified_time(zip::DateTime::default());
    for table in &workbook.tables {
        zip.start_file(format!("{}.csv", table.name), options)?;
        zip.write_all(book::csv_text(table).as_bytes())?;
    }
    Ok(zip.finish()?.into_inner())
}

/// A book or an answer that no file of its kind can hold.
pub(super) fn refused(error: impl Display) -> Failure {
    Failure::new(
        StatusCode::UNPROCESSABLE_ENTITY,
        "cannot-export",
        error.to_string(),
        "mend what the message names",
    )
}

pub(super) fn download(kind: &'static str, name: &str, bytes: Vec<u8>) -> Response {
    let headers = [
        (header::CONTENT_TYPE, kind.to_owned()),
        (
            header::CONTENT_DISPOSITION,
            format!("attachment; filename=\"{name}\""),
        ),
    ];
    (headers, bytes).into_response()
}

/// A name that every system and every header takes.
pub(super) fn file_name(plant: &str, revision: i64, ending: &str) -> String {
    let plain = |c: char| {
        if c.is_ascii_alphanumeric() || "._-".contains(c) {
            c
        } else {
            '-'
        }
    };
    let plant: String = plant.chars().take(60).map(plain).collect();
    format!("{}-r{revision}.{ending}", plant.trim_matches(['.', '-']))
}

#[cfg(test)]
mod tests {
    use super::file_name;

    #[test]
    fn a_file_name_has_plain_letters_only() {
        assert_eq!(file_name("Merrow Quay", 12, "xlsx"), "Merrow-Quay-r12.xlsx");
        assert_eq!(file_name("../\"ä\r\n", 1, "zip"), "-r1.zip");
    }
}
