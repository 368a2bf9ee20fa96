//! Fifty readers and five editors at once: no edit is lost, nobody waits long.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::print_stdout,
    clippy::disallowed_methods,
    reason = "a test that measures"
)]

mod support;

use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

use serde_json::{Value, json};
use support::Served;

const READERS: usize = 50;
const EDITORS: usize = 5;
/// From one request of a reader to the next.
const READER_THINKS: Duration = Duration::from_millis(250);
/// From one edit of an editor to the next, where the plans of the books that come
/// out leave the machine idle half the time.
const EDITOR_THINKS: Duration = Duration::from_millis(1_000);
/// Readers that come to a new book at once wait for one plan, and behind some
/// others' answers; not for a plan each.
const PLANS: u32 = 8;
/// Sooner than this nobody is kept waiting, however quick a plan is.
const AT_ONCE: Duration = Duration::from_millis(100);

/// How long an edit and the plan of the book that comes out take while nobody
/// else asks: what this build on this machine does, by which the rest goes.
fn alone(desk: &Served, row: &str) -> Duration {
    let mut base = 2;
    let quickest = (0..3).map(|turn| {
        let begun = Instant::now();
        base = saved(desk, base, row, 390 + turn, "editor alone");
        let path = format!("/api/revisions/{base}/plan?workings=none");
        assert_eq!(desk.get(&path).status, 200, "{path}");
        begun.elapsed()
    });
    quickest.min().unwrap()
}

/// Writes a cycle and gives the revision that holds it.
fn saved(desk: &Served, base: i64, row: &str, value: u32, author: &str) -> i64 {
    let text = value.to_string();
    let set = json!({"table": "stations", "row": row, "column": "cycle_s", "value": text});
    let edit = json!({"base": base, "author": author, "patches": [{"set": set}]});
    let saved = desk.post("/api/variants/1/edits", &edit).good();
    saved["revision"]["id"].as_i64().unwrap()
}

/// How long: ten seconds, or as many as the environment says.
fn length() -> Duration {
    let seconds = std::env::var("LINEWRIGHT_LOAD_SECONDS").ok();
    Duration::from_secs(seconds.and_then(|text| text.parse().ok()).unwrap_or(10))
}

/// Paces a person: the load is people, not a loop that asks as fast as it can.
fn think(begun: Instant, pause: Duration) {
    std::thread::park_timeout(pause.saturating_sub(begun.elapsed()));
}

fn read(desk: &Served, number: usize, over: &AtomicBool) -> Vec<Duration> {
    let mut took = Vec::new();
    let mut head = 2;
    std::thread::park_timeout(READER_THINKS * number as u32 / READERS as u32);
    for turn in number.. {
        if over.load(Ordering::Relaxed) {
            break;
        }
        let begun = Instant::now();
        let path = match turn % 4 {
            0 => "/api/variants".to_owned(),
            1 => format!("/api/revisions/{head}/book"),
            2 => format!("/api/revisions/{head}/plan?workings=none"),
            _ => "/api/variants/1/revisions".to_owned(),
        };
        let reply = desk.get(&path);
        took.push(begun.elapsed());
        assert_eq!(reply.status, 200, "{path}: {:.200}", reply.text());
        if turn % 4 == 0 {
            head = reply.json()[0]["head"]["id"].as_i64().unwrap();
        }
        think(begun, READER_THINKS);
    }
    took
}

/// Writes growing numbers into a row of its own and gives the last one.
fn edit(
    desk: &Served,
    row: &str,
    (number, thinks): (usize, Duration),
    over: &AtomicBool,
) -> (u32, u32) {
    let mut base = 2;
    let (mut last, mut edits) = (400, 0);
    while !over.load(Ordering::Relaxed) {
        let begun = Instant::now();
        last += 1;
        base = saved(desk, base, row, last, &format!("editor {number}"));
        edits += 1;
        think(begun, thinks);
    }
    (last, edits)
}

fn stations_of(book: &Value) -> &Value {
    let mut tables = book["tables"].as_array().unwrap().iter();
    tables.find(|table| table["name"] == "stations").unwrap()
}

/// All readers and an editor a row, who edits so often, for a while: how long each answer took, and
/// what each editor wrote last and how often.
fn at_once(desk: &Served, rows: &[&str], thinks: Duration) -> (Vec<Duration>, Vec<(u32, u32)>) {
    let over = AtomicBool::new(false);
    std::thread::scope(|scope| {
        let readers: Vec<_> = (0..READERS)
            .map(|number| {
                scope.spawn({
                    let over = &over;
                    move || read(desk, number, over)
                })
            })
            .collect();
        let editors: Vec<_> = rows
            .iter()
            .enumerate()
            .map(|(number, row)| {
                scope.spawn({
                    let over = &over;
                    move || edit(desk, row, (number, thinks), over)
                })
            })
            .collect();
        let begun = Instant::now();
        while begun.elapsed() < length() {
            std::thread::park_timeout(length().saturating_sub(begun.elapsed()));
        }
        over.store(true, Ordering::Relaxed);
        let took: Vec<Duration> = readers
            .into_iter()
            .flat_map(|reader| reader.join().expect("a reader"))
            .collect();
        let written: Vec<(u32, u32)> = editors
            .into_iter()
            .map(|editor| editor.join().expect("an editor"))
            .collect();
        (took, written)
    })
}

#[test]
fn fifty_readers_and_five_editors_lose_nothing() {
    let desk = Served::demo();
    let book = desk.get("/api/revisions/2/book").good();
    let stations = stations_of(&book);
    let rows: Vec<&str> = (0..EDITORS)
        .map(|n| stations["rows"][n * 7]["id"].as_str().unwrap())
        .collect();
    let column = stations["columns"].as_array().unwrap();
    let column = column
        .iter()
        .position(|column| column == "cycle_s")
        .unwrap();
    let plan = alone(&desk, stations["rows"][1]["id"].as_str().unwrap());
    // Half a processor's time is what plans may take.
    let thinks = EDITOR_THINKS.max(plan * 2 * EDITORS as u32);
    let (mut took, written) = at_once(&desk, &rows, thinks);
    let head = desk.get("/api/variants").good()[0]["head"]["id"].clone();
    let book = desk.get(&format!("/api/revisions/{head}/book")).good();
    let stations = stations_of(&book);
    for (number, (row, (last, _))) in rows.iter().zip(&written).enumerate() {
        let found = stations["rows"]
            .as_array()
            .unwrap()
            .iter()
            .find(|r| r["id"] == *row);
        assert_eq!(
            found.unwrap()["cells"][column],
            last.to_string(),
            "editor {number}"
        );
    }
    let edits: u32 = written.iter().map(|(_, edits)| edits).sum();
    let revisions = desk.get("/api/variants/1/revisions").good();
    assert_eq!(revisions.as_array().unwrap().len() as u32, edits + 2 + 3);
    took.sort();
    let at = |share: f64| took[((took.len() - 1) as f64 * share) as usize];
    println!(
        "{} reads, {edits} edits, an edit and its plan alone {plan:?}: half within {:?}, 99 % within {:?}, all within {:?}",
        took.len(),
        at(0.5),
        at(0.99),
        at(1.0)
    );
    assert!(took.len() > READERS && edits as usize >= EDITORS);
    let slowest = AT_ONCE.max(plan * PLANS);
    assert!(
        at(0.99) < slowest,
        "99 % of reads within {:?} of {slowest:?}",
        at(0.99)
    );
}
