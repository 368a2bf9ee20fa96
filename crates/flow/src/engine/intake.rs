//! Taking the next job: from a link, a merge, a release.

use crate::clock::{NEVER, Ticks};
use crate::engine::Engine;
use crate::engine::state::{Job, Phase, Slot, Take};
use crate::plan::{Each, Intake, NONE, ReleasePlan, Released};

impl<const RECORD: bool> Engine<'_, RECORD> {
    /// Lets a pool of one unit go on as far as is known.
    pub(crate) fn poll(&mut self, p: u32) {
        let plan = self.plan;
        let pool = &plan.pools[p as usize];
        if pool.units > 1 {
            self.poll_many(p);
            return;
        }
        let u = pool.first_unit;
        loop {
            match self.units[u as usize].phase {
                Phase::Idle => {
                    let l = self.units[u as usize].in_link;
                    if self.units[u as usize].chain != NONE {
                        self.run_chain(u as usize);
                        return;
                    }
                    if l != NONE {
                        // The common case: one link, nothing to wait for but
                        // the job and the unit itself.
                        let Some(slot) = self.head(l) else { return };
                        if self.units[u as usize].plain {
                            self.sweep(u as usize, slot);
                            return;
                        }
                        self.take_from_link(u, l, slot);
                    } else if !self.take_at_last(p, u) {
                        return;
                    }
                }
                Phase::Working | Phase::Done => return,
                Phase::Leaving | Phase::Offering => {
                    if !self.leave(u) {
                        return;
                    }
                }
            }
        }
    }

    #[inline]
    fn take_from_link(&mut self, u: u32, l: u32, slot: Slot) {
        let unit = &self.units[u as usize];
        let (at, fact) = if slot.time > unit.free {
            (slot.time, slot.fact)
        } else {
            (unit.free, unit.free_fact)
        };
        self.take(l, at, fact);
        let link = &self.links[l as usize];
        let begun = if link.holds == 0 {
            at + link.transit
        } else {
            at
        };
        self.begin(u, begun, fact, slot.job);
    }

    /// All other ways to take a job. Where the order of time matters the pool
    /// only asks to be woken; [`Engine::woken`] does the rest.
    fn take_at_last(&mut self, p: u32, u: u32) -> bool {
        let plan = self.plan;
        let pool = &plan.pools[p as usize];
        match &pool.intake {
            Intake::Lots => self.next_piece(p, u),
            Intake::Each(each) if pool.takes_carrier.is_empty() && each.main != NONE => {
                match self.merge_ready(p, u, each) {
                    Some(at) => {
                        self.merge(p, u, each, at);
                        true
                    }
                    None => false,
                }
            }
            _ => {
                if let Some(at) = self.ready(p) {
                    self.wake(p, at);
                }
                false
            }
        }
    }

    pub(crate) fn wake(&mut self, p: u32, at: Ticks) {
        // A pool in line for a carrier is woken by the carrier.
        if self.pools[p as usize].carrier_since == NEVER {
            let at = at.max(self.now);
            self.queue.set(self.pool_slot + p, at);
        }
    }

    /// When the pool's next job could be taken, as far as is known.
    fn ready(&mut self, p: u32) -> Option<Ticks> {
        let plan = self.plan;
        let pool = &plan.pools[p as usize];
        let u = self.idle_unit(p)?;
        let free = self.units[u as usize].free;
        match &pool.intake {
            Intake::Link(l) => Some(self.head(*l)?.time.max(free)),
            Intake::Any(links) => {
                let first = links
                    .iter()
                    .filter_map(|l| self.head(*l))
                    .map(|s| s.time)
                    .min()?;
                Some(first.max(free))
            }
            Intake::Released(_) | Intake::Lots => Some(free),
            Intake::Each(each) => self.merge_ready(p, u, each).map(|take| take.time.max(free)),
        }
    }

    /// The idle unit that has been free longest.
    fn idle_unit(&self, p: u32) -> Option<u32> {
        let pool = &self.plan.pools[p as usize];
        if pool.units == 1 {
            let idle = self.units[pool.first_unit as usize].phase == Phase::Idle;
            return idle.then_some(pool.first_unit);
        }
        (pool.first_unit..pool.first_unit + pool.units)
            .filter(|u| self.units[*u as usize].phase == Phase::Idle)
            .min_by_key(|u| self.units[*u as usize].free)
    }

    /// The clock has reached the instant at which the pool may take a job.
    pub(crate) fn woken(&mut self, p: u32) {
        let plan = self.plan;
        let pool = &plan.pools[p as usize];
        if matches!(pool.intake, Intake::Lots) {
            self.choose_lot(p);
            self.stack.push(p);
            return;
        }
        let waited_for_carrier =
            std::mem::replace(&mut self.pools[p as usize].carrier_since, NEVER);
        match self.ready(p) {
            Some(at) if at <= self.now => {}
            Some(at) => {
                self.wake(p, at);
                return;
            }
            None => return,
        }
        let Some(u) = self.idle_unit(p) else { return };
        if !pool.takes_carrier.is_empty() {
            self.pools[p as usize].carrier_since = waited_for_carrier;
            let riding = self
                .next_job(p)
                .map_or(0, |job| self.jobs.jobs[job as usize].carriers);
            if !self.take_carriers(p, riding) {
                return;
            }
            let since = std::mem::replace(&mut self.pools[p as usize].carrier_since, NEVER);
            self.units[u as usize].carrier_wait = if since == NEVER {
                0
            } else {
                self.open_between(pool.calendar, since, self.now)
            };
        }
        let carried = waited_for_carrier != NEVER && !pool.takes_carrier.is_empty();
        self.take_now(p, u, carried);
        self.stack.push(p);
    }

    /// The job that the pool takes next, where one is at hand.
    fn next_job(&self, p: u32) -> Option<u32> {
        match &self.plan.pools[p as usize].intake {
            Intake::Link(l) => self.head(*l),
            Intake::Any(links) => self.oldest(links).map(|(slot, _)| slot),
            Intake::Each(each) if each.as_they_come => self.pools[p as usize].held[0],
            Intake::Each(each) if each.main != NONE => self.head(each.main),
            Intake::Released(released) => self.back_again(released),
            Intake::Each(_) | Intake::Lots => None,
        }
        .map(|slot| slot.job)
    }

    /// The job that came back from the pool's own work and is there.
    fn back_again(&self, released: &Released) -> Option<Slot> {
        let back = (released.back != NONE).then_some(released.back)?;
        self.head(back).filter(|slot| slot.time <= self.now)
    }

    /// Of the links' heads the one that came first, and its link.
    fn oldest(&self, links: &[u32]) -> Option<(Slot, u32)> {
        links
            .iter()
            .filter_map(|l| self.head(*l).map(|slot| (slot, *l)))
            .min_by_key(|(slot, _)| slot.time)
    }

    /// Open time between two instants.
    fn open_between(&self, calendar: u32, from: Ticks, to: Ticks) -> Ticks {
        if calendar == NONE {
            return to - from;
        }
        let shifts = &self.shifts[calendar as usize];
        shifts.open_time(0, to) - shifts.open_time(0, from)
    }

    /// Takes a job at the clock's instant.
    fn take_now(&mut self, p: u32, u: u32, after_carrier: bool) {
        let plan = self.plan;
        let now = self.now;
        let pool = &plan.pools[p as usize];
        let unit = &self.units[u as usize];
        let (free, free_fact) = (unit.free, unit.free_fact);
        let by = |time: Ticks, fact: u32, wake: u32| {
            if after_carrier {
                wake
            } else if time > free {
                fact
            } else {
                free_fact
            }
        };
        let wake = self.pools[p as usize].wake_fact;
        match &pool.intake {
            Intake::Link(l) => {
                let Some(slot) = self.head(*l) else { return };
                self.take_gated(u, *l, now, by(slot.time, slot.fact, wake), slot);
            }
            Intake::Any(links) => {
                let oldest = self.oldest(links);
                let Some((slot, l)) = oldest else { return };
                self.take_gated(u, l, now, by(slot.time, slot.fact, wake), slot);
            }
            Intake::Released(released) => {
                if let Some(slot) = self.back_again(released) {
                    let fact = by(slot.time, slot.fact, wake);
                    self.take_gated(u, released.back, now, fact, slot);
                    return;
                }
                let job = self.release(p, &released.plan, now);
                if !pool.arrival {
                    self.tally.entered(now);
                }
                self.carry(p, job);
                self.begin(u, now, by(free, free_fact, wake), job);
            }
            Intake::Each(each) => {
                if let Some(mut at) = self.merge_ready(p, u, each) {
                    if after_carrier {
                        at = Take {
                            time: now,
                            fact: wake,
                        };
                    }
                    at.time = at.time.max(now);
                    self.merge(p, u, each, at);
                }
            }
            Intake::Lots => {}
        }
    }

    fn take_gated(&mut self, u: u32, l: u32, at: Ticks, fact: u32, slot: Slot) {
        self.take(l, at, fact);
        let link = &self.links[l as usize];
        let begun = if link.holds == 0 {
            at + link.transit
        } else {
            at
        };
        self.carry(self.units[u as usize].pool, slot.job);
        self.begin(u, begun, fact, slot.job);
    }

    /// Notes on the job which fleets' carriers it now rides on.
    fn carry(&mut self, p: u32, job: u32) {
        for f in &self.plan.pools[p as usize].takes_carrier {
            self.jobs.jobs[job as usize].carriers |= 1 << f;
        }
    }

    fn release(&mut self, p: u32, release: &ReleasePlan, at: Ticks) -> u32 {
        let pool = &mut self.pools[p as usize];
        let class = match release {
            ReleasePlan::Order(order) => {
                let k = usize::try_from(pool.released).unwrap_or(0) % order.len();
                order[k]
            }
            ReleasePlan::Mix(sums) if sums.len() > 1 => {
                let u = pool.release.uniform();
                let at = sums.partition_point(|sum| *sum <= u).min(sums.len() - 1);
                u16::try_from(at).unwrap_or(0)
            }
            ReleasePlan::Mix(_) => 0,
        };
        pool.released += 1;
        self.jobs.add(Job {
            born: at,
            class,
            carriers: 0,
            tried: false,
            failed: false,
        })
    }

    /// When main job and parts of the merge's next job are all there, and what
    /// decided it; none while that is not known.
    fn merge_ready(&mut self, p: u32, u: u32, each: &Each) -> Option<Take> {
        let unit = &self.units[u as usize];
        let mut at = Take {
            time: unit.free,
            fact: unit.free_fact,
        };
        if each.as_they_come {
            self.fill_places(p, u, each);
            let held = &self.pools[p as usize].held;
            let main = if each.main == NONE { 0 } else { 1 };
            let class = self.next_class(p, each)?;
            for (i, slot) in held.iter().enumerate().skip(1 - main) {
                let wanted = i == 0
                    || each.parts[i - 1]
                        .classes
                        .get(usize::from(class))
                        .copied()
                        .unwrap_or(true);
                if wanted {
                    let slot = slot.as_ref()?;
                    if slot.time > at.time {
                        at = Take {
                            time: slot.time,
                            fact: slot.fact,
                        };
                    }
                }
            }
            return Some(at);
        }
        if each.main != NONE {
            let main = self.head(each.main)?;
            if main.time > at.time {
                at = Take {
                    time: main.time,
                    fact: main.fact,
                };
            }
        }
        let class = self.next_class(p, each)?;
        for part in &each.parts {
            if part
                .classes
                .get(usize::from(class))
                .copied()
                .unwrap_or(true)
            {
                let last = self.nth(part.link, u64::from(part.needs) - 1)?;
                if last.time > at.time {
                    at = Take {
                        time: last.time,
                        fact: last.fact,
                    };
                }
            }
        }
        Some(at)
    }

    /// The class of the merge's next job.
    fn next_class(&self, p: u32, each: &Each) -> Option<u16> {
        if each.main == NONE {
            let pool = &self.pools[p as usize];
            return Some(match &each.release {
                Some(ReleasePlan::Order(order)) => {
                    order[usize::try_from(pool.released).unwrap_or(0) % order.len()]
                }
                Some(ReleasePlan::Mix(sums)) if sums.len() > 1 => {
                    let mut peek = pool.release;
                    let u = peek.uniform();
                    let at = sums.partition_point(|sum| *sum <= u).min(sums.len() - 1);
                    u16::try_from(at).unwrap_or(0)
                }
                _ => 0,
            });
        }
        let job = if each.as_they_come {
            self.pools[p as usize].held[0].as_ref()?.job
        } else {
            self.head(each.main)?.job
        };
        Some(self.jobs.jobs[job as usize].class)
    }

    /// As they come: every kind's place is filled from its link once the job
    /// before has left the station.
    fn fill_places(&mut self, p: u32, u: u32, each: &Each) {
        let (free, free_fact) = (
            self.units[u as usize].free,
            self.units[u as usize].free_fact,
        );
        for i in 0..=each.parts.len() {
            let l = if i == 0 {
                each.main
            } else {
                each.parts[i - 1].link
            };
            if l == NONE || self.pools[p as usize].held[i].is_some() {
                continue;
            }
            if let Some(slot) = self.head(l) {
                let (time, fact) = if slot.time > free {
                    (slot.time, slot.fact)
                } else {
                    (free, free_fact)
                };
                self.take(l, time, fact);
                let link = &self.links[l as usize];
                let time = if link.holds == 0 {
                    time + link.transit
                } else {
                    time
                };
                self.pools[p as usize].held[i] = Some(Slot {
                    time,
                    job: slot.job,
                    fact,
                });
            }
        }
    }

    /// Empties a kind's place, where what came waited until `to`.
    fn empty_place(&mut self, p: u32, u: u32, kind: usize, to: Ticks) -> Option<u32> {
        let slot = self.pools[p as usize].held[kind].take()?;
        let unit = &mut self.units[u as usize];
        self.tally.lay(u as usize, unit, slot.time, to);
        Some(slot.job)
    }

    /// What still lies in the places at the end has been there until then.
    pub(crate) fn close_places(&mut self) {
        let horizon = self.horizon;
        for (pool, state) in self.plan.pools.iter().zip(&self.pools) {
            for slot in state.held.iter().flatten() {
                let u = pool.first_unit as usize;
                self.tally.in_coil(u, slot.time, horizon, 1);
            }
        }
    }

    /// Takes main job and parts together and begins work.
    fn merge(&mut self, p: u32, u: u32, each: &Each, at: Take) {
        let class = self.next_class(p, each).unwrap_or(0);
        let (mut begun, mut there) = (at.time, at.time);
        let job = if each.main == NONE {
            let release = each.release.as_ref();
            self.tally.entered(at.time);
            match release {
                Some(release) => self.release(p, release, at.time),
                None => self.jobs.add(Job {
                    born: at.time,
                    class,
                    carriers: 0,
                    tried: false,
                    failed: false,
                }),
            }
        } else if each.as_they_come {
            self.empty_place(p, u, 0, at.time).unwrap_or(0)
        } else {
            there = self.taken_at(each.main, at);
            begun = there;
            self.take(each.main, at.time, at.fact).job
        };
        for (i, part) in each.parts.iter().enumerate() {
            if !part
                .classes
                .get(usize::from(class))
                .copied()
                .unwrap_or(true)
            {
                continue;
            }
            if each.as_they_come {
                if let Some(part) = self.empty_place(p, u, i + 1, at.time) {
                    self.join(job, part, at.time);
                }
                continue;
            }
            let came = self.taken_at(part.link, at);
            begun = begun.max(came);
            for _ in 0..part.needs {
                let slot = self.take(part.link, at.time, at.fact);
                self.join(job, slot.job, came);
            }
        }
        if begun > there {
            // the last of the parts comes hand to hand
            let unit = &mut self.units[u as usize];
            self.tally.lay(u as usize, unit, there, begun);
        }
        self.carry(p, job);
        self.begin(u, begun, at.fact, job);
    }

    /// When a job taken at `at` is at the station.
    fn taken_at(&self, l: u32, at: Take) -> Ticks {
        let link = &self.links[l as usize];
        if link.holds == 0 {
            at.time + link.transit
        } else {
            at.time
        }
    }

    /// A part becomes part of the main job, which is as old as its oldest part.
    fn join(&mut self, main: u32, part: u32, at: Ticks) {
        let part_job = self.jobs.jobs[part as usize];
        let job = &mut self.jobs.jobs[main as usize];
        job.born = job.born.min(part_job.born);
        job.carriers |= part_job.carriers;
        self.jobs.drop(part);
        self.tally.gone(at);
    }

    /// A pool of several units: each idle one takes a job when its time comes;
    /// finished ones leave in order of finish.
    fn poll_many(&mut self, p: u32) {
        let waiting = self.pools[p as usize].waiting.len();
        for _ in 0..waiting {
            let Some(u) = self.pools[p as usize].waiting.pop_front() else {
                break;
            };
            if !self.leave(u) {
                self.pools[p as usize].waiting.push_back(u);
            }
        }
        if let Some(at) = self.ready(p) {
            self.wake(p, at);
        }
    }

    /// The clock has reached something at the unit: a stop, or its finish.
    pub(crate) fn unit_due(&mut self, u: u32) {
        let pool = self.units[u as usize].pool;
        match self.units[u as usize].phase {
            Phase::Working => self.call_crew(u),
            Phase::Done => {
                self.units[u as usize].phase = Phase::Leaving;
                self.pools[pool as usize].waiting.push_back(u);
                self.stack.push(pool);
            }
            Phase::Idle | Phase::Leaving | Phase::Offering => {}
        }
    }
}
