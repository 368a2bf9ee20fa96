//! Ctrl-C: the first asks the solver to stop, the second stops the program.

use std::sync::atomic::{AtomicBool, Ordering};

use crate::screen;

static CANCEL: AtomicBool = AtomicBool::new(false);

/// The flag that solvers look at; set once Ctrl-C has been pressed.
pub(crate) fn flag() -> &'static AtomicBool {
    // Without a handler Ctrl-C ends the program at once: worse, but no reason
    // not to answer.
    let _ = ctrlc::set_handler(|| {
        if CANCEL.swap(true, Ordering::Relaxed) {
            std::process::exit(130);
        }
        screen::say("\nstopping; Ctrl-C once more ends it at once\n");
    });
    &CANCEL
}
