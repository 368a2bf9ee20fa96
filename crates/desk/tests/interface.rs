//! The interface over a real socket, on the demo plant.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::disallowed_methods,
    reason = "a test that cannot go on stops where it stands, and writes small books"
)]

mod support;

use serde_json::{Value, json};
use support::{Served, demo};

/// A table of a book as the interface gives it.
fn table<'b>(book: &'b Value, name: &str) -> &'b Value {
    let tables = book["tables"].as_array().expect("tables");
    let found = tables.iter().find(|table| table["name"] == name);
    found.unwrap_or_else(|| panic!("no table {name}"))
}

/// Id and text of a cell: the first row whose first cell is `key`.
fn cell(book: &Value, name: &str, key: &str, column: &str) -> (String, String) {
    let table = table(book, name);
    let columns = table["columns"].as_array().expect("columns");
    let at = columns
        .iter()
        .position(|c| c == column)
        .expect("the column");
    let rows = table["rows"].as_array().expect("rows");
    let row = rows
        .iter()
        .find(|row| row["cells"][0] == key)
        .expect("the row");
    (
        row["id"].as_str().expect("an id").to_owned(),
        row["cells"][at].as_str().expect("text").to_owned(),
    )
}

fn set(table: &str, row: &str, column: &str, value: &str) -> Value {
    json!({"set": {"table": table, "row": row, "column": column, "value": value}})
}

fn edit(base: &Value, author: &str, patches: &[Value]) -> Value {
    json!({"base": base, "author": author, "note": "", "patches": patches})
}

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
fn what_is_exported_comes_back_the_same() {
    let desk = Served::demo();
    for ending in ["xlsx", "zip"] {
        let file = desk.get(&format!("/api/revisions/2/export.{ending}"));
        assert_eq!(file.status, 200);
        assert!(
            file.header("content-disposition")
                .unwrap()
                .contains("merrow-quay-r2")
        );
        let kind = [("content-type", "application/octet-stream")];
        let path = "/api/variants/1/import?author=Ada&note=back";
        let back = desk.ask("POST", path, &kind, &file.body).good();
        assert_eq!(
            back["revision"]["id"], 2,
            "{ending}: the same book is no new revision"
        );
    }
    let csv = book::csv_text(demo().table("crews").unwrap());
    let more = csv.trim_end().to_owned() + "\nnight crew,2\n";
    let path = "/api/variants/1/import?author=Ada&table=crews";
    let kind = [("content-type", "text/csv; charset=utf-8")];
    let saved = desk.ask("POST", path, &kind, more.as_bytes()).good();
    let id = saved["revision"]["id"].clone();
    let difference = desk.get(&format!("/api/revisions/2/compare/{id}")).good();
    assert_eq!(difference["rows_added"].as_array().unwrap().len(), 1);
    assert!(difference["cells"].as_array().unwrap().is_empty());
    assert_eq!(difference["rows_added"][0]["key"], "night crew");
}

#[test]
fn files_that_are_no_book_are_refused_and_change_nothing() {
    let desk = Served::demo();
    let kind = [("content-type", "application/octet-stream")];
    let path = "/api/variants/1/import?author=Ada";
    for bytes in [&b"no book"[..], b"PK\x03\x04 cut off", b"", &[0xff; 5_000]] {
        let reply = desk.ask("POST", path, &kind, bytes);
        assert_eq!(reply.status, 422, "{}", reply.text());
    }
    let csv = [("content-type", "text/csv")];
    assert_eq!(desk.ask("POST", path, &csv, b"a,b\n1,2\n").status, 400);
    let nobody = desk.ask("POST", "/api/variants/1/import", &csv, b"");
    assert_eq!(nobody.status, 400);
    assert_eq!(desk.get("/api/variants").good()[0]["head"]["id"], 2);
}

#[test]
fn a_run_can_be_cancelled_and_the_queue_is_bounded() {
    let desk = Served::demo();
    let run = |seed: u32| {
        let settings = json!({"replications": 1000, "weeks": 52, "seed": seed});
        desk.post(
            "/api/revisions/2/runs",
            &json!({"kind": "precise", "settings": settings}),
        )
    };
    let first = run(1).good()["job"].clone();
    assert_eq!(run(1).good()["job"], first, "the same run is the same job");
    let second = run(2).good()["job"].clone();
    let waiting = desk
        .ask("DELETE", &format!("/api/jobs/{second}"), &[], b"")
        .good();
    assert_eq!(waiting["state"], "cancelled");
    let full = (3..200)
        .map(run)
        .find(|reply| reply.status != 202)
        .expect("a bound");
    assert_eq!((full.status, full.code().as_str()), (503, "queue-full"));
    let jobs = desk.get("/api/jobs").good();
    for job in jobs.as_array().unwrap() {
        desk.ask("DELETE", &format!("/api/jobs/{}", job["id"]), &[], b"")
            .good();
    }
    assert_eq!(desk.job(&first)["state"], "cancelled");
    // The page that comes back finds the job by its number.
    let found = desk.get(&format!("/api/jobs/{first}")).good();
    assert_eq!(found["state"], "cancelled");
    // A preview never waits behind them.
    let preview = desk
        .post("/api/revisions/2/runs", &json!({"kind": "preview"}))
        .good();
    assert_eq!(desk.job(&preview["job"])["state"], "done");
}

