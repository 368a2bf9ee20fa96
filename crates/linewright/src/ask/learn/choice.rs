//! Proposals as a table to choose from, and the choice read back.

use std::path::Path;

use evidence::learn::{Proposal, Verdict};

use crate::csv::cell;
use crate::outcome::Failure;

const HEADER: &str = "table,row,column,station,cause,book,found,low,high,seen,verdict,accept\n";

/// All proposals, none accepted yet.
pub(super) fn csv(proposals: &[Proposal]) -> String {
    let mut text = HEADER.to_owned();
    // What stands in no cell cannot be taken over.
    for p in proposals.iter().filter(|p| p.row > 0) {
        let verdict = match p.verdict {
            Verdict::Agrees => "agrees",
            Verdict::Differs => "differs",
            Verdict::Open => "open",
        };
        let cells = [
            p.table.clone(),
            p.row.to_string(),
            p.column.clone(),
            cell(&p.station),
            cell(p.cause.as_deref().unwrap_or("")),
            p.book.map_or_else(String::new, plain),
            plain(p.found.value),
            plain(p.found.low),
            plain(p.found.high),
            p.evidence.to_string(),
            verdict.to_owned(),
            // Of true values one in twenty differs by chance: which to believe
            // is for somebody who knows the station to say.
            "no".to_owned(),
        ];
        text += &cells.join(",");
        text.push('\n');
    }
    text
}

fn plain(value: f64) -> String {
    if value.is_finite() {
        format!("{value:.6}")
    } else {
        String::new()
    }
}

/// The proposals whose row in the file says yes.
#[allow(clippy::disallowed_methods, reason = "the choice is a file")]
pub(super) fn chosen<'p>(
    file: &Path,
    proposals: &'p [Proposal],
) -> Result<Vec<&'p Proposal>, Failure> {
    let bytes = std::fs::read(file).map_err(|error| Failure::file("read", file, error))?;
    let table = book::read_csv_bytes(&file.display().to_string(), &bytes)
        .map_err(|error| Failure::usage(error.to_string()))?;
    let column = |name: &str| {
        table
            .columns
            .iter()
            .position(|column| column == name)
            .ok_or_else(|| {
                Failure::usage(format!(
                    "{}: no column `{name}`, expected the columns that --write gives",
                    file.display()
                ))
            })
    };
    let (tables, rows, columns, accept) = (
        column("table")?,
        column("row")?,
        column("column")?,
        column("accept")?,
    );
    // A choice made elsewhere may have the four columns alone.
    let values = table.columns.iter().position(|column| column == "found");
    let mut chosen = Vec::new();
    for row in &table.rows {
        let cell = |at: usize| row.cells.get(at).map_or("", |cell| cell.trim());
        if !said_yes(file, row.line, cell(accept))? {
            continue;
        }
        let found = proposals.iter().find(|p| {
            p.table == cell(tables) && p.column == cell(columns) && p.row.to_string() == cell(rows)
        });
        let found = found.ok_or_else(|| {
            Failure::usage(format!(
                "{} row {}: {} row {}, {} is no cell that this log speaks of; write the file anew \
                 with --write",
                file.display(),
                row.line,
                cell(tables),
                cell(rows),
                cell(columns)
            ))
        })?;
        if let Some(seen) = values.map(cell).filter(|seen| !is(seen, found.found.value)) {
            return Err(Failure::usage(format!(
                "{} row {}, found: {seen} stands there, this log says {}; write a value of your \
                 own into the book itself, or write the file anew with --write if it is of another \
                 log; nothing was written",
                file.display(),
                row.line,
                plain(found.found.value)
            )));
        }
        chosen.push(found);
    }
    Ok(chosen)
}

/// Whether a row is accepted.
fn said_yes(file: &Path, line: u32, said: &str) -> Result<bool, Failure> {
    match said.to_lowercase().as_str() {
        "yes" => Ok(true),
        "no" | "" => Ok(false),
        _ => Err(Failure::usage(format!(
            "{} row {line}, accept: found {said}, expected yes or no; nothing was written",
            file.display()
        ))),
    }
}

/// Whether a cell is the value that was written into it, also where a spreadsheet
/// cut its digits or gave it a decimal comma.
fn is(cell: &str, value: f64) -> bool {
    let seen = cell.replace(',', ".").parse::<f64>();
    seen.is_ok_and(|seen| (seen - value).abs() <= value.abs() * 1e-3 + 1e-6)
}
