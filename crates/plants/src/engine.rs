//! A folder of plants as tables, and questions put to the engine.

use std::path::Path;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;

use datafusion::arrow::array::{Array, AsArray, RecordBatch};
use datafusion::arrow::compute::cast;
use datafusion::arrow::datatypes::{DataType, Field, Float64Type, Int64Type, Schema, TimeUnit};
use datafusion::error::DataFusionError;
use datafusion::prelude::{CsvReadOptions, ParquetReadOptions, SessionContext};
use tokio::runtime::{Builder, Runtime};

use crate::answer::{Answer, Cell};
use crate::fault::Fault;
use crate::folder::Plant;

/// How often a running question looks whether it was cancelled.
const LOOK: Duration = Duration::from_millis(50);

/// The four tables of some plants, ready to be asked.
pub struct Engine {
    runtime: Runtime,
    context: SessionContext,
}

impl Engine {
    /// Makes the tables of the plants' files. Nothing is read yet but the
    /// files' columns.
    ///
    /// # Errors
    /// A file cannot be read, or lacks a column.
    pub fn open(plants: &[Plant], threads: Option<usize>) -> Result<Self, Fault> {
        let mut builder = Builder::new_multi_thread();
        if let Some(threads) = threads {
            builder.worker_threads(threads);
        }
        let runtime = builder
            .enable_all()
            .build()
            .map_err(|error| Fault::Engine(error.to_string()))?;
        let context = runtime.block_on(tables(plants)).map_err(of_engine)?;
        Ok(Self { runtime, context })
    }

    /// Puts a question in SQL to the tables; stops soon after `cancel` is set.
    ///
    /// # Errors
    /// [`Fault::Cancelled`], or what the engine says of the question or the
    /// files.
    pub fn ask(&self, sql: &str, cancel: &AtomicBool) -> Result<Answer, Fault> {
        let work = async { self.context.sql(sql).await?.collect().await };
        let watch = async {
            while !cancel.load(Ordering::Relaxed) {
                tokio::time::sleep(LOOK).await;
            }
        };
        let batches = self.runtime.block_on(async {
            tokio::select! {
                batches = work => batches.map_err(of_engine),
                () = watch => Err(Fault::Cancelled),
            }
        })?;
        told(&batches).map_err(of_engine)
    }
}

#[allow(
    clippy::needless_pass_by_value,
    reason = "map_err gives the error itself"
)]
fn of_engine(error: DataFusionError) -> Fault {
    Fault::Engine(error.strip_backtrace())
}

async fn tables(plants: &[Plant]) -> Result<SessionContext, DataFusionError> {
    let context = SessionContext::new();
    let mut views: [Vec<String>; 4] = Default::default();
    for (n, plant) in plants.iter().enumerate() {
        for (view, part) in views.iter_mut().zip(of_plant(&context, n, plant).await?) {
            view.extend(part);
        }
    }
    if views[1].is_empty() {
        views[1].push(
            "SELECT '' AS plant, '' AS station, 0 AS time_us, 0 AS made, 0 AS rework, 0 AS scrap \
             WHERE 1 = 0"
                .to_owned(),
        );
    }
    for (view, parts) in ["states", "counts", "planned", "hours"].iter().zip(&views) {
        let sql = format!("CREATE VIEW {view} AS {}", parts.join(" UNION ALL "));
        context.sql(&sql).await?.collect().await?;
    }
    Ok(context)
}

/// What the n-th plant adds to states, counts, planned and hours.
async fn of_plant(
    context: &SessionContext,
    n: usize,
    plant: &Plant,
) -> Result<[Option<String>; 4], DataFusionError> {
    let name = plant.name.replace('\'', "''");
    let text = |path: &Path| path.display().to_string();
    let states: Vec<String> = plant.states.iter().map(|path| text(path)).collect();
    let read = context.read_parquet(states, ParquetReadOptions::default());
    context.register_table(format!("states_{n}"), read.await?.into_view())?;
    let states = format!(
        "SELECT '{name}' AS plant, station, unit, {} AS began_us, {} AS ended_us, state, cause, \
         product, CAST(item AS VARCHAR) AS item FROM states_{n}",
        micros("from"),
        micros("to"),
    );
    let mut counts = None;
    if let Some(file) = &plant.counts {
        let read = context.read_parquet(text(file), ParquetReadOptions::default());
        context.register_table(format!("counts_{n}"), read.await?.into_view())?;
        counts = Some(format!(
            "SELECT '{name}' AS plant, station, {} AS time_us, made, rework, scrap FROM counts_{n}",
            micros("time"),
        ));
    }
    for (table, file, schema) in [
        ("planned", &plant.planned, planned()),
        ("hours", &plant.hours, hours()),
    ] {
        let options = CsvReadOptions::new().schema(&schema);
        let read = context.read_csv(text(file), options).await?;
        context.register_table(format!("{table}_{n}"), read.into_view())?;
    }
    let planned = format!(
        "SELECT '{name}' AS plant, station, shop, line, units, product, cycle_s FROM planned_{n}"
    );
    let (began, ended) = (micros("from"), micros("to"));
    let hours = format!(
        "SELECT '{name}' AS plant, shop, {began} AS began_us, {ended} AS ended_us, {began} / \
         86400000000 AS utc_day, day, shift, open FROM hours_{n}"
    );
    Ok([Some(states), counts, Some(planned), Some(hours)])
}

/// A stamp as whole microseconds of universal time.
fn micros(column: &str) -> String {
    format!("CAST(CAST(\"{column}\" AS TIMESTAMP(6)) AS BIGINT)")
}

fn word(name: &str) -> Field {
    Field::new(name, DataType::Utf8, true)
}

fn planned() -> Schema {
    Schema::new(vec![
        word("station"),
        word("shop"),
        word("line"),
        Field::new("units", DataType::Int64, true),
        word("product"),
        Field::new("cycle_s", DataType::Float64, true),
    ])
}

fn hours() -> Schema {
    let stamp = |name: &str| {
        let kind = DataType::Timestamp(TimeUnit::Microsecond, Some(Arc::from("UTC")));
        Field::new(name, kind, true)
    };
    Schema::new(vec![
        word("shop"),
        stamp("from"),
        stamp("to"),
        word("day"),
        word("shift"),
        Field::new("open", DataType::Boolean, true),
    ])
}

/// The rows of an answer: whole numbers, numbers, and all else as words.
fn told(batches: &[RecordBatch]) -> Result<Answer, DataFusionError> {
    let mut answer = Answer::default();
    for batch in batches {
        if answer.columns.is_empty() {
            let fields = batch.schema();
            answer.columns = fields
                .fields()
                .iter()
                .map(|field| field.name().clone())
                .collect();
        }
        let mut rows = vec![Vec::with_capacity(batch.num_columns()); batch.num_rows()];
        for column in batch.columns() {
            let kind = match column.data_type() {
                kind if kind.is_integer() => DataType::Int64,
                kind if kind.is_numeric() => DataType::Float64,
                _ => DataType::Utf8,
            };
            let column = cast(column, &kind)?;
            for (n, row) in rows.iter_mut().enumerate() {
                row.push(match kind {
                    _ if column.is_null(n) => Cell::Empty,
                    DataType::Int64 => Cell::Whole(column.as_primitive::<Int64Type>().value(n)),
                    DataType::Float64 => {
                        Cell::Number(column.as_primitive::<Float64Type>().value(n))
                    }
                    _ => Cell::Word(column.as_string::<i32>().value(n).to_owned()),
                });
            }
        }
        answer.rows.extend(rows);
    }
    Ok(answer)
}
