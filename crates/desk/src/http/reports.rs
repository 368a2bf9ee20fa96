//! The report.

use std::sync::Arc;

use axum::extract::State;
use axum::http::header;
use axum::response::{IntoResponse, Response};
use sha2::{Digest as _, Sha256};
use whole::growth::Growth;
use whole::money::CarMoney;
use whole::order::BuildOrder;

use super::body::{Asked, In};
use super::export::{XLSX, download, file_name, refused};
use super::failure::Failure;
use super::shops::WithIdeas;
use super::{Desk, on_a_thread};
use crate::jobs::{Shop, Wanted};
use crate::office::Office;
use crate::report::{self, IdeasBy, Report};

/// A page for paper needs its own style, known by its hash, and nothing else; the
/// desk's page may frame it.
fn policy(style: &str) -> String {
    let hash = base64(&Sha256::digest(style.as_bytes()));
    format!(
        "default-src 'none'; style-src 'sha256-{hash}'; img-src data:; form-action 'none'; \
         base-uri 'none'; frame-ancestors 'self'"
    )
}

/// Bytes as the policy wants them (RFC 4648, section 4).
fn base64(bytes: &[u8]) -> String {
    const LETTERS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    let mut text = String::new();
    for three in bytes.chunks(3) {
        let byte = |n: usize| u32::from(three.get(n).copied().unwrap_or(0));
        let bits = byte(0) << 16 | byte(1) << 8 | byte(2);
        for sextet in 0..4 {
            let letter = LETTERS[(bits >> (18 - 6 * sextet) & 63) as usize];
            // Three bytes are four letters; what is missing is filled up.
            text.push(if sextet > three.len() {
                '='
            } else {
                char::from(letter)
            });
        }
    }
    text
}

/// `GET /api/revisions/{id}/report.html`.
pub(crate) async fn page(
    State(desk): State<Arc<Desk>>,
    In(id): In<i64>,
    Asked(WithIdeas { ideas }): Asked<WithIdeas>,
) -> Result<Response, Failure> {
    on_a_thread(&desk, move |office| {
        let page = reported(office, (id, ideas), |report| Ok(report::html(report)))?;
        Ok(paper(page, report::STYLE))
    })
    .await
}

/// A page of ours without script, with its one style.
pub(super) fn paper(page: String, style: &str) -> Response {
    let headers = [
        (header::CONTENT_TYPE, "text/html; charset=utf-8".to_owned()),
        (header::CONTENT_SECURITY_POLICY, policy(style)),
        (header::X_FRAME_OPTIONS, "SAMEORIGIN".to_owned()),
    ];
    (headers, page).into_response()
}

/// `GET /api/revisions/{id}/figures.xlsx`.
pub(crate) async fn workbook(
    State(desk): State<Arc<Desk>>,
    In(id): In<i64>,
    Asked(WithIdeas { ideas }): Asked<WithIdeas>,
) -> Result<Response, Failure> {
    on_a_thread(&desk, move |office| {
        let (revision, content, _) = office.store.revision(id)?;
        let bytes = reported(office, (id, ideas), |report| {
            report::xlsx(report).map_err(refused)
        })?;
        let name = file_name(&format!("{}-figures", content.name), revision.id, "xlsx");
        Ok(download(XLSX, &name, bytes))
    })
    .await
}

/// Puts the report together: the plan, the most precise answer there is, money,
/// growth and build order where they were asked for. Money is that by which ideas
/// are asked for here, by runs where nothing is said.
fn reported<T>(
    office: &Office,
    (id, ideas): (i64, Option<IdeasBy>),
    form: impl FnOnce(&Report<'_>) -> Result<T, Failure>,
) -> Result<T, Failure> {
    let (revision, content, _) = office.store.revision(id)?;
    let plan = office.plan(id)?;
    let answer = office.best_answer(id)?;
    let by = ideas.unwrap_or(IdeasBy::Runs);
    let money: Option<CarMoney> = office.shop_plan(id, Shop::Money, by.into())?;
    let growth: Option<Growth> = office.shop_plan(id, Shop::Growth, Wanted::Book)?;
    let order: Option<BuildOrder> = office.shop_plan(id, Shop::Order, Wanted::Week(1, 1))?;
    let note = if revision.note.is_empty() {
        String::new()
    } else {
        format!(": {}", revision.note)
    };
    form(&Report {
        workbook: &content.workbook(),
        plan: &plan,
        answer: answer.as_ref(),
        money: money.as_ref(),
        ideas_by: ideas.or(money.as_ref().map(|_| by)),
        growth: growth.as_ref(),
        order: order.as_ref(),
        of: &format!(
            "Revision {} by {}, {}{note}",
            revision.id, revision.author, revision.time
        ),
    })
}

#[cfg(test)]
mod tests {
    use super::base64;

    #[test]
    fn base64_agrees_with_its_standard() {
        // test vectors of RFC 4648, section 10
        for (plain, told) in [
            ("", ""),
            ("f", "Zg=="),
            ("fo", "Zm8="),
            ("foo", "Zm9v"),
            ("foob", "Zm9vYg=="),
            ("fooba", "Zm9vYmE="),
            ("foobar", "Zm9vYmFy"),
        ] {
            assert_eq!(base64(plain.as_bytes()), told);
        }
    }
}
