//! The figures of a shop's plan by id, what formulas refused, and the origins
//! that workings point to.

use std::collections::BTreeMap;

use book::{At, Problem, Severity};
use formulas::{Figure, Outcome, Refusal, Sourced, Working};
use serde::{Deserialize, Serialize};

/// A figure with everything needed to check it by hand.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct ShopFigure {
    /// Its id, unique in the plan.
    pub id: String,
    /// What it is, in words.
    pub title: String,
    /// Its value: that result of its working which the title names.
    pub value: f64,
    /// Its unit; empty for plain numbers and shares.
    pub unit: String,
    /// How it came about.
    pub working: Working,
}

/// A value with the id of its figure in the plan's figures.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct ShopValue {
    /// The value.
    pub value: f64,
    /// Its figure.
    pub figure: String,
}

/// Which of several results stands for a figure.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Stands {
    First,
    Last,
}

/// The figures made so far, and what formulas refused.
#[derive(Default)]
pub(crate) struct Sheet {
    pub(crate) figures: BTreeMap<String, ShopFigure>,
    pub(crate) problems: Vec<Problem>,
}

/// A figure just made, with its typed value.
pub(crate) struct Made<T> {
    pub(crate) value: T,
    id: String,
}

impl<T> Made<T> {
    /// A part of it as the input of another formula.
    pub(crate) fn part<U>(&self, pick: impl FnOnce(&T) -> U) -> Sourced<U> {
        Sourced::figure(pick(&self.value), self.id.clone())
    }

    /// A part of it as a value of the plan.
    pub(crate) fn value(&self, pick: impl FnOnce(&T) -> f64) -> ShopValue {
        ShopValue {
            value: pick(&self.value),
            figure: self.id.clone(),
        }
    }
}

impl Sheet {
    /// Takes a formula's figure in, for which the first of its results stands;
    /// a refusal becomes a problem at `at`.
    pub(crate) fn add<T: Outcome>(
        &mut self,
        id: impl Into<String>,
        title: impl Into<String>,
        at: At,
        made: Result<Figure<T>, Refusal>,
    ) -> Option<Made<T>> {
        self.add_with(Stands::First, id, title, at, made)
    }

    /// The same with the result that is to stand for the figure.
    pub(crate) fn add_with<T: Outcome>(
        &mut self,
        stands: Stands,
        id: impl Into<String>,
        title: impl Into<String>,
        at: At,
        made: Result<Figure<T>, Refusal>,
    ) -> Option<Made<T>> {
        let id = id.into();
        match made {
            Ok(figure) => {
                let result = match stands {
                    Stands::First => figure.working.results.first(),
                    Stands::Last => figure.working.results.last(),
                };
                let number = result.and_then(|term| term.value.number());
                self.figures.insert(
                    id.clone(),
                    ShopFigure {
                        id: id.clone(),
                        title: title.into(),
                        value: number.unwrap_or(f64::NAN),
                        unit: result.map(|term| term.unit.to_string()).unwrap_or_default(),
                        working: figure.working,
                    },
                );
                Some(Made {
                    value: figure.value,
                    id,
                })
            }
            Err(refusal) => {
                self.problems.push(Problem {
                    found: format!("values for which {id} has no figure: {refusal}"),
                    expected: "values within the formula's ranges".into(),
                    mend: "change the value named".into(),
                    ..problem("refused", at, None)
                });
                None
            }
        }
    }
}

/// An error at a row, still to be worded.
pub(crate) fn problem(code: &str, at: At, column: Option<&str>) -> Problem {
    let table = at.table.name();
    Problem {
        code: format!("{table}/{code}"),
        severity: Severity::Error,
        table: table.into(),
        row: Some(at.row),
        column: column.map(Into::into),
        found: String::new(),
        expected: String::new(),
        mend: String::new(),
        nearest: None,
    }
}

/// A value with the cell it stands in.
pub(crate) fn cell<T>(value: T, at: At, column: &str) -> Sourced<T> {
    Sourced::cell(value, at.table.name(), at.row as usize, column)
}

/// A setting's value with its row, or as the usual one.
pub(crate) fn setting<T: Copy>(setting: &book::Setting<T>, name: &str) -> Sourced<T> {
    match setting.at {
        Some(at) => cell(setting.value, at, "value"),
        None => Sourced::usual(setting.value, "plant", name),
    }
}
