//! Workbooks, cell by cell.

use std::{io::Cursor, panic::AssertUnwindSafe};

use calamine::{DataRef, ExcelDateTime, Reader, SheetType, SheetVisible, Xlsx, XlsxError};

use super::{
    builder::{Budget, Builder},
    caps, package,
};
use crate::{
    Problem,
    raw::{RawTable, Workbook},
};

pub(super) fn read(bytes: &[u8]) -> Result<Workbook, Box<Problem>> {
    package::look_through(bytes)?;
    // The spreadsheet reader has places that panic on odd files (a cell
    // reference with too many letters, a sheet outside any folder); such a
    // file is damaged like any other.
    std::panic::catch_unwind(AssertUnwindSafe(|| sheets(bytes)))
        .unwrap_or_else(|_| Err(package::broken()))
}

fn sheets(bytes: &[u8]) -> Result<Workbook, Box<Problem>> {
    let mut xlsx = Xlsx::new(Cursor::new(bytes)).map_err(|error| unreadable("workbook", &error))?;
    let sheets: Vec<_> = xlsx.sheets_metadata().to_vec();
    if sheets.len() > caps::TABLES {
        return Err(caps::too_many_tables(sheets.len()));
    }
    let mut workbook = Workbook::default();
    let mut budget = Budget::default();
    for sheet in sheets
        .iter()
        .filter(|sheet| sheet.typ == SheetType::WorkSheet)
    {
        if sheet.visible != SheetVisible::Visible {
            workbook.problems.push(
                Problem::note(&sheet.name, "hidden-sheet")
                    .found("a hidden sheet")
                    .mend("it is read like the others"),
            );
        }
        match read_sheet(&mut xlsx, &sheet.name, &mut workbook.problems, &mut budget) {
            Ok(table) if table.columns.is_empty() => {}
            Ok(table) => workbook.tables.push(table),
            Err(problem) => workbook.problems.push(*problem),
        }
    }
    Ok(workbook)
}

fn unreadable(table: &str, error: &XlsxError) -> Box<Problem> {
    Problem::error(table, "broken-xlsx")
        .found(format!("a damaged part ({error})"))
        .expected("a sound .xlsx workbook")
        .mend("save it again from a spreadsheet program")
        .boxed()
}

/// A workbook has no separator that would tell a decimal comma, so a name that
/// starts so points to each table with decimal commas in its texts.
pub(crate) const DECIMAL_COMMA: &str = "decimal_comma_";

fn has_decimal_comma(names: &[(String, String)], sheet: &str) -> bool {
    let quoted = format!("'{}'!$A$1", sheet.replace('\'', "''"));
    let plain = format!("{sheet}!$A$1");
    names.iter().any(|(name, place)| {
        name.starts_with(DECIMAL_COMMA) && (*place == quoted || *place == plain)
    })
}

/// So many cells far out are looked at; then the sheet is a long list.
const STRAYS: usize = 1_000;
/// So many cells of a book are looked at, empty ones counted.
const LOOKED_AT: usize = 8 * caps::CELLS / 4;

fn read_sheet(
    xlsx: &mut Xlsx<Cursor<&[u8]>>,
    name: &str,
    problems: &mut Vec<Problem>,
    budget: &mut Budget,
) -> Result<RawTable, Box<Problem>> {
    let failed = |error: XlsxError| unreadable(name, &error);
    let decimal_comma = has_decimal_comma(xlsx.defined_names(), name);
    let mut builder = Builder::new(name);
    let mut strays = Strays::default();
    let mut looked_at = 0;
    // Never the whole range at once: one cell far out makes it ask for all
    // the empty ones between.
    let mut cells = xlsx.worksheet_cells_reader(name).map_err(failed)?;
    while let Some(cell) = cells.next_cell().map_err(failed)? {
        looked_at += 1;
        if looked_at > LOOKED_AT {
            return Err(long_sheet(name, "more cells than are looked at"));
        }
        let (row, column) = cell.get_position();
        let text = text_of(cell.get_value());
        if text.is_empty() {
            continue;
        }
        if row > caps::ROWS || column as usize >= caps::COLUMNS {
            strays.note(row, column, &text);
            if strays.count > STRAYS {
                return Err(long_sheet(name, "more rows or columns than that"));
            }
            continue;
        }
        builder.cell(row + 1, column as usize, text, budget)?;
    }
    problems.extend(strays.problem(name));
    builder.finish(name, decimal_comma, budget)
}

