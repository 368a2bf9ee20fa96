//! Problems of a book, worded for the terminal.

use std::fmt::Write as _;

use book::{Problem, Severity};

use crate::figure::things;

/// Errors and notes in words: `2 errors and 1 note`.
pub(crate) fn counted(problems: &[Problem]) -> String {
    let errors = problems.iter().filter(|problem| is_error(problem)).count();
    let notes = problems.len() - errors;
    format!(
        "{} and {}",
        things(errors, "error", "errors"),
        things(notes, "note", "notes")
    )
}

/// Whether it keeps the book from being computed.
pub(crate) fn is_error(problem: &Problem) -> bool {
    problem.severity == Severity::Error
}

/// One problem after the other, errors and notes as they stand in the book.
pub(crate) fn listed(problems: &[Problem]) -> String {
    let mut text = String::new();
    for problem in problems {
        let word = if is_error(problem) { "error" } else { "note" };
        // Writing to a `String` cannot fail.
        let _ = write!(text, "\n{word}  {}", problem.table);
        if let Some(row) = problem.row {
            let _ = write!(text, " row {row}");
        }
        if let Some(column) = &problem.column {
            let _ = write!(text, ", {column}");
        }
        let _ = writeln!(text, "  [{}]", problem.code);
        let _ = write!(text, "       found {}", problem.found);
        if !problem.expected.is_empty() {
            let _ = write!(text, "; expected {}", problem.expected);
        }
        text.push('\n');
        let nearest = problem
            .nearest
            .as_ref()
            .map(|name| format!("did you mean `{name}`?"));
        let mend = Some(problem.mend.clone()).filter(|mend| !mend.is_empty());
        let way_out: Vec<String> = nearest.into_iter().chain(mend).collect();
        if !way_out.is_empty() {
            let _ = writeln!(text, "       {}", way_out.join(" "));
        }
    }
    text
}
