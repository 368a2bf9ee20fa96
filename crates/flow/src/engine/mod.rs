//! One replication.
//!
//! The engine computes facts, not events: the time at which a job leaves a
//! station follows from when it came, when the station was free and when a
//! place below became free (departure-time recursion; Buzacott & Shanthikumar
//! 1993, Chan & Schruben 2008), so whole first-in-first-out stretches are
//! computed ahead of the clock without a single event. The clock and its
//! calendar serve only what depends on who comes first: merges of several
//! ways, stations of several units, carriers, crews, releases, and which lot
//! comes next.
//!
//! Two rules make that right. Every fact derived while the clock stands at
//! `now` has a time of `now` or later, because it is the maximum of known
//! times of which the last became known at `now`. And a decision at `t` is
//! taken when the clock is at `t`, when all facts before `t` are known.

mod begin;
mod chain;
mod intake;
mod lanes;
mod leave;
mod lots;
mod path;
mod queue;
mod resources;
mod ring;
mod seen;
mod state;
mod sweep;
mod tally;
mod work;

use std::sync::atomic::{AtomicBool, Ordering};

use crate::clock::{NEVER, Shifts, Ticks};
use crate::plan::{NONE, Plan};

pub(crate) use lanes::{LANES, LONGEST, Lanes, Line};
pub(crate) use path::Path;
use path::{COMPACT_AT, Spent};
use queue::Queue;
pub(crate) use seen::Seen;
pub(crate) use state::UnitTally;
use state::{
    CrewState, Entry, FleetState, Jobs, LinkState, Phase, PoolState, StockWatch, StopState, Take,
    UnitState,
};
pub(crate) use tally::{LinkTally, Measures, PlantTally, Sizes, Slabs, Tally};

/// How often the cancel flag is looked at, in events.
const LOOK_EVERY: u32 = 1 << 14;

/// What one replication leaves behind.
#[derive(Debug)]
pub(crate) struct Finished {
    pub(crate) tally: Tally,
    /// Spent on the critical path: slot by slot the units, then the way
    /// between stations. Empty where the path was not recorded.
    pub(crate) spent: Vec<Spent>,
    /// Stations that wait for each other for ever, and since when.
    pub(crate) stuck: Vec<u32>,
    pub(crate) stuck_since: Ticks,
    /// The log of the path, for the next replication to write in.
    pub(crate) path: Path,
}

pub(crate) struct Engine<'p, const RECORD: bool> {
    plan: &'p Plan,
    shifts: &'p [Shifts],
    now: Ticks,
    horizon: Ticks,
    links: Vec<LinkState>,
    ring: Vec<Entry>,
    /// The stocks that lot stations watch.
    watches: Vec<StockWatch>,
    units: Vec<UnitState>,
    stops: Vec<StopState>,
    pools: Vec<PoolState>,
    /// Pools whose stops need neither clock nor crew.
    simple: Vec<bool>,
    jobs: Jobs,
    chains: Vec<chain::Chain>,
    fleets: Vec<FleetState>,
    crews: Vec<CrewState>,
    queue: Queue,
    stack: Vec<u32>,
    tally: Tally,
    path: Path,
    /// Who is told of every job, if anyone is.
    seen: Option<Box<Seen<'p>>>,
    last_out: Take,
    crew_slot: u32,
    fleet_slot: u32,
    unit_slot: u32,
    pool_slot: u32,
}

/// Seed and replication.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Luck {
    pub(crate) seed: u64,
    pub(crate) replication: u32,
}

impl<'p, const RECORD: bool> Engine<'p, RECORD> {
    /// Runs to the horizon; none if cancelled.
    pub(crate) fn run(mut self, cancel: &AtomicBool) -> Option<Finished> {
        self.stack.clear();
        for p in (0..self.plan.pools.len()).rev() {
            self.stack.push(p as u32);
        }
        self.drain();
        let mut events: u32 = 0;
        let mut compact_at = COMPACT_AT;
        let mut stuck_since = None;
        loop {
            let (slot, at) = self.queue.first();
            if at > self.horizon {
                if at >= NEVER {
                    stuck_since = Some(self.now);
                }
                break;
            }
            self.now = at;
            self.queue.serve(slot);
            self.due(slot);
            self.drain();
            self.queue.served();
            events = events.wrapping_add(1);
            if events.is_multiple_of(LOOK_EVERY) && cancel.load(Ordering::Relaxed) {
                return None;
            }
            if RECORD && self.path.is_long(compact_at) {
                self.compact_path();
                compact_at = (2 * self.path.len()).max(COMPACT_AT);
            }
        }
        Some(self.finish(stuck_since))
    }

    #[inline]
    fn due(&mut self, slot: u32) {
        if slot >= self.pool_slot {
            self.woken(slot - self.pool_slot);
        } else if slot >= self.unit_slot {
            self.unit_due(slot - self.unit_slot);
        } else if slot >= self.fleet_slot {
            self.carrier_back(slot - self.fleet_slot);
        } else {
            self.crew_free(slot - self.crew_slot);
        }
    }

    #[inline]
    fn drain(&mut self) {
        while let Some(p) = self.stack.pop() {
            self.poll(p);
        }
    }

