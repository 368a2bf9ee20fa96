//! What `linewright assembly` writes, as somebody types it.

use serde_json::Value;

use crate::support::{asked, demo};

#[test]
fn work_lists_go_to_paper_and_workbook_and_robots_to_drawings() {
    let folder = tempfile::tempdir().unwrap();
    let book = demo(folder.path());
    let place = |name: &str| folder.path().join(name).to_str().unwrap().to_owned();
    let (xlsx, html, svg) = (place("assembly.xlsx"), place("work.html"), place("robots"));
    let files = [
        "--xlsx", &xlsx, "--html", &html, "--of", "fewest", "--svg", &svg,
    ];
    let (_, complaint, code) = asked("assembly", &book, &files);
    assert_eq!(code, Some(0), "{complaint}");
    assert!(std::fs::read(&xlsx).unwrap().starts_with(b"PK"));
    let page = std::fs::read_to_string(&html).unwrap();
    assert!(page.contains("Work lists, on the fewest stations"));
    assert!(page.contains("<td>bead windscreen</td><td>glass gripper</td>"));
    let drawings = std::fs::read_dir(&svg).unwrap();
    let drawings: Vec<String> = drawings
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    assert_eq!(drawings.len(), 5, "{drawings:?}");
    // Nothing that is there already is overwritten.
    assert_eq!(asked("assembly", &book, &["--html", &html]).2, Some(2));
}

#[test]
fn half_the_cars_leave_twice_the_takt_and_no_cars_are_refused() {
    let folder = tempfile::tempdir().unwrap();
    let book = demo(folder.path());
    let takt = |options: &[&str]| {
        let (said, _, _) = asked("assembly", &book, options);
        let told: Value = serde_json::from_str(&said).unwrap();
        told["lines"][0]["takt_s"]["value"].as_f64().unwrap()
    };
    let (own, half) = (takt(&["--json"]), takt(&["--json", "--cars", "700"]));
    assert!((half - 2.0 * own).abs() < 1e-6, "{own} and {half}");
    let (_, said, code) = asked("assembly", &book, &["--cars", "0"]);
    assert_eq!(code, Some(2));
    assert!(
        said.contains("--cars: found 0, expected more than 0"),
        "{said}"
    );
}

#[test]
fn a_budget_buys_the_most_cars_whose_lines_cost_no_more() {
    let folder = tempfile::tempdir().unwrap();
    let book = demo(folder.path());
    let (said, _, _) = asked("assembly", &book, &["--json", "--budget", "24000000"]);
    let told: Value = serde_json::from_str(&said).unwrap();
    let of = |key: &str| told["budget"][key].as_f64().unwrap();
    assert!(of("cost_per_year") <= 24e6);
    assert!(
        of("cars") > 1_200.0 && of("cars") < of("none_from"),
        "{}",
        of("cars")
    );
    let (_, said, code) = asked("assembly", &book, &["--budget", "-1"]);
    assert_eq!(code, Some(2), "{said}");
}
