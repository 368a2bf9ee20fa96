//! The shortest way through a plain stretch that ends where nothing can block:
//! every job runs through all its stations at once, on arrays laid out in the
//! order of the line.
//!
//! The figures are those of the general way, bit for bit; only the bookkeeping
//! between the stations falls away. It needs a stretch without calendars,
//! crews, rework or measured banks whose last station lets jobs out of the
//! plant or into a link without limit.

use crate::clock::Ticks;
use crate::engine::Engine;
use crate::engine::path::START;
use crate::engine::state::{Exit, Phase, Take};
use crate::plan::{Intake, NONE, Outlets};

/// Shorter stretches go the general way.
const WORTH_IT: usize = 3;

#[derive(Debug)]
pub(crate) struct Chain {
    stages: Vec<Stage>,
    /// Times at which jobs were taken out of the links between the stages.
    takes: Vec<Ticks>,
    jobs: u64,
}

#[derive(Debug)]
struct Stage {
    free: Ticks,
    fixed: Ticks,
    slab_start: Ticks,
    slab_end: Ticks,
    slot: u32,
    in_takes: u32,
    in_mask: u32,
    out_takes: u32,
    out_mask: u32,
    /// Places below; `u64::MAX` without limit.
    out_holds: u64,
    out_transit: Ticks,
    in_transit: Ticks,
    stop: u32,
    unit: u32,
    tally: StageTally,
}

#[derive(Clone, Copy, Debug, Default)]
struct StageTally {
    done: u64,
    worked: Ticks,
    starved: Ticks,
    blocked: Ticks,
    stopped: Ticks,
    content: i128,
}

