//! A book with an idea carried out: the cells that the idea names hold what it
//! says.

use book::raw::{RawTable, Workbook};
use book::{Book, Idea, Problem, Table};

/// The names of a book's ideas, in its order; rows of one name are one idea.
pub(crate) fn names(book: &Book) -> Vec<String> {
    let mut names: Vec<String> = Vec::new();
    for idea in &book.ideas {
        if !names.contains(&idea.idea) {
            names.push(idea.idea.clone());
        }
    }
    names
}

/// The rows of an idea.
pub(crate) fn rows<'b>(book: &'b Book, name: &str) -> Vec<&'b Idea> {
    book.ideas.iter().filter(|row| row.idea == name).collect()
}

/// What an idea's rows cost and take together.
pub(crate) struct Costs {
    pub(crate) investment: f64,
    pub(crate) cost_per_year: f64,
    pub(crate) weeks: f64,
    pub(crate) life_years: f64,
}

/// The sum of an idea's rows: money adds, the longest wait and the shortest life
/// count.
pub(crate) fn costs(rows: &[&Idea]) -> Costs {
    Costs {
        investment: rows.iter().map(|row| row.investment.0).sum(),
        cost_per_year: rows.iter().map(|row| row.cost_per_year.0).sum(),
        weeks: rows.iter().map(|row| row.weeks).fold(0.0, f64::max),
        life_years: rows
            .iter()
            .map(|row| row.life_years)
            .fold(f64::INFINITY, f64::min),
    }
}

/// The book as text with the cells of some ideas changed, and with its types.
///
/// # Errors
/// The errors of the changed book.
pub(crate) fn carried_out(
    workbook: &Workbook,
    ideas: &[&Idea],
) -> Result<(Workbook, Book), Vec<Problem>> {
    let mut changed = workbook.clone();
    for idea in ideas {
        change(&mut changed, idea);
    }
    let checked = book::check(&changed);
    if checked.holds() {
        return Ok((changed, checked.book));
    }
    let errors = checked.problems.into_iter();
    Err(errors
        .filter(|problem| problem.severity == book::Severity::Error)
        .collect())
}

/// Writes an idea's cell; a place that the book does not have was reported by
/// its check.
fn change(workbook: &mut Workbook, idea: &Idea) {
    let Some(table) = Table::find(&idea.table) else {
        return;
    };
    let found = workbook
        .tables
        .iter_mut()
        .find(|raw| Table::find(&raw.name) == Some(table));
    let Some(raw) = found else {
        return;
    };
    let column = column_of(raw, &idea.column);
    let keys: Vec<Option<usize>> = table
        .schema()
        .key
        .iter()
        .map(|key| find_column(raw, key))
        .collect();
    for row in &mut raw.rows {
        let cell = |at: &Option<usize>| at.and_then(|at| row.cells.get(at));
        let parts: Vec<&str> = keys
            .iter()
            .filter_map(|at| cell(at).map(|text| text.trim()))
            .filter(|text| !text.is_empty())
            .collect();
        if parts.join(" / ") == idea.row {
            if row.cells.len() <= column {
                row.cells.resize(column + 1, String::new());
            }
            row.cells[column].clone_from(&idea.to);
        }
    }
}

fn find_column(raw: &RawTable, name: &str) -> Option<usize> {
    let plain = |text: &str| text.trim().to_lowercase().replace([' ', '-'], "_");
    raw.columns.iter().position(|column| plain(column) == name)
}

/// The column's place; one that the table lacks is put behind the others.
fn column_of(raw: &mut RawTable, name: &str) -> usize {
    if let Some(at) = find_column(raw, name) {
        return at;
    }
    raw.columns.push(name.to_owned());
    for row in &mut raw.rows {
        row.cells.resize(raw.columns.len(), String::new());
    }
    raw.columns.len() - 1
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sample;

    #[test]
    fn an_idea_changes_its_cell_and_no_other() {
        let workbook = sample::workbook(sample::SMALL_PLANT);
        let book = sample::book(sample::SMALL_PLANT);
        let station = &book.stations[1];
        let idea = Idea {
            table: "stations".into(),
            row: station.station.clone(),
            column: "units".into(),
            to: "7".into(),
            ..Idea::default()
        };
        let (_, changed) = carried_out(&workbook, &[&idea]).unwrap();
        assert_eq!(changed.stations[1].units, 7);
        let mut back = changed.clone();
        back.stations[1].units = station.units;
        assert_eq!(back, book);
    }

    #[test]
    fn an_idea_that_makes_the_book_wrong_is_refused_with_its_row() {
        let workbook = sample::workbook(sample::SMALL_PLANT);
        let book = sample::book(sample::SMALL_PLANT);
        let idea = Idea {
            table: "stations".into(),
            row: book.stations[1].station.clone(),
            column: "life_years".into(),
            to: "-4".into(),
            ..Idea::default()
        };
        let problems = carried_out(&workbook, &[&idea]).unwrap_err();
        assert_eq!(problems[0].row, Some(book.stations[1].at.row));
        assert!(problems[0].found.contains("-4"), "{}", problems[0]);
    }
}
