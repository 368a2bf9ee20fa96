//! What the balances of several lines tell while they are searched.

use balance::Least;
use units::SoFar;

use super::work::PER_SECOND;
use crate::follow::{Progress, Watch};

/// Searches a line, what is found told with its name.
pub(super) fn of_line<T>(
    watch: &Watch<'_>,
    line: &str,
    search: impl FnOnce(&balance::Watch<'_>) -> T,
) -> T {
    let progress = |at: balance::Progress| {
        if let Some(best) = in_words(&at) {
            (watch.progress)(&Progress {
                doing: format!("balancing {line}"),
                done: 0,
                // Each line is searched several times, so that there is no share
                // of the whole to tell.
                of: 0,
                best: vec![best],
            });
        }
    };
    search(&balance::Watch {
        cancel: watch.cancel,
        progress: &progress,
    })
}

/// Searches and tells nothing.
pub(super) fn quiet<T>(watch: &Watch<'_>, search: impl FnOnce(&balance::Watch<'_>) -> T) -> T {
    search(&balance::Watch {
        cancel: watch.cancel,
        progress: &|_| {},
    })
}

/// The best so far in the units of the book.
fn in_words(at: &balance::Progress) -> Option<SoFar> {
    let (what, unit) = match at.least {
        Least::Stations => ("stations", 1.0),
        Least::Takt => ("seconds of takt", PER_SECOND),
        Least::Cost => ("cost a year", 1.0),
        Least::WorkMoved => ("seconds of work moved from today's stations", PER_SECOND),
    };
    let best = at.best? as f64;
    Some(SoFar::new(what, best / unit, at.bound as f64 / unit))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn work_moved_is_told_in_seconds_and_stations_as_they_are() {
        let at = |least, best| balance::Progress {
            least,
            best,
            bound: 20,
        };
        let moved = in_words(&at(Least::WorkMoved, Some(45))).unwrap();
        assert_eq!((moved.value, moved.at_least), (4.5, Some(2.0)));
        let stations = in_words(&at(Least::Stations, Some(45))).unwrap();
        assert_eq!((stations.value, stations.at_least), (45.0, Some(20.0)));
        assert_eq!(in_words(&at(Least::Cost, None)), None);
    }
}
