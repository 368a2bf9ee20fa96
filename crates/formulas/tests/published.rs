//! The outside checks under `checks/shops`, through the one door a person
//! uses: name and text in, working out.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test that fails says so"
)]

use std::collections::{BTreeMap, BTreeSet};
use std::path::PathBuf;

use formulas::{Formula, Value};
use serde::Deserialize;

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    cases: Vec<Case>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Case {
    id: String,
    formula: String,
    inputs: BTreeMap<String, String>,
    expected: BTreeMap<String, String>,
    tolerance: f64,
    source: String,
    how_obtained: HowObtained,
    #[serde(default)]
    #[allow(dead_code, reason = "for the reader of the file")]
    note: String,
}

#[derive(Deserialize, PartialEq)]
enum HowObtained {
    #[serde(rename = "published")]
    Published,
    #[serde(rename = "computed")]
    Computed,
    #[serde(rename = "from memory")]
    FromMemory,
    #[serde(rename = "common practice")]
    CommonPractice,
}

#[allow(clippy::disallowed_methods, reason = "a test may read its data")]
fn cases() -> Vec<(String, Case)> {
    let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../../checks/shops");
    let mut paths: Vec<PathBuf> = std::fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .collect();
    paths.retain(|path| {
        path.extension()
            .is_some_and(|extension| extension == "json")
    });
    paths.sort();
    let mut cases = Vec::new();
    for path in paths {
        let text = std::fs::read_to_string(&path).unwrap();
        let file: File = serde_json::from_str(&text)
            .unwrap_or_else(|error| panic!("{}: {error}", path.display()));
        let shop = path.file_stem().unwrap().to_string_lossy().into_owned();
        cases.extend(file.cases.into_iter().map(|case| (shop.clone(), case)));
    }
    cases
}

fn work(case: &Case) -> Result<formulas::Working, formulas::Refusal> {
    let pairs: Vec<(&str, &str)> = case
        .inputs
        .iter()
        .map(|(symbol, text)| (symbol.as_str(), text.as_str()))
        .collect();
    formulas::compute(&case.formula, &pairs)
}

/// What differs between a working and the expected results, if anything does.
fn differences(case: &Case, formula: &Formula) -> Vec<String> {
    let working = match work(case) {
        Ok(working) => working,
        Err(refusal) => return vec![refusal.to_string()],
    };
    let mut wrong = Vec::new();
    for (name, text) in &case.expected {
        let Some(symbol) = formula.results.iter().find(|result| result.name == name) else {
            wrong.push(format!("no result {name}"));
            continue;
        };
        let got = &working
            .results
            .iter()
            .find(|r| r.symbol == *name)
            .unwrap()
            .value;
        let wanted = match text.as_str() {
            "none" => Value::List(Vec::new()),
            text => symbol
                .read(text)
                .unwrap_or_else(|fault| panic!("{}: {fault}", case.id)),
        };
        let (got, wanted) = (got.numbers(), wanted.numbers());
        let agree = got.len() == wanted.len()
            && got.iter().zip(wanted).all(|(got, wanted)| {
                (got - wanted).abs() <= case.tolerance * wanted.abs().max(1e-9)
            });
        if !agree {
            wrong.push(format!("{name} is {got:?}, not {wanted:?}"));
        }
    }
    wrong
}

#[test]
fn every_published_example_comes_out_of_the_sheet() {
    let mut wrong = Vec::new();
    for (shop, case) in cases() {
        let differences = match formulas::find(&case.formula) {
            Ok(formula) => differences(&case, formula),
            Err(refusal) => vec![refusal.to_string()],
        };
        if !differences.is_empty() {
            wrong.push(format!("{shop}/{}: {}", case.id, differences.join("; ")));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn every_formula_has_an_example_and_all_its_results_are_checked() {
    let cases = cases();
    let mut unchecked: BTreeSet<(&str, &str)> = formulas::all()
        .flat_map(|formula| {
            formula
                .results
                .iter()
                .map(|result| (formula.name, result.name))
        })
        .collect();
    for (_, case) in &cases {
        for result in case.expected.keys() {
            unchecked.remove(&(case.formula.as_str(), result.as_str()));
        }
    }
    assert!(unchecked.is_empty(), "without a check: {unchecked:?}");
}

#[test]
fn every_example_says_where_it_comes_from_and_is_held_tightly() {
    let mut ids = BTreeSet::new();
    for (shop, case) in cases() {
        assert!(!case.source.trim().is_empty(), "{shop}/{}", case.id);
        assert!(
            case.tolerance > 0.0 && case.tolerance <= 1e-4,
            "{shop}/{}",
            case.id
        );
        assert!(!case.expected.is_empty(), "{shop}/{}", case.id);
        assert!(
            ids.insert((shop.clone(), case.id.clone())),
            "{shop}/{} twice",
            case.id
        );
        if case.how_obtained == HowObtained::Published {
            assert_ne!(case.source, "arithmetic", "{shop}/{}", case.id);
        }
    }
}
