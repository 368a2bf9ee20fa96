//! `linewright check`: everything wrong with a book, at once.

use std::path::Path;

use book::raw::Workbook;
use book::{Book, Problem};
use serde_json::json;
use whole::findings::NoAnswer;

use super::problems::{counted, is_error, listed};
use crate::figure::things;
use crate::folder;
use crate::outcome::{Answer, Failure, Form};

/// Reads a book as text.
pub(crate) fn read(path: &Path) -> Result<Workbook, Failure> {
    folder::must_hold_a_book(path)?;
    book::read_path(path).map_err(|error| Failure::usage(error.to_string()))
}

/// Reads a book that can be computed.
pub(crate) fn sound(path: &Path, form: Form) -> Result<Book, Failure> {
    sound_workbook(path, form).map(|(_, book)| book)
}

/// The same with its text, for who changes it.
pub(crate) fn sound_workbook(path: &Path, form: Form) -> Result<(Workbook, Book), Failure> {
    let workbook = read(path)?;
    let checked = book::check(&workbook);
    if checked.problems.iter().any(is_error) {
        return Err(refused(&checked.problems, path, form));
    }
    Ok((workbook, checked.book))
}

/// Lists what is wrong with a book, as tables and as a plant.
pub(crate) fn check(path: &Path, form: Form) -> Result<Answer, Failure> {
    let workbook = read(path)?;
    let problems = whole::check::workbook(&workbook);
    answer(&workbook, &problems, path, form)
}

fn answer(
    workbook: &Workbook,
    problems: &[Problem],
    path: &Path,
    form: Form,
) -> Result<Answer, Failure> {
    let errors = problems.iter().filter(|problem| is_error(problem)).count();
    let rows: usize = workbook.tables.iter().map(|table| table.rows.len()).sum();
    let json = json!({
        "book": path,
        "holds": errors == 0,
        "tables": workbook.tables.len(),
        "rows": rows,
        "errors": errors,
        "notes": problems.len() - errors,
        "problems": problems,
    });
    Answer::of(form, errors == 0, &json, || {
        let size = format!(
            "{}, {}, {}",
            things(workbook.tables.len(), "table", "tables"),
            things(rows, "row", "rows"),
            counted(problems)
        );
        let sentence = if errors == 0 {
            format!("The book can be computed: {size}.")
        } else {
            format!("The book cannot be computed before its errors are mended: {size}.")
        };
        format!("{sentence}\n{}", listed(problems))
    })
}

/// Errors of questions that a sound book may have nothing for: no forecast, nothing
/// that is cut, no shop whose order is asked for.
const NOTHING_OF_THAT: [&str; 3] = ["forecast/none", "parts/nothing-cut", "plant/no-such-line"];

/// What to add, where all that is wrong is that the book has nothing of what is
/// asked; a setting that somebody wrote is an error of the book.
fn nothing_of_that(problems: &[Problem]) -> Option<&Problem> {
    let mut errors = problems.iter().filter(|problem| is_error(problem));
    let first = errors.next()?;
    let nothing = |one: &Problem| NOTHING_OF_THAT.contains(&one.code.as_str()) && one.row.is_none();
    (nothing(first) && errors.all(nothing)).then_some(first)
}

/// Why a question about a book has no answer: the book has errors, or has nothing
/// of what is asked.
pub(crate) fn refused(problems: &[Problem], path: &Path, form: Form) -> Failure {
    if let Some(nothing) = nothing_of_that(problems) {
        return Failure::usage(format!(
            "{}: the book has nothing for this question in its {} table: found {}, expected {}; {}",
            path.display(),
            nothing.table,
            nothing.found,
            nothing.expected,
            nothing.mend
        ));
    }
    let json = json!({ "book": path, "holds": false, "problems": problems });
    Failure::reasons(form, &json, || {
        format!(
            "{} cannot be computed before its errors are mended: {}\n{}",
            path.display(),
            counted(problems),
            listed(problems).trim_end()
        )
    })
}

/// Why a run of the plant has no answer.
pub(crate) fn no_answer(why: &NoAnswer, path: &Path, form: Form) -> Failure {
    match why {
        NoAnswer::Problems(problems) => refused(problems, path, form),
        NoAnswer::Settings(what) => Failure::usage(what),
        NoAnswer::Cancelled => Failure::cancelled("cancelled; nothing was answered"),
    }
}
