//! The smaller tables of a log: counts, quality events, genealogy.

use std::collections::{BTreeMap, BTreeSet};
use std::io::{BufRead, BufReader, Cursor, Read};
use std::path::Path;

use book::Problem;
use csv::ByteRecord;
use serde::{Deserialize, Serialize};

use super::LogError;
use super::agree::Told;
use crate::defects::{Defects, Kind, Place, refusal, shown};
use crate::gather::Rules;
use crate::hours::Turn;
use crate::roster::{Roster, hash};
use crate::scan::{Header, columns_of, no_lines};
use crate::time::{Meaning, Micros, Stamps};

/// What a station made.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Made {
    /// Jobs done, good or not.
    pub made: u64,
    /// Of these, sent to rework.
    pub rework: u64,
    /// Of these, lost.
    pub scrap: u64,
}

impl Made {
    /// Adds another.
    pub fn add(&mut self, other: Self) {
        self.made = self.made.saturating_add(other.made);
        self.rework = self.rework.saturating_add(other.rework);
        self.scrap = self.scrap.saturating_add(other.scrap);
    }

    /// Jobs that were right at the first try: made less rework and scrap, 0 where
    /// these are more than were made.
    pub fn good(self) -> u64 {
        self.made
            .saturating_sub(self.rework.saturating_add(self.scrap))
    }
}

/// What was found of a job.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(
    feature = "schema",
    derive(schemars::JsonSchema),
    schemars(rename = "QualityResult")
)]
#[serde(rename_all = "snake_case")]
pub enum Result {
    /// Right.
    Ok,
    /// To be mended.
    Rework,
    /// Lost.
    Scrap,
}

impl Result {
    /// The result of a usual word, in small or capital letters. What is only
    /// "not right" says neither rework nor scrap, and is none of them.
    ///
    /// ```
    /// use evidence::read::QualityResult;
    /// assert_eq!(QualityResult::parse("OK"), Some(QualityResult::Ok));
    /// assert_eq!(QualityResult::parse("NOK"), None);
    /// ```
    pub fn parse(word: &str) -> Option<Self> {
        match word.trim().to_ascii_lowercase().as_str() {
            "ok" | "io" | "i.o." | "good" | "pass" | "passed" => Some(Self::Ok),
            "rework" | "repair" | "touch-up" => Some(Self::Rework),
            "scrap" | "scrapped" | "lost" => Some(Self::Scrap),
            _ => None,
        }
    }

    /// One job of which this was found.
    fn counts(self) -> Made {
        Made {
            made: 1,
            rework: u64::from(self == Self::Rework),
            scrap: u64::from(self == Self::Scrap),
        }
    }
}

/// A job that was not right, in the time that is kept.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Reject {
    /// Position of the station.
    pub place: u32,
    /// When.
    pub at: Micros,
    /// Rework or scrap.
    pub result: Result,
    /// Why.
    pub cause: String,
}

/// Counts of one source.
pub type Quality = BTreeMap<(u32, Turn), Made>;

/// The smaller tables.
#[derive(Clone, Debug, Default)]
pub struct Tables {
    /// From `counts.csv`, by station and shift.
    pub counts: Quality,
    /// From `quality.csv`, by station and shift.
    pub events: Quality,
    /// By station and cause, all rejects.
    pub rejects: BTreeMap<(u32, String), Made>,
    /// Rejects in the time that is kept.
    pub kept: Vec<Reject>,
    /// Finished items: end, and seconds since their oldest part began.
    pub items: Vec<(Micros, f64)>,
    /// `counts.csv` has a column for what was not right.
    pub tells_rejects: bool,
    /// From `counts.csv`, by station and time.
    pub(crate) told_counts: Told,
    /// From `quality.csv`, by station and time.
    pub(crate) told_events: Told,
}

/// Where a table comes from.
pub(super) enum Source<'a> {
    /// Comma-separated text.
    Csv(Box<dyn Read + 'a>),
    /// A Parquet file.
    #[cfg(feature = "parquet")]
    Parquet(super::parquet::Records),
}

