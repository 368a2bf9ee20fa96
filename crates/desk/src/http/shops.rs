//! Plans of single shops: made by a job, kept, and sent as they are.

use std::sync::Arc;

use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;
use axum::routing::{MethodRouter, get, post};
use serde::Deserialize;
use units::PerWeek;

use super::body::{In, Meant, Question};
use super::failure::Failure;
use super::runs::asking;
use super::{Desk, json_text, on_a_thread};
use crate::jobs::{Shop, Wanted};
use crate::report::IdeasBy;

/// More cars a week than any plant makes.
const MOST_CARS: f64 = 1e6;

/// The cars a week that a shop is asked for; absent those of the book.
#[derive(Clone, Copy, Debug, Deserialize)]
pub(crate) struct AtRate {
    cars: Option<f64>,
}

impl Question for AtRate {
    type Meant = Option<PerWeek>;

    fn meant(self) -> Result<Option<PerWeek>, Failure> {
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

/// By what is told what ideas give; by runs where it is not said.
#[derive(Clone, Copy, Debug, Deserialize)]
pub(crate) struct WithIdeas {
    pub(super) ideas: Option<IdeasBy>,
}

impl Question for WithIdeas {
    type Meant = Wanted;

    fn meant(self) -> Result<Wanted, Failure> {
        Ok(self.ideas.unwrap_or(IdeasBy::Runs).into())
    }
}

impl From<IdeasBy> for Wanted {
    fn from(by: IdeasBy) -> Self {
        match by {
            IdeasBy::Runs => Self::Book,
            IdeasBy::Kept => Self::Kept,
            IdeasBy::Plan => Self::Paper,
        }
    }
}

/// Whether every period of the forecast is run as well.
#[derive(Clone, Copy, Debug, Deserialize)]
pub(crate) struct WithRuns {
    run: Option<bool>,
}

impl Question for WithRuns {
    type Meant = Wanted;

    fn meant(self) -> Result<Wanted, Failure> {
        Ok(if self.run == Some(true) {
            Wanted::Runs
        } else {
            Wanted::Book
        })
    }
}

/// A shop's plan as it was kept: `GET`.
pub(crate) fn kept<Q>(shop: Shop) -> MethodRouter<Arc<Desk>>
where
    Q: Question<Meant: Into<Wanted>>,
{
    get(
        move |State(desk): State<Arc<Desk>>, In(id): In<i64>, Meant(asked): Meant<Q>| async move {
            let wanted = asked.into();
            on_a_thread(&desk, move |office| {
                let text = office.shop_text(id, shop, wanted)?;
                Ok(json_text(text.ok_or_else(not_planned)?))
            })
            .await
        },
    )
}

/// Has a shop planned: `POST`.
pub(crate) fn planned<Q>(shop: Shop) -> MethodRouter<Arc<Desk>>
where
    Q: Question<Meant: Into<Wanted>>,
{
    post(
        move |State(desk): State<Arc<Desk>>, In(id): In<i64>, Meant(asked): Meant<Q>| async move {
            let wanted = asked.into();
            on_a_thread(&desk, move |office| {
                asking(office.plan_shop(id, shop, wanted)?)
            })
            .await
        },
    )
}

pub(super) fn not_planned() -> Failure {
    Failure::new(
        StatusCode::NOT_FOUND,
        "not-planned",
        "this shop was not planned yet",
        "ask for its plan",
    )
}

/// `GET /api/revisions/{id}/shops/assembly/today`.
pub(crate) async fn assembly_today(
    State(desk): State<Arc<Desk>>,
    In(id): In<i64>,
    Meant(rate): Meant<AtRate>,
) -> Result<Response, Failure> {
    on_a_thread(&desk, move |office| {
        Ok(json_text(office.today_text(id, rate)?))
    })
    .await
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
