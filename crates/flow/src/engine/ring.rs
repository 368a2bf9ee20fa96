//! Links: putting jobs in, taking them out, knowing when a place is free.

use crate::clock::Ticks;
use crate::engine::Engine;
use crate::engine::path::START;
use crate::engine::state::{Entry, LinkState, Phase, Slot, Take};
use crate::plan::NONE;

impl LinkState {
    /// Where in the rings the link's `k`-th job stands.
    #[inline]
    pub(crate) fn at(&self, k: u64) -> usize {
        // Only the low bits count, so cutting them off loses nothing.
        (self.base + (k as u32 & self.mask)) as usize
    }
}

impl<const RECORD: bool> Engine<'_, RECORD> {
    /// The job at the head of the link, if one is known to come.
    #[inline]
    pub(crate) fn head(&self, l: u32) -> Option<Slot> {
        self.nth(l, 0)
    }

    /// The `n`-th job of the link counted from the head, if known.
    #[inline]
    pub(crate) fn nth(&self, l: u32, n: u64) -> Option<Slot> {
        let link = &self.links[l as usize];
        (link.put > link.taken + n).then(|| self.ring[link.at(link.taken + n)].slot)
    }

    /// When the next place of the link is free and what decided it; none while
    /// that is not known. Not for links hand to hand.
    #[inline]
    pub(crate) fn place(&self, l: u32) -> Option<Take> {
        let link = &self.links[l as usize];
        let holds = u64::from(link.holds);
        if link.holds == NONE || link.put < holds {
            return Some(Take {
                time: 0,
                fact: START,
            });
        }
        let before = link.put - holds;
        (link.taken > before).then(|| self.take_of(link, before))
    }

    /// When the link's `k`-th job was taken.
    #[inline]
    pub(crate) fn take_of(&self, link: &LinkState, k: u64) -> Take {
        let entry = &self.ring[link.at(k)];
        Take {
            time: entry.take,
            fact: entry.take_fact,
        }
    }

    /// The last take of the link.
    pub(crate) fn last_take(&self, l: u32) -> Take {
        let link = &self.links[l as usize];
        self.take_of(link, link.taken.saturating_sub(1))
    }

    /// Puts a job into the link at `at`; it is there to be taken after the
    /// transit. Hand to hand it is offered at `at`.
    pub(crate) fn put(&mut self, l: u32, at: Ticks, job: u32, fact: u32) {
        let index = l as usize;
        if self.links[index].put - self.links[index].taken > u64::from(self.links[index].mask) {
            self.grow(l);
        }
        let link = &mut self.links[index];
        let time = if link.holds == 0 {
            at
        } else {
            at + link.transit
        };
        let k = link.put;
        link.put = k + 1;
        let place = link.at(k);
        let (bank, wakes_lots) = (link.bank, link.wakes_lots);
        self.ring[place].slot = Slot { time, job, fact };
        if bank {
            self.bank_after_put(l, k, at);
        }
        if wakes_lots {
            self.material_came(l, time, fact);
        }
        let link = &self.links[index];
        // A unit that has a job asks for the next one by itself.
        if link.to_unit == NONE || self.units[link.to_unit as usize].phase == Phase::Idle {
            self.stack.push(link.to_pool);
        }
    }

    /// Takes the head of the link at `at`.
    pub(crate) fn take(&mut self, l: u32, at: Ticks, fact: u32) -> Slot {
        let index = l as usize;
        let link = &mut self.links[index];
        let j = link.taken;
        link.taken = j + 1;
        let entry = &mut self.ring[link.at(j)];
        entry.take = at;
        entry.take_fact = fact;
        let slot = entry.slot;
        if link.holds != 0 {
            let transit = link.transit;
            self.tally.stayed(index, link, slot.time - transit, at);
            if self.links[index].bank {
                self.bank_after_take(l, j, at);
            }
        } else if link.transit > 0 {
            // Hand to hand it sets out only now.
            let there = at + link.transit;
            self.tally.stayed(index, link, at, there);
        }
        if self.links[index].watch != NONE {
            self.stock_taken(l, Take { time: at, fact });
        }
        self.place_freed(l);
        slot
    }

    /// Lets whoever waits for a place of the link try again.
    #[inline]
    fn place_freed(&mut self, l: u32) {
        let link = &self.links[l as usize];
        if link.from_unit == NONE {
            self.stack.push(link.from_pool);
        } else {
            let phase = self.units[link.from_unit as usize].phase;
            if matches!(phase, Phase::Leaving | Phase::Offering) {
                self.stack.push(link.from_pool);
            }
        }
    }

    /// Doubles the room of a link without limit. The old room is left behind: a
    /// link grows a few times in a run at most.
    #[cold]
    fn grow(&mut self, l: u32) {
        let fresh = self.ring.len() as u32;
        let link = &mut self.links[l as usize];
        // The last one taken is kept for when the link was last empty.
        let kept: Vec<(u64, Entry)> = (link.taken.saturating_sub(1)..link.put)
            .filter(|k| link.put - k <= u64::from(link.mask) + 1)
            .map(|k| (k, self.ring[link.at(k)]))
            .collect();
        link.mask = 2 * link.mask + 1;
        link.base = fresh;
        self.ring
            .resize(self.ring.len() + link.mask as usize + 1, Entry::default());
        for (k, entry) in kept {
            self.ring[link.at(k)] = entry;
        }
    }

    /// A full spell is over with take `j` if the job that filled the last
    /// place came before it; an empty one begins if no job was left.
    pub(crate) fn bank_after_take(&mut self, l: u32, j: u64, at: Ticks) {
        let index = l as usize;
        let link = &mut self.links[index];
        let holds = u64::from(link.holds);
        if link.holds != NONE && link.put >= j + holds {
            let from = self.ring[link.at(j + holds - 1)].slot.time - link.transit;
            if from < at {
                self.tally.bank(index, link, true, from, at);
            }
        }
        if link.put > j + 1 {
            let to = self.ring[link.at(j + 1)].slot.time - link.transit;
            if to > at {
                self.tally.bank(index, link, false, at, to);
            }
        }
    }

    /// As [`Engine::bank_after_take`] for the spells that put `k` begins and ends,
    /// where the take on the other side is already known.
    pub(crate) fn bank_after_put(&mut self, l: u32, k: u64, at: Ticks) {
        let index = l as usize;
        let link = &mut self.links[index];
        let holds = u64::from(link.holds);
        if link.holds != NONE && k + 1 >= holds && link.taken > k + 1 - holds {
            let to = self.ring[link.at(k + 1 - holds)].take;
            if to > at {
                self.tally.bank(index, link, true, at, to);
            }
        }
        let empty_from = match k {
            0 => Some(0),
            _ => (link.taken == k).then(|| self.ring[link.at(k - 1)].take),
        };
        if let Some(from) = empty_from.filter(|from| *from < at) {
            self.tally.bank(index, link, false, from, at);
        }
    }
}
