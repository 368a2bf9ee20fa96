//! What is wrong with a log: counted, and listed with the first few rows.
//!
//! Nothing of it is mended silently. Each kind says what became of such rows.

use std::collections::BTreeMap;

use book::{Problem, Severity};
use serde::{Deserialize, Serialize};

/// Rows that are listed of each kind; the others are counted.
const LISTED: usize = 5;
/// Different unknown words that are kept of each kind.
const WORDS: usize = 1_000;

/// A kind of defect.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[cfg_attr(
    feature = "schema",
    derive(schemars::JsonSchema),
    schemars(rename = "DefectKind")
)]
#[serde(rename_all = "snake_case")]
pub enum Kind {
    /// A row that is no row: cells are missing, or it is not text.
    BadRow,
    /// A stamp that cannot be read.
    BadStamp,
    /// A number that cannot be read.
    BadNumber,
    /// A station that the book does not know.
    UnknownStation,
    /// A unit that the station does not have.
    UnknownUnit,
    /// A state that has no time element.
    UnknownState,
    /// A result of quality that is no such.
    UnknownResult,
    /// A product that the book does not know.
    UnknownProduct,
    /// A row that ends before it begins: the clock was put back.
    ClockBack,
    /// A leap of more than a week: the clock was put forward, or the log stood.
    ClockForward,
    /// A row longer than a week: the clock was put forward within it.
    LongRow,
    /// A clock reading in the hour that is left out in spring.
    MissingHour,
    /// A clock reading in the hour that comes twice in autumn.
    DoubledHour,
    /// The same row again.
    Duplicate,
    /// A row of the same time and state as one above it, with another cause,
    /// product or item.
    Contradiction,
    /// A row that begins before the one above it.
    OutOfOrder,
    /// Two states at once.
    Overlap,
    /// No state at all, in planned time.
    Gap,
    /// An event without the one that it makes a pair with.
    UnpairedEvent,
    /// An event of several objects that does not say which it happened to.
    ManyItems,
    /// A part that has no row of its own.
    UnknownItem,
}

