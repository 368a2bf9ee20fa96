//! Two people's edits of one revision, put together.
//!
//! A three-way merge by row id and column. Where one side left a cell as it
//! was, the other side's text stands; where both wrote the same, it stands;
//! where they wrote different texts there is a conflict, and nothing is merged.
//! A row or a column taken out by one side and changed by the other is a conflict
//! as well.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use serde::Serialize;

use super::content::{Content, Row, Table};

/// A cell that two people changed to different texts. A text that is absent
/// means that the row is.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Conflict {
    /// The table's name.
    pub table: String,
    /// The row's id.
    pub row: String,
    /// The row's key, for people.
    pub key: String,
    /// The column's header.
    pub column: String,
    /// What this edit would write.
    pub yours: Option<String>,
    /// What stands there now.
    pub theirs: Option<String>,
    /// What stood there when the edit began.
    pub base: Option<String>,
}

/// Merges what changed from `base` to `yours` into `head`.
///
/// # Errors
/// Every conflict.
pub fn merge(base: &Content, yours: &Content, head: &Content) -> Result<Content, Vec<Conflict>> {
    let mut merged = head.clone();
    let mut conflicts = Vec::new();
    let nothing = Arc::new(Table::default());
    if yours.name != base.name && head.name == base.name {
        merged.name.clone_from(&yours.name);
    }
    for old in &base.tables {
        if yours.table(&old.name).is_none() {
            conflicts.extend(take_out(old, &mut merged));
        }
    }
    for mine in &yours.tables {
        let old = base.table(&mine.name);
        if old.is_some_and(|old| Arc::ptr_eq(old, mine) || old == mine) {
            continue;
        }
        let place = merged.tables.iter().position(|t| t.name == mine.name);
        let theirs = match (place, old) {
            (Some(place), _) => &merged.tables[place],
            (None, Some(old)) => {
                conflicts.extend(added_to_nothing(old, mine));
                &nothing
            }
            // Nobody else knows the table.
            (None, None) => {
                merged.tables.push(Arc::clone(mine));
                continue;
            }
        };
        match merge_table(old.unwrap_or(&nothing), mine, theirs) {
            Ok(table) => {
                if let Some(place) = place {
                    merged.tables[place] = Arc::new(table);
                }
            }
            Err(more) => conflicts.extend(more),
        }
    }
    if conflicts.is_empty() {
        Ok(merged)
    } else {
        Err(conflicts)
    }
}

/// Takes a table out that is gone here; rows that others have added to it stay,
/// and with them the table.
fn take_out(old: &Table, merged: &mut Content) -> Vec<Conflict> {
    let Some(place) = merged.tables.iter().position(|t| t.name == old.name) else {
        return Vec::new();
    };
    let bare = Table {
        rows: Vec::new(),
        ..old.clone()
    };
    match merge_table(old, &bare, &merged.tables[place]) {
        Ok(left) if left.rows.is_empty() => {
            merged.tables.remove(place);
            Vec::new()
        }
        Ok(left) => {
            merged.tables[place] = Arc::new(left);
            Vec::new()
        }
        Err(conflicts) => conflicts,
    }
}

/// Rows added here to a table that is gone from the head have no place there.
fn added_to_nothing(base: &Table, yours: &Table) -> Vec<Conflict> {
    let known: BTreeSet<&str> = base.rows.iter().map(|row| row.id.as_str()).collect();
    let added = yours
        .rows
        .iter()
        .filter(|row| !known.contains(row.id.as_str()));
    let conflict = |row: &Row| Conflict {
        table: yours.name.clone(),
        row: row.id.clone(),
        key: yours.key_of(row),
        column: yours.columns.first().cloned().unwrap_or_default(),
        yours: Some(row.cells.first().cloned().unwrap_or_default()),
        theirs: None,
        base: None,
    };
    added.map(conflict).collect()
}

/// A header with its number among those of the same text.
type Key<'t> = (&'t str, usize);

/// One side of the merge, ready to be asked for cells.
struct Side<'t> {
    columns: BTreeMap<Key<'t>, usize>,
    rows: BTreeMap<&'t str, &'t Row>,
}

fn keys(table: &Table) -> Vec<Key<'_>> {
    let mut seen: BTreeMap<&str, usize> = BTreeMap::new();
    let number = |column| {
        let count = seen.entry(column).or_default();
        *count += 1;
        (column, *count)
    };
    table
        .columns
        .iter()
        .map(String::as_str)
        .map(number)
        .collect()
}

