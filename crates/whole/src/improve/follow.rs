//! What a search among ideas tells while it runs.

use std::sync::{Mutex, PoisonError};

use shops::{Progress, SoFar, Watch};

/// The caller's eye on runs of the plant with ideas, and what it was told last.
pub(super) struct Follow<'a> {
    watch: &'a Watch<'a>,
    /// Written after each run, and between rounds of them.
    told: Mutex<Progress>,
}

impl<'a> Follow<'a> {
    pub(super) fn new(watch: &'a Watch<'a>) -> Self {
        Self {
            watch,
            told: Mutex::new(Progress {
                doing: "trying ideas".to_owned(),
                done: 0,
                of: 0,
                best: Vec::new(),
            }),
        }
    }

    /// Tells how many runs are made.
    pub(super) fn ran(&self, at: flow::Progress) {
        self.tell(|told| {
            // runs end side by side: what is done stays done
            told.done = told.done.max(at.done.into());
            told.of = at.of.into();
        });
    }

    /// Tells what is the best from here on.
    pub(super) fn found(&self, best: Vec<SoFar>) {
        self.tell(|told| told.best = best);
    }

    fn tell(&self, change: impl FnOnce(&mut Progress)) {
        // what a thread that broke off has left is whole
        let mut told = self.told.lock().unwrap_or_else(PoisonError::into_inner);
        change(&mut told);
        let now = told.clone();
        drop(told);
        (self.watch.progress)(&now);
    }
}