impl Source<'_> {
    /// Of a file, by the end of its name.
    pub(super) fn open(path: &Path) -> std::result::Result<Self, LogError> {
        if !super::is_parquet(path) {
            return Ok(Self::Csv(Box::new(super::open(path)?)));
        }
        #[cfg(feature = "parquet")]
        return super::parquet::Records::open(path, &super::shown(path)).map(Self::Parquet);
        #[cfg(not(feature = "parquet"))]
        return Err(super::without_parquet(&super::shown(path)));
    }
}

/// One of the smaller tables.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Table {
    /// `counts.csv`.
    Counts,
    /// `quality.csv`.
    Quality,
    /// `genealogy.csv`.
    Genealogy,
}

/// How one table is read.
type Reader = fn(
    &mut Tables,
    &str,
    Source<'_>,
    &Roster,
    &Rules,
    &mut Defects,
) -> std::result::Result<(), Vec<Problem>>;

impl Table {
    pub(super) fn reader(self) -> Reader {
        match self {
            Self::Counts => Tables::read_counts,
            Self::Quality => Tables::read_quality,
            Self::Genealogy => Tables::read_genealogy,
        }
    }
}

/// A table row by row.
pub(super) struct Sheet<'a> {
    file: &'a str,
    pub(super) roster: &'a Roster,
    stamps: Stamps,
    columns: Vec<Option<usize>>,
    names: &'static [&'static str],
    pub(super) row: u64,
}

