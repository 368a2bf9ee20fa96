//! From rows of text to a table, within the caps.

use std::collections::BTreeMap;

use super::caps;
use crate::{
    Problem,
    raw::{RawRow, RawTable},
};

/// What one book may hold altogether.
#[derive(Debug, Default)]
pub(super) struct Budget {
    cells: usize,
    text: usize,
}

impl Budget {
    pub(super) fn take(&mut self, cells: usize, text: usize) -> Result<(), Over> {
        self.cells += cells;
        self.text += text;
        if self.cells > caps::CELLS {
            Err(Over("more cells", format!("{} cells", caps::CELLS)))
        } else if self.text > caps::TEXT_BYTES {
            Err(Over(
                "more text",
                format!("{} bytes of text", caps::TEXT_BYTES),
            ))
        } else {
            Ok(())
        }
    }
}

/// A cap passed: what was too much, and the most allowed.
#[derive(Debug)]
pub(super) struct Over(&'static str, String);

impl Over {
    pub(super) fn problem(self, table: &str) -> Box<Problem> {
        Problem::error(table, "book-too-big")
            .found(format!("{} than a book may hold", self.0))
            .expected(format!("at most {} in all tables", self.1))
            .mend("take out what the book does not need")
            .boxed()
    }
}

/// Gathers the rows of a table.
#[derive(Debug, Default)]
pub(super) struct Builder {
    name: String,
    rows: BTreeMap<u32, Vec<String>>,
}

impl Builder {
    pub(super) fn new(name: &str) -> Self {
        Self {
            name: name.to_owned(),
            rows: BTreeMap::new(),
        }
    }

    /// Adds a cell; `line` counts from 1, `column` from 0.
    pub(super) fn cell(
        &mut self,
        line: u32,
        column: usize,
        text: String,
        budget: &mut Budget,
    ) -> Result<(), Box<Problem>> {
        if text.is_empty() {
            return Ok(());
        }
        if line > caps::ROWS + 1 {
            return Err(self.over(
                "too-many-rows",
                line,
                format!("at most {} rows", caps::ROWS),
            ));
        }
        if column >= caps::COLUMNS {
            let most = format!("at most {} columns", caps::COLUMNS);
            return Err(self.over("too-many-columns", line, most));
        }
        // A character takes at least a byte: short texts need no counting.
        if text.len() > caps::CELL_CHARS && text.chars().count() > caps::CELL_CHARS {
            let most = format!("at most {} characters in a cell", caps::CELL_CHARS);
            return Err(self.over("cell-too-long", line, most));
        }
        let row = self.rows.entry(line).or_default();
        if column >= row.len() {
            let more = column + 1 - row.len();
            budget
                .take(more, 0)
                .map_err(|over| over.problem(&self.name))?;
            row.resize(column + 1, String::new());
        }
        budget
            .take(0, text.len())
            .map_err(|over| over.problem(&self.name))?;
        row[column] = text;
        Ok(())
    }

    fn over(&self, what: &str, line: u32, expected: String) -> Box<Problem> {
        let mend = match what {
            "cell-too-long" => "shorten the text",
            _ => "split the table or take out what the book does not need",
        };
        Problem::error(&self.name, what)
            .row(line)
            .found("more than that")
            .expected(expected)
            .mend(mend)
            .boxed()
    }

    /// The table: its first row with something in it is the header, and every
    /// row has a cell for each column.
    pub(super) fn finish(
        self,
        source: &str,
        decimal_comma: bool,
        budget: &mut Budget,
    ) -> Result<RawTable, Box<Problem>> {
        let width = self.rows.values().map(Vec::len).max().unwrap_or(0);
        let mut padded = 0;
        let mut rows = self.rows.into_iter().map(|(line, mut cells)| {
            padded += width - cells.len();
            cells.resize(width, String::new());
            RawRow { line, cells }
        });
        let columns = rows.next().map(|header| header.cells).unwrap_or_default();
        let rows = rows.collect();
        budget
            .take(padded, 0)
            .map_err(|over| over.problem(&self.name))?;
        Ok(RawTable {
            name: self.name,
            columns,
            rows,
            source: source.to_owned(),
            decimal_comma,
        })
    }
}
