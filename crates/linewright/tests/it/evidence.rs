//! Rehearse a log, learn from it, ask what a day cost; and what is said of logs
//! that cannot be used.

use std::fs;
use std::path::{Path, PathBuf};

use serde_json::Value;

use crate::support;
use crate::support::lay_out;

fn ask(arguments: &[&str]) -> (i32, String, String) {
    let told = support::ask(arguments);
    (told.code.unwrap(), told.out, told.err)
}

fn plant(folder: &Path) -> PathBuf {
    let book = folder.join("book");
    let tables = [
        (
            "shifts",
            "shop,shift,days,start,end\nbody,early,mon-fri,06:00,14:00\nbody,late,mon-fri,14:00,22:00\n",
        ),
        ("products", "product,cars_per_week\nvan,2400\n"),
        (
            "stations",
            "station,shop,cycle_s,mtbf_min,mttr_min\ncut,body,80,300,5\nweld,body,110,120,8\npack,body,80,300,5\n",
        ),
        ("links", "from,to,holds\ncut,weld,10\nweld,pack,10\n"),
    ];
    lay_out(&book, tables);
    book
}

fn shown(path: &Path) -> &str {
    path.to_str().unwrap()
}

#[test]
#[expect(clippy::too_many_lines, reason = "one story, told from top to bottom")]
fn a_rehearsed_log_is_learned_from_and_its_days_are_told() {
    let folder = tempfile::tempdir().unwrap();
    let book = plant(folder.path());
    let (log, choice) = (folder.path().join("log"), folder.path().join("choice.csv"));
    let (code, text, _) = ask(&[
        "rehearse",
        shown(&book),
        shown(&log),
        "--weeks",
        "2",
        "--warm-up",
        "1",
    ]);
    assert_eq!(code, 0, "{text}");
    let truth = fs::read_to_string(log.join("truth.csv")).unwrap();
    assert!(truth.contains("stations,3,mtbf_min,weld,120"), "{truth}");

    let (_, json, errors) = ask(&[
        "learn",
        shown(&book),
        shown(&log),
        "--json",
        "--write",
        shown(&choice),
    ]);
    let learned: Value = serde_json::from_str(&json).expect(&errors);
    let proposals = learned["proposals"].as_array().unwrap();
    assert!(proposals.len() >= 9, "{proposals:?}");
    let cycle = proposals
        .iter()
        .find(|p| p["column"] == "cycle_s" && p["station"] == "weld")
        .unwrap();
    assert!((cycle["found"]["value"].as_f64().unwrap() - 110.0).abs() < 1e-4);
    let checks = learned["checks"].as_array().unwrap();
    let inside = checks
        .iter()
        .filter(|check| check["inside"] == true)
        .count();
    assert!(
        inside * 10 >= checks.len() * 8,
        "{inside} of {}: {checks:?}",
        checks.len()
    );
    assert!(learned["problems"].as_array().unwrap().is_empty());

    let sheet = folder.path().join("figures.csv");
    let (_, text, errors) = ask(&[
        "learn",
        shown(&book),
        shown(&log),
        "--no-run",
        "--by",
        "day-and-shift",
        "--figures",
        shown(&sheet),
    ]);
    assert!(text.contains("2026-03-10 late"), "{text}{errors}");
    let sheet = fs::read_to_string(sheet).unwrap();
    assert!(sheet.contains("\nbody,,weld,2026-03-10,late,"), "{sheet}");

    // Take over one cell by hand.
    let rows = fs::read_to_string(&choice).unwrap();
    assert!(
        rows.lines().skip(1).all(|row| row.ends_with(",no")),
        "{rows}"
    );
    let chosen: Vec<String> = rows
        .lines()
        .map(|row| {
            if row.starts_with("stations,3,mttr_min") {
                row.replace(",no", ",yes")
            } else {
                row.to_owned()
            }
        })
        .collect();
    fs::write(&choice, chosen.join("\n")).unwrap();
    let mended = folder.path().join("mended");
    let (_, text, errors) = ask(&[
        "learn",
        shown(&book),
        shown(&log),
        "--no-run",
        "--accept",
        shown(&choice),
        "--out",
        shown(&mended),
    ]);
    assert!(text.contains("1 value was taken over"), "{text}{errors}");
    let (before, after) = (
        fs::read_to_string(book.join("stations.csv")).unwrap(),
        fs::read_to_string(mended.join("stations.csv")).unwrap(),
    );
    let differ = before
        .lines()
        .zip(after.lines())
        .filter(|(a, b)| a != b)
        .count();
    assert_eq!(differ, 1, "{after}");

    let page = folder.path().join("morning.html");
    let (_, json, errors) = ask(&[
        "day",
        shown(&book),
        shown(&log),
        "--json",
        "--replications",
        "3",
        "--html",
        shown(&page),
    ]);
    let day: Value = serde_json::from_str(&json).expect(&errors);
    assert_eq!(day["date"], "2026-03-20");
    let mean = |what: &str| day[what]["mean"].as_f64().unwrap();
    let sum = mean("beyond") + mean("lost") + mean("unexplained");
    assert!((sum - day["shortfall"].as_f64().unwrap()).abs() < 1e-6);
    assert!(mean("unexplained").abs() < 12.0, "{}", day["unexplained"]);
    let html = fs::read_to_string(&page).unwrap();
    assert!(html.contains("2026-03-20") && html.contains("What it cost"));
    assert!(!html.contains("<script"));
}

