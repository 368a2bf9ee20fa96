//! The event calendar: one slot per thing that can be due, the earliest first.

use crate::clock::{NEVER, Ticks};

/// A tournament over slots. Setting a slot costs one walk from leaf to root;
/// a slot is set again rather than removed, so nothing is ever searched.
#[derive(Debug)]
pub(crate) struct Queue {
    times: Vec<Ticks>,
    /// Winners; leaf `i` is at `leaves + i`.
    tree: Vec<u32>,
    leaves: usize,
}

impl Queue {
    #[allow(clippy::cast_possible_truncation)]
    pub(crate) fn new(slots: usize) -> Self {
        let leaves = slots.max(2).next_power_of_two();
        let mut tree = vec![0; leaves];
        tree.extend(0..leaves as u32);
        let mut queue = Self {
            times: vec![NEVER; leaves],
            tree,
            leaves,
        };
        for node in (1..leaves).rev() {
            queue.tree[node] = queue.tree[2 * node];
        }
        queue
    }

    /// Makes `slot` due at `at`. Of slots due at once the lowest comes first.
    #[inline]
    pub(crate) fn set(&mut self, slot: u32, at: Ticks) {
        if self.times[slot as usize] == at {
            return;
        }
        self.times[slot as usize] = at;
        let mut node = (self.leaves + slot as usize) >> 1;
        while node > 0 {
            let (left, right) = (self.tree[2 * node], self.tree[2 * node + 1]);
            let winner = if self.times[left as usize] <= self.times[right as usize] {
                left
            } else {
                right
            };
            if self.tree[node] == winner && winner != slot {
                break;
            }
            self.tree[node] = winner;
            node >>= 1;
        }
    }

    #[inline]
    pub(crate) fn due(&self, slot: u32) -> Ticks {
        self.times[slot as usize]
    }

    #[inline]
    pub(crate) fn first(&self) -> (u32, Ticks) {
        let slot = self.tree[1];
        (slot, self.times[slot as usize])
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
                queue.set(slot, at);
                plain[slot as usize] = at;
                let least = *plain.iter().min().unwrap();
                let (first, when) = queue.first();
                prop_assert_eq!(when, least);
                prop_assert_eq!(plain.iter().position(|t| *t == least).unwrap(), first as usize);
            }
        }
    }
}
