//! Several replications of one line side by side.
//!
//! Where the whole plant is a line of plain stations, every replication does
//! the same work on other numbers: one job through all stations, one station
//! after the other. So [`LANES`] replications go through together, one in each
//! lane of the processor's vector registers.
//!
//! The figures are those of the general way, bit for bit. Times are whole
//! ticks all along, held in `f64` because even old processors compare and
//! choose those several at a time; a whole number below 2^53 is exact there,
//! which is why the run may not be longer than [`LONGEST`].

use std::sync::atomic::{AtomicBool, Ordering};

use crate::clock::Ticks;
use crate::distribution::Sampler;
use crate::engine::path::Path;
use crate::engine::state::{StopState, UnitState};
use crate::engine::tally::Tally;
use crate::engine::work::cycle_of;
use crate::engine::{Finished, Luck};
use crate::model::Basis;
use crate::plan::{Intake, NONE, Outlets, Plan, Pool};
use crate::stream::Stream;

/// Replications that go together.
pub(crate) const LANES: usize = 4;

/// The longest run, in ticks: half of what `f64` counts without a gap, so that
/// what is added to a time within the run stays exact.
pub(crate) const LONGEST: Ticks = 1 << 52;

/// A running sum this large is moved on while it is exact.
const FLUSH_AT: f64 = LONGEST as f64;

/// Jobs after which the cancel flag is looked at.
const LOOK_EVERY: u64 = 1 << 10;

type Wide = [f64; LANES];

/// The pools of a plant that is one plain line, from the first to the last.
#[derive(Debug)]
pub(crate) struct Line(Vec<u32>);

impl Line {
    /// The plant as a line, if that is all there is: every station one unit
    /// with at most one cause of stops by running time, fed by the one before,
    /// all jobs of one class, no calendar, crew, carrier, lot or rework.
    pub(crate) fn of(plan: &Plan) -> Option<Self> {
        let first = plan
            .pools
            .iter()
            .position(|pool| matches!(pool.intake, Intake::Released(_)))?;
        let mut pools = vec![u32::try_from(first).ok()?];
        let mut here = &plan.pools[first];
        while let Outlets::One(l) = here.outlets {
            let way = &plan.links[l as usize];
            let next = plan.pools.get(way.to_pool as usize)?;
            if way.holds == 0 || !matches!(next.intake, Intake::Link(_)) {
                return None;
            }
            pools.push(way.to_pool);
            here = next;
        }
        let ends = matches!(here.outlets, Outlets::Leave);
        let all = pools.len() == plan.pools.len() && plan.class_names.len() == 1;
        (ends && all && plan.pools.iter().all(is_plain)).then_some(Self(pools))
    }
}

fn is_plain(pool: &Pool) -> bool {
    pool.units == 1
        && pool.batch == 1
        && !pool.arrival
        && pool.wear == 1.0
        && pool.calendar == NONE
        && pool.lots.is_none()
        && pool.quality.perfect
        && pool.takes_carrier.is_empty()
        && pool.returns_carrier.is_empty()
        && pool.stops.len() <= 1
        && pool
            .stops
            .iter()
            .all(|stop| stop.basis == Basis::Running && stop.crew == NONE)
}

/// One station of all lanes.
struct Stage<'p> {
    free: Wide,
    /// Running time to the next stop; without end where there are none.
    next: Wide,
    slab_start: Wide,
    slab_end: Wide,
    /// Sums since `flushed`.
    starved: Wide,
    worked: Wide,
    stopped: Wide,
    content: Wide,
    /// When the station was last free as the sums were moved on, and how many
    /// jobs it had done.
    flushed: Wide,
    done: [u64; LANES],
    slot: [usize; LANES],
    /// Where the takes from the links before and behind stand.
    in_takes: usize,
    in_mask: usize,
    out_takes: usize,
    out_mask: usize,
    out_holds: usize,
    in_transit: f64,
    out_transit: f64,
    cycle: Cycle<'p>,
    pool: &'p Pool,
    in_link: u32,
}

