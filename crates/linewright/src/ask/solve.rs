//! `linewright solve`: one JSON question to a solver, without a plant book.

use std::io::Read as _;
use std::path::Path;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

use flow::question::{self, Problem, Status, shortened};
use flow::{Halt, Outcome, Plan, Settings};
use serde::Serialize;

use crate::arguments::SolveArguments;
use crate::crew::{self, Crew};
use crate::interrupt;
use crate::outcome::{Answer, Failure};

/// An answer with the time it took, which no solver knows.
#[derive(Serialize)]
struct Timed<T> {
    #[serde(flatten)]
    answer: T,
    wall_s: f64,
}

/// Answers a question on flow.
#[allow(
    clippy::disallowed_methods,
    reason = "the face reads the question, measures the time and writes the answer"
)]
pub(crate) fn flow(asked: &SolveArguments) -> Result<Answer, Failure> {
    let start = Instant::now();
    let text = read(&asked.file)?;
    let mut question = question::parse(&text).map_err(|problems| malformed(&problems))?;
    if let Some(seed) = asked.seed {
        question.reseed(seed);
    }
    let (plan, settings) = question
        .prepare()
        .map_err(|problems| malformed(&problems))?;
    let crew = crew::of(asked.threads)?;
    let (outcome, complete) = match asked.seconds {
        None => (run(&crew, &plan, &settings, interrupt::flag())?, true),
        Some(seconds) => in_time(&crew, &plan, &settings, start, seconds)?,
    };
    let answer = question.answer(&outcome, complete);
    let holds = answer.status != Status::Infeasible;
    let timed = Timed {
        answer,
        wall_s: start.elapsed().as_secs_f64(),
    };
    let mut text = serde_json::to_string_pretty(&timed)
        .map_err(|error| Failure::usage(format!("cannot write the JSON: {error}")))?;
    text.push('\n');
    if let Some(path) = &asked.out {
        std::fs::write(path, &text).map_err(|error| Failure::file("write", path, error))?;
        text.clear();
    }
    Ok(Answer { text, holds })
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

fn run(
    crew: &Crew,
    plan: &Plan,
    settings: &Settings,
    cancel: &AtomicBool,
) -> Result<Outcome, Failure> {
    crew.run(plan, settings, cancel).map_err(halted)
}

fn halted(halt: Halt) -> Failure {
    match halt {
        Halt::Cancelled => Failure::cancelled("cancelled; nothing was answered"),
        Halt::Settings(what) => Failure::usage(format!("run: {what}")),
    }
}

/// Answers with as much as fits: a small part of the time in two replications,
/// then twice as much and so on, then twice the replications. The last step
/// that was finished is the answer; what went before it is thrown away and cost
/// no more than it did.
#[allow(clippy::disallowed_methods, reason = "the face keeps the time limit")]
fn in_time(
    crew: &Crew,
    plan: &Plan,
    settings: &Settings,
    start: Instant,
    seconds: f64,
) -> Result<(Outcome, bool), Failure> {
    let pressed = interrupt::flag();
    let over = AtomicBool::new(false);
    let done = AtomicBool::new(false);
    let limit = Duration::from_secs_f64(seconds);
    let best = std::thread::scope(|scope| {
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
        let best = steps(crew, plan, settings, &over);
        done.store(true, Ordering::Relaxed);
        best
    })?;
    match best {
        Some(best) => Ok(best),
        None if pressed.load(Ordering::Relaxed) => Err(halted(Halt::Cancelled)),
        None => Err(Failure::usage(format!(
            "nothing could be simulated in {seconds} s; raise --seconds, or lower run.length_s"
        ))),
    }
}

fn steps(
    crew: &Crew,
    plan: &Plan,
    settings: &Settings,
    over: &AtomicBool,
) -> Result<Option<(Outcome, bool)>, Failure> {
    let wanted = settings.replications;
    let few = wanted.min(2);
    let mut steps: Vec<(f64, u32)> = (1..=7)
        .rev()
        .map(|halvings| (1.0 / f64::from(1 << halvings), few))
        .collect();
    let mut replications = few;
    while replications < wanted {
        steps.push((1.0, replications));
        replications = replications.saturating_mul(2);
    }
    steps.push((1.0, wanted));
    let mut best = None;
    for (part, replications) in steps {
        match crew.run(plan, &shortened(settings, part, replications), over) {
            Ok(outcome) => best = Some((outcome, part == 1.0 && replications == wanted)),
            Err(Halt::Cancelled) => break,
            Err(halt) => return Err(halted(halt)),
        }
    }
    Ok(best)
}
