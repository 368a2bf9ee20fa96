//! The critical path: which work decided when each job left.
//!
//! Every piece of work done is an entry that names the work whose end let it
//! begin. Walked back from the last job that left, the entries are the longest
//! path through the run, and the share of it spent at a station is the
//! elasticity of the rate to that station's times (infinitesimal perturbation
//! analysis in reverse; Ho & Cao 1991).

use crate::clock::Ticks;

/// No entry: decided by the start of the run.
pub(crate) const START: u32 = u32::MAX;

#[derive(Clone, Copy, Debug)]
pub(crate) struct Entry {
    before: u32,
    unit: u32,
    start: Ticks,
    finish: Ticks,
    cycle: Ticks,
    changeover: Ticks,
}

/// One piece of work done.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Done {
    pub(crate) unit: u32,
    pub(crate) start: Ticks,
    pub(crate) finish: Ticks,
    pub(crate) cycle: Ticks,
    pub(crate) changeover: Ticks,
}

/// What the path spent at one unit.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Spent {
    pub(crate) cycle: Ticks,
    pub(crate) stopped: Ticks,
    pub(crate) changeover: Ticks,
}

#[derive(Debug, Default)]
pub(crate) struct Path {
    entries: Vec<Entry>,
}

/// What is called on every entry number held anywhere.
pub(crate) type See<'a> = &'a mut dyn FnMut(&mut u32);

/// Above this many entries the log is cut down to what is still alive.
pub(crate) const COMPACT_AT: usize = 1_000_000;

impl Path {
    /// The same log with nothing in it and its memory kept.
    pub(crate) fn cleared(mut self) -> Self {
        self.entries.clear();
        self
    }

    pub(crate) fn record(&mut self, before: u32, done: Done) -> u32 {
        let id = self.entries.len() as u32;
        self.entries.push(Entry {
            before,
            unit: done.unit,
            start: done.start,
            finish: done.finish,
            cycle: done.cycle,
            changeover: done.changeover,
        });
        id
    }

    pub(crate) fn is_long(&self, limit: usize) -> bool {
        self.entries.len() >= limit
    }

    pub(crate) fn len(&self) -> usize {
        self.entries.len()
    }

    /// Drops all entries that no live one leads back to. `live` calls its
    /// argument on every entry number held anywhere; it is called twice.
    pub(crate) fn compact(&mut self, live: &mut dyn FnMut(See)) {
        let mut kept = vec![false; self.entries.len()];
        live(&mut |id| {
            let mut at = *id;
            while at != START && !std::mem::replace(&mut kept[at as usize], true) {
                at = self.entries[at as usize].before;
            }
        });
        let mut moved = vec![START; self.entries.len()];
        let mut next = 0;
        for (old, keep) in kept.iter().enumerate() {
            if *keep {
                moved[old] = next as u32;
                let mut entry = self.entries[old];
                if entry.before != START {
                    entry.before = moved[entry.before as usize];
                }
                self.entries[next] = entry;
                next += 1;
            }
        }
        self.entries.truncate(next);
        live(&mut |id| {
            if *id != START {
                *id = moved[*id as usize];
            }
        });
    }

    /// Walks back from `last` to the start, adding what was spent to `spent`:
    /// one block of `block` places for each slot of time, unit by unit, and the time on
    /// the way between stations in the block's last place. `open` tells the open
    /// time of a unit between two instants, so that closed hours count nowhere.
    pub(crate) fn walk(
        &self,
        last: u32,
        block: usize,
        slot: impl Fn(Ticks) -> usize,
        open: impl Fn(u32, Ticks, Ticks) -> Ticks,
    ) -> Vec<Spent> {
        let mut spent: Vec<Spent> = Vec::new();
        let mut at = last;
        while at != START {
            let entry = self.entries[at as usize];
            // A piece of work is short against a slab: it counts where it ends.
            let base = slot(entry.finish) * block;
            if spent.len() < base + block {
                spent.resize(base + block, Spent::default());
            }
            let here = &mut spent[base + entry.unit as usize];
            here.cycle += entry.cycle;
            here.changeover += entry.changeover;
            let busy = open(entry.unit, entry.start, entry.finish);
            here.stopped += (busy - entry.cycle - entry.changeover).max(0);
            if entry.before != START {
                let before = self.entries[entry.before as usize].finish;
                spent[base + block - 1].cycle += open(entry.unit, before, entry.start).max(0);
            }
            at = entry.before;
        }
        spent
    }
}
