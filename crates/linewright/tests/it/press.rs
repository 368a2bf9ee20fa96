//! `linewright press` and `linewright solve lots`, as somebody types them.

use std::path::Path;
use std::time::Instant;

use serde_json::Value;

use crate::support::{asked, demo, solve};

/// Puts another value into a column of the first row that starts with a name.
fn change(book: &Path, table: &str, row: &str, column: &str, value: &str) {
    let file = book.join(format!("{table}.csv"));
    let text = std::fs::read_to_string(&file).unwrap();
    let header: Vec<&str> = text.lines().next().unwrap().split(',').collect();
    let at = header.iter().position(|name| *name == column).unwrap();
    let changed = text.lines().map(|line| {
        let mut cells: Vec<&str> = line.split(',').collect();
        if cells[0] == row {
            cells[at] = value;
        }
        cells.join(",")
    });
    let changed: Vec<String> = changed.collect();
    std::fs::write(&file, changed.join("\n") + "\n").unwrap();
}

#[test]
fn the_demo_has_a_die_timetable_within_a_few_seconds() {
    let folder = tempfile::tempdir().unwrap();
    let book = demo(folder.path());
    let begun = Instant::now();
    let (said, _, code) = asked("press", &book, &["--json"]);
    assert!(
        begun.elapsed().as_secs() < 60,
        "far beyond the second that it takes alone"
    );
    assert_eq!(code, Some(0), "{said}");
    let press: Value = serde_json::from_str(&said).unwrap();
    assert_eq!(press["holds"], true);
    assert_eq!(press["lines"].as_array().unwrap().len(), 5);
    let target = press["target_days"].as_f64().unwrap();
    let after = press["after_days"].as_f64().unwrap();
    let lots = press["lots"].as_array().unwrap();
    for blanks in lots.iter().filter(|lot| lot["blanks"] == true) {
        let panels = lots
            .iter()
            .find(|lot| lot["blanks"] == false && lot["part"] == blanks["part"]);
        let old = |lot: &Value| lot["oldest_days"].as_f64().unwrap();
        let both = old(blanks) + panels.map_or(0.0, old) + after;
        assert!(both <= target + 1e-6, "{}: {both} days", blanks["part"]);
    }
    assert_eq!(
        press["halved"].as_array().unwrap().len(),
        6,
        "each line and all"
    );
}

#[test]
fn the_load_of_a_line_is_told_with_the_proposed_lots_and_with_todays_as_the_plan_says() {
    let folder = tempfile::tempdir().unwrap();
    let book = demo(folder.path());
    let (press, _, _) = asked("press", &book, &[]);
    let (plan, _, _) = asked("plan", &book, &[]);
    assert!(
        press.contains("with the timetable proposed here"),
        "{press}"
    );
    let plan = plan.split("with the book's lots").nth(1).unwrap();
    let row = |text: &str| {
        let line = text.lines().find(|line| line.contains("press line 2"));
        line.unwrap().to_owned()
    };
    let planned = row(plan);
    let shares = planned.split("  ").filter(|cell| cell.ends_with('%'));
    let load = shares.last().unwrap().trim().to_owned();
    let lines = press
        .split("with the timetable proposed here")
        .nth(1)
        .unwrap();
    assert!(
        row(lines).contains(&load),
        "{load} is not in {}",
        row(lines)
    );
}

#[test]
fn a_plant_without_presses_is_spared_the_caution_about_dies() {
    let folder = tempfile::tempdir().unwrap();
    let book = folder.path().join("book");
    crate::support::lay_out(
        &book,
        [
            ("products", "product,cars_per_week\nvan,80\n"),
            (
                "shifts",
                "shop,shift,days,start,end\nbody,day,mon-fri,06:00,14:00\n",
            ),
            (
                "stations",
                "station,shop,cycle_s\nweld,body,1200\nframe,body,1600\n",
            ),
            ("links", "from,to,holds\nweld,frame,3\n"),
        ],
    );
    let (said, _, _) = asked("press", &book, &[]);
    assert!(said.contains("nothing is made in lots"), "{said}");
    assert!(!said.contains("ISO 16092"), "{said}");
}

#[test]
fn the_timetable_goes_into_a_calendar_and_a_workbook() {
    let folder = tempfile::tempdir().unwrap();
    let book = demo(folder.path());
    let (ics, xlsx) = (
        folder.path().join("dies.ics"),
        folder.path().join("press.xlsx"),
    );
    let (ics, xlsx) = (ics.to_str().unwrap(), xlsx.to_str().unwrap());
    let files = ["--monday", "2026-01-05", "--ics", ics, "--xlsx", xlsx];
    let (_, complaint, code) = asked("press", &book, &files);
    assert_eq!(code, Some(0), "{complaint}");
    let text = std::fs::read_to_string(ics).unwrap();
    assert!(text.starts_with("BEGIN:VCALENDAR\r\nVERSION:2.0\r\n"));
    assert!(
        text.contains("DTSTART:20260105T06"),
        "the first lot on Monday morning"
    );
    let count = |what: &str| text.matches(what).count();
    assert!(count("BEGIN:VEVENT") > 100);
    assert_eq!(count("BEGIN:VEVENT"), count("END:VEVENT\r\n"));
    assert!(text.split("\r\n").all(|line| line.len() <= 75));
    assert!(std::fs::read(xlsx).unwrap().starts_with(b"PK"));
    // Nothing that is there already is overwritten.
    assert_eq!(asked("press", &book, &["--xlsx", xlsx]).2, Some(2));
}

