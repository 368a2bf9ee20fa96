//! The sheet as a whole: complete, readable, and the same as the handbook.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test that fails says so"
)]

use std::collections::BTreeSet;
use std::path::PathBuf;

use formulas::{Fault, Formula};

fn words(text: &str) -> BTreeSet<&str> {
    text.split(|c: char| !(c.is_alphanumeric() || c == '_'))
        .collect()
}

#[test]
fn every_formula_says_what_it_is_and_where_it_comes_from() {
    for formula in formulas::all() {
        let name = formula.name;
        assert!(!formula.source.trim().is_empty(), "{name} lacks a source");
        assert!(
            formula.about.trim().ends_with('.'),
            "{name} lacks a paragraph"
        );
        assert!(!formula.title.is_empty(), "{name} lacks a title");
        for symbol in formula.symbols.iter().chain(formula.results) {
            assert!(
                !symbol.meaning.is_empty(),
                "{name}: {} lacks a meaning",
                symbol.name
            );
        }
        assert!(
            !formula.source.ends_with('.'),
            "{name}: the handbook adds the stop"
        );
    }
}

/// Formulas whose source says that it, or a part of it, was not held against what is
/// published. The number may fall; a new formula brings a source that was.
const NOT_VERIFIED: usize = 3;

#[test]
fn no_further_formula_comes_without_a_source_that_was_looked_up() {
    let open: Vec<&str> = formulas::all()
        .filter(|formula| formula.source.contains("not verified"))
        .map(|formula| formula.name)
        .collect();
    assert!(
        open.len() <= NOT_VERIFIED,
        "{} sources are not verified: {open:?}",
        open.len()
    );
    let remembered = formulas::all().find(|formula| formula.source.contains("memory"));
    assert!(remembered.is_none(), "{:?}", remembered.map(|one| one.name));
}

#[test]
fn a_distance_from_people_sends_its_reader_to_the_standard_of_today() {
    let near_people = formulas::all().filter(|formula| formula.shop == "Safety distances");
    let mut seen = 0;
    for formula in near_people {
        seen += 1;
        let caution = formula.caution.unwrap_or_default();
        assert!(
            caution.contains("check against the current edition of the standard"),
            "{}: {caution}",
            formula.name
        );
    }
    assert!(seen >= 4, "{seen} formulas of safety distances");
}

#[test]
fn every_name_is_kebab_case_and_stands_once() {
    let mut names = BTreeSet::new();
    for formula in formulas::all() {
        let plain = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-';
        assert!(formula.name.chars().all(plain), "{}", formula.name);
        assert!(names.insert(formula.name), "{} twice", formula.name);
    }
    assert!(names.len() > 80, "{} formulas", names.len());
}

#[test]
fn every_symbol_stands_in_the_expression() {
    for formula in formulas::all() {
        let words = words(formula.expression);
        for symbol in formula.symbols.iter().chain(formula.results) {
            assert!(
                words.contains(symbol.name),
                "{}: {}",
                formula.name,
                symbol.name
            );
        }
    }
}

/// Where a wrong figure can hurt someone.
fn can_hurt(formula: &Formula) -> bool {
    let shop = ["Lifting by hand", "Safety distances", "Carts"].contains(&formula.shop);
    let forces = formula.results.iter().any(|result| result.unit == "kN");
    shop || forces
}

#[test]
fn what_can_hurt_someone_carries_a_caution_in_sheet_and_handbook() {
    let page = formulas::formula_sheet_markdown();
    for formula in formulas::all().filter(|formula| can_hurt(formula)) {
        let caution = formula.caution.unwrap_or_default();
        assert!(!caution.is_empty(), "{} lacks a caution", formula.name);
        assert!(
            page.contains(&format!("**Caution:** {caution}.")),
            "{}",
            formula.name
        );
    }
    for shop in ["Lifting by hand", "Safety distances"] {
        assert!(
            formulas::all().any(|formula| formula.shop == shop),
            "{shop}"
        );
    }
}

#[test]
#[allow(
    clippy::disallowed_methods,
    reason = "a test may read and refresh its data"
)]
fn the_handbook_in_docs_is_fresh() {
    let path = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../../docs/formulas.md");
    let page = formulas::formula_sheet_markdown();
    if std::env::var_os("REFRESH_DOCS").is_some() {
        std::fs::write(&path, &page).unwrap();
    }
    let kept = std::fs::read_to_string(&path).unwrap_or_default();
    assert!(
        kept == page,
        "docs/formulas.md is not what the code declares; refresh it with \
         REFRESH_DOCS=1 cargo test -p linewright-formulas --test sheet"
    );
}

