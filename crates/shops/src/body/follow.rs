//! What the search for the robots tells.

use units::SoFar;

use super::model::Aim;
use crate::follow::{Progress, Watch};

/// Searches the robots of the plan, what is found told by its aim.
pub(super) fn found<T>(
    watch: &Watch<'_>,
    aim: Aim,
    search: impl FnOnce(&balance::Watch<'_>) -> T,
) -> T {
    let what = match aim {
        Aim::FewestRobots => "robots",
        Aim::LeastCost => "cost of robots a year",
    };
    let progress = |at: balance::Progress| {
        if let Some(best) = at.best {
            (watch.progress)(&Progress {
                doing: "sharing out joints".to_owned(),
                done: 0,
                of: 0,
                best: vec![SoFar::new(what, best as f64, at.bound as f64)],
            });
        }
    };
    search(&balance::Watch {
        cancel: watch.cancel,
        progress: &progress,
    })
}

/// For what is tried beside the plan, of which nothing is told.
pub(super) fn quiet<'a>(watch: &Watch<'a>) -> balance::Watch<'a> {
    balance::Watch {
        cancel: watch.cancel,
        progress: &|_| {},
    }
}
