//! How a caller follows the planning of an order and ends it.

use std::sync::atomic::AtomicBool;
use std::sync::{Mutex, PoisonError};

use sequence::Settings;
use units::SoFar;

use super::ask::{self, Asked};
use crate::follow::{NEVER, Progress};

/// The caller's eye on a plan: nothing here has a clock, so a limit on time is a
/// flag that the caller sets.
#[derive(Clone, Copy)]
pub struct Watch<'a> {
    /// Set to true to end with the best order so far.
    pub cancel: &'a AtomicBool,
    /// Called now and then, from any thread; steps are moves.
    pub progress: &'a (dyn Fn(&Progress) + Sync),
    /// How much of a limit on time has gone, from 0 to 1; 0 where moves are the
    /// only limit.
    pub gone: &'a (dyn Fn() -> f64 + Sync),
}

impl Watch<'_> {
    /// Nobody watches.
    pub fn none() -> Self {
        Self {
            cancel: &NEVER,
            progress: &|_| {},
            gone: &|| 0.0,
        }
    }
}

/// All searches of a plan as one, for whom follows it: the order's, one for each
/// change of a rule, one for late cars.
pub(super) struct Follow<'a> {
    watch: &'a Watch<'a>,
    /// Moves of all searches.
    of: u64,
    /// Moves of those that are behind.
    before: Mutex<u64>,
    /// The most moves told: a search that begins anew does not go back.
    told: Mutex<u64>,
    best: Mutex<Vec<SoFar>>,
}

impl<'a> Follow<'a> {
    pub(super) fn new(watch: &'a Watch<'a>, of: u64) -> Self {
        Self {
            watch,
            of,
            before: Mutex::new(0),
            told: Mutex::new(0),
            best: Mutex::new(Vec::new()),
        }
    }

    /// Does a search of so many moves for the order itself: what it finds is the
    /// best so far.
    pub(super) fn order<T>(
        &self,
        (doing, moves): (&str, u64),
        asked: &Asked,
        search: impl FnOnce(&sequence::Watch<'_>) -> T,
    ) -> T {
        self.searching((doing, moves), search, |at| {
            *held(&self.best) = at.so_far(|group| group_of(asked, group));
        })
    }

    /// Does a search of so many moves for something beside the order, which stays
    /// as it is.
    pub(super) fn beside<T>(
        &self,
        (doing, moves): (&str, u64),
        search: impl FnOnce(&sequence::Watch<'_>) -> T,
    ) -> T {
        self.searching((doing, moves), search, |_| {})
    }

    fn searching<T>(
        &self,
        (doing, moves): (&str, u64),
        search: impl FnOnce(&sequence::Watch<'_>) -> T,
        found: impl Fn(&sequence::Progress<'_>) + Sync,
    ) -> T {
        let before = *held(&self.before);
        let tell = |tried: u64| {
            let told = {
                let mut told = held(&self.told);
                *told = (*told).max(before + tried.min(moves));
                *told
            };
            (self.watch.progress)(&Progress {
                doing: doing.to_owned(),
                done: told,
                of: self.of.max(told),
                best: held(&self.best).clone(),
            });
        };
        tell(0);
        let progress = |at: sequence::Progress<'_>| {
            found(&at);
            tell(at.steps);
        };
        let made = search(&sequence::Watch {
            cancel: self.watch.cancel,
            progress: &progress,
            gone: self.watch.gone,
        });
        *held(&self.before) = before + moves;
        made
    }
}

/// The moves of a search, all walkers together.
pub(super) fn moves(settings: &Settings) -> u64 {
    settings.steps * u64::from(settings.walkers.max(1))
}

/// Which rules stand in a group of goals, where rules stand in several.
fn group_of(asked: &Asked, group: usize) -> String {
    match asked.goals.get(group - 1) {
        Some(&ask::GIVEN) => " given".to_owned(),
        Some(&ask::BY_STATIONS) => " of a station".to_owned(),
        _ => String::new(),
    }
}

fn held<T>(of: &Mutex<T>) -> std::sync::MutexGuard<'_, T> {
    of.lock().unwrap_or_else(PoisonError::into_inner)
}
