//! Variants and what makes new revisions of them.

use std::sync::Arc;

use axum::Json;
use axum::extract::State;
use axum::http::StatusCode;
use serde::{Deserialize, Serialize};

use super::body::{In, Payload};
use super::failure::Failure;
use super::{Desk, on_a_thread};
use crate::store::{Author, Edit, Edited, Revision, Variant};

/// `GET /api/variants`.
pub(crate) async fn list(State(desk): State<Arc<Desk>>) -> Result<Json<Vec<Variant>>, Failure> {
    on_a_thread(&desk, |office| Ok(Json(office.store.variants()?))).await
}

/// A variant to be made.
#[derive(Debug, Deserialize, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub(crate) struct NewVariant {
    /// Its name, not used before.
    pub name: String,
    /// The revision it begins with; none for an empty book.
    #[serde(default)]
    pub from_revision: Option<i64>,
    /// Who makes it.
    pub author: String,
    /// Why.
    #[serde(default)]
    pub note: String,
}

/// `POST /api/variants`.
pub(crate) async fn add(
    State(desk): State<Arc<Desk>>,
    Payload(new): Payload<NewVariant>,
) -> Result<(StatusCode, Json<Variant>), Failure> {
    on_a_thread(&desk, move |office| {
        let by = Author::new(&new.author, &new.note);
        let variant = office
            .store
            .new_variant(&new.name, new.from_revision, &by)?;
        Ok((StatusCode::CREATED, Json(variant)))
    })
    .await
}

/// `GET /api/variants/{variant}/revisions`.
pub(crate) async fn revisions(
    State(desk): State<Arc<Desk>>,
    In(variant): In<i64>,
) -> Result<Json<Vec<Revision>>, Failure> {
    on_a_thread(&desk, move |office| {
        Ok(Json(office.store.revisions(variant)?))
    })
    .await
}

/// What became of an edit.
#[derive(Debug, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub(crate) struct EditReply {
    /// The new head; the old one when nothing changed.
    pub revision: Revision,
    /// Whether others' edits were merged in.
    pub merged: bool,
}

/// `POST /api/variants/{variant}/edits`.
pub(crate) async fn edit(
    State(desk): State<Arc<Desk>>,
    In(variant): In<i64>,
    Payload(edit): Payload<Edit>,
) -> Result<Json<EditReply>, Failure> {
    on_a_thread(&desk, move |office| {
        match office.store.edit(variant, &edit)? {
            Edited::Saved { revision, merged } => Ok(Json(EditReply { revision, merged })),
            Edited::Conflicts { head, conflicts } => Err(Failure::conflicts(head, conflicts)),
        }
    })
    .await
}

/// A revision to come back to.
#[derive(Debug, Deserialize, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub(crate) struct Restore {
    /// Its number.
    pub revision: i64,
    /// Who restores it.
    pub author: String,
    /// Why.
    #[serde(default)]
    pub note: String,
}

/// `POST /api/variants/{variant}/restore`.
pub(crate) async fn restore(
    State(desk): State<Arc<Desk>>,
    In(variant): In<i64>,
    Payload(asked): Payload<Restore>,
) -> Result<Json<Revision>, Failure> {
    on_a_thread(&desk, move |office| {
        let by = Author::new(&asked.author, &asked.note);
        let revision = office
            .store
            .restore_revision(variant, asked.revision, &by)?;
        Ok(Json(revision))
    })
    .await
}
