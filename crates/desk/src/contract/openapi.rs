//! The description after OpenAPI 3.1 (OpenAPI Initiative, 2021).

use serde_json::{Map, Value, json};

use super::schemas::{self, PLACE};
use crate::http::routes::{Media, Query, Route, all};

/// The interface's description as JSON text.
pub fn openapi() -> String {
    let mut paths: Map<String, Value> = Map::new();
    for (route, _) in all() {
        let path = paths
            .entry(format!("/api{}", route.path))
            .or_insert_with(|| json!({}));
        path[route.method.word()] = operation(&route);
    }
    let description = json!({
        "openapi": "3.1.0",
        "info": {
            "title": "Linewright desk",
            "version": env!("CARGO_PKG_VERSION"),
            "description": "The book of a plant in revisions, its rate plan, its runs. Every \
                error has a code that stays the same, a sentence and a way out.",
        },
        "servers": [{ "url": "/" }],
        "paths": paths,
        "components": { "schemas": schemas::all() },
    });
    // A value of maps, lists and text can always be written.
    serde_json::to_string_pretty(&description).unwrap_or_default() + "\n"
}

fn operation(route: &Route) -> Value {
    let mut replies = json!({
        "default": {
            "description": "What went wrong, and the way out",
            "content": content(Media::Json("ErrorBody")),
        },
    });
    replies[route.status.to_string()] = reply(route.reply);
    let mut operation = json!({
        "operationId": operation_id(route),
        "summary": route.about,
        "parameters": parameters(route),
        "responses": replies,
    });
    if !matches!(route.body, Media::Nothing) {
        operation["requestBody"] = json!({ "required": true, "content": content(route.body) });
    }
    operation
}

/// `post /variants/{variant}/edits` is `postVariantsVariantEdits`.
fn operation_id(route: &Route) -> String {
    let words = route.path.split(|c: char| !c.is_ascii_alphanumeric());
    let mut id = route.method.word().to_owned();
    for word in words {
        let mut letters = word.chars();
        id.extend(letters.next().map(|first| first.to_ascii_uppercase()));
        id.push_str(letters.as_str());
    }
    id
}

fn parameters(route: &Route) -> Vec<Value> {
    let in_path = route.path.split('/').filter_map(|part| {
        let name = part.strip_prefix('{')?.strip_suffix('}')?;
        let is_text = matches!(name, "name" | "figure");
        let schema = if is_text {
            json!({ "type": "string" })
        } else {
            json!({ "type": "integer", "format": "int64", "minimum": 1 })
        };
        Some(json!({ "name": name, "in": "path", "required": true, "schema": schema }))
    });
    in_path.chain(route.query.iter().map(in_query)).collect()
}

fn in_query(query: &Query) -> Value {
    let schema = if query.words.is_empty() {
        json!({ "type": "string" })
    } else {
        json!({ "type": "string", "enum": query.words })
    };
    json!({
        "name": query.name,
        "in": "query",
        "required": query.needed,
        "description": query.about,
        "schema": schema,
    })
}

fn reply(media: Media) -> Value {
    match media {
        Media::Nothing => json!({ "description": "Done" }),
        _ => json!({ "description": "As asked", "content": content(media) }),
    }
}

fn content(media: Media) -> Value {
    let json_of = |schema: Value| json!({ "application/json": { "schema": schema } });
    let named = |name: &str| json!({ "$ref": format!("{PLACE}{name}") });
    match media {
        Media::Nothing => json!({}),
        Media::Json(name) => json_of(named(name)),
        Media::List(name) => json_of(json!({ "type": "array", "items": named(name) })),
        Media::Texts => json_of(json!({
            "type": "object",
            "additionalProperties": { "type": "string" },
        })),
        Media::AnyJson => json_of(json!({ "type": "object" })),
        Media::Bytes(kinds) => {
            let binary = json!({ "schema": { "type": "string", "format": "binary" } });
            let kinds = kinds
                .iter()
                .map(|kind| ((*kind).to_owned(), binary.clone()));
            Value::Object(kinds.collect())
        }
        Media::Events(name) => json!({
            "text/event-stream": {
                "schema": {
                    "type": "string",
                    "description": format!("Each event's data is a {name} as JSON"),
                },
            },
        }),
    }
}
