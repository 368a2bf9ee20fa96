//! Prices that the book does not give, told once for all rows that lack them.

use book::At;

use super::model::Missing;

/// The list so far; rows of one table that lack one column for one reason are one
/// entry.
#[derive(Default)]
pub(super) struct Lacking(Vec<Missing>);

impl Lacking {
    /// A row lacks a column.
    pub(super) fn cell(&mut self, at: At, column: &str, name: &str, what: &str) {
        let table = at.table.name();
        let same =
            |one: &&mut Missing| one.table == table && one.column == column && one.what == what;
        if let Some(known) = self.0.iter_mut().find(same) {
            known.more += 1;
            return;
        }
        self.0.push(Missing {
            what: what.to_owned(),
            table: table.to_owned(),
            row: Some(at.row),
            column: column.to_owned(),
            name: name.to_owned(),
            more: 0,
            mend: format!("write it into {column}, or 0 where it costs nothing"),
        });
    }

    /// A setting is not given.
    pub(super) fn setting(&mut self, setting: &str, what: &str) {
        self.other(
            "plant",
            setting,
            what,
            format!("add a row {setting} to the plant table"),
        );
    }

    /// A table, or something else that has no row.
    pub(super) fn other(&mut self, table: &str, column: &str, what: &str, mend: String) {
        self.0.push(Missing {
            what: what.to_owned(),
            table: table.to_owned(),
            row: None,
            column: column.to_owned(),
            name: String::new(),
            more: 0,
            mend,
        });
    }

    pub(super) fn finish(self) -> Vec<Missing> {
        self.0
    }
}