#[test]
fn settings_out_of_range_are_refused_with_the_range() {
    let desk = Served::demo();
    for settings in [
        json!({"replications": 1}),
        json!({"replications": 100_000}),
        json!({"weeks": 0}),
        json!({"trials": 50}),
        json!({"warm_up_h": -1.0}),
    ] {
        let body = json!({"kind": "preview", "settings": settings});
        let reply = desk.post("/api/revisions/2/runs", &body);
        assert_eq!((reply.status, reply.code().as_str()), (422, "settings"));
    }
    let unknown = json!({"kind": "preview", "settings": {"sed": 1}});
    assert_eq!(desk.post("/api/revisions/2/runs", &unknown).status, 400);
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

#[test]
fn the_formula_sheet_computes_and_refuses_in_words() {
    let desk = Served::at("127.0.0.1:0", None, |_| ());
    let sheet = desk.get("/api/formulas").good();
    assert!(sheet.as_array().unwrap().len() > 30);
    let values = json!({"net_time": "880 min", "demand": "200"});
    let working = desk.post("/api/formulas/takt", &values).good();
    assert_eq!(working["results"][0]["value"], 264.0);
    let refused = desk.post("/api/formulas/takt", &json!({"net_time": "a while"}));
    assert_eq!(
        (refused.status, refused.code().as_str()),
        (422, "formula-refused")
    );
    let unknown = desk.post("/api/formulas/takd", &json!({}));
    assert_eq!(unknown.status, 404);
    assert!(unknown.text().contains("takt"));
    let schema = desk.get("/api/schema").good();
    assert_eq!(schema["tables"][0]["name"], "plant");
    assert_eq!(desk.get("/api/health").good()["schema"], 2);
}

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

#[test]
fn what_to_do_next_is_asked_for_and_wrong_questions_are_refused_with_a_way_out() {
    let desk = Served::demo();
    let path = |what: &str| format!("/api/revisions/2/next/{what}");
    for what in [
        "improve",
        "banks",
        "reach?cars=1400",
        "reach?days=4",
        "improve.xlsx",
    ] {
        assert_eq!(desk.get(&path(what)).status, 404, "{what}");
    }
    for what in [
        "reach?cars=-1",
        "reach?",
        "reach?cars=1400&days=0",
        "together?ideas=1,1",
        "together?ideas=x",
    ] {
        assert_eq!(desk.get(&path(what)).status, 422, "{what}");
    }
    let unranked = desk.post(&path("together?ideas=1"), &json!({}));
    assert_eq!(unranked.status, 404);
    assert_eq!(unranked.code(), "no-such-idea");
}

/// Three quick stations round the clock, the second slow, and two ideas for it: a
/// ranking takes some seconds.
fn three_stations() -> book::raw::Workbook {
    let folder = tempfile::tempdir().unwrap();
    let put = |table: &str, text: &str| {
        std::fs::write(folder.path().join(format!("{table}.csv")), text).unwrap();
    };
    put("products", "product,cars_per_week\nvan,90000\n");
    put(
        "stations",
        "station,shop,cycle_s,spread,mtbf_min,mttr_min\ncut,body,6,0.1,90,2\n\
         weld,body,7.5,0.1,90,4\ncheck,body,6,0.1,90,2\n",
    );
    put("links", "from,to,holds\ncut,weld,4\nweld,check,4\n");
    put(
        "ideas",
        "idea,table,row,column,from,to,investment,cost_per_year,weeks\n\
         quick torch,stations,weld,cycle_s,7.5,6.6,100000,2000,6\n\
         second fitter,stations,weld,mttr_min,4,2,0,60000,2\n",
    );
    book::read_path(folder.path()).unwrap()
}

#[test]
fn a_ranking_that_is_stopped_shows_the_best_so_far_and_goes_on_from_its_runs() {
    let desk = Served::at("127.0.0.1:0", Some(three_stations()), |_| ());
    let path = "/api/revisions/2/next/improve";
    let job = desk.post(path, &json!({})).good()["job"].clone();
    loop {
        let state = desk.get(&format!("/api/jobs/{job}")).good();
        assert_ne!(state["state"], "done", "it was to be stopped before");
        if state["done"].as_u64() > Some(60) {
            break;
        }
        std::thread::yield_now();
    }
    let stop = format!("/api/jobs/{job}");
    desk.ask("DELETE", &stop, &[], b"").good();
    assert_eq!(desk.job(&job)["state"], "cancelled");
    let so_far = desk.get(path).good();
    assert_eq!(so_far["stopped"], true);
    assert!(!so_far["ideas"].as_array().unwrap().is_empty());
    let again = desk.post(path, &json!({})).good()["job"].clone();
    assert_eq!(desk.job(&again)["state"], "done");
    let whole = desk.get(path).good();
    assert_eq!(whole["stopped"], false);
    assert!(whole["runs"].as_u64() > so_far["runs"].as_u64());
}

#[test]
fn what_a_budget_buys_is_found_by_a_job_that_can_be_stopped() {
    let desk = Served::demo();
    let path = |money: &str| format!("/api/revisions/2/next/budget?money={money}");
    assert_eq!(desk.get(&path("24000000")).code(), "not-found-out");
    for money in ["0", "-1", "NaN", "1e13"] {
        let refused = desk.ask("POST", &path(money), &[], b"");
        assert_eq!(
            (refused.status, refused.code().as_str()),
            (422, "budget"),
            "{money}"
        );
    }
    let asked = desk.ask("POST", &path("24000000"), &[], b"");
    assert_eq!(asked.status, 202);
    let job = asked.json()["job"].clone();
    let state = desk.get(&format!("/api/jobs/{job}")).good();
    assert_eq!(state["kind"], "budget");
    desk.ask("DELETE", &format!("/api/jobs/{job}"), &[], b"")
        .good();
    assert_eq!(desk.job(&job)["state"], "cancelled");
    assert_eq!(
        desk.get(&path("24000000")).status,
        404,
        "half an answer is none"
    );
}
