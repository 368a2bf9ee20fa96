//! Values taken over into the book, cell by cell.

use book::raw::Workbook;

use super::Proposal;

/// The book with these values in their cells; nothing else changes.
///
/// # Errors
/// The place of the first cell that the book does not have.
pub fn accept<'p>(
    workbook: &Workbook,
    accepted: impl IntoIterator<Item = &'p Proposal>,
) -> Result<Workbook, String> {
    let mut book = workbook.clone();
    for proposal in accepted {
        let place = format!(
            "{} row {}, {}",
            proposal.table, proposal.row, proposal.column
        );
        if !proposal.found.value.is_finite() {
            return Err(format!(
                "{place}: the log gives no value, only a limit; leave the cell"
            ));
        }
        let table = book
            .tables
            .iter_mut()
            .find(|table| table.name == proposal.table)
            .ok_or_else(|| format!("{place}: the book has no such table"))?;
        let column = match table
            .columns
            .iter()
            .position(|name| *name == proposal.column)
        {
            Some(column) => column,
            None => {
                table.columns.push(proposal.column.clone());
                table
                    .rows
                    .iter_mut()
                    .for_each(|row| row.cells.push(String::new()));
                table.columns.len() - 1
            }
        };
        let row = table
            .rows
            .iter_mut()
            .find(|row| row.line == proposal.row)
            .ok_or_else(|| format!("{place}: the book has no such row"))?;
        let mut text = rounded(proposal.found.value);
        if table.decimal_comma {
            text = text.replace('.', ",");
        }
        row.cells[column] = text;
    }
    Ok(book)
}

/// A value as it goes into a cell: four figures, more than any log's interval is
/// worth.
///
/// ```
/// assert_eq!(evidence::learn::rounded(123.456), "123.5");
/// ```
pub fn rounded(value: f64) -> String {
    if value == 0.0 {
        return "0".to_owned();
    }
    let digits = 3.0 - libm::floor(libm::log10(value.abs()));
    // Between none and nine digits behind the point.
    let text = format!("{value:.*}", digits.clamp(0.0, 9.0) as usize);
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text
    }
}
