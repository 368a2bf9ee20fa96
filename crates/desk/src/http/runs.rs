//! Runs of the plant: jobs, their progress, their answers.

use std::convert::Infallible;
use std::sync::Arc;
use std::time::Duration;

use axum::Json;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;
use axum::response::sse::{Event, KeepAlive, Sse};
use futures_util::stream::{self, Stream};
use serde::{Deserialize, Serialize};
use whole::findings::RunSettings;

use super::body::{Asked, In, Payload};
use super::failure::Failure;
use super::{Desk, json_text, on_a_thread};
use crate::jobs::{Job, JobView, QueueFull, RunKind};

/// A run to be made.
#[derive(Debug, Deserialize, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub(crate) struct NewRun {
    /// What is run.
    pub kind: RunKind,
    /// What differs from the kind's own settings.
    #[serde(default)]
    pub settings: Option<OwnSettings>,
}

/// Settings of one's own; what is absent is the kind's.
#[derive(Clone, Copy, Debug, Default, Deserialize, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(default, deny_unknown_fields)]
pub(crate) struct OwnSettings {
    /// Independent replications, 2 to 1,000.
    pub replications: Option<u32>,
    /// Weeks measured in each, 1 to 52.
    pub weeks: Option<u32>,
    /// Hours cut off before; absent has them found.
    pub warm_up_h: Option<f64>,
    /// The seed of all streams.
    pub seed: Option<u64>,
    /// Suspects put to trial, at most 10.
    pub trials: Option<usize>,
}

impl OwnSettings {
    fn over(self, kind: RunKind) -> Result<RunSettings, Failure> {
        let usual = kind.settings();
        let settings = RunSettings {
            replications: self.replications.unwrap_or(usual.replications),
            weeks: self.weeks.unwrap_or(usual.weeks),
            warm_up_h: self.warm_up_h.or(usual.warm_up_h),
            seed: self.seed.unwrap_or(usual.seed),
            level: usual.level,
            trials: self.trials.unwrap_or(usual.trials),
        };
        let hours_fit = settings
            .warm_up_h
            .is_none_or(|hours| (0.0..=8_760.0).contains(&hours));
        let fits = (2..=1_000).contains(&settings.replications)
            && (1..=52).contains(&settings.weeks)
            && settings.trials <= 10
            && hours_fit;
        if fits {
            return Ok(settings);
        }
        Err(Failure::new(
            StatusCode::UNPROCESSABLE_ENTITY,
            "settings",
            format!(
                "{} replications of {} weeks with {} trials and a warm-up of {:?} h",
                settings.replications, settings.weeks, settings.trials, settings.warm_up_h
            ),
            "ask for 2 to 1000 replications, 1 to 52 weeks, at most 10 trials and 8760 h",
        ))
    }
}

/// The job of a run.
#[derive(Debug, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub(crate) struct Asking {
    /// Its number.
    pub job: u64,
}

/// `POST /api/revisions/{id}/runs`.
pub(crate) async fn run(
    State(desk): State<Arc<Desk>>,
    In(id): In<i64>,
    Payload(new): Payload<NewRun>,
) -> Result<(StatusCode, Json<Asking>), Failure> {
    let settings = new.settings.unwrap_or_default().over(new.kind)?;
    on_a_thread(&desk, move |office| {
        asking(office.run(id, new.kind, settings)?)
    })
    .await
}

/// The job that was asked for, or why there is none.
pub(super) fn asking(
    asked: Result<Arc<Job>, QueueFull>,
) -> Result<(StatusCode, Json<Asking>), Failure> {
    let job = asked.map_err(|_| {
        Failure::new(
            StatusCode::SERVICE_UNAVAILABLE,
            "queue-full",
            "too many runs are waiting",
            "wait for some of them to end, or cancel what nobody needs",
        )
    })?;
    let job = job.view().id;
    Ok((StatusCode::ACCEPTED, Json(Asking { job })))
}

/// Which answer.
#[derive(Debug, Deserialize)]
pub(crate) struct WhichAnswer {
    kind: RunKind,
}

/// `GET /api/revisions/{id}/answer`.
pub(crate) async fn answer(
    State(desk): State<Arc<Desk>>,
    In(id): In<i64>,
    Asked(which): Asked<WhichAnswer>,
) -> Result<Response, Failure> {
    on_a_thread(&desk, move |office| {
        let text = office.answer_text(id, &which.kind.settings())?;
        let text = text.ok_or_else(|| {
            Failure::new(
                StatusCode::NOT_FOUND,
                "not-run",
                "this revision was not run yet",
                "ask for a run",
            )
        })?;
        Ok(json_text(text))
    })
    .await
}

/// `GET /api/jobs`.
pub(crate) async fn jobs(State(desk): State<Arc<Desk>>) -> Json<Vec<JobView>> {
    Json(desk.office.jobs.views())
}

fn no_job(id: u64) -> Failure {
    Failure::not_found(format!("there is no job {id}"))
}

/// `GET /api/jobs/{id}`.
pub(crate) async fn job(
    State(desk): State<Arc<Desk>>,
    In(id): In<u64>,
) -> Result<Json<JobView>, Failure> {
    let job = desk.office.jobs.find(id).ok_or_else(|| no_job(id))?;
    Ok(Json(job.view()))
}

/// `DELETE /api/jobs/{id}`.
pub(crate) async fn cancel(
    State(desk): State<Arc<Desk>>,
    In(id): In<u64>,
) -> Result<Json<JobView>, Failure> {
    let job = desk.office.jobs.cancel(id).ok_or_else(|| no_job(id))?;
    Ok(Json(job.view()))
}

/// `GET /api/jobs/{id}/events`: the job's state now and after every change,
/// until its end.
pub(crate) async fn events(
    State(desk): State<Arc<Desk>>,
    In(id): In<u64>,
) -> Result<Sse<impl Stream<Item = Result<Event, Infallible>>>, Failure> {
    let job = desk.office.jobs.find(id).ok_or_else(|| no_job(id))?;
    let mut view = job.follow();
    view.mark_changed();
    let begin = (view, desk.ending.clone(), false);
    let stream = stream::unfold(begin, |(mut view, mut ending, over)| async move {
        if over {
            return None;
        }
        tokio::select! {
            changed = view.changed() => changed.ok()?,
            _ = ending.wait_for(|ending| *ending) => return None,
        }
        let now = view.borrow_and_update().clone();
        let event = Event::default().json_data(&now).ok()?;
        Some((Ok(event), (view, ending, now.state.is_final())))
    });
    Ok(Sse::new(stream).keep_alive(KeepAlive::new().interval(Duration::from_secs(15))))
}
