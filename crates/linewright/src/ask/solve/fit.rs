//! `linewright solve fit`.

use std::time::Instant;

use evidence::fit::question;

use super::{malformed, read, written};
use crate::arguments::SolveArguments;
use crate::outcome::{Answer, Failure};

/// Answers a question on times.
#[allow(clippy::disallowed_methods, reason = "the face measures the time")]
pub(super) fn fit(asked: &SolveArguments) -> Result<Answer, Failure> {
    let start = Instant::now();
    let text = read(&asked.file)?;
    let question = question::parse(&text).map_err(|problems| malformed(&problems))?;
    let answer = question.answer();
    let holds = answer.best_family.is_some();
    written(asked, start, answer, holds)
}
