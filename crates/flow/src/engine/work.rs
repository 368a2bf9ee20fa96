//! Work on one job: cycle, stops, repairs, shifts.

use crate::clock::{NEVER, Shifts, Ticks};
use crate::distribution::Sampler;
use crate::engine::Engine;
use crate::engine::path::Done;
use crate::engine::state::{Exit, Phase};
use crate::model::{AtClose, Basis};
use crate::plan::{NONE, Outlets, Pool, pauses};

impl<const RECORD: bool> Engine<'_, RECORD> {
    /// Begins work on `job` at `unit`, taken at `at`. Afterwards the unit is
    /// working (waits for an event), done or leaving.
    pub(crate) fn begin(&mut self, u: u32, at: Ticks, fact: u32, job: u32) {
        let fixed = self.units[u as usize].fixed;
        let cycle = if fixed >= 0 {
            fixed
        } else {
            self.draw_cycle(u as usize, job)
        };
        self.begin_with(u, at, fact, job, cycle);
    }

    /// The unit's next cycle, for this job.
    #[inline]
    pub(crate) fn draw_cycle(&mut self, u: usize, job: u32) -> Ticks {
        let plan = self.plan;
        let unit = &mut self.units[u];
        let pool = &plan.pools[unit.pool as usize];
        let sampler = match &pool.lots {
            Some(lots) => &lots.items[self.pools[unit.pool as usize].lot.item as usize].cycle,
            None => cycle_of(pool, self.jobs.jobs[job as usize].class),
        };
        sampler.draw(&mut unit.cycles)
    }

    pub(crate) fn begin_with(&mut self, u: u32, at: Ticks, fact: u32, job: u32, cycle: Ticks) {
        let unit = &mut self.units[u as usize];
        unit.job = job;
        unit.begun_fact = fact;
        unit.taken = at;
        unit.begun = at;
        unit.cycle = cycle;
        if unit.calendar == NONE && self.simple[unit.pool as usize] {
            let mut finish = at + cycle + unit.changeover;
            if unit.stops > 0 {
                finish += self.stops_in(u);
            }
            self.units[u as usize].finish = finish;
            self.worked(u);
            return;
        }
        if self.undisturbed(u, at) {
            self.worked(u);
            return;
        }
        self.begin_slow(u, at);
    }

    /// Works on the job at once if no stop falls into it and the calendar, if
    /// there is one, only makes it pause; false if it has to go step by step.
    #[inline]
    pub(crate) fn undisturbed(&mut self, u: u32, at: Ticks) -> bool {
        let unit = &mut self.units[u as usize];
        let work = unit.cycle + unit.changeover;
        let first = unit.first_stop as usize;
        let stops = &mut self.stops[first..first + unit.stops as usize];
        let shifts = (unit.calendar != NONE).then(|| &self.shifts[unit.calendar as usize]);
        if !unit.even_wear
            || stops.iter().any(|s| s.next < work)
            || shifts.is_some_and(|s| s.at_close != AtClose::Pause)
        {
            return false;
        }
        for stop in stops {
            stop.next -= work;
        }
        match shifts {
            Some(shifts) => {
                unit.begun = shifts.open_at(&mut unit.hand, at);
                unit.finish = shifts.after(&mut unit.hand, unit.begun, work);
            }
            None => {
                unit.begun = at;
                unit.finish = at + work;
            }
        }
        true
    }

    /// Repairs that fall into the job, by running time only.
    pub(crate) fn stops_in(&mut self, u: u32) -> Ticks {
        let plan = self.plan;
        let unit = &self.units[u as usize];
        let pool = &plan.pools[unit.pool as usize];
        let wear = worn(unit.cycle, pool.wear);
        let first = unit.first_stop as usize;
        let mut repairs = 0;
        for (stop, fixed) in self.stops[first..first + unit.stops as usize]
            .iter_mut()
            .zip(&pool.stops)
        {
            stop.next -= wear;
            repairs += stop.repairs(fixed);
        }
        repairs
    }

    /// Repairs of a unit with one cause of stops whose wear is used up.
    #[cold]
    pub(crate) fn repairs(&mut self, u: usize) -> Ticks {
        let plan = self.plan;
        let unit = &self.units[u];
        let stop = &plan.pools[unit.pool as usize].stops[0];
        self.stops[unit.first_stop as usize].repairs(stop)
    }

    /// Work under a calendar, with stops by the clock or with crews.
    fn begin_slow(&mut self, u: u32, at: Ticks) {
        let plan = self.plan;
        let unit = &mut self.units[u as usize];
        let pool = &plan.pools[unit.pool as usize];
        unit.left = unit.cycle + unit.changeover;
        unit.at = at;
        unit.crew_wait = 0;
        if pool.calendar != NONE {
            let shifts = &self.shifts[pool.calendar as usize];
            unit.at = match shifts.at_close {
                AtClose::NoStart => shifts.fits_at(&mut unit.hand, at, unit.left),
                _ => shifts.open_at(&mut unit.hand, at),
            };
            unit.begun = unit.at;
        }
        self.work_on(u);
    }

    /// Goes on with the work in hand as far as is known.
    pub(crate) fn work_on(&mut self, u: u32) {
        let plan = self.plan;
        let pool = &plan.pools[self.units[u as usize].pool as usize];
        loop {
            if !self.skip_clock_stops(u, pool) {
                self.units[u as usize].phase = Phase::Working;
                return;
            }
            let (by, until) = self.next_running_stop(u, pool);
            let unit = &mut self.units[u as usize];
            let step = unit.left.min(until);
            let shifts = (pool.calendar != NONE).then(|| &self.shifts[pool.calendar as usize]);
            let end = ahead(shifts, &mut unit.hand, unit.at, step);
            let clock = self.next_clock_stop(u, pool);
            let unit = &mut self.units[u as usize];
            if clock < end {
                // Interrupted by the clock: the part done so far counts.
                let done = match shifts {
                    Some(s) if pauses(s.at_close) => {
                        s.open_time(unit.hand, clock) - s.open_time(unit.hand, unit.at)
                    }
                    _ => clock - unit.at,
                }
                .clamp(0, step);
                unit.left -= done;
                unit.at = clock;
                self.wear_down(u, pool, done);
                continue;
            }
            unit.at = end;
            unit.left -= step;
            self.wear_down(u, pool, step);
            // A stop that falls due exactly with the end of the work waits for
            // the next job.
            if self.units[u as usize].left <= 0 && until >= step {
                break;
            }
            if by != NONE && !self.stop_running(u, by, pool) {
                return;
            }
        }
        let unit = &mut self.units[u as usize];
        unit.finish = unit.at;
        self.worked(u);
    }

    fn wear_down(&mut self, u: u32, pool: &Pool, work: Ticks) {
        let unit = &self.units[u as usize];
        let first = unit.first_stop as usize;
        let wear = worn(work, pool.wear);
        for (stop, fixed) in self.stops[first..first + unit.stops as usize]
            .iter_mut()
            .zip(&pool.stops)
        {
            if fixed.basis == Basis::Running {
                stop.next -= wear;
            }
        }
    }

    /// The next stop by running time: which, and after how much work.
    fn next_running_stop(&self, u: u32, pool: &Pool) -> (u32, Ticks) {
        let unit = &self.units[u as usize];
        let first = unit.first_stop as usize;
        let mut next = (NONE, NEVER);
        for (i, (stop, fixed)) in (0_u32..).zip(
            self.stops[first..first + unit.stops as usize]
                .iter()
                .zip(&pool.stops),
        ) {
            if fixed.basis == Basis::Running {
                let until = if pool.wear == 1.0 {
                    stop.next
                } else {
                    (stop.next as f64 / pool.wear) as Ticks
                };
                if until < next.1 {
                    next = (i, until.max(0));
                }
            }
        }
        next
    }

    /// A stop by running time at the unit's present instant. False if the work
    /// has to wait for an event.
    fn stop_running(&mut self, u: u32, by: u32, pool: &Pool) -> bool {
        let fixed = &pool.stops[by as usize];
        let unit = &mut self.units[u as usize];
        unit.stopped_by = by;
        if fixed.crew != NONE {
            unit.phase = Phase::Working;
            let at = unit.at;
            self.queue.set(self.unit_slot + u, at);
            return false;
        }
        let stop = &mut self.stops[(unit.first_stop + by) as usize];
        let repair = fixed.repair.draw(&mut stop.repair);
        stop.next = fixed.between.draw(&mut stop.between);
        let down = unit.at;
        self.repaired(u, by, pool, repair);
        if let Some(seen) = &mut self.seen {
            // Repaired in closed hours, it waits for the next opening.
            let up = if fixed.in_breaks {
                down + repair
            } else {
                self.units[u as usize].at
            };
            seen.down(u, by, down, down, up);
        }
        true
    }

    /// Lets `repair` pass at the unit.
    pub(crate) fn repaired(&mut self, u: u32, by: u32, pool: &Pool, repair: Ticks) {
        let unit = &mut self.units[u as usize];
        let shifts = (pool.calendar != NONE).then(|| &self.shifts[pool.calendar as usize]);
        unit.at = match shifts {
            Some(s) if !pool.stops[by as usize].in_breaks => {
                let from = s.open_at(&mut unit.hand, unit.at);
                s.after(&mut unit.hand, from, repair)
            }
            _ => unit.at + repair,
        };
        if let Some(s) = shifts
            && pauses(s.at_close)
            && unit.left > 0
        {
            unit.at = s.open_at(&mut unit.hand, unit.at);
        }
    }

    fn next_clock_stop(&self, u: u32, pool: &Pool) -> Ticks {
        let unit = &self.units[u as usize];
        let first = unit.first_stop as usize;
        self.stops[first..first + unit.stops as usize]
            .iter()
            .zip(&pool.stops)
            .filter(|(_, fixed)| fixed.basis == Basis::Clock)
            .map(|(stop, _)| stop.next)
            .min()
            .unwrap_or(NEVER)
    }

    /// Lets all stops by the clock pass that begin at or before the unit's
    /// present instant. False if one waits for a crew.
    fn skip_clock_stops(&mut self, u: u32, pool: &Pool) -> bool {
        if pool.stops.iter().all(|s| s.basis == Basis::Running) {
            return true;
        }
        loop {
            let unit = &self.units[u as usize];
            let first = unit.first_stop as usize;
            let at = unit.at;
            let due = (0..unit.stops as usize)
                .filter(|i| {
                    pool.stops[*i].basis == Basis::Clock && self.stops[first + i].next <= at
                })
                .min_by_key(|i| self.stops[first + i].next);
            let Some(i) = due else { return true };
            let fixed = &pool.stops[i];
            if fixed.crew != NONE {
                // The crew is asked for when the clock gets there.
                let unit = &mut self.units[u as usize];
                unit.stopped_by = u32::try_from(i).unwrap_or(0);
                let due = self.stops[first + i].next.max(self.now);
                self.queue.set(self.unit_slot + u, due);
                return false;
            }
            let stop = &mut self.stops[first + i];
            let down = stop.next;
            let up = down + fixed.repair.draw(&mut stop.repair);
            stop.next = up + fixed.between.draw(&mut stop.between);
            if let Some(seen) = &mut self.seen {
                seen.down(u, u32::try_from(i).unwrap_or(0), down, down, up);
            }
            let unit = &mut self.units[u as usize];
            if up > unit.at {
                unit.at = up;
                if pool.calendar != NONE {
                    let shifts = &self.shifts[pool.calendar as usize];
                    unit.at = shifts.open_at(&mut unit.hand, unit.at);
                }
            }
        }
    }

    /// The work is done at a known time: what becomes of the job.
    pub(crate) fn worked(&mut self, u: u32) {
        let plan = self.plan;
        let unit = &mut self.units[u as usize];
        let pool = &plan.pools[unit.pool as usize];
        if RECORD {
            unit.finish_fact = self.path.record(
                unit.begun_fact,
                Done {
                    unit: u,
                    start: unit.begun,
                    finish: unit.finish,
                    cycle: unit.cycle,
                    changeover: unit.changeover,
                },
            );
        }
        let out = unit.out_link;
        let exit = if out == NONE || pool.lots.is_some() {
            self.route(u)
        } else {
            Exit::Link(out)
        };
        let unit = &mut self.units[u as usize];
        unit.exit = exit;
        if pool.units > 1 {
            unit.phase = Phase::Done;
            let at = unit.finish;
            self.queue.set(self.unit_slot + u, at);
        } else {
            unit.phase = Phase::Leaving;
        }
    }

    /// Draws whether the job is right and which way it goes.
    fn route(&mut self, u: u32) -> Exit {
        let plan = self.plan;
        let unit = &mut self.units[u as usize];
        let pool = &plan.pools[unit.pool as usize];
        let quality = &pool.quality;
        if !quality.perfect {
            let luck = unit.luck.uniform();
            let (first_time_ok, scrap) = quality.shares(unit.finish);
            if luck < scrap {
                return self.lost(u, pool);
            }
            let good = scrap + (1.0 - scrap) * first_time_ok;
            if luck >= good {
                return self.failed(u, pool);
            }
            if quality.attempts != u32::MAX {
                let at = unit.job as usize * self.jobs.capped + quality.counter as usize;
                self.jobs.tries[at] = 0;
            }
        }
        if let Some(lots) = &pool.lots {
            let scrap = lots.items[self.pools[unit.pool as usize].lot.item as usize].scrap;
            if scrap > 0.0 && unit.luck.uniform() < scrap {
                return self.lost(u, pool);
            }
            return Exit::Link(unit.out_link);
        }
        match &pool.outlets {
            Outlets::Leave => Exit::Leave,
            Outlets::One(l) => Exit::Link(*l),
            Outlets::Each(links) => {
                let unit = &mut self.units[u as usize];
                unit.pending = u64::MAX >> (64 - links.len().min(64));
                unit.latest.time = 0;
                Exit::Split
            }
            Outlets::Share(ways) => {
                let unit = &mut self.units[u as usize];
                let class = usize::from(self.jobs.jobs[unit.job as usize].class);
                let open = |mask: &Vec<bool>| mask.is_empty() || mask[class];
                let total: f64 = ways.iter().filter(|w| open(&w.2)).map(|w| w.1).sum();
                let mut rest = unit.luck.uniform() * total;
                let mut last = Exit::Scrap;
                for (link, share, _) in ways.iter().filter(|w| open(&w.2)) {
                    last = Exit::Link(*link);
                    rest -= share;
                    if rest < 0.0 {
                        break;
                    }
                }
                last
            }
        }
    }

    /// The job is scrap.
    fn lost(&mut self, u: u32, pool: &Pool) -> Exit {
        self.not_right(u, pool);
        self.units[u as usize].tally.scrapped += 1;
        Exit::Scrap
    }

    /// The job has failed a check. The first one it fails, wherever that is, is
    /// the one that it was not right for.
    fn not_right(&mut self, u: u32, pool: &Pool) {
        let unit = &self.units[u as usize];
        let job = &mut self.jobs.jobs[unit.job as usize];
        if !std::mem::replace(&mut job.failed, true) && pool.whole {
            self.tally.failed_first(u as usize, unit.finish);
        }
    }

    fn failed(&mut self, u: u32, pool: &Pool) -> Exit {
        if pool.quality.rework == NONE {
            return self.lost(u, pool);
        }
        self.not_right(u, pool);
        let unit = &mut self.units[u as usize];
        if pool.quality.attempts != u32::MAX {
            let at = unit.job as usize * self.jobs.capped + pool.quality.counter as usize;
            self.jobs.tries[at] = self.jobs.tries[at].saturating_add(1);
            self.jobs.jobs[unit.job as usize].tried = true;
            if u32::from(self.jobs.tries[at]) >= pool.quality.attempts {
                unit.tally.scrapped += 1;
                return Exit::Scrap;
            }
        }
        unit.tally.reworked += 1;
        Exit::Link(pool.quality.rework)
    }
}

#[inline]
pub(crate) fn cycle_of(pool: &Pool, class: u16) -> &Sampler {
    match pool.of_class.get(usize::from(class)) {
        Some(i) => &pool.samplers[usize::from(*i)],
        None => &pool.samplers[0],
    }
}

#[inline]
fn worn(work: Ticks, wear: f64) -> Ticks {
    if wear == 1.0 {
        work
    } else {
        (work as f64 * wear) as Ticks
    }
}

fn ahead(shifts: Option<&Shifts>, hand: &mut u32, at: Ticks, work: Ticks) -> Ticks {
    match shifts {
        Some(s) if pauses(s.at_close) => s.after(hand, at, work),
        _ => at + work,
    }
}
