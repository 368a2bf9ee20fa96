//! The plan's figures by id, and what formulas refused.

use std::collections::BTreeMap;

use book::{At, Problem, Severity};
use formulas::{Figure, Outcome, Refusal, Sourced};

use super::model::{AssemblyFigure, AssemblyValue};

/// The figures made so far, and everything wrong.
#[derive(Default)]
pub(super) struct Sheet {
    pub(super) figures: BTreeMap<String, AssemblyFigure>,
    pub(super) problems: Vec<Problem>,
}

/// A figure just made, with its typed value.
pub(super) struct Made<T> {
    pub(super) value: T,
    id: String,
}

impl<T> Made<T> {
    /// A part of it as the input of another formula.
    pub(super) fn part<U>(&self, pick: impl FnOnce(&T) -> U) -> Sourced<U> {
        Sourced::figure(pick(&self.value), self.id.clone())
    }

    /// A part of it as a value of the plan.
    pub(super) fn told(&self, pick: impl FnOnce(&T) -> f64) -> AssemblyValue {
        AssemblyValue {
            value: pick(&self.value),
            figure: self.id.clone(),
        }
    }
}

impl Sheet {
    /// Takes a formula's figure in, with the value that stands for it; a
    /// refusal becomes a problem at `at`.
    pub(super) fn add<T: Outcome>(
        &mut self,
        id: impl Into<String>,
        title: impl Into<String>,
        at: At,
        made: Result<Figure<T>, Refusal>,
    ) -> Option<Made<T>> {
        let id = id.into();
        match made {
            Ok(figure) => {
                let last = figure.working.results.last();
                let number = last.and_then(|term| term.value.number());
                self.figures.insert(
                    id.clone(),
                    AssemblyFigure {
                        id: id.clone(),
                        title: title.into(),
                        value: number.unwrap_or(f64::NAN),
                        unit: last.map(|term| term.unit.to_string()).unwrap_or_default(),
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
pub(super) fn problem(code: &str, at: At, column: Option<&str>) -> Problem {
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
pub(super) fn cell<T>(value: T, at: At, column: &str) -> Sourced<T> {
    Sourced::cell(value, at.table.name(), at.row as usize, column)
}

/// A setting's value with its row, or as the usual one.
pub(super) fn setting<T: Copy>(setting: &book::Setting<T>, name: &str) -> Sourced<T> {
    match setting.at {
        Some(at) => cell(setting.value, at, "value"),
        None => Sourced::usual(setting.value, "plant", name),
    }
}
