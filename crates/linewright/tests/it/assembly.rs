//! What `linewright assembly` writes, as somebody types it.

use serde_json::Value;

use crate::support::{demo, linewright};

#[test]
fn work_lists_go_to_paper_and_workbook_and_robots_to_drawings() {
    let folder = tempfile::tempdir().unwrap();
    let book = demo(folder.path());
    let place = |name: &str| folder.path().join(name);
    linewright()
        .arg("assembly")
        .arg(&book)
        .arg("--xlsx")
        .arg(place("assembly.xlsx"))
        .arg("--html")
        .arg(place("work.html"))
        .args(["--of", "fewest", "--svg"])
        .arg(place("robots"))
        .assert()
        .success();
    assert!(
        std::fs::read(place("assembly.xlsx"))
            .unwrap()
            .starts_with(b"PK")
    );
    let page = std::fs::read_to_string(place("work.html")).unwrap();
    assert!(page.contains("Work lists, on the fewest stations"));
    assert!(page.contains("<td>bead windscreen</td><td>glass gripper</td>"));
    let drawings = std::fs::read_dir(place("robots")).unwrap();
    let drawings: Vec<String> = drawings
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    assert_eq!(drawings.len(), 5, "{drawings:?}");
    // Nothing that is there already is overwritten.
    let again = linewright()
        .arg("assembly")
        .arg(&book)
        .arg("--html")
        .arg(place("work.html"))
        .output()
        .unwrap();
    assert_eq!(again.status.code(), Some(2));
}

#[test]
fn half_the_cars_leave_twice_the_takt_and_no_cars_are_refused() {
    let folder = tempfile::tempdir().unwrap();
    let book = demo(folder.path());
    let takt = |options: &[&str]| {
        let asked = linewright()
            .arg("assembly")
            .arg(&book)
            .args(options)
            .output();
        let told: Value = serde_json::from_slice(&asked.unwrap().stdout).unwrap();
        told["lines"][0]["takt_s"]["value"].as_f64().unwrap()
    };
    let (own, half) = (takt(&["--json"]), takt(&["--json", "--cars", "700"]));
    assert!((half - 2.0 * own).abs() < 1e-6, "{own} and {half}");
    let none = linewright()
        .arg("assembly")
        .arg(&book)
        .args(["--cars", "0"])
        .output()
        .unwrap();
    assert_eq!(none.status.code(), Some(2));
    let said = String::from_utf8(none.stderr).unwrap();
    assert!(
        said.contains("--cars: found 0, expected more than 0"),
        "{said}"
    );
}

#[test]
fn a_budget_buys_the_most_cars_whose_lines_cost_no_more() {
    let folder = tempfile::tempdir().unwrap();
    let book = demo(folder.path());
    let asked = linewright()
        .arg("assembly")
        .arg(&book)
        .args(["--json", "--budget", "24000000"])
        .output();
    let told: Value = serde_json::from_slice(&asked.unwrap().stdout).unwrap();
    let of = |key: &str| told["budget"][key].as_f64().unwrap();
    assert!(of("cost_per_year") <= 24e6);
    assert!(
        of("cars") > 1_200.0 && of("cars") < of("none_from"),
        "{}",
        of("cars")
    );
    let asked = |text: &str| {
        let asked = linewright()
            .arg("assembly")
            .arg(&book)
            .args(["--budget", text])
            .output();
        let asked = asked.unwrap();
        (
            asked.status.code(),
            String::from_utf8(asked.stderr).unwrap(),
        )
    };
    let (code, said) = asked("-1");
    assert_eq!(code, Some(2), "{said}");
}
