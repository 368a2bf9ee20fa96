//! What to do next: found by a job, kept, and sent as it is.

use std::sync::Arc;

use axum::Json;
use axum::extract::State;
use axum::http::StatusCode;
use axum::routing::{MethodRouter, get, post};
use serde::Deserialize;
use serde::de::DeserializeOwned;
use whole::improve::Goal;

use super::body::{In, Meant, Question};
use super::export::{XLSX, download, file_name, refused};
use super::failure::Failure;
use super::runs::{Asking, asking};
use super::{Desk, json_text, on_a_thread};
use crate::jobs::{Next, Picked};
use crate::report::WorkbookError;

/// More cars a week than any plant makes.
const MOST_CARS: f64 = 1e6;
/// More money a year than any plant spends on assembly.
const MOST_MONEY: f64 = 1e12;
/// More days than any car takes.
const MOST_DAYS: f64 = 1e4;

/// What is to be reached.
#[derive(Clone, Copy, Debug, Deserialize)]
pub(crate) struct WhichGoal {
    cars: Option<f64>,
    days: Option<f64>,
}

impl Question for WhichGoal {
    type Meant = Goal;

    fn meant(self) -> Result<Goal, Failure> {
        let fits = (self.cars.is_some() || self.days.is_some())
            && self.cars.is_none_or(|cars| cars > 0.0 && cars <= MOST_CARS)
            && self.days.is_none_or(|days| days > 0.0 && days <= MOST_DAYS);
        if fits {
            return Ok(Goal {
                cars_per_week: self.cars,
                days: self.days,
            });
        }
        Err(Failure::new(
            StatusCode::UNPROCESSABLE_ENTITY,
            "goal",
            format!("cars a week {:?}, days {:?}", self.cars, self.days),
            "ask for cars a week, days or both: more than 0, at most 1000000 cars and 10000 days",
        ))
    }
}

/// The yearly budget for people, robots, tools and stations of all lines.
#[derive(Clone, Copy, Debug, Deserialize)]
pub(crate) struct WithBudget {
    money: f64,
}

impl Question for WithBudget {
    type Meant = f64;

    fn meant(self) -> Result<f64, Failure> {
        if self.money > 0.0 && self.money <= MOST_MONEY {
            return Ok(self.money);
        }
        Err(Failure::new(
            StatusCode::UNPROCESSABLE_ENTITY,
            "budget",
            format!("a budget of {} a year", self.money),
            "ask for more than 0 and at most 1000000000000 a year",
        ))
    }
}

/// Which ideas, by their numbers with commas between.
#[derive(Debug, Deserialize)]
pub(crate) struct WhichIdeas {
    ideas: String,
}

impl Question for WhichIdeas {
    type Meant = Picked;

    fn meant(self) -> Result<Picked, Failure> {
        let ids: Result<Vec<u32>, _> = self.ideas.split(',').map(|id| id.trim().parse()).collect();
        ids.ok().and_then(|ids| Picked::of(&ids)).ok_or_else(|| {
            Failure::new(
                StatusCode::UNPROCESSABLE_ENTITY,
                "ideas",
                format!("ideas is `{}`", self.ideas),
                "name 1 to 12 ideas of the ranking by their numbers, each once",
            )
        })
    }
}

/// What was found out, as it was kept: `GET`.
pub(crate) fn found<Q: Question>(next: fn(Q::Meant) -> Next) -> MethodRouter<Arc<Desk>> {
    get(
        move |State(desk): State<Arc<Desk>>, In(id): In<i64>, Meant(asked): Meant<Q>| async move {
            let next = next(asked);
            on_a_thread(&desk, move |office| {
                let text = office.next_text(id, next)?;
                Ok(json_text(text.ok_or_else(not_found_out)?))
            })
            .await
        },
    )
}

/// Has it found out: `POST`.
pub(crate) fn asks<Q: Question>(next: fn(Q::Meant) -> Next) -> MethodRouter<Arc<Desk>> {
    post(
        move |State(desk): State<Arc<Desk>>, In(id): In<i64>, Meant(asked): Meant<Q>| async move {
            let next = next(asked);
            on_a_thread(&desk, move |office| asking(office.find_out(id, next)?)).await
        },
    )
}

/// `POST /api/revisions/{id}/next/together`.
pub(crate) async fn ask_together(
    State(desk): State<Arc<Desk>>,
    In(id): In<i64>,
    Meant(picked): Meant<WhichIdeas>,
) -> Result<(StatusCode, Json<Asking>), Failure> {
    on_a_thread(&desk, move |office| {
        if office.picked(id, picked)?.is_none() {
            return Err(Failure::new(
                StatusCode::NOT_FOUND,
                "no-such-idea",
                "the ideas of this revision were not ranked, or are others",
                "have the ideas ranked, and choose among them",
            ));
        }
        asking(office.find_out(id, Next::Together(picked))?)
    })
    .await
}

fn not_found_out() -> Failure {
    Failure::new(
        StatusCode::NOT_FOUND,
        "not-found-out",
        "nobody has asked this of this revision yet",
        "ask for it with POST",
    )
}

/// What was found out as a workbook: `GET`.
pub(crate) fn workbook<Q: Question, T: DeserializeOwned + 'static>(
    next: fn(Q::Meant) -> Next,
    write: fn(&T) -> Result<Vec<u8>, WorkbookError>,
) -> MethodRouter<Arc<Desk>> {
    get(
        move |State(desk): State<Arc<Desk>>, In(id): In<i64>, Meant(asked): Meant<Q>| async move {
            let next = next(asked);
            on_a_thread(&desk, move |office| {
                let (revision, content, _) = office.store.revision(id)?;
                let found: Option<T> = office.next_found(id, next)?;
                let bytes = write(&found.ok_or_else(not_found_out)?).map_err(refused)?;
                let what = format!("{}-{}", content.name, next.word());
                let name = file_name(&what, revision.id, "xlsx");
                Ok(download(XLSX, &name, bytes))
            })
            .await
        },
    )
}
