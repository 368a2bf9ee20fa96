//! A log out of files: state logs chunk by chunk on all cores, the smaller
//! tables beside them.
//!
//! A log is one file of states, or a folder with `states*.csv` and, where
//! there are any, `counts.csv`, `quality.csv`, `genealogy.csv` and
//! `log_map.csv`. With the feature `parquet` each table may be a Parquet file
//! instead. `docs/log.md` describes the columns.

mod agree;
mod genealogy;
mod made;
#[cfg(feature = "parquet")]
mod parquet;
mod states;
mod tables;

use std::path::{Path, PathBuf};
use std::sync::atomic::AtomicBool;

use book::{Problem, Severity};

use crate::defects::{self, Defects, Kind, Place, refusal};
use crate::events::{self, AsCsv};
use crate::gather::{Rules, UnitLog};
use crate::hours::ALL_DAY;
use crate::map::{self, LogMap};
use crate::roster::Roster;
use crate::time::{HOUR, Micros, seconds};

pub use made::Output;
pub use states::{Gatherer, Stopped};
pub use tables::{Made, Quality, Reject, Result as QualityResult, Table, Tables};

/// All that a log says, gathered.
#[derive(Debug)]
pub struct Log {
    /// By unit of the plant.
    pub units: Vec<UnitLog>,
    /// Words of causes and products.
    pub words: Vec<String>,
    /// For each word the class of car it means.
    pub classes: Vec<Option<usize>>,
    /// Rows read, bad ones included.
    pub rows: u64,
    /// What is wrong with it.
    pub defects: Defects,
    /// Begin of the first row and end of the last.
    pub span: Option<(Micros, Micros)>,
    /// Counts, quality and genealogy.
    pub tables: Tables,
    /// How rows were judged.
    pub rules: Rules,
    /// Rows of states that name stations which the book does not know.
    pub strangers: u64,
}

/// Why a log could not be read.
#[derive(Debug, thiserror::Error)]
pub enum LogError {
    /// The file or folder.
    #[error("cannot read {}: {source}", path.display())]
    File {
        /// Which.
        path: PathBuf,
        /// Why.
        source: std::io::Error,
    },
    /// What stands in it.
    #[error("{}", listed(.0))]
    Problems(Vec<Problem>),
    /// The caller asked to stop.
    #[error("stopped before the end")]
    Cancelled,
}

fn listed(problems: &[Problem]) -> String {
    let lines: Vec<String> = problems.iter().map(ToString::to_string).collect();
    lines.join("\n")
}

/// The files of a log.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Files {
    /// State logs, in the order of their names.
    pub states: Vec<PathBuf>,
    /// Counts.
    pub counts: Option<PathBuf>,
    /// Quality events.
    pub quality: Option<PathBuf>,
    /// Genealogy.
    pub genealogy: Option<PathBuf>,
    /// How the log's own words are read.
    pub map: Option<PathBuf>,
}

impl Files {
    /// The files of a log at a path; a map given apart goes before one beside
    /// the log.
    ///
    /// # Errors
    /// When there is nothing, or nothing that is a log.
    pub fn at(path: &Path, map: Option<&Path>) -> Result<Self, LogError> {
        let mut files = Self {
            map: map.map(Path::to_owned),
            ..Self::default()
        };
        if !path.is_dir() {
            files.states.push(path.to_owned());
            let beside = path.with_file_name(map::FILE);
            if files.map.is_none() && beside.is_file() {
                files.map = Some(beside);
            }
            return Ok(files);
        }
        let twice: Vec<Problem> = listing(path)?
            .into_iter()
            .filter_map(|file| {
                let name = shown(&file);
                let before = files.take(file, &name)?;
                Some(table_twice(&shown(&before), &name))
            })
            .collect();
        if !twice.is_empty() {
            return Err(LogError::Problems(twice));
        }
        if files.states.is_empty() {
            return Err(LogError::Problems(vec![refusal(
                &path.display().to_string(),
                "no-states",
                "a folder without states.csv",
                "states.csv, or several states-*.csv (or .parquet)",
                "name the state log so, or give the file itself",
            )]));
        }
        Ok(files.in_order())
    }

    /// With the state logs in the order of the numbers in their names.
    #[must_use]
    pub fn in_order(mut self) -> Self {
        self.states.sort_by_cached_key(|path| natural(&shown(path)));
        self
    }

