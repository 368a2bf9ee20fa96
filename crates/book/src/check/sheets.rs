//! Which raw table is which table of the book, and which cell which column.
//!
//! # Checks
//! Tables and columns by name: unknown, misspelt, given twice, missing.
//!
//! # Why it hurts
//! A misspelt header would silently give its whole column the usual value.
//!
//! # Example
//! A column `mtbf_mim` in stations.
//!
//! # Mended
//! The column is called `mtbf_min`.

use crate::{
    Book, Severity, Table, Usual,
    cell::{Cell, Line},
    problem::{Problem, Problems},
    raw::{RawTable, Workbook},
    schema::{At, Column},
    tables::{Plant, ReadRow, ReadTables, Setting, SettingRow, plain_name},
};
use units::nearest;

/// One raw table that is a table of the book.
pub(crate) struct Sheet<'a> {
    pub(crate) table: Table,
    pub(crate) raw: &'a RawTable,
    /// For each of the schema's columns the place of its cell in a row.
    pub(crate) places: Vec<Option<usize>>,
}

impl Sheet<'_> {
    /// The rows that hold something.
    pub(crate) fn rows(&self) -> impl Iterator<Item = &crate::raw::RawRow> {
        self.raw
            .rows
            .iter()
            .filter(|row| row.cells.iter().any(|cell| !cell.trim().is_empty()))
    }

    /// Whether the table has this column.
    fn has(&self, column: &str) -> bool {
        let mut pairs = self.table.schema().columns.iter().zip(&self.places);
        pairs.any(|(known, place)| known.name == column && place.is_some())
    }

    /// The text of a row's cell in this column, without outer blanks.
    pub(crate) fn text<'r>(&self, row: &'r crate::raw::RawRow, column: &str) -> &'r str {
        self.table
            .schema()
            .columns
            .iter()
            .position(|known| known.name == column)
            .and_then(|index| self.places[index])
            .and_then(|place| row.cells.get(place))
            .map_or("", |cell| cell.trim())
    }

    /// The texts of the row's key.
    pub(crate) fn key<'r>(&self, row: &'r crate::raw::RawRow) -> Vec<&'r str> {
        let key = self.table.schema().key;
        key.iter().map(|column| self.text(row, column)).collect()
    }

    fn line<'s>(&'s self, row: &'s crate::raw::RawRow, problems: &'s mut Problems) -> Line<'s> {
        Line {
            at: At {
                table: self.table,
                row: row.line,
            },
            row,
            places: &self.places,
            columns: self.table.schema().columns,
            decimal_comma: self.raw.decimal_comma,
            problems,
            next: 0,
        }
    }
}

/// The raw tables that are tables of the book.
pub(crate) struct Sheets<'a> {
    list: Vec<Sheet<'a>>,
    name: &'a str,
}

impl<'a> Sheets<'a> {
    pub(crate) fn new(workbook: &'a Workbook, problems: &mut Problems) -> Self {
        let mut list: Vec<Sheet<'a>> = Vec::new();
        for raw in &workbook.tables {
            let Some(table) = Table::find(&raw.name) else {
                problems.push(unknown_table(raw, workbook));
                continue;
            };
            if let Some(first) = list.iter().find(|sheet| sheet.table == table) {
                problems.push(
                    Problem::error(table.name(), "table-twice")
                        .found(format!(
                            "it in `{}` and in `{}`",
                            first.raw.source, raw.source
                        ))
                        .expected("each table once")
                        .mend("put the rows into one table and take the other away"),
                );
                continue;
            }
            let places = places(table, raw, problems);
            list.push(Sheet { table, raw, places });
        }
        list.sort_by_key(|sheet| sheet.table);
        Self {
            list,
            name: &workbook.name,
        }
    }

    /// The tables of the book that are there but give no row: their file could
    /// not be read, or the column that names their rows is missing.
    pub(crate) fn unread(&self, workbook: &Workbook) -> Vec<Table> {
        let broken = workbook
            .problems
            .iter()
            .filter(|problem| problem.severity == Severity::Error)
            .filter_map(|problem| Table::find(&problem.table))
            .filter(|table| self.get(*table).is_none());
        let nameless = self
            .list
            .iter()
            .filter(|sheet| !sheet.has(sheet.table.schema().key[0]))
            .map(|sheet| sheet.table);
        broken.chain(nameless).collect()
    }

