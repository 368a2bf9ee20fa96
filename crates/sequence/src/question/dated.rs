//! Cars that must be built by a place of the order, and cars that are not there
//! before one.

use asked::{Cursor, Fields, Range};

use super::read::{CARS, Names, WEIGHT};
use crate::model::{Hold, MOST_CARS};
use crate::told::some;

/// Places count from 1.
const PLACES: Range = Range {
    what: "a place of the order",
    least: 1.0,
    most: MOST_CARS as f64,
};

/// A promise as it is written.
pub(super) struct PromiseAsked {
    pub(super) class: usize,
    pub(super) count: u32,
    pub(super) within: u32,
    /// None for one that must be kept.
    pub(super) weight: Option<f64>,
}

pub(super) fn promises(
    cursor: &mut Cursor,
    fields: &Fields<'_>,
    classes: &Names,
) -> Vec<PromiseAsked> {
    let mut promises = Vec::new();
    for spot in cursor.optional_list(fields, "before") {
        let Some(fields) = cursor.object(&spot, &["class", "position", "count", "weight"]) else {
            continue;
        };
        let class = cursor.required(&fields, "class");
        let class = class.and_then(|spot| cursor.named(&spot, classes, "class"));
        let within = cursor.required(&fields, "position");
        let within = within.and_then(|spot| cursor.count(&spot, &PLACES));
        let count = cursor.count_or(&fields, "count", 1, 1..=MOST_CARS as u32);
        let weight = fields
            .get("weight")
            .map(|spot| cursor.number(&spot, &WEIGHT));
        if let (Some(class), Some(within), Some(count)) = (class, within, count) {
            promises.push(PromiseAsked {
                class: class as usize,
                count,
                within: within as u32,
                weight: weight.flatten(),
            });
        }
    }
    promises
}

/// A promise for a place behind the last car is a slip: that car is built in
/// any order.
pub(super) fn within_the_order(cursor: &mut Cursor, promises: &[PromiseAsked], cars: u64) {
    for (at, promise) in promises.iter().enumerate() {
        if cars > 0 && u64::from(promise.within) > cars {
            cursor.refuse(
                format!("before[{at}].position"),
                promise.within.to_string(),
                format!(
                    "a place among the {} of the order",
                    some(cars as usize, "car")
                ),
                format!("write {cars} or less, or take the promise out"),
            );
        }
    }
}

pub(super) fn holds(cursor: &mut Cursor, fields: &Fields<'_>, classes: &Names) -> Vec<Hold> {
    let mut holds = Vec::new();
    for spot in cursor.optional_list(fields, "held") {
        let Some(fields) = cursor.object(&spot, &["class", "ready", "until"]) else {
            continue;
        };
        let class = cursor.required(&fields, "class");
        let class = class.and_then(|spot| cursor.named(&spot, classes, "class"));
        let until = cursor.required(&fields, "until");
        let until = until.and_then(|spot| cursor.count(&spot, &CARS));
        let ready = cursor.count_or(&fields, "ready", 0, 0..=MOST_CARS as u32);
        if let (Some(class), Some(until), Some(ready)) = (class, until, ready) {
            holds.push(Hold {
                class: class as usize,
                ready,
                until: until as u32,
            });
        }
    }
    holds
}