    /// Takes a file of a folder in by its name; one of the same table that was
    /// there before.
    fn take(&mut self, file: PathBuf, name: &str) -> Option<PathBuf> {
        if name == map::FILE {
            self.map.get_or_insert(file);
            return None;
        }
        let (stem, kind) = name.rsplit_once('.').unwrap_or((name, ""));
        if kind != "csv" && kind != PARQUET {
            return None;
        }
        match stem {
            "counts" => self.counts.replace(file),
            "quality" => self.quality.replace(file),
            "genealogy" => self.genealogy.replace(file),
            _ if stem.starts_with("states") => {
                let mut known = self.states.iter();
                let before = known.find(|known| known.file_stem() == file.file_stem());
                let before = before.cloned();
                self.states.push(file);
                before
            }
            _ => None,
        }
    }

    /// The first state log as messages name it.
    pub fn first(&self) -> String {
        let first = self.states.first();
        first.map_or_else(String::new, |path| shown(path))
    }

    /// The map of the log; an empty one where there is none.
    ///
    /// # Errors
    /// When the file cannot be read or is not understood.
    #[allow(clippy::disallowed_methods, reason = "the map is a file")]
    pub fn read_map(&self) -> Result<LogMap, LogError> {
        let Some(path) = &self.map else {
            return Ok(LogMap::default());
        };
        let bytes = std::fs::read(path).map_err(|source| LogError::File {
            path: path.clone(),
            source,
        })?;
        LogMap::read(&shown(path), &bytes).map_err(LogError::Problems)
    }
}

/// The files of a folder in the order of their names.
fn listing(folder: &Path) -> Result<Vec<PathBuf>, LogError> {
    let error = |source| LogError::File {
        path: folder.to_owned(),
        source,
    };
    let mut files = Vec::new();
    for entry in std::fs::read_dir(folder).map_err(error)? {
        files.push(entry.map_err(error)?.path());
    }
    files.sort();
    Ok(files)
}

/// Reads a log.
///
/// # Errors
/// [`LogError`]: files, columns, an empty log, or one of another plant.
pub fn read(
    files: &Files,
    roster: &Roster,
    rules: Rules,
    cancel: &AtomicBool,
) -> Result<Log, LogError> {
    let log = gathered(files, roster, rules, cancel)?;
    match log.refusal(roster, &files.first()) {
        Some(problem) => Err(LogError::Problems(vec![problem])),
        None => Ok(log),
    }
}

/// The same of whatever log, empty ones and those of another plant included: who
/// asks a reader for the way out needs its words (see [`Log::refusal`]).
///
/// # Errors
/// [`LogError`]: files or columns.
pub fn gathered(
    files: &Files,
    roster: &Roster,
    rules: Rules,
    cancel: &AtomicBool,
) -> Result<Log, LogError> {
    let mut gatherer = Gatherer::new(roster, rules);
    let mut tables = Tables::default();
    let mut defects = Defects::default();
    let mut state_events = Vec::new();
    for path in &files.states {
        let name = shown(path);
        let stopped = |error: Stopped| error.of(path);
        if is_parquet(path) {
            read_parquet(&mut gatherer, &name, path, cancel)?;
            continue;
        }
        match event_log(path, &name, roster)? {
            Some(csv) => {
                gatherer
                    .read(&name, csv.states.as_bytes(), cancel)
                    .map_err(stopped)?;
                let rows = csv.genealogy.as_bytes();
                let rows = tables::Source::Csv(Box::new(rows));
                let mut of_items = Defects::default();
                tables
                    .read_items(&name, rows, roster, &mut of_items)
                    .map_err(LogError::Problems)?;
                of_items.renumber(&name, &csv.item_events);
                defects.merge(of_items);
                odd_events(&mut defects, &name, csv.odd);
                state_events.push((name, csv.state_events));
            }
            None => gatherer.read(&name, open(path)?, cancel).map_err(stopped)?,
        }
    }
    let mut small = |path: &Option<PathBuf>, table: Table| -> Result<(), LogError> {
        let Some(path) = path else { return Ok(()) };
        let source = tables::Source::open(path)?;
        table.reader()(
            &mut tables,
            &shown(path),
            source,
            roster,
            &rules,
            &mut defects,
        )
        .map_err(LogError::Problems)
    };
    small(&files.counts, Table::Counts)?;
    small(&files.quality, Table::Quality)?;
    small(&files.genealogy, Table::Genealogy)?;
    let mut log = gatherer.finish();
    for (file, events) in &state_events {
        log.defects.renumber(file, events);
    }
    log.defects.merge(defects);
    log.tables = tables;
    Ok(log)
}

/// How the name of a Parquet file ends.
const PARQUET: &str = "parquet";

