//! The report as a workbook: all tables and figures, numbers as numbers.

use rust_xlsxwriter::{Format, Workbook, Worksheet, XlsxError};

use super::Report;
use super::book_sheets::{SheetNames, tables};
use super::sheets::{Cell, Sheet, sheets};
use super::workings::worked;

/// Why there is no workbook.
#[derive(Debug, thiserror::Error)]
#[error("the figures cannot be written as a workbook: {0}")]
pub struct WorkbookError(#[from] XlsxError);

/// The report as the bytes of an .xlsx file: a sheet for each table of plan and
/// answer, one with every figure and its working, and the book's own tables.
///
/// # Errors
/// When a table has more rows than a spreadsheet takes.
pub fn xlsx(report: &Report<'_>) -> Result<Vec<u8>, WorkbookError> {
    let mut workbook = Workbook::new();
    let looks = Looks::new();
    let mut names = SheetNames::new();
    summary(workbook.add_worksheet(), report, &looks, &mut names)?;
    for sheet in sheets(report) {
        let name = names.take(sheet.title);
        fill(workbook.add_worksheet().set_name(name)?, &sheet, &looks)?;
    }
    figures(workbook.add_worksheet(), report, &looks, &mut names)?;
    for table in tables(report.workbook) {
        let name = names.take(&format!("book {}", table.name));
        let sheet = workbook.add_worksheet().set_name(name)?;
        head(sheet, table.columns.iter().map(String::as_str), &looks)?;
        for (row, line) in (1..).zip(&table.rows) {
            for (column, cell) in (0..).zip(&line.cells) {
                // The book as it was written; its export is where numbers are.
                sheet.write_string(row, column, cell)?;
            }
        }
    }
    Ok(workbook.save_to_buffer()?)
}

/// Some tables as the bytes of an .xlsx file; those without rows are left out.
pub(super) fn of_sheets(sheets: &[Sheet]) -> Result<Vec<u8>, WorkbookError> {
    let mut workbook = Workbook::new();
    let looks = Looks::new();
    let mut names = SheetNames::new();
    for sheet in sheets.iter().filter(|sheet| !sheet.rows.is_empty()) {
        let name = names.take(sheet.title);
        fill(workbook.add_worksheet().set_name(name)?, sheet, &looks)?;
    }
    Ok(workbook.save_to_buffer()?)
}

struct Looks {
    head: Format,
    share: Format,
    plain: [Format; 4],
}

impl Looks {
    fn new() -> Self {
        let decimals = |format: &str| Format::new().set_num_format(format);
        Self {
            head: Format::new().set_bold().set_text_wrap(),
            share: decimals("0.0%"),
            plain: ["#,##0", "#,##0.0", "#,##0.00", "#,##0.000"].map(decimals),
        }
    }

    fn decimals(&self, decimals: usize) -> &Format {
        &self.plain[decimals.min(self.plain.len() - 1)]
    }
}

fn head<'h>(
    sheet: &mut Worksheet,
    headers: impl Iterator<Item = &'h str>,
    looks: &Looks,
) -> Result<(), XlsxError> {
    for (column, header) in (0..).zip(headers) {
        sheet.write_string_with_format(0, column, header, &looks.head)?;
        sheet.set_column_width(column, 16)?;
    }
    sheet.set_freeze_panes(1, 1)?;
    Ok(())
}

fn summary(
    sheet: &mut Worksheet,
    report: &Report<'_>,
    looks: &Looks,
    names: &mut SheetNames,
) -> Result<(), XlsxError> {
    sheet.set_name(names.take("Report"))?;
    head(
        sheet,
        ["what", "value", "± of the interval"].into_iter(),
        looks,
    )?;
    let mut row = 1;
    let mut text = |sheet: &mut Worksheet, what: &str, value: &str| -> Result<(), XlsxError> {
        sheet
            .write_string(row, 0, what)?
            .write_string(row, 1, value)?;
        row += 1;
        Ok(())
    };
    text(sheet, "plant", &report.plan.plant)?;
    text(sheet, "of", report.of)?;
    let Some(answer) = report.answer else {
        return text(
            sheet,
            "answer",
            "the plant was not run; these are planned figures",
        );
    };
    text(sheet, "answer", &answer.sentence)?;
    let run = &answer.run;
    for (what, value, half_width) in [
        ("cars a week needed", answer.needed, None),
        (
            "cars a week made",
            answer.made.mean,
            Some(answer.made.half_width),
        ),
        (
            "first time right, share of cars",
            answer.first_time_right.made.mean,
            Some(answer.first_time_right.made.half_width),
        ),
        ("replications", f64::from(run.replications), None),
        ("weeks in each", f64::from(run.weeks), None),
        ("warm-up h", run.warm_up_h, None),
        ("level of the intervals", run.level, None),
    ] {
        sheet
            .write_string(row, 0, what)?
            .write_number(row, 1, value)?;
        if let Some(half_width) = half_width.filter(|half| half.is_finite()) {
            sheet.write_number(row, 2, half_width)?;
        }
        row += 1;
    }
    // A seed may have more digits than a spreadsheet's number keeps.
    sheet
        .write_string(row, 0, "seed")?
        .write_string(row, 1, run.seed.to_string())?;
    Ok(())
}