fn faults(name: &str, pairs: &[(&str, &str)]) -> Vec<Fault> {
    formulas::compute(name, pairs).unwrap_err().faults
}

#[test]
fn everything_wrong_with_the_input_is_told_at_once() {
    let refusal = formulas::compute(
        "net-time",
        &[
            ("shift_lenght", "8 h"),
            ("shifts", "two"),
            ("planned_stops", "3 kg"),
        ],
    )
    .unwrap_err();
    let told = refusal.to_string();
    for part in [
        "`shift_lenght` is not a symbol of it, the nearest is `shift_length`",
        "`shifts`: `two` does not start with a number",
        "`planned_stops`: `kg` does not measure the same as `min`, write it in min",
        "`shift_length` is missing (length of a shift, start to end, value in min)",
    ] {
        assert!(told.contains(part), "{told}");
    }
    assert_eq!(refusal.faults.len(), 4);
}

#[test]
fn a_value_out_of_range_is_named_with_its_range() {
    let told = formulas::compute("takt", &[("net_time", "880 min"), ("demand", "0")])
        .unwrap_err()
        .to_string();
    assert_eq!(told, "takt: `demand` is 0, but must be greater than 0");
    let told = formulas::compute("tmu", &[("units", "-1e300")])
        .unwrap_err()
        .to_string();
    assert!(told.contains("-1e300"), "{told}");
}

#[test]
fn lists_and_single_numbers_are_not_taken_for_each_other() {
    assert!(matches!(
        faults("takt", &[("net_time", "1;2"), ("demand", "1")])[..],
        [Fault::NumberExpected { symbol: "net_time" }]
    ));
    assert!(matches!(
        faults("rolled-yield", &[("good_shares", "")])[..],
        [Fault::NotAQuantity { .. }]
    ));
    let sheet = formulas::find("rolled-yield").unwrap();
    let single = sheet.work(vec![formulas::Value::Number(0.9).into()]);
    assert!(matches!(
        single.unwrap_err().faults[..],
        [Fault::ListExpected {
            symbol: "good_shares"
        }]
    ));
}

#[test]
fn too_few_and_too_many_values_in_a_row_are_refused() {
    let takt = formulas::find("takt").unwrap();
    let row = |count| vec![formulas::Sourced::from(formulas::Value::Number(1.0)); count];
    assert!(matches!(
        takt.work(row(1)).unwrap_err().faults[..],
        [Fault::Missing {
            symbol: "demand",
            ..
        }]
    ));
    assert!(matches!(
        takt.work(row(3)).unwrap_err().faults[..],
        [Fault::TooMany { given: 3, .. }]
    ));
}

#[test]
fn a_symbol_given_twice_or_a_value_that_overflows_is_refused() {
    let twice = [("units", "1"), ("Units", "2")];
    assert!(matches!(
        faults("tmu", &twice)[..],
        [Fault::GivenTwice { symbol: "units" }]
    ));
    let huge = [("output", "1e300"), ("good_share", "1e-300")];
    assert!(matches!(
        faults("input-from-yield", &huge)[..],
        [Fault::NoFiniteResult { symbol: "input" }]
    ));
}

#[test]
fn a_loop_with_no_way_out_is_refused_in_words() {
    let pairs = [("entries", "1;0"), ("routes", "0;1;1;0")];
    let told = formulas::compute("absorbing-chain", &pairs)
        .unwrap_err()
        .to_string();
    assert!(told.contains("every station has a way out"), "{told}");
    let pairs = [("entries", "1;0"), ("routes", "0;1;1")];
    let told = formulas::compute("absorbing-chain", &pairs)
        .unwrap_err()
        .to_string();
    assert!(told.contains("rows and columns"), "{told}");
}

#[test]
fn a_misspelt_name_gets_the_nearest() {
    for (typed, nearest) in [
        ("takt-time", Some("takt")),
        ("irrr", Some("irr")),
        ("chain", Some("absorbing-chain")),
    ] {
        let refusal = formulas::find(typed).unwrap_err();
        assert_eq!(
            refusal.faults,
            [Fault::UnknownFormula { nearest }],
            "{typed}"
        );
    }
    assert!(formulas::find("Design_Cycle").is_ok());
}
