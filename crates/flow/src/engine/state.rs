//! What changes while a replication runs.

use std::collections::{BinaryHeap, VecDeque};

use crate::clock::{Hand, NEVER, Ticks};
use crate::engine::path::START;
use crate::plan::{NONE, StopPlan};
use crate::stream::Stream;

/// A stock that a lot station watches.
#[derive(Debug)]
pub(crate) struct StockWatch {
    /// Takes that have not been counted yet, in order.
    pub(crate) coming: VecDeque<Take>,
    pub(crate) start_below: u64,
}

/// A job's place in a link: when it is there to be taken.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Slot {
    pub(crate) time: Ticks,
    pub(crate) job: u32,
    pub(crate) fact: u32,
}

/// One position of a link's ring: a job and, later, when it was taken.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Entry {
    pub(crate) slot: Slot,
    pub(crate) take: Ticks,
    pub(crate) take_fact: u32,
}

/// When a job was taken out of a link, and what decided it.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Take {
    pub(crate) time: Ticks,
    pub(crate) fact: u32,
}

/// A link: a queue of jobs whose times are known, perhaps ahead of the clock.
///
/// In the order of use, what a sweep touches first: it saves a tenth of a
/// sweep's time on a line of 100 stations.
#[derive(Debug)]
#[repr(C)]
pub(crate) struct LinkState {
    pub(crate) put: u64,
    pub(crate) taken: u64,
    pub(crate) base: u32,
    pub(crate) mask: u32,
    pub(crate) holds: u32,
    /// The only unit that feeds the link, or none if there are several.
    pub(crate) from_unit: u32,
    /// The only unit that takes from the link, or none if there are several.
    pub(crate) to_unit: u32,
    /// The plain unit that takes from it, for a sweep to go on to.
    pub(crate) sweeps_to: u32,
    /// How often it is full and empty is measured.
    pub(crate) bank: bool,
    pub(crate) wakes_lots: bool,
    pub(crate) transit: Ticks,
    pub(crate) slab_start: Ticks,
    pub(crate) slab_end: Ticks,
    pub(crate) content: i64,
    pub(crate) full: i64,
    pub(crate) empty: i64,
    pub(crate) slot: u32,
    pub(crate) from_pool: u32,
    pub(crate) to_pool: u32,
    /// The unit whose job is offered hand to hand.
    pub(crate) offered_by: u32,
    /// The lot station below is short of this material.
    pub(crate) wanted: bool,
    /// Which list of coming takes a lot station watches; none if not watched.
    pub(crate) watch: u32,
    /// Takes at or before the clock; only kept where the link is watched.
    pub(crate) seen: u64,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Phase {
    Idle,
    /// Waits in its work for an event (a stop, a crew).
    Working,
    /// Work done, the time not yet come at which it may leave in order.
    Done,
    /// Wants to leave; blocked until a place is known to be free.
    Leaving,
    /// Held out hand to hand.
    Offering,
}

/// Where a finished job goes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Exit {
    Leave,
    Scrap,
    Link(u32),
    Split,
}

/// One unit of a station. What a sweep touches comes first, as in
/// [`LinkState`].
#[derive(Debug)]
#[repr(C)]
pub(crate) struct UnitState {
    pub(crate) phase: Phase,
    /// A sweep may go through: one link in, one out, one unit, nothing but
    /// running stops.
    pub(crate) plain: bool,
    /// All its stops go by running time, and a second of work wears a second.
    pub(crate) even_wear: bool,
    /// No stop of it waits for a crew or the clock.
    pub(crate) crewless: bool,
    pub(crate) calendar: u32,
    /// Which chain it belongs to, or none.
    pub(crate) chain: u32,
    pub(crate) in_link: u32,
    pub(crate) out_link: u32,
    pub(crate) first_stop: u32,
    pub(crate) stops: u32,
    pub(crate) pool: u32,
    /// In what entry of the path it was decided when the unit was free.
    pub(crate) free_fact: u32,
    /// When the last job left.
    pub(crate) free: Ticks,
    /// The cycle if it is always the same, else -1.
    pub(crate) fixed: Ticks,
    pub(crate) slab_end: Ticks,
    pub(crate) tally: UnitTally,
    pub(crate) cycles: Stream,
    pub(crate) hand: Hand,
    pub(crate) slot: u32,
    /// When the job in hand was taken; under a calendar perhaps before it was begun.
    pub(crate) taken: Ticks,
    pub(crate) begun: Ticks,
    pub(crate) finish: Ticks,
    pub(crate) cycle: Ticks,
    pub(crate) changeover: Ticks,
    pub(crate) begun_fact: u32,
    pub(crate) finish_fact: u32,
    pub(crate) job: u32,
    pub(crate) exit: Exit,
    /// Work in hand: where it stands and what is left.
    pub(crate) at: Ticks,
    pub(crate) left: Ticks,
    pub(crate) stopped_by: u32,
    pub(crate) crew_wait: Ticks,
    pub(crate) carrier_wait: Ticks,
    /// Split pieces not yet gone, and the latest that went.
    pub(crate) pending: u64,
    pub(crate) latest: Take,
    pub(crate) luck: Stream,
}

/// What a unit did in one slab of time.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct UnitTally {
    pub(crate) done: u64,
    pub(crate) working: i64,
    pub(crate) starved: i64,
    pub(crate) blocked: i64,
    pub(crate) stopped: i64,
    pub(crate) changeover: i64,
    /// Job-ticks beside the open hours that are told above: of a job that is there
    /// while its station is closed or waits for parts, of parts that wait for it, and
    /// of pieces still in the coil of their lot.
    pub(crate) beside: i64,
    /// Of starved, for want of a carrier.
    pub(crate) carrier_wait: i64,
    /// Of stopped, for want of a crew.
    pub(crate) crew_wait: i64,
    pub(crate) scrapped: u64,
    pub(crate) reworked: u64,
}

