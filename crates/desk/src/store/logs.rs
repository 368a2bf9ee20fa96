//! Logs of the plant: which files they are made of, how their words are read,
//! what was noted of their days. The rows themselves lie in files beside the store.

use std::collections::BTreeMap;

use evidence::day::LossKind;
use evidence::map::{COLUMNS, LogMap};
use evidence::read::QualityResult;
use evidence::state::State;
use evidence::time::{Zone, parse_day};
use rusqlite::{OptionalExtension as _, Row, params};
use serde::{Deserialize, Serialize};

use super::Store;
use super::digest::{Digest, Fields};
use super::fault::StoreError;
use crate::clock;

/// Files of one log.
const MOST_FILES: usize = 400;
/// Words that a reader maps.
const MOST_WORDS: usize = 20_000;
/// Letters of a word, a name or a note.
const LETTERS: usize = 300;

/// What a file of a log is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub(crate) enum FileRole {
    /// States of stations.
    States,
    /// Jobs done, counted.
    Counts,
    /// What was found of single jobs.
    Quality,
    /// Items, when they began and ended.
    Genealogy,
    /// An event log of an open standard.
    Events,
}

impl FileRole {
    /// All that are told apart by their columns.
    pub(crate) const TABLES: [Self; 4] =
        [Self::States, Self::Counts, Self::Quality, Self::Genealogy];

    /// The columns that such a file must have, and those that it may have.
    pub(crate) fn columns(self) -> (&'static [&'static str], &'static [&'static str]) {
        match self {
            Self::States => (
                &["station", "from", "state"],
                &["unit", "to", "cause", "product", "item"],
            ),
            Self::Counts => (&["station", "time", "made"], &["rework", "scrap"]),
            Self::Quality => (&["station", "time", "result"], &["cause"]),
            Self::Genealogy => (&["item", "began"], &["time", "made_of", "product"]),
            Self::Events => (&[], &[]),
        }
    }

    fn word(self) -> &'static str {
        match self {
            Self::States => "states",
            Self::Counts => "counts",
            Self::Quality => "quality",
            Self::Genealogy => "genealogy",
            Self::Events => "events",
        }
    }
}

/// A file of a log.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub(crate) struct LogFile {
    /// Its name.
    pub name: String,
    /// The SHA-256 of its bytes.
    pub digest: String,
    /// Their number.
    pub bytes: u64,
    /// What it is.
    pub role: FileRole,
    /// Its columns; none of an event log.
    pub columns: Vec<String>,
}

/// How a log's own words are read.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(default, deny_unknown_fields)]
pub(crate) struct LogWords {
    /// Our columns by theirs.
    pub columns: BTreeMap<String, String>,
    /// Our states by theirs.
    pub states: BTreeMap<String, State>,
    /// Our stations by theirs.
    pub stations: BTreeMap<String, String>,
    /// Our products by theirs.
    pub products: BTreeMap<String, String>,
    /// Our causes by theirs.
    pub causes: BTreeMap<String, String>,
    /// Results of quality by their words.
    pub results: BTreeMap<String, QualityResult>,
    /// The plant's clock, such as `+01:00 eu`; universal time where empty.
    pub zone: String,
}

impl LogWords {
    /// As readers of logs take them.
    pub(crate) fn map(&self) -> LogMap {
        LogMap {
            columns: self.columns.clone(),
            states: self.states.clone(),
            stations: self.stations.clone(),
            products: self.products.clone(),
            causes: self.causes.clone(),
            results: self.results.clone(),
            zone: Zone::parse(&self.zone).unwrap_or_default(),
        }
    }

    /// Of a `log_map.csv`; its zone stands apart since a map holds it read.
    pub(crate) fn of(map: LogMap, zone: String) -> Self {
        Self {
            columns: map.columns,
            states: map.states,
            stations: map.stations,
            products: map.products,
            causes: map.causes,
            results: map.results,
            zone,
        }
    }