/// A link as the station at one of its ends sees it.
#[derive(Clone, Copy)]
struct Ends {
    /// Where its takes stand, and the mask of their ring.
    takes: usize,
    mask: usize,
    transit: f64,
    link: u32,
}

impl<'p> Stage<'p> {
    /// A station before its first job, between two links.
    fn idle(
        pool: &'p Pool,
        luck: [Luck; LANES],
        stops: &[StopState],
        [before, behind]: [Ends; 2],
        out_holds: u32,
        first_edge: f64,
    ) -> Self {
        let mut next = [f64::INFINITY; LANES];
        for (next, stop) in next.iter_mut().zip(stops) {
            *next = exact(stop.next);
        }
        Self {
            free: [0.0; LANES],
            next,
            slab_start: [0.0; LANES],
            slab_end: [first_edge; LANES],
            starved: [0.0; LANES],
            worked: [0.0; LANES],
            stopped: [0.0; LANES],
            content: [0.0; LANES],
            flushed: [0.0; LANES],
            done: [0; LANES],
            slot: [0; LANES],
            in_takes: before.takes,
            in_mask: before.mask,
            out_takes: behind.takes,
            out_mask: behind.mask,
            out_holds: out_holds as usize,
            in_transit: before.transit,
            out_transit: behind.transit,
            cycle: match cycle_of(pool, 0) {
                Sampler::Fixed(t) => Cycle::Fixed(exact(*t)),
                drawn => Cycle::Drawn(
                    drawn,
                    Box::new(luck.map(|luck| luck.stream(&pool.name, "cycle"))),
                ),
            },
            pool,
            in_link: before.link,
        }
    }
}

enum Cycle<'p> {
    Fixed(f64),
    Drawn(&'p Sampler, Box<[Stream; LANES]>),
}

pub(crate) struct Lanes<'p> {
    stages: Vec<Stage<'p>>,
    /// By station, then by lane; empty where there are none.
    stops: Vec<Vec<StopState>>,
    /// When jobs were taken out of the links, in a ring for each.
    takes: Vec<Wide>,
    tallies: Vec<Tally>,
    horizon: f64,
}

impl<'p> Lanes<'p> {
    /// A line with the luck of each lane; `tallies` has one for each lane.
    pub(crate) fn new(
        plan: &'p Plan,
        line: &Line,
        luck: [Luck; LANES],
        tallies: Vec<Tally>,
    ) -> Self {
        let slabs = &tallies[0].slabs;
        let horizon = exact(slabs.horizon());
        let first_edge = exact(slabs.edges[1]);
        // One place for the takes nobody asks for, one that is always free.
        let mut takes = vec![[0.0; LANES]; 2];
        let mut stages: Vec<Stage<'p>> = Vec::with_capacity(line.0.len());
        let mut stops = Vec::with_capacity(line.0.len());
        let mut before = Ends {
            takes: 0,
            mask: 0,
            transit: 0.0,
            link: NONE,
        };
        for p in &line.0 {
            let pool = &plan.pools[*p as usize];
            let way = match pool.outlets {
                Outlets::One(l) => Some((l, &plan.links[l as usize])),
                _ => None,
            };
            let holds = way.map_or(NONE, |(_, way)| way.holds);
            let (ring, mask) = if holds == NONE {
                (1, 0)
            } else {
                let room = (holds as usize).next_power_of_two();
                takes.resize(takes.len() + room, [0.0; LANES]);
                (takes.len() - room, room - 1)
            };
            let behind = Ends {
                takes: ring,
                mask,
                transit: way.map_or(0.0, |(_, way)| exact(way.transit)),
                link: way.map_or(NONE, |(l, _)| l),
            };
            let own: Vec<StopState> = (pool.stops.iter())
                .flat_map(|stop| luck.map(|luck| luck.stop(&pool.name, stop)))
                .collect();
            let ends = [before, behind];
            stages.push(Stage::idle(pool, luck, &own, ends, holds, first_edge));
            stops.push(own);
            // Takes from a link without limit hold nobody up.
            before = if holds == NONE {
                Ends {
                    takes: 0,
                    mask: 0,
                    ..behind
                }
            } else {
                behind
            };
        }
        Self {
            stages,
            stops,
            takes,
            tallies,
            horizon,
        }
    }

