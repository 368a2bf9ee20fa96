//! Ideas that can be tried.
//!
//! # Checks
//! An idea names a table, a row and a column of the book, and where it says what
//! stands there now, that it does.
//!
//! # Why it hurts
//! An idea that changes nothing would be ranked as one that helps nothing.
//!
//! # Example
//! An idea for `cycle` in stations.
//!
//! # Mended
//! The column is `cycle_s`.

use super::{
    keys::shown,
    sheets::{Sheet, Sheets},
};
use crate::{
    Book, Idea, Table,
    problem::{Problem, Problems},
};
use units::nearest;

pub(super) fn check(sheets: &Sheets<'_>, book: &Book, problems: &mut Problems) {
    for idea in &book.ideas {
        problems.extend(wrong(sheets, idea));
    }
}

fn wrong(sheets: &Sheets<'_>, idea: &Idea) -> Option<Problem> {
    let unknown = |column: &str, text: &str, expected: String, near: Option<&str>| {
        Problem::at(idea.at, "unknown-place")
            .column(column)
            .found(format!("`{text}`"))
            .expected(expected)
            .mend("correct the name")
            .nearest(near)
    };
    let Some(table) = Table::find(&idea.table) else {
        let near = nearest(&idea.table, Table::ALL.iter().map(|table| table.name()));
        return Some(unknown(
            "table",
            &idea.table,
            "a table of the book".into(),
            near,
        ));
    };
    let schema = table.schema();
    if schema.column(&idea.column).is_none() {
        let near = nearest(
            &idea.column,
            schema.columns.iter().map(|column| column.name),
        );
        return Some(unknown(
            "column",
            &idea.column,
            format!("a column of {}", schema.name),
            near,
        ));
    }
    let rows: Vec<(String, &str)> = sheets
        .get(table)
        .map_or_else(Vec::new, |sheet| keyed(sheet, &idea.column));
    let Some((_, now)) = rows.iter().find(|(key, _)| *key == idea.row) else {
        let near = nearest(&idea.row, rows.iter().map(|(key, _)| key.as_str()));
        let expected = format!(
            "the key of a row of {}, its parts joined by ` / `",
            schema.name
        );
        return Some(unknown("row", &idea.row, expected, near));
    };
    let from = idea.from.as_deref()?;
    // A note: whoever tries a change in the book has not broken its ideas.
    (from != *now).then(|| {
        Problem::at(idea.at, "stands-otherwise")
            .into_note()
            .column("from")
            .found(format!("`{from}`, where the book has `{now}`"))
            .expected("what stands there now")
            .mend(format!("write `{now}` or empty the cell"))
    })
}

fn keyed<'s>(sheet: &'s Sheet<'_>, column: &str) -> Vec<(String, &'s str)> {
    sheet
        .rows()
        .map(|row| (shown(&sheet.key(row)), sheet.text(row, column)))
        .collect()
}
