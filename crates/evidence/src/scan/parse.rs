//! One chunk of lines into rows.

use std::collections::BTreeMap;

use memchr::{memchr, memchr_iter};

use super::{Header, NO_WORD, OPEN_END};
use crate::defects::{Defects, Kind, Place};
use crate::roster::{Roster, as_u32, hash};
use crate::time::{HOUR, Meaning, Micros, Stamps};

/// Different words of a column that a chunk may hold; beyond it a cell counts
/// as empty and the row is listed.
const MOST_WORDS: usize = 50_000;
/// Most cells a line is looked at for.
const MOST_CELLS: usize = 64;

/// A row of a state log.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Row {
    /// From.
    pub from: Micros,
    /// To, or [`OPEN_END`].
    pub to: Micros,
    /// The item's hash; 0 for none.
    pub item: u64,
    /// Line within the chunk, from 0.
    pub line: u32,
    /// Position among all units.
    pub unit: u32,
    /// Word of the cause within the chunk.
    pub cause: u32,
    /// Word of the product within the chunk.
    pub product: u32,
    /// Number of the state.
    pub state: u8,
    /// Whether `from` (1) and `to` (2) lie in the hour that comes twice and are
    /// taken as its first.
    pub doubled: u8,
}

/// What a chunk holds.
#[derive(Debug, Default)]
pub struct Chunk {
    /// Rows by shard.
    pub rows: Vec<Vec<Row>>,
    /// Words of causes and products, in the order of first use.
    pub words: Vec<Vec<u8>>,
    /// Lines, blank ones included.
    pub lines: u64,
    /// Of these, blank ones: no rows.
    pub blank: u64,
    /// What is wrong with it. Row numbers count from the chunk's start.
    pub defects: Defects,
}

/// Words by their bytes.
#[derive(Default)]
pub(super) struct Words {
    ids: BTreeMap<Vec<u8>, u32>,
    pub(super) list: Vec<Vec<u8>>,
    last: [u32; 2],
}

impl Words {
    #[inline]
    pub(super) fn id(&mut self, word: &[u8], which: usize) -> Option<u32> {
        if word.is_empty() {
            return Some(NO_WORD);
        }
        // Most rows have the word of the row above.
        if let Some(last) = self.list.get(self.last[which] as usize)
            && last == word
        {
            return Some(self.last[which]);
        }
        let id = match self.ids.get(word) {
            Some(id) => *id,
            None if self.list.len() >= MOST_WORDS => return None,
            None => {
                let id = as_u32(self.list.len());
                self.ids.insert(word.to_vec(), id);
                self.list.push(word.to_vec());
                id
            }
        };
        self.last[which] = id;
        Some(id)
    }
}

struct Reader<'a> {
    roster: &'a Roster,
    header: &'a Header,
    file: &'a str,
    from: Stamps,
    to: Stamps,
    words: Words,
    chunk: Chunk,
    shards: u32,
}

/// Parses a chunk of whole lines.
pub fn parse(bytes: &[u8], file: &str, header: &Header, roster: &Roster, shards: u32) -> Chunk {
    let zone = roster.map.zone;
    let mut reader = Reader {
        roster,
        header,
        file,
        from: Stamps::new(zone),
        to: Stamps::new(zone),
        words: Words::default(),
        chunk: Chunk {
            rows: vec![Vec::with_capacity(bytes.len() / 60 / shards as usize); shards as usize],
            ..Chunk::default()
        },
        shards,
    };
    let mut start = 0;
    let quoted = memchr(b'"', bytes).is_some();
    for end in
        memchr_iter(b'\n', bytes).chain((bytes.last() != Some(&b'\n')).then_some(bytes.len()))
    {
        let line = &bytes[start..end];
        let line = line.strip_suffix(b"\r").unwrap_or(line);
        start = end + 1;
        if line.trim_ascii().is_empty() {
            reader.chunk.blank += 1;
        } else {
            if quoted && memchr(b'"', line).is_some() {
                reader.quoted(line);
            } else {
                reader.plain(line);
            }
        }
        reader.chunk.lines += 1;
    }
    reader.chunk.words = reader.words.list;
    reader.chunk
}

