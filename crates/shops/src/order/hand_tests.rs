//! The order under the planner's hand.

use proptest::prelude::*;

use super::tests::{asked, ordered, plan, plant, with_rule};
use super::*;

fn hand(book: &Book) -> (BuildOrder, ByHand) {
    let planned = plan(book);
    let ready = asked(book, 1, |question| ByHand::new(question, planned.clone()));
    match ready {
        Ok(ready) => (planned, ready),
        Err(problems) => panic!("{problems:?}"),
    }
}

fn moved(from: u32, cars: u32, to: u32) -> HandMove {
    HandMove { from, cars, to }
}

#[test]
fn an_untouched_order_is_the_planned_one() {
    let (planned, ready) = hand(&with_rule(plant(), 1, 3, false));
    let told = ready.moved(&[]).unwrap();
    assert_eq!(told.planned_places, (1..=100).collect::<Vec<u32>>());
    assert_eq!(told.rules, planned.rules);
    assert_eq!(told.sums, planned.sums);
    assert_eq!(told.colours, planned.colours);
    assert_eq!(told.level, planned.level);
    assert_eq!(told.stations, planned.stations);
    for (goal, planned) in told.goals.iter().skip(1).zip(&planned.proof.goals) {
        assert_eq!(goal.goal, planned.goal);
        assert!((goal.value - planned.value).abs() < 1e-6);
        assert_eq!(goal.value, goal.planned);
    }
    assert_eq!(ready.build_order(&[]).unwrap().places, planned.places);
}

#[test]
fn a_car_put_before_it_comes_back_from_hold_breaks_what_must_hold() {
    let mut book = plant();
    let mut order = ordered("H0", 0);
    (order.on_hold, order.back_day) = (true, Some(4));
    book.orders.push(order);
    let (planned, ready) = hand(&book);
    let place = planned.on_hold[0].place.unwrap();
    assert!(place > 60 && planned.broken.is_empty());
    let told = ready.moved(&[moved(place, 1, 2)]).unwrap();
    assert_eq!((told.goals[0].planned, told.goals[0].value), (0.0, 1.0));
    assert!(!told.holds);
    assert!(
        told.broken[0].contains("H0 at 2 instead of 61"),
        "{:?}",
        told.broken
    );
}

#[test]
fn a_place_that_is_none_is_refused_with_those_there_are() {
    let (_, ready) = hand(&plant());
    for wrong in [moved(0, 1, 5), moved(5, 1, 0), moved(101, 1, 5)] {
        let fault = ready.moved(&[wrong]).unwrap_err();
        assert_eq!(fault.place, "move 1");
        assert_eq!(fault.expected, "a place from 1 to 100", "{fault}");
    }
    assert!(ready.places_for(&[], 0, 1).is_err());
}

#[test]
fn a_car_put_amid_a_block_of_another_colour_costs_two_changes() {
    let (planned, ready) = hand(&plant());
    let blocks = &planned.colours.blocks;
    let long = blocks.iter().find(|block| block.cars > 3).unwrap();
    // the first or the last car of the order, whichever is outside of it
    let from = if long.place == 1 { 100 } else { 1 };
    let ends = |block: &Block| block.place <= from && from < block.place + block.cars;
    let own = blocks.iter().find(|block| ends(block)).unwrap();
    if own.colour == long.colour || own.cars == 1 {
        return;
    }
    let to = long.place + 1;
    let told = ready.moved(&[moved(from, 1, to)]).unwrap();
    assert_eq!(told.colours.changes, planned.colours.changes + 2);
    let all: f64 = told.steps[0].changes.iter().sum();
    assert!(all > 0.0, "{:?}", told.steps);
}

#[test]
fn moves_and_the_way_back_leave_the_planned_order() {
    let (_, ready) = hand(&with_rule(plant(), 1, 3, false));
    let told = ready.moved(&[moved(10, 5, 60), moved(60, 5, 10)]).unwrap();
    assert_eq!(told.planned_places, (1..=100).collect::<Vec<u32>>());
    for goal in &told.goals {
        assert!((goal.value - goal.planned).abs() < 1e-9);
    }
}

