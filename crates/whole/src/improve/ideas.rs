//! What an idea is, and those of the book.

use book::raw::{RawRow, RawTable, Workbook};
use book::{At, Book, Table};
use serde::{Deserialize, Serialize};

use crate::change;

/// A cell that an idea changes.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct CellChange {
    /// Where its row stands.
    pub at: At,
    /// The row's key, its parts joined by ` / `.
    pub row: String,
    /// The column.
    pub column: String,
    /// What stands there; empty for the usual.
    pub from: String,
    /// What would stand there.
    pub to: String,
}

/// Where an idea comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum IdeaKind {
    /// The book's table of ideas.
    Yours,
    /// Found: a cycle shorter.
    Cycle,
    /// Found: repairs shorter.
    Repair,
    /// Found: stops rarer.
    Stops,
    /// Found: a unit more.
    Unit,
    /// Found: places more in a buffer.
    Places,
    /// Found: a hand more in a repair crew.
    Crew,
    /// Found: changeovers shorter.
    Changeover,
    /// Found: smaller lots.
    Lots,
    /// Found: lots begun earlier.
    Start,
    /// Found: carriers more.
    Carriers,
    /// Found: more cars right at the first try.
    FirstTimeOk,
    /// Found: another shift pattern.
    Shift,
    /// Found: a robot for a person.
    Robot,
    /// Found: a person for a robot.
    Person,
}

/// A change of the plant that may be worth its money.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Idea {
    /// Its number: the same for the same book and settings.
    pub id: u32,
    /// Its name.
    pub name: String,
    /// Where it comes from.
    pub kind: IdeaKind,
    /// The station, line, crew or shop that it changes.
    pub place: String,
    /// The cells it changes.
    pub changes: Vec<CellChange>,
    /// What it costs once; none where neither idea nor book says.
    pub investment: Option<f64>,
    /// What it costs a year beside; none where neither says.
    pub cost_per_year: Option<f64>,
    /// Years it is used.
    pub life_years: f64,
    /// Weeks until it works; none for a found one.
    pub weeks: Option<f64>,
}

impl Idea {
    /// Whether the two change a cell to different things, so that only one of
    /// them can be done.
    pub(crate) fn excludes(&self, other: &Self) -> bool {
        let clash = |a: &CellChange| {
            let same = |b: &&CellChange| b.at == a.at && b.column == a.column;
            other.changes.iter().find(same).is_some()
        };
        self.id != other.id && self.changes.iter().any(clash)
    }

    /// What it costs a year, the investment spread over its life at the hurdle
    /// rate; none where the money is not known.
    pub fn yearly(&self, hurdle_rate: f64) -> Option<f64> {
        let (investment, running) = (self.investment?, self.cost_per_year?);
        let life = units::Count(self.life_years);
        let rate = units::Share(hurdle_rate);
        let factor = formulas::money::capital_recovery(rate, life).ok()?;
        Some(investment * factor.value.0 + running)
    }

    /// The rows of the `ideas` table that it would be.
    pub(super) fn rows(&self) -> Vec<book::Idea> {
        let row = |change: &CellChange| book::Idea {
            idea: self.name.clone(),
            table: change.at.table.name().to_owned(),
            row: change.row.clone(),
            column: change.column.clone(),
            to: change.to.clone(),
            ..book::Idea::default()
        };
        self.changes.iter().map(row).collect()
    }

    /// Whether every cell holds already what it would.
    pub(super) fn stands(&self) -> bool {
        self.changes.iter().all(|change| change.from == change.to)
    }
}

/// The text of a book, cell by cell.
#[derive(Clone, Copy)]
pub(super) struct Cells<'a>(pub(super) &'a Workbook);

impl<'a> Cells<'a> {
    fn table(self, table: Table) -> Option<&'a RawTable> {
        let mut tables = self.0.tables.iter();
        tables.find(|raw| Table::find(&raw.name) == Some(table))
    }

    fn text(raw: &'a RawTable, row: &'a RawRow, column: &str) -> &'a str {
        let plain = |text: &String| text.trim().to_lowercase().replace([' ', '-'], "_") == column;
        let at = raw.columns.iter().position(plain);
        at.and_then(|at| row.cells.get(at))
            .map_or("", |cell| cell.trim())
    }

    fn key(raw: &'a RawTable, row: &'a RawRow, table: Table) -> String {
        let parts = table.schema().key.iter();
        let parts: Vec<&str> = parts
            .map(|column| Self::text(raw, row, column))
            .filter(|text| !text.is_empty())
            .collect();
        parts.join(" / ")
    }

    /// A change of the cell in this column of a row; none where the row's key
    /// is not its own.
    pub(super) fn change(self, at: At, column: &str, to: String) -> Option<CellChange> {
        let raw = self.table(at.table)?;
        let row = raw.rows.iter().find(|row| row.line == at.row)?;
        let key = Self::key(raw, row, at.table);
        let same = raw
            .rows
            .iter()
            .filter(|row| Self::key(raw, row, at.table) == key);
        (same.count() == 1).then(|| CellChange {
            at,
            row: key,
            column: column.to_owned(),
            from: Self::text(raw, row, column).to_owned(),
            to,
        })
    }

    /// The row with this key.
    fn at(self, table: Table, key: &str) -> Option<At> {
        let raw = self.table(table)?;
        let row = raw
            .rows
            .iter()
            .find(|row| Self::key(raw, row, table) == key)?;
        Some(At {
            table,
            row: row.line,
        })
    }
}

/// The ideas of the book's table, in its order.
pub(super) fn yours(cells: Cells<'_>, book: &Book) -> Vec<Idea> {
    let ideas = change::names(book).into_iter().zip(1..);
    ideas
        .filter_map(|(name, id)| {
            let rows = change::rows(book, &name);
            let place = rows.first()?.row.clone();
            let of = change::costs(&rows);
            // the check has found table, row and column
            let cell = |row: &&book::Idea| {
                let table = Table::find(&row.table)?;
                let at = cells.at(table, &row.row)?;
                cells.change(at, &row.column, row.to.clone())
            };
            Some(Idea {
                id,
                kind: IdeaKind::Yours,
                place,
                changes: rows.iter().filter_map(cell).collect(),
                investment: Some(of.investment),
                cost_per_year: Some(of.cost_per_year),
                life_years: of.life_years,
                weeks: Some(of.weeks),
                name,
            })
        })
        .collect()
}

/// A number as people type it.
pub(super) fn typed(value: f64, decimals: usize) -> String {
    let text = format!("{value:.decimals$}");
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text
    }
}
