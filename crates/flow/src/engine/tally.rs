//! Measures of one replication, kept by slab of time so that the warm-up can
//! be cut off afterwards.

use crate::clock::{Shifts, Ticks};
use crate::engine::state::{LinkState, UnitState, UnitTally};
use crate::statistics::Histogram;

/// A running sum this large is moved on before it could overflow.
const FLUSH_AT: i64 = 1 << 61;

/// A run cut into slabs `[edges[i], edges[i + 1])`.
#[derive(Clone, Debug)]
pub(crate) struct Slabs {
    pub(crate) edges: Vec<Ticks>,
    /// Slabs at the start that may turn out to be warm-up. As many at the end
    /// are measured only if all of these are.
    pub(crate) warm: usize,
}

impl Slabs {
    pub(crate) fn count(&self) -> usize {
        self.edges.len() - 1
    }

    /// Slabs that are measured whatever the warm-up turns out to be. What is
    /// kept of units, links and times goes into one slot for all of them, so
    /// that memory does not grow with the time simulated.
    fn certain(&self) -> usize {
        self.count().saturating_sub(2 * self.warm).max(1)
    }

    /// The slot of a slab.
    #[inline]
    pub(crate) fn slot(&self, slab: usize) -> usize {
        if slab < self.warm {
            slab
        } else {
            self.warm.max((slab + 1).saturating_sub(self.certain()))
        }
    }

    pub(crate) fn slots(&self) -> usize {
        self.count() + 1 - self.certain()
    }

    pub(crate) fn horizon(&self) -> Ticks {
        self.edges[self.edges.len() - 1]
    }

    /// The slab that holds `t`; the last one for anything later.
    pub(crate) fn of(&self, t: Ticks) -> usize {
        self.edges
            .partition_point(|edge| *edge <= t)
            .clamp(1, self.count())
            - 1
    }

    /// Calls `each(slot, from, to)` for the parts of `[from, to)` inside the run.
    #[inline]
    pub(crate) fn split(&self, from: Ticks, to: Ticks, mut each: impl FnMut(usize, Ticks, Ticks)) {
        let to = to.min(self.horizon());
        let mut from = from.max(0);
        if from >= to {
            return;
        }
        let mut slab = self.of(from);
        while from < to {
            let end = to.min(self.edges[slab + 1]);
            each(self.slot(slab), from, end);
            from = end;
            slab += 1;
        }
    }
}

/// What a link held in one slab.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct LinkTally {
    /// Job-ticks; a queue without limit can hold more than 64 bits of them.
    pub(crate) content: i128,
    pub(crate) full: i64,
    pub(crate) empty: i64,
}

/// What left and entered the plant in one slab.
#[derive(Clone, Debug, Default)]
pub(crate) struct PlantTally {
    pub(crate) by_class: Vec<u64>,
    pub(crate) entered: u64,
    pub(crate) left: u64,
    pub(crate) scrapped: u64,
    /// Of the jobs made, those that have failed a check on their way.
    pub(crate) not_right: u64,
    /// Of the jobs scrapped, those that were no part of another to be.
    pub(crate) lost: u64,
    /// Job-ticks within the slab of what entered and left in it.
    pub(crate) inside: i128,
}

/// Everything measured in one replication.
#[derive(Debug)]
pub(crate) struct Tally {
    pub(crate) slabs: Slabs,
    /// Unit by unit, slot by slot.
    pub(crate) units: Vec<UnitTally>,
    pub(crate) links: Vec<LinkTally>,
    /// Jobs that failed for the first time, unit by unit, slot by slot.
    pub(crate) failed_first: Vec<u64>,
    /// Slab by slab.
    pub(crate) plant: Vec<PlantTally>,
    /// Times in plant of the jobs made, slot by slot.
    pub(crate) times: Vec<Histogram>,
    /// Jobs out in bins of even open time of the station they left from.
    pub(crate) series: Vec<u32>,
    pub(crate) series_step: Ticks,
    pub(crate) banks: bool,
    states: bool,
    /// The slab last asked for: most of what follows lies in it, too.
    recent: usize,
}