    /// Runs all lanes to the horizon; none if cancelled. A lane that is there
    /// before the others works on: what lies behind the horizon counts nowhere.
    pub(crate) fn run(mut self, cancel: &AtomicBool) -> Option<Vec<Finished>> {
        let mut job = 0;
        loop {
            let born = self.stages[0].free;
            if born.iter().all(|at| *at > self.horizon) {
                break;
            }
            let gone = self.pass(job, born);
            for lane in 0..LANES {
                if born[lane] > self.horizon {
                    continue;
                }
                let (born, gone) = (ticks(born[lane]), ticks(gone[lane]));
                let tally = &mut self.tallies[lane];
                tally.entered(born);
                tally.gone(gone);
                tally.made(gone, born, 0, gone);
            }
            job += 1;
            if job % LOOK_EVERY == 0 && cancel.load(Ordering::Relaxed) {
                return None;
            }
        }
        for stage in &mut self.stages {
            for (lane, tally) in self.tallies.iter_mut().enumerate() {
                stage.flush(tally, lane, job);
            }
        }
        let finished = self.tallies.into_iter().map(|tally| Finished {
            tally,
            spent: Vec::new(),
            stuck: Vec::new(),
            stuck_since: 0,
            path: Path::default(),
        });
        Some(finished.collect())
    }

    /// The next job of every lane through all stations; when it left the last.
    fn pass(&mut self, job: u64, born: Wide) -> Wide {
        let k = usize::try_from(job).unwrap_or(0);
        let (mut at, mut gone) = (born, born);
        for (stage, stops) in self.stages.iter_mut().zip(&mut self.stops) {
            let begun = each(|l| later(at[l], stage.free[l]));
            self.takes[stage.in_takes + (k & stage.in_mask)] = begun;
            let cycle = match &mut stage.cycle {
                Cycle::Fixed(cycle) => [*cycle; LANES],
                Cycle::Drawn(sampler, streams) => each(|l| exact(sampler.draw(&mut streams[l]))),
            };
            let mut finish = each(|l| begun[l] + cycle[l]);
            stage.next = each(|l| stage.next[l] - cycle[l]);
            if any(|l| stage.next[l] < 0.0) {
                let repairs = stage.repairs(stops);
                finish = each(|l| finish[l] + repairs[l]);
                stage.stopped = each(|l| stage.stopped[l] + repairs[l]);
            }
            // A place that nobody has been in yet counts as free from 0.
            let free_place = k.wrapping_sub(stage.out_holds) & stage.out_mask;
            let place = self.takes[stage.out_takes + free_place];
            gone = each(|l| later(finish[l], place[l]));
            let came = each(|l| at[l] - stage.in_transit);
            let over_an_edge = any(|l| gone[l] > stage.slab_end[l])
                | any(|l| came[l] < stage.slab_start[l])
                | any(|l| stage.content[l] > FLUSH_AT);
            if over_an_edge {
                let passed = Passed {
                    job,
                    came,
                    begun,
                    finish,
                    gone,
                    cycle,
                };
                stage.count_slow(&mut self.tallies, &passed);
            } else {
                stage.starved = each(|l| stage.starved[l] + (begun[l] - stage.free[l]));
                stage.worked = each(|l| stage.worked[l] + cycle[l]);
                stage.content = each(|l| stage.content[l] + (begun[l] - came[l]));
            }
            stage.free = gone;
            at = each(|l| gone[l] + stage.out_transit);
        }
        gone
    }
}

/// What a station did with one job of each lane.
struct Passed {
    job: u64,
    came: Wide,
    begun: Wide,
    finish: Wide,
    gone: Wide,
    cycle: Wide,
}

