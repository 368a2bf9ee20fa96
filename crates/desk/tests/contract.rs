//! The interface's description and the page's types are those of the code.
//!
//! Runs with the feature `schema`.
#![allow(
    clippy::disallowed_methods,
    clippy::expect_used,
    clippy::panic,
    clippy::unwrap_used,
    reason = "a test reads the files that it compares"
)]

mod support;

use std::path::Path;

use serde_json::Value;

fn committed(path: &str) -> String {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join(path);
    let text = std::fs::read_to_string(&path).expect("a committed file");
    text.replace("\r\n", "\n")
}

fn fresh(path: &str, made: &str) {
    assert!(
        committed(path) == made,
        "{path} is not that of the code; run `cargo run -p linewright-desk --features schema \
         --example contract`"
    );
}

#[test]
fn the_interfaces_description_is_fresh() {
    fresh("openapi.json", &desk::contract::openapi());
}

#[test]
fn the_pages_types_are_fresh() {
    fresh("../../web/src/api/types.ts", &desk::contract::types());
}

#[test]
fn every_reference_of_the_description_leads_somewhere() {
    let description: Value = serde_json::from_str(&desk::contract::openapi()).expect("JSON");
    let mut ahead = vec![&description];
    let mut seen = 0;
    while let Some(here) = ahead.pop() {
        match here {
            Value::Object(fields) => ahead.extend(fields.values()),
            Value::Array(items) => ahead.extend(items),
            _ => {}
        }
        if let Some(place) = here["$ref"].as_str() {
            let place = place.strip_prefix('#').expect("a place in this document");
            assert!(description.pointer(place).is_some(), "{place}");
            seen += 1;
        }
    }
    assert!(seen > 50);
}

#[test]
fn every_address_of_the_description_is_served() {
    let desk = support::Served::at("127.0.0.1:0", None, |_| ());
    let description = desk.get("/api/openapi.json").good();
    let paths = description["paths"].as_object().expect("paths");
    for (path, operations) in paths {
        let path = path
            .replace("{name}", "takt")
            .replace("{figure}", "x")
            .replace(['{', '}'], "")
            .replace("variants/variant", "variants/1")
            .replace("/id", "/1")
            .replace("/a/compare/b", "/1/compare/1");
        for method in operations.as_object().expect("methods").keys() {
            let reply = desk.ask(&method.to_uppercase(), &path, &[], b"");
            let nowhere = reply.status == 405
                || (reply.status == 404 && reply.text().contains("no such address"));
            assert!(!nowhere, "{method} {path}: {}", reply.text());
        }
    }
}
