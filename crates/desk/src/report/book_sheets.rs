//! The book's own tables, for the workbook.

use std::collections::BTreeSet;

use book::raw::{RawTable, Workbook};

/// A spreadsheet takes names of 31 letters and some signs not at all, and tells
/// them apart without regard to case.
pub(super) struct SheetNames(BTreeSet<String>);

impl SheetNames {
    pub(super) fn new() -> Self {
        Self(BTreeSet::new())
    }

    /// A name near the wanted one that no other sheet has.
    pub(super) fn take(&mut self, wanted: &str) -> String {
        let plain = |letter: char| {
            if "[]:*?/\\'".contains(letter) {
                ' '
            } else {
                letter
            }
        };
        let clean: String = wanted
            .chars()
            .map(plain)
            .filter(|c| !c.is_control())
            .collect();
        let short = |letters: usize| clean.chars().take(letters).collect::<String>();
        let mut name = short(31);
        let mut number = 2;
        while name.trim().is_empty() || !self.0.insert(name.to_lowercase()) {
            name = format!("{} {number}", short(26));
            number += 1;
        }
        name
    }
}

/// The tables with rows.
pub(super) fn tables(workbook: &Workbook) -> impl Iterator<Item = &RawTable> {
    workbook
        .tables
        .iter()
        .filter(|table| !table.rows.is_empty())
}

#[cfg(test)]
mod tests {
    use super::SheetNames;

    #[test]
    fn sheets_get_names_that_a_spreadsheet_takes() {
        let mut names = SheetNames::new();
        assert_eq!(names.take("stations"), "stations");
        assert_eq!(names.take("Stations"), "Stations 2");
        assert_eq!(names.take("a/b [c]"), "a b  c ");
        let long = "x".repeat(40);
        assert_eq!(names.take(&long).len(), 31);
        assert_eq!(names.take(&long), format!("{} 2", "x".repeat(26)));
    }
}
