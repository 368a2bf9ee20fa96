//! Logs over the interface: sent, mapped once, read, replayed, noted, refused.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test that cannot go on stops where it stands"
)]

mod support;

use std::fmt::Write as _;

use book::raw::Workbook;
use serde_json::{Value, json};
use support::{Reply, Served, table};

/// Two stations in a row; figures made up.
fn workbook() -> Workbook {
    Workbook {
        name: "small".to_owned(),
        tables: vec![
            table(
                "shifts",
                "shop,shift,days,start,end\nbody,day,mon-fri,06:00,14:00",
            ),
            table("products", "product,cars_per_week\nvan,80"),
            table(
                "stations",
                "station,shop,cycle_s,mtbf_min,mttr_min,source\nweld,body,1200,120,10,yes\nframe,body,1300,,,",
            ),
            table("links", "from,to,holds\nweld,frame,3"),
        ],
        ..Workbook::default()
    }
}

fn desk() -> Served {
    Served::at("127.0.0.1:0", Some(workbook()), |_| ())
}

fn send(desk: &Served, name: &str, text: impl AsRef<[u8]>) -> Reply {
    let path = format!("/api/logs/files?name={name}");
    let kind = ("content-type", "application/octet-stream");
    desk.ask("POST", &path, &[kind], text.as_ref())
}

/// A log of what was sent, its files being what they seem to be.
fn kept(desk: &Served, sent: &Value, words: &Value) -> Value {
    let files: Vec<Value> = sent["files"]
        .as_array()
        .unwrap()
        .iter()
        .map(|file| {
            json!({
                "name": file["name"], "digest": file["digest"], "bytes": file["bytes"],
                "columns": file["columns"],
                "role": if file["role"].is_null() { json!("states") } else { file["role"].clone() },
            })
        })
        .collect();
    let new = json!({"name": "a week", "author": "Ada", "files": files, "words": words});
    desk.post("/api/logs", &new).good()
}

/// Asks by POST, waits, and gives what is found.
fn found(desk: &Served, path: &str) -> Value {
    let nothing = desk.ask("POST", path, &[], b"").good();
    let end = desk.job(&nothing["job"]);
    assert_eq!(end["state"], "done", "{end}");
    desk.get(path).good()
}

/// Hours of work of both stations on a Monday with stops of the first.
fn states(header: &str, working: &str) -> String {
    let mut text = format!("{header}\n");
    for hour in 6..14 {
        for station in ["weld", "frame"] {
            let stop = if station == "weld" && hour % 2 == 0 {
                20
            } else {
                0
            };
            let at = |minute: u32| format!("2026-03-02T{hour:02}:{minute:02}:00Z");
            let _ = writeln!(text, "{station},{},{},{working},", at(0), at(59 - stop));
            if stop > 0 {
                let _ = writeln!(
                    text,
                    "{station},{},{},stopped,tip change",
                    at(59 - stop),
                    at(59)
                );
            }
        }
    }
    text
}

