//! The threads that a run works with, and its progress on the terminal.

use std::io::IsTerminal as _;
use std::sync::atomic::AtomicBool;

use flow::{Halt, Outcome, Plan, Progress, Settings, Watch};
use shops::SoFar;

use crate::figure::number;
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

/// The same for the plan of a shop: what goes on, the share done where it is
/// known, and the best so far.
pub(crate) fn planning() -> impl Fn(&shops::Progress) + Sync {
    let seen = std::io::stderr().is_terminal();
    move |at| {
        if seen {
            let share = (at.of > 0).then(|| at.done as f64 / at.of as f64);
            screen::say(&format!(
                "\r{}\x1b[K",
                search_line(&at.doing, share, &at.best)
            ));
        }
    }
}

/// The same for a search of timetables.
pub(crate) fn searching() -> impl Fn(lots::Progress<'_>) + Sync {
    let tell = planning();
    move |at| {
        tell(&shops::Progress {
            doing: "searching timetables".to_owned(),
            done: at.done,
            of: at.of,
            best: at.so_far().into_iter().collect(),
        });
    }
}

/// The same for a search of layouts.
pub(crate) fn laying() -> impl Fn(strip::Progress) + Sync {
    const PARTS: f64 = 1_000.0;
    let tell = planning();
    move |at| {
        tell(&shops::Progress {
            doing: "laying the blank".to_owned(),
            done: (at.share * PARTS) as u64,
            of: PARTS as u64,
            best: at.so_far().into_iter().collect(),
        });
    }
}

/// The same for a search of balances.
pub(crate) fn balancing() -> impl Fn(balance::Progress) + Sync {
    let tell = planning();
    move |at| {
        tell(&shops::Progress {
            doing: "balancing".to_owned(),
            done: 0,
            of: 0,
            best: at.so_far().into_iter().collect(),
        });
    }
}

/// The same for a search of build orders, `limited` where time is the only
/// limit, so that moves have no share.
pub(crate) fn ordering(limited: bool) -> impl Fn(sequence::Progress<'_>) + Sync {
    let tell = planning();
    move |at| {
        let moves = at.steps / 1_000_000;
        tell(&shops::Progress {
            doing: if limited {
                format!("ordering the cars, {moves} million moves")
            } else {
                "ordering the cars".to_owned()
            },
            done: at.steps,
            of: if limited { 0 } else { at.of },
            best: at.so_far(|group| format!(" of goal {group}")),
        });
    }
}

/// Columns of the narrowest terminal that anybody works at.
const COLUMNS: usize = 79;

/// A search in one line of a terminal. Goals that are met are left out; where
/// there is no room bounds go first, then what is going on, then what counts
/// least.
fn search_line(doing: &str, share: Option<f64>, best: &[SoFar]) -> String {
    // What is not over is not told as such.
    let share = share.map(|share| format!("{:.0} %", (100.0 * share).floor()));
    let begun = match &share {
        Some(share) => format!("{doing}: {share}"),
        None => doing.to_owned(),
    };
    let with_bounds = told(&begun, best, true);
    let without = told(&begun, best, false);
    let short = told(share.as_deref().unwrap_or(doing), best, false);
    let fits = |line: &String| line.chars().count() <= COLUMNS;
    let line = [with_bounds, without].into_iter().find(fits);
    line.unwrap_or_else(|| short.chars().take(COLUMNS).collect())
}

fn told(begun: &str, best: &[SoFar], bounds: bool) -> String {
    let open = best.iter().filter(|one| one.value != 0.0);
    let open: Vec<String> = open.map(|one| so_far(one, bounds)).collect();
    match (best, open.as_slice()) {
        ([], _) => begun.to_owned(),
        ([first, ..], []) => format!("{begun}; best: {}", so_far(first, bounds)),
        (_, open) => format!("{begun}; best: {}", open.join(", ")),
    }
}

fn so_far(one: &SoFar, bounds: bool) -> String {
    let least = one.at_least.filter(|_| bounds);
    let least = least.map_or_else(String::new, |least| {
        format!(" (at least {})", number(least, digits(least)))
    });
    let value = number(one.value, digits(one.value));
    format!("{} {value}{least}", one.what)
}

/// Counts are whole, and of what is small the tenths matter.
fn digits(value: f64) -> usize {
    usize::from(value.fract() != 0.0 && value < 1_000.0)
}

/// Takes the line of progress away again.
pub(crate) fn wipe() {
    if std::io::stderr().is_terminal() {
        screen::say("\r\x1b[K");
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_line_of_a_search_tells_the_best_so_far_and_leaves_out_what_is_met() {
        let runs = SoFar::new("runs of cars past a rule", 14.0, 3.0);
        assert_eq!(
            search_line("ordering the cars", Some(0.437), &[runs]),
            "ordering the cars: 43 %; best: runs of cars past a rule 14 (at least 3)"
        );
        let met = SoFar::new("runs of cars past a rule given", 0.0, 0.0);
        let colours = SoFar::new("changes of colour", 1_411.0, 380.0);
        assert_eq!(
            search_line("ordering", None, &[met.clone(), colours]),
            "ordering; best: changes of colour 1,411 (at least 380)"
        );
        assert_eq!(
            search_line("ordering", None, &[met]),
            "ordering; best: runs of cars past a rule given 0"
        );
        assert_eq!(
            search_line("balancing trim", None, &[SoFar::new("seconds", 4.5, 0.0)]),
            "balancing trim; best: seconds 4.5"
        );
        assert_eq!(search_line("balancing", None, &[]), "balancing");
    }

    #[test]
    fn where_there_is_no_room_bounds_go_first_and_then_what_is_going_on() {
        let colours = SoFar::new("changes of colour", 116.0, 99.0);
        let runs = SoFar::new("runs past a rule of a station", 28.0, 2.0);
        assert_eq!(
            search_line("ordering", Some(0.5), &[colours.clone(), runs.clone()]),
            "ordering: 50 %; best: changes of colour 116, runs past a rule of a station 28"
        );
        assert_eq!(
            search_line("ordering the cars", Some(0.5), &[colours, runs]),
            "50 %; best: changes of colour 116, runs past a rule of a station 28"
        );
    }

    #[test]
    fn the_line_of_a_search_never_runs_into_a_second_one() {
        let long = "pricing the rules: ".repeat(9);
        let best = [SoFar::new("stations", 12.0, 0.0)];
        assert_eq!(
            search_line(&long, Some(1.0), &best),
            "100 %; best: stations 12"
        );
        assert_eq!(search_line(&long, None, &best).chars().count(), COLUMNS);
    }
}
