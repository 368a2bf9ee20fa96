//! Edits as the page sends them: cell by cell against a revision.

use std::collections::BTreeMap;
use std::sync::Arc;

use book::caps;
use serde::{Deserialize, Serialize};

use super::content::{Content, Row, Table};
use super::fault::StoreError;

/// One step of an edit; steps are taken in order.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum Patch {
    /// Writes a cell.
    Set {
        /// The table's name.
        table: String,
        /// The row's id.
        row: String,
        /// The column's header.
        column: String,
        /// The text, as typed.
        value: String,
    },
    /// Adds a row.
    AddRow {
        /// The table's name.
        table: String,
        /// The new row's id, made by the client; never used in this table.
        row: String,
        /// The row above; none for the top of the table.
        #[serde(default)]
        after: Option<String>,
        /// Text by header; cells not named are empty.
        #[serde(default)]
        cells: BTreeMap<String, String>,
    },
    /// Takes a row out.
    RemoveRow {
        /// The table's name.
        table: String,
        /// The row's id.
        row: String,
    },
    /// Adds an empty table.
    AddTable {
        /// The table's name.
        table: String,
        /// Its headers.
        columns: Vec<String>,
    },
    /// Adds an empty column.
    AddColumn {
        /// The table's name.
        table: String,
        /// The header.
        column: String,
        /// The column that it stands before; none for the right end.
        #[serde(default)]
        before: Option<String>,
    },
    /// Takes a column out with all that its cells hold.
    DropColumn {
        /// The table's name.
        table: String,
        /// The header.
        column: String,
    },
}

impl Patch {
    /// The table that the step changes.
    pub(super) fn table(&self) -> &str {
        match self {
            Self::Set { table, .. }
            | Self::AddRow { table, .. }
            | Self::RemoveRow { table, .. }
            | Self::AddTable { table, .. }
            | Self::AddColumn { table, .. }
            | Self::DropColumn { table, .. } => table,
        }
    }
}

/// The book after the steps.
pub(super) fn apply(base: &Content, patches: &[Patch]) -> Result<Content, StoreError> {
    let mut content = base.clone();
    let mut open: BTreeMap<String, Sheet> = BTreeMap::new();
    for (step, patch) in patches.iter().enumerate() {
        take(&mut content, &mut open, patch)
            .map_err(|what| StoreError::Refused(format!("step {}: {what}", step + 1)))?;
    }
    for table in &mut content.tables {
        if let Some(sheet) = open.remove(&table.name) {
            *table = Arc::new(sheet.close());
        }
    }
    Ok(content)
}

fn take(
    content: &mut Content,
    open: &mut BTreeMap<String, Sheet>,
    patch: &Patch,
) -> Result<(), String> {
    let name = patch.table();
    if let Patch::AddTable { table, columns } = patch {
        let table = new_table(content, table, columns)?;
        content.tables.push(Arc::new(table));
        return Ok(());
    }
    if !open.contains_key(name) {
        let table = content
            .table(name)
            .ok_or_else(|| format!("there is no table `{name}`"))?;
        open.insert(name.to_owned(), Sheet::open(table));
    }
    let Some(sheet) = open.get_mut(name) else {
        return Ok(());
    };
    match patch {
        Patch::Set {
            row, column, value, ..
        } => sheet.set(row, column, value),
        Patch::AddRow {
            row, after, cells, ..
        } => sheet.add_row(row, after.as_deref(), cells),
        Patch::RemoveRow { row, .. } => sheet.remove_row(row),
        Patch::AddColumn { column, before, .. } => sheet.add_column(column, before.as_deref()),
        Patch::DropColumn { column, .. } => sheet.drop_column(column),
        Patch::AddTable { .. } => Ok(()),
    }
}

fn new_table(content: &Content, name: &str, columns: &[String]) -> Result<Table, String> {
    text_fits(name)?;
    if name.trim().is_empty() || name.chars().count() > 31 {
        return Err(format!(
            "`{name}` as a table's name, expected 1 to 31 letters"
        ));
    }
    let lower = name.to_lowercase();
    let taken = |table: &Arc<Table>| table.name.to_lowercase() == lower;
    if content.tables.iter().any(taken) {
        return Err(format!("there is a table `{name}` already"));
    }
    if content.tables.len() >= caps::TABLES {
        return Err(format!("a book has at most {} tables", caps::TABLES));
    }
    let mut sheet = Sheet::open(&Table {
        name: name.to_owned(),
        ..Table::default()
    });
    columns
        .iter()
        .try_for_each(|column| sheet.add_column(column, None))?;
    if columns.is_empty() {
        return Err(format!("table `{name}` without columns; name at least one"));
    }
    Ok(sheet.close())
}

fn text_fits(text: &str) -> Result<(), String> {
    let letters = text.chars().count();
    if letters > caps::CELL_CHARS {
        return Err(format!(
            "a cell of {letters} letters, expected at most {}",
            caps::CELL_CHARS
        ));
    }
    Ok(())
}

