//! What to do next: found by a job, kept, and sent as it is.

use std::sync::Arc;

use axum::Json;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;
use serde::Deserialize;
use whole::improve::buffers::Banks;
use whole::improve::{Goal, Improve, Reach};

use super::body::{Asked, In};
use super::export::{XLSX, download, file_name, refused};
use super::failure::Failure;
use super::runs::{Asking, asking};
use super::{Desk, json_text, on_a_thread};
use crate::jobs::{Next, Picked};
use crate::report::{self, WorkbookError};

/// More cars a week than any plant makes.
const MOST_CARS: f64 = 1e6;
/// More money a year than any plant spends on assembly.
const MOST_MONEY: f64 = 1e12;
/// More days than any car takes.
const MOST_DAYS: f64 = 1e4;

/// `GET /api/revisions/{id}/next/improve`.
pub(crate) async fn improve(desk: State<Arc<Desk>>, id: In<i64>) -> Result<Response, Failure> {
    found(desk, id, Next::Improve).await
}

/// `POST /api/revisions/{id}/next/improve`.
pub(crate) async fn ask_improve(
    desk: State<Arc<Desk>>,
    id: In<i64>,
) -> Result<(StatusCode, Json<Asking>), Failure> {
    ask(desk, id, Next::Improve).await
}

/// `GET /api/revisions/{id}/next/banks`.
pub(crate) async fn banks(desk: State<Arc<Desk>>, id: In<i64>) -> Result<Response, Failure> {
    found(desk, id, Next::Banks).await
}

/// `POST /api/revisions/{id}/next/banks`.
pub(crate) async fn ask_banks(
    desk: State<Arc<Desk>>,
    id: In<i64>,
) -> Result<(StatusCode, Json<Asking>), Failure> {
    ask(desk, id, Next::Banks).await
}

/// What is to be reached.
#[derive(Clone, Copy, Debug, Deserialize)]
pub(crate) struct WhichGoal {
    cars: Option<f64>,
    days: Option<f64>,
}

impl WhichGoal {
    fn goal(self) -> Result<Next, Failure> {
        let fits = (self.cars.is_some() || self.days.is_some())
            && self.cars.is_none_or(|cars| cars > 0.0 && cars <= MOST_CARS)
            && self.days.is_none_or(|days| days > 0.0 && days <= MOST_DAYS);
        if fits {
            return Ok(Next::Reach(Goal {
                cars_per_week: self.cars,
                days: self.days,
            }));
        }
        Err(Failure::new(
            StatusCode::UNPROCESSABLE_ENTITY,
            "goal",
            format!("cars a week {:?}, days {:?}", self.cars, self.days),
            "ask for cars a week, days or both: more than 0, at most 1000000 cars and 10000 days",
        ))
    }
}

/// `GET /api/revisions/{id}/next/reach`.
pub(crate) async fn reach(
    desk: State<Arc<Desk>>,
    id: In<i64>,
    Asked(goal): Asked<WhichGoal>,
) -> Result<Response, Failure> {
    found(desk, id, goal.goal()?).await
}

/// `POST /api/revisions/{id}/next/reach`.
pub(crate) async fn ask_reach(
    desk: State<Arc<Desk>>,
    id: In<i64>,
    Asked(goal): Asked<WhichGoal>,
) -> Result<(StatusCode, Json<Asking>), Failure> {
    ask(desk, id, goal.goal()?).await
}

/// The yearly budget for people, robots, tools and stations of all lines.
#[derive(Clone, Copy, Debug, Deserialize)]
pub(crate) struct WithBudget {
    money: f64,
}

impl WithBudget {
    fn next(self) -> Result<Next, Failure> {
        if self.money > 0.0 && self.money <= MOST_MONEY {
            return Ok(Next::Budget(self.money));
        }
        Err(Failure::new(
            StatusCode::UNPROCESSABLE_ENTITY,
            "budget",
            format!("a budget of {} a year", self.money),
            "ask for more than 0 and at most 1000000000000 a year",
        ))
    }
}

/// `GET /api/revisions/{id}/next/budget`.
pub(crate) async fn budget(
    desk: State<Arc<Desk>>,
    id: In<i64>,
    Asked(with): Asked<WithBudget>,
) -> Result<Response, Failure> {
    found(desk, id, with.next()?).await
}

