//! Cars on hold and promises that cannot be kept.

use super::*;

#[test]
fn a_car_on_hold_stays_out_and_comes_back_from_its_day_on() {
    let mut book = plant();
    for (row, back) in [(0, None), (1, Some(4))] {
        let mut order = ordered(&format!("H{row}"), row);
        (order.on_hold, order.back_day) = (true, back);
        book.orders.push(order);
    }
    let plan = plan(&book);
    assert_eq!(plan.places.len(), 100);
    assert_eq!(plan.on_hold[0].place, None);
    // three of five days are 60 cars
    assert_eq!(plan.on_hold[1].back_from, Some(61));
    assert!(plan.on_hold[1].place.unwrap() >= 61);
}

/// Twenty short vans ordered by name, every other one with a tow bar that may
/// stand once in two; those without are on hold from a day on.
pub(super) fn half_held(back_day: Option<u32>) -> Book {
    let mut book = with_rule(plant(), 1, 2, false);
    book.plant.derived_rules.value = false;
    book.plant.level_weight.value = 0;
    (book.cycles, book.colours) = (Vec::new(), Vec::new());
    book.products[0].cars_per_week = PerWeek(20.0);
    book.products[1].cars_per_week = PerWeek(0.0);
    for row in 0..20 {
        let mut order = ordered(&format!("N{row}"), row);
        if row % 2 == 0 {
            order.options = vec!["tow bar".into()];
        } else if back_day.is_some() {
            (order.on_hold, order.back_day) = (true, back_day);
        }
        book.orders.push(order);
    }
    book
}

#[test]
fn cars_back_before_the_first_place_cost_nothing_and_prove_nothing_false() {
    let plan = plan(&half_held(Some(1)));
    let rule = &plan.rules[0];
    assert!(rule.broken_at.is_empty() && rule.at_least == 0);
    assert!(plan.proof.clash.is_empty(), "{:?}", plan.proof.clash);
    assert_eq!(plan.proof.without_break, "found");
    assert_eq!(plan.places, self::plan(&half_held(None)).places);
}

#[test]
fn cars_back_after_the_first_day_are_searched_for_with_all_others() {
    // the first day's four places take cars with tow bars: three runs of two
    // break the rule, the cars behind can be set right
    let plan = plan(&half_held(Some(2)));
    assert_eq!(plan.rules[0].broken_at, [1, 2, 3]);
    let early = |held: &Held| held.place < held.back_from;
    assert!(!plan.on_hold.iter().any(early) && plan.holds);
}

#[test]
fn where_every_car_is_on_hold_what_must_hold_is_said_to_be_broken() {
    let mut book = half_held(None);
    for order in &mut book.orders {
        (order.on_hold, order.back_day) = (true, Some(3));
    }
    let plan = plan(&book);
    let early = |held: &&Held| held.place < held.back_from;
    assert_eq!(plan.on_hold.iter().filter(early).count(), 8);
    assert!(!plan.holds);
    assert_eq!(plan.proof.without_break, "impossible");
}

#[test]
fn a_car_that_comes_back_after_the_last_working_day_stays_out_of_the_week() {
    let mut book = plant();
    let mut order = ordered("H0", 0);
    (order.on_hold, order.back_day) = (true, Some(7));
    book.orders.push(order);
    let plan = plan(&book);
    assert_eq!(
        (plan.on_hold[0].back_from, plan.on_hold[0].place),
        (None, None)
    );
    assert!(plan.places.iter().all(|car| car.order.is_none()));
}

#[test]
fn a_car_that_must_miss_its_promise_misses_it_by_as_little_as_the_rule_allows() {
    // Three tow bars within five places where one may stand in three: the third
    // comes two places late, at 7.
    let mut book = with_rule(plant(), 1, 3, true);
    (book.cycles, book.colours) = (Vec::new(), Vec::new());
    for row in 0..3 {
        let mut order = ordered(&format!("L{row}"), row);
        order.options = vec!["tow bar".into()];
        (order.due_place, order.must) = (Some(5), false);
        book.orders.push(order);
    }
    let plan = plan(&book);
    let late: Vec<u32> = plan
        .promises
        .iter()
        .filter(|promise| !promise.kept)
        .filter_map(|promise| promise.place)
        .collect();
    assert_eq!(late, [7]);
    let goal = |goal: &&GoalProof| goal.goal.contains("late");
    let goal = plan.proof.goals.iter().find(goal).unwrap();
    assert_eq!(goal.value, 2.0);
}