/// A table under work: rows in a chain, so that ten thousand pasted rows take
/// no longer each than one.
struct Sheet {
    table: Table,
    slots: Vec<Slot>,
    by_id: BTreeMap<String, usize>,
}

struct Slot {
    row: Row,
    above: usize,
    below: usize,
}

/// The slot that stands above the first row and below the last.
const EDGE: usize = 0;

impl Sheet {
    fn open(table: &Table) -> Self {
        let edge = Slot {
            row: Row::default(),
            above: table.rows.len(),
            below: usize::from(!table.rows.is_empty()),
        };
        let mut slots = vec![edge];
        let mut by_id = BTreeMap::new();
        for (position, row) in table.rows.iter().enumerate() {
            by_id.insert(row.id.clone(), position + 1);
            slots.push(Slot {
                row: row.clone(),
                above: position,
                below: (position + 2) % (table.rows.len() + 1),
            });
        }
        Self {
            table: Table {
                rows: Vec::new(),
                ..table.clone()
            },
            slots,
            by_id,
        }
    }

    fn close(mut self) -> Table {
        let mut at = self.slots[EDGE].below;
        while at != EDGE {
            let slot = &mut self.slots[at];
            self.table.rows.push(std::mem::take(&mut slot.row));
            at = slot.below;
        }
        self.table
    }

    fn slot(&self, row: &str) -> Result<usize, String> {
        self.by_id
            .get(row)
            .copied()
            .ok_or_else(|| format!("table `{}` has no row with id `{row}`", self.table.name))
    }

    fn column(&self, column: &str) -> Result<usize, String> {
        self.table
            .column(column)
            .ok_or_else(|| format!("table `{}` has no column `{column}`", self.table.name))
    }

    fn set(&mut self, row: &str, column: &str, value: &str) -> Result<(), String> {
        text_fits(value)?;
        let (slot, column) = (self.slot(row)?, self.column(column)?);
        let cells = &mut self.slots[slot].row.cells;
        if cells.len() <= column {
            cells.resize(column + 1, String::new());
        }
        value.clone_into(&mut cells[column]);
        Ok(())
    }

    fn add_row(
        &mut self,
        id: &str,
        after: Option<&str>,
        cells: &BTreeMap<String, String>,
    ) -> Result<(), String> {
        let plain = |c: char| c.is_ascii_alphanumeric() || "._-".contains(c);
        if id.is_empty() || id.len() > 64 || !id.chars().all(plain) {
            return Err(format!(
                "`{id}` as a row's id, expected 1 to 64 letters, digits, dots, hyphens"
            ));
        }
        if self.by_id.contains_key(id) {
            return Err(format!(
                "table `{}` has a row with id `{id}` already",
                self.table.name
            ));
        }
        if self.by_id.len() >= caps::ROWS as usize {
            return Err(format!("a table has at most {} rows", caps::ROWS));
        }
        let above = after.map_or(Ok(EDGE), |after| self.slot(after))?;
        let mut row = Row {
            id: id.to_owned(),
            cells: vec![String::new(); self.table.columns.len()],
        };
        for (column, value) in cells {
            text_fits(value)?;
            value.clone_into(&mut row.cells[self.column(column)?]);
        }
        let (new, below) = (self.slots.len(), self.slots[above].below);
        self.slots.push(Slot { row, above, below });
        self.slots[above].below = new;
        self.slots[below].above = new;
        self.by_id.insert(id.to_owned(), new);
        Ok(())
    }

    fn remove_row(&mut self, id: &str) -> Result<(), String> {
        let slot = self.slot(id)?;
        let (above, below) = (self.slots[slot].above, self.slots[slot].below);
        self.slots[above].below = below;
        self.slots[below].above = above;
        self.by_id.remove(id);
        Ok(())
    }

    fn add_column(&mut self, column: &str, before: Option<&str>) -> Result<(), String> {
        text_fits(column)?;
        if column.trim().is_empty() {
            return Err("a column without a name".to_owned());
        }
        if self.table.column(column).is_some() {
            return Err(format!(
                "table `{}` has a column `{column}` already",
                self.table.name
            ));
        }
        let width = self.table.columns.len();
        if width >= caps::COLUMNS {
            return Err(format!("a table has at most {} columns", caps::COLUMNS));
        }
        let place = before.map_or(Ok(width), |before| self.column(before))?;
        self.table.columns.insert(place, column.to_owned());
        for slot in &mut self.slots[EDGE + 1..] {
            slot.row.cells.resize(width, String::new());
            slot.row.cells.insert(place, String::new());
        }
        Ok(())
    }

    fn drop_column(&mut self, column: &str) -> Result<(), String> {
        let place = self.column(column)?;
        if self.table.columns.len() == 1 {
            return Err(format!(
                "`{column}` is the only column of table `{}`; a table has at least one",
                self.table.name
            ));
        }
        self.table.columns.remove(place);
        for slot in &mut self.slots[EDGE + 1..] {
            if place < slot.row.cells.len() {
                slot.row.cells.remove(place);
            }
        }
        Ok(())
    }
}
