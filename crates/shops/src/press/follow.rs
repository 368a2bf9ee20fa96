//! What the search of the timetables tells.

use std::sync::Mutex;

use units::SoFar;

use crate::follow::{Progress, Watch};

/// Searches timetables: the best of each line is told, in their order.
pub(super) fn timetables<T>(watch: &Watch<'_>, search: impl FnOnce(&lots::Watch<'_>) -> T) -> T {
    let lines: Mutex<Vec<SoFar>> = Mutex::new(Vec::new());
    let progress = |at: lots::Progress<'_>| {
        let mut lines = lines
            .lock()
            .unwrap_or_else(std::sync::PoisonError::into_inner);
        if let Some(now) = at.so_far() {
            match lines.iter_mut().find(|line| line.what == now.what) {
                // A line taken up again does not get worse.
                Some(line) if line.value <= now.value => {}
                Some(line) => *line = now,
                None => lines.push(now),
            }
        }
        told(watch, "searching timetables", &at, lines.clone());
    };
    search(&lots::Watch {
        cancel: watch.cancel,
        progress: &progress,
    })
}

/// The same for what would be if something were quicker, which betters no
/// timetable.
pub(super) fn beside<T>(watch: &Watch<'_>, search: impl FnOnce(&lots::Watch<'_>) -> T) -> T {
    let doing = "searching timetables with quicker changeovers";
    let progress = |at: lots::Progress<'_>| told(watch, doing, &at, Vec::new());
    search(&lots::Watch {
        cancel: watch.cancel,
        progress: &progress,
    })
}

fn told(watch: &Watch<'_>, doing: &str, at: &lots::Progress<'_>, best: Vec<SoFar>) {
    (watch.progress)(&Progress {
        doing: doing.to_owned(),
        done: at.done,
        of: at.of,
        best,
    });
}