impl Kind {
    /// Its word in messages.
    pub fn code(self) -> &'static str {
        match self {
            Self::BadRow => "bad-row",
            Self::BadStamp => "bad-stamp",
            Self::BadNumber => "bad-number",
            Self::UnknownStation => "unknown-station",
            Self::UnknownUnit => "unknown-unit",
            Self::UnknownState => "unknown-state",
            Self::UnknownResult => "unknown-result",
            Self::UnknownProduct => "unknown-product",
            Self::ClockBack => "clock-back",
            Self::ClockForward | Self::LongRow => "clock-forward",
            Self::MissingHour => "missing-hour",
            Self::DoubledHour => "doubled-hour",
            Self::Duplicate => "duplicate",
            Self::Contradiction => "contradiction",
            Self::OutOfOrder => "out-of-order",
            Self::Overlap => "overlap",
            Self::Gap => "gap",
            Self::UnpairedEvent => "unpaired-event",
            Self::ManyItems => "many-items",
            Self::UnknownItem => "unknown-item",
        }
    }

    /// What was expected, and the way out, what became of the rows included.
    #[expect(clippy::too_many_lines, reason = "a table of words")]
    pub fn words(self) -> (&'static str, &'static str) {
        match self {
            Self::BadRow => (
                "the cells of the header in UTF-8 text, no line break inside a cell",
                "such rows were left out; export them anew",
            ),
            Self::BadStamp => (
                "an ISO 8601 stamp such as 2026-03-02T06:00:00.250+01:00",
                "such rows were left out; export stamps in that form",
            ),
            Self::BadNumber => (
                "a whole number from 0",
                "such rows were left out; correct the cell",
            ),
            Self::UnknownStation => (
                "a station or line of the book",
                "such rows were left out; map the name in log_map.csv: station,theirs,ours",
            ),
            Self::UnknownUnit => (
                "a unit from 1 to the units of the station",
                "such rows were left out; correct `units` in the book or the log",
            ),
            Self::UnknownState => (
                "working, setup, stopped, waiting, starved, blocked or off",
                "such rows were left out; map the word in log_map.csv: state,theirs,ours",
            ),
            Self::UnknownResult => (
                "ok, rework or scrap",
                "such rows were left out; give the word in log_map.csv: result,theirs,ours",
            ),
            Self::UnknownProduct => (
                "a product of the book, with options behind `+`",
                "such rows count without a product; map it in log_map.csv: product,theirs,ours",
            ),
            Self::ClockBack => (
                "rows that end after they begin",
                "such rows were left out; log in universal time, or with an offset",
            ),
            Self::ClockForward => (
                "less than a week from one row of a unit to the next",
                "such rows were kept and the time between left uncounted; check the clock",
            ),
            Self::LongRow => (
                "rows of at most a week",
                "such rows were left out; check the clock",
            ),
            Self::MissingHour => (
                "a time that the clocks showed",
                "such rows were left out; log in universal time, or with an offset",
            ),
            Self::DoubledHour => (
                "a stamp with an offset in the hour that comes twice",
                "taken as the first of the two unless time would run backwards",
            ),
            Self::Duplicate => ("each row once", "the second of two was left out"),
            Self::Contradiction => (
                "one cause, product and item for a state of a unit",
                "the row that stands first counts, the other was left out; correct the one that \
                 is wrong",
            ),
            Self::OutOfOrder => (
                "rows of a unit in the order of time",
                "such rows were left out; sort the log by `from`",
            ),
            Self::Overlap => (
                "one state at a time",
                "the later row counts from where the earlier ends",
            ),
            Self::Gap => (
                "a state at every instant of planned time",
                "the time is unknown and counts as no state",
            ),
            Self::UnpairedEvent => (
                "events `start` and `complete`, or `suspend` and `resume`, in pairs",
                "such events were left out; export the log with both of each pair",
            ),
            Self::ManyItems => (
                "of several objects one whose type is a product of the book",
                "the first was taken; name the type in log_map.csv: product,theirs,ours",
            ),
            Self::UnknownItem => (
                "parts that have a row of their own",
                "the age counts from the parts that are known; add rows for the others",
            ),
        }
    }

    /// Whether rows of this kind were left out.
    pub fn leaves_out(self) -> bool {
        !matches!(
            self,
            Self::UnknownProduct
                | Self::ClockForward
                | Self::DoubledHour
                | Self::Overlap
                | Self::Gap
                | Self::ManyItems
                | Self::UnknownItem
        )
    }
}

/// A row with a defect.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[cfg_attr(
    feature = "schema",
    derive(schemars::JsonSchema),
    schemars(rename = "LogPlace")
)]
pub struct Place {
    /// The file.
    pub file: String,
    /// The row as an editor shows it; the header is 1.
    pub row: u64,
    /// The column.
    pub column: String,
    /// What stands there.
    pub found: String,
}

/// The rows of one kind.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(
    feature = "schema",
    derive(schemars::JsonSchema),
    schemars(rename = "DefectRows")
)]
pub struct Rows {
    /// How many.
    pub count: u64,
    /// Seconds they concern, where they concern time.
    pub seconds: f64,
    /// The first few.
    pub first: Vec<Place>,
}

/// All defects of a log.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Defects {
    /// By kind.
    pub kinds: BTreeMap<Kind, Rows>,
    /// Unknown words with their rows, the first thousand of each kind.
    pub words: BTreeMap<Kind, BTreeMap<String, u64>>,
}

impl Defects {
    /// One more row of a kind; `place` is only called while rows are listed.
    pub fn add(&mut self, kind: Kind, place: impl FnOnce() -> Place) {
        self.add_time(kind, 0.0, place);
    }

    /// One more row of a kind that concerns so many seconds.
    pub(crate) fn add_time(&mut self, kind: Kind, seconds: f64, place: impl FnOnce() -> Place) {
        let rows = self.kinds.entry(kind).or_default();
        rows.count += 1;
        rows.seconds += seconds;
        if rows.first.len() < LISTED {
            rows.first.push(place());
        }
    }

    /// One more row with an unknown word.
    pub fn word(&mut self, kind: Kind, word: &str) {
        let words = self.words.entry(kind).or_default();
        if let Some(count) = words.get_mut(word) {
            *count += 1;
        } else if words.len() < WORDS {
            words.insert(word.to_owned(), 1);
        }
    }

