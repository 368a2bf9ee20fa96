//! The plan's figures by id, and the origins their workings point to.

use std::collections::BTreeMap;

use book::{At, Problem};
use formulas::{Figure, Outcome, Refusal, Sourced};

use super::wrong;
use crate::sheet::ShopFigure;
pub(super) use crate::sheet::{cell, setting};

/// The figures made so far, and what formulas refused.
#[derive(Default)]
pub(super) struct Figures {
    by_id: BTreeMap<String, ShopFigure>,
    problems: Vec<Problem>,
}

impl Figures {
    /// Takes a formula's figure in and hands its value out; a refusal becomes
    /// a problem at the row.
    pub(super) fn add<T: Outcome>(
        &mut self,
        id: &str,
        title: impl Into<String>,
        place: At,
        made: Result<Figure<T>, Refusal>,
    ) -> Option<T> {
        match made {
            Ok(figure) => {
                let first = figure.working.results.first();
                let value = first.and_then(|term| term.value.number());
                let entry = ShopFigure {
                    id: id.to_owned(),
                    title: title.into(),
                    value: value.unwrap_or(0.0),
                    unit: first.map_or(String::new(), |term| term.unit.to_string()),
                    working: figure.working,
                };
                self.by_id.insert(id.to_owned(), entry);
                Some(figure.value)
            }
            Err(refusal) => {
                self.problems.push(wrong::figure(place, id, &refusal));
                None
            }
        }
    }

    /// The figures, or everything that was refused.
    pub(super) fn finish(self) -> Result<BTreeMap<String, ShopFigure>, Vec<Problem>> {
        if self.problems.is_empty() {
            Ok(self.by_id)
        } else {
            Err(self.problems)
        }
    }
}

/// A value of a cell that may be empty.
pub(super) fn cell_or_usual<T>(value: T, given: bool, place: At, column: &str) -> Sourced<T> {
    if given {
        cell(value, place, column)
    } else {
        Sourced::usual(value, place.table.name(), column)
    }
}