#[test]
fn frozen_cars_cannot_be_moved_and_the_fault_names_the_move() {
    let mut book = plant();
    let mut first = ordered("W-1", 0);
    first.frozen_place = Some(1);
    book.orders.push(first);
    let (_, ready) = hand(&book);
    let fault = ready.moved(&[moved(2, 1, 3), moved(1, 1, 4)]).unwrap_err();
    assert_eq!(fault.place, "move 2");
    assert!(fault.found.contains("frozen"), "{}", fault.found);
    assert!(ready.moved(&[moved(0, 1, 4)]).is_err(), "places begin at 1");
}

#[test]
fn a_promise_that_must_be_kept_and_is_moved_behind_its_place_does_not_hold() {
    let mut book = plant();
    let mut soon = ordered("W-7", 0);
    soon.due_place = Some(20);
    book.orders.push(soon);
    let (planned, ready) = hand(&book);
    assert!(planned.holds);
    let at = planned.promises[0].place.unwrap();
    let told = ready.moved(&[moved(at, 1, 90)]).unwrap();
    assert!(!told.holds);
    assert!(!told.promises[0].kept);
    let whole = ready.build_order(&[moved(at, 1, 90)]).unwrap();
    assert!(!whole.holds);
    assert_eq!(whole.by_hand, 1);
    assert_eq!(whole.places[89].order.as_deref(), Some("W-7"));
    assert!(
        whole.costs.is_empty(),
        "they are prices of the planned order"
    );
}

#[test]
fn the_best_place_for_a_car_that_was_moved_away_is_where_it_was_or_as_good() {
    let (planned, ready) = hand(&with_rule(plant(), 1, 3, false));
    let away = [moved(5, 1, 80)];
    let there = ready.moved(&away).unwrap();
    let found = ready.places_for(&away, 80, 1).unwrap();
    let Some(best) = found.better.first() else {
        // nothing was lost by the move
        assert!(there.steps[0].changes.iter().all(|change| *change <= 0.0));
        return;
    };
    let back = ready.moved(&[away[0], moved(80, 1, *best)]).unwrap();
    let value = |order: &HandOrder| -> f64 { order.goals.iter().map(|goal| goal.value).sum() };
    assert!(value(&back) <= planned_value(&there) + 1e-9);
    assert_eq!(found.changes.len(), planned.places.len());

    fn planned_value(order: &HandOrder) -> f64 {
        order.goals.iter().map(|goal| goal.planned).sum()
    }
}

#[test]
fn an_order_of_another_book_is_refused() {
    let planned = plan(&plant());
    let mut other = plant();
    other.products[0].cars_per_week.0 = 61.0;
    let refused = asked(&other, 1, |question| ByHand::new(question, planned.clone()));
    let problems = refused.err().unwrap();
    assert!(problems[0].code.contains("order-of-another-week"));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    #[test]
    fn whatever_is_moved_the_order_stays_one_of_the_same_cars(
        moves in prop::collection::vec((1_u32..101, 1_u32..20, 1_u32..101), 1..8)
    ) {
        let (planned, ready) = hand(&with_rule(plant(), 1, 3, false));
        let moves: Vec<HandMove> = moves
            .into_iter()
            .map(|(from, cars, to)| {
                let cars = cars.min(101 - from);
                moved(from, cars, to.min(101 - cars))
            })
            .collect();
        let told = ready.moved(&moves).unwrap();
        let mut places = told.planned_places.clone();
        places.sort_unstable();
        prop_assert_eq!(places, (1..=100).collect::<Vec<u32>>());
        for (at, goal) in told.goals.iter().enumerate() {
            let changes: f64 = told.steps.iter().map(|step| step.changes[at]).sum();
            prop_assert!((goal.planned + changes - goal.value).abs() < 1e-6);
        }
        let whole = ready.build_order(&moves).unwrap();
        for (car, planned_place) in whole.places.iter().zip(&told.planned_places) {
            let was = &planned.places[*planned_place as usize - 1];
            prop_assert_eq!(&car.options, &was.options);
            prop_assert_eq!(&car.colour, &was.colour);
        }
    }
}
