//! `linewright body`, as somebody types it.

use std::path::Path;

use serde_json::Value;

use crate::support::{asked, demo};

/// Puts another text in place of one that stands in a table.
fn change(book: &Path, table: &str, from: &str, to: &str) {
    let file = book.join(format!("{table}.csv"));
    let text = std::fs::read_to_string(&file).unwrap();
    assert!(text.contains(from), "no `{from}` in {table}");
    std::fs::write(&file, text.replacen(from, to, 1)).unwrap();
}

fn told(book: &Path, more: &[&str]) -> Value {
    let (said, _, _) = asked("body", book, &[&["--json"], more].concat());
    serde_json::from_str(&said).unwrap()
}

fn problem(book: &Path, code: &str) -> Value {
    let told = told(book, &[]);
    let problems = told["problems"].as_array().unwrap();
    problems
        .iter()
        .find(|p| p["code"] == code)
        .unwrap_or(&Value::Null)
        .clone()
}

#[test]
fn the_demo_has_3800_joints_near_the_fewest_robots_and_a_workbook_of_them() {
    let dir = tempfile::tempdir().unwrap();
    let book = demo(dir.path());
    let file = dir.path().join("body.xlsx");
    let plan = told(&book, &["--xlsx", file.to_str().unwrap()]);
    assert_eq!(plan["joints"], 3800);
    assert!(plan["holds"].as_bool().unwrap());
    assert!(plan["gap"].as_f64().unwrap() <= 0.03, "{}", plan["gap"]);
    assert!(std::fs::metadata(&file).unwrap().len() > 10_000);
    // The steps of all robots are all joints, once.
    let stations = plan["stations"].as_array().unwrap();
    let steps = stations
        .iter()
        .flat_map(|s| s["robots"].as_array().unwrap());
    let joints: u64 = steps
        .flat_map(|robot| robot["steps"].as_array().unwrap())
        .map(|step| step["joints"].as_u64().unwrap())
        .sum();
    assert_eq!(joints, 3800);
    let five: std::collections::BTreeSet<&str> = plan["groups"]
        .as_array()
        .unwrap()
        .iter()
        .filter_map(|group| group["method"].as_str())
        .collect();
    assert_eq!(five.len(), 5);
}

#[test]
fn a_group_a_station_and_the_whole_read_as_tables_with_the_cautions() {
    let dir = tempfile::tempdir().unwrap();
    let book = demo(dir.path());
    let shown = |more: &[&str]| asked("body", &book, more).0;
    let whole = shown(&[]);
    for words in [
        "3,800 joints a car",
        "Stations against takt",
        "Consumables",
        "One robot less",
        "40 to 80 kN",
    ] {
        assert!(whole.contains(words), "no {words} in {whole}");
    }
    let group = shown(&["--join", "J003 floor cross members floor front left"]);
    assert!(group.contains("what would free it") && group.contains("the product allows rivet"));
    let station = shown(&["--station", "FR-02 framing gate"]);
    assert!(station.contains("gate left front"));
    let (_, wrong, _) = asked("body", &book, &["--station", "FR-02 framing gat"]);
    assert!(wrong.contains("nearest is `FR-02 framing gate`"), "{wrong}");
}

#[test]
fn another_takt_takes_another_number_of_robots() {
    let dir = tempfile::tempdir().unwrap();
    let book = demo(dir.path());
    let robots = |more: &[&str]| told(&book, more)["robots"].as_u64().unwrap();
    let own = robots(&[]);
    assert!(robots(&["--takt", "230"]) < own);
    assert!(robots(&["--cars", "1000"]) < own);
}

#[test]
fn wrong_joints_are_named_with_row_value_and_way_out() {
    let dir = tempfile::tempdir().unwrap();
    let fresh = |name: &str| {
        let folder = dir.path().join(name);
        std::fs::create_dir(&folder).unwrap();
        demo(&folder)
    };
    let book = fresh("method");
    change(&book, "joins", ",rivet,6,", ",rivvet,6,");
    let unknown = problem(&book, "joins/unknown-word");
    assert_eq!(
        (&unknown["row"], &unknown["nearest"]),
        (&2.into(), &"rivet".into())
    );

    let book = fresh("material");
    change(&book, "parts", "front floor,5754-O,", "front floor,5754-X,");
    assert_eq!(problem(&book, "parts/unknown-name")["nearest"], "5754-O");

    let book = fresh("circle");
    let zone = "floor cross member,floor front,";
    let after = format!("{zone}J003 floor cross members floor front left");
    change(&book, "joins", zone, &after);
    assert_eq!(problem(&book, "joins/circle")["column"], "after");

    let book = fresh("zone");
    change(&book, "joins", "gate left front,,left", "gate,,left");
    change(&book, "joins", "gate left mid,,left", "gate,,left");
    change(&book, "joins", "gate left rear,,left", "gate,,left");
    let zone = problem(&book, "joins/zone-too-long");
    assert!(
        zone["mend"].as_str().unwrap().contains("divide the zone"),
        "{zone}"
    );
}
