//! The fast way along a first-in-first-out stretch: one job through as many
//! stations as its times are known for, without a stop at the work list.

use crate::clock::Ticks;
use crate::engine::Engine;
use crate::engine::path::Done;
use crate::engine::state::{Entry, Exit, Phase, Slot, Take};
use crate::model::AtClose;
use crate::plan::NONE;

impl<const RECORD: bool> Engine<'_, RECORD> {
    /// Carries the head of `u`'s link on from station to station. `u` must be
    /// plain and idle, its link have a job. What is left over goes to the work
    /// list.
    pub(crate) fn sweep(&mut self, mut u: usize, mut slot: Slot) {
        loop {
            let (at, fact) = self.sweep_take(u, slot);
            if self.units[u].calendar != NONE {
                if !self.sweep_shift(u, at, fact, slot.job) {
                    return;
                }
            } else {
                self.sweep_work(u, at, fact, slot.job);
            }
            let unit = &mut self.units[u];
            let out = unit.out_link as usize;
            let link = &self.links[out];
            // When a place below is free.
            let holds = u64::from(link.holds);
            let mut gone = Take {
                time: unit.finish,
                fact: unit.finish_fact,
            };
            if link.holds != NONE && link.put >= holds {
                let before = link.put - holds;
                if link.taken <= before || holds == 0 {
                    unit.job = slot.job;
                    unit.exit = Exit::Link(unit.out_link);
                    unit.phase = Phase::Leaving;
                    self.stack.push(unit.pool);
                    return;
                }
                let entry = &self.ring[link.at(before)];
                if RECORD && entry.take > gone.time {
                    gone.fact = entry.take_fact;
                }
                gone.time = gone.time.max(entry.take);
            }
            let shifts = if unit.calendar == NONE {
                None
            } else {
                Some(&self.shifts[unit.calendar as usize])
            };
            self.tally.job_left(u, unit, gone.time, shifts);
            unit.free = gone.time;
            unit.free_fact = gone.fact;
            // More may wait behind: this station's own next job.
            let own = &self.links[unit.in_link as usize];
            if own.put > own.taken {
                self.stack.push(unit.pool);
            }
            let Some(next) = self.sweep_put(out, gone, slot.job) else {
                return;
            };
            u = self.links[out].sweeps_to as usize;
            slot = next;
        }
    }

    #[inline]
    #[allow(clippy::cast_possible_truncation)]
    fn sweep_take(&mut self, u: usize, slot: Slot) -> (Ticks, u32) {
        let unit = &self.units[u];
        let l = unit.in_link as usize;
        // Which of the two comes later is as good as random: without a jump.
        let at = slot.time.max(unit.free);
        let fact = if RECORD && slot.time <= unit.free {
            unit.free_fact
        } else {
            slot.fact
        };
        let link = &mut self.links[l];
        let j = link.taken;
        link.taken = j + 1;
        self.ring[link.at(j)] = Entry {
            slot,
            take: at,
            take_fact: fact,
        };
        let from = slot.time - link.transit;
        self.tally.stayed(l, link, from, at);
        if link.bank {
            self.bank_after_take(l as u32, j, at);
        }
        let feeder = self.links[l].from_unit;
        if feeder == NONE || self.units[feeder as usize].phase == Phase::Leaving {
            self.stack.push(self.links[l].from_pool);
        }
        (at, fact)
    }

    /// Works on the job, no calendar.
    #[inline]
    fn sweep_work(&mut self, u: usize, at: Ticks, fact: u32, job: u32) {
        let unit = &mut self.units[u];
        let cycle = if unit.fixed >= 0 {
            unit.fixed
        } else {
            self.draw_cycle(u, job)
        };
        let unit = &mut self.units[u];
        unit.begun = at;
        unit.cycle = cycle;
        let mut finish = at + cycle;
        if unit.stops == 1 && unit.wear_one {
            let stop = &mut self.stops[unit.first_stop as usize];
            stop.next -= cycle;
            if stop.next < 0 {
                finish += self.repairs(u);
            }
        } else if unit.stops > 0 {
            finish += self.stops_in(u as u32);
        }
        self.units[u].finish = finish;
        self.sweep_record(u, fact, finish - at);
    }

    /// Works on the job under a calendar; false if it has to go the slow way.
    #[inline]
    #[allow(clippy::cast_possible_truncation)]
    fn sweep_shift(&mut self, u: usize, at: Ticks, fact: u32, job: u32) -> bool {
        let unit = &mut self.units[u];
        let cycle = if unit.fixed >= 0 {
            unit.fixed
        } else {
            self.draw_cycle(u, job)
        };
        let unit = &mut self.units[u];
        let shifts = &self.shifts[unit.calendar as usize];
        let first = unit.first_stop as usize;
        let stops = &mut self.stops[first..first + unit.stops as usize];
        let calm = unit.wear_one && stops.iter().all(|s| s.next >= cycle);
        if !calm || shifts.at_close != AtClose::Pause {
            self.begin_with(u as u32, at, fact, job, cycle);
            let pool = self.units[u].pool;
            self.stack.push(pool);
            return false;
        }
        for stop in stops {
            stop.next -= cycle;
        }
        unit.begun = shifts.open_at(&mut unit.hand, at);
        unit.finish = shifts.after(&mut unit.hand, unit.begun, cycle);
        unit.cycle = cycle;
        self.sweep_record(u, fact, cycle);
        true
    }

    #[inline]
    #[allow(clippy::cast_possible_truncation)]
    fn sweep_record(&mut self, u: usize, fact: u32, open: Ticks) {
        if RECORD {
            let unit = &mut self.units[u];
            unit.finish_fact = self.path.record(
                fact,
                Done {
                    unit: u as u32,
                    start: unit.begun,
                    finish: unit.finish,
                    cycle: unit.cycle,
                    changeover: 0,
                    open,
                },
            );
        }
    }

    /// Puts the job into the link; gives it back if the station below can go
    /// on with it at once.
    #[inline]
    #[allow(clippy::cast_possible_truncation)]
    fn sweep_put(&mut self, out: usize, gone: Take, job: u32) -> Option<Slot> {
        let link = &mut self.links[out];
        if link.sweeps_to == NONE
            || link.put != link.taken
            || self.units[link.sweeps_to as usize].phase != Phase::Idle
        {
            self.put(out as u32, gone.time, job, gone.fact);
            return None;
        }
        let slot = Slot {
            time: gone.time + link.transit,
            job,
            fact: gone.fact,
        };
        let k = link.put;
        link.put = k + 1;
        if link.bank {
            self.ring[link.at(k)].slot = slot;
            self.bank_after_put(out as u32, k, gone.time);
        }
        Some(slot)
    }
}