    /// These words with others where they say nothing.
    pub(crate) fn or(mut self, other: &Self) -> Self {
        fn fill<V: Clone>(mine: &mut BTreeMap<String, V>, theirs: &BTreeMap<String, V>) {
            for (word, meaning) in theirs {
                mine.entry(word.clone()).or_insert_with(|| meaning.clone());
            }
        }
        fill(&mut self.columns, &other.columns);
        fill(&mut self.states, &other.states);
        fill(&mut self.stations, &other.stations);
        fill(&mut self.products, &other.products);
        fill(&mut self.causes, &other.causes);
        fill(&mut self.results, &other.results);
        if self.zone.is_empty() {
            self.zone.clone_from(&other.zone);
        }
        self
    }

    fn checked(&self) -> Result<(), StoreError> {
        let refuse = |what: String| Err(StoreError::Refused(what));
        if let Some((theirs, ours)) = self
            .columns
            .iter()
            .find(|(_, ours)| !COLUMNS.contains(&ours.as_str()))
        {
            return refuse(format!(
                "column `{theirs}` is read as `{ours}`; expected one of {}",
                COLUMNS.join(", ")
            ));
        }
        if !self.zone.is_empty() && Zone::parse(&self.zone).is_none() {
            return refuse(format!(
                "the clock is `{}`; expected an offset such as `+01:00`, `+01:00 eu` or `Z`",
                self.zone
            ));
        }
        let words = self.columns.len() + self.states.len();
        let words = words + self.causes.len() + self.results.len();
        if words + self.stations.len() + self.products.len() > MOST_WORDS {
            return refuse(format!("more than {MOST_WORDS} words are mapped"));
        }
        Ok(())
    }
}

/// A log as it is sent: files that were taken in before.
#[derive(Clone, Debug, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub(crate) struct NewLog {
    /// Its name.
    pub name: String,
    /// Who brings it.
    pub author: String,
    /// Its files.
    pub files: Vec<LogFile>,
    /// How its words are read.
    #[serde(default)]
    pub words: LogWords,
}

/// A log that is kept.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub(crate) struct LogEntry {
    /// Its number.
    pub id: i64,
    /// Its name.
    pub name: String,
    /// Who brought it.
    pub author: String,
    /// When, as RFC 3339 in UTC.
    pub time: String,
    /// Its files.
    pub files: Vec<LogFile>,
    /// How its words are read.
    pub words: LogWords,
}

/// What is remembered of a header.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub(crate) struct Remembered {
    pub(crate) role: FileRole,
    pub(crate) words: LogWords,
}

/// What was decided about a loss of a day.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub(crate) struct LogNote {
    /// The day, such as 2026-03-10.
    pub day: String,
    /// The station; empty where it is of the whole day.
    pub station: String,
    /// The kind of loss.
    pub kind: LossKind,
    /// Its cause; empty for none.
    pub cause: String,
    /// What is to be done; empty takes the note away.
    pub what: String,
    /// Who does it.
    #[serde(default)]
    pub who: String,
    /// Until when.
    #[serde(default)]
    pub until: String,
}

impl LogNote {
    /// The loss that it is of.
    fn loss(&self) -> Digest {
        let kind = serde_json::to_string(&self.kind).unwrap_or_default();
        let mut fields = Fields::new("loss");
        for text in [&self.station, &kind, &self.cause] {
            fields.text(text);
        }
        fields.finish()
    }

    fn checked(&self) -> Result<(), StoreError> {
        let texts = [
            &self.station,
            &self.cause,
            &self.what,
            &self.who,
            &self.until,
        ];
        if texts.iter().any(|text| text.chars().count() > LETTERS) {
            return Err(StoreError::Refused(format!(
                "a note has at most {LETTERS} letters"
            )));
        }
        if parse_day(&self.day).is_none() {
            return Err(StoreError::Refused(format!(
                "the day is `{}`; expected a date such as 2026-03-10",
                self.day
            )));
        }
        Ok(())
    }
}

