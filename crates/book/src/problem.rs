//! What is wrong with a book, said so that it can be put right.

use std::{
    collections::{BTreeMap, BTreeSet},
    fmt,
};

use serde::{Deserialize, Serialize};

use crate::Table;

/// How much a problem weighs.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "lowercase")]
pub enum Severity {
    /// Nothing may be computed from the book until it is put right.
    Error,
    /// Worth knowing; the book can be computed.
    Note,
}

/// One thing wrong, with its place and the way out.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Problem {
    /// `table/what`, stable across versions, e.g. `stations/unknown-name`.
    pub code: String,
    /// Error or note.
    pub severity: Severity,
    /// The table's name.
    pub table: String,
    /// The row as a spreadsheet shows it; none if the whole table is meant.
    pub row: Option<u32>,
    /// The column's header; none if the whole row is meant.
    pub column: Option<String>,
    /// What stands there.
    pub found: String,
    /// What should stand there.
    pub expected: String,
    /// The smallest change that puts it right.
    pub mend: String,
    /// The nearest right name, where a name is misspelt.
    pub nearest: Option<String>,
}

impl Problem {
    /// An error of a whole table; narrow it with [`Problem::row`],
    /// [`Problem::column`] and [`Problem::nearest`].
    pub(crate) fn error(table: &str, what: &str) -> Self {
        Self {
            code: format!("{table}/{what}"),
            severity: Severity::Error,
            table: table.to_owned(),
            row: None,
            column: None,
            found: String::new(),
            expected: String::new(),
            mend: String::new(),
            nearest: None,
        }
    }

    /// An error of one row.
    pub(crate) fn at(at: crate::At, what: &str) -> Self {
        Self::error(at.table.name(), what).row(at.row)
    }

    /// The same, as a note.
    pub(crate) fn into_note(self) -> Self {
        Self {
            severity: Severity::Note,
            ..self
        }
    }

    pub(crate) fn note(table: &str, what: &str) -> Self {
        Self {
            severity: Severity::Note,
            ..Self::error(table, what)
        }
    }

    /// As the error of a result: boxed, since a problem is large.
    pub(crate) fn boxed(self) -> Box<Self> {
        Box::new(self)
    }

    pub(crate) fn row(mut self, row: u32) -> Self {
        self.row = Some(row);
        self
    }

    pub(crate) fn column(mut self, column: &str) -> Self {
        self.column = Some(column.to_owned());
        self
    }

    pub(crate) fn found(mut self, found: impl Into<String>) -> Self {
        self.found = shortened(found.into());
        self
    }

    pub(crate) fn expected(mut self, expected: impl Into<String>) -> Self {
        self.expected = expected.into();
        self
    }

    pub(crate) fn mend(mut self, mend: impl Into<String>) -> Self {
        self.mend = mend.into();
        self
    }

    pub(crate) fn nearest(mut self, nearest: Option<&str>) -> Self {
        self.nearest = nearest.map(str::to_owned);
        self
    }
}

/// A cell may hold 32,767 characters; a message that repeats them helps nobody.
const LONGEST_SHOWN: usize = 120;

fn shortened(text: String) -> String {
    if text.chars().count() <= LONGEST_SHOWN {
        return text;
    }
    let mut short: String = text.chars().take(LONGEST_SHOWN).collect();
    short.push('…');
    short
}

impl fmt::Display for Problem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let word = match self.severity {
            Severity::Error => "error",
            Severity::Note => "note",
        };
        write!(f, "{word}: {}", self.table)?;
        if let Some(row) = self.row {
            write!(f, " row {row}")?;
        }
        if let Some(column) = &self.column {
            write!(f, ", {column}")?;
        }
        write!(f, ": found {}", self.found)?;
        if !self.expected.is_empty() {
            write!(f, "; expected {}", self.expected)?;
        }
        if let Some(nearest) = &self.nearest {
            write!(f, "; nearest is `{nearest}`")?;
        }
        if !self.mend.is_empty() {
            write!(f, "; {}", self.mend)?;
        }
        write!(f, " [{}]", self.code)
    }
}

/// So many of one code are listed one by one. A table pasted with the wrong
/// separator gives hundreds of thousands; the rest is summed in one line.
const LISTED_PER_CODE: usize = 200;

/// Collects problems, all of them, but not the same one without end.
#[derive(Debug, Default)]
pub(crate) struct Problems {
    list: Vec<Problem>,
    counts: BTreeMap<String, usize>,
    /// Cells that could not be read: table, row, column.
    wrong: BTreeSet<(String, u32, String)>,
    /// Whether all cells have been read.
    read: bool,
    /// Tables of the book whose rows could not be read at all.
    unread: BTreeSet<Table>,
}

/// So many unreadable cells are remembered, for the sake of memory.
const REMEMBERED: usize = 20_000;

impl Problems {
    /// Adds a problem, unless its cell could not be read: what would follow
    /// from an unreadable cell is no second mistake.
    pub(crate) fn push(&mut self, problem: Problem) {
        if let (Some(row), Some(column)) = (problem.row, &problem.column) {
            let place = |row| (problem.table.clone(), row, column.clone());
            // The header's row stands for a column that is missing.
            if self.read && (self.wrong.contains(&place(row)) || self.wrong.contains(&place(1))) {
                return;
            }
            let is_error = problem.severity == Severity::Error;
            if !self.read && is_error && self.wrong.len() < REMEMBERED {
                self.wrong.insert(place(row));
            }
        }
        let count = self.counts.entry(problem.code.clone()).or_default();
        *count += 1;
        if *count <= LISTED_PER_CODE {
            self.list.push(problem);
        }
    }

    /// Says that all cells have been read: what comes now concerns their sense.
    pub(crate) fn cells_are_read(&mut self) {
        self.read = true;
    }

    /// Says of which tables no row could be read.
    pub(crate) fn tables_unread(&mut self, tables: impl IntoIterator<Item = Table>) {
        self.unread.extend(tables);
    }

    /// Whether no row of this table could be read, which is said already: what
    /// is missing elsewhere for that reason is no second mistake.
    pub(crate) fn unread(&self, table: Table) -> bool {
        self.unread.contains(&table)
    }

    /// Whether a cell of this row could not be read.
    pub(crate) fn in_row(&self, at: crate::At) -> bool {
        let from = (at.table.name().to_owned(), at.row, String::new());
        let next = self.wrong.range(from..).next();
        next.is_some_and(|(table, row, _)| table == at.table.name() && *row == at.row)
    }

    /// Whether any problem of this code was found.
    pub(crate) fn any(&self, code: &str) -> bool {
        self.counts.contains_key(code)
    }

    /// Whether one more of this code would only be counted: then its nearest
    /// name need not be looked for.
    pub(crate) fn only_counts(&self, code: &str) -> bool {
        self.counts
            .get(code)
            .is_some_and(|count| *count >= LISTED_PER_CODE)
    }

    pub(crate) fn extend(&mut self, problems: impl IntoIterator<Item = Problem>) {
        for problem in problems {
            self.push(problem);
        }
    }

    /// The list in the order of the book: as found, each sum after its kind.
    pub(crate) fn finish(self) -> Vec<Problem> {
        let mut list = self.list;
        for (code, count) in self.counts {
            if count <= LISTED_PER_CODE {
                continue;
            }
            let Some(last) = list.iter().rposition(|problem| problem.code == code) else {
                continue;
            };
            let rest = count - LISTED_PER_CODE;
            let sum = Problem {
                row: None,
                found: format!("{rest} more of the same"),
                nearest: None,
                ..list[last].clone()
            };
            list.insert(last + 1, sum);
        }
        list
    }
}