/// `POST /api/revisions/{id}/next/budget`.
pub(crate) async fn ask_budget(
    desk: State<Arc<Desk>>,
    id: In<i64>,
    Asked(with): Asked<WithBudget>,
) -> Result<(StatusCode, Json<Asking>), Failure> {
    ask(desk, id, with.next()?).await
}

/// Which ideas, by their numbers with commas between.
#[derive(Debug, Deserialize)]
pub(crate) struct WhichIdeas {
    ideas: String,
}

impl WhichIdeas {
    fn picked(&self) -> Result<Next, Failure> {
        let ids: Result<Vec<u32>, _> = self.ideas.split(',').map(|id| id.trim().parse()).collect();
        let picked = ids.ok().and_then(|ids| Picked::of(&ids));
        picked.map(Next::Together).ok_or_else(|| {
            Failure::new(
                StatusCode::UNPROCESSABLE_ENTITY,
                "ideas",
                format!("ideas is `{}`", self.ideas),
                "name 1 to 12 ideas of the ranking by their numbers, each once",
            )
        })
    }
}

/// `GET /api/revisions/{id}/next/together`.
pub(crate) async fn together(
    desk: State<Arc<Desk>>,
    id: In<i64>,
    Asked(which): Asked<WhichIdeas>,
) -> Result<Response, Failure> {
    found(desk, id, which.picked()?).await
}

/// `POST /api/revisions/{id}/next/together`.
pub(crate) async fn ask_together(
    State(desk): State<Arc<Desk>>,
    In(id): In<i64>,
    Asked(which): Asked<WhichIdeas>,
) -> Result<(StatusCode, Json<Asking>), Failure> {
    let next = which.picked()?;
    on_a_thread(&desk, move |office| {
        let Next::Together(picked) = next else {
            return Err(not_found_out());
        };
        if office.picked(id, picked)?.is_none() {
            return Err(Failure::new(
                StatusCode::NOT_FOUND,
                "no-such-idea",
                "the ideas of this revision were not ranked, or are others",
                "have the ideas ranked, and choose among them",
            ));
        }
        asking(office.find_out(id, next)?)
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

async fn found(
    State(desk): State<Arc<Desk>>,
    In(id): In<i64>,
    next: Next,
) -> Result<Response, Failure> {
    on_a_thread(&desk, move |office| {
        let text = office.next_text(id, next)?;
        Ok(json_text(text.ok_or_else(not_found_out)?))
    })
    .await
}

async fn ask(
    State(desk): State<Arc<Desk>>,
    In(id): In<i64>,
    next: Next,
) -> Result<(StatusCode, Json<Asking>), Failure> {
    on_a_thread(&desk, move |office| asking(office.find_out(id, next)?)).await
}

/// `GET /api/revisions/{id}/next/improve.xlsx`.
pub(crate) async fn improve_workbook(
    desk: State<Arc<Desk>>,
    id: In<i64>,
) -> Result<Response, Failure> {
    workbook(desk, id, Next::Improve, |found: Improve| {
        report::improve_xlsx(&found)
    })
    .await
}

/// `GET /api/revisions/{id}/next/banks.xlsx`.
pub(crate) async fn banks_workbook(
    desk: State<Arc<Desk>>,
    id: In<i64>,
) -> Result<Response, Failure> {
    workbook(desk, id, Next::Banks, |found: Banks| {
        report::banks_xlsx(&found)
    })
    .await
}

/// `GET /api/revisions/{id}/next/reach.xlsx`.
pub(crate) async fn reach_workbook(
    desk: State<Arc<Desk>>,
    id: In<i64>,
    Asked(goal): Asked<WhichGoal>,
) -> Result<Response, Failure> {
    workbook(desk, id, goal.goal()?, |found: Reach| {
        report::reach_xlsx(&found)
    })
    .await
}

async fn workbook<T: serde::de::DeserializeOwned + 'static>(
    State(desk): State<Arc<Desk>>,
    In(id): In<i64>,
    next: Next,
    write: fn(T) -> Result<Vec<u8>, WorkbookError>,
) -> Result<Response, Failure> {
    on_a_thread(&desk, move |office| {
        let (revision, content, _) = office.store.revision(id)?;
        let found: Option<T> = office.next_found(id, next)?;
        let bytes = write(found.ok_or_else(not_found_out)?);
        let bytes = bytes.map_err(|error| refused(&error.to_string()))?;
        let what = format!("{}-{}", content.name, next.word());
        let name = file_name(&what, revision.id, "xlsx");
        Ok(download(XLSX, &name, bytes))
    })
    .await
}