    fn compact_path(&mut self) {
        let mut path = std::mem::take(&mut self.path);
        path.compact(&mut |see| {
            for entry in &mut self.ring {
                see(&mut entry.slot.fact);
                see(&mut entry.take_fact);
            }
            for take in self.watches.iter_mut().flat_map(|w| &mut w.coming) {
                see(&mut take.fact);
            }
            for unit in &mut self.units {
                see(&mut unit.free_fact);
                see(&mut unit.begun_fact);
                see(&mut unit.finish_fact);
                see(&mut unit.latest.fact);
            }
            for pool in &mut self.pools {
                see(&mut pool.wake_fact);
                for slot in pool.held.iter_mut().flatten() {
                    see(&mut slot.fact);
                }
            }
            for fleet in &mut self.fleets {
                let mut all = std::mem::take(&mut fleet.on_the_way).into_vec();
                for std::cmp::Reverse((_, fact)) in &mut all {
                    see(fact);
                }
                fleet.on_the_way = all.into();
            }
            see(&mut self.last_out.fact);
        });
        self.path = path;
    }

    /// Closes all measures at the horizon.
    fn finish(mut self, stuck_since: Option<Ticks>) -> Finished {
        let plan = self.plan;
        let horizon = self.horizon;
        self.close_chains();
        self.tell_of_the_rest();
        for u in 0..self.units.len() {
            let calendar = plan.pools[self.units[u].pool as usize].calendar;
            let shifts = if calendar == NONE {
                None
            } else {
                Some(&self.shifts[calendar as usize])
            };
            let unit = &mut self.units[u];
            self.tally.flush_unit(u, unit);
            match unit.phase {
                Phase::Idle => {
                    unit.taken = horizon;
                    unit.begun = horizon;
                    unit.finish = horizon;
                    unit.cycle = 0;
                    unit.changeover = 0;
                }
                Phase::Working => {
                    unit.cycle = (unit.cycle - unit.left).max(0);
                    unit.finish = horizon.max(unit.begun);
                }
                Phase::Done | Phase::Leaving | Phase::Offering => {}
            }
            if unit.free < horizon {
                self.tally.spread(u, unit, horizon, shifts);
            }
        }
        self.close_lots();
        self.close_places();
        for l in 0..self.links.len() {
            self.close_link(l);
        }
        let spent = if RECORD { self.walk_path() } else { Vec::new() };
        let stuck = self.stuck(stuck_since.is_some());
        Finished {
            spent,
            stuck,
            stuck_since: stuck_since.unwrap_or(self.now),
            tally: self.tally,
            path: self.path,
        }
    }

    fn walk_path(&self) -> Vec<Spent> {
        let plan = self.plan;
        self.path.walk(
            self.last_out.fact,
            self.units.len() + 1,
            |at| self.tally.slabs.slot(self.tally.slabs.of(at)),
            |unit, from, to| {
                let calendar = plan.pools[self.units[unit as usize].pool as usize].calendar;
                if calendar == NONE {
                    to - from
                } else {
                    let shifts = &self.shifts[calendar as usize];
                    shifts.open_time(0, to) - shifts.open_time(0, from)
                }
            },
        )
    }

    fn close_link(&mut self, l: usize) {
        let horizon = self.horizon;
        let link = &mut self.links[l];
        if link.holds == 0 {
            self.tally.flush_link(l, link);
            return;
        }
        for k in link.taken..link.put {
            let from = self.ring[link.at(k)].slot.time - link.transit;
            self.tally.stayed(l, link, from, horizon.max(from));
        }
        if link.bank {
            let holds = u64::from(link.holds);
            if link.holds != NONE && link.put >= holds && link.taken == link.put - holds {
                let last = self.ring[link.at(link.put - 1)].slot.time - link.transit;
                self.tally.bank(l, link, true, last, horizon.max(last));
            }
            if link.put == link.taken {
                let from = if link.put == 0 {
                    0
                } else {
                    self.ring[link.at(link.taken - 1)].take
                };
                self.tally.bank(l, link, false, from, horizon.max(from));
            }
        }
        self.tally.flush_link(l, link);
    }

    /// Stations that can never go on: each blocked by a link whose station
    /// below is itself one of them.
    fn stuck(&self, standstill: bool) -> Vec<u32> {
        let plan = self.plan;
        let waits = |u: usize| -> Option<u32> {
            let unit = &self.units[u];
            match (unit.phase, unit.exit) {
                (Phase::Leaving | Phase::Offering, state::Exit::Link(l)) => {
                    Some(plan.links[l as usize].to_pool)
                }
                _ => None,
            }
        };
        let mut blocked: Vec<bool> = (0..self.units.len()).map(|u| waits(u).is_some()).collect();
        let all = blocked.clone();
        loop {
            let mut changed = false;
            for u in 0..blocked.len() {
                if let Some(below) = waits(u).filter(|_| blocked[u]) {
                    let pool = &plan.pools[below as usize];
                    let free = (pool.first_unit..pool.first_unit + pool.units)
                        .any(|v| !blocked[v as usize]);
                    if free {
                        blocked[u] = false;
                        changed = true;
                    }
                }
            }
            if !changed {
                break;
            }
        }
        let found = if standstill && !blocked.iter().any(|b| *b) {
            all
        } else {
            blocked
        };
        let mut stations: Vec<u32> = (0..self.units.len())
            .filter(|u| found[*u])
            .map(|u| self.units[u].pool)
            .filter(|p| (*p as usize) < plan.station_count)
            .collect();
        stations.dedup();
        stations
    }
}