    pub(crate) fn iter(&self) -> impl Iterator<Item = &Sheet<'a>> {
        self.list.iter()
    }

    pub(crate) fn get(&self, table: Table) -> Option<&Sheet<'a>> {
        self.list.iter().find(|sheet| sheet.table == table)
    }

    /// Reads every row of every table.
    pub(crate) fn read(&self, problems: &mut Problems) -> Book {
        let plant = read_plant(self, problems);
        let book = Book::read(Tables {
            sheets: self,
            problems,
        });
        Book { plant, ..book }
    }
}

fn unknown_table(raw: &RawTable, workbook: &Workbook) -> Problem {
    let absent = Table::ALL
        .iter()
        .filter(|table| {
            !workbook
                .tables
                .iter()
                .any(|raw| Table::find(&raw.name) == Some(**table))
        })
        .map(|table| table.name());
    let near = nearest(&plain_name(&raw.name), absent);
    let problem = if near.is_some() {
        Problem::error(&raw.name, "misspelt-table")
            .mend("give it that name, or one of your own less like it")
    } else {
        Problem::note(&raw.name, "unknown-table").mend("it is kept and not used")
    };
    problem
        .found(format!("a table `{}` in `{}`", raw.name, raw.source))
        .expected("the name of a table of the book")
        .nearest(near)
}

/// Where each of the schema's columns stands, with what is wrong in the header.
fn places(table: Table, raw: &RawTable, problems: &mut Problems) -> Vec<Option<usize>> {
    let schema = table.schema();
    let headers: Vec<String> = raw
        .columns
        .iter()
        .map(|header| plain_name(header))
        .collect();
    let place = |column: &Column| headers.iter().position(|header| header == column.name);
    let places: Vec<_> = schema.columns.iter().map(place).collect();
    let absent = || {
        let pairs = schema.columns.iter().zip(&places);
        pairs
            .filter(|(_, place)| place.is_none())
            .map(|(column, _)| column)
    };
    let unknown = |header: &&String| !header.is_empty() && schema.column(header).is_none();

    for column in absent().filter(|column| column.usual == Usual::Needed) {
        let near = nearest(
            column.name,
            headers.iter().filter(unknown).map(String::as_str),
        );
        problems.push(
            Problem::error(table.name(), "missing-column")
                .row(1)
                .column(column.name)
                .found("no such header")
                .expected(format!("a column `{}`", column.name))
                .mend("add the column, or correct its header")
                .nearest(near),
        );
    }
    for (index, header) in headers.iter().enumerate() {
        let shown = raw.columns[index].as_str();
        if header.is_empty() {
            problems.extend(cells_without_header(table, raw, index));
        } else if headers[..index].contains(header) {
            problems.push(
                Problem::error(table.name(), "column-twice")
                    .row(1)
                    .column(shown)
                    .found(format!("the header `{shown}` a second time"))
                    .expected("each column once")
                    .mend("take one of the two away"),
            );
        } else if schema.column(header).is_none() {
            let near = nearest(header, absent().map(|column| column.name));
            problems.push(unknown_column(table, shown, near));
        }
    }
    problems.extend(cells_without_header(table, raw, headers.len()));
    places
}

fn unknown_column(table: Table, header: &str, near: Option<&str>) -> Problem {
    let problem = if near.is_some() {
        Problem::error(table.name(), "misspelt-column")
            .mend("correct the header, or choose one less like it for a column of your own")
    } else {
        Problem::note(table.name(), "unknown-column").mend("it is kept and not used")
    };
    problem
        .row(1)
        .column(header)
        .found(format!("the header `{header}`"))
        .expected("a column of this table")
        .nearest(near)
}

