//! Lots: which item next, changeover, one piece after the other.

use crate::clock::Ticks;
use crate::engine::Engine;
use crate::engine::state::{Job, Phase};
use crate::model::LotRule;
use crate::plan::{ItemPlan, LotsPlan, NONE};

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
                self.ask_for_lot(p, at);
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
            self.jobs.add(Job {
                born: lot.born,
                class: item.class,
                carriers: 0,
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

    /// Has the pool choose a lot at `at`, or earlier if it is already to.
    fn ask_for_lot(&mut self, p: u32, at: Ticks) {
        let slot = self.pool_slot + p;
        if at < self.queue.due(slot) {
            self.queue.set(slot, at);
        }
    }

    /// A stock has fallen: a station between lots looks again.
    pub(crate) fn lots_woken(&mut self, p: u32, fact: u32) {
        if self.between_lots(p) {
            self.pools[p as usize].wake_fact = fact;
            let at = self.units[self.plan.pools[p as usize].first_unit as usize]
                .free
                .max(self.now);
            self.ask_for_lot(p, at);
        }
    }

    /// Material has come for a lot station.
    pub(crate) fn material_came(&mut self, l: u32, at: Ticks, fact: u32) {
        let p = self.links[l as usize].to_pool;
        if self.between_lots(p) {
            self.pools[p as usize].wake_fact = fact;
            let free = self.units[self.plan.pools[p as usize].first_unit as usize].free;
            self.ask_for_lot(p, at.max(free).max(self.now));
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
        let Some(next) = self.due_item(p, lots) else {
            self.pools[p as usize].lot.looked = self.now;
            if let Some(at) = self.next_material(lots) {
                self.ask_for_lot(p, at);
            }
            return;
        };
        let item = &lots.items[next as usize];
        let unit = &self.units[pool.first_unit as usize];
        let (free, free_fact) = (unit.free, unit.free_fact);
        if free >= self.now {
            self.pools[p as usize].wake_fact = free_fact;
        }
        let state = &mut self.pools[p as usize].lot;
        let same_die = state.item == next;
        state.item = next;
        state.left = item.lot;
        state.born = self.now;
        state.changeover = 0;
        if !same_die {
            let unit = &mut self.units[pool.first_unit as usize];
            self.pools[p as usize].lot.changeover = lots.changeover.draw(&mut unit.luck);
        }
    }

    /// The item to make next: due, with material at hand.
    fn due_item(&self, p: u32, lots: &LotsPlan) -> Option<u32> {
        let current = self.pools[p as usize].lot.item;
        let due = |item: &ItemPlan| {
            let level = self.level(item.to);
            level <= u64::from(item.start_below) && self.material_ready(item)
        };
        match lots.rule {
            LotRule::InTurn => {
                let n = u32::try_from(lots.items.len()).unwrap_or(0);
                let first = if current == NONE { 0 } else { current + 1 };
                (0..n)
                    .map(|i| (first + i) % n)
                    .find(|i| due(&lots.items[*i as usize]))
            }
            LotRule::LeastCover => (0_u32..)
                .zip(&lots.items)
                .filter(|(_, item)| due(item))
                .map(|(i, item)| (i, self.cover(item)))
                .min_by(|a, b| a.1.total_cmp(&b.1))
                .map(|(i, _)| i),
        }
    }

    /// The next instant at which material known to be on its way is there.
    fn next_material(&self, lots: &LotsPlan) -> Option<Ticks> {
        lots.items
            .iter()
            .filter(|item| item.from != NONE)
            .flat_map(|item| {
                [
                    self.head(item.from),
                    self.nth(item.from, u64::from(item.material.max(1)) - 1),
                ]
            })
            .flatten()
            .map(|slot| slot.time)
            .filter(|at| *at > self.now)
            .min()
    }

    /// Pieces in a stock at the clock's instant.
    fn level(&self, l: u32) -> u64 {
        let link = &self.links[l as usize];
        link.put - link.seen
    }

    /// Hours that an item's stock lasts.
    #[allow(clippy::cast_precision_loss)]
    fn cover(&self, item: &ItemPlan) -> f64 {
        self.level(item.to) as f64 / item.drawn_per_hour
    }

    /// A whole lot's material lies ready, or some of it does while the stock
    /// is empty.
    fn material_ready(&self, item: &ItemPlan) -> bool {
        if item.from == NONE {
            return true;
        }
        let there = |n: u32| {
            n == 0
                || self
                    .nth(item.from, u64::from(n) - 1)
                    .is_some_and(|slot| slot.time <= self.now)
        };
        there(item.material) || (self.level(item.to) == 0 && there(1))
    }
}
