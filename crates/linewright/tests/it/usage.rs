//! What cannot be asked so, and a reader that stops listening.

use std::process::Stdio;

use crate::support::{ask, refusal};

#[test]
fn usage_that_makes_no_sense_ends_with_exit_2() {
    for arguments in [
        &[][..],
        &["plan"],
        &["frobnicate"],
        &["run", "book", "--replications", "1"],
        &["run", "book", "--weeks", "0"],
        &["run", "book", "--threads", "0"],
        &["solve", "flow", "question.json", "--seconds", "NaN"],
    ] {
        let output = ask(arguments);
        assert_eq!(output.code, Some(2), "{arguments:?}");
    }
}

#[test]
fn a_number_that_cannot_be_read_is_answered_with_the_range() {
    let said = refusal(&["run", "book", "--seed", "x"], 2);
    assert!(said.contains("a whole number from 0 to"), "{said}");
    let said = refusal(&["run", "book", "--weeks", "0"], 2);
    assert!(said.contains("a whole number from 1 to 10000"), "{said}");
}

#[test]
fn a_book_that_is_not_there_is_answered_with_what_a_book_is_and_the_nearest_name() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::create_dir(folder.path().join("merrow")).unwrap();
    let place = folder.path().join("merow");
    let said = refusal(&["run", place.to_str().unwrap()], 2);
    for part in [
        "did you mean `merrow`?",
        "a folder of .csv tables",
        "linewright demo FOLDER",
    ] {
        assert!(said.contains(part), "no `{part}` in {said}");
    }
}

#[test]
fn a_reader_that_has_seen_enough_is_no_failure() {
    let mut child = std::process::Command::new(env!("CARGO_BIN_EXE_linewright"))
        .args(["tables", "--markdown"])
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    drop(child.stdout.take());
    let output = child.wait_with_output().unwrap();
    assert!(output.stderr.is_empty());
    assert_eq!(output.status.code(), Some(0));
}

#[test]
#[cfg(not(feature = "plants"))]
fn a_build_without_the_engine_says_how_to_get_it() {
    let said = refusal(&["plants", "nowhere", "stops"], 2);
    assert!(said.contains("--features plants"), "{said}");
}

#[test]
#[cfg(feature = "plants")]
fn a_folder_without_plants_and_a_question_that_is_none_are_refused() {
    let folder = tempfile::tempdir().unwrap();
    let place = folder.path().to_str().unwrap();
    assert!(refusal(&["plants", place, "stops"], 2).contains("no states*.parquet"));
    assert!(refusal(&["plants", place, "stopps"], 2).contains("ask figures, stops, cycles"));
}
