//! How another log's columns and words are read: told once, kept in a file.
//!
//! `log_map.csv` lies beside the log and has three columns, `what`, `theirs`
//! and `ours`:
//!
//! ```text
//! what,theirs,ours
//! column,Maschine,station
//! column,Beginn,from
//! state,RUN,working
//! station,OP10,CF-02 floor set
//! product,DL1,Dunlin
//! cause,Greifer,gripper
//! result,NOK,rework
//! zone,,+01:00 eu
//! ```

use std::collections::BTreeMap;

use book::{Problem, Severity};
use serde::Serialize;

use crate::read::QualityResult as Found;
use crate::state::State;
use crate::time::Zone;

/// The file's name.
pub const FILE: &str = "log_map.csv";

/// The columns of the four tables of a log, as `log_map.csv` may name them.
pub const COLUMNS: [&str; 15] = [
    "station", "unit", "from", "to", "state", "cause", "product", "item", "time", "made", "rework",
    "scrap", "result", "began", "made_of",
];

/// A log's words in ours.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct LogMap {
    /// Columns by the other log's name.
    pub columns: BTreeMap<String, String>,
    /// States by the other log's word.
    pub states: BTreeMap<String, State>,
    /// Stations by the other log's name.
    pub stations: BTreeMap<String, String>,
    /// Products by the other log's word.
    pub products: BTreeMap<String, String>,
    /// Causes by the other log's word.
    pub causes: BTreeMap<String, String>,
    /// Results of quality by the other log's word.
    pub results: BTreeMap<String, Found>,
    /// The plant's clock; universal time unless told otherwise.
    #[serde(skip)]
    pub zone: Zone,
}

impl LogMap {
    /// Reads a map; every mistake at once.
    ///
    /// # Errors
    /// The list of rows that say nothing understandable.
    pub fn read(file: &str, bytes: &[u8]) -> Result<Self, Vec<Problem>> {
        let table = book::read_csv_bytes(file, bytes).map_err(|error| vec![error.problem()])?;
        let mut map = Self::default();
        let mut problems = Vec::new();
        if table.columns != ["what", "theirs", "ours"] {
            return Err(vec![problem(
                file,
                1,
                "what",
                &table.columns.join(","),
                "the header what,theirs,ours",
                "write that header",
            )]);
        }
        for row in &table.rows {
            let cell = |i: usize| row.cells.get(i).map_or("", |c| c.trim());
            if let Err((column, expected)) = map.tell(cell(0), cell(1), cell(2)) {
                let found = if column == "what" { cell(0) } else { cell(2) };
                problems.push(problem(
                    file,
                    row.line,
                    column,
                    found,
                    &expected,
                    "correct the cell",
                ));
            }
        }
        if problems.is_empty() {
            Ok(map)
        } else {
            Err(problems)
        }
    }

    /// Takes one row in; else the column that is not understood and what was
    /// expected there.
    fn tell(&mut self, what: &str, theirs: &str, ours: &str) -> Result<(), (&'static str, String)> {
        let wrong = |expected: &str| ("ours", expected.to_owned());
        let names = match what {
            "column" if COLUMNS.contains(&ours) => &mut self.columns,
            "column" => return Err(wrong(&COLUMNS.join(", "))),
            "station" => &mut self.stations,
            "product" => &mut self.products,
            "cause" => &mut self.causes,
            "state" => {
                let states = "working, setup, stopped, waiting, starved, blocked or off";
                let state = State::parse(ours).ok_or_else(|| wrong(states))?;
                self.states.insert(theirs.to_owned(), state);
                return Ok(());
            }
            "result" => {
                let result = Found::parse(ours).ok_or_else(|| wrong("ok, rework or scrap"))?;
                self.results.insert(theirs.to_owned(), result);
                return Ok(());
            }
            "zone" => {
                let offset = "an offset such as `+01:00`, `+01:00 eu` or `Z`";
                self.zone = Zone::parse(ours).ok_or_else(|| wrong(offset))?;
                return Ok(());
            }
            _ => {
                let kinds = "column, state, station, product, cause, result or zone";
                return Err(("what", kinds.to_owned()));
            }
        };
        names.insert(theirs.to_owned(), ours.to_owned());
        Ok(())
    }

    /// The state of a word: the log's own words first.
    pub fn state(&self, word: &str) -> Option<State> {
        self.states
            .get(word)
            .copied()
            .or_else(|| State::parse(word))
    }

    /// Our word of a cause.
    #[inline]
    pub fn cause<'a>(&'a self, word: &'a [u8]) -> &'a [u8] {
        if self.causes.is_empty() {
            return word;
        }
        let text = std::str::from_utf8(word).ok();
        let ours = text.and_then(|text| self.causes.get(text.trim()));
        ours.map_or(word, |ours| ours.as_bytes())
    }

    /// The result of a word: the log's own words first.
    pub fn result(&self, word: &str) -> Option<Found> {
        let own = self.results.get(word).copied();
        own.or_else(|| Found::parse(word))
    }

    /// Our name of a column.
    pub fn column<'a>(&'a self, theirs: &'a str) -> &'a str {
        self.columns.get(theirs).map_or(theirs, String::as_str)
    }
}

fn problem(file: &str, row: u32, column: &str, found: &str, expected: &str, mend: &str) -> Problem {
    Problem {
        code: "log_map/not-understood".to_owned(),
        severity: Severity::Error,
        table: file.to_owned(),
        row: Some(row),
        column: Some(column.to_owned()),
        found: found.to_owned(),
        expected: expected.to_owned(),
        mend: mend.to_owned(),
        nearest: None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn another_logs_words_are_told_once() {
        let text =
            "what,theirs,ours\ncolumn,Maschine,station\nstate,RUN,working\nzone,,+01:00 eu\n";
        let map = LogMap::read(FILE, text.as_bytes()).unwrap();
        assert_eq!(map.column("Maschine"), "station");
        assert_eq!(map.column("from"), "from");
        assert_eq!(map.state("RUN"), Some(State::Working));
        assert_eq!(map.state("blocked"), Some(State::Blocked));
        assert_eq!(map.zone.ahead_min, 60);
    }

    #[test]
    fn every_mistake_of_a_map_is_named_with_its_row() {
        let text = "what,theirs,ours\ncolumn,Maschine,machine\nstate,RUN,going\nzone,,Berlin\ncolour,a,b\nresult,NOK,bad\n";
        let problems = LogMap::read(FILE, text.as_bytes()).unwrap_err();
        let rows: Vec<_> = problems.iter().map(|p| p.row).collect();
        assert_eq!(rows, [Some(2), Some(3), Some(4), Some(5), Some(6)]);
        assert!(LogMap::read(FILE, b"a,b\n1,2\n").is_err());
    }
}