/// How much there is to measure.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Sizes {
    pub(crate) units: usize,
    pub(crate) links: usize,
    pub(crate) classes: usize,
}

/// What is measured beside the plant's own figures.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Measures {
    /// How often links are full and empty.
    pub(crate) banks: bool,
    /// What units do and what links hold.
    pub(crate) states: bool,
}

impl Tally {
    pub(crate) fn new(slabs: Slabs, sizes: Sizes, series_step: Ticks, measures: Measures) -> Self {
        let n = slabs.slots();
        let plant = PlantTally {
            by_class: vec![0; sizes.classes],
            ..PlantTally::default()
        };
        Self {
            units: vec![UnitTally::default(); sizes.units * n],
            links: vec![LinkTally::default(); sizes.links * n],
            failed_first: vec![0; sizes.units * n],
            plant: vec![plant; slabs.count()],
            times: vec![Histogram::new(); n],
            series: Vec::new(),
            series_step: series_step.max(1),
            slabs,
            banks: measures.banks,
            states: measures.states,
            recent: 0,
        }
    }

    /// Adds what a unit did with one job: starved from `from` until the work
    /// began, busy until it was finished, blocked until `left`.
    #[inline]
    pub(crate) fn job_left(
        &mut self,
        u: usize,
        unit: &mut UnitState,
        left: Ticks,
        shifts: Option<&Shifts>,
    ) {
        if !self.states {
            return;
        }
        if left <= unit.slab_end && shifts.is_none_or(|s| s.holds(unit.hand, unit.free, left)) {
            let tally = &mut unit.tally;
            tally.starved += unit.begun - unit.free;
            tally.working += unit.cycle;
            tally.changeover += unit.changeover;
            tally.stopped += unit.finish - unit.begun - unit.cycle - unit.changeover;
            tally.blocked += left - unit.finish;
            tally.carrier_wait += unit.carrier_wait;
            tally.crew_wait += unit.crew_wait;
            tally.done += 1;
            return;
        }
        self.job_left_slow(u, unit, left, shifts);
    }

    #[inline(never)]
    fn job_left_slow(
        &mut self,
        u: usize,
        unit: &mut UnitState,
        left: Ticks,
        shifts: Option<&Shifts>,
    ) {
        if left <= unit.slab_end {
            let hand = unit.hand;
            let open = |t| shifts.map_or(t, |s: &Shifts| s.open_time(hand, t));
            let (free, begun, finish, gone) = (
                open(unit.free),
                open(unit.begun),
                open(unit.finish),
                open(left),
            );
            let tally = &mut unit.tally;
            tally.starved += begun - free;
            tally.working += unit.cycle;
            tally.changeover += unit.changeover;
            let work = unit.cycle + unit.changeover;
            // Work finished in closed hours (finish first) is no stop.
            let stopped = (finish - begun - work).max(0);
            tally.stopped += stopped;
            tally.blocked += gone - finish;
            tally.beside += left - unit.taken - work - stopped - (gone - finish);
            tally.carrier_wait += unit.carrier_wait;
            tally.crew_wait += unit.crew_wait;
            tally.done += 1;
            return;
        }
        self.flush_unit(u, unit);
        self.spread(u, unit, left, shifts);
        let slab = self.slabs.of(left);
        let slot = self.slabs.slot(slab);
        if left <= self.slabs.horizon() {
            self.units[u * self.slabs.slots() + slot].done += 1;
        }
        unit.slot = u32::try_from(slot).unwrap_or(0);
        unit.slab_end = self.slabs.edges[slab + 1];
    }

