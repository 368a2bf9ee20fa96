//! Stops of one unit by cause: time between them, time to repair, what was cut
//! off by the end of the log.

use super::Sample;
use crate::hours::Turn;
use crate::time::{Micros, seconds};

/// Stops of one unit that count to one cause of the book.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct StopLog {
    /// Processing time from the end of a repair to the next stop. The stretch
    /// before the first stop is the first of these.
    pub running: Sample,
    /// The same by the clock.
    pub clock: Sample,
    /// Times to repair.
    pub repairs: Sample,
    /// Processing time since the last repair when the log ended, seconds: a time
    /// between stops that is cut off.
    pub cut_running: f64,
    /// The same by the clock, seconds.
    pub cut_clock: f64,
    /// Time in repair when the log ended, seconds, if it was: a repair that is cut off.
    pub cut_repair: Option<f64>,
    /// Sum of the processing times from the log's start to each stop, seconds, for
    /// the trend tests.
    pub when_sum: f64,
    /// Sum of the natural logarithms of those times in seconds.
    pub when_log: f64,
    /// Processing time of the unit in the whole log, seconds.
    pub total: f64,
    /// As `when_sum`, by the clock.
    pub when_clock_sum: f64,
    /// As `when_log`, by the clock.
    pub when_clock_log: f64,
    /// From the unit's first row to its last by the clock, seconds.
    pub total_clock: f64,
    run_at_end: Micros,
    clock_at_end: Option<Micros>,
    /// The last stop, until it is known that none follows within the merging
    /// window.
    pending: Option<Ended>,
}

/// A stop that has ended.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Ended {
    /// Word of its cause.
    pub(super) cause: u32,
    /// Time in repair.
    pub(super) repair: Micros,
    /// Time down.
    pub(super) down: Micros,
    /// The shift in which it was counted as a short one.
    pub(super) short: Option<Turn>,
    /// Its begin is in the log.
    pub(super) whole: bool,
}

/// What a cause cost a unit.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct CauseSum {
    /// Stops.
    pub stops: u64,
    /// Time down, waiting for help included.
    pub down: Micros,
    /// Of that, waiting for help.
    pub waiting: Micros,
}

impl StopLog {
    /// A stop begins; the last one where it goes on with that.
    pub(super) fn begin(
        &mut self,
        (run, at): (Micros, Micros),
        start: Micros,
        cause: u32,
        merge: Micros,
    ) -> Option<Ended> {
        let since = run - self.run_at_end;
        if let Some(last) = self.pending.take() {
            if since < merge && last.cause == cause {
                return Some(last);
            }
            self.repaired(last);
        }
        self.running.add(seconds(since));
        self.clock
            .add(seconds(at - self.clock_at_end.unwrap_or(start)));
        let when = seconds(run);
        self.when_sum += when;
        self.when_log += libm::log(when.max(1e-6));
        let when = seconds(at - start);
        self.when_clock_sum += when;
        self.when_clock_log += libm::log(when.max(1e-6));
        None
    }

    /// A stop ends.
    pub(super) fn end(&mut self, run: Micros, at: Micros, ended: Ended) {
        self.run_at_end = run;
        self.clock_at_end = Some(at);
        self.pending = Some(ended);
    }

    /// Of a stop in which the log begins not all of the repair is known.
    fn repaired(&mut self, ended: Ended) {
        if ended.whole {
            self.repairs.add(seconds(ended.repair));
        }
    }

    /// The log ends; `open` is the repair in hand.
    pub(super) fn finish(&mut self, run: Micros, at: Micros, start: Micros, open: Option<Micros>) {
        if let Some(last) = self.pending.take() {
            self.repaired(last);
        }
        self.total = seconds(run);
        self.total_clock = seconds(at - start);
        match open {
            Some(repair) => self.cut_repair = Some(seconds(repair)),
            None => {
                self.cut_running = seconds(run - self.run_at_end);
                self.cut_clock = seconds(at - self.clock_at_end.unwrap_or(start));
            }
        }
    }
}
