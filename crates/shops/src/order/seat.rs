//! Cars to the places of their classes, and cars back from hold.

use std::collections::VecDeque;

use sequence::evaluate;

use super::ask::{Asked, asked};
use super::rules::Spacing;
use super::week::Car;

/// The car at each place: frozen cars in their own, of cars that are alike the
/// one promised first.
pub(super) fn seated(cars: &[&Car], asked: &Asked, order: &[usize]) -> Vec<usize> {
    let mut frozen: Vec<(u32, usize)> = (0..cars.len())
        .filter_map(|car| Some((cars[car].frozen?, car)))
        .collect();
    frozen.sort_unstable();
    let mut free: Vec<usize> = (0..cars.len())
        .filter(|car| cars[*car].frozen.is_none())
        .collect();
    free.sort_by_key(|at| {
        let car = cars[*at];
        // a must before a wish, then by the date, orders before fillers
        (
            !(car.must && car.due.is_some()),
            car.due.unwrap_or(u32::MAX),
            car.order.unwrap_or(usize::MAX),
            *at,
        )
    });
    let mut queues: Vec<VecDeque<usize>> = vec![VecDeque::new(); asked.problem.classes.len()];
    for car in free {
        queues[asked.class_of[car]].push_back(car);
    }
    let first = frozen.iter().map(|(_, car)| *car);
    let rest = order[frozen.len()..].iter();
    first
        .chain(rest.filter_map(|class| queues[*class].pop_front()))
        .collect()
}

/// Puts the cars back from hold where each costs least, one after the other.
pub(super) fn put_back(
    book: &book::Book,
    cars: &[Car],
    rules: &[Spacing],
    mut order: Vec<usize>,
) -> Vec<usize> {
    let back = (0..cars.len()).filter(|car| cars[*car].back.is_some());
    let frozen = cars.iter().filter(|car| car.frozen.is_some()).count();
    for car in back {
        let from = cars[car].back.map_or(0, |place| place as usize - 1);
        let from = from.max(frozen).min(order.len());
        let mut all = order.clone();
        all.push(car);
        let these: Vec<&Car> = all.iter().map(|car| &cars[*car]).collect();
        let asked = asked(book, &these, rules);
        let Ok(checked) = asked.problem.check() else {
            // Its own promise cannot be kept; it still comes back.
            order.insert(from, car);
            continue;
        };
        let new = asked.class_of[order.len()];
        let cost = |place: usize| {
            let mut classes = asked.class_of[..order.len()].to_vec();
            classes.insert(place, new);
            evaluate(&checked, &classes)
                .ok()
                .map(|tally| (tally.cost, place))
        };
        let best = (from..=order.len()).filter_map(cost).min();
        order.insert(best.map_or(from, |(_, place)| place), car);
    }
    order
}
