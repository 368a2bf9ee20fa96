//! How late the cars come that miss their promise: of two orders with as many
//! late cars the one whose late cars wait less is better.
//!
//! The places by which a car is late are counted in steps that widen, by its
//! half each, so that a promise has some twenty steps in the longest order: a
//! car that is 1 to 4 places late counts as so many, one that is 5 or 6 as 6.

use crate::model::Promise;
use crate::plan::Due;

/// The steps of a promise, each a due place of its own behind the promised one.
pub(crate) fn steps(
    promise: &Promise,
    (tier, unit): (usize, i64),
    (first, cars): (usize, usize),
) -> Vec<Due> {
    let mut steps = Vec::new();
    let (within, mut late) = (promise.within as usize, 0);
    // At the end of the order every car is there.
    while within + late < cars {
        let wider = 1.max(late / 2);
        steps.push(Due {
            class: promise.class as u16,
            count: i64::from(promise.count),
            end: first + within + late,
            tier,
            price: wider as i64 * unit,
            held: false,
        });
        late += wider;
    }
    steps
}

#[cfg(test)]
mod tests {
    use crate::evaluate;
    use crate::model::{Class, Force, Goal, Goals, Problem, Promise};

    #[test]
    fn a_car_counts_the_places_that_it_is_late_a_little_rounded_up() {
        let class = |name: &str, count| Class {
            name: name.into(),
            count,
            options: Vec::new(),
            colour: None,
        };
        let problem = Problem {
            classes: vec![class("plain", 40), class("promised", 1)],
            promises: vec![Promise {
                class: 1,
                count: 1,
                within: 5,
                force: Force::Soft(7),
            }],
            goals: Goals::Ordered(vec![vec![Goal::Promises], vec![Goal::Lateness]]),
            ..Problem::empty()
        };
        let checked = problem.check().unwrap();
        let at = |place: usize| {
            let mut order = vec![0; 41];
            order[place - 1] = 1;
            evaluate(&checked, &order).unwrap().cost.0
        };
        assert_eq!(at(5)[1..3], [0, 0]);
        let late = [(6, 1), (7, 2), (8, 3), (9, 4), (10, 6), (11, 6), (12, 9)];
        for (place, steps) in late {
            assert_eq!(at(place)[1..3], [7, steps]);
        }
        // 36 places late lie in the step that ends with 42
        assert_eq!(at(41)[1..3], [7, 42]);
    }
}
