//! `linewright improve` and `linewright reach`, as somebody types them.

use std::path::{Path, PathBuf};

use serde_json::Value;

use crate::support::{asked, lay_out};

/// Three stations round the clock, the second slow, and two ideas for it.
fn small(within: &Path, ideas: &str) -> PathBuf {
    let book = within.join("book");
    lay_out(
        &book,
        [
            ("products", "product,cars_per_week\nvan,9000\n"),
            (
                "stations",
                "station,shop,cycle_s,spread,mtbf_min,mttr_min\ncut,body,60,0.1,90,2\nweld,body,75,0.1,90,4\n\
         check,body,60,0.1,90,2\n",
            ),
            ("links", "from,to,holds\ncut,weld,4\nweld,check,4\n"),
            ("ideas", ideas),
        ],
    );
    book
}

const IDEAS: &str = "idea,table,row,column,from,to,investment,cost_per_year,weeks\n\
                     quick torch,stations,weld,cycle_s,75,66,100000,2000,6\n\
                     second fitter,stations,weld,mttr_min,4,2,0,60000,2\n\
                     as it is,stations,cut,cycle_s,60,60,1,0,1\n";

#[test]
fn ideas_come_ranked_with_intervals_and_money_and_again_from_the_runs_kept() {
    let folder = tempfile::tempdir().unwrap();
    let book = small(folder.path(), IDEAS);
    let keep = folder.path().join("runs.json");
    let sheet = folder.path().join("ideas.xlsx");
    let more = [
        "--runs",
        "120",
        "--ideas",
        "8",
        "--keep",
        keep.to_str().unwrap(),
    ];
    let (said, told, code) = asked(
        "improve",
        &book,
        &[&more[..], &["--xlsx", sheet.to_str().unwrap()]].concat(),
    );
    assert_eq!(code, Some(0), "{told}");
    for word in [
        "First of",
        "quick torch",
        "± is the 95 % interval",
        "margin_per_car",
        "rank",
    ] {
        assert!(said.contains(word), "no `{word}` in {said}");
    }
    assert!(sheet.is_file());
    let (again, _, _) = asked("improve", &book, &more);
    assert_eq!(again, said, "the same ranking from the runs kept");
    let (json, _, _) = asked("improve", &book, &[&more[..], &["--json"]].concat());
    let found: Value = serde_json::from_str(&json).unwrap();
    let stands = found["unrun"].as_array().unwrap();
    assert!(
        stands
            .iter()
            .any(|one| one["idea"]["name"] == "as it is" && one["why"]["why"] == "stands")
    );
}

#[test]
fn the_way_to_a_rate_is_told_with_its_steps_and_its_curve() {
    let folder = tempfile::tempdir().unwrap();
    let book = small(folder.path(), IDEAS);
    let (said, told, code) = asked(
        "reach",
        &book,
        &["--cars-per-week", "8000", "--runs", "400"],
    );
    assert_eq!(code, Some(0), "{told}");
    for word in [
        "Cheapest for 8,000 cars a week",
        "quick torch",
        "Step by step",
        "against cars",
    ] {
        assert!(said.contains(word), "no `{word}` in {said}");
    }
    let (said, _, code) = asked(
        "reach",
        &book,
        &["--cars-per-week", "50000", "--runs", "300"],
    );
    assert_eq!(code, Some(1), "{said}");
    assert!(said.contains("Not even all"), "{said}");
    let (said, told, code) = asked("reach", &book, &["--days", "30", "--runs", "300"]);
    assert_eq!(code, Some(0), "{told}");
    assert!(said.contains("days from coil to car as it is"), "{said}");
    let (_, told, code) = asked("reach", &book, &[]);
    assert_eq!(code, Some(2), "{told}");
}

#[test]
fn banks_are_priced_both_ways() {
    let folder = tempfile::tempdir().unwrap();
    let book = small(folder.path(), IDEAS);
    let (said, told, code) = asked("improve", &book, &["--buffers"]);
    assert_eq!(code, Some(0), "{told}");
    assert!(said.contains("2 of 2 banks priced both ways"), "{said}");
}

#[test]
fn wrong_questions_are_refused_in_words() {
    let folder = tempfile::tempdir().unwrap();
    let wrong = IDEAS.replace("stations,weld,cycle_s", "stations,wled,cycle_s");
    let book = small(folder.path(), &wrong);
    let (_, told, code) = asked("improve", &book, &[]);
    assert_eq!(code, Some(1), "{told}");
    assert!(told.contains("wled") && told.contains("weld"), "{told}");
    let file = folder.path().join("no-runs.json");
    std::fs::write(&file, "{}").unwrap();
    let other = folder.path().join("other");
    std::fs::create_dir(&other).unwrap();
    let book = small(&other, IDEAS);
    let (_, told, code) = asked("improve", &book, &["--keep", file.to_str().unwrap()]);
    assert_eq!(code, Some(2), "{told}");
    assert!(told.contains("holds no runs"), "{told}");
    let (_, told, code) = asked("reach", &book, &["--cars-per-week", "-4"]);
    assert_eq!(code, Some(2), "{told}");
}
