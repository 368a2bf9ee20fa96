//! A rehearsed log as Parquet, with the same tables and columns as its CSV.

use std::io::{self, Write};
use std::sync::Arc;

use arrow_array::{
    ArrayRef, Int32Array, Int64Array, RecordBatch, StringArray, TimestampMicrosecondArray,
};
use arrow_schema::{DataType, Field, Schema, SchemaRef, TimeUnit};
use flow::Verdict;
use parquet::arrow::ArrowWriter;
use parquet::arrow::arrow_writer::ArrowWriterOptions;
use parquet::basic::{Compression, ZstdLevel};
use parquet::file::properties::WriterProperties;
use parquet::schema::types::ColumnPath;

use super::{LogRow, Rehearsal};
use crate::roster::Roster;
use crate::time::{HOUR, Micros};

/// Rows of a row group.
const GROUP: usize = 1 << 19;
/// Rows that are turned into columns at once.
const BATCH: usize = 1 << 16;

/// A kind of column.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Kind {
    Word,
    Number,
    Small,
    Stamp,
}

/// A table on its way into a file.
struct Table<W: Write + Send> {
    schema: SchemaRef,
    writer: ArrowWriter<W>,
}

fn failed(error: impl std::error::Error + Send + Sync + 'static) -> io::Error {
    io::Error::other(error)
}

impl<W: Write + Send> Table<W> {
    fn new(columns: &[(&str, Kind)], to: W) -> io::Result<Self> {
        let fields = columns.iter().map(|(name, kind)| {
            let kind = match kind {
                Kind::Word => DataType::Utf8,
                Kind::Number => DataType::Int64,
                Kind::Small => DataType::Int32,
                Kind::Stamp => DataType::Timestamp(TimeUnit::Microsecond, Some("UTC".into())),
            };
            Field::new(*name, kind, true)
        });
        let schema = Arc::new(Schema::new(fields.collect::<Vec<Field>>()));
        // Stamps and items hardly ever come twice: a dictionary of them is
        // given up half way.
        let many = columns
            .iter()
            .filter(|(_, kind)| matches!(kind, Kind::Stamp | Kind::Number));
        let properties = many.fold(
            WriterProperties::builder()
                .set_compression(Compression::ZSTD(ZstdLevel::default()))
                .set_max_row_group_row_count(Some(GROUP)),
            |all, (name, _)| all.set_column_dictionary_enabled(ColumnPath::from(*name), false),
        );
        // Engines read the columns by their own kinds, not by ours.
        let options = ArrowWriterOptions::new()
            .with_properties(properties.build())
            .with_skip_arrow_metadata(true);
        let writer = ArrowWriter::try_new_with_options(to, Arc::clone(&schema), options);
        Ok(Self {
            schema,
            writer: writer.map_err(failed)?,
        })
    }

    fn rows(&mut self, columns: Vec<ArrayRef>) -> io::Result<()> {
        let batch = RecordBatch::try_new(Arc::clone(&self.schema), columns).map_err(failed)?;
        self.writer.write(&batch).map_err(failed)
    }

    fn close(self) -> io::Result<()> {
        self.writer.close().map(|_| ()).map_err(failed)
    }
}

/// Writes a table of which all rows are at hand.
fn whole<R>(
    columns: &[(&str, Kind)],
    rows: &[R],
    to: impl Write + Send,
    mut of: impl FnMut(&[R]) -> Vec<ArrayRef>,
) -> io::Result<()> {
    let mut table = Table::new(columns, to)?;
    for rows in rows.chunks(BATCH) {
        table.rows(of(rows))?;
    }
    table.close()
}

fn stamps(values: impl Iterator<Item = Option<Micros>>) -> ArrayRef {
    let values: TimestampMicrosecondArray = values.collect();
    Arc::new(values.with_timezone("UTC"))
}

fn words<'a>(values: impl Iterator<Item = Option<&'a str>>) -> ArrayRef {
    Arc::new(values.collect::<StringArray>())
}

fn numbers(values: impl Iterator<Item = Option<i64>>) -> ArrayRef {
    Arc::new(values.collect::<Int64Array>())
}

/// `states.parquet`, part by part.
pub struct States<'a, W: Write + Send> {
    table: Table<W>,
    roster: &'a Roster,
    classes: &'a [String],
}

impl<'a, W: Write + Send> States<'a, W> {
    /// Into a file; `classes` are the classes of car by number.
    ///
    /// # Errors
    /// When the file cannot be begun.
    pub fn new(roster: &'a Roster, classes: &'a [String], to: W) -> io::Result<Self> {
        let columns = [
            ("station", Kind::Word),
            ("unit", Kind::Small),
            ("from", Kind::Stamp),
            ("to", Kind::Stamp),
            ("state", Kind::Word),
            ("cause", Kind::Word),
            ("product", Kind::Word),
            ("item", Kind::Number),
        ];
        Ok(Self {
            table: Table::new(&columns, to)?,
            roster,
            classes,
        })
    }

