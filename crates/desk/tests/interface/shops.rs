//! The plans of the shops, at the book's rate and at others.

use serde_json::{Value, json};

use crate::support::Served;
use crate::{cell, edit, set};

#[test]
fn a_shops_plan_is_taken_along_as_workbook_drawings_and_calendar() {
    let desk = Served::demo();
    let shops = "/api/revisions/2/shops";
    for early in [
        "coil.xlsx",
        "press.xlsx",
        "press.ics",
        "coil/strip.svg?part=roof",
    ] {
        let reply = desk.get(&format!("{shops}/{early}"));
        assert_eq!(
            (reply.status, reply.code().as_str()),
            (404, "not-planned"),
            "{early}: files are made of a plan, and there is none yet"
        );
    }
    for shop in ["press", "coil"] {
        let asked = desk
            .ask("POST", &format!("{shops}/{shop}"), &[], b"")
            .good();
        assert_eq!(desk.job(&asked["job"])["state"], "done");
    }
    let coil = desk.get(&format!("{shops}/coil")).good();
    let part = coil["parts"][0]["part"].as_str().unwrap();
    let strip = format!("part={}&layout=1", part.replace(' ', "%20"));
    for (path, name, begins) in [
        ("coil.xlsx".to_owned(), "coils-r2.xlsx", "PK"),
        ("press.xlsx".to_owned(), "press-r2.xlsx", "PK"),
        ("press.ics".to_owned(), "dies-r2.ics", "BEGIN:VCALENDAR"),
        (
            format!("coil/strip.svg?{strip}"),
            "layout-1-r2.svg",
            "<svg ",
        ),
        (format!("coil/strip.dxf?{strip}"), "layout-1-r2.dxf", "0"),
    ] {
        let file = desk.get(&format!("{shops}/{path}"));
        assert_eq!(file.status, 200, "{path}: {}", file.text());
        let told = file.header("content-disposition").unwrap();
        assert!(told.contains("attachment") && told.contains(name), "{told}");
        let text = file.text();
        assert!(text.trim_start().starts_with(begins), "{path}: {text:.40}");
    }
    let dated = desk.get(&format!("{shops}/press.ics?monday=2026-01-05"));
    assert!(dated.text().contains("DTSTART:20260105T"));
    let tuesday = desk.get(&format!("{shops}/press.ics?monday=2026-01-06"));
    assert_eq!(tuesday.status, 400, "a week begins on Monday");
    assert!(tuesday.text().contains("2026-01-06"));
    for (query, told) in [
        ("part=no%20such%20part", "no such part"),
        (&format!("{strip}99"), "has no layout 199"),
        (&strip.replace("layout=1", "layout=0"), "has no layout 0"),
    ] {
        let refused = desk.get(&format!("{shops}/coil/strip.svg?{query}"));
        assert_eq!(refused.status, 404, "{query}");
        assert!(refused.text().contains(told), "{}", refused.text());
    }
}

#[test]
fn a_moved_task_shows_at_once_and_the_balance_does_not_wait_behind_a_long_run() {
    let desk = Served::demo();
    let settings = json!({"replications": 1000, "weeks": 52});
    let run = json!({"kind": "precise", "settings": settings});
    let run = desk.post("/api/revisions/2/runs", &run).good()["job"].clone();
    let shops = |id: &Value| format!("/api/revisions/{id}/shops/assembly");
    let today = desk.get(&format!("{}/today", shops(&json!(2)))).good();
    let line = today.as_array().unwrap().iter();
    let line = line.clone().find(|line| line["line"] == "trim 2").unwrap();
    assert_eq!(line["holds"], true);
    let last = line["stations"].as_array().unwrap().last().unwrap();
    let first = &line["stations"][0];
    let task = first["posts"][0]["work"][0]["task"].as_str().unwrap();

    let head = desk.get("/api/variants").good()[0]["head"]["id"].clone();
    let book = desk.get(&format!("/api/revisions/{head}/book")).good();
    let (row, before) = cell(&book, "tasks", task, "station");
    assert_eq!(before, first["station"].as_str().unwrap());
    let to = last["station"].as_str().unwrap();
    let patch = set("tasks", &row, "station", to);
    let saved = desk.post("/api/variants/1/edits", &edit(&head, "Ada", &[patch]));
    let next = saved.good()["revision"]["id"].clone();
    let today = desk.get(&format!("{}/today", shops(&next))).good();
    let lines = today.as_array().unwrap();
    let moved = lines.iter().find(|line| line["line"] == "trim 2").unwrap();
    let faults = moved["faults"].as_array().unwrap();
    assert!(
        faults.iter().any(|fault| fault["rule"] == "order"),
        "a task behind those that wait for it: {faults:?}"
    );

    assert_eq!(desk.get(&shops(&next)).code(), "not-planned");
    let asked = desk.ask("POST", &shops(&next), &[], b"").good();
    assert_eq!(desk.job(&asked["job"])["state"], "done");
    let state = desk.get(&format!("/api/jobs/{run}")).good();
    assert_eq!(state["state"], "running", "the long run goes on");
    let plan = desk.get(&shops(&next)).good();
    let lines = plan["lines"].as_array().unwrap();
    let planned = lines.iter().find(|line| line["line"] == "trim 2").unwrap();
    assert!(!planned["again"]["moves"].as_array().unwrap().is_empty());

    let list = desk.get(&format!("{}/work.html?of=moves", shops(&next)));
    assert!(list.text().contains(task) && !list.text().contains("<script"));
    let policy = list.header("content-security-policy").unwrap();
    assert!(policy.contains("default-src 'none'"), "{policy}");
    let chart = desk.get(&format!("{}/cell.svg?cell=1", shops(&next)));
    assert!(chart.text().starts_with("<svg "));
    let none = desk.get(&format!("{}/cell.svg?cell=99", shops(&next)));
    assert_eq!(none.status, 404, "{}", none.text());
    let book = desk.get(&format!("{}.xlsx", shops(&next)));
    assert!(book.body.starts_with(b"PK"));
    desk.ask("DELETE", &format!("/api/jobs/{run}"), &[], b"")
        .good();
}

#[test]
fn lines_are_shown_at_another_rate_and_a_rate_that_is_none_is_refused() {
    let desk = Served::demo();
    let today = "/api/revisions/2/shops/assembly/today";
    let takt = |query: &str| {
        let lines = desk.get(&format!("{today}{query}")).good();
        lines[0]["takt_s"].as_f64().unwrap()
    };
    let (own, half) = (takt(""), takt("?cars=700"));
    assert!(
        (half - 2.0 * own).abs() < 1e-6,
        "half the cars, twice the takt"
    );
    for cars in ["0", "-5", "NaN", "1e300"] {
        let refused = desk.get(&format!("{today}?cars={cars}"));
        assert_eq!(
            (refused.status, refused.code().as_str()),
            (422, "rate"),
            "{cars}"
        );
    }
    assert_eq!(desk.get(&format!("{today}?cars=many")).status, 400);
}

#[test]
fn carts_by_formula_are_there_at_once() {
    let desk = Served::demo();
    let plan = desk.get("/api/revisions/2/shops/carts/plan").good();
    let loops = plan["loops"].as_array().unwrap();
    assert!(!loops.is_empty());
    let figure = loops[0]["needed"]["figure"].as_str().unwrap();
    assert!(plan["figures"][figure]["working"].is_object());
    let carts = desk.get("/api/revisions/2/shops/carts");
    assert_eq!(carts.code(), "not-planned");
}
