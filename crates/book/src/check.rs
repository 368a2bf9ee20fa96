//! From text to the typed book, with everything that is wrong with it.

mod calendar;
mod carts;
mod circles;
mod graph;
mod ideas;
mod keys;
mod lines;
mod offers;
mod orders;
mod paint;
mod pairs;
mod references;
mod routes;
mod shares;
mod sheets;
mod shops;
mod work;

use crate::{Book, Problem, Severity, problem::Problems, raw::Workbook};

pub use shares::ROUNDED_SHARES;

use sheets::Sheets;

/// A book with all that is wrong with it.
#[derive(Clone, Debug)]
pub struct Checked {
    /// The typed book. Cells that could not be read hold their usual value, so
    /// nothing may be computed from it while [`Checked::holds`] is false.
    pub book: Book,
    /// Every problem, in the order of the book.
    pub problems: Vec<Problem>,
}

impl Checked {
    /// Whether the book has no errors; notes do not count.
    pub fn holds(&self) -> bool {
        self.problems
            .iter()
            .all(|problem| problem.severity == Severity::Note)
    }
}

/// The checks of the typed book, each in a file of its own.
const CHECKS: [fn(&Book, &mut Problems); 12] = [
    shops::check,
    calendar::check,
    pairs::check,
    shares::check,
    routes::check,
    circles::check,
    carts::check,
    work::check,
    lines::check,
    orders::check,
    paint::check,
    offers::check,
];

/// Reads the text as a plant book and lists all that is wrong with it.
///
/// Never fails: what cannot be read is a [`Problem`] with its table, row and
/// column, what was found and what puts it right.
pub fn check(workbook: &Workbook) -> Checked {
    let mut problems = Problems::default();
    problems.extend(workbook.problems.iter().cloned());
    let sheets = Sheets::new(workbook, &mut problems);
    problems.tables_unread(sheets.unread(workbook));
    let book = sheets.read(&mut problems);
    problems.cells_are_read();
    keys::check(&sheets, &mut problems);
    references::check(&sheets, &mut problems);
    for check in CHECKS {
        check(&book, &mut problems);
    }
    ideas::check(&sheets, &book, &mut problems);
    Checked {
        book,
        problems: problems.finish(),
    }
}

#[cfg(test)]
mod tests {
    /// A check that nobody can read up is a check that people work around.
    #[test]
    fn every_check_says_what_it_checks_and_why() {
        let sources = [
            include_str!("check/calendar.rs"),
            include_str!("check/carts.rs"),
            include_str!("check/circles.rs"),
            include_str!("check/ideas.rs"),
            include_str!("check/keys.rs"),
            include_str!("check/lines.rs"),
            include_str!("check/offers.rs"),
            include_str!("check/orders.rs"),
            include_str!("check/paint.rs"),
            include_str!("check/pairs.rs"),
            include_str!("check/references.rs"),
            include_str!("check/routes.rs"),
            include_str!("check/shares.rs"),
            include_str!("check/sheets.rs"),
            include_str!("check/shops.rs"),
            include_str!("check/work.rs"),
        ];
        for source in sources {
            for heading in ["# Checks", "# Why it hurts", "# Example", "# Mended"] {
                let wanted = format!("//! {heading}\n");
                assert!(source.contains(&wanted), "no `{heading}` in {source:.80}");
            }
        }
    }
}
