//! Promises of cars that are on hold or frozen, and what is said of them.

use std::sync::atomic::AtomicBool;

use super::*;

fn held(must: bool) -> Book {
    let mut book = plant();
    book.orders.push(OrderRow {
        due_day: Some(1),
        on_hold: true,
        must,
        ..ordered("H1", 0)
    });
    book
}

#[test]
fn a_promise_that_must_be_kept_of_a_car_that_stays_on_hold_is_refused() {
    let problem = only_problem(&held(true));
    assert_eq!(problem.code, "orders/promise-not-kept");
    assert_eq!(problem.column.as_deref(), Some("on_hold"));
    assert!(problem.found.contains("H1"), "{}", problem.found);
    assert_eq!(problem.mend, "have it back by day 1, or empty the promise");
}

#[test]
fn a_promise_that_may_be_late_of_a_car_that_stays_on_hold_counts_as_not_kept() {
    let plan = plan(&held(false));
    let [promise] = &plan.promises[..] else {
        panic!("{:?}", plan.promises);
    };
    assert_eq!((promise.within, promise.kept), (20, false));
    assert_eq!((promise.place, promise.place_on_line), (None, None));
    assert!(plan.holds && plan.places.iter().all(|car| car.order.is_none()));
}

#[test]
fn a_car_promised_before_it_is_back_is_told_by_days_and_places() {
    let mut book = plant();
    book.orders.push(OrderRow {
        due_day: Some(1),
        on_hold: true,
        back_day: Some(4),
        ..ordered("A1", 0)
    });
    let problem = only_problem(&book);
    assert_eq!(problem.column.as_deref(), Some("due_day"));
    assert_eq!(
        problem.found,
        "A1 is promised by day 1 (place 20) and back from day 4 (place 61)"
    );
    assert!(problem.mend.contains("back by day 1"), "{}", problem.mend);
}

fn frozen_late(must: bool) -> Book {
    let mut book = plant();
    for (row, place) in [(0, 1), (1, 2)] {
        book.orders.push(OrderRow {
            options: vec!["tow bar".into()],
            colour: Some("white".into()),
            frozen_place: Some(place),
            due_place: (place == 2).then_some(1),
            must,
            ..ordered(&format!("F{place}"), row)
        });
    }
    book
}

#[test]
fn a_promise_that_must_be_kept_of_a_car_frozen_behind_it_is_refused() {
    let problem = only_problem(&frozen_late(true));
    assert_eq!(problem.code, "orders/promise-not-kept");
    assert_eq!(problem.column.as_deref(), Some("frozen_place"));
}

#[test]
fn a_car_frozen_behind_its_promise_is_late_in_the_list_and_in_the_goal() {
    let mut book = frozen_late(false);
    book.plant.derived_rules.value = false;
    let plan = plan(&book);
    let late: Vec<_> = plan.promises.iter().filter(|one| !one.kept).collect();
    assert_eq!(late.len(), 1);
    assert_eq!((late[0].order.as_str(), late[0].place), ("F2", Some(2)));
    let given = plan.proof.goals.iter().find(|goal| goal.goal == ask::GIVEN);
    let weight = f64::from(book.plant.promise_weight.value);
    assert_eq!(given.map(|goal| goal.value), Some(weight));
    assert!(plan.holds && plan.proof.must_hold == "kept");
    for told in &plan.proof.clash {
        assert!(told.contains("F2") || told.contains("frozen"), "{told}");
    }
}

#[test]
fn only_promises_within_the_clash_are_said_to_stand_behind_it() {
    // Two tow bars by place 2 where one in three may; rails by place 1 twice.
    let mut book = with_rule(plant(), 1, 3, false);
    book.cycles.clear();
    for (row, (name, due)) in [("T0", 2), ("T1", 2)].into_iter().enumerate() {
        book.orders.push(OrderRow {
            options: vec!["tow bar".into()],
            colour: Some("white".into()),
            due_place: Some(due),
            must: false,
            ..ordered(name, row)
        });
    }
    book.orders.push(OrderRow {
        due_place: Some(90),
        must: false,
        ..ordered("L0", 2)
    });
    let plan = plan(&book);
    assert!(!plan.proof.clash.is_empty());
    let flagged: Vec<&str> = plan
        .promises
        .iter()
        .filter(|promise| promise.in_clash)
        .map(|promise| promise.order.as_str())
        .collect();
    assert_eq!(flagged.len(), 2, "{:?}", plan.promises);
    assert!(!flagged.contains(&"L0"));
}

#[test]
fn a_promise_missed_when_the_time_is_over_is_missed_by_as_little_as_one_look_gives() {
    let mut book = plant();
    book.cycles.clear();
    for row in 0..2 {
        book.orders.push(OrderRow {
            options: vec!["tow bar".into()],
            due_place: Some(1),
            must: false,
            ..ordered(&format!("L{row}"), row)
        });
    }
    let over = AtomicBool::new(true);
    let watch = Watch {
        cancel: &over,
        ..Watch::none()
    };
    let plan = asked(&book, 1, |question| order(question, &watch)).unwrap();
    assert!(!plan.proof.complete);
    let places: Vec<Option<u32>> = plan.promises.iter().map(|one| one.place).collect();
    // the second is put in first, before the first comes to stand before it
    assert!(places.iter().max() <= Some(&Some(3)), "{:?}", plan.promises);
}

#[test]
fn what_must_hold_is_proven_broken_only_by_what_must_hold() {
    let mut book = half_held(None);
    for order in &mut book.orders {
        (order.on_hold, order.back_day) = (true, Some(3));
    }
    let broken = plan(&book);
    assert_eq!(broken.proof.must_hold, "impossible");
    // a wish that no order keeps leaves what must hold as it is
    let wish = plan(&with_rule(plant(), 1, 8, false));
    assert_eq!(wish.proof.without_break, "impossible");
    assert_eq!(wish.proof.must_hold, "kept");
}
