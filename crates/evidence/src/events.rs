//! Event logs of the open standards: XES (IEEE 1849-2016) and OCEL 2.0, as JSON
//! and XML, turned into rows of a state log.
//!
//! An event is at a station: its resource (`org:resource`, or an attribute
//! `station` or `resource`), else its own name (`concept:name`, the event's
//! type). Its lifecycle says what it is: `start` and `complete` enclose work,
//! `suspend` and `resume` a stop; without a lifecycle an event says only that
//! the item was there. The item is the trace, or the first object of the event.

mod ocel;
mod xes;

use std::collections::BTreeMap;

use book::Problem;

use crate::defects::refusal;

pub use ocel::{json as ocel_json, xml as ocel_xml};
pub use xes::xes;

/// An event.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Event {
    /// The item it happened to.
    pub item: String,
    /// Where.
    pub station: String,
    /// When, as the file says it.
    pub time: String,
    /// `start`, `complete`, `suspend`, `resume`, or empty.
    pub lifecycle: String,
    /// What kind of item, where the file says so.
    pub product: String,
}

/// An event log.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct EventLog {
    /// Events in the order of the file.
    pub events: Vec<Event>,
    /// Which object is made of which.
    pub parts: Vec<(String, String)>,
}

/// A state log and a genealogy, as CSV, made of an event log.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct AsCsv {
    /// `states.csv`.
    pub states: String,
    /// `genealogy.csv`.
    pub genealogy: String,
    /// Events without a beginning or an end to pair with.
    pub unpaired: u64,
}

impl EventLog {
    /// Pairs starts with ends. Stamps stay as they are; they are read, checked
    /// and listed like those of any state log.
    pub fn as_csv(&self) -> AsCsv {
        let mut rows: Vec<(&str, &str, String)> = Vec::new();
        let mut open: BTreeMap<(&str, &str), (&str, &'static str)> = BTreeMap::new();
        let mut unpaired = 0;
        let mut spans: BTreeMap<&str, (&str, &str, &str)> = BTreeMap::new();
        for event in &self.events {
            let time = event.time.as_str();
            let span = spans
                .entry(&event.item)
                .or_insert((time, time, &event.product));
            (span.0, span.1) = (span.0.min(time), span.1.max(time));
            let key = (event.station.as_str(), event.item.as_str());
            let next = match event.lifecycle.to_ascii_lowercase().as_str() {
                "start" | "resume" => Some("working"),
                "suspend" => Some("stopped"),
                "complete" => None,
                _ => continue,
            };
            match open.remove(&key) {
                Some((from, state)) => {
                    let cells = [
                        &event.station,
                        "",
                        from,
                        time,
                        state,
                        "",
                        &event.product,
                        &event.item,
                    ];
                    rows.push((from, &event.station, cells.map(cell).join(",")));
                }
                None if next.is_none() => unpaired += 1,
                None => {}
            }
            if let Some(state) = next {
                open.insert(key, (time, state));
            }
        }
        unpaired += open.len() as u64;
        rows.sort_by(|a, b| (a.0, a.1).cmp(&(b.0, b.1)));
        let mut states = "station,unit,from,to,state,cause,product,item\n".to_owned();
        for (_, _, row) in &rows {
            states += row;
            states.push('\n');
        }
        AsCsv {
            states,
            genealogy: self.genealogy(&spans),
            unpaired,
        }
    }

    /// Items with their first and last event and what they are made of.
    fn genealogy(&self, spans: &BTreeMap<&str, (&str, &str, &str)>) -> String {
        let mut made_of: BTreeMap<&str, Vec<&str>> = BTreeMap::new();
        for (item, part) in &self.parts {
            made_of.entry(item).or_default().push(part);
        }
        let mut genealogy = "item,product,began,time,made_of\n".to_owned();
        for (item, (from, to, product)) in spans {
            let parts = made_of
                .get(item)
                .map_or_else(String::new, |parts| parts.join(";"));
            let cells = [item, product, from, to, parts.as_str()];
            genealogy += &cells.map(cell).join(",");
            genealogy.push('\n');
        }
        genealogy
    }
}

fn cell(text: &str) -> String {
    let text = text.replace(['\n', '\r'], " ");
    if text.contains([',', '"']) {
        format!("\"{}\"", text.replace('"', "\"\""))
    } else {
        text
    }
}

/// Reads an event log by the ending of its file's name: `.xes`, `.json` or
/// `.jsonocel`, `.xml` or `.xmlocel`. None for any other ending.
pub fn read(file: &str, bytes: &[u8]) -> Option<Result<EventLog, Problem>> {
    let ending = file.rsplit('.').next().unwrap_or("").to_ascii_lowercase();
    let reader = match ending.as_str() {
        "xes" => xes,
        "json" | "jsonocel" => ocel_json,
        "xml" | "xmlocel" => ocel_xml,
        _ => return None,
    };
    let text = match std::str::from_utf8(bytes) {
        Ok(text) => text,
        Err(error) => {
            return Some(Err(not_understood(
                file,
                &format!("byte {} is not UTF-8 text", error.valid_up_to()),
            )));
        }
    };
    Some(match reader(text) {
        Ok(log) if log.events.is_empty() => Err(refusal(
            file,
            "empty",
            "no event",
            "events with a time and a station or a name",
            "export the log again, for a time in which the plant ran",
        )),
        Ok(log) => Ok(log),
        Err(why) => Err(not_understood(file, &why)),
    })
}

fn not_understood(file: &str, why: &str) -> Problem {
    refusal(
        file,
        "not-understood",
        why,
        "an event log: XES (.xes) or OCEL 2.0 (.json, .xml)",
        "export it anew in one of these forms",
    )
}

#[cfg(test)]
mod tests;
