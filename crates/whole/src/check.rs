//! All that is wrong with a book, or worth a note: as tables and as a plant.

use book::raw::Workbook;
use book::{Book, Checked, Problem, Severity};

/// Everything to be said about a book: what its cells break, then what only the
/// plan, the network and the shops see. Each thing is said once.
#[must_use]
pub fn workbook(workbook: &Workbook) -> Vec<Problem> {
    checked(&book::check(workbook))
}

/// The same of a book whose cells have been read already.
///
/// A book whose cells cannot be read makes no plant to look at: then its own
/// problems are all there is.
#[must_use]
pub fn checked(checked: &Checked) -> Vec<Problem> {
    let mut problems = checked.problems.clone();
    if problems.iter().any(is_error) {
        return problems;
    }
    for problem in of_the_plant(&checked.book) {
        if !problems.contains(&problem) {
            problems.push(problem);
        }
    }
    problems
}

/// Whether it keeps the book from being computed.
#[must_use]
pub fn is_error(problem: &Problem) -> bool {
    problem.severity == Severity::Error
}

fn of_the_plant(book: &Book) -> Vec<Problem> {
    let plan = crate::plan::plan(book).map(|plan| {
        let short = plan.shortfalls.iter().map(crate::plan::Shortfall::note);
        plan.notes.iter().cloned().chain(short).collect()
    });
    let network = crate::network::build(book).map(|built| built.notes);
    [
        plan.unwrap_or_else(|problems| problems),
        network.unwrap_or_else(|problems| problems),
        crate::assembly::screens(book),
        crate::paint::screens(book),
        crate::coil::problems(book),
        crate::order::contradictions(book),
    ]
    .concat()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sample::{SMALL_PLANT, workbook as read};

    #[test]
    fn what_only_the_plan_sees_is_told_with_what_the_cells_break() {
        let busy = SMALL_PLANT.replace("short,300", "short,3000");
        let checked = book::check(&read(&busy));
        assert!(checked.holds());
        let all = super::checked(&checked);
        assert!(all.len() > checked.problems.len());
        assert!(
            all.iter()
                .any(|note| note.code == "stations/falls-short" && !is_error(note))
        );
    }

    #[test]
    fn a_book_that_cannot_be_read_is_told_of_its_cells_alone() {
        let misspelt = SMALL_PLANT.replace("short,300", "short,three hundred");
        let checked = book::check(&read(&misspelt));
        assert!(!checked.holds());
        assert_eq!(super::checked(&checked), checked.problems);
    }
}
