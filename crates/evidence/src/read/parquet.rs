//! Logs as Parquet, row group by row group: the columns of some row groups are
//! read side by side, then gathered in the order of the file. What is in memory
//! at once is a few slices of row groups, however large those are.

use std::fs::File;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

use arrow_array::{Array, RecordBatch};
use arrow_schema::{DataType, Field, Schema};
use book::Problem;
use csv::ByteRecord;
use parquet::arrow::ProjectionMask;
use parquet::arrow::arrow_reader::{
    ArrowReaderMetadata, ArrowReaderOptions, ParquetRecordBatchReader,
    ParquetRecordBatchReaderBuilder,
};
use rayon::prelude::*;

use super::states::{SHARDS, Stopped};
use super::{Gatherer, LogError};
use crate::defects::refusal;
use crate::scan::{Chunk, Columns, Header, Separator, cells};

/// Rows of a row group that one core reads at a time: few enough that the rows
/// of all cores stay far under a gigabyte.
const SLICE: usize = 1 << 19;
/// Rows that are decoded at once: their columns fit into a cache of the second
/// level.
const BATCH: usize = 1 << 14;

/// A Parquet file whose columns are known.
struct Source {
    path: PathBuf,
    file: String,
    metadata: ArrowReaderMetadata,
}

/// Part of a row group.
#[derive(Clone, Copy, Debug)]
struct Slice {
    group: usize,
    skip: usize,
    rows: usize,
}

impl Source {
    /// Opens a file; words are wanted with each different one told once,
    /// unless it is one of `plain`.
    fn open(path: &Path, file: &str, plain: impl Fn(&str) -> bool) -> Result<Self, Stopped> {
        let opened = open(path).map_err(Stopped::Read)?;
        // Kinds of columns as the file itself has them, not as the program
        // that wrote it held them in memory.
        let options = || ArrowReaderOptions::new().with_skip_arrow_metadata(true);
        let unreadable = |error: parquet::errors::ParquetError| unreadable(file, &error);
        let metadata = ArrowReaderMetadata::load(&opened, options()).map_err(unreadable)?;
        let fields = metadata.schema().fields().iter().map(|field| {
            let kind = match field.data_type() {
                kind @ (DataType::Utf8 | DataType::Binary) if !plain(field.name()) => {
                    DataType::Dictionary(Box::new(DataType::Int32), Box::new(kind.clone()))
                }
                kind => kind.clone(),
            };
            Field::new(field.name(), kind, field.is_nullable())
        });
        let schema = Arc::new(Schema::new(fields.collect::<Vec<Field>>()));
        let metadata = ArrowReaderMetadata::try_new(
            Arc::clone(metadata.metadata()),
            options().with_schema(schema),
        );
        Ok(Self {
            path: path.to_owned(),
            file: file.to_owned(),
            metadata: metadata.map_err(unreadable)?,
        })
    }

    fn names(&self) -> Vec<&str> {
        let fields = self.metadata.schema().fields().iter();
        fields.map(|field| field.name().as_str()).collect()
    }

    /// The whole file in slices, in its order.
    fn slices(&self) -> Vec<Slice> {
        let groups = self.metadata.metadata().row_groups().iter().enumerate();
        let slices = groups.flat_map(|(group, about)| {
            let all = usize::try_from(about.num_rows()).unwrap_or(0);
            (0..all.div_ceil(SLICE)).map(move |n| Slice {
                group,
                skip: n * SLICE,
                rows: SLICE.min(all - n * SLICE),
            })
        });
        slices.collect()
    }

    /// Batches of a slice with the wanted columns.
    fn batches(&self, slice: Slice, wanted: &[usize]) -> Result<ParquetRecordBatchReader, Stopped> {
        let opened = open(&self.path).map_err(Stopped::Read)?;
        let mask = ProjectionMask::roots(self.metadata.parquet_schema(), wanted.iter().copied());
        ParquetRecordBatchReaderBuilder::new_with_metadata(opened, self.metadata.clone())
            .with_row_groups(vec![slice.group])
            .with_offset(slice.skip)
            .with_limit(slice.rows)
            .with_projection(mask)
            .with_batch_size(BATCH)
            .build()
            .map_err(|error| unreadable(&self.file, &error))
    }

    /// A column that holds no words, numbers or stamps where they belong.
    fn wrong_kind(&self, column: usize) -> Stopped {
        let schema = self.metadata.schema();
        let field = schema.fields().get(column);
        let (name, kind) = field.map_or(("", String::new()), |field| {
            (field.name().as_str(), field.data_type().to_string())
        });
        let mut problem = refusal(
            &self.file,
            "column-kind",
            &format!("column `{name}` of {kind}"),
            "text or whole numbers, and for times a timestamp or text such as \
             2026-03-02T06:00:00Z",
            "write the column so",
        );
        problem.column = Some(name.to_owned());
        Stopped::Problems(vec![problem])
    }
}

