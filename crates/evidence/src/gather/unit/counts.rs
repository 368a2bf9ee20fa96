//! Stops and jobs of one unit, counted as its states pass.

use super::super::known::{Context, Known};
use super::super::stops::Ended;
use super::super::{CauseSum, Moments};
use super::UnitLog;
use crate::hours::Turn;
use crate::scan::NO_WORD;
use crate::state::State;
use crate::time::{HOUR, Micros, seconds};

/// A stop that has not ended.
#[derive(Clone, Copy, Debug)]
pub(super) struct OpenStop {
    slot: usize,
    cause: u32,
    repair: Micros,
    down: Micros,
    /// Its begin is in the log.
    whole: bool,
}

/// A job in hand.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Job {
    item: u64,
    product: u32,
    worked: Micros,
    /// Its begin is in the log.
    whole: bool,
    /// When it was last worked on, and in which shift: then it was done, unless
    /// it is taken up again.
    until: (Micros, Option<Turn>),
    /// The station waited or set up since.
    left: bool,
}

impl UnitLog {
    /// Time down, in a stop that begins or goes on.
    pub(super) fn stopped(
        &mut self,
        context: &Context<'_>,
        known: &Known,
        state: State,
        length: Micros,
    ) {
        let at = known.row.from;
        if self.stop.is_none_or(|stop| stop.cause != known.cause) {
            self.end_stop(context, at);
            let word = match known.cause {
                NO_WORD => "",
                cause => &context.words[cause as usize],
            };
            let slot = context.roster.cause(self.place, word);
            self.begin_stop(context, at, slot, known.cause);
        }
        let waiting = state == State::Waiting;
        if let Some(stop) = &mut self.stop {
            stop.down += length;
            if !waiting {
                stop.repair += length;
            }
        }
        let sum = self.cause(known.cause);
        sum.down += length;
        if waiting {
            sum.waiting += length;
        }
    }

    /// A stop begins, or the last one of its cause goes on.
    fn begin_stop(&mut self, context: &Context<'_>, at: Micros, slot: usize, cause: u32) {
        let start = self.span.map_or(at, |span| span.0);
        // Of a stop in which the log begins neither the time before it nor all of
        // its repair is known.
        let whole = self.rows > 1;
        let goes_on = if whole {
            self.stops[slot].begin((self.run, at), start, cause, context.rules.merge)
        } else {
            None
        };
        let mut open = OpenStop {
            slot,
            cause,
            repair: 0,
            down: 0,
            whole,
        };
        if let Some(last) = goes_on {
            (open.repair, open.down, open.whole) = (last.repair, last.down, last.whole);
            if let Some(turn) = last.short {
                let cell = self.cell(turn);
                cell.short -= 1;
                cell.short_time -= last.down;
            }
        } else {
            let turn = self.hours(context).stretch(at).turn;
            self.cell(turn).stops += 1;
            self.cause(cause).stops += 1;
        }
        self.stop = Some(open);
    }

    /// The log ends, at `end` for this unit, which began at `start`.
    pub(super) fn finish_stops(&mut self, start: Micros, end: Micros) {
        let open = self.stop.take();
        for (slot, log) in self.stops.iter_mut().enumerate() {
            let repair = open
                .filter(|stop| stop.slot == slot && stop.whole)
                .map(|stop| stop.repair);
            log.finish(self.run, end, start, repair);
        }
    }

    fn cause(&mut self, word: u32) -> &mut CauseSum {
        let at = self.causes.iter().position(|(known, _)| *known == word);
        let at = at.unwrap_or_else(|| {
            self.causes.push((word, CauseSum::default()));
            self.causes.len() - 1
        });
        &mut self.causes[at].1
    }

    /// The station is no longer down.
    pub(super) fn end_stop(&mut self, context: &Context<'_>, at: Micros) {
        let Some(stop) = self.stop.take() else { return };
        let mut short = None;
        if stop.down < context.rules.short
            && let Some(cell) = self.cells.last_mut()
        {
            cell.short += 1;
            cell.short_time += stop.down;
            short = Some(cell.turn);
        }
        let ended = Ended {
            cause: stop.cause,
            repair: stop.repair,
            down: stop.down,
            short,
            whole: stop.whole,
        };
        self.stops[stop.slot].end(self.run, at, ended);
    }

    /// Setting up is over.
    pub(super) fn end_setup(&mut self) {
        if self.setting > 0 {
            self.setups.add(seconds(self.setting));
            self.setting = 0;
        }
    }

    /// Work on a job: the one in hand, or the next.
    pub(super) fn work(&mut self, context: &Context<'_>, known: &Known, length: Micros) {
        if known.row.item != self.job.item {
            self.end_job(context);
            self.job = Job {
                item: known.row.item,
                product: known.product,
                whole: self.rows > 1,
                ..Job::default()
            };
        }
        self.job.worked += length;
        self.job.left = false;
    }

    /// The work on the job in hand, whose time the last cell has, went on until
    /// here.
    pub(super) fn worked_until(&mut self, at: Micros) {
        self.job.until = (at, self.cells.last().map(|cell| cell.turn));
    }

    /// The station no longer works on the job in hand.
    pub(super) fn leave(&mut self) {
        self.job.left = true;
    }

    /// The log ends: a job that the station no longer worked on is done.
    pub(super) fn end_job_left(&mut self, context: &Context<'_>) {
        if self.job.left {
            self.end_job(context);
        }
    }

    /// The job in hand is done: it was when it was last worked on.
    fn end_job(&mut self, context: &Context<'_>) {
        let job = std::mem::take(&mut self.job);
        let (at, Some(turn)) = job.until else {
            return;
        };
        if job.item == 0 {
            return;
        }
        let class = match job.product {
            NO_WORD => None,
            word => context.classes[word as usize],
        };
        let planned = context.roster.planned(self.place, class);
        let hour = context.roster.map.zone.local(at).div_euclid(HOUR);
        match self.hours.last_mut() {
            Some((last, count)) if *last == hour => *count += 1,
            _ => self.hours.push((hour, 1)),
        }
        let cell = self.cell(turn);
        cell.jobs += 1;
        if !job.whole {
            return;
        }
        if let Some(planned) = planned {
            cell.known += 1;
            cell.planned += crate::time::micros(planned);
            cell.worked += job.worked;
        }
        let known = self
            .cycles
            .iter()
            .position(|(word, _)| *word == job.product);
        let at = known.unwrap_or_else(|| {
            self.cycles.push((job.product, Moments::default()));
            self.log_cycles.push(Moments::default());
            self.cycles.len() - 1
        });
        let worked = seconds(job.worked);
        self.cycles[at].1.add(worked);
        self.log_cycles[at].add(libm::log(worked.max(1e-6)));
    }
}