#[test]
fn what_differs_says_how_it_gets_into_the_book_and_a_value_of_ones_own_is_no_choice() {
    let folder = tempfile::tempdir().unwrap();
    let place = |name: &str| shown(&folder.path().join(name)).to_owned();
    let (book, log, choice, mended) = (
        plant(folder.path()),
        place("log"),
        place("choice.csv"),
        place("mended"),
    );
    ask(&[
        "rehearse",
        shown(&book),
        &log,
        "--weeks",
        "1",
        "--warm-up",
        "0",
    ]);
    // Weld is said to stop four times as often as it does.
    let stations = fs::read_to_string(book.join("stations.csv")).unwrap();
    let wrong = stations.replace("weld,body,110,120,8", "weld,body,110,30,8");
    fs::write(book.join("stations.csv"), wrong).unwrap();
    let learn = ["learn", shown(&book), &log, "--no-run"];
    let (_, text, errors) = ask(&learn);
    assert!(text.contains("ask again with --write"), "{text}{errors}");
    let (_, text, errors) = ask(&[&learn[..], &["--write", &choice]].concat());
    assert!(
        text.contains("Say yes in its column accept"),
        "{text}{errors}"
    );

    let rows = fs::read_to_string(&choice).unwrap();
    let wanted = |row: &&str| row.starts_with("stations,3,mtbf_min");
    let row = rows.lines().find(wanted).unwrap();
    let mut cells: Vec<&str> = row.split(',').collect();
    // A spreadsheet's capitals and fewer digits are no other value.
    let cut = format!("{:.2}", cells[6].parse::<f64>().unwrap());
    (cells[6], *cells.last_mut().unwrap()) = (&cut, "Yes");
    fs::write(&choice, rows.replace(row, &cells.join(","))).unwrap();
    let take = [&learn[..], &["--accept", &choice, "--out", &mended]].concat();
    let (_, text, errors) = ask(&take);
    assert!(text.contains("1 value was taken over"), "{text}{errors}");

    cells[6] = "45";
    fs::write(&choice, rows.replace(row, &cells.join(","))).unwrap();
    fs::remove_dir_all(&mended).unwrap();
    let (code, _, errors) = ask(&take);
    assert_eq!(code, 2);
    assert!(
        errors.contains("found: 45 stands there, this log says"),
        "{errors}"
    );
    assert!(!Path::new(&mended).exists());
}

#[test]
fn what_the_book_plans_is_written_beside_a_log_for_questions_in_sql() {
    let folder = tempfile::tempdir().unwrap();
    let book = plant(folder.path());
    let log = folder.path().join("log");
    let short = ["--weeks", "1", "--warm-up", "0"];
    let (code, text, errors) =
        ask(&[&["rehearse", shown(&book), shown(&log)], &short[..]].concat());
    assert_eq!(code, 0, "{text}{errors}");
    let planned = folder.path().join("planned");
    let (_, _, errors) = ask(&[
        "learn",
        shown(&book),
        shown(&log),
        "--no-run",
        "--planned",
        shown(&planned),
    ]);
    for file in ["planned.csv", "hours.csv"] {
        let text = fs::read_to_string(planned.join(file)).expect(&errors);
        let beside = fs::read_to_string(log.join(file)).unwrap();
        let head: Vec<&str> = text.lines().take(3).collect();
        assert!(beside.starts_with(&head.join("\n")), "{text}\n{beside}");
    }
    let text = fs::read_to_string(planned.join("planned.csv")).unwrap();
    assert!(text.contains("\nweld,body,,1,,110\n"), "{text}");
}

