//! What no order keeps together, by the book's own names.

use std::collections::BTreeSet;

use book::Book;
use sequence::Requirement;

use super::ask::Asked;
use super::rules::Spacing;
use super::week::Car;
use super::wrong;

/// The requirements that clash, in words: rules, orders with their places,
/// colours, cars on hold, what stands before the week and what is frozen.
pub(super) fn told(
    (book, rules): (&Book, &[Spacing]),
    (cars, asked): (&[&Car], &Asked),
    clash: &[Requirement],
) -> Vec<String> {
    let problem = &asked.problem;
    let promises = wrong::promised_orders(book, cars, asked);
    let told = |of: &Requirement| match *of {
        Requirement::Rule(rule) => rules[asked.rule_of[rule]].told(),
        Requirement::LongestBlock(colour) => {
            let of = problem.classes.iter().filter(|one| one.colour == colour);
            let count: u32 = of.map(|class| class.count).sum();
            let name = colour.map_or("no colour", |at| problem.colours.names[at].as_str());
            format!(
                "longest block: no more than {} of {name} in a row, {count} of {} cars",
                problem.colours.max_block.unwrap_or(0),
                problem.cars()
            )
        }
        Requirement::Promise(promise) => {
            let within = problem.promises[promise].within;
            let places = if within == 1 { "place" } else { "places" };
            let orders = wrong::promise_of(&promises[promise]);
            format!("{orders} within {within} {places}")
        }
        Requirement::Hold(hold) => {
            let hold = &problem.holds[hold];
            let of = cars.iter().zip(&asked.class_of);
            let until = |car: &Car| car.back.is_some_and(|back| back > hold.until);
            let held = of.filter(|(car, class)| **class == hold.class && until(car));
            let names: Vec<&str> = held
                .filter_map(|(car, _)| Some(book.orders[car.order?].order.as_str()))
                .collect();
            format!(
                "on hold until place {}: {}",
                hold.until,
                wrong::listed(&names)
            )
        }
        Requirement::Previous => "the cars built before".to_owned(),
        Requirement::Frozen => match problem.frozen.len() {
            1 => "the frozen place".to_owned(),
            places => format!("the {places} frozen places"),
        },
    };
    clash.iter().map(told).collect()
}

/// The orders whose promise is among what clashes.
pub(super) fn promised(
    book: &Book,
    (cars, asked): (&[&Car], &Asked),
    clash: &[Requirement],
) -> BTreeSet<String> {
    let promises = clash.iter().filter_map(|of| match *of {
        Requirement::Promise(promise) => Some(&asked.promised[promise]),
        _ => None,
    });
    let orders = promises.flatten().filter_map(|car| cars[*car].order);
    orders.map(|at| book.orders[at].order.clone()).collect()
}

#[cfg(test)]
mod tests {
    use book::{Book, OrderRow};

    use super::super::tests::{ordered, plan, plant};

    fn promised(book: &mut Book, names: &[&str], option: &str, within: u32) {
        for name in names {
            let row = book.orders.len();
            book.orders.push(OrderRow {
                options: vec![option.into()],
                colour: Some("white".into()),
                due_place: Some(within),
                ..ordered(name, row)
            });
        }
    }

    #[test]
    fn promises_that_two_rules_forbid_together_are_told_with_both_and_the_orders() {
        let mut book = plant();
        book.cycles.clear();
        book.options[1].share.0 = 0.2;
        for (row, (at_most, in_every)) in [(1, 2), (1, 3)].into_iter().enumerate() {
            let option = &mut book.options[row];
            (option.at_most, option.in_every) = (Some(at_most), Some(in_every));
            option.must = true;
        }
        promised(&mut book, &["T0", "T1", "T2"], "tow bar", 5);
        promised(&mut book, &["R0", "R1"], "rails", 5);
        let plan = plan(&book);
        assert!(!plan.holds);
        assert_eq!(plan.proof.without_break, "impossible");
        let told = plan.proof.clash;
        assert_eq!(told.len(), 4, "{told:?}");
        for (at, words) in [
            (0, "tow bar"),
            (1, "rails"),
            (2, "T0, T1, T2"),
            (3, "R0, R1"),
        ] {
            assert!(told.iter().any(|one| one.contains(words)), "{at} {told:?}");
        }
        assert!(
            told.iter().any(|one| one.ends_with("within 5 places")),
            "{told:?}"
        );
    }

    #[test]
    fn a_week_of_one_colour_cannot_keep_the_longest_block_and_says_so() {
        let mut book = plant();
        book.colours.truncate(1);
        book.plant.longest_colour_block.value = Some(10);
        let plan = plan(&book);
        assert_eq!(
            plan.proof.clash,
            ["longest block: no more than 10 of white in a row, 100 of 100 cars"]
        );
    }

    #[test]
    fn cars_on_hold_that_leave_too_few_for_the_first_places_are_named() {
        let mut book = plant();
        for row in 0..60 {
            let mut order = ordered(&format!("H{row}"), row);
            (order.on_hold, order.back_day) = (true, Some(4));
            book.orders.push(order);
        }
        let plan = plan(&book);
        assert_eq!(plan.proof.without_break, "impossible");
        // Forty cars are there for sixty places.
        assert!(!plan.proof.clash.is_empty());
        for told in &plan.proof.clash {
            assert!(told.starts_with("on hold until place 60: H"), "{told}");
        }
    }
}
