//! What is planned although it reads otherwise is said.

use super::*;

fn only_note(book: &Book, code: &str) -> Problem {
    let plan = plan(book);
    let own = |note: &&Problem| note.code == code;
    let notes: Vec<&Problem> = plan.notes.iter().filter(own).collect();
    assert_eq!(notes.len(), 1, "{:?}", plan.notes);
    notes[0].clone()
}

#[test]
fn a_promise_by_a_day_that_the_week_has_not_is_said_to_end_with_the_week() {
    let mut book = plant();
    book.orders.push(OrderRow {
        due_day: Some(7),
        ..ordered("P7", 0)
    });
    let note = only_note(&book, "orders/due-after-the-week");
    assert_eq!(note.column.as_deref(), Some("due_day"));
    assert!(note.mend.contains("up to 5"), "{}", note.mend);
}

#[test]
fn a_promise_by_a_place_beyond_the_cars_is_said_to_ask_nothing() {
    let mut book = plant();
    book.orders.push(OrderRow {
        due_place: Some(9_000),
        ..ordered("P9", 0)
    });
    let note = only_note(&book, "orders/due-beyond-the-week");
    assert!(note.found.contains("100 cars"), "{}", note.found);
}

#[test]
fn a_week_that_neither_builds_nor_orders_name_is_said_to_have_the_usual_cars() {
    let mut book = plant();
    let usual = plan(&book);
    assert!(
        usual
            .notes
            .iter()
            .all(|note| !note.code.ends_with("week-not-named"))
    );
    book.builds.push(book::Build {
        at: at(Table::Builds, 0),
        week: 4,
        product: "long".into(),
        cars: 20.0,
    });
    let note = only_note(&book, "products/week-not-named");
    assert!(
        note.expected.contains("the last being 4"),
        "{}",
        note.expected
    );
}

#[test]
fn a_rule_that_lets_no_car_have_what_some_have_is_said_with_the_smallest_change() {
    let note = only_note(&with_rule(plant(), 0, 3, false), "options/never-allowed");
    assert_eq!(note.column.as_deref(), Some("at_most"));
    assert!(note.found.contains("25 cars"), "{}", note.found);
    assert!(note.mend.starts_with("write 1"), "{}", note.mend);
}
