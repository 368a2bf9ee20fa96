//! Event logs of the open standards: XES (IEEE 1849-2016) and OCEL 2.0, as JSON
//! and XML, turned into rows of a state log.
//!
//! An event is at the station of its attribute `station`, of its resource
//! (`org:resource`, or `resource`), or of its own name (`concept:name`, the
//! event's type): the first of these that the book knows, so that a person as
//! resource hides no station. Its lifecycle says what it is: `start` and
//! `complete` enclose work, `suspend` and `resume` a stop; without a lifecycle
//! an event says only that the item was there. The item is the trace, or of
//! several objects the one that is a product of the book.

mod ocel;
mod rows;
mod xes;
mod xml;

use std::collections::BTreeMap;

use book::Problem;

use crate::defects::refusal;

pub use ocel::{json as ocel_json, xml as ocel_xml};
pub use rows::{AsCsv, Odd};
pub use xes::xes;

/// An event.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Event {
    /// Its place among the events of the file, from 1.
    pub number: u64,
    /// The items it happened to, in the order of the file.
    pub items: Vec<String>,
    /// What may name its station: the attribute, the resource, the event's name.
    pub stations: [String; 3],
    /// Which of the station's units; empty where the file does not say.
    pub unit: String,
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
    /// What kind of item each object is.
    pub kinds: BTreeMap<String, String>,
    /// When an item was finished, where the file says so of the item itself.
    pub finished: BTreeMap<String, String>,
}

/// Reads an event log by the ending of its file's name: `.xes`, `.json` or
/// `.jsonocel`, `.xml` or `.xmlocel`. None for any other ending.
///
/// # Errors
/// The one reason why it is no log: the text is not UTF-8, not sound XML or JSON,
/// cut off, of another form than its name says, or without an event. The problem
/// names line, element or object, what was found and expected, and what mends it.
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
        Err(error) => return Some(Err(no_text(file, bytes, error.valid_up_to()))),
    };
    // Some programs put a mark before the first letter.
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    Some(match reader(file, text) {
        Ok(log) if log.events.is_empty() => Err(refusal(
            file,
            "empty",
            "no event",
            "events with a time and a station or a name",
            "export the log again, for a time in which the plant ran",
        )),
        read => read,
    })
}

/// A byte that begins no letter.
fn no_text(file: &str, bytes: &[u8], at: usize) -> Problem {
    let lines = memchr::memchr_iter(b'\n', &bytes[..at]).count() + 1;
    Problem {
        row: u32::try_from(lines).ok(),
        ..not_understood(
            file,
            &format!("byte {at} is not UTF-8 text"),
            "text in UTF-8",
            "save the file as UTF-8; unpack it first if it is packed",
        )
    }
}

/// Why a file is no event log.
fn not_understood(file: &str, found: &str, expected: &str, mend: &str) -> Problem {
    refusal(file, "not-understood", found, expected, mend)
}

#[cfg(test)]
mod tests;