impl Stage<'_> {
    /// Repairs of the lanes whose running time to the next stop is used up.
    #[cold]
    fn repairs(&mut self, stops: &mut [StopState]) -> Wide {
        let mut repairs = [0.0; LANES];
        for ((next, stop), sum) in self.next.iter_mut().zip(stops).zip(&mut repairs) {
            stop.next = ticks(*next);
            *sum = exact(stop.repairs(&self.pool.stops[0]));
            *next = exact(stop.next);
        }
        repairs
    }

    /// Jobs of which at least one crosses the edge of a slab.
    #[cold]
    fn count_slow(&mut self, tallies: &mut [Tally], passed: &Passed) {
        for (lane, tally) in tallies.iter_mut().enumerate() {
            let (came, begun) = (passed.came[lane], passed.begun[lane]);
            let (finish, gone) = (passed.finish[lane], passed.gone[lane]);
            let cycle = passed.cycle[lane];
            let inside = gone <= self.slab_end[lane]
                && came >= self.slab_start[lane]
                && self.content[lane] <= FLUSH_AT;
            if inside {
                self.starved[lane] += begun - self.free[lane];
                self.worked[lane] += cycle;
                self.content[lane] += begun - came;
                continue;
            }
            // The repairs of this very job were counted as it passed.
            self.stopped[lane] -= finish - begun - cycle;
            self.flush(tally, lane, passed.job);
            let mut unit = UnitState::new(NONE, Stream::from_state(0), Stream::from_state(0));
            unit.free = ticks(self.free[lane]);
            unit.begun = ticks(begun);
            unit.finish = ticks(finish);
            unit.cycle = ticks(cycle);
            let left = ticks(gone);
            let u = self.pool.first_unit as usize;
            tally.spread(u, &unit, left, None);
            let slabs = tally.slabs.clone();
            let (slab, n) = (slabs.of(left), slabs.slots());
            let slot = slabs.slot(slab);
            if left <= slabs.horizon() {
                tally.units[u * n + slot].done += 1;
            }
            if self.in_link != NONE {
                let l = self.in_link as usize;
                let mine = &mut tally.links[l * n..(l + 1) * n];
                slabs.split(ticks(came), ticks(begun), |slot, a, b| {
                    mine[slot].content += i128::from(b - a);
                });
            }
            self.slot[lane] = slot;
            self.slab_start[lane] = exact(slabs.edges[slab]);
            self.slab_end[lane] = exact(slabs.edges[slab + 1]);
            self.flushed[lane] = gone;
            self.done[lane] = passed.job + 1;
        }
    }

    /// Moves the sums of a lane to its slot; `jobs` it has done by now.
    fn flush(&mut self, tally: &mut Tally, lane: usize, jobs: u64) {
        let take = |sum: &mut Wide| ticks(std::mem::take(&mut sum[lane]));
        let starved = take(&mut self.starved);
        let worked = take(&mut self.worked);
        let stopped = take(&mut self.stopped);
        let content = take(&mut self.content);
        let passed = ticks(self.free[lane]) - ticks(self.flushed[lane]);
        let slot = self.slot[lane];
        let n = tally.slabs.slots();
        let unit = &mut tally.units[self.pool.first_unit as usize * n + slot];
        unit.done += jobs - self.done[lane];
        unit.working += worked;
        unit.starved += starved;
        unit.stopped += stopped;
        // Whatever a station is not doing otherwise it is held up.
        unit.blocked += passed - starved - worked - stopped;
        if self.in_link != NONE {
            tally.links[self.in_link as usize * n + slot].content += i128::from(content);
        }
        self.flushed[lane] = self.free[lane];
        self.done[lane] = jobs;
    }
}

#[inline(always)]
fn each(mut of: impl FnMut(usize) -> f64) -> Wide {
    std::array::from_fn(&mut of)
}

#[inline(always)]
fn any(of: impl Fn(usize) -> bool) -> bool {
    // Without a jump between the lanes.
    (0..LANES).fold(false, |found, lane| found | of(lane))
}

/// The later of two times. `f64::max` would have to mind what is no number.
#[inline(always)]
fn later(one: f64, other: f64) -> f64 {
    if one > other { one } else { other }
}

#[inline(always)]
fn exact(ticks: Ticks) -> f64 {
    ticks as f64
}

#[inline(always)]
fn ticks(exact: f64) -> Ticks {
    exact as Ticks
}
