//! Errors as the interface tells them: a code, a sentence, a way out.

use axum::Json;
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use book::Problem;
use serde::Serialize;

use crate::office::NoResult;
use crate::store::{Conflict, Revision, StoreError};

/// The body of every error.
#[derive(Debug, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub(crate) struct ErrorBody {
    /// What went wrong.
    pub error: ErrorFacts,
    /// The book's problems, where it is the book that cannot be computed.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub problems: Vec<Problem>,
    /// The cells that others have changed, where it is an edit.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub conflicts: Vec<Conflict>,
    /// The head with their changes.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub head: Option<Revision>,
}

/// An error in words.
#[derive(Debug, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub(crate) struct ErrorFacts {
    /// Stays the same across versions.
    pub code: String,
    /// What went wrong.
    pub message: String,
    /// What to do.
    pub mend: String,
}

/// An error with its status.
#[derive(Debug)]
pub(crate) struct Failure {
    status: StatusCode,
    body: Box<ErrorBody>,
}

impl Failure {
    pub(crate) fn new(
        status: StatusCode,
        code: &str,
        message: impl Into<String>,
        mend: &str,
    ) -> Self {
        Self {
            status,
            body: Box::new(ErrorBody {
                error: ErrorFacts {
                    code: code.to_owned(),
                    message: message.into(),
                    mend: mend.to_owned(),
                },
                problems: Vec::new(),
                conflicts: Vec::new(),
                head: None,
            }),
        }
    }

    pub(crate) fn message(&self) -> &str {
        &self.body.error.message
    }

    pub(crate) fn bad_request(message: impl Into<String>) -> Self {
        let mend = "send what the interface's description asks for";
        Self::new(StatusCode::BAD_REQUEST, "bad-request", message, mend)
    }

    pub(crate) fn not_found(message: impl Into<String>) -> Self {
        let mend = "go back to the list and choose one that is there";
        Self::new(StatusCode::NOT_FOUND, "not-found", message, mend)
    }

    pub(crate) fn problems(problems: Vec<Problem>) -> Self {
        let errors = problems
            .iter()
            .filter(|problem| problem.severity == book::Severity::Error)
            .count();
        let mut failure = Self::new(
            StatusCode::UNPROCESSABLE_ENTITY,
            "book-problems",
            format!("the book cannot be computed, errors in it: {errors}"),
            "mend the cells that are listed",
        );
        failure.body.problems = problems;
        failure
    }

    pub(crate) fn conflicts(head: Revision, conflicts: Vec<Conflict>) -> Self {
        let mut failure = Self::new(
            StatusCode::CONFLICT,
            "conflict",
            format!(
                "cells that others have changed in the meantime: {}",
                conflicts.len()
            ),
            "choose a text for each cell and save against the newest revision",
        );
        failure.body.conflicts = conflicts;
        failure.body.head = Some(head);
        failure
    }
}

impl From<StoreError> for Failure {
    fn from(error: StoreError) -> Self {
        let error = error.bare();
        let message = error.to_string();
        match error {
            StoreError::Unknown(_) => Self::not_found(message),
            StoreError::Refused(_) => Self::new(
                StatusCode::UNPROCESSABLE_ENTITY,
                "refused",
                message,
                "correct what the message names and send it again",
            ),
            StoreError::Locked => Self::new(
                StatusCode::SERVICE_UNAVAILABLE,
                "store-locked",
                message,
                "close the other program, then try again",
            ),
            StoreError::Full => Self::new(
                StatusCode::INSUFFICIENT_STORAGE,
                "store-full",
                message,
                "free some space on the disk, then try again",
            ),
            StoreError::Damaged(_) => Self::new(
                StatusCode::INTERNAL_SERVER_ERROR,
                "store-damaged",
                message,
                "stop the program and restore the last backup",
            ),
            _ => Self::new(
                StatusCode::INTERNAL_SERVER_ERROR,
                "store-failed",
                message,
                "try again; if it fails again, look at the disk",
            ),
        }
    }
}

impl From<NoResult> for Failure {
    fn from(error: NoResult) -> Self {
        match error {
            NoResult::Store(error) => error.into(),
            NoResult::Problems(problems) => Self::problems(problems),
        }
    }
}

impl IntoResponse for Failure {
    fn into_response(self) -> Response {
        (self.status, Json(self.body)).into_response()
    }
}
