//! Files that answers are written into: none that is there already is touched,
//! and what is wrong with a name is said before the work begins.

use std::fs;
use std::path::Path;

use crate::support::{DEMO, Plant, ask, refusal};

/// Every question that writes a file: what is asked before the file's name, and
/// the file's ending. A log's name stands where none is needed: the name of the
/// answer's file is looked at first.
const WRITERS: [(&[&str], &str); 21] = [
    (&["report", DEMO, "--out"], "html"),
    (&["report", DEMO, "--out"], "xlsx"),
    (&["convert", DEMO], "xlsx"),
    (&["outline", "lid.dxf", "--name", "lid", "--out"], "csv"),
    (&["run", DEMO, "--strip"], "svg"),
    (&["learn", DEMO, "log", "--write"], "csv"),
    (&["learn", DEMO, "log", "--figures"], "csv"),
    (&["day", DEMO, "log", "--html"], "html"),
    (&["order", DEMO, "--csv"], "csv"),
    (&["order", DEMO, "--html"], "html"),
    (&["body", DEMO, "--xlsx"], "xlsx"),
    (&["assembly", DEMO, "--html"], "html"),
    (&["press", DEMO, "--ics"], "ics"),
    (&["coils", DEMO, "--xlsx"], "xlsx"),
    (&["paint", DEMO, "--svg"], "svg"),
    (&["cost", DEMO, "--xlsx"], "xlsx"),
    (&["growth", DEMO, "--xlsx"], "xlsx"),
    (&["improve", DEMO, "--xlsx"], "xlsx"),
    (
        &["reach", DEMO, "--cars-per-week", "1100", "--xlsx"],
        "xlsx",
    ),
    (&["solve", "flow", "question.json", "--out"], "json"),
    (&["solve", "fit", "question.json", "--out"], "json"),
];

fn refused(question: &[&str], file: &Path) -> String {
    refusal(&[question, &[file.to_str().unwrap()]].concat(), 2)
}

#[test]
fn no_answer_takes_the_place_of_a_file_that_is_there() {
    let folder = tempfile::tempdir().unwrap();
    for (question, ending) in WRITERS {
        let file = folder.path().join("theirs").with_extension(ending);
        fs::write(&file, "a year's work").unwrap();
        let said = refused(question, &file);
        assert!(said.contains("is there already"), "{question:?}: {said}");
        assert_eq!(fs::read_to_string(&file).unwrap(), "a year's work");
    }
}

#[test]
fn a_file_whose_name_says_that_something_else_is_in_it_is_not_written() {
    let folder = tempfile::tempdir().unwrap();
    for (question, ending) in WRITERS {
        let file = folder.path().join("answer.pdf");
        let said = refused(question, &file);
        assert!(said.contains(".pdf"), "{question:?}: {said}");
        assert!(said.contains(&format!(".{ending}")), "{question:?}: {said}");
        assert!(!file.exists(), "{question:?}");
    }
}

#[test]
fn a_folder_that_is_not_there_is_told_before_the_work_and_not_after() {
    let folder = tempfile::tempdir().unwrap();
    for (question, ending) in WRITERS {
        let file = folder.path().join("nowhere").join("answer");
        let said = refused(question, &file.with_extension(ending));
        assert!(
            said.contains("make the folder first"),
            "{question:?}: {said}"
        );
    }
}

#[test]
fn a_copy_of_a_store_does_not_take_the_place_of_another() {
    let folder = tempfile::tempdir().unwrap();
    let place = |name: &str| folder.path().join(name);
    fs::write(place("old.linewright"), "last month's copy").unwrap();
    let store = place("plant.linewright");
    let said = refused(
        &["backup", store.to_str().unwrap()],
        &place("old.linewright"),
    );
    assert!(said.contains("is there already"), "{said}");
    let kept = fs::read_to_string(place("old.linewright")).unwrap();
    assert_eq!(kept, "last month's copy");
}

#[test]
fn folders_with_something_in_them_are_refused_before_the_log_is_read() {
    let plant = Plant::sound();
    let theirs = plant.beside("theirs");
    fs::create_dir(&theirs).unwrap();
    fs::write(theirs.join("notes.txt"), "mine").unwrap();
    for question in [
        &["learn", plant.path(), "no log", "--planned"][..],
        &[
            "learn",
            plant.path(),
            "no log",
            "--accept",
            "c.csv",
            "--out",
        ],
        &["rehearse", plant.path()],
        &["convert", plant.path()],
        &["demo"],
    ] {
        let said = refused(question, &theirs);
        assert!(said.contains("is not empty"), "{question:?}: {said}");
    }
    let said = refused(&["demo"], &theirs.join("notes.txt"));
    assert!(said.contains("is a file"), "{said}");
}

#[test]
fn two_tables_of_one_answer_cannot_go_to_one_file() {
    let plant = Plant::sound();
    let file = plant.beside("both.csv");
    let name = file.to_str().unwrap();
    let question = ["learn", plant.path(), "no log", "--write", name];
    let said = refused(&[&question[..], &["--figures"]].concat(), &file);
    assert!(said.contains("--write and --figures both name"), "{said}");
}

#[test]
fn a_choice_that_cannot_be_read_leaves_nothing_written() {
    let plant = Plant::sound();
    let place = |name: &str| plant.beside(name).to_str().unwrap().to_owned();
    let (log, figures, choice) = (place("log"), place("figures.csv"), place("choice.csv"));
    let heard = ask([
        "rehearse",
        plant.path(),
        &log,
        "--weeks",
        "1",
        "--warm-up",
        "0",
    ]);
    assert_eq!(heard.code, Some(0), "{}", heard.err);
    let learned = [
        "learn",
        plant.path(),
        &log,
        "--no-run",
        "--figures",
        &figures,
    ];
    let chosen = ["--accept", &choice, "--out", &place("mended")];
    let said = refusal(&[&learned[..], &chosen[..]].concat(), 2);
    assert!(said.contains("cannot read"), "{said}");
    // The same question, put again, is not refused for its own leavings.
    fs::write(&choice, "table,row,column,accept\n").unwrap();
    let again = ask([&learned[..], &chosen[..]].concat());
    assert!(Path::new(&figures).exists(), "{}", again.err);
    assert!(
        again.out.contains("0 values were taken over"),
        "{}",
        again.out
    );
}
