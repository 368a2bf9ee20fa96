use std::fmt;

use serde::{Deserialize, Serialize};

use crate::value::{Amount, Value};
use crate::working::Figure;

/// Where a value came from.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum Origin {
    /// Typed by hand, or fixed by the caller.
    Given,
    /// Read from a cell of a table.
    Cell {
        /// The table's name.
        table: String,
        /// The row, counted as the table's reader counts.
        row: usize,
        /// The column's header.
        column: String,
    },
    /// The result of another figure, named as its owner names it.
    Figure(String),
    /// The cell was empty and stands for the column's documented usual value.
    Usual {
        /// The table's name.
        table: String,
        /// The column's header.
        column: String,
    },
    /// A list put together from several places, in the list's order.
    Several(Vec<Self>),
}

impl fmt::Display for Origin {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Given => f.write_str("given"),
            Self::Cell { table, row, column } => write!(f, "{table}, row {row}, {column}"),
            Self::Figure(name) => write!(f, "figure {name}"),
            Self::Usual { table, column } => write!(f, "usual value of {table}, {column}"),
            Self::Several(origins) => {
                for (position, origin) in origins.iter().enumerate() {
                    if position > 0 {
                        f.write_str("; ")?;
                    }
                    origin.fmt(f)?;
                }
                Ok(())
            }
        }
    }
}

/// A value together with where it came from; a plain value converts into one
/// that was [given](Origin::Given).
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Sourced<T> {
    /// The value.
    pub value: T,
    /// Where it came from.
    pub from: Origin,
}

impl<T> Sourced<T> {
    /// A value with its origin.
    pub fn new(value: T, from: Origin) -> Self {
        Self { value, from }
    }

    /// A value read from a cell.
    pub fn cell(value: T, table: impl Into<String>, row: usize, column: impl Into<String>) -> Self {
        let (table, column) = (table.into(), column.into());
        Self::new(value, Origin::Cell { table, row, column })
    }

    /// A value that another figure yielded.
    pub fn figure(value: T, name: impl Into<String>) -> Self {
        Self::new(value, Origin::Figure(name.into()))
    }

    /// A value that stands in for an empty cell.
    pub fn usual(value: T, table: impl Into<String>, column: impl Into<String>) -> Self {
        let (table, column) = (table.into(), column.into());
        Self::new(value, Origin::Usual { table, column })
    }

    /// Another reading of the same value (minutes as seconds), same origin.
    pub fn map<U>(self, change: impl FnOnce(T) -> U) -> Sourced<U> {
        Sourced::new(change(self.value), self.from)
    }
}

impl<T: Amount> Sourced<T> {
    /// The same without its type, as [`crate::Formula::work`] takes it.
    pub fn erase(&self) -> Sourced<Value> {
        Sourced::new(self.value.to_value(), self.from.clone())
    }
}

impl<T> From<T> for Sourced<T> {
    fn from(value: T) -> Self {
        Self::new(value, Origin::Given)
    }
}

impl<T: Clone> From<&Sourced<T>> for Sourced<T> {
    fn from(sourced: &Sourced<T>) -> Self {
        sourced.clone()
    }
}

impl<T: Clone> From<&Figure<T>> for Sourced<T> {
    fn from(figure: &Figure<T>) -> Self {
        figure.part(T::clone)
    }
}

/// A list whose members came from different places.
impl<T> From<Vec<Sourced<T>>> for Sourced<Vec<T>> {
    fn from(members: Vec<Sourced<T>>) -> Self {
        let (values, origins): (Vec<T>, Vec<Origin>) =
            members.into_iter().map(|m| (m.value, m.from)).unzip();
        let from = match origins.as_slice() {
            [] => Origin::Given,
            [first, rest @ ..] if rest.iter().all(|origin| origin == first) => first.clone(),
            _ => Origin::Several(origins),
        };
        Self::new(values, from)
    }
}
