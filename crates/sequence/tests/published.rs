//! Published problems and their known answers.
#![allow(
    clippy::unwrap_used,
    clippy::print_stdout,
    clippy::disallowed_methods,
    reason = "a test fails by panicking, and reads what lies beside the project"
)]

mod support;

use std::path::{Path, PathBuf};

use sequence::level::{Demand, goal_chasing, level};
use sequence::model::{Colours, Force, Problem, Rule};
use sequence::{Clean, Settings, Watch, best};
use serde_json::Value;

fn data() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../../shared/data")
}

/// Moves that each instance gets here: a small part of a thorough search, for
/// the sake of those who run the tests. `examples/orders` gives the rest.
fn settings(steps: u64) -> Settings {
    Settings {
        seed: 1,
        steps,
        walkers: 2,
        proof_states: 60_000,
    }
}

fn json(file: &str) -> Option<Value> {
    let text = std::fs::read_to_string(data().join(file)).ok()?;
    serde_json::from_str(&text).ok()
}

/// CSPLib prob001 and its results page: instances with an order without
/// violation, and the fewest violated windows known of those without one.
const CLASSIC: [(&str, u64); 10] = [
    ("4_72", 0),
    ("26_82", 0),
    ("60-01", 0),
    ("65-05", 0),
    ("70-09", 0),
    ("75-03", 0),
    ("80-05", 0),
    ("85-07", 0),
    ("90-09", 0),
    ("36_92", 2),
];

#[test]
fn classic_instances_are_ordered_as_well_as_is_known() {
    if !data().is_dir() {
        println!("the published instances are not here: nothing to check");
        return;
    }
    for (name, known) in CLASSIC {
        let path = data().join(format!("carseq/csplib/{name}.txt"));
        let checked = support::classic(&path).unwrap().check().unwrap();
        let solution = best(&checked, &settings(6_000_000), &Watch::none());
        let violated: u64 = solution.tally.windows.iter().sum();
        assert_eq!(violated, known, "{name}");
        assert!(solution.is_optimal() || known > 0, "{name}");
    }
}

#[test]
fn a_day_that_no_order_keeps_comes_near_the_fewest_runs_known_in_a_moment() {
    // 300 cars of the set of Gravel, Gagné & Price 2005, "Review and comparison of
    // three methods for the solution of the car sequencing problem", JORS 56,
    // 1287-1295; the fewest published are 27 (from memory).
    let path = data().join("carseq/csplib/pb_300_05.txt");
    let Some(problem) = support::classic(&path) else {
        println!("the published instances are not here: nothing to check");
        return;
    };
    let solution = best(
        &problem.check().unwrap(),
        &settings(40_000_000),
        &Watch::none(),
    );
    let violated: u64 = solution.tally.windows.iter().sum();
    assert!(violated <= 29, "{violated}");
}

#[test]
fn two_rules_alone_show_that_classic_instances_have_no_order_without_violation() {
    // Unsatisfiable: Gent 1998, "Two results on car-sequencing problems" (10/93),
    // and the SAT proofs of Mayer-Eichberger & Walsh 2013, in minutes.
    for name in ["10_93", "36_92"] {
        let path = data().join(format!("carseq/csplib/{name}.txt"));
        let Some(problem) = support::classic(&path) else {
            println!("the published instances are not here: nothing to check");
            return;
        };
        let solution = best(&problem.check().unwrap(), &settings(20_000), &Watch::none());
        let Clean::Impossible(rules) = solution.clean else {
            panic!("{name} is not shown to be impossible");
        };
        assert_eq!(rules.len(), 2, "{name}");
    }
}

#[test]
fn the_bounds_of_challenge_instances_are_met() {
    // Marks of the ROADEF challenge 2005, set A, 022_3_4: 11 changes, 39
    // violations of the hard ratios, 1 of the easy ones (from memory of the
    // final's results; reached here exactly).
    let path = data().join("carseq/roadef2005/022_3_4_RAF_EP_ENP.in");
    let Some(problem) = support::challenge(&path) else {
        println!("the published instances are not here: nothing to check");
        return;
    };
    let solution = best(
        &problem.check().unwrap(),
        &settings(1_500_000),
        &Watch::none(),
    );
    assert_eq!(solution.tally.colour_changes, 11);
    assert_eq!(solution.bound.colour_changes, 11);
    assert!(support::mark(&solution.tally.cost) <= 11_040_001);
}

