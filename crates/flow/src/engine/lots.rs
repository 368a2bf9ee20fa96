//! Lots: which item next, changeover, one piece after the other.

use crate::clock::Ticks;
use crate::engine::Engine;
use crate::engine::path::START;
use crate::engine::state::{Job, Phase, Take};
use crate::model::{LotRule, Turn};
use crate::plan::{ItemPlan, LotsPlan, NONE};

/// A lot that may start.
struct Due {
    item: u32,
    pieces: u32,
    /// Its place in the timetable, where the line follows one.
    turn: Option<u32>,
}

impl<const RECORD: bool> Engine<'_, RECORD> {
    /// Takes the next piece of the lot in hand; between lots, asks to be woken
    /// when the unit is free. False if nothing could be taken.
    pub(crate) fn next_piece(&mut self, p: u32, u: u32) -> bool {
        let plan = self.plan;
        let Some(lots) = &plan.pools[p as usize].lots else {
            return false;
        };
        let lot = self.pools[p as usize].lot;
        if lot.left == 0 {
            // Once looked in vain, only a fall of a stock or new material is a
            // reason to look again.
            let free = self.units[u as usize].free;
            if lot.looked < free {
                let at = free.max(self.now);
                let fact = self.units[u as usize].free_fact;
                self.ask_for_lot(p, Take { time: at, fact });
            }
            return false;
        }
        let item = &lots.items[lot.item as usize];
        let unit = &self.units[u as usize];
        let mut at = (unit.free, unit.free_fact);
        let wake = self.pools[p as usize].wake_fact;
        if lot.changeover >= 0 && at.0 <= self.now {
            // First piece of a lot: the decision was taken now.
            at = (self.now, wake);
        }
        let job = if item.from == NONE {
            self.tally.entered(at.0);
            self.tally.in_coil(u as usize, lot.born, at.0, 1);
            self.jobs.add(Job {
                born: lot.born,
                class: item.class,
                carriers: 0,
                tried: false,
                failed: false,
            })
        } else {
            let Some(slot) = self.head(item.from) else {
                return false;
            };
            if slot.time > at.0 {
                at = (slot.time, slot.fact);
            }
            self.take(item.from, at.0, at.1);
            let job = &mut self.jobs.jobs[slot.job as usize];
            job.class = item.class;
            if item.born_here {
                job.born = lot.born;
            }
            slot.job
        };
        let state = &mut self.pools[p as usize].lot;
        state.left -= 1;
        self.units[u as usize].changeover = state.changeover.max(0);
        state.changeover = -1;
        self.units[u as usize].out_link = item.to;
        self.begin(u, at.0, at.1, job);
        true
    }

    /// Counts the pieces that the run's end leaves in the coils of open lots.
    pub(crate) fn close_lots(&mut self) {
        let plan = self.plan;
        for (pool, state) in plan.pools.iter().zip(&self.pools) {
            let Some(lots) = pool.lots.as_ref().filter(|_| state.lot.left > 0) else {
                continue;
            };
            if lots.items[state.lot.item as usize].from == NONE {
                let (unit, left) = (pool.first_unit as usize, state.lot.left);
                self.tally.in_coil(unit, state.lot.born, self.horizon, left);
            }
        }
    }

    /// Has the pool choose a lot at `at`, or earlier if it is already to.
    fn ask_for_lot(&mut self, p: u32, at: Take) {
        let slot = self.pool_slot + p;
        let free = self.units[self.plan.pools[p as usize].first_unit as usize].free;
        let time = at.time.max(free).max(self.now);
        if time < self.queue.due(slot) {
            self.queue.set(slot, time);
            self.pools[p as usize].wake_fact = at.fact;
        }
    }

    /// A piece was taken out of a stock, perhaps ahead of the clock. The take
    /// that brings the level down to the start level is a reason to look.
    pub(crate) fn stock_taken(&mut self, l: u32, take: Take) {
        let link = &self.links[l as usize];
        let p = link.from_pool;
        let left = link.put - link.taken;
        self.watches[link.watch as usize].coming.push_back(take);
        if left <= self.watches[link.watch as usize].start_below && self.between_lots(p) {
            self.ask_for_lot(p, take);
        }
    }

    /// Material has come for a lot station.
    pub(crate) fn material_came(&mut self, l: u32, at: Ticks, fact: u32) {
        let p = self.links[l as usize].to_pool;
        if self.between_lots(p) {
            self.ask_for_lot(p, Take { time: at, fact });
        }
    }

    fn between_lots(&self, p: u32) -> bool {
        let pool = &self.plan.pools[p as usize];
        pool.lots.is_some()
            && self.pools[p as usize].lot.left == 0
            && self.units[pool.first_unit as usize].phase == Phase::Idle
    }

    /// Chooses the next lot at the clock's instant, if any item is due.
    pub(crate) fn choose_lot(&mut self, p: u32) {
        let plan = self.plan;
        let pool = &plan.pools[p as usize];
        let Some(lots) = &pool.lots else { return };
        if !self.between_lots(p) || self.units[pool.first_unit as usize].free > self.now {
            return;
        }
        for item in &lots.items {
            self.catch_up(item.to);
        }
        self.ask_for_material(lots);
        let Some(Due {
            item: next,
            pieces,
            turn,
        }) = self.due_lot(p, lots)
        else {
            self.pools[p as usize].lot.looked = self.now;
            if let Some(at) = self.next_reason(lots) {
                self.ask_for_lot(p, at);
            }
            return;
        };
        let item = &lots.items[next as usize];
        self.links[item.to as usize].wanted = false;
        // A lot that the stock has no room for would hold the line until the
        // next draw, and with it all other items.
        let room = u32::try_from(self.room(item.to)).unwrap_or(u32::MAX);
        let state = &mut self.pools[p as usize].lot;
        let same_die = state.item == next;
        state.item = next;
        state.left = pieces.min(room);
        state.turn = turn;
        state.born = self.now;
        state.changeover = 0;
        if !same_die {
            let unit = &mut self.units[pool.first_unit as usize];
            self.pools[p as usize].lot.changeover = lots.changeover.draw(&mut unit.luck);
        }
    }

    /// The lot to make next: due, with material at hand.
    fn due_lot(&self, p: u32, lots: &LotsPlan) -> Option<Due> {
        let urgent = self.least_cover(lots);
        let LotRule::InOrder(turns) = &lots.rule else {
            return urgent.map(|(item, _)| Due {
                item,
                pieces: lots.items[item as usize].lot,
                turn: None,
            });
        };
        let n = u32::try_from(turns.len()).unwrap_or(u32::MAX);
        let now = self.pools[p as usize].lot.turn;
        let first = now.map_or(0, |turn| turn + 1);
        let mut coming = (0..n).map(|ahead| (first + ahead) % n);
        let of = |turn: u32| turns[turn as usize];
        let next = coming
            .clone()
            .find(|turn| self.may_start(lots, of(*turn).item))?;
        let Turn { item, lot } = of(next);
        let (dry, cover) = urgent?;
        // The line comes back to its order after a lot that cannot wait.
        if dry != item && cover < lots.hours(item, lot) + lots.changeover_h {
            let pieces = coming.find(|turn| of(*turn).item == dry);
            return Some(Due {
                item: dry,
                pieces: pieces.map_or(lots.items[dry as usize].lot, |turn| of(turn).lot),
                turn: now,
            });
        }
        Some(Due {
            item,
            pieces: lot,
            turn: Some(next),
        })
    }

    fn may_start(&self, lots: &LotsPlan, item: u32) -> bool {
        let item = &lots.items[item as usize];
        self.is_low(item) && self.material_ready(item)
    }

    /// The item due whose stock lasts least, and how many hours.
    fn least_cover(&self, lots: &LotsPlan) -> Option<(u32, f64)> {
        (0_u32..)
            .zip(&lots.items)
            .filter(|(i, _)| self.may_start(lots, *i))
            .map(|(i, item)| (i, self.cover(item)))
            .min_by(|a, b| a.1.total_cmp(&b.1))
    }

    /// The stock asks for a lot: it has fallen to its start level, or the lot
    /// station below is short of it.
    fn is_low(&self, item: &ItemPlan) -> bool {
        self.room(item.to) > 0
            && (self.level(item.to) <= u64::from(item.start_below)
                || self.links[item.to as usize].wanted)
    }

    /// Calls for the material of items that are due and lack it: without that,
    /// a stock above its own start level and below a lot of the next line would
    /// wait for ever.
    fn ask_for_material(&mut self, lots: &LotsPlan) {
        for item in lots.items.iter().filter(|item| item.from != NONE) {
            if self.is_low(item) && !self.material_lies(item) {
                let link = &mut self.links[item.from as usize];
                if !std::mem::replace(&mut link.wanted, true) {
                    let above = link.from_pool;
                    if self.between_lots(above) {
                        self.ask_for_lot(
                            above,
                            Take {
                                time: self.now,
                                fact: START,
                            },
                        );
                    }
                }
            }
        }
    }

    /// The next instant known at which an item may come due: its stock falls to
    /// the start level, or material on its way is there.
    fn next_reason(&self, lots: &LotsPlan) -> Option<Take> {
        let mut next: Option<Take> = None;
        let mut consider = |take: Take| {
            if take.time > self.now && next.is_none_or(|n| take.time < n.time) {
                next = Some(take);
            }
        };
        for item in &lots.items {
            let above = self
                .level(item.to)
                .saturating_sub(u64::from(item.start_below));
            let coming = &self.watches[self.links[item.to as usize].watch as usize].coming;
            if let Some(take) = usize::try_from(above)
                .ok()
                .and_then(|n| coming.get(n.saturating_sub(1)))
            {
                consider(*take);
            }
            if item.from != NONE {
                let last = u64::from(item.material.max(1)) - 1;
                for slot in [self.head(item.from), self.nth(item.from, last)]
                    .into_iter()
                    .flatten()
                {
                    consider(Take {
                        time: slot.time,
                        fact: slot.fact,
                    });
                }
            }
        }
        next
    }

    /// Counts the takes out of a stock that the clock has reached.
    fn catch_up(&mut self, l: u32) {
        let link = &mut self.links[l as usize];
        let coming = &mut self.watches[link.watch as usize].coming;
        while coming.front().is_some_and(|take| take.time <= self.now) {
            coming.pop_front();
            link.seen += 1;
        }
    }

    /// Pieces in a stock at the clock's instant, once caught up.
    fn level(&self, l: u32) -> u64 {
        let link = &self.links[l as usize];
        link.put - link.seen
    }

    /// Places free in a stock at the clock's instant, once caught up.
    fn room(&self, l: u32) -> u64 {
        u64::from(self.links[l as usize].holds).saturating_sub(self.level(l))
    }

    /// Hours that an item's stock lasts.
    fn cover(&self, item: &ItemPlan) -> f64 {
        self.level(item.to) as f64 / item.drawn_per_hour
    }

    /// A whole lot's material lies ready, or some of it does while the stock
    /// below has less than the next job needs.
    fn material_ready(&self, item: &ItemPlan) -> bool {
        self.material_lies(item)
            || (self.level(item.to) < u64::from(item.needed_at_once) && self.there(item, 1))
    }

    fn material_lies(&self, item: &ItemPlan) -> bool {
        item.from == NONE || self.there(item, item.material)
    }

    /// Whether so many pieces of material lie before the station.
    fn there(&self, item: &ItemPlan, n: u32) -> bool {
        n == 0
            || self
                .nth(item.from, u64::from(n) - 1)
                .is_some_and(|slot| slot.time <= self.now)
    }
}
