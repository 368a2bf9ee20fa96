//! What the program knows without a book: itself, the tables' description, the
//! formula sheet.

use std::collections::BTreeMap;
use std::sync::Arc;

use axum::Json;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;
use formulas::{Formula, Working};
use serde::Serialize;

use super::body::{In, Payload};
use super::failure::Failure;
use super::{Desk, json_text, on_a_thread};
use crate::office::ENGINE;

/// That the program is there.
#[derive(Debug, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub(crate) struct Health {
    /// The program's version.
    pub version: String,
    /// The engine's: answers of another engine are not shown.
    pub engine: String,
    /// The store's schema.
    pub schema: i64,
}

/// `GET /api/health`.
pub(crate) async fn health(State(desk): State<Arc<Desk>>) -> Result<Json<Health>, Failure> {
    let schema = on_a_thread(&desk, |office| Ok(office.store.schema()?)).await?;
    Ok(Json(Health {
        version: env!("CARGO_PKG_VERSION").to_owned(),
        engine: ENGINE.to_owned(),
        schema,
    }))
}

/// A table's description.
#[derive(Debug, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub(crate) struct TableSchema {
    /// The table's name.
    pub name: &'static str,
    /// The same for people.
    pub title: String,
    /// What a row is.
    pub doc: &'static str,
    /// The columns that tell its rows apart.
    pub key: &'static [&'static str],
    /// The columns in their usual order.
    pub columns: &'static [book::Column],
}

/// The tables of the book.
#[derive(Debug, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub(crate) struct Schema {
    /// In the order in which metal flows.
    pub tables: Vec<TableSchema>,
}

/// `GET /api/schema`.
pub(crate) async fn schema() -> Json<Schema> {
    let tables = book::schema().map(|table| TableSchema {
        name: table.name,
        title: title(table.name),
        doc: table.doc,
        key: table.key,
        columns: table.columns,
    });
    Json(Schema {
        tables: tables.collect(),
    })
}

fn title(name: &str) -> String {
    let mut letters = name.chars();
    let first = letters.next().map(|first| first.to_ascii_uppercase());
    first
        .into_iter()
        .chain(letters)
        .collect::<String>()
        .replace('_', " ")
}

/// `GET /api/formulas`.
pub(crate) async fn formulas() -> Json<Vec<&'static Formula>> {
    Json(formulas::all().collect())
}

/// `POST /api/formulas/{name}`.
pub(crate) async fn compute(
    In(name): In<String>,
    Payload(values): Payload<BTreeMap<String, String>>,
) -> Result<Json<Working>, Failure> {
    let formula = formulas::find(&name).map_err(|error| Failure::not_found(error.to_string()))?;
    let pairs: Vec<(&str, &str)> = values
        .iter()
        .map(|(symbol, text)| (symbol.as_str(), text.as_str()))
        .collect();
    let working = formula.compute(&pairs).map_err(|refusal| {
        Failure::new(
            StatusCode::UNPROCESSABLE_ENTITY,
            "formula-refused",
            refusal.to_string(),
            "correct the values that the message names",
        )
    })?;
    Ok(Json(working))
}

/// `GET /api/openapi.json`: made from the code, see the tests.
pub(crate) async fn openapi() -> Response {
    json_text(include_str!("../../openapi.json"))
}
