//! Cells changed by several people: merged, refused, computed anew.

use serde_json::{Value, json};

use crate::support::{Served, demo};
use crate::{cell, edit, set, table};

#[test]
fn an_engineer_changes_a_cell_and_sees_the_plan_and_the_answer_move() {
    let desk = Served::demo();
    let variants = desk.get("/api/variants").good();
    let head = variants[0]["head"]["id"].clone();
    let book = desk.get(&format!("/api/revisions/{head}/book")).good();
    let station = table(&book, "stations")["rows"][0]["cells"][0]
        .as_str()
        .unwrap()
        .to_owned();
    let (row, before) = cell(&book, "stations", &station, "cycle_s");
    let plan = desk.get(&format!("/api/revisions/{head}/plan")).good();
    assert!(plan["figures"].as_object().unwrap().len() > 100);

    let patch = set("stations", &row, "cycle_s", "1 min");
    let saved = desk
        .post("/api/variants/1/edits", &edit(&head, "Ada", &[patch]))
        .good();
    assert_eq!(saved["merged"], false);
    assert_eq!(saved["revision"]["author"], "Ada");
    let next = saved["revision"]["id"].clone();
    let short = desk
        .get(&format!("/api/revisions/{next}/plan?workings=none"))
        .good();
    assert!(short["figures"].as_object().unwrap().is_empty());
    let id = short["stations"][0]["load"]["from"]["figure"]
        .as_str()
        .unwrap();
    let id = id.replace(' ', "%20").replace('/', "%2F");
    let figure = desk
        .get(&format!("/api/revisions/{next}/figures/{id}"))
        .good();
    assert_eq!(figure["value"], short["stations"][0]["load"]["value"]);
    assert_ne!(
        short["stations"][0]["load"], plan["stations"][0]["load"],
        "{before}"
    );

    let missing = desk.get(&format!("/api/revisions/{next}/answer?kind=preview"));
    assert_eq!((missing.status, missing.code().as_str()), (404, "not-run"));
    let run = json!({"kind": "preview"});
    let job = desk.post(&format!("/api/revisions/{next}/runs"), &run);
    assert_eq!(job.status, 202);
    let job = job.good()["job"].clone();
    let last = desk.job(&job);
    assert_eq!(
        (&last["state"], &last["done"]),
        (&json!("done"), &last["of"])
    );
    let answer = desk
        .get(&format!("/api/revisions/{next}/answer?kind=preview"))
        .good();
    assert!(answer["made"]["mean"].as_f64().unwrap() > 0.0);

    // The same question again is answered at once, by the same job.
    let again = desk
        .post(&format!("/api/revisions/{next}/runs"), &run)
        .good();
    assert_eq!(again["job"], job);

    let difference = desk
        .get(&format!("/api/revisions/{head}/compare/{next}"))
        .good();
    assert_eq!(difference["cells"].as_array().unwrap().len(), 1);
    assert_eq!(difference["cells"][0]["key"], station.as_str());
    assert!(!difference["plan"].as_array().unwrap().is_empty());
}

#[test]
fn an_edit_is_answered_with_its_plan_where_that_is_asked_for() {
    let desk = Served::demo();
    let book = desk.get("/api/revisions/2/book").good();
    let (row, _) = cell(&book, "stations", "FR-02 framing gate", "cycle_s");
    let ask = |base: &Value, value: &str| {
        let patch = set("stations", &row, "cycle_s", value);
        let path = "/api/variants/1/edits?outcome=plan";
        desk.post(path, &edit(base, "Ada", &[patch])).good()
    };
    let saved = ask(&json!(2), "200");
    let id = saved["revision"]["id"].clone();
    let path = format!("/api/revisions/{id}/plan?workings=none");
    assert_eq!(saved["outcome"]["plan"], desk.get(&path).good());
    let book = desk.get(&format!("/api/revisions/{id}/book")).good();
    assert_eq!(saved["outcome"]["problems"], book["problems"]);

    let wrong = ask(&id, "soon");
    assert_eq!(wrong["outcome"]["plan"], Value::Null);
    let problems = wrong["outcome"]["plan_problems"].as_array().unwrap();
    assert!(problems.iter().any(|p| p["column"] == "cycle_s"));
}

#[test]
fn an_import_is_taken_back_under_an_edit_that_came_since() {
    let desk = Served::demo();
    let csv = book::csv_text(demo().table("crews").unwrap());
    let more = csv.trim_end().to_owned() + "\nnight crew,2\n";
    let kind = [("content-type", "text/csv")];
    let path = "/api/variants/1/import?author=Ada&table=crews";
    let imported = desk.ask("POST", path, &kind, more.as_bytes()).good();
    let imported = imported["revision"]["id"].clone();
    let book = desk.get(&format!("/api/revisions/{imported}/book")).good();
    let (row, _) = cell(&book, "stations", "FR-02 framing gate", "cycle_s");
    let patch = set("stations", &row, "cycle_s", "171");
    desk.post("/api/variants/1/edits", &edit(&imported, "Ben", &[patch]))
        .good();
    let back = json!({"revision": imported, "author": "Ada"});
    let back = desk.post("/api/variants/1/take-back", &back).good();
    assert_eq!(back["merged"], true);
    let id = back["revision"]["id"].clone();
    let difference = desk.get(&format!("/api/revisions/2/compare/{id}")).good();
    assert_eq!(difference["rows_added"], json!([]));
    assert_eq!(difference["cells"].as_array().unwrap().len(), 1, "Ben's");
    let first = json!({"revision": 1, "author": "Ada"});
    let first = desk.post("/api/variants/1/take-back", &first);
    assert_eq!((first.status, first.code().as_str()), (422, "refused"));
}