#[test]
fn the_plants_own_run_is_a_log_whose_day_is_told_in_cars_and_noted() {
    let desk = desk();
    assert_eq!(desk.get("/api/revisions/2/rehearsal?weeks=1").status, 404);
    let written = found(&desk, "/api/revisions/2/rehearsal?weeks=1");
    assert_eq!(written["log"], 1);
    let reading = found(&desk, "/api/revisions/2/logs/1/reading");
    assert_eq!(reading["stations_seen"], 2);
    assert!(reading["refused"].as_array().unwrap().is_empty());
    let cells = desk.get("/api/revisions/2/logs/1/cells").good();
    let fitted = cells
        .as_array()
        .unwrap()
        .iter()
        .find(|cell| cell["fitted"] == true)
        .unwrap();
    let fit = desk
        .get(&format!("/api/revisions/2/logs/1/fit?cell={}", fitted["n"]))
        .good();
    assert_eq!(fit["plot"]["papers"].as_array().unwrap().len(), 3);
    let by_day = "/api/revisions/2/logs/1/figures?by=day&level=station&station=weld";
    let figures = desk.get(by_day).good();
    assert_eq!(figures["rows"].as_array().unwrap().len(), 5);
    let last = reading["last"].as_str().unwrap();
    let day = found(&desk, &format!("/api/revisions/2/logs/1/day?day={last}"));
    assert_eq!(day["day"]["date"], *last);
    let note = json!({"day": last, "station": "weld", "kind": "stop", "cause": "stop", "what": "dress the tips", "who": "Ines", "until": "Friday"});
    desk.post("/api/logs/1/notes", &note).good();
    let paper = desk
        .get(&format!("/api/revisions/2/logs/1/day.html?day={last}"))
        .text();
    assert!(
        paper.contains("dress the tips") && paper.contains("weld: stop"),
        "{paper}"
    );
    let book = desk.get(&format!("/api/revisions/2/logs/1/day.xlsx?day={last}"));
    assert!(book.status == 200 && book.body.starts_with(b"PK"));
    let book = desk.get("/api/revisions/2/logs/1/figures.xlsx?by=day");
    assert!(book.status == 200 && book.body.starts_with(b"PK"));
    let job = desk.ask(
        "POST",
        &format!("/api/revisions/2/logs/1/day?day={last}&short=60"),
        &[],
        b"",
    );
    let end = desk.job(&job.good()["job"]);
    let (done, of) = (end["done"].as_u64(), end["of"].as_u64());
    assert!(of > Some(20) && done == of, "every replay is told: {end}");
    let drift = desk.get("/api/revisions/2/logs/1/drift").good();
    let weld = &drift["weeks"][0];
    let span = &weld["spans"]["mtbf_min"];
    assert!(span["low"].as_f64() < weld["mtbf_min"].as_f64(), "{weld}");
    assert_eq!(
        drift["courses"][0]["movement"], "open",
        "one week is no drift"
    );
    assert_eq!(drift["courses"][0]["book"], 120.0);
    let believed = found(&desk, "/api/revisions/2/logs/1/believe");
    assert!(believed["stands"].as_array().unwrap().len() > 4);
    // Asked again it is there: the same log, the same answer.
    assert_eq!(found(&desk, "/api/revisions/2/rehearsal?weeks=1"), written);
    assert_eq!(desk.ask("DELETE", "/api/logs/1", &[], b"").status, 204);
    assert!(desk.get("/api/logs").good().as_array().unwrap().is_empty());
}

#[test]
fn a_header_is_mapped_once_and_what_a_log_cannot_say_is_told_with_the_way_out() {
    let desk = desk();
    let text = states("Maschine,from,to,state,cause", "RUN");
    let sent = send(&desk, "shift.csv", &text).good();
    assert_eq!(sent["files"][0]["role"], Value::Null);
    assert_eq!(sent["files"][0]["known"], false);
    let words = json!({"columns": {"Maschine": "station"}, "states": {"RUN": "working"}});
    let log = kept(&desk, &sent, &words);
    let reading = found(
        &desk,
        &format!("/api/revisions/2/logs/{}/reading", log["id"]),
    );
    assert_eq!(
        reading["defects"].as_array().unwrap().len(),
        1,
        "gaps only: {reading}"
    );
    let again = send(
        &desk,
        "next.csv",
        states("Maschine,from,to,state,cause", "STAND"),
    )
    .good();
    assert_eq!(again["files"][0]["role"], "states");
    assert_eq!(again["words"]["states"]["RUN"], "working");

    // Another plant's, an empty one, one whose states nobody knows.
    let other = states("station,from,to,state,cause", "working")
        .replace("weld", "OP10")
        .replace("frame", "OP20");
    for (text, code) in [
        (other, "log/another-plant"),
        ("station,from,to,state,cause\n".to_owned(), "log/empty"),
        (
            states("station,from,to,state,cause", "STAND").replace("stopped", "HALT"),
            "log/unknown-state",
        ),
    ] {
        let sent = send(&desk, "wrong.csv", &text).good();
        let log = kept(&desk, &sent, &json!({}));
        let reading = found(
            &desk,
            &format!("/api/revisions/2/logs/{}/reading", log["id"]),
        );
        assert_eq!(reading["refused"][0]["code"], code, "{reading}");
        let day = format!("/api/revisions/2/logs/{}/day?day=2026-03-02", log["id"]);
        let job = desk.ask("POST", &day, &[], b"").good();
        assert_eq!(desk.job(&job["job"])["state"], "failed");
    }
    assert_eq!(send(&desk, "picture.png", "no log").status, 422);
    assert_eq!(send(&desk, "log.zip", "no archive").status, 422);
    let ghost = json!({"name": "x", "author": "Ada", "words": {}, "files": [{"name": "a.csv", "digest": "0".repeat(64), "bytes": 1, "columns": [], "role": "states"}]});
    assert_eq!(desk.post("/api/logs", &ghost).status, 404);
    let clock =
        json!({"columns": {}, "states": {}, "stations": {}, "products": {}, "zone": "Berlin"});
    assert_eq!(desk.post("/api/logs/1/words", &clock).status, 422);
    assert_eq!(desk.get("/api/revisions/2/logs/99/reading").status, 404);
}