impl Reader<'_> {
    fn wrong(&mut self, kind: Kind, column: &str, found: &[u8]) {
        let (file, row) = (self.file, self.chunk.lines);
        self.chunk.defects.add(kind, || Place {
            file: file.to_owned(),
            row,
            column: column.to_owned(),
            found: shown(found),
        });
    }

    /// A line without quotes.
    #[inline]
    fn plain(&mut self, line: &[u8]) {
        let mut cells: [&[u8]; Header::ROLES] = [b""; Header::ROLES];
        let (mut at, mut n) = (0, 0);
        let mut behind = false;
        for end in memchr_iter(self.header.separator.0, line).chain([line.len()]) {
            if let Some(Some(role)) = self.header.role.get(n) {
                cells[*role] = &line[at..end];
            }
            // More cells than the header has columns: which is which?
            behind |= n >= self.header.cells && at < end;
            at = end + 1;
            n += 1;
        }
        if n < self.header.cells || n > MOST_CELLS || behind {
            self.wrong(Kind::BadRow, "", line);
            return;
        }
        self.row(&cells);
    }

    /// A line with quotes (RFC 4180, but no line break within a cell).
    fn quoted(&mut self, line: &[u8]) {
        let mut all: Vec<Vec<u8>> = vec![Vec::new()];
        let mut inside = false;
        let mut bytes = line.iter().copied().peekable();
        while let Some(byte) = bytes.next() {
            match byte {
                b'"' if inside && bytes.peek() == Some(&b'"') => {
                    bytes.next();
                    all.iter_mut()
                        .last()
                        .into_iter()
                        .for_each(|cell| cell.push(b'"'));
                }
                b'"' => inside = !inside,
                byte if byte == self.header.separator.0 && !inside => all.push(Vec::new()),
                byte => all
                    .iter_mut()
                    .last()
                    .into_iter()
                    .for_each(|cell| cell.push(byte)),
            }
        }
        let mut behind = all.iter().skip(self.header.cells);
        let behind = behind.any(|cell| !cell.is_empty());
        if inside || behind || all.len() < self.header.cells || all.len() > MOST_CELLS {
            self.wrong(Kind::BadRow, "", line);
            return;
        }
        let mut cells: [&[u8]; Header::ROLES] = [b""; Header::ROLES];
        for (cell, role) in all.iter().zip(&self.header.role) {
            if let Some(role) = role {
                cells[*role] = cell;
            }
        }
        self.row(&cells);
    }

    #[inline]
    fn row(&mut self, cells: &[&[u8]; Header::ROLES]) {
        let roster = self.roster;
        let cells = cells.map(<[u8]>::trim_ascii);
        let name = cells[Header::STATION];
        let Some(place) = roster.station(name) else {
            self.unknown(Kind::UnknownStation, "station", name);
            return;
        };
        let place = &roster.places[place as usize];
        let unit = match cells[Header::UNIT] {
            b"" | b"1" => 0,
            other => match whole(other).filter(|n| (1..=u64::from(place.units)).contains(n)) {
                Some(n) => u32::try_from(n - 1).unwrap_or(0),
                None => return self.wrong(Kind::UnknownUnit, "unit", other),
            },
        };
        let Some(state) = state(roster, cells[Header::STATE]) else {
            self.unknown(Kind::UnknownState, "state", cells[Header::STATE]);
            return;
        };
        let Some((from, to, doubled)) = self.times(&cells) else {
            return;
        };
        let (cause, product) = match (
            self.words.id(roster.map.cause(cells[Header::CAUSE]), 0),
            self.words.id(cells[Header::PRODUCT], 1),
        ) {
            (Some(cause), Some(product)) => (cause, product),
            _ => return self.wrong(Kind::BadRow, "cause", cells[Header::CAUSE]),
        };
        let item = match cells[Header::ITEM] {
            b"" => 0,
            text => hash(text),
        };
        let unit = place.first_unit + unit;
        self.chunk.rows[(unit % self.shards) as usize].push(Row {
            from,
            to,
            item,
            line: as_u32(usize::try_from(self.chunk.lines).unwrap_or(usize::MAX)),
            unit,
            cause,
            product,
            state,
            doubled,
        });
    }

    /// A row's instants; none where they cannot be, which is listed.
    #[inline]
    fn times(&mut self, cells: &[&[u8]; Header::ROLES]) -> Option<(Micros, Micros, u8)> {
        let from_text = cells[Header::FROM];
        let Some(from) = self.from.read(from_text) else {
            self.wrong(Kind::BadStamp, "from", from_text);
            return None;
        };
        let to = match cells[Header::TO] {
            b"" => None,
            text => match self.to.read(text) {
                Some(to) => Some(to),
                None => {
                    self.wrong(Kind::BadStamp, "to", text);
                    return None;
                }
            },
        };
        let Some((from, to, doubled)) = between(from, to) else {
            self.wrong(Kind::MissingHour, "from", from_text);
            return None;
        };
        if doubled != 0 {
            self.wrong(Kind::DoubledHour, "from", from_text);
        }
        if to != OPEN_END && to < from {
            self.wrong(Kind::ClockBack, "to", cells[Header::TO]);
            return None;
        }
        Some((from, to, doubled))
    }

    #[cold]
    fn unknown(&mut self, kind: Kind, column: &str, word: &[u8]) {
        self.chunk.defects.word(kind, &shown(word));
        self.wrong(kind, column, word);
    }
}

/// A row's instants, and which of them lie in the hour that comes twice; none
/// if one lies in the hour that is left out.
#[inline]
pub(super) fn between(from: Meaning, to: Option<Meaning>) -> Option<(Micros, Micros, u8)> {
    if let (Meaning::Clear(from), Some(Meaning::Clear(to))) = (from, to) {
        return Some((from, to, 0));
    }
    let mut doubled = 0;
    let mut instant = |meaning, bit| match meaning {
        Meaning::Clear(at) => Some(at),
        Meaning::Doubled(at) => {
            doubled |= bit;
            Some(at)
        }
        Meaning::Missing => None,
    };
    let from = instant(from, 1)?;
    let Some(to) = to else {
        return Some((from, OPEN_END, doubled));
    };
    let mut to = instant(to, 2)?;
    // It begins in the first of the two hours and ends in the second; so does
    // one whose two readings are the same.
    if doubled == 3 && to <= from {
        to += HOUR;
        doubled = 1;
    }
    Some((from, to, doubled))
}

#[inline]
pub(super) fn state(roster: &Roster, word: &[u8]) -> Option<u8> {
    let known = match word {
        b"working" => 0,
        b"setup" => 1,
        b"stopped" => 2,
        b"waiting" => 3,
        b"starved" => 4,
        b"blocked" => 5,
        b"off" => 6,
        _ => 7,
    };
    if known < 7 && roster.map.states.is_empty() {
        return Some(known);
    }
    let word = std::str::from_utf8(word).ok()?;
    roster.map.state(word.trim()).map(|state| state as u8)
}

pub(super) fn whole(text: &[u8]) -> Option<u64> {
    std::str::from_utf8(text).ok()?.trim().parse().ok()
}

/// A cell as a message shows it.
pub(super) fn shown(bytes: &[u8]) -> String {
    crate::defects::shown(&String::from_utf8_lossy(bytes))
}
