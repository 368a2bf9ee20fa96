//! Variants and what makes new revisions of them.

use std::sync::Arc;

use axum::Json;
use axum::extract::State;
use axum::http::StatusCode;
use book::Problem;
use serde::{Deserialize, Serialize};
use serde_json::value::RawValue;

use super::body::{Asked, In, Payload};
use super::failure::Failure;
use super::{Desk, on_a_thread};
use crate::office::{NoResult, Office, PlanPart};
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
    /// What the change means, where that was asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub outcome: Option<Outcome>,
}

/// What a revision's book says of itself and of its plan: all that a page needs
/// after a key, in one answer.
#[derive(Debug, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub(crate) struct Outcome {
    /// All that is wrong with the book; rows are named by line.
    pub problems: Vec<Problem>,
    /// The plan without its workings; none where the book cannot be planned.
    #[cfg_attr(feature = "schema", schemars(with = "Option<whole::plan::RatePlan>"))]
    pub plan: Option<Box<RawValue>>,
    /// Why there is no plan.
    pub plan_problems: Vec<Problem>,
}

/// Whether an edit is answered with what it means.
#[derive(Debug, Deserialize)]
pub(crate) struct HowAnswered {
    #[serde(default)]
    outcome: WithOutcome,
}

#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "snake_case")]
enum WithOutcome {
    #[default]
    None,
    Plan,
}

/// `POST /api/variants/{variant}/edits`.
pub(crate) async fn edit(
    State(desk): State<Arc<Desk>>,
    In(variant): In<i64>,
    Asked(how): Asked<HowAnswered>,
    Payload(edit): Payload<Edit>,
) -> Result<Json<EditReply>, Failure> {
    on_a_thread(&desk, move |office| {
        let (revision, merged) = saved(office.store.edit(variant, &edit)?)?;
        Ok(Json(EditReply {
            outcome: match how.outcome {
                WithOutcome::None => None,
                WithOutcome::Plan => outcome(office, revision.id),
            },
            revision,
            merged,
        }))
    })
    .await
}

fn saved(edited: Edited) -> Result<(Revision, bool), Failure> {
    match edited {
        Edited::Saved { revision, merged } => Ok((revision, merged)),
        Edited::Conflicts { head, conflicts } => Err(Failure::conflicts(head, conflicts)),
    }
}

/// None where the store fails: the edit is saved, and must not look as if it
/// were not.
fn outcome(office: &Office, revision: i64) -> Option<Outcome> {
    let (_, checked) = office.checked(revision).ok()?;
    let (plan, plan_problems) = match office.plan_text(revision, PlanPart::Summary) {
        Ok(text) => {
            let text = String::from_utf8(text.to_vec()).ok()?;
            (Some(RawValue::from_string(text).ok()?), Vec::new())
        }
        Err(NoResult::Problems(problems)) => (None, problems),
        Err(NoResult::Store(_)) => return None,
    };
    Some(Outcome {
        problems: checked.problems.clone(),
        plan,
        plan_problems,
    })
}

/// A revision to be taken back.
#[derive(Debug, Deserialize, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub(crate) struct TakeBack {
    /// Its number.
    pub revision: i64,
    /// Who takes it back.
    pub author: String,
    /// Why.
    #[serde(default)]
    pub note: String,
}

/// `POST /api/variants/{variant}/take-back`.
pub(crate) async fn take_back(
    State(desk): State<Arc<Desk>>,
    In(variant): In<i64>,
    Payload(asked): Payload<TakeBack>,
) -> Result<Json<EditReply>, Failure> {
    on_a_thread(&desk, move |office| {
        let by = Author::new(&asked.author, &asked.note);
        let edited = office.store.take_back(variant, asked.revision, &by)?;
        let (revision, merged) = saved(edited)?;
        Ok(Json(EditReply {
            revision,
            merged,
            outcome: None,
        }))
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
