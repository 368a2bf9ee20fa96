//! The report.

use std::sync::Arc;

use axum::extract::State;
use axum::http::header;
use axum::response::{IntoResponse, Response};

use super::body::In;
use super::export::{XLSX, download, file_name, refused};
use super::failure::Failure;
use super::{Desk, on_a_thread};
use crate::office::Office;
use crate::report::{self, Report};

/// The report needs its own style and nothing else; the desk's page may frame
/// it.
const POLICY: &str = "default-src 'none'; style-src 'unsafe-inline'; img-src data:; \
     form-action 'none'; base-uri 'none'; frame-ancestors 'self'";

/// `GET /api/revisions/{id}/report.html`.
pub(crate) async fn page(
    State(desk): State<Arc<Desk>>,
    In(id): In<i64>,
) -> Result<Response, Failure> {
    on_a_thread(&desk, move |office| {
        let page = reported(office, id, |report| Ok(report::html(report)))?;
        let headers = [
            (header::CONTENT_TYPE, "text/html; charset=utf-8"),
            (header::CONTENT_SECURITY_POLICY, POLICY),
            (header::X_FRAME_OPTIONS, "SAMEORIGIN"),
        ];
        Ok((headers, page).into_response())
    })
    .await
}

/// `GET /api/revisions/{id}/figures.xlsx`.
pub(crate) async fn workbook(
    State(desk): State<Arc<Desk>>,
    In(id): In<i64>,
) -> Result<Response, Failure> {
    on_a_thread(&desk, move |office| {
        let (revision, content, _) = office.store.revision(id)?;
        let bytes = reported(office, id, |report| {
            report::xlsx(report).map_err(|error| refused(&error.to_string()))
        })?;
        let name = file_name(&format!("{}-figures", content.name), revision.id, "xlsx");
        Ok(download(XLSX, &name, bytes))
    })
    .await
}

/// Puts the report together: the plan, and the most precise answer there is.
fn reported<T>(
    office: &Office,
    id: i64,
    form: impl FnOnce(&Report<'_>) -> Result<T, Failure>,
) -> Result<T, Failure> {
    let (revision, content, _) = office.store.revision(id)?;
    let plan = office.plan(id)?;
    let answer = office.best_answer(id)?;
    let note = if revision.note.is_empty() {
        String::new()
    } else {
        format!(": {}", revision.note)
    };
    form(&Report {
        workbook: &content.workbook(),
        plan: &plan,
        answer: answer.as_ref(),
        of: &format!(
            "Revision {} by {}, {}{note}",
            revision.id, revision.author, revision.time
        ),
    })
}