#[cfg(not(feature = "parquet"))]
#[test]
fn a_build_without_parquet_says_how_to_build_one_with_it() {
    let folder = tempfile::tempdir().unwrap();
    let book = plant(folder.path());
    let log = folder.path().join("log");
    let (code, _, errors) = ask(&["rehearse", shown(&book), shown(&log), "--parquet"]);
    assert_eq!(code, 2);
    assert!(errors.contains("--features parquet"), "{errors}");
    assert!(!log.exists());
    let states = folder.path().join("states.parquet");
    fs::write(&states, "PAR1").unwrap();
    let (code, _, errors) = ask(&["learn", shown(&book), shown(&states), "--no-run"]);
    assert_ne!(code, 0);
    assert!(errors.contains("--features parquet"), "{errors}");
}

#[cfg(feature = "parquet")]
#[test]
fn a_log_in_parquet_is_learned_from_as_one_in_csv() {
    let folder = tempfile::tempdir().unwrap();
    let book = plant(folder.path());
    let learned = |name: &str, kind: &[&str]| {
        let log = folder.path().join(name);
        let (code, _, errors) = ask(&[&["rehearse", shown(&book), shown(&log)], kind].concat());
        assert_eq!(code, 0, "{errors}");
        let (_, json, _) = ask(&["learn", shown(&book), shown(&log), "--no-run", "--json"]);
        json
    };
    let (one, other) = (learned("csv", &[]), learned("columns", &["--parquet"]));
    assert!(one.len() > 1_000);
    assert_eq!(one, other);
}

#[test]
fn a_log_that_cannot_be_used_is_refused_with_the_way_out() {
    let folder = tempfile::tempdir().unwrap();
    let book = plant(folder.path());
    let refused = |name: &str, text: &str| {
        let log = folder.path().join(name);
        fs::write(&log, text).unwrap();
        let (code, _, errors) = ask(&["learn", shown(&book), shown(&log), "--no-run"]);
        assert_ne!(code, 0);
        errors
    };
    let errors = refused("empty.csv", "station,from,to,state\n");
    assert!(errors.contains("log/empty"), "{errors}");
    let errors = refused("columns.csv", "machine,from,to,state\n");
    assert!(
        errors.contains("log_map.csv: column,theirs,station"),
        "{errors}"
    );
    let row = "OP10,2026-03-02T06:00Z,2026-03-02T06:10Z,working\n";
    let errors = refused("other.csv", &format!("station,from,to,state\n{row}"));
    assert!(
        errors.contains("0 of 1 names match the 3 stations"),
        "{errors}"
    );
    let row = "weld,2026-03-02T06:00Z,2026-03-02T06:10Z,RUN\n";
    let errors = refused("states.csv", &format!("station,from,to,state\n{row}"));
    assert!(errors.contains("state,theirs,ours"), "{errors}");
    let (code, _, errors) = ask(&["learn", shown(&book), "nowhere.csv"]);
    assert_eq!(code, 2);
    assert!(errors.contains("cannot read nowhere.csv"), "{errors}");
}

#[test]
fn one_station_is_enough_and_the_rest_is_said_to_be_missing() {
    let folder = tempfile::tempdir().unwrap();
    let book = plant(folder.path());
    let log = folder.path().join("states.csv");
    let row = "weld,2026-03-02T06:00Z,2026-03-02T06:10Z,working\n";
    fs::write(&log, format!("station,from,to,state\n{row}")).unwrap();
    let (_, text, errors) = ask(&["learn", shown(&book), shown(&log), "--no-run"]);
    assert!(text.contains("rows of 1 of 3 stations"), "{text}{errors}");
    let (_, text, errors) = ask(&["learn", shown(&book), shown(&log)]);
    let nothing = "Nothing of this log can be held against a run of it.";
    assert!(text.contains(nothing), "{text}{errors}");
    assert!(
        text.contains("all figures: needs a log of at least 0.5 weeks of work"),
        "{text}"
    );
    let week = "weld,2026-03-02T06:00Z,2026-03-06T22:00Z,working\n";
    fs::write(&log, format!("station,from,to,state\n{week}")).unwrap();
    let (_, text, errors) = ask(&["learn", shown(&book), shown(&log)]);
    for needed in [
        "cars a week: needs rows of pack, where cars leave, or a genealogy",
        "cars on their way: needs a genealogy",
        "states of 2 stations: needs rows of cut, pack",
    ] {
        assert!(text.contains(needed), "{needed} in {text}{errors}");
    }
    let (code, _, errors) = ask(&["day", shown(&book), shown(&log), "--day", "tomorrow"]);
    assert_eq!(code, 2);
    assert!(errors.contains("expected a date"), "{errors}");
}