/// Whether a file is a Parquet file, by its name.
pub fn is_parquet(path: &Path) -> bool {
    let kind = path.extension().and_then(|kind| kind.to_str());
    kind.is_some_and(|kind| kind.eq_ignore_ascii_case(PARQUET))
}

/// The columns of a Parquet file, in their order.
///
/// # Errors
/// When it is none, or this build cannot read one: the message says how to build
/// one that can.
#[cfg(feature = "parquet")]
pub fn parquet_columns(path: &Path, name: &str) -> Result<Vec<String>, LogError> {
    let records = parquet::Records::open(path, name)?;
    Ok(records.columns().into_iter().map(str::to_owned).collect())
}

/// The columns of a Parquet file, in their order.
///
/// # Errors
/// Always: this build cannot read one, and the message says how to build one that
/// can.
#[cfg(not(feature = "parquet"))]
pub fn parquet_columns(_: &Path, name: &str) -> Result<Vec<String>, LogError> {
    Err(without_parquet(name))
}

#[cfg(feature = "parquet")]
fn read_parquet(
    gatherer: &mut Gatherer<'_>,
    name: &str,
    path: &Path,
    cancel: &AtomicBool,
) -> Result<(), LogError> {
    let read = gatherer.read_parquet(name, path, cancel);
    read.map_err(|error| error.of(path))
}

#[cfg(not(feature = "parquet"))]
fn read_parquet(
    _: &mut Gatherer<'_>,
    name: &str,
    _: &Path,
    _: &AtomicBool,
) -> Result<(), LogError> {
    Err(without_parquet(name))
}

/// A Parquet file, and a build that cannot read one.
#[cfg(not(feature = "parquet"))]
fn without_parquet(name: &str) -> LogError {
    LogError::Problems(vec![refusal(
        name,
        "no-parquet",
        "a Parquet file, which this build cannot read",
        "a CSV file, or a build with the feature `parquet`",
        "export the log as CSV, or build with: cargo build --release -p linewright --features parquet",
    )])
}

fn table_twice(one: &str, other: &str) -> Problem {
    refusal(
        other,
        "table-twice",
        &format!("{one} and {other}"),
        "each table once, as CSV or as Parquet",
        "take one of the two out of the folder",
    )
}

/// An event log as the tables of a state log; none where the file is one.
#[allow(clippy::disallowed_methods, reason = "a log lies in files")]
fn event_log(path: &Path, name: &str, roster: &Roster) -> Result<Option<AsCsv>, LogError> {
    let by_name = events::read(name, b"");
    if by_name.is_none() {
        return Ok(None);
    }
    let bytes = std::fs::read(path).map_err(|source| LogError::File {
        path: path.to_owned(),
        source,
    })?;
    match events::read(name, &bytes) {
        Some(Ok(log)) => {
            let csv = log.as_csv(roster);
            if csv.state_events.is_empty() {
                let problem = no_lifecycle(name, &csv);
                return Err(LogError::Problems(vec![problem]));
            }
            Ok(Some(csv))
        }
        Some(Err(problem)) => Err(LogError::Problems(vec![problem])),
        None => Ok(None),
    }
}

/// Why an event log has no states: work lies between two events.
fn no_lifecycle(name: &str, csv: &AsCsv) -> Problem {
    let told = |(word, events): (&String, &u64)| match word.as_str() {
        "" => format!("{events} without a lifecycle"),
        word => format!("{events} `{}`", defects::shown(word)),
    };
    let told: Vec<String> = csv.lifecycles.iter().take(5).map(told).collect();
    refusal(
        name,
        "no-lifecycle",
        &format!("events of which no two enclose work: {}", told.join(", ")),
        "for each job at a station an event `start` and an event `complete` \
         (`lifecycle:transition`, or an attribute `lifecycle`)",
        "export the start of each job too: an end alone does not tell how long it was worked on",
    )
}

/// Events that are not what they should be, each with its number.
fn odd_events(defects: &mut Defects, file: &str, odd: Vec<events::Odd>) {
    for event in odd {
        defects.add(event.kind, || Place {
            file: file.to_owned(),
            row: event.event,
            column: event.column.to_owned(),
            found: event.found,
        });
    }
}

#[allow(clippy::disallowed_methods, reason = "a log lies in files")]
fn open(path: &Path) -> Result<std::fs::File, LogError> {
    std::fs::File::open(path).map_err(|source| LogError::File {
        path: path.to_owned(),
        source,
    })
}

