//! What an order is planned with although it reads otherwise: notes.

use std::collections::BTreeSet;

use book::{OrderRow, Problem, Severity};

use super::model::RuleFrom;
use super::rules::Spacing;
use super::week::{Car, Week};
use super::{Question, ask, told};
use crate::sheet::problem;

/// All that can be said before an order is planned.
pub(super) fn noted(question: &Question<'_>, week: &Week, rules: &[Spacing]) -> Vec<Problem> {
    let mut notes: Vec<Problem> = unnamed_week(question).into_iter().collect();
    notes.extend(back_too_late(question, week));
    let own = question.book.orders.iter();
    for row in own.filter(|row| row.week == question.week) {
        notes.extend(due_after_the_week(row, question.days));
        notes.extend(due_beyond_the_cars(row, week.cars.len()));
    }
    let never = rules.iter().filter(|rule| rule.at_most == 0);
    notes.extend(never.filter_map(|rule| never_allowed(question, week, rule)));
    notes
}

fn note(found: String, expected: String, mend: String, rest: Problem) -> Problem {
    Problem {
        severity: Severity::Note,
        found,
        expected,
        mend,
        ..rest
    }
}

/// A week that the book names nowhere, where it names others.
fn unnamed_week(question: &Question<'_>) -> Option<Problem> {
    let (book, week) = (question.book, question.week);
    let built = book.builds.iter().map(|row| row.week);
    let named: BTreeSet<u32> = built
        .chain(book.orders.iter().map(|row| row.week))
        .collect();
    if named.contains(&week) || (named.is_empty() && week == 1) {
        return None;
    }
    let at = book.products.first()?.at;
    Some(note(
        format!("week {week}, which neither builds nor orders name: its cars are cars_per_week"),
        match named.last() {
            Some(last) => format!("a week that they name, the last being {last}"),
            None => "week 1, as neither names any".into(),
        },
        format!("ask for a week that is planned, or give week {week} its cars in builds"),
        problem("week-not-named", at, Some("cars_per_week")),
    ))
}

/// Cars on hold that would come back after the week's last working day.
fn back_too_late(question: &Question<'_>, week: &Week) -> Vec<Problem> {
    let (book, days) = (question.book, question.days);
    let rows = week.held.iter().map(|held| &book.orders[held.order]);
    let late = rows.filter_map(|row| {
        let day = row.back_day?;
        Some(note(
            format!("day {day} of a week of {days} working days: it stays out of the week"),
            format!("a working day from 1 to {days}, or none"),
            format!("write a day up to {days}, or empty back_day and order it next week"),
            problem("back-after-the-week", row.at, Some("back_day")),
        ))
    });
    late.collect()
}

/// A promise by a day that the week has not.
fn due_after_the_week(row: &OrderRow, days: u32) -> Option<Problem> {
    let day = row.due_day.filter(|day| *day > days)?;
    Some(note(
        format!(
            "day {day} of a week of {days} working days: {} is promised by the end of the week",
            row.order
        ),
        format!("a working day from 1 to {days}, or none"),
        format!("write a day up to {days}, or empty due_day"),
        problem("due-after-the-week", row.at, Some("due_day")),
    ))
}

/// A promise by a place that the week has not.
fn due_beyond_the_cars(row: &OrderRow, cars: usize) -> Option<Problem> {
    let place = row.due_place.filter(|place| *place as usize > cars)?;
    Some(note(
        format!(
            "place {place} in a week of {}: any place keeps the promise of {}",
            told::cars(cars),
            row.order
        ),
        format!("a place from 1 to {cars}, or none"),
        format!("write a place up to {cars}, or empty due_place"),
        problem("due-beyond-the-week", row.at, Some("due_place")),
    ))
}

/// A rule that lets no car have the option, though some have it.
fn never_allowed(question: &Question<'_>, week: &Week, rule: &Spacing) -> Option<Problem> {
    let RuleFrom::Given { at } = rule.from else {
        return None;
    };
    let concerned = |car: &&Car| ask::concerns(question.book, rule, car);
    let cars = week.cars.iter().filter(concerned).count();
    (cars > 0).then(|| {
        note(
            format!(
                "none in every {} may have `{}`, and {} of the week {} it: each breaks the rule",
                rule.in_every,
                rule.option,
                told::cars(cars),
                if cars == 1 { "has" } else { "have" }
            ),
            "a rule that some order can keep".into(),
            "write 1 in at_most, or take the option off these cars".into(),
            problem("never-allowed", at, Some("at_most")),
        )
    })
}

/// A rule that no car of the week comes under.
pub(super) fn option_of_no_class(rule: &Spacing) -> Option<Problem> {
    let RuleFrom::Given { at } = rule.from else {
        return None;
    };
    Some(note(
        format!("a rule for `{}`, which no car of the week has", rule.option),
        "an option that some car has".into(),
        "empty at_most and in_every, or order a car with it".into(),
        problem("option-of-no-car", at, Some("option")),
    ))
}