impl<const RECORD: bool> Engine<'_, RECORD> {
    /// Finds the stretches that end where nothing can block.
    pub(crate) fn find_chains(&mut self) {
        if RECORD || self.tally.banks {
            return;
        }
        for last in 0..self.units.len() {
            let outlets = &self.plan.pools[self.units[last].pool as usize].outlets;
            let ends = match outlets {
                Outlets::Leave => true,
                Outlets::One(l) => self.plan.links[*l as usize].holds == NONE,
                _ => false,
            };
            if !ends || !self.may_chain(last) {
                continue;
            }
            let mut units = vec![last];
            let mut first = last;
            while let Some(before) = self.feeder(first) {
                units.push(before);
                first = before;
            }
            if units.len() >= WORTH_IT {
                units.reverse();
                self.add_chain(&units);
            }
        }
    }

    fn may_chain(&self, u: usize) -> bool {
        let unit = &self.units[u];
        let pool = &self.plan.pools[unit.pool as usize];
        unit.chain == NONE
            && pool.units == 1
            && matches!(pool.intake, Intake::Link(l) if self.plan.links[l as usize].holds != 0)
            && unit.in_link != NONE
            && pool.calendar == NONE
            && pool.lots.is_none()
            && pool.quality.perfect
            && pool.returns_carrier.is_empty()
            && self.simple[unit.pool as usize]
            && unit.even_wear
            && unit.stops <= 1
    }

    /// The station above, if it belongs to the same stretch.
    fn feeder(&self, u: usize) -> Option<usize> {
        let l = self.units[u].in_link;
        let from = self.links[l as usize].from_unit;
        (from != NONE && self.units[from as usize].out_link == l && self.may_chain(from as usize))
            .then_some(from as usize)
    }

    fn add_chain(&mut self, units: &[usize]) {
        let mut chain = Chain {
            stages: Vec::with_capacity(units.len()),
            takes: Vec::new(),
            jobs: 0,
        };
        let mut above = (0, 0, 0);
        for (i, u) in units.iter().enumerate() {
            let unit = &self.units[*u];
            let way = (i + 1 < units.len()).then(|| &self.plan.links[unit.out_link as usize]);
            let room = match way {
                Some(way) if way.holds != NONE => way.holds.next_power_of_two(),
                _ => 1,
            };
            let base = chain.takes.len() as u32;
            chain.takes.resize(chain.takes.len() + room as usize, 0);
            let transit = way.map_or(0, |way| way.transit);
            chain.stages.push(Stage {
                free: 0,
                fixed: unit.fixed,
                slab_start: 0,
                slot: 0,
                slab_end: unit.slab_end,
                in_takes: above.0,
                in_mask: above.1,
                out_takes: base,
                out_mask: room - 1,
                out_holds: way
                    .filter(|w| w.holds != NONE)
                    .map_or(u64::MAX, |w| u64::from(w.holds)),
                out_transit: transit,
                in_transit: above.2,
                stop: if unit.stops == 1 {
                    unit.first_stop
                } else {
                    NONE
                },
                unit: *u as u32,
                tally: StageTally::default(),
            });
            above = (base, room - 1, transit);
        }
        // The first stage's link is a general one; its takes go nowhere here.
        chain.stages[0].in_takes = chain.takes.len() as u32;
        chain.stages[0].in_mask = 0;
        chain.takes.push(0);
        let number = self.chains.len() as u32;
        for u in units {
            self.units[*u].chain = number;
        }
        self.chains.push(chain);
    }

    /// Takes every job known to come to the chain's first station through it.
    pub(crate) fn run_chain(&mut self, u: usize) {
        let number = self.units[u].chain as usize;
        let mut chain = std::mem::replace(
            &mut self.chains[number],
            Chain {
                stages: Vec::new(),
                takes: Vec::new(),
                jobs: 0,
            },
        );
        let l = self.units[u].in_link;
        while let Some(slot) = self.head(l) {
            let at = slot.time.max(chain.stages[0].free);
            self.take(l, at, slot.fact);
            let gone = self.through(&mut chain, at, slot.job);
            let last = chain.stages[chain.stages.len() - 1].unit;
            self.out_of_chain(last, gone, slot.job);
        }
        self.chains[number] = chain;
    }

    fn out_of_chain(&mut self, last: u32, gone: Ticks, job: u32) {
        let at = Take {
            time: gone,
            fact: START,
        };
        let unit = &mut self.units[last as usize];
        unit.job = job;
        unit.exit = Exit::Leave;
        let out = unit.out_link;
        if out == NONE {
            self.out_of_plant(last, at);
        } else {
            self.put(out, gone, job, at.fact);
        }
    }

    /// One job through all stages, there to be taken at `at`; when it left the
    /// last one.
    fn through(&mut self, chain: &mut Chain, mut at: Ticks, job: u32) -> Ticks {
        let k = chain.jobs;
        chain.jobs += 1;
        let mut gone = at;
        for stage in &mut chain.stages {
            let begun = at.max(stage.free);
            chain.takes[(stage.in_takes + (k as u32 & stage.in_mask)) as usize] = begun;
            let cycle = if stage.fixed >= 0 {
                stage.fixed
            } else {
                self.draw_cycle(stage.unit as usize, job)
            };
            let mut finish = begun + cycle;
            if stage.stop != NONE {
                let stop = &mut self.stops[stage.stop as usize];
                stop.next -= cycle;
                if stop.next < 0 {
                    let repairs = self.repairs(stage.unit as usize);
                    finish += repairs;
                    stage.tally.stopped += repairs;
                }
            }
            gone = finish;
            if k >= stage.out_holds {
                let before = (k - stage.out_holds) as u32 & stage.out_mask;
                gone = gone.max(chain.takes[(stage.out_takes + before) as usize]);
            }
            let came = at - stage.in_transit;
            if gone <= stage.slab_end && came >= stage.slab_start {
                let tally = &mut stage.tally;
                tally.done += 1;
                tally.worked += cycle;
                tally.starved += begun - stage.free;
                tally.blocked += gone - finish;
                tally.content += i128::from(begun - came);
            } else {
                self.count_slow(
                    stage,
                    &Passed {
                        came,
                        begun,
                        finish,
                        gone,
                        cycle,
                    },
                );
            }
            stage.free = gone;
            at = gone + stage.out_transit;
        }
        gone
    }

    /// A job that crosses the edge of a slab.
    #[cold]
    fn count_slow(&mut self, stage: &mut Stage, job: &Passed) {
        let u = stage.unit as usize;
        // The repairs of this very job were counted as it passed.
        stage.tally.stopped -= job.finish - job.begun - job.cycle;
        self.flush_stage(stage);
        let unit = &mut self.units[u];
        unit.free = stage.free;
        unit.begun = job.begun;
        unit.finish = job.finish;
        unit.cycle = job.cycle;
        self.tally.spread(u, unit, job.gone, None);
        let l = unit.in_link as usize;
        let slabs = &self.tally.slabs;
        let n = slabs.slots();
        let slab = slabs.of(job.gone);
        let slot = slabs.slot(slab);
        if job.gone <= slabs.horizon() {
            self.tally.units[u * n + slot].done += 1;
        }
        stage.slot = slot as u32;
        stage.slab_start = slabs.edges[slab];
        stage.slab_end = slabs.edges[slab + 1];
        let mine = &mut self.tally.links[l * n..(l + 1) * n];
        slabs.split(job.came, job.begun, |slot, a, b| {
            mine[slot].content += i128::from(b - a);
        });
    }

    /// Moves a stage's running tally to its slot.
    fn flush_stage(&mut self, stage: &mut Stage) {
        let tally = std::mem::take(&mut stage.tally);
        let u = stage.unit as usize;
        let n = self.tally.slabs.slots();
        let slot = stage.slot as usize;
        let here = &mut self.tally.units[u * n + slot];
        here.done += tally.done;
        here.working += tally.worked;
        here.starved += tally.starved;
        here.blocked += tally.blocked;
        here.stopped += tally.stopped;
        let l = self.units[u].in_link as usize;
        self.tally.links[l * n + slot].content += tally.content;
    }

    /// Hands the chains' last state back to their units.
    pub(crate) fn close_chains(&mut self) {
        for mut chain in std::mem::take(&mut self.chains) {
            for stage in &mut chain.stages {
                self.flush_stage(stage);
                let unit = &mut self.units[stage.unit as usize];
                unit.free = stage.free;
                unit.phase = Phase::Idle;
            }
        }
    }
}

/// What a stage did with one job.
struct Passed {
    came: Ticks,
    begun: Ticks,
    finish: Ticks,
    gone: Ticks,
    cycle: Ticks,
}
