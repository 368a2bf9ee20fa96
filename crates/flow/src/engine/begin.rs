//! A replication before its first moment.

use std::collections::VecDeque;

use super::path::{Path, START};
use super::queue::Queue;
use super::state::{
    CrewState, Entry, FleetState, Job, Jobs, LinkState, LotState, PoolState, StockWatch, StopState,
    Take, UnitState,
};
use super::tally::Tally;
use super::{Engine, Luck};
use crate::clock::{NEVER, Shifts};
use crate::distribution::Sampler;
use crate::model::Basis;
use crate::plan::{Intake, NONE, Outlets, Plan, Pool, StopPlan};
use crate::reference;
use crate::stream::Stream;

impl Luck {
    pub(super) fn stream(self, name: &str, purpose: &str) -> Stream {
        Stream::keyed(self.seed, self.replication, name, purpose)
    }

    /// A cause of stops at the unit of this name as the run begins.
    pub(super) fn stop(self, unit: &str, stop: &StopPlan) -> StopState {
        let mut between = match stop.shared {
            Some(station) => reference::stops_stream(self.seed, self.replication, station),
            None if stop.between.is_listed() => Stream::from_state(0),
            None => self.stream(unit, &format!("between {}", stop.cause)),
        };
        StopState {
            next: stop.between.draw(&mut between),
            between,
            repair: if stop.repair.is_listed() {
                Stream::from_state(0)
            } else {
                self.stream(unit, &format!("repair {}", stop.cause))
            },
        }
    }
}

/// The unit of a pool that has one only.
fn only_unit(pool: &Pool) -> u32 {
    if pool.units == 1 {
        pool.first_unit
    } else {
        NONE
    }
}

/// Whether a pool's stops need neither clock nor crew.
fn is_simple(pool: &Pool) -> bool {
    let mut stops = pool.stops.iter();
    stops.all(|stop| stop.crew == NONE && stop.basis == Basis::Running)
}

fn standing(here: u32) -> FleetState {
    FleetState {
        here,
        ..FleetState::default()
    }
}

fn idle(free: u32) -> CrewState {
    CrewState {
        free,
        ..CrewState::default()
    }
}

/// A unit of the p-th pool, by its own name, before anything has come to it.
fn unit_of(pool: &Pool, p: u32, name: &str, luck: Luck) -> UnitState {
    let (cycles, quality) = (luck.stream(name, "cycle"), luck.stream(name, "quality"));
    let mut unit = UnitState::new(p, cycles, quality);
    if pool.units == 1
        && pool.takes_carrier.is_empty()
        && let Intake::Link(l) = pool.intake
    {
        unit.in_link = l;
    }
    if pool.quality.perfect
        && let Outlets::One(l) = pool.outlets
    {
        unit.out_link = l;
    }
    if pool.lots.is_none()
        && let [Sampler::Fixed(t)] = pool.samplers.as_slice()
    {
        unit.fixed = *t;
    }
    unit.calendar = pool.calendar;
    let running = pool.stops.iter().all(|s| s.basis == Basis::Running);
    unit.even_wear = pool.wear == 1.0 && running;
    unit.plain = unit.in_link != NONE
        && unit.out_link != NONE
        && pool.units == 1
        && pool.lots.is_none()
        && pool.returns_carrier.is_empty()
        && running;
    unit
}

impl<'p, const RECORD: bool> Engine<'p, RECORD> {
    pub(crate) fn new(
        plan: &'p Plan,
        shifts: &'p [Shifts],
        luck: Luck,
        tally: Tally,
        path: Path,
    ) -> Self {
        let crew_slot = 0;
        let fleet_slot = crew_slot + plan.crews.len() as u32;
        let unit_slot = fleet_slot + plan.fleets.len() as u32;
        let pool_slot = unit_slot + plan.unit_count as u32;
        let slots = pool_slot + plan.pools.len() as u32;
        let horizon = tally.slabs.horizon();
        let mut engine = Self {
            plan,
            shifts,
            now: 0,
            horizon,
            links: Vec::with_capacity(plan.links.len()),
            ring: Vec::new(),
            watches: Vec::new(),
            units: Vec::with_capacity(plan.unit_count),
            stops: Vec::new(),
            pools: Vec::with_capacity(plan.pools.len()),
            simple: plan.pools.iter().map(is_simple).collect(),
            jobs: Jobs {
                capped: plan.capped as usize,
                ..Jobs::default()
            },
            chains: Vec::new(),
            fleets: plan
                .fleets
                .iter()
                .map(|fleet| standing(fleet.count))
                .collect(),
            crews: plan.crews.iter().map(|count| idle(*count)).collect(),
            queue: Queue::new(slots as usize),
            stack: Vec::with_capacity(64),
            tally,
            path,
            seen: None,
            last_out: Take {
                time: 0,
                fact: START,
            },
            crew_slot,
            fleet_slot,
            unit_slot,
            pool_slot,
        };
        engine.fill(luck);
        engine
    }

