//! The event calendar: one slot per thing that can be due, the earliest first.

use crate::clock::{NEVER, Ticks};

/// A tournament over slots. Setting a slot costs one walk from leaf to root;
/// a slot is set again rather than removed, so nothing is ever searched.
#[derive(Debug)]
pub(crate) struct Queue {
    /// Winners, the root at 1; leaf `i` is at `leaves + i`. Time above, slot
    /// below, so that one comparison without a jump settles draws, too.
    tree: Vec<u128>,
    leaves: usize,
    /// The slot that is being served: its walk is put off until it is known
    /// when it is due next.
    held: u32,
}

const NOBODY: u32 = u32::MAX;

/// Times are never negative, so their bits sort as they do.
#[inline]
fn key(at: Ticks, slot: u32) -> u128 {
    (u128::from(at.cast_unsigned()) << 32) | u128::from(slot)
}

#[inline]
fn time(key: u128) -> Ticks {
    ((key >> 32) as u64).cast_signed()
}

impl Queue {
    pub(crate) fn new(slots: usize) -> Self {
        let leaves = slots.max(2).next_power_of_two();
        let mut tree = vec![0; leaves];
        tree.extend((0..leaves as u32).map(|slot| key(NEVER, slot)));
        for node in (1..leaves).rev() {
            tree[node] = tree[2 * node];
        }
        Self {
            tree,
            leaves,
            held: NOBODY,
        }
    }

    /// Makes `slot` due at `at`. Of slots due at once the lowest comes first.
    #[inline]
    pub(crate) fn set(&mut self, slot: u32, at: Ticks) {
        let node = self.leaves + slot as usize;
        let key = key(at, slot);
        if self.tree[node] == key {
            return;
        }
        self.tree[node] = key;
        if slot != self.held {
            self.walk(node);
        }
    }

    fn walk(&mut self, mut node: usize) {
        let mut winner = self.tree[node];
        while node > 1 {
            winner = winner.min(self.tree[node ^ 1]);
            node >>= 1;
            self.tree[node] = winner;
        }
    }

    /// Takes the first slot out to serve it: it is due never unless set before
    /// [`Queue::served`].
    #[inline]
    pub(crate) fn serve(&mut self, slot: u32) {
        self.tree[self.leaves + slot as usize] = key(NEVER, slot);
        self.held = slot;
    }

    /// The slot in service is done.
    #[inline]
    pub(crate) fn served(&mut self) {
        let slot = std::mem::replace(&mut self.held, NOBODY);
        self.walk(self.leaves + slot as usize);
    }

    #[inline]
    pub(crate) fn due(&self, slot: u32) -> Ticks {
        time(self.tree[self.leaves + slot as usize])
    }

    /// The earliest slot and when it is due; not while one is being served.
    #[inline]
    pub(crate) fn first(&self) -> (u32, Ticks) {
        (self.tree[1] as u32, time(self.tree[1]))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn the_first_is_always_the_earliest(changes in proptest::collection::vec((0..13_u32, 0..50_i64), 1..200)) {
            let mut queue = Queue::new(13);
            let mut plain = [NEVER; 13];
            for (slot, at) in changes {
                // Every third change as a service of the first slot.
                if at % 3 == 0 {
                    let (first, _) = queue.first();
                    queue.serve(first);
                    plain[first as usize] = NEVER;
                    queue.set(slot, at);
                    queue.served();
                } else {
                    queue.set(slot, at);
                }
                plain[slot as usize] = at;
                let least = *plain.iter().min().unwrap();
                let (first, when) = queue.first();
                prop_assert_eq!(when, least);
                prop_assert_eq!(plain.iter().position(|t| *t == least).unwrap(), first as usize);
            }
        }
    }
}
