//! A row as a unit takes it, and what rows mean.

use super::Rules;
use crate::roster::Roster;
use crate::scan::Row;

/// What rows mean, for all units.
pub(crate) struct Context<'a> {
    pub(crate) roster: &'a Roster,
    pub(crate) rules: Rules,
    /// The files read so far.
    pub(crate) files: &'a [String],
    /// Words of causes and products, by number.
    pub(crate) words: &'a [String],
    /// For each word the class of car it means.
    pub(crate) classes: &'a [Option<usize>],
}

/// A row with the words of the whole log.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Known {
    pub(crate) row: Row,
    /// Which of the files.
    pub(crate) file: u32,
    /// Row of the file.
    pub(crate) line: u64,
    pub(crate) cause: u32,
    pub(crate) product: u32,
}

impl Known {
    /// Whether two rows of a unit are of the same time and state.
    pub(super) fn at_once(&self, other: &Self) -> bool {
        let when = |known: &Self| (known.row.from, known.row.to, known.row.state);
        when(self) == when(other)
    }

    /// Whether two rows say the same.
    pub(super) fn same(&self, other: &Self) -> bool {
        let said = |known: &Self| {
            let Row {
                from,
                to,
                state,
                item,
                ..
            } = known.row;
            (from, to, state, item, known.cause, known.product)
        };
        said(self) == said(other)
    }
}
