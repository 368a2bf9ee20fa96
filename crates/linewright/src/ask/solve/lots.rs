//! `linewright solve lots`.

use std::time::Instant;

use lots::Watch;
use lots::question::{self, Status};

use super::{malformed, read, under_limit, written};
use crate::arguments::SolveArguments;
use crate::crew;
use crate::interrupt;
use crate::outcome::{Answer, Failure};

/// Part of a limit that the search may use: the rest is for reading, the proof
/// by replay, and writing.
const SEARCH_SHARE: f64 = 0.97;

/// Answers a question on lots. What is found when the time is over, or when
/// Ctrl-C is pressed, is the answer: it holds like any other.
#[allow(clippy::disallowed_methods, reason = "the face measures the time")]
pub(super) fn lots(asked: &SolveArguments) -> Result<Answer, Failure> {
    let start = Instant::now();
    let text = read(&asked.file)?;
    let mut question = question::parse(&text).map_err(|problems| malformed(&problems))?;
    if let Some(seed) = asked.seed {
        question.reseed(seed);
    }
    let crew = crew::of(asked.threads)?;
    let settings = question.settings();
    let progress = crew::searching();
    let answer = |cancel: &std::sync::atomic::AtomicBool| {
        let watch = Watch {
            cancel,
            progress: &progress,
        };
        crew.work(|| question.answer(&settings, &watch))
    };
    let answer = match asked.seconds {
        None => answer(interrupt::flag()),
        Some(seconds) => under_limit(start, seconds * SEARCH_SHARE, answer),
    };
    crew::wipe();
    let holds = answer.status != Status::Infeasible;
    written(asked, start, answer, holds)
}
