//! `linewright solve sequence`.

use std::sync::atomic::AtomicBool;
use std::time::Instant;

use sequence::question;
use sequence::{Settings, Watch};

use super::{malformed, read, under_limit, written};
use crate::arguments::SolveArguments;
use crate::crew;
use crate::interrupt;
use crate::outcome::{Answer, Failure};

/// Part of a limit that the search may use: the rest is for reading, for the
/// walkers to put down what they hold, and for writing.
const SEARCH_SHARE: f64 = 0.97;

/// Moves that a walker may try within a limit of time: more than there is time
/// for.
const NO_LIMIT: u64 = 1 << 50;

/// Answers a question on the build order. What is found when the time is over,
/// or when Ctrl-C is pressed, is the answer, with its bound. The answer holds
/// when all that must hold does.
#[allow(clippy::disallowed_methods, reason = "the face measures the time")]
pub(super) fn sequence(asked: &SolveArguments) -> Result<Answer, Failure> {
    let start = Instant::now();
    let text = read(&asked.file)?;
    let mut question = question::parse(&text).map_err(|problems| malformed(&problems))?;
    if let Some(seed) = asked.seed {
        question.reseed(seed);
    }
    let crew = crew::of(asked.threads)?;
    let progress = crew::ordering(asked.seconds.is_some());
    let usual = question.settings();
    // The search plans for the time that is left.
    let gone = || match asked.seconds {
        None => 0.0,
        Some(seconds) => start.elapsed().as_secs_f64() / (seconds * SEARCH_SHARE),
    };
    let answer = |cancel: &AtomicBool| {
        let watch = Watch {
            cancel,
            progress: &progress,
            gone: &gone,
        };
        crew.work(|| {
            let settings = match asked.seconds {
                None => usual,
                // What is found in time differs from run to run anyway, so each
                // thread gets a walker of its own.
                Some(_) => Settings {
                    steps: NO_LIMIT,
                    walkers: rayon::current_num_threads() as u32,
                    ..usual
                },
            };
            question.answer(&settings, &watch)
        })
    };
    let answer = match asked.seconds {
        None => answer(interrupt::flag()),
        Some(seconds) => under_limit(start, seconds * SEARCH_SHARE, answer),
    };
    crew::wipe();
    let holds = answer.broken_musts == 0;
    written(asked, start, answer, holds)
}