impl<'t> Side<'t> {
    fn of(table: &'t Table) -> Self {
        let keys = keys(table).into_iter().enumerate();
        Self {
            columns: keys.map(|(position, key)| (key, position)).collect(),
            rows: table
                .rows
                .iter()
                .map(|row| (row.id.as_str(), row))
                .collect(),
        }
    }

    /// A cell; where the row has no such column, it is empty.
    fn cell<'a>(&self, row: &'a Row, key: Key<'_>) -> &'a str {
        let position = self.columns.get(&key);
        let cell = position.and_then(|position| row.cells.get(*position));
        cell.map_or("", String::as_str)
    }
}

fn merge_table(base: &Table, yours: &Table, head: &Table) -> Result<Table, Vec<Conflict>> {
    let (of_base, of_yours, of_head) = (keys(base), keys(yours), keys(head));
    let gone_from = |side: &[Key<'_>]| -> Vec<Key<'_>> {
        let gone = of_base.iter().filter(|key| !side.contains(key));
        gone.copied().collect()
    };
    // A column that one side has taken out can hold an edit of the other.
    let (dropped, mut lost) = (gone_from(&of_yours), gone_from(&of_head));
    let added = |key: &Key<'_>| !of_head.contains(key) && !of_base.contains(key);
    let mut columns = of_head.clone();
    columns.extend(of_yours.iter().copied().filter(added));
    columns.retain(|key| !dropped.contains(key));
    lost.retain(|key| !dropped.contains(key));
    let mut merging = Merging {
        table: yours,
        head_table: head,
        base: Side::of(base),
        yours: Side::of(yours),
        head: Side::of(head),
        columns,
        dropped,
        lost,
        conflicts: Vec::new(),
    };
    let rows = merging.rows();
    if !merging.conflicts.is_empty() {
        return Err(merging.conflicts);
    }
    Ok(Table {
        name: yours.name.clone(),
        columns: merging.columns.iter().map(|key| key.0.to_owned()).collect(),
        decimal_comma: if yours.decimal_comma == base.decimal_comma {
            head.decimal_comma
        } else {
            yours.decimal_comma
        },
        rows,
    })
}

struct Merging<'t> {
    table: &'t Table,
    head_table: &'t Table,
    base: Side<'t>,
    yours: Side<'t>,
    head: Side<'t>,
    columns: Vec<Key<'t>>,
    /// Columns taken out here.
    dropped: Vec<Key<'t>>,
    /// Columns taken out there.
    lost: Vec<Key<'t>>,
    conflicts: Vec<Conflict>,
}

impl<'t> Merging<'t> {
    fn rows(&mut self) -> Vec<Row> {
        let mut hung = self.hung();
        let mut rows = hung.remove(&None).unwrap_or_default();
        for theirs in &self.head_table.rows {
            let id = theirs.id.as_str();
            let old = self.base.rows.get(id).copied();
            match self.yours.rows.get(id).copied() {
                Some(mine) => rows.push(self.both(old, mine, theirs)),
                None => match old {
                    // Taken out here; that must not take their edit along.
                    Some(old) => self.removed_here(old, theirs),
                    None => {
                        self.filled_there(theirs);
                        rows.push(self.laid_out(&self.head, theirs));
                    }
                },
            }
            rows.append(&mut hung.remove(&Some(id)).unwrap_or_default());
        }
        self.removed_there();
        rows
    }

