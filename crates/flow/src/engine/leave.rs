//! Leaving a station: into a link, hand to hand, in pieces, or for good.

use crate::clock::Ticks;
use crate::engine::Engine;
use crate::engine::state::{Exit, Phase, Take};
use crate::plan::{NONE, Outlets};

impl<const RECORD: bool> Engine<'_, RECORD> {
    /// Lets the unit's finished job go if the time is known; false if not yet.
    pub(crate) fn leave(&mut self, u: u32) -> bool {
        let unit = &self.units[u as usize];
        let finish = Take {
            time: unit.finish,
            fact: unit.finish_fact,
        };
        match unit.exit {
            Exit::Link(l) => {
                if self.links[l as usize].holds == 0 {
                    return self.leave_by_hand(u, l, finish);
                }
                let Some(place) = self.place(l) else {
                    self.units[u as usize].phase = Phase::Leaving;
                    return false;
                };
                let at = later(finish, place);
                let job = self.units[u as usize].job;
                self.left(u, at);
                self.put(l, at.time, job, at.fact);
                self.more_of_batch(u, l, at, job);
                true
            }
            Exit::Leave | Exit::Scrap => {
                self.left(u, finish);
                self.out_of_plant(u, finish);
                true
            }
            Exit::Split => self.leave_in_pieces(u, finish),
        }
    }

    fn leave_by_hand(&mut self, u: u32, l: u32, finish: Take) -> bool {
        let link = &mut self.links[l as usize];
        if self.units[u as usize].phase == Phase::Offering {
            if link.offered_by != u || link.put != link.taken {
                return false;
            }
            link.offered_by = NONE;
            let at = self.last_take(l);
            self.left(u, at);
            return true;
        }
        if link.offered_by != NONE || link.put != link.taken {
            self.units[u as usize].phase = Phase::Leaving;
            return false;
        }
        link.offered_by = u;
        let job = self.units[u as usize].job;
        self.units[u as usize].phase = Phase::Offering;
        self.put(l, finish.time, job, finish.fact);
        false
    }

    /// A split: each piece goes as soon as its link has a place; the station is
    /// free when the last has gone.
    fn leave_in_pieces(&mut self, u: u32, finish: Take) -> bool {
        let plan = self.plan;
        let pool = &plan.pools[self.units[u as usize].pool as usize];
        let Outlets::Each(links) = &pool.outlets else {
            return true;
        };
        self.units[u as usize].phase = Phase::Leaving;
        for (i, l) in links.iter().enumerate() {
            let bit = 1 << i;
            if self.units[u as usize].pending & bit == 0 {
                continue;
            }
            let gone = if self.links[*l as usize].holds == 0 {
                self.piece_by_hand(u, *l, finish)
            } else {
                self.place(*l).map(|place| {
                    let at = later(finish, place);
                    let piece = self.piece(u, at.time);
                    self.put(*l, at.time, piece, at.fact);
                    at
                })
            };
            if let Some(at) = gone {
                let unit = &mut self.units[u as usize];
                unit.pending &= !bit;
                if at.time >= unit.latest.time {
                    unit.latest = at;
                }
            }
        }
        let unit = &self.units[u as usize];
        if unit.pending != 0 {
            return false;
        }
        let at = unit.latest;
        let job = unit.job;
        self.left(u, at);
        self.jobs.drop(job);
        true
    }

    fn piece_by_hand(&mut self, u: u32, l: u32, finish: Take) -> Option<Take> {
        let link = &mut self.links[l as usize];
        if link.offered_by == u {
            if link.put != link.taken {
                return None;
            }
            link.offered_by = NONE;
            return Some(self.last_take(l));
        }
        link.offered_by = u;
        let piece = self.piece(u, finish.time);
        self.put(l, finish.time, piece, finish.fact);
        None
    }

    /// A piece of the unit's job. The first piece stands for the job itself in
    /// the count of jobs in the plant.
    fn piece(&mut self, u: u32, at: Ticks) -> u32 {
        let plan = self.plan;
        let unit = &self.units[u as usize];
        let job = self.jobs.jobs[unit.job as usize];
        if let Outlets::Each(links) = &plan.pools[unit.pool as usize].outlets
            && unit.pending != u64::MAX >> (64 - links.len().min(64))
        {
            self.tally.entered(at);
        }
        self.jobs.add(job)
    }

    /// The unit is free from `at`: count what it did with the job.
    fn left(&mut self, u: u32, at: Take) {
        if self.seen.is_some() {
            self.tell(u, at.time);
        }
        let plan = self.plan;
        let unit = &mut self.units[u as usize];
        let pool = &plan.pools[unit.pool as usize];
        let shifts = if pool.calendar == NONE {
            None
        } else {
            Some(&self.shifts[pool.calendar as usize])
        };
        self.tally.job_left(u as usize, unit, at.time, shifts);
        unit.free = at.time;
        unit.free_fact = at.fact;
        unit.changeover = 0;
        unit.carrier_wait = 0;
        unit.crew_wait = 0;
        unit.phase = Phase::Idle;
        if pool.arrival {
            self.tally.entered(at.time);
            self.jobs.jobs[unit.job as usize].born = at.time;
        }
        if !pool.returns_carrier.is_empty() {
            self.set_down(u, at);
        }
    }

    /// The carriers that this station sends back leave the job.
    fn set_down(&mut self, u: u32, at: Take) {
        let plan = self.plan;
        let unit = &self.units[u as usize];
        let job = unit.job as usize;
        for f in &plan.pools[unit.pool as usize].returns_carrier {
            let bit = 1 << f;
            if self.jobs.jobs[job].carriers & bit != 0 {
                self.jobs.jobs[job].carriers &= !bit;
                self.return_carrier(*f, at.time, at.fact);
            }
        }
    }

    pub(crate) fn out_of_plant(&mut self, u: u32, at: Take) {
        let plan = self.plan;
        let unit = &self.units[u as usize];
        let id = unit.job;
        let job = self.jobs.jobs[id as usize];
        let good = unit.exit == Exit::Leave;
        let station = unit.pool as usize;
        let pool = &plan.pools[unit.pool as usize];
        let open = if pool.calendar == NONE {
            at.time
        } else {
            self.shifts[pool.calendar as usize].open_time(unit.hand, at.time)
        };
        let mut carriers = job.carriers;
        while carriers != 0 {
            let f = carriers.trailing_zeros();
            carriers &= carriers - 1;
            self.return_carrier(f, at.time, at.fact);
        }
        self.tally.gone(at.time);
        if let Some(seen) = self.seen.as_mut().filter(|_| good) {
            seen.out(station, &job, at.time);
        }
        if good {
            self.tally.made(at.time, job.born, job.class, open);
            if job.failed {
                self.tally.not_right(at.time);
            }
            if RECORD && at.time <= self.horizon && at.time >= self.last_out.time {
                self.last_out = at;
            }
        } else if at.time <= self.horizon {
            let slab = self.tally.slabs.of(at.time);
            self.tally.plant[slab].scrapped += 1;
            self.tally.plant[slab].lost += u64::from(pool.whole);
        }
        self.jobs.drop(id);
    }

    /// The further jobs of a batch arrival.
    fn more_of_batch(&mut self, u: u32, l: u32, at: Take, first: u32) {
        let batch = self.plan.pools[self.units[u as usize].pool as usize].batch;
        for _ in 1..batch {
            let job = self.jobs.jobs[first as usize];
            let job = self.jobs.add(job);
            self.tally.entered(at.time);
            self.put(l, at.time, job, at.fact);
        }
    }
}

#[inline]
fn later(a: Take, b: Take) -> Take {
    if b.time > a.time { b } else { a }
}
