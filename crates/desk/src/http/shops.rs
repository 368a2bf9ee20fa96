//! Plans of single shops: made by a job, kept, and sent as they are.

use std::sync::Arc;

use axum::Json;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;
use serde::Deserialize;
use units::PerWeek;

use super::body::{Asked, In};
use super::failure::Failure;
use super::runs::{Asking, asking};
use super::{Desk, json_text, on_a_thread};
use crate::jobs::{Shop, Wanted};

/// More cars a week than any plant makes.
const MOST_CARS: f64 = 1e6;

/// `GET /api/revisions/{id}/shops/coil`.
pub(crate) async fn coil(desk: State<Arc<Desk>>, id: In<i64>) -> Result<Response, Failure> {
    plan_of(desk, id, Shop::Coil, Wanted::Book).await
}

/// `GET /api/revisions/{id}/shops/press`.
pub(crate) async fn press(desk: State<Arc<Desk>>, id: In<i64>) -> Result<Response, Failure> {
    plan_of(desk, id, Shop::Press, Wanted::Book).await
}

/// `POST /api/revisions/{id}/shops/coil`.
pub(crate) async fn plan_coil(
    desk: State<Arc<Desk>>,
    id: In<i64>,
) -> Result<(StatusCode, Json<Asking>), Failure> {
    ask_for(desk, id, Shop::Coil, Wanted::Book).await
}

/// `POST /api/revisions/{id}/shops/press`.
pub(crate) async fn plan_press(
    desk: State<Arc<Desk>>,
    id: In<i64>,
) -> Result<(StatusCode, Json<Asking>), Failure> {
    ask_for(desk, id, Shop::Press, Wanted::Book).await
}

/// The cars a week that a shop is asked for; absent those of the book.
#[derive(Clone, Copy, Debug, Deserialize)]
pub(crate) struct AtRate {
    cars: Option<f64>,
}

impl AtRate {
    pub(super) const fn of(cars: Option<f64>) -> Self {
        Self { cars }
    }

    pub(super) fn rate(self) -> Result<Option<PerWeek>, Failure> {
        let Some(cars) = self.cars else {
            return Ok(None);
        };
        if cars > 0.0 && cars <= MOST_CARS {
            return Ok(Some(PerWeek(cars)));
        }
        Err(Failure::new(
            StatusCode::UNPROCESSABLE_ENTITY,
            "rate",
            format!("{cars} cars a week"),
            "ask for more than 0 and at most 1000000 cars a week",
        ))
    }
}

/// `GET /api/revisions/{id}/shops/body`.
pub(crate) async fn body(
    desk: State<Arc<Desk>>,
    id: In<i64>,
    Asked(at): Asked<AtRate>,
) -> Result<Response, Failure> {
    plan_of(desk, id, Shop::Body, at.rate()?.into()).await
}

/// `POST /api/revisions/{id}/shops/body`.
pub(crate) async fn plan_body(
    desk: State<Arc<Desk>>,
    id: In<i64>,
    Asked(at): Asked<AtRate>,
) -> Result<(StatusCode, Json<Asking>), Failure> {
    ask_for(desk, id, Shop::Body, at.rate()?.into()).await
}

/// `GET /api/revisions/{id}/shops/assembly`.
pub(crate) async fn assembly(
    desk: State<Arc<Desk>>,
    id: In<i64>,
    Asked(at): Asked<AtRate>,
) -> Result<Response, Failure> {
    plan_of(desk, id, Shop::Assembly, at.rate()?.into()).await
}

/// `POST /api/revisions/{id}/shops/assembly`.
pub(crate) async fn plan_assembly(
    desk: State<Arc<Desk>>,
    id: In<i64>,
    Asked(at): Asked<AtRate>,
) -> Result<(StatusCode, Json<Asking>), Failure> {
    ask_for(desk, id, Shop::Assembly, at.rate()?.into()).await
}

/// `GET /api/revisions/{id}/shops/assembly/today`.
pub(crate) async fn assembly_today(
    State(desk): State<Arc<Desk>>,
    In(id): In<i64>,
    Asked(at): Asked<AtRate>,
) -> Result<Response, Failure> {
    let rate = at.rate()?;
    on_a_thread(&desk, move |office| {
        Ok(json_text(office.today_text(id, rate)?))
    })
    .await
}

/// `GET /api/revisions/{id}/shops/paint`.
pub(crate) async fn paint(
    desk: State<Arc<Desk>>,
    id: In<i64>,
    Asked(at): Asked<AtRate>,
) -> Result<Response, Failure> {
    plan_of(desk, id, Shop::Paint, at.rate()?.into()).await
}