#[cfg(not(feature = "parquet"))]
#[test]
fn a_build_without_parquet_refuses_it_and_says_how_to_build_one_with_it() {
    let desk = desk();
    let refused = send(&desk, "states.parquet", "PAR1");
    assert_eq!(refused.status, 422);
    let text = refused.text();
    assert!(
        text.contains("export the log as CSV, or build with"),
        "{text}"
    );
    assert!(text.contains("--features parquet"), "{text}");
}

#[cfg(feature = "parquet")]
mod parquet {
    use std::io;
    use std::sync::atomic::AtomicBool;

    use evidence::map::LogMap;
    use evidence::rehearse::{self, Rehearsal, Settings, parquet};
    use evidence::roster::Roster;

    use super::*;

    /// A week of the plant's own run.
    fn week() -> (Rehearsal, Roster, Vec<String>) {
        let book = book::check(&workbook()).book;
        let built = whole::network::build(&book).unwrap();
        let settings = Settings {
            seed: 3,
            warm_up_weeks: 1,
            weeks: 1,
        };
        let never = AtomicBool::new(false);
        let heard = rehearse::rehearse(&book, &built, &settings, &never).unwrap();
        let classes = built.classes.iter().map(|class| class.name.clone());
        let classes = classes.collect();
        let roster = Roster::of(&book, &built, LogMap::default());
        (heard, roster, classes)
    }

    fn bytes(write: impl FnOnce(&mut Vec<u8>) -> io::Result<()>) -> Vec<u8> {
        let mut bytes = Vec::new();
        write(&mut bytes).unwrap();
        bytes
    }

    #[test]
    fn a_log_sent_as_parquet_says_what_it_says_as_csv() {
        let desk = desk();
        let (heard, roster, classes) = week();
        let text = [
            bytes(|to| rehearse::states_csv(&heard, &roster, &classes, to)),
            bytes(|to| rehearse::counts_csv(&heard, &roster, to)),
            bytes(|to| rehearse::quality_csv(&heard, &roster, to)),
        ];
        let columns = [
            bytes(|to| parquet::states_parquet(&heard, &roster, &classes, to)),
            bytes(|to| parquet::counts_parquet(&heard, &roster, to)),
            bytes(|to| parquet::quality_parquet(&heard, &roster, to)),
        ];
        let said = |ending: &str, tables: &[Vec<u8>; 3]| {
            let mut files = Vec::new();
            for (name, bytes) in ["states", "counts", "quality"].iter().zip(tables) {
                let sent = send(&desk, &format!("{name}.{ending}"), bytes).good();
                let file = &sent["files"][0];
                assert_eq!(file["role"], *name, "known by its columns: {sent}");
                files.push(file.clone());
            }
            let log = kept(&desk, &json!({ "files": files }), &json!({}));
            let path = format!("/api/revisions/2/logs/{}", log["id"]);
            let reading = found(&desk, &format!("{path}/reading"));
            assert!(reading["refused"].as_array().unwrap().is_empty());
            let part = |name: &str| desk.get(&format!("{path}/{name}")).good();
            (part("cells"), part("figures?by=day"), part("drift"))
        };
        assert_eq!(said("csv", &text), said("parquet", &columns));
    }

    #[test]
    fn parquet_comes_in_an_archive_too_and_a_file_cut_off_is_refused() {
        let desk = desk();
        let (heard, roster, classes) = week();
        let states = bytes(|to| parquet::states_parquet(&heard, &roster, &classes, to));
        let mut zip = zip::ZipWriter::new(io::Cursor::new(Vec::new()));
        let options = zip::write::SimpleFileOptions::default();
        zip.start_file("log/states.parquet", options).unwrap();
        io::Write::write_all(&mut zip, &states).unwrap();
        let packed = zip.finish().unwrap().into_inner();
        let sent = send(&desk, "log.zip", packed).good();
        assert_eq!(sent["files"][0]["role"], "states");
        let refused = send(&desk, "states.parquet", &states[..states.len() / 2]);
        assert_eq!(refused.status, 422);
        assert!(
            refused.text().contains("write it anew"),
            "{}",
            refused.text()
        );
    }
}
