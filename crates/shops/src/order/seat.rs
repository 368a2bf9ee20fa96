//! Cars to the places of their classes.

use super::ask::Asked;
use super::week::Car;

/// The car at each place: frozen cars in their own; of cars that are alike the
/// one promised first of those that are there by then.
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
    let mut waiting: Vec<Vec<usize>> = vec![Vec::new(); asked.problem.classes.len()];
    for car in free {
        waiting[asked.class_of[car]].push(car);
    }
    let first = frozen.iter().map(|(_, car)| *car);
    let rest = order.iter().zip(1..).skip(frozen.len());
    let next = |(class, place): (&usize, u32)| next(cars, &mut waiting[*class], place);
    first.chain(rest.filter_map(next)).collect()
}

/// Takes the first car that is there at a place; where none is, the one that
/// comes back first.
fn next(cars: &[&Car], waiting: &mut Vec<usize>, place: u32) -> Option<usize> {
    let back = |car: &usize| cars[*car].back.unwrap_or(0);
    let there = waiting.iter().position(|car| back(car) <= place);
    let at = there.or_else(|| (0..waiting.len()).min_by_key(|at| back(&waiting[*at])))?;
    Some(waiting.remove(at))
}
