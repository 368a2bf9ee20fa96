//! What a revision holds: the book's text with an id on every row, and how it
//! lies in the store.
//!
//! A book is cut into pages of some sixty rows. Pages, tables and books are
//! stored once under the hash of their bytes: a table lists its pages, a book
//! its tables, a revision names a book. Changing a cell therefore writes a
//! page, a list of pages and a list of tables, about 10 kB whatever the size of
//! the book, and every revision is still whole: reading one replays nothing. A
//! row's id decides whether a page ends behind it, so a row put in or taken out
//! changes its own page only. The alternative, patches with a snapshot now and
//! then, writes less and reads more, and a hurt patch would spoil all
//! revisions up to the next snapshot.

use std::sync::Arc;

use book::raw::{RawRow, RawTable, Workbook};
use rusqlite::{Connection, OptionalExtension as _, params};
use serde::{Deserialize, Serialize};

use super::digest::{Digest, Fields};
use super::fault::StoreError;

/// A row with its id.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Row {
    /// The id: stays the same while the row lives.
    pub id: String,
    /// The cells, as many as there are columns.
    pub cells: Vec<String>,
}

/// A table as text.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Table {
    /// Its name.
    pub name: String,
    /// Its header cells.
    pub columns: Vec<String>,
    /// Whether a comma in a number is a decimal comma.
    pub decimal_comma: bool,
    /// Its rows in order.
    pub rows: Vec<Row>,
}

/// A book as text; tables are shared between revisions.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Content {
    /// The book's name.
    pub name: String,
    /// Its tables in order.
    pub tables: Vec<Arc<Table>>,
}

impl Table {
    /// The position of a column: the first of that header.
    pub fn column(&self, name: &str) -> Option<usize> {
        self.columns.iter().position(|column| column == name)
    }

    /// A row of the table as a spreadsheet counts: the header is 1.
    pub fn line(position: usize) -> u32 {
        u32::try_from(position + 2).unwrap_or(u32::MAX)
    }

    /// The row's key columns, for people: `framing`, `underbody / framing`.
    pub(crate) fn key_of(&self, row: &Row) -> String {
        let cell = |column: &&str| {
            let at = self.column(column)?;
            row.cells.get(at).filter(|cell| !cell.trim().is_empty())
        };
        let named = book::Table::find(&self.name).map(|table| {
            let key = table.schema().key.iter().filter_map(cell);
            key.map(String::as_str).collect::<Vec<_>>()
        });
        match named {
            Some(key) if !key.is_empty() => key.join(" / "),
            _ => row.cells.first().cloned().unwrap_or_default(),
        }
    }

    fn raw(&self) -> RawTable {
        let rows = self.rows.iter().enumerate().map(|(position, row)| RawRow {
            line: Self::line(position),
            cells: row.cells.clone(),
        });
        RawTable {
            name: self.name.clone(),
            columns: self.columns.clone(),
            rows: rows.collect(),
            source: self.name.clone(),
            decimal_comma: self.decimal_comma,
        }
    }
}

impl Content {
    /// The table of this name.
    pub fn table(&self, name: &str) -> Option<&Arc<Table>> {
        self.tables.iter().find(|table| table.name == name)
    }

    /// The book as readers give it; rows are numbered without gaps.
    pub fn workbook(&self) -> Workbook {
        Workbook {
            name: self.name.clone(),
            tables: self.tables.iter().map(|table| table.raw()).collect(),
            problems: Vec::new(),
        }
    }

    /// The name of what the checks and solvers see: everything but the rows'
    /// ids. Two revisions of one name have the same answers.
    pub(crate) fn book_digest(&self) -> Digest {
        let mut fields = Fields::new("book");
        fields.text(&self.name);
        for table in &self.tables {
            fields.text(&table.name);
            fields.number(u64::from(table.decimal_comma));
            fields.number(table.columns.len() as u64);
            table.columns.iter().for_each(|column| fields.text(column));
            fields.number(table.rows.len() as u64);
            for row in &table.rows {
                fields.number(row.cells.len() as u64);
                row.cells.iter().for_each(|cell| fields.text(cell));
            }
        }
        fields.finish()
    }
}

/// A book in the store.
#[derive(Serialize, Deserialize)]
struct StoredBook {
    name: String,
    tables: Vec<String>,
}

/// A table in the store.
#[derive(Serialize, Deserialize)]
struct StoredTable {
    name: String,
    columns: Vec<String>,
    decimal_comma: bool,
    pages: Vec<String>,
}

/// A row in the store.
#[derive(Serialize, Deserialize)]
struct StoredRow(String, Vec<String>);

/// A page has at most so many rows, whatever their ids say.
const LONGEST_PAGE: usize = 256;

/// Whether a page ends behind a row of this id: behind one in 64. The hash is
/// FNV-1a (G. Fowler, L. C. Noll, K.-P. Vo, 1991), its bits stirred as at the
/// end of MurmurHash3 (A. Appleby, 2011), constants from memory; without the
/// stirring, ids that count upwards end no page for hundreds of rows.
fn ends_page(id: &str) -> bool {
    let mut hash: u64 = 0xcbf2_9ce4_8422_2325;
    for byte in id.bytes() {
        hash = (hash ^ u64::from(byte)).wrapping_mul(0x0000_0100_0000_01b3);
    }
    hash = (hash ^ (hash >> 33)).wrapping_mul(0xff51_afd7_ed55_8ccd);
    (hash ^ (hash >> 33)).trailing_zeros() >= 6
}