fn long_sheet(name: &str, found: &str) -> Box<Problem> {
    Problem::error(name, "too-many-rows")
        .found(found)
        .expected(format!(
            "at most {} rows and {} columns",
            caps::ROWS,
            caps::COLUMNS
        ))
        .mend("split the table or take out what the book does not need")
        .boxed()
}

/// Cells outside the caps.
#[derive(Default)]
struct Strays {
    count: usize,
    first: Option<(u32, u32, String)>,
}

impl Strays {
    fn note(&mut self, row: u32, column: u32, text: &str) {
        self.count += 1;
        if self.first.is_none() {
            self.first = Some((row, column, text.to_owned()));
        }
    }

    fn problem(self, name: &str) -> Option<Problem> {
        let (row, column, text) = self.first?;
        let cell = format!("{}{}", letters(column), row.saturating_add(1));
        Some(
            Problem::error(name, "stray-cell")
                .row(row.saturating_add(1))
                .found(format!(
                    "`{text}` in cell {cell}, {} such cells in all",
                    self.count
                ))
                .expected(format!(
                    "at most {} rows and {} columns",
                    caps::ROWS,
                    caps::COLUMNS
                ))
                .mend(format!("empty cell {cell}")),
        )
    }
}

/// A column's letters, `A` for 0.
fn letters(column: u32) -> String {
    let mut left = column.saturating_add(1);
    let mut letters = Vec::new();
    while left > 0 {
        left -= 1;
        letters.push(char::from(b'A' + (left % 26) as u8));
        left /= 26;
    }
    letters.iter().rev().collect()
}

fn text_of(value: &DataRef<'_>) -> String {
    match value {
        DataRef::Empty => String::new(),
        DataRef::Int(number) => number.to_string(),
        DataRef::Float(number) => shortest(*number),
        DataRef::String(text) | DataRef::DurationIso(text) => text.clone(),
        DataRef::DateTimeIso(text) => iso_text(text),
        DataRef::SharedString(text) => (*text).to_owned(),
        DataRef::Bool(true) => "TRUE".into(),
        DataRef::Bool(false) => "FALSE".into(),
        DataRef::DateTime(time) => time_text(time),
        DataRef::Error(error) => error.to_string(),
    }
}

/// The shortest text that reads back as the same number.
pub(crate) fn shortest(number: f64) -> String {
    let size = number.abs();
    if size == 0.0 || (1e-6..1e17).contains(&size) {
        number.to_string()
    } else {
        format!("{number:e}")
    }
}

/// A date or time that the workbook holds as text of the standard, shown like
/// any other: `1899-12-31T06:00:00`, on a day from which dates are counted, is a
/// time of day.
fn iso_text(text: &str) -> String {
    const FIRST_DAYS: [&str; 3] = ["1899-12-30", "1899-12-31", "1904-01-01"];
    let (day, time) = match text.split_once('T') {
        Some(both) => both,
        None if text.contains(':') => ("", text),
        None => (text, ""),
    };
    let no_seconds = time.strip_suffix(":00").filter(|time| time.contains(':'));
    let time = no_seconds.unwrap_or(time);
    if time.is_empty() {
        day.to_owned()
    } else if day.is_empty() || FIRST_DAYS.contains(&day) {
        time.to_owned()
    } else if time == "00:00" {
        day.to_owned()
    } else {
        format!("{day}T{time}")
    }
}

/// `hh:mm` for a time of day or a length of time, an ISO date for a date.
fn time_text(time: &ExcelDateTime) -> String {
    let number = time.as_f64();
    // Below a day it is a time of day; a length of time may be longer.
    if time.is_duration() || (0.0..1.0).contains(&number) {
        let seconds = (number * 86_400.0).round() as i64;
        let (hours, minutes, seconds) = (seconds / 3_600, seconds / 60 % 60, seconds % 60);
        return if seconds == 0 {
            format!("{hours:02}:{minutes:02}")
        } else {
            format!("{hours:02}:{minutes:02}:{seconds:02}")
        };
    }
    let (year, month, day, hour, minute, second, _) = time.to_ymd_hms_milli();
    let date = format!("{year:04}-{month:02}-{day:02}");
    match (hour, minute, second) {
        (0, 0, 0) => date,
        (_, _, 0) => format!("{date}T{hour:02}:{minute:02}"),
        _ => format!("{date}T{hour:02}:{minute:02}:{second:02}"),
    }
}
