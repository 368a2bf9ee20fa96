//! What the book says about itself: every table and column with its kind,
//! unit, usual value, legal range and meaning.

use serde::{Deserialize, Serialize};

use crate::Table;

/// Where a row stands; with a column's name it is the provenance of a figure.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct At {
    /// The table.
    pub table: Table,
    /// The row as a spreadsheet shows it; the header is 1.
    pub row: u32,
}

impl std::fmt::Display for At {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{} row {}", self.table.name(), self.row)
    }
}

/// The kind of text a cell holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum Kind {
    /// Free text or a name; outer blanks do not count.
    Text,
    /// A name that must exist in another table.
    Ref(Table),
    /// Names separated by `;` that must exist in another table.
    Refs(Table),
    /// Free names separated by `;`.
    List,
    /// A number, in the column's unit or with another unit written behind it.
    Number,
    /// A whole number.
    Count,
    /// A part of a whole, 0 to 1; `85 %` means 0.85.
    Share,
    /// `yes` or `no`.
    YesNo,
    /// One of these words.
    Word(&'static [&'static str]),
    /// A time of day, `hh:mm`.
    Clock,
    /// Days of the week: `mon-fri`, `mon;wed;sat`, `all`.
    Weekdays,
    /// Breaks by the clock: `09:00+15;12:00+30`.
    Breaks,
    /// A number of places, or `unlimited`.
    Places,
}

/// What an empty cell means.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum Usual {
    /// An empty cell is an error.
    Needed,
    /// An empty cell means that there is none.
    None,
    /// An empty cell means this text.
    Value(&'static str),
}

/// The legal range of a number.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Legal {
    /// The lowest number.
    pub from: f64,
    /// Whether the lowest number itself is illegal.
    pub above: bool,
    /// The highest number.
    #[cfg_attr(feature = "schema", schemars(with = "Option<f64>"))]
    pub to: f64,
}

impl Legal {
    pub(crate) const fn between(from: f64, to: f64) -> Self {
        Self {
            from,
            above: false,
            to,
        }
    }

    /// Whether the number lies in the range; NaN does not.
    pub fn holds(&self, value: f64) -> bool {
        value <= self.to && (value > self.from || (!self.above && value >= self.from))
    }
}

impl std::fmt::Display for Legal {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let edge = if self.above { "above" } else { "from" };
        write!(f, "{edge} {} to {}", self.from, self.to)
    }
}

/// One column of a table.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Column {
    /// The header.
    pub name: &'static str,
    /// The kind of cell.
    pub kind: Kind,
    /// The unit's symbol, empty if none.
    pub unit: &'static str,
    /// What an empty cell means.
    pub usual: Usual,
    /// The legal range, of numbers only.
    pub legal: Option<Legal>,
    /// What the column means, in a sentence or two.
    pub doc: &'static str,
}

/// One table of the book.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct TableSchema {
    /// The table.
    pub table: Table,
    /// Its name: the CSV file without ending, or the sheet.
    pub name: &'static str,
    /// The columns that together tell its rows apart.
    pub key: &'static [&'static str],
    /// The columns in their usual order.
    pub columns: &'static [Column],
    /// What a row is.
    pub doc: &'static str,
}

impl TableSchema {
    /// The column with this header.
    pub fn column(&self, name: &str) -> Option<&'static Column> {
        self.columns.iter().find(|column| column.name == name)
    }
}

/// How the `table!` declarations build a column, one property after another.
impl Column {
    pub(crate) const fn of<T: crate::cell::Cell>(name: &'static str, doc: &'static str) -> Self {
        Self {
            name,
            kind: T::KIND,
            unit: T::UNIT,
            usual: T::EMPTY,
            legal: T::LEGAL,
            doc: doc.trim_ascii(),
        }
    }

    pub(crate) const fn usual(mut self, text: &'static str) -> Self {
        self.usual = Usual::Value(text);
        self
    }

    pub(crate) const fn refers(mut self, table: Table) -> Self {
        self.kind = match self.kind {
            Kind::List => Kind::Refs(table),
            _ => Kind::Ref(table),
        };
        self
    }

    pub(crate) const fn unit(mut self, unit: &'static str) -> Self {
        self.unit = unit;
        self
    }

    pub(crate) const fn from(mut self, from: f64) -> Self {
        if let Some(legal) = &mut self.legal {
            legal.from = from;
        }
        self
    }

    pub(crate) const fn above(mut self, from: f64) -> Self {
        if let Some(legal) = &mut self.legal {
            legal.from = from;
            legal.above = true;
        }
        self
    }

    pub(crate) const fn to(mut self, to: f64) -> Self {
        if let Some(legal) = &mut self.legal {
            legal.to = to;
        }
        self
    }
}
