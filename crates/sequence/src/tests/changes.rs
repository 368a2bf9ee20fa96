//! The law that all speed rests on: what a change is said to cost is what
//! counting the whole row anew gives.

use proptest::prelude::*;

use crate::cost::Cost;
use crate::evaluate;
use crate::model::{
    Class, Colours, Counted, Force, Goal, Goals, Hold, Level, Part, Problem, Promise, Rule,
};
use crate::moves::{Move, Picker};
use crate::row::Row;
use crate::start;
use crate::stream::Stream;

/// A bound that lets everything through.
const ANY: Cost = Cost([i64::MAX / 8; 5]);

/// A problem with a bit of everything.
pub(crate) fn problems() -> impl Strategy<Value = Problem> {
    let class = (
        1_u32..5,
        prop::collection::vec(any::<bool>(), 3),
        prop::option::of(0_usize..3),
    );
    let rule = (0_usize..3, 0_u32..4, 0_u32..9, prop::option::of(1_u32..4));
    (
        prop::collection::vec(class, 2..6),
        prop::collection::vec(rule, 0..5),
        any::<bool>(),
        any::<bool>(),
        (prop::option::of(1_u32..5), 0_u32..3),
        (0_u32..2, prop::collection::vec(0_u32..3, 6)),
        prop::collection::vec(
            (0_usize..2, 1_u32..3, 0_u32..12, prop::option::of(1_u32..3)),
            0..3,
        ),
        (
            prop::collection::vec(0_usize..2, 0..6),
            0_usize..3,
            any::<bool>(),
            prop::collection::vec((0_usize..2, 0_u32..3, 0_u32..10), 0..3),
        ),
    )
        .prop_map(build)
}

type Parts = (
    Vec<(u32, Vec<bool>, Option<usize>)>,
    Vec<(usize, u32, u32, Option<u32>)>,
    bool,
    bool,
    (Option<u32>, u32),
    (u32, Vec<u32>),
    Vec<(usize, u32, u32, Option<u32>)>,
    (Vec<usize>, usize, bool, Vec<(usize, u32, u32)>),
);

fn force(weight: Option<u32>) -> Force {
    weight.map_or(Force::Hard, Force::Soft)
}

fn goals(ordered: bool, rules: usize) -> Goals {
    if !ordered {
        return Goals::Weighted;
    }
    Goals::Ordered(vec![
        (0..rules).map(Goal::Rule).collect(),
        vec![Goal::Colours, Goal::Lateness],
        vec![Goal::Level, Goal::Promises],
    ])
}

fn build((classes, rules, windows, past_end, colours, level, promises, rest): Parts) -> Problem {
    let (previous, frozen, ordered, holds) = rest;
    let class = |(n, (count, options, colour))| Class {
        name: format!("c{n}"),
        count,
        options,
        colour,
    };
    let classes: Vec<Class> = classes.into_iter().enumerate().map(class).collect();
    let rule = |(option, at_most, more, weight): (usize, u32, u32, Option<u32>)| Rule {
        option,
        at_most,
        in_every: (at_most + more).max(1),
        force: force(weight),
    };
    let rules: Vec<Rule> = rules.into_iter().map(rule).collect();
    let promise = |(class, count, within, weight): (usize, u32, u32, Option<u32>)| Promise {
        class,
        count: count.min(classes[class].count),
        within,
        force: Force::Soft(weight.unwrap_or(1)),
    };
    let promises = promises.into_iter().map(promise).collect();
    let hold = |(class, ready, until): (usize, u32, u32)| Hold {
        class,
        ready,
        until,
    };
    let frozen = (0..frozen).filter(|n| classes[n % 2].count as usize > n / 2);
    let frozen = frozen.map(|n| n % 2).collect();
    Problem {
        options: (0..3).map(|n| format!("o{n}")).collect(),
        counted: if windows {
            Counted::Windows
        } else {
            Counted::Excess
        },
        past_end,
        colours: Colours {
            names: (0..3).map(|n| format!("colour {n}")).collect(),
            max_block: colours.0,
            change_weight: colours.1,
        },
        level: Level {
            weight: level.0,
            parts: vec![Part {
                name: "part".into(),
                per_car: classes.iter().zip(level.1).map(|(_, n)| n).collect(),
            }],
        },
        promises,
        holds: holds.into_iter().map(hold).collect(),
        goals: goals(ordered, rules.len()),
        classes,
        rules,
        previous,
        frozen,
        slots: None,
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    #[test]
    fn what_a_change_is_said_to_cost_is_what_counting_anew_gives(
        problem in problems(),
        seed in any::<u64>(),
    ) {
        let checked = problem.check().unwrap();
        let plan = &checked.plan;
        let mut stream = Stream::keyed(seed, 0);
        let mut row = Row::new(plan, start::greedy(plan, &mut stream));
        prop_assert_eq!(row.cars.len(), plan.len);
        if plan.len - plan.free < 2 {
            return Ok(());
        }
        let mut picker = Picker::new(plan);
        for _ in 0..60 {
            let before = row.cost;
            let change = match picker.pick(&row, &mut stream) {
                Move::None => continue,
                Move::Swap(i, j) => {
                    let change = row.swap_change(i, j, &ANY).unwrap();
                    row.swap(i, j, &change);
                    change
                }
                Move::Cut(cut) => {
                    let change = row.cut_change(&cut, &ANY).unwrap();
                    row.cut(&cut, &change);
                    change
                }
            };
            let full = evaluate::cost(plan, &row.cars);
            prop_assert_eq!(full, row.cost);
            prop_assert_eq!(full - before, change);
            prop_assert_eq!(&row.cars[..plan.free], &plan.fixed[..]);
            // Level use that was let be for a while is counted when it is minded.
            let mut later = row.clone();
            later.mind_level(false);
            let (i, j) = (plan.free, plan.len - 1);
            if let Some(change) = later.swap_change(i, j, &ANY) {
                later.swap(i, j, &change);
            }
            later.mind_level(true);
            prop_assert_eq!(later.cost, evaluate::cost(plan, &later.cars));
            let mut anew = row.clone();
            anew.recount();
            prop_assert_eq!(&anew.counts, &row.counts);
            prop_assert_eq!(&anew.far, &row.far);
            prop_assert_eq!(&anew.in_time, &row.in_time);
            // A bound lets through exactly what is within it.
            let (i, j) = (plan.free, plan.len - 1);
            if let Some(change) = row.swap_change(i, j, &ANY) {
                let let_through = row.swap_change(i, j, &Cost::ZERO);
                prop_assert_eq!(let_through.is_some(), change <= Cost::ZERO);
            }
        }
    }
}
