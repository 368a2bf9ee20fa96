//! Laws that every answer keeps, against plain enumeration of small cases.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test that cannot go on stops where it stands"
)]

mod again;
mod cell;
mod cost;
mod line;
mod plain;
mod robots;
mod robots_small;

use balance::{Limits, Work};
use proptest::prelude::*;

const LIMITS: Limits = Limits {
    memory_mb: 50,
    steps: None,
};

/// Work of a few tasks, each after some of those before it in the list.
fn work(tasks: std::ops::Range<usize>, longest: u32) -> impl Strategy<Value = Work> {
    tasks.prop_flat_map(move |n| {
        (
            prop::collection::vec(1..=longest, n),
            prop::collection::vec(any::<u16>(), n),
        )
            .prop_map(|(ticks, links)| Work {
                after: links
                    .iter()
                    .enumerate()
                    .map(|(task, bits)| {
                        // About one earlier task in four.
                        (0..task)
                            .filter(|before| bits >> (before % 8 * 2) & 3 == 0)
                            .collect()
                    })
                    .collect(),
                ticks,
            })
    })
}

/// All orders of some things.
fn orders<T: Copy>(things: &[T]) -> Vec<Vec<T>> {
    if things.is_empty() {
        return vec![Vec::new()];
    }
    let mut all = Vec::new();
    for first in 0..things.len() {
        let mut rest = things.to_vec();
        let chosen = rest.remove(first);
        for mut order in orders(&rest) {
            order.insert(0, chosen);
            all.push(order);
        }
    }
    all
}