#[allow(clippy::disallowed_methods, reason = "a log lies in files")]
fn open(path: &Path) -> std::io::Result<File> {
    File::open(path)
}

fn unreadable(file: &str, error: &dyn std::fmt::Display) -> Stopped {
    Stopped::Problems(vec![refusal(
        file,
        "unreadable",
        &error.to_string(),
        "a whole Parquet file, plain or packed by snappy or zstd",
        "write it anew",
    )])
}

impl Gatherer<'_> {
    /// Reads a Parquet file to its end.
    ///
    /// # Errors
    /// As [`Gatherer::read`].
    pub fn read_parquet(
        &mut self,
        file: &str,
        path: &Path,
        cancel: &AtomicBool,
    ) -> Result<(), Stopped> {
        self.begin(file);
        let roster = self.roster;
        let many = |name: &str| ["item", "from", "to"].contains(&roster.map.column(name));
        let source = Source::open(path, file, many)?;
        let names = source.names();
        let header =
            Header::of(file, &names, Separator(b','), &roster.map).map_err(Stopped::Problems)?;
        let wanted: Vec<usize> = (0..names.len())
            .filter(|column| header.role[*column].is_some())
            .collect();
        let role: Vec<Option<usize>> = wanted.iter().map(|column| header.role[*column]).collect();
        // There is no header: the first row is row 1.
        let mut row = 1;
        let at_once = rayon::current_num_threads().max(1) * 2;
        for slices in source.slices().chunks(at_once) {
            if cancel.load(Ordering::Relaxed) {
                return Err(Stopped::Cancelled);
            }
            let chunks: Result<Vec<Chunk>, Stopped> = slices
                .par_iter()
                .map(|slice| {
                    let mut columns = Columns::new(roster, file, SHARDS, slice.rows);
                    for batch in source.batches(*slice, &wanted)? {
                        let batch = batch.map_err(|error| unreadable(file, &error))?;
                        columns
                            .add(&batch, &role)
                            .map_err(|at| source.wrong_kind(wanted[at]))?;
                    }
                    Ok(columns.finish())
                })
                .collect();
            row = self.take(chunks?, row);
        }
        Ok(())
    }
}

/// A smaller table of a log, record by record.
pub(super) struct Records {
    source: Source,
}

impl Records {
    pub(super) fn open(path: &Path, file: &str) -> Result<Self, LogError> {
        let source = Source::open(path, file, |_| true);
        Ok(Self {
            source: source.map_err(|stopped| stopped.of(path))?,
        })
    }

    /// Names of its columns.
    pub(super) fn columns(&self) -> Vec<&str> {
        self.source.names()
    }

    /// Walks it; columns that are not wanted come empty.
    pub(super) fn each(
        &self,
        wanted: &[usize],
        mut row: impl FnMut(&ByteRecord),
    ) -> Result<(), Vec<Problem>> {
        let source = &self.source;
        let mut walk = || -> Result<(), Stopped> {
            for slice in source.slices() {
                for batch in source.batches(slice, wanted)? {
                    let batch = batch.map_err(|error| unreadable(&source.file, &error))?;
                    self.records(&batch, wanted, &mut row)?;
                }
            }
            Ok(())
        };
        walk().map_err(|stopped| match stopped {
            Stopped::Problems(problems) => problems,
            Stopped::Read(error) => match unreadable(&source.file, &error) {
                Stopped::Problems(problems) => problems,
                _ => Vec::new(),
            },
            Stopped::Cancelled => Vec::new(),
        })
    }

    fn records(
        &self,
        batch: &RecordBatch,
        wanted: &[usize],
        row: &mut impl FnMut(&ByteRecord),
    ) -> Result<(), Stopped> {
        let mut columns: Vec<Vec<Vec<u8>>> = vec![Vec::new(); self.source.names().len()];
        // The reader gives the wanted columns in the order of the file.
        let mut in_order = wanted.to_vec();
        in_order.sort_unstable();
        for (column, array) in in_order.iter().zip(batch.columns()) {
            let array: &dyn Array = array.as_ref();
            columns[*column] = cells(array).ok_or_else(|| self.source.wrong_kind(*column))?;
        }
        let mut record = ByteRecord::new();
        for at in 0..batch.num_rows() {
            record.clear();
            for column in &columns {
                record.push_field(column.get(at).map_or(b"", Vec::as_slice));
            }
            row(&record);
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests;
