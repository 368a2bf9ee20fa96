//! State logs: read in batches, parsed chunk by chunk side by side, gathered
//! unit by unit side by side. What is in memory at once is a batch.

use std::collections::BTreeMap;
use std::io::Read;
use std::path::Path;
use std::sync::atomic::{AtomicBool, Ordering};

use book::Problem;
use memchr::{memchr, memrchr};
use rayon::prelude::*;

use super::{Log, LogError, Tables};
use crate::defects::{Defects, Kind, refusal};
use crate::gather::{Context, Known};
use crate::gather::{Rules, UnitLog};
use crate::roster::{Roster, as_u32};
use crate::scan::{Chunk, Header, NO_WORD, parse};

/// Bytes that one core parses at a time: large enough that handing out work
/// costs nothing, small enough to stay in a cache of the second level twice.
const CHUNK: usize = 1 << 20;
/// Units are shared out so many ways.
pub(super) const SHARDS: u32 = 16;
/// Different words of causes and products that a log may hold.
const MOST_WORDS: usize = 100_000;

/// Gathers the rows of one or several files.
pub struct Gatherer<'a> {
    pub(super) roster: &'a Roster,
    rules: Rules,
    shards: Vec<Vec<UnitLog>>,
    ids: BTreeMap<Vec<u8>, u32>,
    words: Vec<String>,
    classes: Vec<Option<usize>>,
    rows: u64,
    defects: Defects,
    files: Vec<String>,
}

/// Why a file was not read to its end.
#[derive(Debug)]
pub enum Stopped {
    /// It could not be read.
    Read(std::io::Error),
    /// Its header is not understood.
    Problems(Vec<Problem>),
    /// The caller asked to stop.
    Cancelled,
}

impl Stopped {
    /// As the error of reading a log.
    pub(super) fn of(self, path: &Path) -> LogError {
        match self {
            Self::Read(source) => LogError::File {
                path: path.to_owned(),
                source,
            },
            Self::Problems(problems) => LogError::Problems(problems),
            Self::Cancelled => LogError::Cancelled,
        }
    }
}

impl<'a> Gatherer<'a> {
    /// For the units of a plant.
    pub fn new(roster: &'a Roster, rules: Rules) -> Self {
        let mut shards: Vec<Vec<UnitLog>> = (0..SHARDS).map(|_| Vec::new()).collect();
        for (unit, place) in (0..).zip(&roster.place_of_unit) {
            // One more for causes that no row of the book has.
            let causes = roster.places[*place as usize].causes.len() + 1;
            shards[(unit % SHARDS) as usize].push(UnitLog::new(unit, *place, causes));
        }
        Self {
            roster,
            rules,
            shards,
            ids: BTreeMap::new(),
            words: Vec::new(),
            classes: Vec::new(),
            rows: 0,
            defects: Defects::default(),
            files: Vec::new(),
        }
    }

    /// Reads a file to its end.
    ///
    /// # Errors
    /// The source cannot be read, its header is not understood, or the caller
    /// cancelled.
    pub fn read(
        &mut self,
        file: &str,
        mut source: impl Read,
        cancel: &AtomicBool,
    ) -> Result<(), Stopped> {
        self.begin(file);
        let batch = CHUNK * rayon::current_num_threads().max(1) * 2;
        let mut buffer: Vec<u8> = Vec::with_capacity(batch + CHUNK);
        let mut header: Option<Header> = None;
        // The header is line 1.
        let mut line: u64 = 1;
        loop {
            if cancel.load(Ordering::Relaxed) {
                return Err(Stopped::Cancelled);
            }
            let wanted = batch.saturating_sub(buffer.len()).max(CHUNK);
            let got = source
                .by_ref()
                .take(wanted as u64)
                .read_to_end(&mut buffer)
                .map_err(Stopped::Read)?;
            let last = got < wanted;
            let whole = if last {
                buffer.len()
            } else {
                match memrchr(b'\n', &buffer) {
                    Some(end) => end + 1,
                    None if buffer.len() < 4 * batch => continue,
                    None => return Err(Stopped::Problems(vec![endless(file)])),
                }
            };
            let mut start = 0;
            if header.is_none() {
                let end = memchr(b'\n', &buffer[..whole]).map_or(whole, |end| end + 1);
                header = Some(
                    Header::read(file, &buffer[..end], &self.roster.map)
                        .map_err(Stopped::Problems)?,
                );
                start = end;
                line += 1;
            }
            if let Some(header) = &header {
                line = self.batch(&buffer[start..whole], header, line);
            }
            buffer.drain(..whole);
            if last {
                return Ok(());
            }
        }
    }

    /// Rows from here on are of this file.
    pub(super) fn begin(&mut self, file: &str) {
        self.files.push(file.to_owned());
    }