/// A name's parts, numbers by their value: `states-2` goes before `states-10`.
fn natural(name: &str) -> Vec<(String, u64)> {
    let mut parts = vec![(String::new(), 0_u64)];
    let mut digits = false;
    for letter in name.chars() {
        if digits && !letter.is_ascii_digit() {
            parts.push((String::new(), 0));
        }
        digits = letter.is_ascii_digit();
        if let Some((word, number)) = parts.last_mut() {
            match letter.to_digit(10) {
                Some(digit) => *number = number.saturating_mul(10).saturating_add(digit.into()),
                None => word.push(letter),
            }
        }
    }
    parts
}

/// A file as messages name it.
fn shown(path: &Path) -> String {
    let name = path.file_name().and_then(|name| name.to_str());
    name.map_or_else(|| path.display().to_string(), str::to_owned)
}

impl Log {
    /// Stations with at least one row that counts.
    pub fn stations_seen(&self) -> usize {
        let mut seen: Vec<u32> = self
            .units
            .iter()
            .filter(|u| u.rows > 0)
            .map(|u| u.place)
            .collect();
        seen.dedup();
        seen.len()
    }

    /// Why nothing can be learned from it, if nothing can: no rows, or names
    /// of another plant.
    pub fn refusal(&self, roster: &Roster, file: &str) -> Option<Problem> {
        let (seen, all) = (self.stations_seen(), roster.places.len());
        if self.rows == 0 {
            return Some(refusal(
                file,
                "empty",
                "a header and no rows",
                "rows below the header",
                "export the log again, for a time in which the plant ran",
            ));
        }
        let unknown = self.strangers;
        if seen > 0 && unknown * 2 <= self.rows {
            return None;
        }
        let names = self.defects.words.get(&Kind::UnknownStation);
        let other = names.map_or(0, std::collections::BTreeMap::len);
        if seen == 0 && unknown == 0 {
            let mut problems = self.defects.problems(&[]);
            return (!problems.is_empty()).then(|| Problem {
                severity: Severity::Error,
                ..problems.swap_remove(0)
            });
        }
        let known = roster.names();
        let first = names
            .and_then(|n| n.keys().next())
            .map_or("", String::as_str);
        let mut problem = refusal(
            file,
            "another-plant",
            &format!(
                "{seen} of {} names match the {all} stations of the book; `{first}` does not",
                seen + other
            ),
            "a log of this plant: at least half of its rows of stations in the book",
            "give the log of this plant, or map its names in log_map.csv: station,theirs,ours",
        );
        problem.nearest = units::nearest(first, known.iter().copied()).map(str::to_owned);
        Some(problem)
    }

    /// Defects as notes, and what else is worth knowing.
    pub fn problems(&self, roster: &Roster) -> Vec<Problem> {
        let mut problems = self.defects.problems(&roster.names());
        let (seen, all) = (self.stations_seen(), roster.places.len());
        if seen < all {
            let mut note = refusal(
                "log",
                "stations-missing",
                &format!("rows of {seen} of {all} stations"),
                "rows of every station",
                "what follows speaks of the stations seen only",
            );
            note.severity = Severity::Note;
            problems.push(note);
        }
        problems.extend(self.ends_within(roster));
        problems.extend(self.tables.disagreements(roster));
        let output = self.output();
        if output.judged.is_empty() && !output.made.is_empty() {
            let mut note = refusal(
                "log",
                "quality-untold",
                "neither counts of rework and scrap nor quality events",
                "counts.csv with rework and scrap, or quality.csv",
                "every job counts as good, so that quality is 100 % and OEE at its most",
            );
            note.severity = Severity::Note;
            problems.push(note);
        }
        problems
    }

    /// A note where the log ends long before the shift does: figures of that
    /// shift are those of a part of it.
    fn ends_within(&self, roster: &Roster) -> Option<Problem> {
        let (_, end) = self.span?;
        let seen = self.units.iter().filter(|unit| unit.rows > 0);
        let hours = seen.map(|unit| &roster.hours[roster.places[unit.place as usize].hours]);
        let planned = hours.filter(|hours| hours.shifts != [ALL_DAY]);
        let (left, hours) = planned
            .map(|hours| (hours.left_of_shift(end), hours))
            .max_by_key(|(left, _)| *left)?;
        if left < HOUR {
            return None;
        }
        let mut note = refusal(
            "log",
            "ends-within",
            &format!(
                "the log ends at {}, {:.0} min of planned time before the shift {} of {} does",
                roster.map.zone.show(end),
                seconds(left) / 60.0,
                hours.shift(hours.stretch(end - 1).turn),
                hours.shop
            ),
            "a log to the end of a shift",
            "figures of that shift speak of the time up to there",
        );
        note.severity = Severity::Note;
        Some(note)
    }
}

#[cfg(test)]
mod tests;