#[test]
fn a_calendar_that_does_not_begin_on_a_monday_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let book = demo(folder.path());
    let ics = folder.path().join("dies.ics");
    let tuesday = ["--monday", "2026-01-06", "--ics", ics.to_str().unwrap()];
    let (_, said, code) = asked("press", &book, &tuesday);
    assert_eq!(code, Some(2));
    assert!(
        said.contains("found 2026-01-06, expected the date of a Monday"),
        "{said}"
    );
}

#[test]
fn a_slow_changeover_overloads_its_line_and_says_what_frees_it() {
    let folder = tempfile::tempdir().unwrap();
    let book = demo(folder.path());
    change(&book, "press_lines", "press line 2", "change_min", "25");
    let (said, _, code) = asked("press", &book, &["--json"]);
    assert_eq!(code, Some(1));
    let press: Value = serde_json::from_str(&said).unwrap();
    let over = &press["overload"][0];
    assert_eq!(over["line"], "press line 2");
    assert!(over["missing_h"].as_f64().unwrap() > 1.0);
    assert!(over["save_minutes"].as_f64().unwrap() > 0.0);
    assert!(!over["move_parts"].as_array().unwrap().is_empty());
    // Lines that keep up have their timetable, the other has none at all.
    let lots = press["lots"].as_array().unwrap();
    assert!(!lots.is_empty());
    assert!(lots.iter().all(|lot| lot["line"] != "press line 2"));
    for line in press["lines"].as_array().unwrap() {
        let none = line["cycle"].as_array().unwrap().is_empty();
        assert_eq!(none, line["line"] == "press line 2", "{}", line["line"]);
    }
}

#[test]
fn a_run_takes_the_timetables_lots_when_asked() {
    let folder = tempfile::tempdir().unwrap();
    let book = demo(folder.path());
    let short = ["--replications", "2", "--weeks", "1", "--trials", "0"];
    let more = [&["--json", "--timetable-lots"], &short[..]].concat();
    let (said, _, _) = asked("run", &book, &more);
    let run: Value = serde_json::from_str(&said).unwrap();
    assert!(run["made"]["mean"].as_f64().unwrap() > 1_000.0);
}

const TWO_PANELS: &str = r#"{"items": [
    {"name": "door", "rate_per_day": 200, "make_per_day": 2400, "changeover_days": 0.02,
     "changeover_cost": 400, "hold_cost_per_day": 0.02, "max_cover_days": 3},
    {"name": "roof", "rate_per_day": 100, "make_per_day": 2400, "changeover_days": 0.02,
     "changeover_cost": 400, "hold_cost_per_day": 0.02}], "lines": [{"name": "P1"}]}"#;

#[test]
fn solve_lots_answers_with_both_policies_and_a_bound() {
    let told = solve("lots", TWO_PANELS, &["--threads", "1", "--seed", "7"]);
    assert_eq!(told.code, Some(0));
    let answer = told.json();
    let cost = |n: usize| answer["policies"][n]["cost_per_day"].as_f64().unwrap();
    assert!(cost(1) <= cost(0) * (1.0 + 1e-9));
    assert!(answer["lower_bound_per_day"].as_f64().unwrap() <= cost(1) * (1.0 + 1e-9));
    assert!(answer["wall_s"].as_f64().unwrap() > 0.0);
}

#[test]
fn solve_lots_keeps_its_limit_of_time() {
    let item = |n: usize| {
        format!(
            r#"{{"name": "part {n}", "rate_per_day": {}, "make_per_day": 9000,
                "changeover_days": 0.004, "changeover_cost": {},
                "hold_cost_per_day": 0.01}}"#,
            100 + n * 13,
            20 + n * 7 % 50
        )
    };
    let items: Vec<String> = (0..20).map(item).collect();
    let question = format!(
        r#"{{"items": [{}], "lines": [{{"name": "P1"}}]}}"#,
        items.join(",")
    );
    let told = solve("lots", &question, &["--seconds", "1"]);
    assert_eq!(told.code, Some(0));
    let answer = told.json();
    let wall = answer["wall_s"].as_f64().unwrap();
    assert!(wall <= 1.2 || std::env::var_os("CI").is_some(), "{wall} s");
}

#[test]
fn solve_lots_refuses_a_misspelt_key_with_its_place() {
    let misspelt = TWO_PANELS.replace("make_per_day", "makes_per_day");
    let told = solve("lots", &misspelt, &[]);
    assert_eq!(told.code, Some(2));
    assert!(told.err.contains("items[0].makes_per_day"), "{}", told.err);
    assert!(told.out.is_empty());
}

#[test]
fn solve_lots_proves_an_overload_and_exits_with_1() {
    let told = solve("lots", &TWO_PANELS.replace("2400", "210"), &[]);
    assert_eq!(told.code, Some(1));
    let answer = told.json();
    assert_eq!(answer["status"], "infeasible");
    assert!(
        answer["overload"]["lines"]
            .as_array()
            .is_some_and(|lines| !lines.is_empty())
    );
}