impl<'a> Sheet<'a> {
    /// Walks a file; `names` are its columns, the first `needed` of them must
    /// be there.
    pub(super) fn walk(
        file: &'a str,
        source: Source<'_>,
        roster: &'a Roster,
        names: &'static [&'static str],
        needed: usize,
        defects: &mut Defects,
        #[cfg_attr(not(feature = "parquet"), expect(unused_mut))] mut each: impl FnMut(
            &mut Self,
            &ByteRecord,
            &mut Defects,
        ),
    ) -> std::result::Result<(), Vec<Problem>> {
        match source {
            Source::Csv(source) => {
                Self::walk_text(file, source, roster, names, needed, defects, each)
            }
            #[cfg(feature = "parquet")]
            Source::Parquet(records) => {
                let theirs = records.columns();
                let mut sheet = Self::of(file, roster, names, needed, &theirs)?;
                // There is no header: the first row is row 1.
                sheet.row = 0;
                let wanted: Vec<usize> = sheet.columns.iter().copied().flatten().collect();
                records.each(&wanted, |record| {
                    sheet.row += 1;
                    each(&mut sheet, record, defects);
                })
            }
        }
    }

    fn walk_text(
        file: &'a str,
        source: Box<dyn Read + '_>,
        roster: &'a Roster,
        names: &'static [&'static str],
        needed: usize,
        defects: &mut Defects,
        mut each: impl FnMut(&mut Self, &ByteRecord, &mut Defects),
    ) -> std::result::Result<(), Vec<Problem>> {
        let (head, source) = head_of(file, source)?;
        let (separator, _) = Header::names(&head);
        let mut reader = csv::ReaderBuilder::new()
            .flexible(true)
            .delimiter(separator.0)
            .from_reader(source);
        let unreadable = |error: csv::Error| {
            vec![refusal(
                file,
                "unreadable",
                &error.to_string(),
                "a CSV table",
                "export it anew",
            )]
        };
        let header = reader.byte_headers().map_err(unreadable)?.clone();
        let theirs: Vec<String> = header
            .iter()
            .map(|cell| String::from_utf8_lossy(cell).trim().to_owned())
            .collect();
        let theirs: Vec<&str> = theirs.iter().map(String::as_str).collect();
        let mut sheet = Self::of(file, roster, names, needed, &theirs)?;
        let mut record = ByteRecord::new();
        while reader.read_byte_record(&mut record).map_err(unreadable)? {
            sheet.row += 1;
            let mut behind = record.iter().skip(header.len());
            if record.len() < header.len() || behind.any(|cell| !cell.is_empty()) {
                let cells: Vec<&[u8]> = record.iter().collect();
                let line = cells.join(&separator.0);
                defects.add(Kind::BadRow, || sheet.place("", &line));
                continue;
            }
            each(&mut sheet, &record, defects);
        }
        Ok(())
    }

    /// A table with these columns, of which nothing was read yet.
    fn of(
        file: &'a str,
        roster: &'a Roster,
        names: &'static [&'static str],
        needed: usize,
        theirs: &[&str],
    ) -> std::result::Result<Self, Vec<Problem>> {
        let columns = columns_of(file, theirs, names, &roster.map)?;
        let missing: Vec<Problem> = names[..needed]
            .iter()
            .zip(&columns)
            .filter(|(_, column)| column.is_none())
            .map(|(name, _)| {
                refusal(
                    file,
                    "missing-column",
                    &format!("the columns {}", theirs.join(", ")),
                    &format!("a column `{name}`"),
                    &format!("name it so, or map it in log_map.csv: column,theirs,{name}"),
                )
            })
            .collect();
        if !missing.is_empty() {
            return Err(missing);
        }
        Ok(Self {
            file,
            roster,
            stamps: Stamps::new(roster.map.zone),
            columns,
            names,
            row: 1,
        })
    }

    pub(super) fn cell<'r>(&self, record: &'r ByteRecord, column: usize) -> &'r [u8] {
        let cell = self.columns[column].and_then(|at| record.get(at));
        cell.unwrap_or(b"").trim_ascii()
    }

    fn place(&self, column: &str, found: &[u8]) -> Place {
        Place {
            file: self.file.to_owned(),
            row: self.row,
            column: column.to_owned(),
            found: shown(&String::from_utf8_lossy(found)),
        }
    }

    pub(super) fn wrong(&self, kind: Kind, column: usize, found: &[u8], defects: &mut Defects) {
        let place = self.place(self.names[column], found);
        let of_a_word = [
            Kind::UnknownStation,
            Kind::UnknownProduct,
            Kind::UnknownResult,
        ];
        if of_a_word.contains(&kind) {
            defects.word(kind, &place.found);
        }
        defects.add(kind, || place);
    }

    pub(super) fn stamp(
        &mut self,
        record: &ByteRecord,
        column: usize,
        defects: &mut Defects,
    ) -> Option<Micros> {
        let text = self.cell(record, column).to_vec();
        match self.stamps.read(&text) {
            Some(Meaning::Clear(at)) => return Some(at),
            Some(Meaning::Doubled(at)) => {
                self.wrong(Kind::DoubledHour, column, &text, defects);
                return Some(at);
            }
            Some(Meaning::Missing) => self.wrong(Kind::MissingHour, column, &text, defects),
            None => self.wrong(Kind::BadStamp, column, &text, defects),
        }
        None
    }

    fn station(&self, record: &ByteRecord, column: usize, defects: &mut Defects) -> Option<u32> {
        let name = self.cell(record, column);
        let found = self.roster.station(name);
        if found.is_none() {
            self.wrong(Kind::UnknownStation, column, name, defects);
        }
        found
    }

    fn number(&self, record: &ByteRecord, column: usize, defects: &mut Defects) -> Option<u64> {
        let cell = self.cell(record, column);
        if cell.is_empty() {
            return Some(0);
        }
        let number = std::str::from_utf8(cell)
            .ok()
            .and_then(|text| text.parse().ok());
        if number.is_none() {
            self.wrong(Kind::BadNumber, column, cell, defects);
        }
        number
    }

    fn turn(&self, place: u32, at: Micros) -> Turn {
        let place = &self.roster.places[place as usize];
        self.roster.hours[place.hours].stretch(at).turn
    }
}

/// The first line of a table, and all of it.
fn head_of<'r>(
    file: &str,
    source: Box<dyn Read + 'r>,
) -> std::result::Result<(Vec<u8>, impl Read + 'r), Vec<Problem>> {
    const LONGEST: u64 = 1 << 20;
    let mut source = BufReader::new(source);
    let mut line = Vec::new();
    let read = source.by_ref().take(LONGEST).read_until(b'\n', &mut line);
    read.map_err(|error| {
        vec![refusal(
            file,
            "unreadable",
            &error.to_string(),
            "a CSV table",
            "export it anew",
        )]
    })?;
    match no_lines(file, &line) {
        Some(problem) => Err(vec![problem]),
        None => Ok((line.clone(), Cursor::new(line).chain(source))),
    }
}

