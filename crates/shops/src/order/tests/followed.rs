//! What whoever waits for an order is told.

use std::sync::Mutex;

use units::SoFar;

use super::*;
use crate::follow::Progress;

/// All that is told while a book's week is planned, and the plan.
fn followed(book: &Book) -> (Vec<Progress>, BuildOrder) {
    let told = Mutex::new(Vec::new());
    let watch = Watch {
        progress: &|at| told.lock().unwrap().push(at.clone()),
        ..Watch::none()
    };
    let plan = asked(book, 1, |question| order(question, &watch)).unwrap();
    (told.into_inner().unwrap(), plan)
}

fn value(best: &[SoFar], what: &str) -> f64 {
    let one = best.iter().find(|one| one.what == what);
    one.unwrap_or_else(|| panic!("{what} is not among {best:?}"))
        .value
}

#[test]
fn who_waits_for_an_order_is_told_its_breaks_and_changes_of_colour_as_it_gets_better() {
    // One tow bar in eight where one in four has it: every order breaks that.
    let (told, plan) = followed(&with_rule(plant(), 1, 8, false));
    let last = &told.last().unwrap().best;
    let runs = value(last, "runs of cars past a rule");
    assert_eq!(runs, plan.sums.runs_past as f64);
    assert!(runs > 0.0);
    assert_eq!(
        value(last, "changes of colour"),
        plan.colours.changes as f64
    );
    let bests: Vec<&[SoFar]> = told.iter().map(|at| at.best.as_slice()).collect();
    let first = bests.iter().find(|best| !best.is_empty()).unwrap();
    assert!(value(first, "runs of cars past a rule") >= runs);
    assert!(
        told.is_sorted_by_key(|at| at.done),
        "what is done stays done"
    );
    assert!(told.iter().all(|at| at.done <= at.of));
    let pricing = told
        .iter()
        .filter(|at| at.doing.starts_with("pricing the rules"));
    assert!(pricing.clone().count() > 2);
    for at in pricing {
        assert_eq!(&at.best, last, "an order without a rule is no order found");
    }
}

#[test]
fn goals_in_strict_order_tell_the_rules_given_apart_from_those_of_stations() {
    // A station gives the rule for tow bars; that for rails is the planner's.
    let mut book = plant();
    (book.options[1].at_most, book.options[1].in_every) = (Some(1), Some(3));
    book.plant.order_goals.value = book::OrderGoals::Strict;
    let (told, _) = followed(&book);
    let whats: Vec<&str> = told
        .last()
        .unwrap()
        .best
        .iter()
        .map(|one| one.what.as_str())
        .collect();
    let given = whats
        .iter()
        .position(|what| *what == "runs of cars past a rule given");
    let stations = whats
        .iter()
        .position(|what| *what == "runs of cars past a rule of a station");
    assert!(given.is_some() && given < stations, "{whats:?}");
}

#[test]
fn cars_that_cannot_keep_their_promise_are_told_of_while_they_are_brought_forward() {
    let mut book = plant();
    for row in 0..2 {
        book.orders.push(OrderRow {
            due_place: Some(1),
            must: false,
            ..ordered(&format!("L{row}"), row)
        });
    }
    let (told, plan) = followed(&book);
    let last = told.last().unwrap();
    assert_eq!(last.doing, "bringing late cars forward");
    assert_eq!(
        value(&last.best, "cars behind their promise"),
        f64::from(plan.sums.late)
    );
    assert_eq!(plan.sums.wishes_late, plan.sums.late);
    assert_eq!(plan.sums.late, 1);
}
