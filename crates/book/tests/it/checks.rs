//! What is wrong with a book, case by case: `cases.md` holds for each a
//! sentence, the tables that replace those of the small book, and the problems
//! listed. With `UPDATE_CASES=1` the problems are written anew.

use std::{fmt::Write, path::PathBuf};

use crate::small::{SMALL, workbook};

fn problems(input: &str) -> String {
    let mut text = String::new();
    for problem in book::check(&workbook(&[SMALL, input])).problems {
        writeln!(text, "{problem}").unwrap();
    }
    text
}

#[test]
#[allow(
    clippy::disallowed_methods,
    reason = "the cases are a file, and may be written anew"
)]
fn each_mistake_is_named_with_its_row_and_the_way_out() {
    let path = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests/it/cases.md");
    let cases = std::fs::read_to_string(&path).unwrap();
    let mut fresh = String::new();
    let mut count = 0;
    for case in cases.split_inclusive("\n## ") {
        let (body, next) = case
            .strip_suffix("\n## ")
            .map_or((case, ""), |body| (body, "\n## "));
        let mut parts = body.splitn(3, "```\n");
        let (head, input, rest) = (parts.next(), parts.next(), parts.next());
        let (Some(head), Some(input), Some(_)) = (head, input, rest) else {
            fresh.push_str(case);
            continue;
        };
        count += 1;
        let found = problems(input);
        write!(
            fresh,
            "{head}```\n{input}```\n\n```text\n{found}```\n{next}"
        )
        .unwrap();
    }
    assert!(count > 50, "only {count} cases");
    if std::env::var("UPDATE_CASES").is_ok() {
        std::fs::write(&path, &fresh).unwrap();
        return;
    }
    for (fresh, committed) in fresh.lines().zip(cases.lines()) {
        assert_eq!(fresh, committed);
    }
    assert_eq!(fresh, cases);
}

/// All at once, in the order of the book, and a code each.
#[test]
fn all_problems_are_listed_at_once() {
    let text = "[stations]\nstation,shop,cycle_s\nweld,Body,abc\nhang,Body,-1\n[products]\nproduct,cars_per_week\nTern,NaN\n";
    let listed = problems(text);
    for code in [
        "products/not-a-number",
        "stations/not-a-number",
        "stations/out-of-range",
        "links/unknown-name",
    ] {
        assert!(listed.contains(code), "{code} in\n{listed}");
    }
}

/// A table pasted with the wrong separator has a mistake in every row.
#[test]
fn the_same_mistake_is_summed_up_after_two_hundred() {
    let mut text = String::from("[stations]\nstation,shop,cycle_s\n");
    for number in 0..1_000 {
        writeln!(text, "s{number},Body,1;5").unwrap();
    }
    let listed = problems(&text);
    assert_eq!(listed.matches("stations/unknown-unit").count(), 201);
    assert!(listed.contains("800 more of the same"), "{listed:.300}");
}