/// A cause of stops at one unit.
#[derive(Clone, Copy, Debug)]
pub(crate) struct StopState {
    /// Running basis: wear left until the next stop. Clock basis: when it is.
    pub(crate) next: Ticks,
    pub(crate) between: Stream,
    pub(crate) repair: Stream,
}

impl StopState {
    /// Repairs until the unit has some wear left again, by running time.
    #[inline]
    pub(crate) fn repairs(&mut self, stop: &StopPlan) -> Ticks {
        let mut repairs = 0;
        while self.next < 0 {
            let stream = if stop.shared.is_some() {
                &mut self.between
            } else {
                &mut self.repair
            };
            repairs += stop.repair.draw(stream);
            self.next += stop.between.draw(&mut self.between);
        }
        repairs
    }
}

/// A station.
#[derive(Debug)]
pub(crate) struct PoolState {
    /// Units whose finished job waits for a place, in order of finish.
    pub(crate) waiting: VecDeque<u32>,
    /// Jobs released so far.
    pub(crate) released: u64,
    pub(crate) release: Stream,
    /// Since when the next job has waited for a carrier only.
    pub(crate) carrier_since: Ticks,
    /// What decided that the station could begin, where that is not a job or
    /// its own last one.
    pub(crate) wake_fact: u32,
    /// Merge as they come: the places of each kind; main first.
    pub(crate) held: Vec<Option<Slot>>,
    pub(crate) lot: LotState,
}

#[derive(Clone, Copy, Debug)]
pub(crate) struct LotState {
    /// The item whose die is in.
    pub(crate) item: u32,
    pub(crate) left: u32,
    /// Its place in the timetable that the line follows.
    pub(crate) turn: Option<u32>,
    pub(crate) born: Ticks,
    /// For the first piece of a lot; -1 afterwards.
    pub(crate) changeover: Ticks,
    /// When it last looked for a lot in vain.
    pub(crate) looked: Ticks,
}

#[derive(Clone, Copy, Debug)]
pub(crate) struct Job {
    pub(crate) born: Ticks,
    pub(crate) class: u16,
    /// Fleets whose carrier it rides on, a bit each.
    pub(crate) carriers: u32,
    /// It has failed somewhere that counts.
    pub(crate) tried: bool,
    /// It has failed a check, wherever: no longer right at the first try. In a
    /// byte that was padding, so that a job is as large as before.
    pub(crate) failed: bool,
}

/// All jobs in the plant.
#[derive(Debug, Default)]
pub(crate) struct Jobs {
    pub(crate) jobs: Vec<Job>,
    pub(crate) free: Vec<u32>,
    /// Failed attempts, `capped` counters a job.
    pub(crate) tries: Vec<u8>,
    pub(crate) capped: usize,
}

impl Jobs {
    #[inline]
    pub(crate) fn add(&mut self, job: Job) -> u32 {
        if let Some(id) = self.free.pop() {
            if self.jobs[id as usize].tried {
                let at = id as usize * self.capped;
                self.tries[at..at + self.capped].fill(0);
            }
            self.jobs[id as usize] = Job {
                tried: false,
                ..job
            };
            id
        } else {
            self.jobs.push(Job {
                tried: false,
                ..job
            });
            self.tries.resize(self.jobs.len() * self.capped, 0);
            (self.jobs.len() - 1) as u32
        }
    }

    #[inline]
    pub(crate) fn drop(&mut self, id: u32) {
        self.free.push(id);
    }
}

/// Carriers on their way back or waiting.
#[derive(Debug, Default)]
pub(crate) struct FleetState {
    pub(crate) here: u32,
    pub(crate) on_the_way: BinaryHeap<std::cmp::Reverse<(Ticks, u32)>>,
    pub(crate) wanted_by: VecDeque<u32>,
}

/// A crew's repairs.
#[derive(Debug, Default)]
pub(crate) struct CrewState {
    pub(crate) free: u32,
    pub(crate) busy_until: BinaryHeap<std::cmp::Reverse<Ticks>>,
    pub(crate) wanted_by: VecDeque<u32>,
}

impl UnitState {
    pub(crate) fn new(pool: u32, cycles: Stream, luck: Stream) -> Self {
        Self {
            phase: Phase::Idle,
            exit: Exit::Leave,
            pool,
            calendar: NONE,
            chain: NONE,
            plain: false,
            even_wear: false,
            crewless: true,
            in_link: NONE,
            out_link: NONE,
            fixed: -1,
            job: NONE,
            first_stop: 0,
            stops: 0,
            hand: 0,
            free: 0,
            free_fact: START,
            taken: 0,
            begun: 0,
            begun_fact: START,
            finish: NEVER,
            finish_fact: START,
            cycle: 0,
            changeover: 0,
            at: 0,
            left: 0,
            stopped_by: NONE,
            crew_wait: 0,
            carrier_wait: 0,
            pending: 0,
            latest: Take {
                time: 0,
                fact: START,
            },
            cycles,
            luck,
            slot: 0,
            slab_end: 0,
            tally: UnitTally::default(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::Job;

    #[test]
    fn four_jobs_go_into_a_line_of_the_cache() {
        assert_eq!(size_of::<Job>(), 16);
    }
}