fn header(columns: &[String]) -> Digest {
    let mut fields = Fields::new("header of a log");
    columns.iter().for_each(|column| fields.text(column));
    fields.finish()
}

/// The name of a log: its files with what each is.
fn name_of(files: &[LogFile]) -> Digest {
    let mut parts: Vec<(&str, &str)> = files
        .iter()
        .map(|file| (file.digest.as_str(), file.role.word()))
        .collect();
    parts.sort_unstable();
    let mut fields = Fields::new("log");
    for (digest, role) in parts {
        fields.text(digest);
        fields.text(role);
    }
    fields.finish()
}

fn json(what: &impl Serialize) -> Result<String, StoreError> {
    serde_json::to_string(what).map_err(|error| StoreError::Refused(error.to_string()))
}

fn damaged(error: &serde_json::Error) -> StoreError {
    StoreError::Damaged(error.to_string())
}

fn entry(row: &Row<'_>) -> Result<LogEntry, StoreError> {
    let (files, words): (String, String) = (row.get(4)?, row.get(5)?);
    Ok(LogEntry {
        id: row.get(0)?,
        name: row.get(1)?,
        author: row.get(2)?,
        time: clock::rfc3339(row.get(3)?),
        files: serde_json::from_str(&files).map_err(|error| damaged(&error))?,
        words: serde_json::from_str(&words).map_err(|error| damaged(&error))?,
    })
}

const ENTRY: &str = "SELECT id, name, author, time_ms, files, words FROM log";

fn no_log(id: i64) -> StoreError {
    StoreError::Unknown(format!("there is no log {id}"))
}

impl Store {
    /// All logs, newest first.
    pub(crate) fn logs(&self) -> Result<Vec<LogEntry>, StoreError> {
        self.read(|connection| {
            let mut all = connection.prepare_cached(&format!("{ENTRY} ORDER BY id DESC"))?;
            let mut rows = all.query([])?;
            let mut logs = Vec::new();
            while let Some(row) = rows.next()? {
                logs.push(entry(row)?);
            }
            Ok(logs)
        })
    }

    /// A log.
    pub(crate) fn log(&self, id: i64) -> Result<LogEntry, StoreError> {
        self.read(|connection| {
            let mut one = connection.prepare_cached(&format!("{ENTRY} WHERE id = ?1"))?;
            let mut rows = one.query([id])?;
            rows.next()?.map_or_else(|| Err(no_log(id)), entry)
        })
    }

    /// Keeps a log and remembers how its headers are read; the same files again are
    /// the same log.
    pub(crate) fn add_log(&self, new: &NewLog) -> Result<LogEntry, StoreError> {
        let refuse = |what: &str| Err(StoreError::Refused(what.to_owned()));
        if new.name.trim().is_empty() || new.name.chars().count() > LETTERS {
            return refuse("a log needs a name of at most 300 letters");
        }
        if new.author.trim().is_empty() || new.author.chars().count() > LETTERS {
            return refuse("a log needs an author");
        }
        if new.files.len() > MOST_FILES {
            return refuse("a log has at most 400 files");
        }
        let roles = |role: FileRole| new.files.iter().filter(|file| file.role == role).count();
        if roles(FileRole::States) + roles(FileRole::Events) == 0 {
            return refuse("a log needs a file of states, or an event log");
        }
        let twice = [FileRole::Counts, FileRole::Quality, FileRole::Genealogy];
        if let Some(role) = twice.into_iter().find(|role| roles(*role) > 1) {
            return Err(StoreError::Refused(format!(
                "a log has one file of {}; join the {} given",
                role.word(),
                roles(role)
            )));
        }
        new.words.checked()?;
        let digest = name_of(&new.files);
        let (files, words) = (json(&new.files)?, json(&new.words)?);
        let id = self.write(|transaction| {
            remember(transaction, &new.files, &new.words)?;
            let known: Option<i64> = transaction
                .query_row("SELECT id FROM log WHERE digest = ?1", [digest], |row| {
                    row.get(0)
                })
                .optional()?;
            if let Some(id) = known {
                transaction.execute(
                    "UPDATE log SET words = ?2 WHERE id = ?1",
                    params![id, words],
                )?;
                return Ok(id);
            }
            transaction.execute(
                "INSERT INTO log (name, author, time_ms, digest, files, words)
                 VALUES (?1, ?2, ?3, ?4, ?5, ?6)",
                params![
                    new.name.trim(),
                    new.author.trim(),
                    clock::now_ms(),
                    digest,
                    files,
                    words
                ],
            )?;
            Ok(transaction.last_insert_rowid())
        })?;
        self.log(id)
    }

