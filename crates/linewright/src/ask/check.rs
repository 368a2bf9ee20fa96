//! `linewright check`: everything wrong with a book, at once.

use std::path::Path;

use book::Problem;
use book::raw::Workbook;
use serde_json::json;

use super::problems::{counted, is_error, listed};
use crate::figure::things;
use crate::outcome::{Answer, Failure, Form};

/// Reads a book as text.
pub(crate) fn read(path: &Path) -> Result<Workbook, Failure> {
    book::read_path(path).map_err(|error| Failure::usage(error.to_string()))
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

/// The answer to any question about a book that has errors.
pub(crate) fn refused(problems: &[Problem], path: &Path, form: Form) -> Result<Answer, Failure> {
    if form == Form::Json {
        let json = json!({ "book": path, "holds": false, "problems": problems });
        return Answer::of(form, false, &json, String::new);
    }
    Err(Failure::no(format!(
        "{} cannot be computed before its errors are mended: {}\n{}",
        path.display(),
        counted(problems),
        listed(problems).trim_end()
    )))
}