#[test]
fn mondens_example_is_chased_as_in_his_table() {
    // Y. Monden, Toyota Production System, appendix on the sequencing method:
    // distances of the first and the fifth place, and the order.
    let demand = Demand {
        cars: vec![2, 3, 5],
        uses: vec![vec![1, 0, 1, 1], vec![1, 1, 0, 1], vec![0, 1, 1, 0]],
    };
    let chased = goal_chasing(&demand);
    let letters: String = chased.order.iter().map(|at| ['A', 'B', 'C'][*at]).collect();
    assert_eq!(letters, "CBACBCCABC");
    let told = |place: usize| {
        let row = chased.distances[place - 1].iter();
        row.map(|far| (far.unwrap() * 100.0).round() / 100.0)
            .collect::<Vec<_>>()
    };
    assert_eq!(told(1), [1.11, 1.01, 0.79]);
    // B and C are equally near: the one listed first is taken.
    assert_eq!(told(5), [1.32, 0.87, 0.87]);
    assert_eq!(chased.distances[8][0], None);
    assert!((chased.sum - 4.15).abs() < 1e-9);
    let best = level(&demand, &Settings::quick(1), &Watch::none());
    assert!(best.proven);
    assert!((best.sum - 4.15).abs() < 1e-9);
}

#[test]
fn level_orders_are_the_least_there_are_and_never_worse_than_goal_chasing() {
    let Some(cases) = json("sequencing/levelling_dev.json") else {
        println!("the published instances are not here: nothing to check");
        return;
    };
    for case in cases.as_array().unwrap() {
        let list = |value: &Value| -> Vec<u32> {
            let numbers = value.as_array().unwrap().iter();
            numbers
                .map(|number| number.as_u64().unwrap() as u32)
                .collect()
        };
        let demand = Demand {
            cars: list(&case["demand"]),
            uses: case["bom"].as_array().unwrap().iter().map(list).collect(),
        };
        let near = |value: f64, key: &str| {
            let known = case[key].as_f64().unwrap();
            assert!(
                (value - known).abs() < 1e-6,
                "{}: {value} {known}",
                case["name"]
            );
        };
        near(goal_chasing(&demand).sum, "goal_chasing_value");
        let found = level(&demand, &Settings::quick(1), &Watch::none());
        assert!(found.proven);
        near(found.sum, "optimum_sum_squared_part_deviation");
    }
}

#[test]
fn a_week_too_large_for_the_lattice_is_levelled_better_than_by_goal_chasing() {
    let demand = Demand {
        cars: vec![61, 47, 38, 29, 83, 17, 55],
        uses: (0..7_u32)
            .map(|p| (0..6_u32).map(|q| (p * 5 + q * 3 + p * q) % 4).collect())
            .collect(),
    };
    let settings = Settings {
        steps: 60_000,
        ..Settings::quick(1)
    };
    let chased = goal_chasing(&demand);
    let found = level(&demand, &settings, &Watch::none());
    assert!(!found.proven);
    assert!(found.sum < chased.sum, "{} {}", found.sum, chased.sum);
}

#[test]
fn what_a_rule_costs_is_what_dropping_it_gives() {
    // Four vans with a towbar and four without, in another colour; all have
    // wheels, and a rule that lets all wheels through costs nothing.
    let class = |name: &str, count, towbar| sequence::model::Class {
        name: name.into(),
        count,
        options: vec![towbar, true],
        colour: Some(usize::from(towbar)),
    };
    let rule = |option, at_most, in_every| Rule {
        option,
        at_most,
        in_every,
        force: Force::Soft(5),
    };
    let problem = Problem {
        classes: vec![class("plain", 4, false), class("towed", 4, true)],
        options: vec!["towbar".into(), "wheels".into()],
        rules: vec![rule(0, 1, 2), rule(1, 2, 2)],
        colours: Colours {
            names: vec!["grey".into(), "white".into()],
            max_block: None,
            change_weight: 1,
        },
        ..Problem::empty()
    };
    let costs = sequence::rule_costs(
        &problem.check().unwrap(),
        &Settings::quick(1),
        &Watch::none(),
    );
    // Spacing towbars makes six changes of colour; without it one is enough.
    assert_eq!(costs.len(), 1);
    assert_eq!(costs[0].fewer_colour_changes, 5);
    assert_eq!(costs[0].fewer_violations, 0);
}