fn pages(rows: &[Row]) -> impl Iterator<Item = &[Row]> {
    let mut rest = rows;
    std::iter::from_fn(move || {
        if rest.is_empty() {
            return None;
        }
        let end = rest
            .iter()
            .take(LONGEST_PAGE)
            .position(|row| ends_page(&row.id))
            .map_or(rest.len().min(LONGEST_PAGE), |last| last + 1);
        let (page, after) = rest.split_at(end);
        rest = after;
        Some(page)
    })
}

/// Stores a book and says under which name.
pub(super) fn write(connection: &Connection, content: &Content) -> Result<Digest, StoreError> {
    let mut tables = Vec::with_capacity(content.tables.len());
    for table in &content.tables {
        tables.push(write_table(connection, table)?.to_string());
    }
    put(
        connection,
        &StoredBook {
            name: content.name.clone(),
            tables,
        },
    )
}

fn write_table(connection: &Connection, table: &Table) -> Result<Digest, StoreError> {
    let mut stored = Vec::new();
    for page in pages(&table.rows) {
        let rows = page
            .iter()
            .map(|row| StoredRow(row.id.clone(), row.cells.clone()));
        stored.push(put(connection, &rows.collect::<Vec<_>>())?.to_string());
    }
    put(
        connection,
        &StoredTable {
            name: table.name.clone(),
            columns: table.columns.clone(),
            decimal_comma: table.decimal_comma,
            pages: stored,
        },
    )
}

fn put(connection: &Connection, what: &impl Serialize) -> Result<Digest, StoreError> {
    let bytes = serde_json::to_vec(what).map_err(|error| StoreError::Refused(error.to_string()))?;
    let digest = Digest::of(&bytes);
    connection
        .prepare_cached("INSERT OR IGNORE INTO content (digest, bytes) VALUES (?1, ?2)")?
        .execute(params![digest, bytes])?;
    Ok(digest)
}

/// Reads a book. Tables that `held` hands out are not read again; those that
/// were read are told in `fresh`, by name.
pub(super) fn read(
    connection: &Connection,
    digest: Digest,
    held: &dyn Fn(&str) -> Option<Arc<Table>>,
    fresh: &mut Vec<(String, Arc<Table>)>,
) -> Result<Content, StoreError> {
    let stored: StoredBook = get(connection, &digest.to_string())?;
    let mut tables = Vec::with_capacity(stored.tables.len());
    for name in stored.tables {
        if let Some(table) = held(&name) {
            tables.push(table);
            continue;
        }
        let table = Arc::new(read_table(connection, &name)?);
        tables.push(Arc::clone(&table));
        fresh.push((name, table));
    }
    Ok(Content {
        name: stored.name,
        tables,
    })
}

fn read_table(connection: &Connection, digest: &str) -> Result<Table, StoreError> {
    let stored: StoredTable = get(connection, digest)?;
    let mut rows = Vec::new();
    for page in &stored.pages {
        let page: Vec<StoredRow> = get(connection, page)?;
        rows.extend(
            page.into_iter()
                .map(|StoredRow(id, cells)| Row { id, cells }),
        );
    }
    Ok(Table {
        name: stored.name,
        columns: stored.columns,
        decimal_comma: stored.decimal_comma,
        rows,
    })
}

/// Reads one piece and holds its bytes against their name: a byte changed on
/// the disk never becomes a wrong number on the page.
fn get<T: for<'de> Deserialize<'de>>(connection: &Connection, hex: &str) -> Result<T, StoreError> {
    let damaged = |what: &str| StoreError::Damaged(format!("a piece of a book {what}"));
    let digest = parse(hex).ok_or_else(|| damaged("has a name that is no hash"))?;
    let bytes: Option<Vec<u8>> = connection
        .prepare_cached("SELECT bytes FROM content WHERE digest = ?1")?
        .query_row([digest], |row| row.get(0))
        .optional()?;
    let bytes = bytes.ok_or_else(|| damaged("is missing"))?;
    if Digest::of(&bytes) != digest {
        return Err(damaged("has changed bytes"));
    }
    serde_json::from_slice(&bytes).map_err(|_| damaged("cannot be read"))
}

fn parse(hex: &str) -> Option<Digest> {
    let mut bytes = [0; 32];
    if hex.len() != 64 || !hex.is_ascii() {
        return None;
    }
    for (position, byte) in bytes.iter_mut().enumerate() {
        *byte = u8::from_str_radix(hex.get(2 * position..2 * position + 2)?, 16).ok()?;
    }
    Some(Digest(bytes))
}

#[cfg(test)]
mod tests {
    use super::{LONGEST_PAGE, Row, pages};

    fn rows(count: usize) -> Vec<Row> {
        let row = |n| Row {
            id: format!("1.{n}"),
            cells: Vec::new(),
        };
        (0..count).map(row).collect()
    }

    #[test]
    fn pages_hold_all_rows_in_order_and_about_sixty_each() {
        let rows = rows(5_000);
        let cut: Vec<&[Row]> = pages(&rows).collect();
        assert_eq!(cut.concat(), rows);
        assert!((30..250).contains(&cut.len()), "{} pages", cut.len());
        assert!(cut.iter().all(|page| page.len() <= LONGEST_PAGE));
    }

    #[test]
    fn a_row_put_in_changes_one_page() {
        let before = rows(2_000);
        let mut after = before.clone();
        after.insert(
            700,
            Row {
                id: "new".into(),
                cells: vec!["x".into()],
            },
        );
        let old: Vec<&[Row]> = pages(&before).collect();
        let changed = pages(&after).filter(|page| !old.contains(page)).count();
        assert!(changed <= 2, "{changed} pages changed");
    }
}