    fn fill(&mut self, luck: Luck) {
        for p in 0..self.plan.pools.len() {
            self.add_pool(p as u32, luck);
        }
        for l in 0..self.plan.links.len() {
            self.add_link(l as u32);
        }
        self.find_chains();
        for u in 0..self.units.len() {
            if self.units[u].plain && self.units[u].chain == NONE {
                let l = self.units[u].in_link as usize;
                self.links[l].sweeps_to = u as u32;
            }
        }
        self.first_stocks();
    }

    fn add_pool(&mut self, p: u32, luck: Luck) {
        let plan = self.plan;
        let pool = &plan.pools[p as usize];
        // The first unit keeps the station's own streams, so that one unit more
        // leaves the luck of the others as it was.
        let name = |unit: u32| match unit {
            0 => pool.name.clone(),
            _ => format!("{}#{}", pool.name, unit + 1),
        };
        let kinds = match &pool.intake {
            Intake::Each(each) if each.as_they_come => each.parts.len() + 1,
            _ => 0,
        };
        self.pools.push(PoolState {
            waiting: VecDeque::new(),
            released: 0,
            release: luck.stream(&pool.name, "release"),
            carrier_since: NEVER,
            wake_fact: START,
            held: vec![None; kinds],
            lot: LotState {
                item: NONE,
                left: 0,
                turn: None,
                born: 0,
                changeover: 0,
                looked: -1,
            },
        });
        for i in 0..pool.units {
            let name = name(i);
            let mut unit = unit_of(pool, p, &name, luck);
            unit.slab_end = self.tally.slabs.edges[1];
            unit.crewless = self.simple[p as usize];
            unit.first_stop = self.stops.len() as u32;
            unit.stops = pool.stops.len() as u32;
            let stops = pool.stops.iter().map(|stop| luck.stop(&name, stop));
            self.stops.extend(stops);
            self.units.push(unit);
        }
    }

    fn add_link(&mut self, l: u32) {
        let plan = self.plan;
        let way = &plan.links[l as usize];
        let from = &plan.pools[way.from_pool as usize];
        let limited = way.holds != NONE;
        let room = if limited {
            way.holds.max(1).next_power_of_two()
        } else {
            16
        };
        let watch = if way.watched {
            let start_below = from
                .lots
                .iter()
                .flat_map(|lots| &lots.items)
                .find(|item| item.to == l)
                .map_or(0, |item| u64::from(item.start_below));
            self.watches.push(StockWatch {
                coming: VecDeque::new(),
                start_below,
            });
            (self.watches.len() - 1) as u32
        } else {
            NONE
        };
        let mut wakes_lots = false;
        if let Some(lots) = &plan.pools[way.to_pool as usize].lots {
            wakes_lots = lots.items.iter().any(|item| item.from == l);
        }
        self.links.push(LinkState {
            base: self.ring.len() as u32,
            mask: room - 1,
            put: 0,
            taken: 0,
            holds: way.holds,
            from_pool: way.from_pool,
            to_pool: way.to_pool,
            from_unit: only_unit(from),
            to_unit: match way.to_pool {
                NONE => NONE,
                p => only_unit(&plan.pools[p as usize]),
            },
            offered_by: NONE,
            wanted: false,
            watch,
            wakes_lots,
            bank: self.tally.banks && way.holds != 0,
            sweeps_to: NONE,
            transit: way.transit,
            seen: 0,
            slot: 0,
            slab_start: 0,
            slab_end: self.tally.slabs.edges[1],
            content: 0,
            full: 0,
            empty: 0,
        });
        self.ring
            .resize(self.ring.len() + room as usize, Entry::default());
    }

    fn first_stocks(&mut self) {
        let plan = self.plan;
        for pool in &plan.pools {
            let Some(lots) = &pool.lots else { continue };
            for item in &lots.items {
                for _ in 0..item.at_start {
                    let job = self.jobs.add(Job {
                        born: 0,
                        class: item.class,
                        carriers: 0,
                        tried: false,
                        failed: false,
                    });
                    self.tally.entered(0);
                    self.put(item.to, 0, job, START);
                }
            }
        }
    }
}
