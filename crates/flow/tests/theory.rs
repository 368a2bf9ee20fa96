//! The references against the figures under `checks/flow`.
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a wrong check file must stop the test"
)]

mod support;

#[path = "support/answers.rs"]
mod answers;

use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};
use support::{Case, Figure, Tolerance};

/// Models whose figures only a simulation can give, with how many there are;
/// the engine is held to them in its own tests.
const SIMULATION_ONLY: [(&str, usize); 3] = [
    ("calendar", 1),
    ("reference line", 16),
    ("reference line, long run", 3),
];

/// All figures of the collection.
const FIGURES: usize = 441;

#[test]
fn every_figure_is_met() {
    let mut wrong = Vec::new();
    for case in support::cases() {
        let Some(answer) = answers::answer(&case) else {
            continue;
        };
        let answer = answer.unwrap_or_else(|refused| panic!("{}: {refused}", case.name));
        for figure in &case.figures {
            let found = answer.iter().find(|(name, _)| *name == figure.name);
            match found {
                Some((_, found)) => wrong.extend(complaint(&case, figure, found)),
                None => wrong.push(format!("{}: no answer for {}", case.name, figure.name)),
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn no_figure_is_left_out() {
    let mut left: BTreeMap<String, usize> = BTreeMap::new();
    let mut total = 0;
    for case in support::cases() {
        total += case.figures.len();
        if answers::answer(&case).is_none() {
            *left.entry(case.model).or_default() += case.figures.len();
        }
    }
    let known = SIMULATION_ONLY.map(|(model, figures)| (model.to_owned(), figures));
    assert_eq!(left, BTreeMap::from(known));
    assert_eq!(total, FIGURES);
}

#[test]
fn every_case_names_its_source_and_how_it_was_obtained() {
    let mut names = BTreeSet::new();
    for case in support::cases() {
        assert!(!case.source.is_empty(), "{}", case.name);
        assert!(case.tells_how_obtained(), "{}", case.name);
        let name = format!("{}: {}", case.model, case.name);
        assert!(names.insert(name), "{} occurs twice", case.name);
    }
}

/// What is wrong with a computed figure, if anything.
fn complaint(case: &Case, figure: &Figure, found: &[f64]) -> Option<String> {
    let known = known(figure);
    let tolerance = case.tolerance(figure);
    let meets = |(&known, &found): (&f64, &f64)| match tolerance {
        Tolerance::Exact => known == found,
        Tolerance::Absolute(most) => (known - found).abs() <= most,
        Tolerance::Relative(most) if known == 0.0 => found.abs() <= most,
        Tolerance::Relative(most) => (known - found).abs() <= most * known.abs(),
    };
    let fits = known.len() == found.len() && known.iter().zip(found).all(meets);
    (!fits).then(|| {
        let (case, figure) = (&case.name, &figure.name);
        format!("{case}: {figure} is {found:?}, should be {known:?}")
    })
}

/// The numbers of a figure; a fraction as text is above and below.
fn known(figure: &Figure) -> Vec<f64> {
    match &figure.value {
        Value::String(fraction) => fraction.split('/').map(|x| x.parse().unwrap()).collect(),
        value => support::numbers(value),
    }
}