    /// The rows added here, each run behind the last row above it that the head
    /// has as well.
    fn hung(&mut self) -> BTreeMap<Option<&'t str>, Vec<Row>> {
        let mut hung: BTreeMap<Option<&str>, Vec<Row>> = BTreeMap::new();
        let mut above = None;
        let table = self.table;
        for row in &table.rows {
            let id = row.id.as_str();
            if self.head.rows.contains_key(id) {
                above = Some(id);
            } else if !self.base.rows.contains_key(id) {
                self.filled_here(row);
                let row = self.laid_out(&self.yours, row);
                hung.entry(above).or_default().push(row);
            }
        }
        hung
    }

    /// The row with its cells under the merged columns.
    fn laid_out(&self, side: &Side<'_>, row: &Row) -> Row {
        let cells = self.columns.iter();
        Row {
            id: row.id.clone(),
            cells: cells.map(|key| side.cell(row, *key).to_owned()).collect(),
        }
    }

    fn both(&mut self, old: Option<&Row>, mine: &Row, theirs: &Row) -> Row {
        let mut cells = Vec::with_capacity(self.columns.len());
        let mut clashes = Vec::new();
        for key in &self.columns {
            let before = old.map(|old| self.base.cell(old, *key));
            let yours = self.yours.cell(mine, *key);
            let now = self.head.cell(theirs, *key);
            if before.unwrap_or("") == yours {
                cells.push(now.to_owned());
            } else if before.unwrap_or("") == now || yours == now {
                cells.push(yours.to_owned());
            } else {
                clashes.push((key.0, Some(yours), Some(now), before));
            }
        }
        for key in &self.lost {
            let before = old.map(|old| self.base.cell(old, *key));
            let yours = self.yours.cell(mine, *key);
            if before.unwrap_or("") != yours {
                clashes.push((key.0, Some(yours), None, before));
            }
        }
        for key in &self.dropped {
            let before = old.map(|old| self.base.cell(old, *key));
            let now = self.head.cell(theirs, *key);
            if self.head.columns.contains_key(key) && before.unwrap_or("") != now {
                clashes.push((key.0, None, Some(now), before));
            }
        }
        for (column, yours, theirs_now, before) in clashes {
            let clash = self.conflict(theirs, column, yours, theirs_now, before);
            self.conflicts.push(clash);
        }
        Row {
            id: mine.id.clone(),
            cells,
        }
    }

    /// A row added here with text in a column that is gone from the head.
    fn filled_here(&mut self, row: &Row) {
        let filled = |key: &&Key<'_>| !self.yours.cell(row, **key).is_empty();
        if let Some(key) = self.lost.iter().find(filled).copied() {
            let yours = self.yours.cell(row, key);
            let clash = self.conflict(row, key.0, Some(yours), None, None);
            self.conflicts.push(clash);
        }
    }

    /// A row added there with text in a column that is gone from here.
    fn filled_there(&mut self, theirs: &Row) {
        let filled = |key: &&Key<'_>| !self.head.cell(theirs, **key).is_empty();
        if let Some(key) = self.dropped.iter().find(filled).copied() {
            let now = self.head.cell(theirs, key);
            let clash = self.conflict(theirs, key.0, None, Some(now), None);
            self.conflicts.push(clash);
        }
    }

    fn removed_here(&mut self, old: &Row, theirs: &Row) {
        let there = |key: &&Key<'_>| self.head.columns.contains_key(*key);
        let keys = self.columns.iter().chain(self.dropped.iter().filter(there));
        let changed = keys
            .copied()
            .find(|key| self.base.cell(old, *key) != self.head.cell(theirs, *key));
        if let Some(key) = changed {
            let (now, before) = (self.head.cell(theirs, key), self.base.cell(old, key));
            let clash = self.conflict(theirs, key.0, None, Some(now), Some(before));
            self.conflicts.push(clash);
        }
    }

    /// Rows changed here that are gone from the head.
    fn removed_there(&mut self) {
        for mine in &self.table.rows {
            let id = mine.id.as_str();
            let Some(old) = self.base.rows.get(id).copied() else {
                continue;
            };
            if self.head.rows.contains_key(id) {
                continue;
            }
            let keys = self.columns.iter().chain(&self.lost);
            let changed = keys
                .copied()
                .find(|key| self.base.cell(old, *key) != self.yours.cell(mine, *key));
            if let Some(key) = changed {
                let (yours, before) = (self.yours.cell(mine, key), self.base.cell(old, key));
                let clash = self.conflict(old, key.0, Some(yours), None, Some(before));
                self.conflicts.push(clash);
            }
        }
    }

    fn conflict(
        &self,
        row: &Row,
        column: &str,
        yours: Option<&str>,
        theirs: Option<&str>,
        base: Option<&str>,
    ) -> Conflict {
        Conflict {
            table: self.table.name.clone(),
            row: row.id.clone(),
            key: self.table.key_of(row),
            column: column.to_owned(),
            yours: yours.map(str::to_owned),
            theirs: theirs.map(str::to_owned),
            base: base.map(str::to_owned),
        }
    }
}