/// `POST /api/revisions/{id}/shops/paint`.
pub(crate) async fn plan_paint(
    desk: State<Arc<Desk>>,
    id: In<i64>,
    Asked(at): Asked<AtRate>,
) -> Result<(StatusCode, Json<Asking>), Failure> {
    ask_for(desk, id, Shop::Paint, at.rate()?.into()).await
}

/// `GET /api/revisions/{id}/shops/carts`.
pub(crate) async fn carts(desk: State<Arc<Desk>>, id: In<i64>) -> Result<Response, Failure> {
    plan_of(desk, id, Shop::Carts, Wanted::Book).await
}

/// `POST /api/revisions/{id}/shops/carts`.
pub(crate) async fn plan_carts(
    desk: State<Arc<Desk>>,
    id: In<i64>,
) -> Result<(StatusCode, Json<Asking>), Failure> {
    ask_for(desk, id, Shop::Carts, Wanted::Book).await
}

/// `GET /api/revisions/{id}/shops/carts/plan`.
pub(crate) async fn cart_plan(
    State(desk): State<Arc<Desk>>,
    In(id): In<i64>,
) -> Result<Response, Failure> {
    on_a_thread(&desk, move |office| {
        Ok(json_text(office.cart_plan_text(id)?))
    })
    .await
}

/// By what is told what ideas give.
#[derive(Clone, Copy, Debug, Deserialize)]
#[serde(rename_all = "snake_case")]
enum IdeasBy {
    /// Runs of the plant, made where they are missing.
    Runs,
    /// The ranking of ideas that was kept.
    Kept,
    /// The plan's weakest station.
    Plan,
}

/// By what is told what ideas give; by runs where it is not said.
#[derive(Clone, Copy, Debug, Deserialize)]
pub(crate) struct WithIdeas {
    ideas: Option<IdeasBy>,
}

impl WithIdeas {
    pub(super) fn wanted(self) -> Wanted {
        match self.ideas {
            None | Some(IdeasBy::Runs) => Wanted::Book,
            Some(IdeasBy::Kept) => Wanted::Kept,
            Some(IdeasBy::Plan) => Wanted::Paper,
        }
    }
}

/// `GET /api/revisions/{id}/shops/money`.
pub(crate) async fn money(
    desk: State<Arc<Desk>>,
    id: In<i64>,
    Asked(with): Asked<WithIdeas>,
) -> Result<Response, Failure> {
    plan_of(desk, id, Shop::Money, with.wanted()).await
}

/// `POST /api/revisions/{id}/shops/money`.
pub(crate) async fn plan_money(
    desk: State<Arc<Desk>>,
    id: In<i64>,
    Asked(with): Asked<WithIdeas>,
) -> Result<(StatusCode, Json<Asking>), Failure> {
    ask_for(desk, id, Shop::Money, with.wanted()).await
}

/// Whether every period of the forecast is run as well.
#[derive(Clone, Copy, Debug, Deserialize)]
pub(crate) struct WithRuns {
    run: Option<bool>,
}

impl WithRuns {
    pub(super) fn wanted(self) -> Wanted {
        if self.run == Some(true) {
            Wanted::Runs
        } else {
            Wanted::Book
        }
    }
}

/// `GET /api/revisions/{id}/shops/growth`.
pub(crate) async fn growth(
    desk: State<Arc<Desk>>,
    id: In<i64>,
    Asked(with): Asked<WithRuns>,
) -> Result<Response, Failure> {
    plan_of(desk, id, Shop::Growth, with.wanted()).await
}

/// `POST /api/revisions/{id}/shops/growth`.
pub(crate) async fn plan_growth(
    desk: State<Arc<Desk>>,
    id: In<i64>,
    Asked(with): Asked<WithRuns>,
) -> Result<(StatusCode, Json<Asking>), Failure> {
    ask_for(desk, id, Shop::Growth, with.wanted()).await
}

pub(super) async fn plan_of(
    State(desk): State<Arc<Desk>>,
    In(id): In<i64>,
    shop: Shop,
    wanted: Wanted,
) -> Result<Response, Failure> {
    on_a_thread(&desk, move |office| {
        let text = office.shop_text(id, shop, wanted)?;
        Ok(json_text(text.ok_or_else(not_planned)?))
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

pub(super) async fn ask_for(
    State(desk): State<Arc<Desk>>,
    In(id): In<i64>,
    shop: Shop,
    wanted: Wanted,
) -> Result<(StatusCode, Json<Asking>), Failure> {
    on_a_thread(&desk, move |office| {
        asking(office.plan_shop(id, shop, wanted)?)
    })
    .await
}
