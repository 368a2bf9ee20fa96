//! `linewright solve balance`.

use std::sync::atomic::AtomicBool;
use std::time::Instant;

use balance::question::{self, Status};
use balance::{Limits, Watch};

use super::{malformed, read, under_limit, written};
use crate::arguments::SolveArguments;
use crate::crew;
use crate::interrupt;
use crate::outcome::{Answer, Failure};

/// Part of a limit that the search may use: the rest is for reading, for the
/// threads to put down what they hold, and for writing.
const SEARCH_SHARE: f64 = 0.97;

/// Megabytes for remembered states: little enough for an office machine, more
/// than most lines need.
const MEMORY_MB: u32 = 1_000;

/// Answers a question on balance. What is found when the time is over, or when
/// Ctrl-C is pressed, is the answer, with its bound. A seed changes nothing:
/// the search draws no lots.
#[allow(clippy::disallowed_methods, reason = "the face measures the time")]
pub(super) fn balance(asked: &SolveArguments) -> Result<Answer, Failure> {
    let start = Instant::now();
    let text = read(&asked.file)?;
    let question = question::parse(&text).map_err(|problems| malformed(&problems))?;
    let crew = crew::of(asked.threads)?;
    let progress = crew::balancing();
    let limits = Limits {
        memory_mb: MEMORY_MB,
        steps: None,
    };
    let answer = |cancel: &AtomicBool| {
        let watch = Watch {
            cancel,
            progress: &progress,
        };
        crew.work(|| question.solve(&limits, &watch))
    };
    let answer = match asked.seconds {
        None => answer(interrupt::flag()),
        Some(seconds) => under_limit(start, seconds * SEARCH_SHARE, answer),
    };
    crew::wipe();
    let holds = answer.status != Status::Infeasible;
    written(asked, start, answer, holds)
}