    /// Reads a log's words otherwise from now on, and those of logs with its headers.
    pub(crate) fn set_log_words(&self, id: i64, words: &LogWords) -> Result<LogEntry, StoreError> {
        words.checked()?;
        let log = self.log(id)?;
        let text = json(words)?;
        self.write(|transaction| {
            transaction.execute("UPDATE log SET words = ?2 WHERE id = ?1", params![id, text])?;
            remember(transaction, &log.files, words)
        })?;
        self.log(id)
    }

    /// How a header was read the last time.
    pub(crate) fn remembered(&self, columns: &[String]) -> Result<Option<Remembered>, StoreError> {
        let text: Option<String> = self.read(|connection| {
            Ok(connection
                .prepare_cached("SELECT remembered FROM log_header WHERE digest = ?1")?
                .query_row([header(columns)], |row| row.get(0))
                .optional()?)
        })?;
        text.map(|text| serde_json::from_str(&text).map_err(|error| damaged(&error)))
            .transpose()
    }

    /// Takes a log out with its notes; the files that no other log has.
    pub(crate) fn remove_log(&self, id: i64) -> Result<Vec<String>, StoreError> {
        let gone = self.log(id)?;
        self.write(|transaction| {
            transaction.execute("DELETE FROM log WHERE id = ?1", [id])?;
            Ok(())
        })?;
        let others = self.logs()?;
        let used = |digest: &String| {
            let mut files = others.iter().flat_map(|log| &log.files);
            files.any(|file| file.digest == *digest)
        };
        let digests = gone.files.into_iter().map(|file| file.digest);
        Ok(digests.filter(|digest| !used(digest)).collect())
    }

    /// What was noted of a day, in the order of writing.
    pub(crate) fn notes(&self, log: i64, day: &str) -> Result<Vec<LogNote>, StoreError> {
        self.read(|connection| {
            let mut all = connection.prepare_cached(
                "SELECT note FROM log_note WHERE log = ?1 AND day = ?2 ORDER BY time_ms, loss",
            )?;
            let rows = all.query_map(params![log, day], |row| row.get::<_, String>(0))?;
            rows.map(|text| serde_json::from_str(&text?).map_err(|error| damaged(&error)))
                .collect()
        })
    }

    /// Notes what is done about a loss, in the place of what was noted before.
    pub(crate) fn keep_note(&self, log: i64, note: &LogNote) -> Result<(), StoreError> {
        note.checked()?;
        self.log(log)?;
        let (loss, text) = (note.loss().to_string(), json(note)?);
        self.write(|transaction| {
            if note.what.trim().is_empty() {
                transaction.execute(
                    "DELETE FROM log_note WHERE log = ?1 AND day = ?2 AND loss = ?3",
                    params![log, note.day, loss],
                )?;
                return Ok(());
            }
            transaction.execute(
                "INSERT INTO log_note (log, day, loss, note, time_ms) VALUES (?1, ?2, ?3, ?4, ?5)
                 ON CONFLICT (log, day, loss) DO UPDATE SET note = excluded.note",
                params![log, note.day, loss, text, clock::now_ms()],
            )?;
            Ok(())
        })
    }
}

