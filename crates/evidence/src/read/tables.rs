//! The smaller tables of a log: counts, quality events, genealogy.

use std::collections::BTreeMap;
use std::io::Read;
use std::path::Path;

use book::Problem;
use csv::ByteRecord;
use serde::{Deserialize, Serialize};

use super::LogError;
use crate::defects::{Defects, Kind, Place, refusal};
use crate::gather::Rules;
use crate::hours::Turn;
use crate::roster::Roster;
use crate::time::{Meaning, Micros, Stamps};

/// Items whose history is followed; more are counted and left out.
const MOST_ITEMS: usize = 5_000_000;

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
        self.made += other.made;
        self.rework += other.rework;
        self.scrap += other.scrap;
    }

    /// Right at the first try.
    pub fn good(self) -> u64 {
        self.made.saturating_sub(self.rework + self.scrap)
    }
}

/// What was found of a job.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
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
    /// Of its word.
    fn of(word: &[u8]) -> Option<Self> {
        match word {
            b"ok" => Some(Self::Ok),
            b"rework" => Some(Self::Rework),
            b"scrap" => Some(Self::Scrap),
            _ => None,
        }
    }

    /// A job of which this was found.
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

/// How one table is read.
pub(super) type Reader = fn(
    &mut Tables,
    &str,
    Source<'_>,
    &Roster,
    &Rules,
    &mut Defects,
) -> std::result::Result<(), Vec<Problem>>;

/// A table row by row.
struct Sheet<'a> {
    file: &'a str,
    roster: &'a Roster,
    stamps: Stamps,
    columns: Vec<Option<usize>>,
    names: &'static [&'static str],
    row: u64,
}

