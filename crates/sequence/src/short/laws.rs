//! Looking up gives what counting gives.

use proptest::prelude::*;

use super::Tables;
use super::pick::{pick, step};
use super::row::ShortRow;
use crate::evaluate;
use crate::model::{Colours, Force, Goals, Level, Problem};
use crate::start;
use crate::stream::Stream;
use crate::tests::changes::problems;

/// Longer rows of spacing rules alone, all as dear, none with a long window.
fn short_problems() -> impl Strategy<Value = Problem> {
    (problems(), 1_u32..4, prop::option::of(1_u32..4)).prop_map(|(mut problem, times, weight)| {
        for class in &mut problem.classes {
            class.count *= times;
            class.colour = None;
        }
        for rule in &mut problem.rules {
            rule.in_every = rule.in_every.min(7);
            rule.at_most = rule.at_most.min(rule.in_every);
            rule.force = weight.map_or(Force::Hard, Force::Soft);
        }
        problem.colours = Colours::default();
        problem.level = Level::default();
        problem.promises.clear();
        problem.holds.clear();
        problem.goals = Goals::Weighted;
        problem
    })
}

fn sorted(cars: &[u16]) -> Vec<u16> {
    let mut cars = cars.to_vec();
    cars.sort_unstable();
    cars
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    #[test]
    fn a_change_that_is_looked_up_adds_what_counting_anew_gives(
        problem in short_problems(),
        seed in any::<u64>(),
        allowed in prop::sample::select(vec![0, 1, 1_000]),
    ) {
        let checked = problem.check().unwrap();
        let plan = &checked.plan;
        let mut stream = Stream::keyed(seed, 0);
        let cars = start::greedy(plan, &mut stream);
        let Some(tables) = Tables::new(plan) else {
            // No rule that any order could break, or too few cars for it.
            prop_assert!(plan.rules.iter().all(|rule| rule.in_every == 1));
            return Ok(());
        };
        if plan.len - plan.free < 2 {
            return Ok(());
        }
        let mut row = ShortRow::new(plan, &tables, &cars);
        let anew = |row: &ShortRow<'_>| ShortRow::new(plan, &tables, row.cars());
        let rule = &plan.rules[0];
        for _ in 0..120 {
            let before = row.breaks;
            let Some(change) = pick(&row, &mut stream) else {
                continue;
            };
            let mut freely = row.clone();
            let can_be_judged = freely.try_out(change, 1_000_000);
            let within = freely.breaks - before <= i64::from(allowed);
            let made = row.try_out(change, allowed);
            prop_assert_eq!(made, can_be_judged && within);
            let counted = evaluate::cost(plan, row.cars())[rule.tier] / rule.price;
            prop_assert_eq!(row.breaks, counted, "{:?}", change);
            prop_assert!(made || counted == before);
            prop_assert!(counted - before <= i64::from(allowed));
            prop_assert_eq!(&row.cars()[..plan.free], &plan.fixed[..]);
            // Some changes in a row, up to the first that is made.
            let before = row.breaks;
            let swept = step(&mut row, &mut stream, allowed);
            let counted = evaluate::cost(plan, row.cars())[rule.tier] / rule.price;
            prop_assert_eq!(row.breaks, counted);
            prop_assert!(swept.made || counted == before);
            prop_assert!(counted - before <= i64::from(allowed));
        }
        prop_assert_eq!(sorted(row.cars()), sorted(&cars));
        prop_assert_eq!(format!("{:?}", anew(&row)), format!("{row:?}"));
    }
}
