//! Why there is no schedule.

use std::fmt;

use crate::Fault;
use crate::model::{ItemIdx, LineIdx, Problem};
use crate::overload::{LineOverload, Overload};
use crate::replay::Flaw;

/// Why there is no schedule.
#[derive(Clone, Debug, PartialEq)]
pub enum Refusal {
    /// Lines with too little time.
    Overloaded(Overload),
    /// Each item once a cycle takes longer than a limit on cover allows. Other
    /// timetables may do: see [`crate::best`].
    RotationTooLong {
        /// The line.
        line: LineIdx,
        /// Days of the shortest cycle that all changeovers and runs fit into.
        least_days: f64,
        /// Days of the tightest limit.
        most_days: f64,
        /// The item with that limit.
        item: ItemIdx,
    },
    /// There may be time enough, but no sequence was found that keeps the
    /// limits on cover.
    NotFound {
        /// The line that comes out worst.
        line: LineIdx,
        /// Longer by so many days, the limits on cover could all be kept.
        over_days: f64,
    },
    /// A change asked for makes no sense.
    Faulty(Vec<Fault>),
    /// The arithmetic failed to give a timetable that holds when replayed.
    Unsound(Flaw),
}

impl Refusal {
    /// The refusal in a sentence, with the names of the problem.
    pub fn worded(&self, problem: &Problem) -> String {
        let line_name = |line: &LineIdx| match problem.lines.get(line.at()) {
            Some(line) => format!("line \"{}\"", line.name),
            None => format!("line {}", line.0),
        };
        let item_name = |item: &ItemIdx| match problem.items.get(item.at()) {
            Some(item) => format!("\"{}\"", item.name),
            None => format!("item {}", item.0),
        };
        match self {
            Self::Overloaded(overload) => {
                let line = |over: &LineOverload| {
                    let name = line_name(&over.line);
                    format!("{name} lacks {:.4} days in each day", over.missing)
                };
                let lines: Vec<String> = overload.lines.iter().map(line).collect();
                format!("too little time: {}", lines.join(", "))
            }
            Self::RotationTooLong {
                line,
                least_days,
                most_days,
                item,
            } => format!(
                "making each item once takes {least_days:.4} days on {}, but a lot of {} may last {most_days:.4} days; make it more often than the others",
                line_name(line),
                item_name(item)
            ),
            Self::NotFound { line, over_days } => format!(
                "no sequence was found for {} that keeps every limit on cover; limits longer by {over_days:.4} days can be kept",
                line_name(line)
            ),
            Self::Faulty(faults) => {
                let all: Vec<String> = faults.iter().map(Fault::to_string).collect();
                all.join("; ")
            }
            Self::Unsound(flaw) => format!("the timetable does not hold when replayed: {flaw}"),
        }
    }
}

impl fmt::Display for Refusal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        // Without the problem at hand lines and items go by their numbers.
        f.write_str(&self.worded(&Problem::default()))
    }
}

impl std::error::Error for Refusal {}