fn remember(
    transaction: &rusqlite::Transaction<'_>,
    files: &[LogFile],
    words: &LogWords,
) -> Result<(), StoreError> {
    for file in files.iter().filter(|file| !file.columns.is_empty()) {
        let remembered = Remembered {
            role: file.role,
            words: words.clone(),
        };
        transaction.execute(
            "INSERT OR REPLACE INTO log_header (digest, remembered) VALUES (?1, ?2)",
            params![header(&file.columns), json(&remembered)?],
        )?;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn file(name: &str, role: FileRole) -> LogFile {
        LogFile {
            name: name.to_owned(),
            digest: Digest::of(name.as_bytes()).to_string(),
            bytes: 10,
            role,
            columns: vec!["Maschine".to_owned(), name.to_owned()],
        }
    }

    fn new(files: Vec<LogFile>) -> NewLog {
        let mut words = LogWords::default();
        words.columns.insert("Maschine".into(), "station".into());
        words.states.insert("RUN".into(), State::Working);
        NewLog {
            name: "yesterday".into(),
            author: "Ada".into(),
            files,
            words,
        }
    }

    fn store() -> (tempfile::TempDir, Store) {
        let folder = tempfile::tempdir().unwrap();
        let store = Store::open(&folder.path().join("plant.lw")).unwrap();
        (folder, store)
    }

    #[test]
    fn a_log_is_kept_once_and_its_header_is_asked_about_once() {
        let (_folder, store) = store();
        let states = file("states.csv", FileRole::States);
        assert_eq!(store.remembered(&states.columns).unwrap(), None);
        let log = store.add_log(&new(vec![states.clone()])).unwrap();
        assert_eq!(
            store.add_log(&new(vec![states.clone()])).unwrap().id,
            log.id
        );
        let known = store.remembered(&states.columns).unwrap().unwrap();
        assert_eq!(known.role, FileRole::States);
        assert_eq!(known.words.states["RUN"], State::Working);
        assert_eq!(store.remove_log(log.id).unwrap(), [states.digest]);
        assert!(store.log(log.id).is_err() && store.logs().unwrap().is_empty());
    }

    #[test]
    fn a_log_without_states_or_with_two_counts_is_refused() {
        let (_folder, store) = store();
        let counts = || file("counts.csv", FileRole::Counts);
        assert!(store.add_log(&new(vec![counts()])).is_err());
        let states = file("states.csv", FileRole::States);
        let more = file("more.csv", FileRole::Counts);
        assert!(
            store
                .add_log(&new(vec![states.clone(), counts(), more]))
                .is_err()
        );
        let mut wrong = new(vec![states]);
        wrong.words.zone = "Berlin".into();
        assert!(store.add_log(&wrong).is_err());
    }

    #[test]
    fn a_note_stands_until_it_is_written_over_or_emptied() {
        let (_folder, store) = store();
        let log = store
            .add_log(&new(vec![file("s", FileRole::States)]))
            .unwrap();
        let mut note = LogNote {
            day: "2026-03-10".into(),
            station: "weld".into(),
            kind: LossKind::Stop,
            cause: "tip change".into(),
            what: "dress the tips at the break".into(),
            who: "Ines".into(),
            until: "Friday".into(),
        };
        store.keep_note(log.id, &note).unwrap();
        note.what = "order tips".into();
        store.keep_note(log.id, &note).unwrap();
        assert_eq!(store.notes(log.id, "2026-03-10").unwrap(), [note.clone()]);
        note.what.clear();
        store.keep_note(log.id, &note).unwrap();
        assert!(store.notes(log.id, "2026-03-10").unwrap().is_empty());
        note.day = "yesterday".into();
        assert!(store.keep_note(log.id, &note).is_err());
    }
}
