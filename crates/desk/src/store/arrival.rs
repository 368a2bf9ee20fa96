//! A book from outside becomes a content: its rows get the ids they had.
//!
//! Whoever imports the same workbook again, with a few cells changed, wants to
//! see those cells in the comparison and not every row taken out and put in.
//! So a row keeps the id of the row with the same key, or else of one with the
//! same cells; the rest is new.

use std::collections::{BTreeMap, VecDeque};
use std::sync::Arc;

use book::raw::{RawTable, Workbook};

use super::content::{Content, Row, Table};

/// Gives out ids that no row of the store has had.
pub(super) struct Ids {
    revision: i64,
    next: u64,
}

impl Ids {
    /// For a revision whose number was never used and never will be again.
    pub(super) fn of(revision: i64) -> Self {
        Self { revision, next: 0 }
    }

    fn fresh(&mut self) -> String {
        self.next += 1;
        format!("{}.{}", self.revision, self.next)
    }
}

/// The content of a whole book; `name` where the file gave none.
pub(super) fn book(workbook: &Workbook, old: &Content, name: &str, ids: &mut Ids) -> Content {
    let tables = workbook.tables.iter().map(|raw| {
        let known = old.table(&raw.name);
        Arc::new(table(raw, known.map(Arc::as_ref), ids))
    });
    let name = [name, &workbook.name, &old.name]
        .into_iter()
        .find(|name| !name.trim().is_empty());
    Content {
        name: name.unwrap_or("plant").trim().to_owned(),
        tables: tables.collect(),
    }
}

/// The old content with one table from outside.
pub(super) fn one_table(raw: &RawTable, old: &Content, ids: &mut Ids) -> Content {
    let mut content = old.clone();
    let place = content.tables.iter().position(|t| t.name == raw.name);
    let known = place.map(|place| Arc::clone(&content.tables[place]));
    let new = Arc::new(table(raw, known.as_deref(), ids));
    match place {
        Some(place) => content.tables[place] = new,
        None => content.tables.push(new),
    }
    content
}

fn table(raw: &RawTable, old: Option<&Table>, ids: &mut Ids) -> Table {
    let mut table = Table {
        name: raw.name.clone(),
        columns: raw.columns.clone(),
        decimal_comma: raw.decimal_comma,
        rows: Vec::with_capacity(raw.rows.len()),
    };
    let rows = raw.rows.iter().map(|row| Row {
        id: String::new(),
        cells: {
            let mut cells = row.cells.clone();
            cells.resize(raw.columns.len(), String::new());
            cells
        },
    });
    let mut rows: Vec<Row> = rows.collect();
    if let Some(old) = old {
        let key = key_columns(&table, old);
        match_rows(
            old,
            &mut rows,
            |row| key.as_ref().map(|k| k.of_old(row)),
            |row| key.as_ref().map(|k| k.of_new(row)),
        );
        if old.columns == table.columns {
            match_rows(
                old,
                &mut rows,
                |row| Some(row.cells.clone()),
                |row| Some(row.cells.clone()),
            );
        }
    }
    for row in &mut rows {
        if row.id.is_empty() {
            row.id = ids.fresh();
        }
    }
    table.rows = rows;
    table
}

/// Where the key's columns stand on both sides.
struct KeyColumns {
    old: Vec<usize>,
    new: Vec<usize>,
}

impl KeyColumns {
    fn of_old(&self, row: &Row) -> Vec<String> {
        pick(row, &self.old)
    }

    fn of_new(&self, row: &Row) -> Vec<String> {
        pick(row, &self.new)
    }
}

fn pick(row: &Row, columns: &[usize]) -> Vec<String> {
    let cell = |at: &usize| row.cells.get(*at).cloned().unwrap_or_default();
    columns.iter().map(cell).collect()
}

/// The schema's key where both sides have its columns, else the first column.
fn key_columns(new: &Table, old: &Table) -> Option<KeyColumns> {
    let key = book::Table::find(&new.name).map(|table| table.schema().key);
    let by_schema = key.and_then(|key| {
        Some(KeyColumns {
            old: key.iter().map(|c| old.column(c)).collect::<Option<_>>()?,
            new: key.iter().map(|c| new.column(c)).collect::<Option<_>>()?,
        })
    });
    let by_first = || {
        let first = new.columns.first()?;
        Some(KeyColumns {
            old: vec![old.column(first)?],
            new: vec![0],
        })
    };
    by_schema.or_else(by_first)
}

/// Hands the ids of old rows to new rows that look the same to `old_key` and
/// `new_key`, each id once, in order.
fn match_rows(
    old: &Table,
    rows: &mut [Row],
    old_key: impl Fn(&Row) -> Option<Vec<String>>,
    new_key: impl Fn(&Row) -> Option<Vec<String>>,
) {
    let taken: BTreeMap<&str, ()> = rows.iter().map(|row| (row.id.as_str(), ())).collect();
    let mut free: BTreeMap<Vec<String>, VecDeque<&str>> = BTreeMap::new();
    for row in old
        .rows
        .iter()
        .filter(|row| !taken.contains_key(row.id.as_str()))
    {
        if let Some(key) = old_key(row) {
            free.entry(key).or_default().push_back(&row.id);
        }
    }
    for row in rows.iter_mut().filter(|row| row.id.is_empty()) {
        let key = new_key(row);
        let id = key.and_then(|key| free.get_mut(&key)?.pop_front());
        if let Some(id) = id {
            id.clone_into(&mut row.id);
        }
    }
}
