//! The HTTP interface: JSON in and out, the page, the report.
//!
//! [`guard`] stands before every address. Handlers look up and word; what they
//! tell was made by the store and the solvers.

mod body;
mod export;
mod facts;
mod failure;
mod guard;
mod import;
mod learned;
mod logs;
mod next;
mod order;
mod page;
mod reports;
mod revisions;
pub(crate) mod routes;
mod runs;
mod session;
mod shop_files;
mod shops;
mod variants;

/// The types of bodies, for their description.
#[cfg(feature = "schema")]
pub(crate) mod wire {
    pub(crate) use super::facts::{Health, Schema};
    pub(crate) use super::failure::ErrorBody;
    pub(crate) use super::import::Imported;
    pub(crate) use super::logs::{RoleColumns, Uploaded, UploadedFile};
    pub(crate) use super::revisions::{BookProblems, BookReply, Compare};
    pub(crate) use super::runs::{Asking, NewRun};
    pub(crate) use super::session::{LoggedIn, Login};
    pub(crate) use super::variants::{EditReply, NewVariant, Restore, TakeBack};
    pub(crate) use crate::jobs::JobView;
}

use std::sync::Arc;

use axum::extract::DefaultBodyLimit;
use axum::http::header;
use axum::response::{IntoResponse, Response};
use axum::routing::get;
use axum::{Router, middleware};
use tokio::sync::watch;

use crate::office::Office;

pub(crate) use failure::Failure;
pub(crate) use guard::Names;
pub(crate) use session::Sessions;

/// Bytes of a small JSON body.
const FORM_BYTES: usize = 64 << 10;

/// What all handlers share.
pub(crate) struct Desk {
    pub(crate) office: Arc<Office>,
    pub(crate) names: Names,
    pub(crate) sessions: Sessions,
    /// Turns true when the program ends.
    pub(crate) ending: watch::Receiver<bool>,
    /// Imports at work at once: each may take some hundred megabytes.
    pub(crate) imports: tokio::sync::Semaphore,
}

/// All addresses.
pub(crate) fn router(desk: Arc<Desk>) -> Router {
    let routes = routes::all().into_iter();
    let api = routes
        .fold(Router::new(), |api, (route, handler)| {
            api.route(route.path, handler)
        })
        .fallback(no_such_address)
        .method_not_allowed_fallback(no_such_method);
    Router::new()
        .nest("/api", api)
        .route("/login", get(session::form).post(session::form_sent))
        .fallback(page::page)
        .layer(DefaultBodyLimit::max(FORM_BYTES))
        .layer(middleware::from_fn_with_state(
            Arc::clone(&desk),
            guard::guard,
        ))
        .with_state(desk)
}

async fn no_such_address() -> Failure {
    Failure::not_found("there is no such address")
}

async fn no_such_method() -> Failure {
    Failure::new(
        axum::http::StatusCode::METHOD_NOT_ALLOWED,
        "method",
        "this address does not take the method",
        "look into the interface's description",
    )
}

/// Work that waits for the disk or computes, off the threads that talk.
pub(crate) async fn on_a_thread<T: Send + 'static>(
    desk: &Desk,
    work: impl FnOnce(&Office) -> Result<T, Failure> + Send + 'static,
) -> Result<T, Failure> {
    let office = Arc::clone(&desk.office);
    let done = tokio::task::spawn_blocking(move || work(&office)).await;
    done.unwrap_or_else(|_| {
        Err(Failure::new(
            axum::http::StatusCode::INTERNAL_SERVER_ERROR,
            "broke-off",
            "the work broke off; this is a fault of the program",
            "try again, and report what you did",
        ))
    })
}

/// A JSON text made elsewhere.
pub(crate) fn json_text(text: impl Into<axum::body::Body>) -> Response {
    let kind = [(header::CONTENT_TYPE, "application/json")];
    (kind, text.into()).into_response()
}
