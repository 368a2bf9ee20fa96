//! `linewright solve strip`.

use std::sync::atomic::AtomicBool;
use std::time::Instant;

use strip::Watch;
use strip::question::{self, Answer as Laid, Status};

use super::{malformed, read, under_limit, written};
use crate::arguments::SolveArguments;
use crate::crew;
use crate::interrupt;
use crate::outcome::{Answer, Failure};

/// Part of a limit that the search may use: the rest is for reading, measuring
/// the layouts anew, and writing.
const SEARCH_SHARE: f64 = 0.95;

/// Answers a question on strip layout. What is found when the time is over, or
/// when Ctrl-C is pressed, is the answer: it is measured like any other.
#[allow(clippy::disallowed_methods, reason = "the face measures the time")]
pub(super) fn strip(asked: &SolveArguments) -> Result<Answer, Failure> {
    let start = Instant::now();
    let text = read(&asked.file)?;
    let question = question::parse(&text).map_err(|problems| malformed(&problems))?;
    let crew = crew::of(asked.threads)?;
    let progress = crew::laying();
    let lay = |cancel: &AtomicBool| {
        let watch = Watch {
            cancel,
            progress: &progress,
        };
        crew.work(|| question.lay(&watch))
    };
    let outcome = match asked.seconds {
        None => lay(interrupt::flag()),
        Some(seconds) => under_limit(start, seconds * SEARCH_SHARE, lay),
    };
    crew::wipe();
    let outcome = outcome.map_err(|problems| malformed(&problems))?;
    let answer = Laid::of(&question, &outcome);
    let holds = answer.status != Status::Infeasible;
    written(asked, start, answer, holds)
}
