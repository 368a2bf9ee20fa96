//! The threads that a run works with, and its progress on the terminal.

use std::io::IsTerminal as _;
use std::sync::atomic::AtomicBool;

use flow::{Halt, Outcome, Plan, Progress, Settings, Watch};

use crate::outcome::Failure;
use crate::screen;

/// Threads to run on.
pub(crate) struct Crew {
    pool: Option<rayon::ThreadPool>,
}

/// As many threads as asked for, or one for each core.
pub(crate) fn of(threads: Option<u16>) -> Result<Crew, Failure> {
    let pool = threads
        .map(|threads| {
            rayon::ThreadPoolBuilder::new()
                .num_threads(threads.into())
                .build()
                .map_err(|error| Failure::usage(format!("cannot start the threads: {error}")))
        })
        .transpose()?;
    Ok(Crew { pool })
}

impl Crew {
    /// Does work on these threads.
    pub(crate) fn work<T: Send>(&self, work: impl FnOnce() -> T + Send) -> T {
        match &self.pool {
            Some(pool) => pool.install(work),
            None => work(),
        }
    }

    /// Runs a plan on these threads.
    pub(crate) fn run(
        &self,
        plan: &Plan,
        settings: &Settings,
        cancel: &AtomicBool,
    ) -> Result<Outcome, Halt> {
        let outcome = self.work(|| {
            let progress = progress();
            let watch = Watch {
                cancel,
                progress: &progress,
            };
            flow::run(plan, settings, &watch)
        });
        wipe();
        outcome
    }
}

/// A line on standard error that says how far a run is; nothing where standard
/// error is no terminal, since a log has no use for it.
pub(crate) fn progress() -> impl Fn(Progress) + Sync {
    let seen = std::io::stderr().is_terminal();
    move |progress| {
        if seen {
            screen::say(&format!(
                "\rsimulating: {} of {} replications ",
                progress.done, progress.of
            ));
        }
    }
}

/// The same for variants of a plant.
pub(crate) fn varying() -> impl Fn(Progress) + Sync {
    let seen = std::io::stderr().is_terminal();
    move |progress| {
        if seen {
            screen::say(&format!(
                "\rsimulating: {} variants of about {} ",
                progress.done, progress.of
            ));
        }
    }
}

/// The same for ideas, whose runs are counted one by one.
pub(crate) fn trying() -> impl Fn(Progress) + Sync {
    let seen = std::io::stderr().is_terminal();
    move |progress| {
        if seen {
            screen::say(&format!(
                "\rtrying ideas: run {} of at most {} ",
                progress.done, progress.of
            ));
        }
    }
}

/// The same for a day with and without its losses.
pub(crate) fn replaying() -> impl Fn(Progress) + Sync {
    let seen = std::io::stderr().is_terminal();
    move |progress| {
        if seen {
            screen::say(&format!(
                "\rreplaying the day: {} of {} ",
                progress.done, progress.of
            ));
        }
    }
}

/// The same for a search of timetables.
pub(crate) fn searching() -> impl Fn(lots::Progress) + Sync {
    let seen = std::io::stderr().is_terminal();
    move |progress: lots::Progress| {
        if seen {
            let part = progress.done as f64 / progress.of.max(1) as f64;
            screen::say(&format!("\rsearching timetables: {:.0} % ", 100.0 * part));
        }
    }
}

/// The same for a search of balances.
pub(crate) fn balancing() -> impl Fn(balance::Progress) + Sync {
    let seen = std::io::stderr().is_terminal();
    move |progress: balance::Progress| {
        if let Some(best) = progress.best.filter(|_| seen) {
            screen::say(&format!(
                "\rbalancing: {best} found, at least {} ",
                progress.bound
            ));
        }
    }
}

/// The same for a search of build orders.
pub(crate) fn ordering() -> impl Fn(sequence::Progress) + Sync {
    let seen = std::io::stderr().is_terminal();
    move |progress: sequence::Progress| {
        if seen {
            let moves = progress.steps / 1_000_000;
            screen::say(&format!("\rordering cars: {moves} million moves tried "));
        }
    }
}

/// Takes the line of progress away again.
pub(crate) fn wipe() {
    if std::io::stderr().is_terminal() {
        screen::say("\r\x1b[K");
    }
}
