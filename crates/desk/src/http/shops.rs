//! Plans of single shops: made by a job, kept, and sent as they are.

use std::sync::Arc;

use axum::Json;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;

use super::body::In;
use super::failure::Failure;
use super::runs::{Asking, asking};
use super::{Desk, json_text, on_a_thread};
use crate::jobs::Shop;

/// `GET /api/revisions/{id}/shops/coil`.
pub(crate) async fn coil(desk: State<Arc<Desk>>, id: In<i64>) -> Result<Response, Failure> {
    plan_of(desk, id, Shop::Coil).await
}

/// `GET /api/revisions/{id}/shops/press`.
pub(crate) async fn press(desk: State<Arc<Desk>>, id: In<i64>) -> Result<Response, Failure> {
    plan_of(desk, id, Shop::Press).await
}

/// `POST /api/revisions/{id}/shops/coil`.
pub(crate) async fn plan_coil(
    desk: State<Arc<Desk>>,
    id: In<i64>,
) -> Result<(StatusCode, Json<Asking>), Failure> {
    ask_for(desk, id, Shop::Coil).await
}

/// `POST /api/revisions/{id}/shops/press`.
pub(crate) async fn plan_press(
    desk: State<Arc<Desk>>,
    id: In<i64>,
) -> Result<(StatusCode, Json<Asking>), Failure> {
    ask_for(desk, id, Shop::Press).await
}

async fn plan_of(
    State(desk): State<Arc<Desk>>,
    In(id): In<i64>,
    shop: Shop,
) -> Result<Response, Failure> {
    on_a_thread(&desk, move |office| {
        let text = office.shop_text(id, shop)?.ok_or_else(not_planned)?;
        Ok(json_text(text))
    })
    .await
}

pub(super) fn not_planned() -> Failure {
    Failure::new(
        StatusCode::NOT_FOUND,
        "not-planned",
        "this shop was not planned yet",
        "ask for its plan",
    )
}

async fn ask_for(
    State(desk): State<Arc<Desk>>,
    In(id): In<i64>,
    shop: Shop,
) -> Result<(StatusCode, Json<Asking>), Failure> {
    on_a_thread(&desk, move |office| asking(office.plan_shop(id, shop)?)).await
}