    /// Moves the unit's running tally to its slot.
    pub(crate) fn flush_unit(&mut self, u: usize, unit: &mut UnitState) {
        let here = &mut self.units[u * self.slabs.slots() + unit.slot as usize];
        let tally = std::mem::take(&mut unit.tally);
        here.working += tally.working;
        here.starved += tally.starved;
        here.blocked += tally.blocked;
        here.stopped += tally.stopped;
        here.changeover += tally.changeover;
        here.beside += tally.beside;
        here.carrier_wait += tally.carrier_wait;
        here.crew_wait += tally.crew_wait;
        here.done += tally.done;
        here.scrapped += tally.scrapped;
        here.reworked += tally.reworked;
    }

    /// The slow way of [`Tally::job_left`], across slab edges and clipped to
    /// the run. Work, stops and changeover within one job are spread evenly
    /// over it.
    pub(crate) fn spread(
        &mut self,
        u: usize,
        unit: &UnitState,
        left: Ticks,
        shifts: Option<&Shifts>,
    ) {
        let slabs = self.slabs.clone();
        let n = slabs.slots();
        let open = |from: Ticks, to: Ticks| {
            shifts.map_or(to - from, |s| s.open_time(0, to) - s.open_time(0, from))
        };
        let mine = &mut self.units[u * n..(u + 1) * n];
        slabs.split(unit.free, unit.begun, |slot, a, b| {
            mine[slot].starved += open(a, b);
        });
        slabs.split(unit.finish, left, |slot, a, b| {
            mine[slot].blocked += open(a, b);
        });
        let busy = open(unit.begun, unit.finish).max(1);
        let work = (
            unit.cycle.min(busy),
            unit.changeover.min(busy - unit.cycle.min(busy)),
        );
        slabs.split(unit.begun, unit.finish, |slot, a, b| {
            let here = open(a, b);
            let share = here as f64 / busy as f64;
            let working = (work.0 as f64 * share) as Ticks;
            let changing = (work.1 as f64 * share) as Ticks;
            mine[slot].working += working;
            mine[slot].changeover += changing;
            mine[slot].stopped += here - working - changing;
        });
        if shifts.is_some() {
            slabs.split(unit.taken, left, |slot, a, b| {
                mine[slot].beside += b - a;
            });
            slabs.split(unit.begun, left, |slot, a, b| {
                mine[slot].beside -= open(a, b);
            });
        }
        if unit.carrier_wait > 0 {
            slabs.split(unit.begun - unit.carrier_wait, unit.begun, |slot, a, b| {
                mine[slot].carrier_wait += b - a;
            });
        }
        if unit.crew_wait > 0 {
            mine[slabs.slot(slabs.of(unit.finish))].crew_wait += unit.crew_wait;
        }
    }

    /// Adds the time that pieces lay in their lot's coil, from when it was opened
    /// until they were taken.
    pub(crate) fn in_coil(&mut self, u: usize, opened: Ticks, taken: Ticks, pieces: u32) {
        if !self.states {
            return;
        }
        let n = self.slabs.slots();
        let mine = &mut self.units[u * n..(u + 1) * n];
        self.slabs.split(opened, taken, |slot, a, b| {
            mine[slot].beside += (b - a) * i64::from(pieces);
        });
    }

    /// Adds the time that a job lay at a unit that had not begun on it.
    #[inline]
    pub(crate) fn lay(&mut self, u: usize, unit: &mut UnitState, from: Ticks, to: Ticks) {
        if self.states && to <= unit.slab_end && from >= unit.free {
            unit.tally.beside += to - from;
        } else {
            self.in_coil(u, from, to, 1);
        }
    }

    /// Adds a job's stay in a link from `from` to `to`.
    #[inline]
    pub(crate) fn stayed(&mut self, l: usize, link: &mut LinkState, from: Ticks, to: Ticks) {
        if !self.states {
            return;
        }
        if to <= link.slab_end && from >= link.slab_start && link.content < FLUSH_AT {
            link.content += to - from;
            return;
        }
        self.stayed_slow(l, link, from, to);
    }