impl<'a> Sheet<'a> {
    /// Walks a file; `names` are its columns, the first `needed` of them must
    /// be there.
    fn walk(
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
                let ours = records.columns(&roster.map);
                let mut sheet = Self::of(file, roster, names, needed, &ours)?;
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
        let mut reader = csv::ReaderBuilder::new().flexible(true).from_reader(source);
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
        let ours: Vec<String> = header
            .iter()
            .map(|cell| {
                roster
                    .map
                    .column(String::from_utf8_lossy(cell).trim())
                    .to_owned()
            })
            .collect();
        let mut sheet = Self::of(file, roster, names, needed, &ours)?;
        let mut record = ByteRecord::new();
        while reader.read_byte_record(&mut record).map_err(unreadable)? {
            sheet.row += 1;
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
        ours: &[String],
    ) -> std::result::Result<Self, Vec<Problem>> {
        let columns: Vec<Option<usize>> = names
            .iter()
            .map(|name| ours.iter().position(|column| column == name))
            .collect();
        let missing: Vec<Problem> = names[..needed]
            .iter()
            .zip(&columns)
            .filter(|(_, column)| column.is_none())
            .map(|(name, _)| {
                refusal(
                    file,
                    "missing-column",
                    &format!("the columns {}", ours.join(", ")),
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

    fn cell<'r>(&self, record: &'r ByteRecord, column: usize) -> &'r [u8] {
        let cell = self.columns[column].and_then(|at| record.get(at));
        cell.unwrap_or(b"").trim_ascii()
    }

    fn wrong(&self, kind: Kind, column: usize, found: &[u8], defects: &mut Defects) {
        let found = String::from_utf8_lossy(found).into_owned();
        if kind == Kind::UnknownStation {
            defects.word(kind, &found);
        }
        defects.add(kind, || Place {
            file: self.file.to_owned(),
            row: self.row,
            column: self.names[column].to_owned(),
            found,
        });
    }

    fn stamp(
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

/// Parts pass their age on to what they are built into; as many rounds as things
/// are built of things.
fn as_old_as_their_parts(began: &mut BTreeMap<Vec<u8>, Micros>, parts: &[(Vec<u8>, Vec<u8>)]) {
    for _ in 0..8 {
        let mut changed = false;
        for (item, part) in parts {
            let Some(oldest) = began.get(part).copied() else {
                continue;
            };
            if let Some(mine) = began.get_mut(item).filter(|mine| **mine > oldest) {
                *mine = oldest;
                changed = true;
            }
        }
        if !changed {
            break;
        }
    }
}

impl Tables {
    /// `counts.csv`: jobs done at a station up to a time.
    pub(super) fn read_counts(
        &mut self,
        file: &str,
        source: Source<'_>,
        roster: &Roster,
        _: &Rules,
        defects: &mut Defects,
    ) -> std::result::Result<(), Vec<Problem>> {
        let names = &["station", "time", "made", "rework", "scrap"];
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
                if rework + scrap > made {
                    let cell = sheet.cell(record, 2).to_vec();
                    sheet.wrong(Kind::BadNumber, 2, &cell, defects);
                    return;
                }
                // A count up to the end of a shift belongs to that shift.
                let turn = sheet.turn(place, at - 1);
                let counts = Made {
                    made,
                    rework,
                    scrap,
                };
                self.counts.entry((place, turn)).or_default().add(counts);
            },
        )
    }

    /// `quality.csv`: what was found of single jobs.
    pub(super) fn read_quality(
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
                let Some(result) = Result::of(word) else {
                    let word = word.to_vec();
                    return sheet.wrong(Kind::UnknownResult, 2, &word, defects);
                };
                let counts = result.counts();
                let turn = sheet.turn(place, at);
                self.events.entry((place, turn)).or_default().add(counts);
                if result == Result::Ok {
                    return;
                }
                let cause = String::from_utf8_lossy(sheet.cell(record, 3)).into_owned();
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

    /// `genealogy.csv`: items, when they began and ended, what they are made of.
    pub(super) fn read_genealogy(
        &mut self,
        file: &str,
        source: Source<'_>,
        roster: &Roster,
        _: &Rules,
        defects: &mut Defects,
    ) -> std::result::Result<(), Vec<Problem>> {
        self.read_items(file, source, roster, defects)
    }

    /// A genealogy from anywhere.
    pub(super) fn read_items(
        &mut self,
        file: &str,
        source: Source<'_>,
        roster: &Roster,
        defects: &mut Defects,
    ) -> std::result::Result<(), Vec<Problem>> {
        let mut began: BTreeMap<Vec<u8>, Micros> = BTreeMap::new();
        let mut ended: Vec<(Vec<u8>, Micros)> = Vec::new();
        let mut parts: Vec<(Vec<u8>, Vec<u8>)> = Vec::new();
        let names = &["item", "began", "time", "made_of"];
        Sheet::walk(
            file,
            source,
            roster,
            names,
            2,
            defects,
            |sheet, record, defects| {
                let item = sheet.cell(record, 0).to_vec();
                let Some(at) = sheet.stamp(record, 1, defects) else {
                    return;
                };
                if began.len() >= MOST_ITEMS && !began.contains_key(&item) {
                    return sheet.wrong(Kind::BadRow, 0, &item, defects);
                }
                let first = began.entry(item.clone()).or_insert(at);
                *first = (*first).min(at);
                for part in sheet.cell(record, 3).split(|byte| *byte == b';') {
                    let part = part.trim_ascii();
                    if !part.is_empty() {
                        parts.push((item.clone(), part.to_vec()));
                    }
                }
                if !sheet.cell(record, 2).is_empty()
                    && let Some(end) = sheet.stamp(record, 2, defects)
                {
                    ended.push((item, end));
                }
            },
        )?;
        as_old_as_their_parts(&mut began, &parts);
        let age = |(item, end): (Vec<u8>, Micros)| {
            let began = began.get(&item).copied()?;
            Some((end, crate::time::seconds((end - began).max(0))))
        };
        self.items = ended.into_iter().filter_map(age).collect();
        self.items
            .sort_by(|a, b| a.0.cmp(&b.0).then(a.1.total_cmp(&b.1)));
        Ok(())
    }
}
