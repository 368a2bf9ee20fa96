//! `linewright solve balance`, and the assembly of a book.

use serde_json::Value;
use tempfile::TempDir;

use crate::support::{Plant, answer, json, refusal, solve};

/// Twelve elements in minutes at a takt of one minute (the twelve-element line
/// of Groover, Automation, Production Systems, and Computer-Integrated
/// Manufacturing), in seconds: 4 min of work, five stations at best.
const TWELVE_ELEMENTS: &str = r#"{"takt_s": 60, "tasks": [
    {"name": "1", "s": 12}, {"name": "2", "s": 24}, {"name": "3", "s": 42, "after": ["1"]},
    {"name": "4", "s": 6, "after": ["1", "2"]}, {"name": "5", "s": 18, "after": ["2"]},
    {"name": "6", "s": 6.6, "after": ["3"]}, {"name": "7", "s": 19.2, "after": ["3"]},
    {"name": "8", "s": 36, "after": ["3", "4"]},
    {"name": "9", "s": 16.2, "after": ["6", "7", "8"]},
    {"name": "10", "s": 22.8, "after": ["5", "8"]},
    {"name": "11", "s": 30, "after": ["9", "10"]}, {"name": "12", "s": 7.2, "after": ["11"]}]}"#;

#[test]
fn the_twelve_element_line_takes_five_stations() {
    let output = solve(
        "balance",
        TWELVE_ELEMENTS,
        &["--seconds", "5", "--threads", "2"],
    );
    assert_eq!(output.code, Some(0), "{}", output.err);
    let said: Value = output.json();
    assert_eq!(said["status"], "optimal");
    assert_eq!(said["count"], 5);
    assert_eq!(said["lower_bound"], 5.0);
    assert!((said["efficiency"].as_f64().unwrap() - 0.80).abs() < 1e-9);
    assert!(said["wall_s"].as_f64().unwrap() > 0.0);
}

#[test]
fn a_task_longer_than_takt_is_an_answer_that_names_it() {
    let output = solve("balance", &TWELVE_ELEMENTS.replacen("60", "40", 1), &[]);
    assert_eq!(output.code, Some(1));
    let said: Value = output.json();
    assert_eq!(said["status"], "infeasible");
    let why = said["why"][0].as_str().unwrap();
    assert!(why.contains("\"3\" takes 420"), "{why}");
    let output = solve(
        "balance",
        &TWELVE_ELEMENTS.replacen("takt_s", "takt", 1),
        &[],
    );
    assert_eq!(output.code, Some(2));
    assert!(output.err.contains("did you mean `takt_s`?"));
}

#[test]
fn the_demo_s_assembly_is_balanced_with_a_robot_that_changes_tools() {
    let folder = TempDir::new().unwrap();
    let book = folder.path().join("merrow-quay");
    let book = book.to_str().unwrap();
    answer(&["demo", book], 0);
    let said = json(&["assembly", book, "--json"], 0);
    assert_eq!(said["holds"], true);
    let choices = said["choices"].as_array().unwrap();
    assert!(choices.len() > 450, "{}", choices.len());
    for choice in choices {
        assert!(!choice["reason"].as_str().unwrap().is_empty(), "{choice}");
    }
    for line in said["lines"].as_array().unwrap() {
        let stations = line["stations"].as_array().unwrap();
        assert!(stations.len() as u64 >= line["bound"].as_u64().unwrap());
        // Today's stations hold the work, so nothing has to move.
        assert_eq!(
            line["again"]["moves"],
            serde_json::json!([]),
            "{}",
            line["line"]
        );
    }
    let cells = said["cells"].as_array().unwrap();
    let glass = cells
        .iter()
        .find(|cell| cell["robot"] == "seat and glass robot");
    let glass = glass.unwrap();
    assert_eq!(glass["changes"], 2);
    assert!(glass["spare_s"].as_f64().unwrap() >= 0.0);
    assert!(glass["fallback"]["people"].as_u64().unwrap() > 0);
    let told = answer(&["assembly", book], 0);
    for wanted in [
        "Lines",
        "Person or robot",
        "People near robots",
        "robot down:",
    ] {
        assert!(told.contains(wanted), "{wanted}");
    }
    // The same answer on every run.
    assert_eq!(told, answer(&["assembly", book], 0));
}

#[test]
fn a_book_without_tasks_has_nothing_to_balance() {
    let plant = Plant::sound();
    let said = refusal(&["assembly", plant.path()], 2);
    assert!(said.contains("no tasks"), "{said}");
}

#[test]
fn a_task_with_no_way_left_is_an_error_of_its_row() {
    let plant = Plant::sound();
    plant.table(
        "tasks",
        "task,shop,hand_s,lift_kg,station\nlift,body,30,40,saw\n",
    );
    let said = json(&["assembly", plant.path(), "--json"], 1);
    assert!(said.to_string().contains("tasks/no-way-left"), "{said}");
}
