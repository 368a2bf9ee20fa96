//! Workbooks that people like to open.

use rust_xlsxwriter::{
    DocProperties, ExcelDateTime, Format, Note, Workbook as XlsxFile, Worksheet, XlsxError,
};

use crate::{
    Problem, Table,
    cell::{about, kind_words},
    raw::{RawTable, Workbook},
    read::{DECIMAL_COMMA, shortest},
    tables::plain_name,
};

pub(super) fn bytes(workbook: &Workbook) -> Result<Vec<u8>, Box<Problem>> {
    let mut file = XlsxFile::new();
    let failed = |error: XlsxError| not_written("workbook", &error);
    // The same book gives the same bytes, whenever it is written.
    let made = ExcelDateTime::from_ymd(2000, 1, 1).map_err(failed)?;
    file.set_properties(&DocProperties::new().set_creation_datetime(&made));
    let bold = Format::new().set_bold();
    for table in &workbook.tables {
        let sheet = file.add_worksheet();
        fill(sheet, table, &bold).map_err(|error| not_written(&table.name, &error))?;
    }
    for (number, table) in workbook.tables.iter().enumerate() {
        if table.decimal_comma {
            let name = format!("{DECIMAL_COMMA}{}", number + 1);
            let place = format!("='{}'!$A$1", table.name.replace('\'', "''"));
            file.define_name(name, &place).map_err(failed)?;
        }
    }
    file.save_to_buffer().map_err(failed)
}

fn not_written(table: &str, error: &XlsxError) -> Box<Problem> {
    Problem::error(table, "not-written")
        .found(error.to_string())
        .expected("a table that fits a spreadsheet")
        .mend("change what is named, or write a folder of CSV files")
        .boxed()
}

fn fill(sheet: &mut Worksheet, table: &RawTable, bold: &Format) -> Result<(), XlsxError> {
    sheet.set_name(&table.name)?;
    sheet.set_freeze_panes(1, 0)?;
    let schema = Table::find(&table.name).map(Table::schema);
    for (place, header) in (0_u16..).zip(&table.columns) {
        if header.is_empty() {
            continue;
        }
        sheet.write_string_with_format(0, place, header, bold)?;
        sheet.set_column_width(place, width(table, usize::from(place)))?;
        if let Some(column) = schema.and_then(|schema| schema.column(&plain_name(header))) {
            let text = format!("{} {}", column.doc, about(column, &kind_words(column)));
            sheet.insert_note(0, place, &Note::new(text).add_author_prefix(false))?;
        }
    }
    for row in &table.rows {
        for (place, cell) in (0_u16..).zip(&row.cells) {
            if cell.is_empty() {
                continue;
            }
            match number(cell) {
                Some(number) => sheet.write_number(row.line - 1, place, number)?,
                None => sheet.write_string(row.line - 1, place, cell)?,
            };
        }
    }
    Ok(())
}

/// The number, if the reader gives back the same text for it: not for `007`,
/// `1.50`, `1,5` or a number of more digits than a spreadsheet keeps.
fn number(cell: &str) -> Option<f64> {
    let digits = cell.bytes().filter(u8::is_ascii_digit).count();
    let plain = cell
        .bytes()
        .all(|byte| byte.is_ascii_digit() || matches!(byte, b'.' | b'-'));
    if !plain || digits > MOST_DIGITS {
        return None;
    }
    let number: f64 = cell.parse().ok()?;
    // A spreadsheet has no zero below zero.
    (cell == shortest(number) && !(number == 0.0 && number.is_sign_negative())).then_some(number)
}

/// Spreadsheets keep 15 digits when a person edits the file.
const MOST_DIGITS: usize = 15;

/// Wide enough for the longest of the first cells, within reason.
fn width(table: &RawTable, place: usize) -> f64 {
    let cells = table
        .rows
        .iter()
        .take(200)
        .filter_map(|row| row.cells.get(place));
    let longest = cells
        .chain(table.columns.get(place))
        .map(|cell| cell.chars().take(60).count())
        .max()
        .unwrap_or(0);
    longest as f64 + 2.0
}
