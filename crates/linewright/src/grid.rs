//! Plain tables for the terminal: a header, a rule, columns that line up.

use std::fmt;

/// On which side the cells of a column stand.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Side {
    /// Words.
    Left,
    /// Numbers, so that their digits stand below each other.
    Right,
}

/// A table being filled.
pub(crate) struct Grid {
    sides: Vec<Side>,
    rows: Vec<Vec<String>>,
}

impl Grid {
    /// A table with these headers.
    pub(crate) fn new<const N: usize>(columns: [(&str, Side); N]) -> Self {
        Self {
            sides: columns.iter().map(|(_, side)| *side).collect(),
            rows: vec![columns.iter().map(|(name, _)| (*name).to_owned()).collect()],
        }
    }

    /// A table whose columns are known only when it is made.
    pub(crate) fn of(columns: &[(&str, Side)]) -> Self {
        Self {
            sides: columns.iter().map(|(_, side)| *side).collect(),
            rows: vec![columns.iter().map(|(name, _)| (*name).to_owned()).collect()],
        }
    }

    /// Adds a row to such a table.
    pub(crate) fn cells(&mut self, cells: Vec<String>) {
        self.rows.push(cells.into_iter().map(one_line).collect());
    }

    /// Adds a row; a cell without a column is left out.
    pub(crate) fn row<const N: usize>(&mut self, cells: [String; N]) {
        self.rows.push(cells.into_iter().map(one_line).collect());
    }

    /// Whether no row was added.
    pub(crate) fn is_empty(&self) -> bool {
        self.rows.len() == 1
    }

    fn widths(&self) -> Vec<usize> {
        let widest = |column: usize| {
            let cells = self.rows.iter().filter_map(|row| row.get(column));
            cells.map(|cell| cell.chars().count()).max().unwrap_or(0)
        };
        (0..self.sides.len()).map(widest).collect()
    }
}

/// A name with a line break in it must not break the table.
fn one_line(cell: String) -> String {
    if cell.contains(char::is_control) {
        cell.replace(char::is_control, " ")
    } else {
        cell
    }
}

/// Lines longer than this wrap in most terminals and on paper.
const WIDEST: usize = 110;
/// What is left for a last column of words is never made narrower than this.
const NARROWEST: usize = 36;

impl fmt::Display for Grid {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let mut widths = self.widths();
        if self.sides.last() == Some(&Side::Left)
            && let Some((last, others)) = widths.split_last_mut()
        {
            let taken: usize = others.iter().map(|width| width + 2).sum();
            *last = (*last).min(WIDEST.saturating_sub(taken).max(NARROWEST));
        }
        for (n, row) in self.rows.iter().enumerate() {
            for line in lines(row, &widths) {
                write_line(f, &line, &self.sides, &widths)?;
            }
            if n == 0 {
                let rules: Vec<String> = widths.iter().map(|width| "-".repeat(*width)).collect();
                writeln!(f, "  {}", rules.join("  "))?;
            }
        }
        Ok(())
    }
}

/// A row as one line or, where its last cell is too wide, as several.
fn lines(row: &[String], widths: &[usize]) -> Vec<Vec<String>> {
    let (Some((last, others)), Some(width)) = (row.split_last(), widths.last()) else {
        return Vec::new();
    };
    let mut lines = vec![others.to_vec()];
    let mut text = String::new();
    for word in last.split_whitespace() {
        if !text.is_empty() && text.chars().count() + 1 + word.chars().count() > *width {
            let full = std::mem::take(&mut text);
            push_last(&mut lines, full, others.len());
        }
        if !text.is_empty() {
            text.push(' ');
        }
        text.push_str(word);
    }
    push_last(&mut lines, text, others.len());
    lines
}

/// Ends the line being filled with its last cell.
fn push_last(lines: &mut Vec<Vec<String>>, text: String, others: usize) {
    match lines.last_mut() {
        Some(line) if line.len() == others => line.push(text),
        _ => {
            let mut line = vec![String::new(); others];
            line.push(text);
            lines.push(line);
        }
    }
}

fn write_line(
    f: &mut fmt::Formatter<'_>,
    row: &[String],
    sides: &[Side],
    widths: &[usize],
) -> fmt::Result {
    let mut line = String::from(" ");
    for ((cell, side), width) in row.iter().zip(sides).zip(widths) {
        line.push(' ');
        let gap = " ".repeat(width.saturating_sub(cell.chars().count()));
        match side {
            Side::Left => line.extend([cell.as_str(), &gap]),
            Side::Right => line.extend([gap.as_str(), cell]),
        }
        line.push(' ');
    }
    writeln!(f, "{}", line.trim_end())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_stand_right_and_words_left() {
        let mut grid = Grid::new([("station", Side::Left), ("load", Side::Right)]);
        grid.row(["framing 1".to_owned(), "93 %".to_owned()]);
        grid.row(["türen".to_owned(), "104 %".to_owned()]);
        let wanted =
            "  station     load\n  ---------  -----\n  framing 1   93 %\n  türen      104 %\n";
        assert_eq!(grid.to_string(), wanted);
    }

    #[test]
    fn a_wide_last_column_goes_on_below() {
        let mut grid = Grid::new([("table", Side::Left), ("a row is", Side::Left)]);
        grid.row(["shifts".to_owned(), "a shift of a shop ".repeat(9)]);
        let text = grid.to_string();
        let lines: Vec<&str> = text.lines().collect();
        assert_eq!(lines.len(), 4);
        assert!(lines[3].starts_with("          shop a shift"), "{text}");
        assert!(
            lines.iter().all(|line| line.chars().count() <= 112),
            "{text}"
        );
    }

    #[test]
    fn a_table_without_rows_knows_it() {
        let grid = Grid::new([("station", Side::Left)]);
        assert!(grid.is_empty());
    }
}
