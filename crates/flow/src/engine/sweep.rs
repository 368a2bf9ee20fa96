//! The fast way along a first-in-first-out stretch: one job through as many
//! stations as its times are known for, without a stop at the work list.

use crate::clock::Ticks;
use crate::engine::Engine;
use crate::engine::path::{Done, START};
use crate::engine::state::{Entry, Exit, LinkState, Phase, Slot, Take};
use crate::plan::NONE;

impl<const RECORD: bool> Engine<'_, RECORD> {
    /// Carries the head of `u`'s link on from station to station. `u` must be
    /// plain and idle, its link have a job. What is left over goes to the work
    /// list.
    pub(crate) fn sweep(&mut self, mut u: usize, mut slot: Slot) {
        loop {
            let (at, fact) = self.sweep_take(u, slot);
            if self.units[u].calendar != NONE || !self.units[u].crewless {
                if !self.sweep_shift(u, at, fact, slot.job) {
                    return;
                }
            } else {
                self.sweep_work(u, at, fact, slot.job);
            }
            let unit = &mut self.units[u];
            let out = unit.out_link as usize;
            let link = &self.links[out];
            let mut gone = Take {
                time: unit.finish,
                fact: unit.finish_fact,
            };
            // When a place below is free; hand to hand, the station itself.
            let place = if link.holds == 0 {
                self.hand_below(link)
            } else if link.holds == NONE || link.put < u64::from(link.holds) {
                Some(Take {
                    time: 0,
                    fact: START,
                })
            } else {
                let before = link.put - u64::from(link.holds);
                (link.taken > before).then(|| self.take_of(link, before))
            };
            let unit = &mut self.units[u];
            let Some(place) = place else {
                unit.job = slot.job;
                unit.exit = Exit::Link(unit.out_link);
                unit.phase = Phase::Leaving;
                self.stack.push(unit.pool);
                return;
            };
            if RECORD && place.time > gone.time {
                gone.fact = place.fact;
            }
            gone.time = gone.time.max(place.time);
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

    /// When the station below can take from hand to hand, if it stands idle.
    #[inline]
    fn hand_below(&self, link: &LinkState) -> Option<Take> {
        if link.sweeps_to == NONE || link.put != link.taken || link.offered_by != NONE {
            return None;
        }
        let below = &self.units[link.sweeps_to as usize];
        (below.phase == Phase::Idle).then_some(Take {
            time: below.free,
            fact: below.free_fact,
        })
    }

    #[inline]
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
        let begun = if link.holds == 0 {
            let there = at + link.transit;
            if link.transit > 0 {
                self.tally.stayed(l, link, at, there);
            }
            there
        } else {
            let from = slot.time - link.transit;
            self.tally.stayed(l, link, from, at);
            if link.bank {
                self.bank_after_take(l as u32, j, at);
            }
            at
        };
        let feeder = self.links[l].from_unit;
        if feeder == NONE
            || matches!(
                self.units[feeder as usize].phase,
                Phase::Leaving | Phase::Offering
            )
        {
            self.stack.push(self.links[l].from_pool);
        }
        (begun, fact)
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
        if unit.stops == 1 && unit.even_wear {
            let stop = &mut self.stops[unit.first_stop as usize];
            stop.next -= cycle;
            if stop.next < 0 {
                finish += self.repairs(u);
            }
        } else if unit.stops > 0 {
            finish += self.stops_in(u as u32);
        }
        self.units[u].finish = finish;
        self.sweep_record(u, fact);
    }

    /// Works on the job under a calendar or with crews; false if it has to go
    /// step by step.
    #[inline]
    fn sweep_shift(&mut self, u: usize, at: Ticks, fact: u32, job: u32) -> bool {
        let fixed = self.units[u].fixed;
        let cycle = if fixed >= 0 {
            fixed
        } else {
            self.draw_cycle(u, job)
        };
        self.units[u].cycle = cycle;
        self.units[u].taken = at;
        if !self.undisturbed(u as u32, at) {
            self.begin_with(u as u32, at, fact, job, cycle);
            let pool = self.units[u].pool;
            self.stack.push(pool);
            return false;
        }
        self.sweep_record(u, fact);
        true
    }

    #[inline]
    fn sweep_record(&mut self, u: usize, fact: u32) {
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
                },
            );
        }
    }

    /// Puts the job into the link; gives it back if the station below can go
    /// on with it at once.
    #[inline]
    fn sweep_put(&mut self, out: usize, gone: Take, job: u32) -> Option<Slot> {
        let link = &mut self.links[out];
        if link.sweeps_to == NONE
            || link.put != link.taken
            || self.units[link.sweeps_to as usize].phase != Phase::Idle
        {
            self.put(out as u32, gone.time, job, gone.fact);
            return None;
        }
        let transit = if link.holds == 0 { 0 } else { link.transit };
        let slot = Slot {
            time: gone.time + transit,
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
