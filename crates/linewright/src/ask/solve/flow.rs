//! `linewright solve flow`.

use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Instant;

use flow::question::{self, Status, shortened};
use flow::{Halt, Outcome, Plan, Settings};

use super::{malformed, read, under_limit, written};
use crate::arguments::SolveArguments;
use crate::crew::{self, Crew};
use crate::interrupt;
use crate::outcome::{Answer, Failure};

/// Answers a question on flow.
#[allow(clippy::disallowed_methods, reason = "the face measures the time")]
pub(super) fn flow(asked: &SolveArguments) -> Result<Answer, Failure> {
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
    written(asked, start, answer, holds)
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
fn in_time(
    crew: &Crew,
    plan: &Plan,
    settings: &Settings,
    start: Instant,
    seconds: f64,
) -> Result<(Outcome, bool), Failure> {
    let best = under_limit(start, seconds, |over| steps(crew, plan, settings, over))?;
    match best {
        Some(best) => Ok(best),
        None if interrupt::flag().load(Ordering::Relaxed) => Err(halted(Halt::Cancelled)),
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