    /// Adds the defects of another part of the log, which lies behind.
    pub fn merge(&mut self, other: Self) {
        for (kind, rows) in other.kinds {
            let mine = self.kinds.entry(kind).or_default();
            mine.count += rows.count;
            mine.seconds += rows.seconds;
            mine.first.extend(rows.first);
            mine.first.sort();
            mine.first.truncate(LISTED);
        }
        for (kind, words) in other.words {
            let mine = self.words.entry(kind).or_default();
            for (word, count) in words {
                if mine.len() < WORDS || mine.contains_key(&word) {
                    *mine.entry(word).or_default() += count;
                }
            }
        }
    }

    /// Rows of a file that were made of other rows, as those: the row after the
    /// header was made of the first of `made_of`.
    pub(crate) fn renumber(&mut self, file: &str, made_of: &[u64]) {
        let places = self.kinds.values_mut().flat_map(|rows| &mut rows.first);
        for place in places.filter(|place| place.file == file) {
            let at = usize::try_from(place.row).unwrap_or(0).checked_sub(2);
            if let Some(row) = at.and_then(|at| made_of.get(at)) {
                place.row = *row;
            }
        }
    }

    /// How many rows of a kind.
    pub fn count(&self, kind: Kind) -> u64 {
        self.kinds.get(&kind).map_or(0, |rows| rows.count)
    }

    /// Rows left out.
    pub fn left_out(&self) -> u64 {
        let kinds = self.kinds.iter().filter(|(kind, _)| kind.leaves_out());
        kinds.map(|(_, rows)| rows.count).sum()
    }

    /// The different words of a kind with their rows, the most frequent first.
    fn told(&self, kind: Kind) -> String {
        const MOST: usize = 10;
        let Some(words) = self.words.get(&kind).filter(|words| words.len() > 1) else {
            return String::new();
        };
        let mut ranked: Vec<(&String, &u64)> = words.iter().collect();
        ranked.sort_by(|a, b| b.1.cmp(a.1).then(a.0.cmp(b.0)));
        let listed = ranked.iter().take(MOST);
        let listed: Vec<String> = listed
            .map(|(word, rows)| format!("{word} {rows}"))
            .collect();
        let more = ranked.len().saturating_sub(MOST);
        let rest = if more > 0 {
            format!(" and {more} more")
        } else {
            String::new()
        };
        format!("; by word: {}{rest}", listed.join(", "))
    }

    /// As notes with file, row, value and way out; names are the right ones
    /// that a misspelt word may mean.
    pub fn problems(&self, names: &[&str]) -> Vec<Problem> {
        let mut problems = Vec::new();
        for (kind, rows) in &self.kinds {
            let (expected, mend) = kind.words();
            let time = if rows.seconds > 0.0 {
                format!(", {:.0} s in all", rows.seconds)
            } else {
                String::new()
            };
            for (n, place) in rows.first.iter().enumerate() {
                let nearest = (*kind == Kind::UnknownStation)
                    .then(|| units::nearest(&place.found, names.iter().copied()))
                    .flatten();
                let more = if n == 0 && rows.count > 1 {
                    let words = self.told(*kind);
                    format!(" (the first of {} such rows{time}{words})", rows.count)
                } else {
                    String::new()
                };
                problems.push(Problem {
                    code: format!("log/{}", kind.code()),
                    severity: Severity::Note,
                    table: place.file.clone(),
                    row: u32::try_from(place.row).ok(),
                    column: Some(place.column.clone()).filter(|c| !c.is_empty()),
                    found: format!("{}{more}", place.found),
                    expected: expected.to_owned(),
                    mend: mend.to_owned(),
                    nearest: nearest.map(str::to_owned),
                });
            }
        }
        problems
    }
}

/// What was found, as a message shows it.
pub(crate) fn shown(text: &str) -> String {
    text.chars().take(80).collect()
}

/// An error that leaves nothing to read.
pub fn refusal(file: &str, what: &str, found: &str, expected: &str, mend: &str) -> Problem {
    Problem {
        code: format!("log/{what}"),
        severity: Severity::Error,
        table: file.to_owned(),
        row: None,
        column: None,
        found: found.to_owned(),
        expected: expected.to_owned(),
        mend: mend.to_owned(),
        nearest: None,
    }
}