impl Tables {
    /// Reads one of the smaller tables as CSV, from anywhere; `file` is its name
    /// in messages. Rows that are no such go to the defects.
    ///
    /// # Errors
    /// What is wrong with its header, or why it is no table.
    pub fn read(
        &mut self,
        table: Table,
        file: &str,
        source: impl Read,
        roster: &Roster,
        rules: &Rules,
        defects: &mut Defects,
    ) -> std::result::Result<(), Vec<Problem>> {
        let source = Source::Csv(Box::new(source));
        table.reader()(self, file, source, roster, rules, defects)
    }

    /// `counts.csv`: jobs done at a station up to a time.
    fn read_counts(
        &mut self,
        file: &str,
        source: Source<'_>,
        roster: &Roster,
        _: &Rules,
        defects: &mut Defects,
    ) -> std::result::Result<(), Vec<Problem>> {
        let names = &["station", "time", "made", "rework", "scrap"];
        let mut seen: BTreeSet<(u32, Micros, u64)> = BTreeSet::new();
        Sheet::walk(
            file,
            source,
            roster,
            names,
            3,
            defects,
            |sheet, record, defects| {
                self.tells_rejects |= sheet.columns[3..].iter().any(Option::is_some);
                let (Some(place), Some(at), Some(made), Some(rework), Some(scrap)) = (
                    sheet.station(record, 0, defects),
                    sheet.stamp(record, 1, defects),
                    sheet.number(record, 2, defects),
                    sheet.number(record, 3, defects),
                    sheet.number(record, 4, defects),
                ) else {
                    return;
                };
                if rework.checked_add(scrap).is_none_or(|wrong| wrong > made) {
                    return sheet.wrong(Kind::BadNumber, 2, sheet.cell(record, 2), defects);
                }
                // Columns that are not ours may tell rows of one instant apart.
                let cells: Vec<&[u8]> = record.iter().collect();
                if !seen.insert((place, at, hash(&cells.join(&0)))) {
                    return sheet.wrong(Kind::Duplicate, 1, sheet.cell(record, 1), defects);
                }
                // A count up to the end of a shift belongs to that shift.
                let turn = sheet.turn(place, at - 1);
                let counts = Made {
                    made,
                    rework,
                    scrap,
                };
                self.counts.entry((place, turn)).or_default().add(counts);
                self.told_counts.add(place, at, counts);
            },
        )
    }

    /// `quality.csv`: what was found of single jobs.
    fn read_quality(
        &mut self,
        file: &str,
        source: Source<'_>,
        roster: &Roster,
        rules: &Rules,
        defects: &mut Defects,
    ) -> std::result::Result<(), Vec<Problem>> {
        let names = &["station", "time", "result", "cause"];
        Sheet::walk(
            file,
            source,
            roster,
            names,
            3,
            defects,
            |sheet, record, defects| {
                let (Some(place), Some(at)) = (
                    sheet.station(record, 0, defects),
                    sheet.stamp(record, 1, defects),
                ) else {
                    return;
                };
                let word = sheet.cell(record, 2);
                let known = std::str::from_utf8(word).ok();
                let Some(result) = known.and_then(|word| roster.map.result(word)) else {
                    return sheet.wrong(Kind::UnknownResult, 2, word, defects);
                };
                let counts = result.counts();
                let turn = sheet.turn(place, at);
                self.events.entry((place, turn)).or_default().add(counts);
                self.told_events.add(place, at, counts);
                if result == Result::Ok {
                    return;
                }
                let cause = roster.map.cause(sheet.cell(record, 3));
                let cause = String::from_utf8_lossy(cause).into_owned();
                self.rejects
                    .entry((place, cause.clone()))
                    .or_default()
                    .add(counts);
                if rules.keep.is_some_and(|(from, to)| from <= at && at < to) {
                    self.kept.push(Reject {
                        place,
                        at,
                        result,
                        cause,
                    });
                }
            },
        )
    }
}
