//! `linewright solve`: one JSON question to a solver, without a plant book.

mod balance;
mod fit;
mod flow;
mod lots;
mod sequence;
mod strip;

use std::io::Read as _;
use std::path::Path;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

use asked::Problem;
use serde::Serialize;

use crate::arguments::{SolveArguments, Solver};
use crate::folder;
use crate::interrupt;
use crate::outcome::{Answer, Failure};

/// Puts the question to its solver.
pub(crate) fn solve(solver: &Solver) -> Result<Answer, Failure> {
    type Put = fn(&SolveArguments) -> Result<Answer, Failure>;
    let (asked, put): (_, Put) = match solver {
        Solver::Flow(asked) => (asked, flow::flow),
        Solver::Strip(asked) => (asked, strip::strip),
        Solver::Lots(asked) => (asked, lots::lots),
        Solver::Balance(asked) => (asked, balance::balance),
        Solver::Sequence(asked) => (asked, sequence::sequence),
        Solver::Fit(asked) => (asked, fit::fit),
    };
    folder::must_be_new_and_end(&asked.out, "json")?;
    put(asked)
}

/// An answer with the time it took, which no solver knows.
#[derive(Serialize)]
struct Timed<T> {
    #[serde(flatten)]
    answer: T,
    wall_s: f64,
}

/// Writes the answer where it was asked for, with the time since the start.
fn written(
    asked: &SolveArguments,
    start: Instant,
    answer: impl Serialize,
    holds: bool,
) -> Result<Answer, Failure> {
    let timed = Timed {
        answer,
        wall_s: start.elapsed().as_secs_f64(),
    };
    let mut text = serde_json::to_string_pretty(&timed)
        .map_err(|error| Failure::usage(format!("cannot write the JSON: {error}")))?;
    text.push('\n');
    if let Some(path) = &asked.out {
        folder::write(path, text.as_bytes())?;
        text.clear();
    }
    Ok(Answer { text, holds })
}

/// Does work under a flag that is set when the time is over or Ctrl-C is
/// pressed, whichever comes first.
#[allow(clippy::disallowed_methods, reason = "the face keeps the time limit")]
pub(super) fn under_limit<T>(
    start: Instant,
    seconds: f64,
    work: impl FnOnce(&AtomicBool) -> T,
) -> T {
    let pressed = interrupt::flag();
    let over = AtomicBool::new(false);
    let done = AtomicBool::new(false);
    let limit = Duration::from_secs_f64(seconds);
    std::thread::scope(|scope| {
        scope.spawn(|| {
            // Short naps, so that neither the limit nor Ctrl-C waits for long.
            while !done.load(Ordering::Relaxed) {
                if start.elapsed() >= limit || pressed.load(Ordering::Relaxed) {
                    over.store(true, Ordering::Relaxed);
                    return;
                }
                let left = limit.saturating_sub(start.elapsed());
                std::thread::sleep(left.min(Duration::from_millis(20)));
            }
        });
        let result = work(&over);
        done.store(true, Ordering::Relaxed);
        result
    })
}

#[allow(
    clippy::disallowed_methods,
    reason = "reading the question is this command's job"
)]
fn read(file: &Path) -> Result<String, Failure> {
    let bytes = if file == Path::new("-") {
        let mut bytes = Vec::new();
        std::io::stdin()
            .lock()
            .read_to_end(&mut bytes)
            .map_err(|error| Failure::usage(format!("cannot read standard input: {error}")))?;
        bytes
    } else {
        std::fs::read(file).map_err(|error| Failure::file("read", file, error))?
    };
    String::from_utf8(bytes).map_err(|error| {
        Failure::usage(format!(
            "{}: byte {} is not UTF-8 text, expected a JSON question; save the file as UTF-8",
            file.display(),
            error.utf8_error().valid_up_to()
        ))
    })
}

fn malformed(problems: &[Problem]) -> Failure {
    /// A thousand of the same slip are mended by seeing the first few.
    const SHOWN: usize = 50;
    let mut message = match problems {
        [_] => "the question cannot be answered as it stands".to_owned(),
        _ => format!(
            "the question cannot be answered as it stands, for {} reasons",
            problems.len()
        ),
    };
    for problem in problems.iter().take(SHOWN) {
        message.push_str(&format!("\n  {problem}"));
    }
    if problems.len() > SHOWN {
        message.push_str(&format!("\n  and {} more", problems.len() - SHOWN));
    }
    Failure::usage(message)
}