    #[inline(never)]
    fn stayed_slow(&mut self, l: usize, link: &mut LinkState, from: Ticks, to: Ticks) {
        self.flush_link(l, link);
        let n = self.slabs.slots();
        let mine = &mut self.links[l * n..(l + 1) * n];
        self.slabs.split(from, to, |slot, a, b| {
            mine[slot].content += i128::from(b - a);
        });
        let slab = self.slabs.of(to);
        link.slot = u32::try_from(self.slabs.slot(slab)).unwrap_or(0);
        link.slab_start = self.slabs.edges[slab];
        link.slab_end = self.slabs.edges[slab + 1];
    }

    /// Adds a spell in which a link was full or empty.
    #[inline]
    pub(crate) fn bank(
        &mut self,
        l: usize,
        link: &mut LinkState,
        full: bool,
        from: Ticks,
        to: Ticks,
    ) {
        if to <= link.slab_end && from >= link.slab_start {
            let sum = if full {
                &mut link.full
            } else {
                &mut link.empty
            };
            *sum += to - from;
            return;
        }
        let n = self.slabs.slots();
        let mine = &mut self.links[l * n..(l + 1) * n];
        self.slabs.split(from, to, |slot, a, b| {
            let sum = if full {
                &mut mine[slot].full
            } else {
                &mut mine[slot].empty
            };
            *sum += b - a;
        });
    }

    /// Moves the link's running tally to its slot.
    pub(crate) fn flush_link(&mut self, l: usize, link: &mut LinkState) {
        let here = &mut self.links[l * self.slabs.slots() + link.slot as usize];
        here.content += i128::from(std::mem::take(&mut link.content));
        here.full += std::mem::take(&mut link.full);
        here.empty += std::mem::take(&mut link.empty);
    }

    /// The slab that holds `at`.
    #[inline]
    fn slab_of(&mut self, at: Ticks) -> usize {
        let edges = &self.slabs.edges;
        if at < edges[self.recent] || at >= edges[self.recent + 1] {
            self.recent = self.slabs.of(at);
        }
        self.recent
    }

    pub(crate) fn entered(&mut self, at: Ticks) {
        if at < self.slabs.horizon() {
            let slab = self.slab_of(at);
            let end = self.slabs.edges[slab + 1];
            self.plant[slab].entered += 1;
            self.plant[slab].inside += i128::from(end - at);
        }
    }

    pub(crate) fn gone(&mut self, at: Ticks) {
        if at <= self.slabs.horizon() {
            let slab = self.slab_of(at);
            let end = self.slabs.edges[slab + 1];
            self.plant[slab].left += 1;
            self.plant[slab].inside -= i128::from(end - at);
        }
    }

    /// One of the jobs made was not right at the first try.
    pub(crate) fn not_right(&mut self, at: Ticks) {
        if at <= self.slabs.horizon() {
            let slab = self.slab_of(at);
            self.plant[slab].not_right += 1;
        }
    }

    /// A job that will be whole failed for the first time, at a unit.
    pub(crate) fn failed_first(&mut self, u: usize, at: Ticks) {
        if at <= self.slabs.horizon() {
            let slot = self.slabs.slot(self.slabs.of(at));
            self.failed_first[u * self.slabs.slots() + slot] += 1;
        }
    }

    pub(crate) fn made(&mut self, at: Ticks, born: Ticks, class: u16, open: Ticks) {
        if at > self.slabs.horizon() {
            return;
        }
        let slab = self.slab_of(at);
        let plant = &mut self.plant[slab];
        plant.by_class[usize::from(class)] += 1;
        self.times[self.slabs.slot(slab)].add(at - born);
        let bin = usize::try_from(open / self.series_step).unwrap_or(0);
        if bin >= self.series.len() {
            self.series.resize(bin + 1, 0);
        }
        self.series[bin] += 1;
    }
}