    /// Writes rows.
    ///
    /// # Errors
    /// When they cannot be written.
    pub fn write(&mut self, rows: &[LogRow]) -> io::Result<()> {
        let (roster, classes) = (self.roster, self.classes);
        let place = |row: &LogRow| &roster.places[roster.place_of_unit[row.unit as usize] as usize];
        for rows in rows.chunks(BATCH) {
            let unit = |row: &LogRow| i32::try_from(row.unit - place(row).first_unit + 1).ok();
            let cause = |row: &LogRow| {
                let causes = &place(row).causes;
                row.cause.and_then(|cause| causes.get(usize::from(cause)))
            };
            let class = |row: &LogRow| row.class.and_then(|class| classes.get(usize::from(class)));
            let item = |row: &LogRow| (row.item > 0).then(|| i64::from(row.item));
            let units: Int32Array = rows.iter().map(unit).collect();
            self.table.rows(vec![
                words(rows.iter().map(|row| Some(place(row).name.as_str()))),
                Arc::new(units),
                stamps(rows.iter().map(|row| Some(row.from))),
                stamps(rows.iter().map(|row| Some(row.to))),
                words(rows.iter().map(|row| Some(row.state.word()))),
                words(rows.iter().map(|row| cause(row).map(String::as_str))),
                words(rows.iter().map(|row| class(row).map(String::as_str))),
                numbers(rows.iter().map(item)),
            ])?;
        }
        Ok(())
    }

    /// Ends the file.
    ///
    /// # Errors
    /// When it cannot be written.
    pub fn close(self) -> io::Result<()> {
        self.table.close()
    }
}

/// Writes `states.parquet`; as [`super::states_csv`].
///
/// # Errors
/// When the rows cannot be written.
pub fn states_parquet(
    rehearsal: &Rehearsal,
    roster: &Roster,
    classes: &[String],
    to: impl Write + Send,
) -> io::Result<()> {
    let mut states = States::new(roster, classes, to)?;
    states.write(&rehearsal.rows)?;
    states.close()
}

/// Writes `counts.parquet`.
///
/// # Errors
/// When the rows cannot be written.
pub fn counts_parquet(
    rehearsal: &Rehearsal,
    roster: &Roster,
    to: impl Write + Send,
) -> io::Result<()> {
    let columns = [
        ("station", Kind::Word),
        ("time", Kind::Stamp),
        ("made", Kind::Number),
        ("rework", Kind::Number),
        ("scrap", Kind::Number),
    ];
    let name = |place: u32| Some(roster.places[place as usize].name.as_str());
    let count = |n: u64| i64::try_from(n).ok();
    whole(&columns, &rehearsal.counts, to, |rows| {
        vec![
            words(rows.iter().map(|row| name(row.0))),
            stamps(rows.iter().map(|row| Some((row.1 + 1) * HOUR))),
            numbers(rows.iter().map(|row| count(row.2.made))),
            numbers(rows.iter().map(|row| count(row.2.rework))),
            numbers(rows.iter().map(|row| count(row.2.scrap))),
        ]
    })
}

/// Writes `quality.parquet`.
///
/// # Errors
/// When the rows cannot be written.
pub fn quality_parquet(
    rehearsal: &Rehearsal,
    roster: &Roster,
    to: impl Write + Send,
) -> io::Result<()> {
    let columns = [
        ("station", Kind::Word),
        ("time", Kind::Stamp),
        ("result", Kind::Word),
        ("cause", Kind::Word),
    ];
    let name = |place: u32| Some(roster.places[place as usize].name.as_str());
    let result = |verdict: Verdict| match verdict {
        Verdict::Scrap => Some("scrap"),
        _ => Some("rework"),
    };
    whole(&columns, &rehearsal.rejects, to, |rows| {
        vec![
            words(rows.iter().map(|row| name(row.0))),
            stamps(rows.iter().map(|row| Some(row.1))),
            words(rows.iter().map(|row| result(row.2))),
            words(rows.iter().map(|_| None)),
        ]
    })
}

/// Writes `genealogy.parquet`.
///
/// # Errors
/// When the rows cannot be written.
pub fn genealogy_parquet(
    rehearsal: &Rehearsal,
    classes: &[String],
    to: impl Write + Send,
) -> io::Result<()> {
    let columns = [
        ("item", Kind::Word),
        ("product", Kind::Word),
        ("began", Kind::Stamp),
        ("time", Kind::Stamp),
        ("made_of", Kind::Word),
    ];
    let class = |class: u32| classes.get(class as usize).map(String::as_str);
    let mut n = 0;
    whole(&columns, &rehearsal.cars, to, |rows| {
        let names: Vec<String> = (n + 1..=n + rows.len())
            .map(|n| format!("car {n}"))
            .collect();
        n += rows.len();
        vec![
            words(names.iter().map(|name| Some(name.as_str()))),
            words(rows.iter().map(|car| class(car.0))),
            stamps(rows.iter().map(|car| Some(car.1))),
            stamps(rows.iter().map(|car| Some(car.2))),
            words(rows.iter().map(|_| None)),
        ]
    })
}