    /// Parses and gathers whole lines; `line` is the number of the first.
    fn batch(&mut self, bytes: &[u8], header: &Header, line: u64) -> u64 {
        let roster = self.roster;
        let file = self.files.last().map_or("", String::as_str);
        let chunks: Vec<Chunk> = split(bytes)
            .into_par_iter()
            .map(|chunk| parse(chunk, file, header, roster, SHARDS))
            .collect();
        self.take(chunks, line)
    }

    /// Gathers chunks that follow one another; `line` is the number of the
    /// first row, and the answer that of the first row behind them.
    pub(super) fn take(&mut self, mut chunks: Vec<Chunk>, mut line: u64) -> u64 {
        let roster = self.roster;
        let file = as_u32(self.files.len().saturating_sub(1));
        let mut numbers: Vec<(u64, Vec<u32>)> = Vec::new();
        for chunk in &mut chunks {
            let words = chunk.words.iter().map(|word| self.word(word)).collect();
            numbers.push((line, words));
            let mut defects = std::mem::take(&mut chunk.defects);
            for rows in defects.kinds.values_mut() {
                rows.first.iter_mut().for_each(|place| place.row += line);
            }
            self.defects.merge(defects);
            self.rows += chunk.lines - chunk.blank;
            line += chunk.lines;
        }
        let context = Context {
            roster,
            rules: self.rules,
            files: &self.files,
            words: &self.words,
            classes: &self.classes,
        };
        self.shards
            .par_iter_mut()
            .enumerate()
            .for_each(|(shard, units)| {
                for (chunk, (first, words)) in chunks.iter().zip(&numbers) {
                    let word = |id: u32| words.get(id as usize).copied().unwrap_or(NO_WORD);
                    for row in &chunk.rows[shard] {
                        let known = Known {
                            row: *row,
                            file,
                            line: first + u64::from(row.line),
                            cause: word(row.cause),
                            product: word(row.product),
                        };
                        units[(row.unit / SHARDS) as usize].row(&context, known);
                    }
                }
            });
        line
    }

    /// The number of a word in the whole log.
    fn word(&mut self, word: &[u8]) -> u32 {
        if let Some(id) = self.ids.get(word) {
            return *id;
        }
        if self.words.len() >= MOST_WORDS {
            return NO_WORD;
        }
        let id = as_u32(self.words.len());
        self.ids.insert(word.to_vec(), id);
        let text = String::from_utf8_lossy(word).trim().to_owned();
        self.classes.push(self.roster.class(&text));
        self.words.push(text);
        id
    }

    /// What was gathered.
    pub fn finish(self) -> Log {
        let Self {
            roster,
            rules,
            shards,
            words,
            classes,
            rows,
            mut defects,
            files,
            ..
        } = self;
        let context = Context {
            roster,
            rules,
            files: &files,
            words: &words,
            classes: &classes,
        };
        let mut units: Vec<UnitLog> = shards.into_iter().flatten().collect();
        let strangers = defects.count(Kind::UnknownStation);
        let end = units.iter().filter_map(|unit| unit.span).map(|span| span.1);
        let end = end.max().unwrap_or(0);
        for unit in &mut units {
            unit.last_row(&context, end);
        }
        let spans = units.iter().filter_map(|unit| unit.span);
        let whole = spans.reduce(|a, b| (a.0.min(b.0), a.1.max(b.1)));
        for unit in &mut units {
            unit.finish(&context, whole.unwrap_or((0, 0)));
            defects.merge(std::mem::take(&mut unit.defects));
            let place = &roster.places[unit.place as usize];
            // What a line makes in lots is no product of the book.
            if place.cycles.is_empty() {
                continue;
            }
            for (word, cycles) in &unit.cycles {
                if *word != NO_WORD && classes[*word as usize].is_none() {
                    let name = &words[*word as usize];
                    defects.word(Kind::UnknownProduct, name);
                    defects.add(Kind::UnknownProduct, || crate::defects::Place {
                        file: files.last().cloned().unwrap_or_default(),
                        row: 0,
                        column: "product".to_owned(),
                        found: format!("{name} in {} jobs of {}", cycles.n, place.name),
                    });
                }
            }
        }
        units.sort_by_key(|unit| unit.unit);
        Log {
            span: whole,
            units,
            words,
            classes,
            rows,
            defects,
            tables: Tables::default(),
            rules,
            strangers,
        }
    }
}

/// Cuts whole lines into chunks of about [`CHUNK`] bytes.
fn split(bytes: &[u8]) -> Vec<&[u8]> {
    let mut chunks = Vec::new();
    let mut rest = bytes;
    while rest.len() > CHUNK {
        let end = memrchr(b'\n', &rest[..CHUNK])
            .or_else(|| memchr(b'\n', rest))
            .map_or(rest.len(), |end| end + 1);
        chunks.push(&rest[..end]);
        rest = &rest[end..];
    }
    if !rest.is_empty() {
        chunks.push(rest);
    }
    chunks
}

fn endless(file: &str) -> Problem {
    refusal(
        file,
        "no-lines",
        "megabytes without a line break",
        "one row a line",
        "give a CSV file; unpack it first if it is packed",
    )
}