#[test]
fn two_engineers_merge_or_are_told_both_texts() {
    let desk = Served::demo();
    let book = desk.get("/api/revisions/2/book").good();
    let stations = table(&book, "stations")["rows"].as_array().unwrap();
    let (one, other) = (
        stations[0]["id"].as_str().unwrap(),
        stations[1]["id"].as_str().unwrap(),
    );
    let base = json!(2);
    let ask = |author, row, value| {
        let patch = set("stations", row, "cycle_s", value);
        desk.post("/api/variants/1/edits", &edit(&base, author, &[patch]))
    };
    ask("Ada", one, "41").good();
    let merged = ask("Ben", other, "42").good();
    assert_eq!(merged["merged"], true);
    let conflict = ask("Cy", one, "43");
    assert_eq!(
        (conflict.status, conflict.code().as_str()),
        (409, "conflict")
    );
    let told = conflict.json();
    assert_eq!(told["conflicts"][0]["yours"], "43");
    assert_eq!(told["conflicts"][0]["theirs"], "41");
    assert_eq!(told["head"]["id"], merged["revision"]["id"]);
    let revisions = desk.get("/api/variants/1/revisions").good();
    let authors: Vec<&str> = revisions
        .as_array()
        .unwrap()
        .iter()
        .map(|revision| revision["author"].as_str().unwrap())
        .collect();
    assert_eq!(authors[..2], ["Ben", "Ada"]);
}

#[test]
fn a_problem_is_told_with_its_place_and_nothing_is_computed() {
    let desk = Served::demo();
    let book = desk.get("/api/revisions/2/book").good();
    let row = table(&book, "stations")["rows"][3].clone();
    let patch = set("stations", row["id"].as_str().unwrap(), "cycle_s", "soon");
    let saved = desk
        .post("/api/variants/1/edits", &edit(&json!(2), "Ada", &[patch]))
        .good();
    let id = &saved["revision"]["id"];
    let problems = desk.get(&format!("/api/revisions/{id}/book")).good()["problems"].clone();
    let found = problems
        .as_array()
        .unwrap()
        .iter()
        .find(|p| p["severity"] == "error")
        .unwrap();
    assert_eq!(found["row"], row["line"]);
    assert_eq!(found["column"], "cycle_s");
    for (path, body) in [
        (format!("/api/revisions/{id}/plan"), None),
        (
            format!("/api/revisions/{id}/runs"),
            Some(json!({"kind": "preview"})),
        ),
    ] {
        let reply = body.map_or_else(|| desk.get(&path), |body| desk.post(&path, &body));
        assert_eq!(
            (reply.status, reply.code().as_str()),
            (422, "book-problems")
        );
        assert!(!reply.json()["problems"].as_array().unwrap().is_empty());
    }
    let restored = desk.post(
        "/api/variants/1/restore",
        &json!({"revision": 2, "author": "Ada", "note": "back"}),
    );
    let id = restored.good()["id"].clone();
    assert_eq!(desk.get(&format!("/api/revisions/{id}/plan")).status, 200);
}

#[test]
fn an_empty_store_takes_a_first_book() {
    let desk = Served::at("127.0.0.1:0", None, |_| ());
    assert_eq!(desk.get("/api/variants").good(), json!([]));
    let new = json!({"name": "plan", "author": "Ada"});
    let variant = desk.post("/api/variants", &new);
    assert_eq!(variant.status, 201);
    let taken = desk.post("/api/variants", &new);
    assert_eq!((taken.status, taken.code().as_str()), (422, "refused"));
    let empty = desk.get("/api/revisions/1/plan");
    assert_eq!(empty.status, 422, "an empty book makes no plan");
    let bytes = book::xlsx_bytes(&demo()).unwrap();
    let path = "/api/variants/1/import?author=Ada&name=Merrow%20Quay";
    let saved = desk.ask("POST", path, &[], &bytes).good();
    let id = saved["revision"]["id"].clone();
    assert_eq!(desk.get(&format!("/api/revisions/{id}/plan")).status, 200);
    let branch = json!({"name": "third shift", "from_revision": id, "author": "Ben"});
    let branch = desk.post("/api/variants", &branch).good();
    assert_eq!(branch["head"]["parent"], id);
}
