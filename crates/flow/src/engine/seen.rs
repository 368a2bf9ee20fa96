//! Telling an observer what every unit did with every job.
//!
//! An observed replication goes the general way, step by step: the short cuts
//! that pass over the instants between have nothing to tell. Its luck and its
//! figures stay the same.

use crate::clock::Ticks;
use crate::engine::Engine;
use crate::engine::state::{Exit, Job, Phase};
use crate::observe::{Down, JobOut, Observed, Pass, Verdict};
use crate::plan::NONE;

/// The observer, and the stops of each unit that it has not been told of.
pub(crate) struct Seen<'o> {
    tell: &'o mut dyn FnMut(Observed<'_>),
    downs: Vec<Vec<Down>>,
}

impl<'o> Seen<'o> {
    pub(crate) fn new(units: usize, tell: &'o mut dyn FnMut(Observed<'_>)) -> Box<Self> {
        Box::new(Self {
            tell,
            downs: vec![Vec::new(); units],
        })
    }

    /// A stop of a unit: down, repair begun, up again.
    pub(crate) fn down(&mut self, u: u32, cause: u32, down: Ticks, mended_from: Ticks, up: Ticks) {
        self.downs[u as usize].push(Down {
            cause: cause as usize,
            down_ns: down,
            mended_from_ns: mended_from,
            up_ns: up,
        });
    }

    pub(crate) fn out(&mut self, station: usize, job: &Job, at: Ticks) {
        (self.tell)(Observed::Out(JobOut {
            station,
            class: usize::from(job.class),
            born_ns: job.born,
            out_ns: at,
        }));
    }
}

impl std::fmt::Debug for Seen<'_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Seen").finish_non_exhaustive()
    }
}

impl<'p, const RECORD: bool> Engine<'p, RECORD> {
    /// The same replication with someone who is told of every job.
    pub(crate) fn observed(mut self, tell: &'p mut dyn FnMut(Observed<'_>)) -> Self {
        self.chains.clear();
        self.simple.fill(false);
        for unit in &mut self.units {
            unit.chain = NONE;
            unit.plain = false;
            unit.crewless = false;
        }
        for link in &mut self.links {
            link.sweeps_to = NONE;
        }
        self.seen = Some(Seen::new(self.units.len(), tell));
        self
    }

    /// Tells of the job that leaves the unit at `left`.
    #[cold]
    pub(crate) fn tell(&mut self, u: u32, left: Ticks) {
        self.pass(u, left, self.units[u as usize].finish, true);
    }

    fn pass(&mut self, u: u32, left: Ticks, finish: Ticks, ended: bool) {
        let plan = self.plan;
        let Some(seen) = &mut self.seen else { return };
        let unit = &self.units[u as usize];
        let pool = &plan.pools[unit.pool as usize];
        let downs = std::mem::take(&mut seen.downs[u as usize]);
        if unit.pool as usize >= plan.station_count {
            return;
        }
        let verdict = match unit.exit {
            Exit::Scrap => Verdict::Scrap,
            Exit::Link(l) if l == pool.quality.rework => Verdict::Rework,
            _ => Verdict::Ok,
        };
        let class = self.jobs.jobs.get(unit.job as usize).map(|job| job.class);
        (seen.tell)(Observed::Pass(Pass {
            station: unit.pool as usize,
            unit: (u - pool.first_unit) as usize,
            class: class.map_or(0, usize::from),
            free_ns: unit.free,
            begun_ns: unit.begun,
            finish_ns: finish,
            left_ns: left,
            changeover_ns: unit.changeover,
            downs: &downs,
            verdict,
            ended,
        }));
    }

    /// Tells of what every unit is at when the run ends.
    pub(crate) fn tell_of_the_rest(&mut self) {
        if self.seen.is_none() {
            return;
        }
        let horizon = self.horizon;
        for u in 0..self.units.len() {
            let unit = &mut self.units[u];
            let finish = match unit.phase {
                Phase::Idle => {
                    unit.begun = horizon.max(unit.free);
                    unit.begun
                }
                Phase::Working => {
                    let (down, by) = (unit.at, unit.stopped_by);
                    // It waits for a crew: down since then, nobody there yet.
                    if let Some(seen) = &mut self.seen
                        && by != NONE
                        && down < horizon
                    {
                        seen.down(u as u32, by, down, horizon, horizon);
                    }
                    horizon.max(self.units[u].begun)
                }
                Phase::Done | Phase::Leaving | Phase::Offering => unit.finish,
            };
            self.pass(u as u32, horizon.max(finish), finish, false);
        }
    }
}