/// An interval takes two columns: the mean and its half-width.
fn fill(sheet: &mut Worksheet, table: &Sheet, looks: &Looks) -> Result<(), XlsxError> {
    let mut headers = Vec::new();
    let mut places = Vec::new();
    for (n, column) in table.columns.iter().enumerate() {
        places.push(u16::try_from(headers.len()).unwrap_or(u16::MAX));
        headers.push((*column).to_owned());
        let spread = |row: &Vec<Cell>| {
            matches!(
                row.get(n),
                Some(Cell::Interval(..) | Cell::ShareInterval(_))
            )
        };
        if table.rows.iter().any(spread) {
            headers.push(format!("± {column}"));
        }
    }
    head(sheet, headers.iter().map(String::as_str), looks)?;
    for (row, cells) in (1..).zip(&table.rows) {
        for (cell, column) in cells.iter().zip(&places) {
            put(sheet, (row, *column), cell, looks)?;
        }
    }
    if !table.note.is_empty() {
        let below = u32::try_from(table.rows.len()).unwrap_or(0) + 2;
        sheet.write_string(below, 0, &table.note)?;
    }
    Ok(())
}

fn put(
    sheet: &mut Worksheet,
    (row, column): (u32, u16),
    cell: &Cell,
    looks: &Looks,
) -> Result<(), XlsxError> {
    let mut number = |column: u16, value: f64, format: &Format| -> Result<(), XlsxError> {
        // A spreadsheet knows no infinity: what is unknown stays empty.
        if value.is_finite() {
            sheet.write_number_with_format(row, column, value, format)?;
        }
        Ok(())
    };
    match cell {
        Cell::Empty => Ok(()),
        Cell::Text(text) => sheet.write_string(row, column, text).map(|_| ()),
        Cell::Number(value, decimals) => number(column, *value, looks.decimals(*decimals)),
        Cell::Share(share) => number(column, *share, &looks.share),
        Cell::Interval(seen, decimals) => {
            number(column, seen.mean, looks.decimals(*decimals))?;
            number(column + 1, seen.half_width, looks.decimals(*decimals + 1))
        }
        Cell::ShareInterval(seen) => {
            number(column, seen.mean, &looks.share)?;
            number(column + 1, seen.half_width, &looks.share)
        }
    }
}

fn figures(
    sheet: &mut Worksheet,
    report: &Report<'_>,
    looks: &Looks,
    names: &mut SheetNames,
) -> Result<(), XlsxError> {
    sheet.set_name(names.take("Figures"))?;
    let headers = [
        "id", "figure", "value", "unit", "formula", "results", "values", "source", "caution",
    ];
    head(sheet, headers.into_iter(), looks)?;
    for (row, figure) in (1..).zip(report.plan.figures.values()) {
        let (worked, working) = (worked(figure), &figure.working);
        sheet
            .write_string(row, 0, &figure.id)?
            .write_string(row, 1, &figure.title)?;
        if figure.value.is_finite() {
            sheet.write_number(row, 2, figure.value)?;
        }
        for (column, text) in (3..).zip([
            figure.unit.as_str(),
            &working.expression,
            &worked.results,
            &worked.inputs,
            &working.source,
            working.caution.as_deref().unwrap_or(""),
        ]) {
            sheet.write_string(row, column, short(text))?;
        }
    }
    Ok(())
}

/// A cell takes 32,767 letters; a list of inputs may have more.
fn short(text: &str) -> String {
    const MOST: usize = 32_000;
    let mut kept: String = text.chars().take(MOST).collect();
    if kept.len() < text.len() {
        kept.push('…');
    }
    kept
}