/// The first cell that stands in a column without a header.
fn cells_without_header(table: Table, raw: &RawTable, index: usize) -> Option<Problem> {
    let beyond = index >= raw.columns.len();
    let (line, cell) = raw.rows.iter().find_map(|row| {
        let mut cells = row.cells.iter().skip(index);
        let cell = if beyond {
            cells.find(|cell| !cell.trim().is_empty())
        } else {
            cells.next().filter(|cell| !cell.trim().is_empty())
        };
        cell.map(|cell| (row.line, cell))
    })?;
    Some(
        Problem::error(table.name(), "cell-without-header")
            .row(line)
            .found(format!("`{cell}` as cell {} of the row", index + 1))
            .expected("a header above every cell")
            .mend("name the column, or quote a cell that holds the separator"),
    )
}

/// Reads the rows of one table after another.
struct Tables<'t, 'a> {
    sheets: &'t Sheets<'a>,
    problems: &'t mut Problems,
}

impl ReadTables for Tables<'_, '_> {
    fn read<R: ReadRow>(&mut self) -> Vec<R> {
        let Some(sheet) = self.sheets.get(R::TABLE) else {
            return Vec::new();
        };
        let name = R::TABLE.schema().key[0];
        let mut rows = Vec::new();
        for raw in sheet.rows() {
            let row = R::read(&mut sheet.line(raw, self.problems));
            // Without its name a row can't be spoken of.
            if !sheet.text(raw, name).is_empty() {
                rows.push(row);
            }
        }
        rows
    }
}

/// Reads the plant's settings, each by its own kind of cell.
fn read_plant(sheets: &Sheets<'_>, problems: &mut Problems) -> Plant {
    let mut rows: Vec<(SettingRow, bool)> = Vec::new();
    if let Some(sheet) = sheets.get(Table::Plant) {
        for raw in sheet.rows() {
            rows.push((SettingRow::read(&mut sheet.line(raw, problems)), false));
        }
    }
    let decimal_comma = sheets
        .get(Table::Plant)
        .is_some_and(|sheet| sheet.raw.decimal_comma);
    let mut plant = Plant::read(Settings {
        rows: &mut rows,
        decimal_comma,
        problems,
    });
    if plant.name.at.is_none() && !sheets.name.is_empty() {
        plant.name.value = sheets.name.to_owned();
    }
    for (row, _) in rows
        .iter()
        .filter(|(row, known)| !known && !row.setting.is_empty())
    {
        let names = Plant::SETTINGS.iter().map(|setting| setting.name);
        let near = nearest(&plain_name(&row.setting), names);
        let problem = if near.is_some() {
            Problem::error("plant", "misspelt-setting").mend("correct the name")
        } else {
            Problem::note("plant", "unknown-setting").mend("it is kept and not used")
        };
        problems.push(
            problem
                .row(row.at.row)
                .column("setting")
                .found(format!("`{}`", row.setting))
                .expected("a setting of the plant")
                .nearest(near),
        );
    }
    plant
}

struct Settings<'t> {
    /// The rows, and whether a setting has claimed them.
    rows: &'t mut Vec<(SettingRow, bool)>,
    decimal_comma: bool,
    problems: &'t mut Problems,
}

impl crate::tables::ReadSettings for Settings<'_> {
    fn read<T: Cell>(&mut self, name: &'static str) -> Setting<T> {
        let usual = Setting {
            value: crate::cell::usual_setting(name),
            at: None,
        };
        let Some(column) = Plant::SETTINGS.iter().find(|setting| setting.name == name) else {
            return usual;
        };
        let mut found = self
            .rows
            .iter_mut()
            .filter(|(row, _)| plain_name(&row.setting) == name);
        let Some((row, known)) = found.next() else {
            return usual;
        };
        // A second row of the same name is the business of the key check.
        *known = true;
        found.for_each(|(_, known)| *known = true);
        match T::read(&row.value, column, self.decimal_comma) {
            Ok(value) => Setting {
                value,
                at: Some(row.at),
            },
            Err(misfit) => {
                self.problems
                    .push(misfit.problem(row.at, "value", &row.value));
                usual
            }
        }
    }
}
