//! The plan's figures by id, and the origins their workings point to.

use std::collections::BTreeMap;

use book::{At, Problem};
use formulas::{Origin, Outcome, Refusal, Sourced, rate_plan};

use shops::carts::{ShopFigure, ShopValue};

use super::{Figure, Planned, rate_of, refused};

/// The figures made so far, and what formulas refused.
#[derive(Default)]
pub(crate) struct Sheet {
    figures: BTreeMap<String, Figure>,
    problems: Vec<Problem>,
    notes: Vec<Problem>,
}

/// A figure just made, with its typed value.
pub(crate) struct Made<T> {
    pub(crate) value: T,
    pub(crate) id: String,
}

impl<T> Made<T> {
    /// A part of it as the input of another formula.
    pub(crate) fn part<U>(&self, pick: impl FnOnce(&T) -> U) -> Sourced<U> {
        Sourced::figure(pick(&self.value), self.id.clone())
    }

    /// A part of it as a value of a shop's plan.
    pub(crate) fn told(&self, pick: impl FnOnce(&T) -> f64) -> ShopValue {
        ShopValue {
            value: pick(&self.value),
            figure: self.id.clone(),
        }
    }

    /// A part of it as a value of the plan.
    pub(crate) fn planned(&self, pick: impl FnOnce(&T) -> f64) -> Planned {
        Planned {
            value: pick(&self.value),
            from: Origin::Figure(self.id.clone()),
        }
    }
}

impl Sheet {
    /// Takes a formula's figure in; a refusal becomes a problem at `at`. Of
    /// several results the first stands for the figure.
    pub(crate) fn add<T: Outcome>(
        &mut self,
        id: impl Into<String>,
        title: impl Into<String>,
        at: Option<At>,
        made: Result<formulas::Figure<T>, Refusal>,
    ) -> Option<Made<T>> {
        let id = id.into();
        match made {
            Ok(figure) => {
                let first = figure.working.results.first();
                let value = first
                    .and_then(|term| term.value.number())
                    .unwrap_or(f64::NAN);
                let unit = first.map(|term| term.unit.to_string()).unwrap_or_default();
                self.figures.insert(
                    id.clone(),
                    Figure {
                        id: id.clone(),
                        title: title.into(),
                        value,
                        unit,
                        working: figure.working,
                    },
                );
                Some(Made {
                    value: figure.value,
                    id,
                })
            }
            Err(refusal) => {
                self.problems.push(refused(at, &id, &refusal));
                None
            }
        }
    }

    /// Takes in why a figure cannot be made.
    pub(crate) fn refuse(&mut self, problem: Problem) {
        self.problems.push(problem);
    }

    /// Takes in figures that a shop has made.
    pub(crate) fn adopt(&mut self, made: BTreeMap<String, ShopFigure>) {
        for (id, made) in made {
            let figure = Figure {
                id: made.id,
                title: made.title,
                value: made.value,
                unit: made.unit,
                working: made.working,
            };
            self.figures.insert(id, figure);
        }
    }

    /// Takes in what is odd but keeps no figure from being made.
    pub(crate) fn note(&mut self, problem: Problem) {
        self.notes.push(problem);
    }

    /// What is odd, taken out.
    pub(crate) fn notes(&mut self) -> Vec<Problem> {
        std::mem::take(&mut self.notes)
    }

    /// The figures, or everything that was refused.
    pub(crate) fn finish(self) -> Result<BTreeMap<String, Figure>, Vec<Problem>> {
        if self.problems.is_empty() {
            Ok(self.figures)
        } else {
            Err(self.problems)
        }
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

/// The least of several rates as a figure; none of none.
pub(crate) fn weakest<'a>(
    sheet: &mut Sheet,
    id: &str,
    title: &str,
    rates: impl Iterator<Item = &'a Planned>,
) -> Option<Planned> {
    let rates: Vec<_> = rates.map(rate_of).collect();
    if rates.is_empty() {
        return None;
    }
    let made = sheet.add(id, title, None, rate_plan::weakest_rate(rates))?;
    Some(made.planned(|rate| rate.0))
}
