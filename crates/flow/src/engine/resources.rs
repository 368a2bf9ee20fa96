//! Carriers and repair crews: shared by stations, so served in order of time.

use std::cmp::Reverse;

use crate::clock::{NEVER, Ticks};
use crate::engine::Engine;
use crate::engine::state::Phase;
use crate::plan::NONE;

impl<const RECORD: bool> Engine<'_, RECORD> {
    /// Takes a carrier of every fleet that the pool needs and the job does not
    /// ride on already, as it does when it comes back from rework; false and in
    /// line for the first one missing if there is none.
    pub(crate) fn take_carriers(&mut self, p: u32, riding: u32) -> bool {
        let plan = self.plan;
        let wanted = &plan.pools[p as usize].takes_carrier;
        let missing = |f: &&u32| riding & (1 << **f) == 0;
        for f in wanted.iter().filter(missing) {
            let fleet = &mut self.fleets[*f as usize];
            if fleet.here == 0 {
                if !fleet.wanted_by.contains(&p) {
                    fleet.wanted_by.push_back(p);
                }
                let pool = &mut self.pools[p as usize];
                if pool.carrier_since == NEVER {
                    pool.carrier_since = self.now;
                }
                return false;
            }
        }
        for f in wanted.iter().filter(missing) {
            self.fleets[*f as usize].here -= 1;
        }
        true
    }

    /// Sends the carrier of fleet `f` on its way back from `at`.
    pub(crate) fn return_carrier(&mut self, f: u32, at: Ticks, fact: u32) {
        let back = at + self.plan.fleets[f as usize].return_time;
        let fleet = &mut self.fleets[f as usize];
        fleet.on_the_way.push(Reverse((back, fact)));
        if let Some(Reverse((first, _))) = fleet.on_the_way.peek() {
            self.queue.set(self.fleet_slot + f, *first);
        }
    }

    /// The clock has reached a carrier's return.
    pub(crate) fn carrier_back(&mut self, f: u32) {
        let fleet = &mut self.fleets[f as usize];
        let Some(Reverse((_, fact))) = fleet.on_the_way.pop() else {
            return;
        };
        fleet.here += 1;
        let next = fleet
            .on_the_way
            .peek()
            .map_or(NEVER, |Reverse((at, _))| *at);
        let waiting = fleet.wanted_by.pop_front();
        self.queue.set(self.fleet_slot + f, next);
        if let Some(p) = waiting {
            self.pools[p as usize].wake_fact = fact;
            let now = self.now;
            self.queue.set(self.pool_slot + p, now);
        }
    }

    /// The clock has reached a stop that needs a crew: call it.
    pub(crate) fn call_crew(&mut self, u: u32) {
        let plan = self.plan;
        let unit = &self.units[u as usize];
        let pool = &plan.pools[unit.pool as usize];
        let crew = pool.stops[unit.stopped_by as usize].crew;
        if self.crews[crew as usize].free > 0 {
            self.repair_from_now(u, crew);
        } else {
            self.crews[crew as usize].wanted_by.push_back(u);
        }
    }

    fn repair_from_now(&mut self, u: u32, crew: u32) {
        let plan = self.plan;
        let now = self.now;
        let unit = &mut self.units[u as usize];
        let pool = &plan.pools[unit.pool as usize];
        let by = unit.stopped_by;
        let fixed = &pool.stops[by as usize];
        let waited = (now - unit.at).max(0);
        unit.crew_wait += waited;
        let stop = &mut self.stops[(unit.first_stop + by) as usize];
        let repair = fixed.repair.draw(&mut stop.repair);
        let between = fixed.between.draw(&mut stop.between);
        // The crew goes when the machine runs, whether or not the shift that
        // works on it is open by then.
        let down = unit.at;
        unit.at = unit.at.max(now);
        let start = unit.at;
        self.repaired(u, by, pool, repair);
        let until = if fixed.in_breaks {
            start + repair
        } else {
            self.units[u as usize].at
        };
        if let Some(seen) = &mut self.seen {
            seen.down(u, by, down.min(start), start, until);
        }
        let stop = &mut self.stops[(self.units[u as usize].first_stop + by) as usize];
        stop.next = match fixed.basis {
            crate::model::Basis::Running => between,
            crate::model::Basis::Clock => until + between,
        };
        let crew_state = &mut self.crews[crew as usize];
        crew_state.free -= 1;
        crew_state.busy_until.push(Reverse(until));
        if let Some(Reverse(first)) = crew_state.busy_until.peek() {
            self.queue.set(self.crew_slot + crew, *first);
        }
        self.units[u as usize].stopped_by = NONE;
        self.work_on(u);
        if self.units[u as usize].phase != Phase::Working {
            self.stack.push(self.units[u as usize].pool);
        }
    }

    /// The clock has reached the end of a repair: the crew goes on to the next.
    pub(crate) fn crew_free(&mut self, crew: u32) {
        let state = &mut self.crews[crew as usize];
        if state.busy_until.pop().is_none() {
            return;
        }
        state.free += 1;
        let next = state.busy_until.peek().map_or(NEVER, |Reverse(at)| *at);
        let waiting = state.wanted_by.pop_front();
        self.queue.set(self.crew_slot + crew, next);
        if let Some(u) = waiting {
            self.repair_from_now(u, crew);
        }
    }
}
