//! Laws held against trying every order, on problems small enough for it.

use proptest::prelude::*;

use crate::bound::{bound, least_excess, least_windows};
use crate::clash::Requirement;
use crate::cost::Cost;
use crate::evaluate::{cost, evaluate};
use crate::exact::clashes;
use crate::level::{Demand, level};
use crate::model::{Checked, Class, Counted, Force, Goal, Goals, Level, Part, Problem, Rule};
use crate::plan::Spacing;
use crate::relaxed;
use crate::solve::{Clean, best};
use crate::tests::changes::problems;
use crate::watch::{Settings, Watch};

/// Calls `seen` with every order of the cars behind the frozen ones.
fn every_order(problem: &Problem, seen: &mut dyn FnMut(&[usize])) {
    let mut left: Vec<u32> = problem.classes.iter().map(|class| class.count).collect();
    for class in &problem.frozen {
        left[*class] -= 1;
    }
    go_on(&mut problem.frozen.clone(), &mut left, seen);
}

fn go_on(order: &mut Vec<usize>, left: &mut [u32], seen: &mut dyn FnMut(&[usize])) {
    if left.iter().all(|left| *left == 0) {
        seen(order);
        return;
    }
    for class in 0..left.len() {
        if left[class] > 0 {
            left[class] -= 1;
            order.push(class);
            go_on(order, left, seen);
            order.pop();
            left[class] += 1;
        }
    }
}

fn small(mut problem: Problem) -> Problem {
    // At most eight cars, or trying every order takes too long.
    for class in &mut problem.classes {
        class.count = class.count.min(2);
    }
    problem.classes.truncate(4);
    for part in &mut problem.level.parts {
        part.per_car.truncate(4);
    }
    problem.frozen.truncate(2);
    for promise in &mut problem.promises {
        promise.count = promise.count.min(problem.classes[promise.class].count);
    }
    problem
}

fn least(checked: &Checked) -> (Cost, bool) {
    let mut least = Cost([i64::MAX; 5]);
    let mut clean = false;
    every_order(checked.problem(), &mut |order| {
        let tally = evaluate(checked, order).unwrap();
        least = least.min(tally.cost);
        clean |= tally.windows.iter().all(|n| *n == 0)
            && tally.over_block == 0
            && tally.late.iter().all(|n| *n == 0)
            && tally.early.iter().all(|n| *n == 0);
    });
    (least, clean)
}

/// Whether any order keeps these requirements, found by trying every one.
fn kept_by_some_order(problem: &Problem, clash: &[Requirement]) -> bool {
    let mut problem = problem.clone();
    let rule = |at: &usize| clash.contains(&Requirement::Rule(*at));
    let promise = |at: &usize| clash.contains(&Requirement::Promise(*at));
    for at in (0..problem.rules.len()).filter(|at| !rule(at)) {
        problem.rules[at].at_most = problem.rules[at].in_every;
    }
    for at in (0..problem.promises.len()).filter(|at| !promise(at)) {
        problem.promises[at].count = 0;
    }
    let hold = |at: &usize| clash.contains(&Requirement::Hold(*at));
    for at in (0..problem.holds.len()).filter(|at| !hold(at)) {
        problem.holds[at].until = 0;
    }
    if !clash.contains(&Requirement::Previous) {
        problem.previous.clear();
    }
    if !clash.contains(&Requirement::Frozen) {
        problem.frozen.clear();
    }
    let block = problem.colours.max_block.take();
    let checked = problem.check().unwrap();
    let mut kept = false;
    every_order(&problem, &mut |order| {
        let tally = evaluate(&checked, order).unwrap();
        let blocks = clash.iter().all(|of| match of {
            Requirement::LongestBlock(colour) => {
                longest_run(&problem, order, *colour) <= block.unwrap() as usize
            }
            _ => true,
        });
        let rules = tally.windows.iter().all(|n| *n == 0);
        let there = tally.early.iter().all(|n| *n == 0);
        kept |= blocks && rules && there && tally.late.iter().all(|n| *n == 0);
    });
    kept
}

/// Cars of a colour in a row at the most, runs among the previous cars alone
/// not counted.
fn longest_run(problem: &Problem, order: &[usize], colour: Option<usize>) -> usize {
    let row = problem.previous.iter().chain(order);
    let (mut run, mut longest) = (0, 0);
    for (at, class) in row.enumerate() {
        run = if problem.classes[*class].colour == colour {
            run + 1
        } else {
            0
        };
        if at >= problem.previous.len() {
            longest = longest.max(run);
        }
    }
    longest
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(150))]

    #[test]
    fn rules_and_colours_minded_together_ask_for_no_more_than_the_best_order_has(
        problem in problems(),
    ) {
        let checked = small(problem).check().unwrap();
        let (best, _) = least(&checked);
        for tier in 0..5 {
            let sums = 3_000_000;
            let asked = relaxed::least(&checked.plan, &best, tier, sums, &Watch::none());
            let Some(asked) = asked else { continue };
            prop_assert!(asked.cost <= best[tier], "goal {tier}: {} of {best:?}", asked.cost);
            if !asked.clash.is_empty() {
                prop_assert!(!kept_by_some_order(checked.problem(), &asked.clash));
            }
        }
    }

    #[test]
    fn small_problems_are_solved_as_trying_every_order_solves_them(problem in problems()) {
        let checked = small(problem).check().unwrap();
        let (least, clean) = least(&checked);
        let solution = best(&checked, &Settings::quick(1), &Watch::none());
        prop_assert_eq!(solution.tally.cost, least);
        prop_assert!(solution.bound.cost <= least);
        prop_assert!(bound(&checked).cost <= least);
        match solution.clean {
            Clean::Found => prop_assert!(clean),
            Clean::Impossible(_) => prop_assert!(!clean),
            // There is one, and what costs least breaks something.
            Clean::Unknown => {
                prop_assert!(clean);
                let order = solution.clean_order.unwrap();
                let tally = evaluate(&checked, &order).unwrap();
                prop_assert!(tally.windows.iter().chain(&tally.late).all(|breaks| *breaks == 0));
                prop_assert!(tally.over_block == 0 && tally.cost > least);
            }
        }
    }

    #[test]
    fn no_order_that_keeps_the_rules_changes_colour_less_than_is_said(problem in problems()) {
        let mut problem = small(problem);
        for rule in &mut problem.rules {
            rule.force = Force::Soft(1);
        }
        problem.colours.change_weight = 1;
        let rules = (0..problem.rules.len()).map(Goal::Rule).collect();
        problem.goals = Goals::Ordered(vec![rules, vec![Goal::Colours]]);
        let checked = problem.check().unwrap();
        let (least, _) = least(&checked);
        prop_assert!(bound(&checked).goal(&checked.plan) <= least);
    }

    #[test]
    fn rules_said_to_clash_cost_what_is_said(problem in problems()) {
        let checked = small(problem).check().unwrap();
        let plan = &checked.plan;
        let alone = bound(&checked);
        let singles: Vec<i64> = plan
            .rules
            .iter()
            .map(|rule| alone.rules[rule.given] as i64 * rule.price)
            .collect();
        let enough = Cost([1_000; 5]);
        for clash in clashes(plan, &singles, &enough, 5_000, &Watch::none()) {
            let only = plan.only(&clash.bits);
            let tier = plan.rules[clash.bits[0]].tier;
            let mut least = i64::MAX;
            every_order(checked.problem(), &mut |order| {
                let before = checked.problem().previous.iter();
                let row: Vec<u16> = before.chain(order).map(|class| *class as u16).collect();
                least = least.min(cost(&only, &row)[tier]);
            });
            prop_assert!(clash.least <= least, "{:?} {}", clash, least);
            prop_assert!(clash.least > clash.alone);
        }
    }

    #[test]
    fn what_is_said_to_clash_is_kept_together_by_no_order_and_needs_all_of_it(
        problem in problems(),
    ) {
        let checked = small(problem).check().unwrap();
        let solution = best(&checked, &Settings::quick(1), &Watch::none());
        let impossible = matches!(solution.clean, Clean::Impossible(_));
        prop_assert_eq!(impossible, !solution.clash.is_empty());
        let problem = checked.problem();
        prop_assert!(!impossible || !kept_by_some_order(problem, &solution.clash));
        for left_out in 0..solution.clash.len() {
            let mut fewer = solution.clash.clone();
            fewer.remove(left_out);
            prop_assert!(kept_by_some_order(problem, &fewer), "{:?}", solution.clash);
        }
    }

    #[test]
    fn an_order_is_a_permutation_of_the_orders(problem in problems(), seed in any::<u64>()) {
        let checked = problem.check().unwrap();
        let settings = Settings { seed, steps: 2_000, walkers: 2, proof_states: 500 };
        let solution = best(&checked, &settings, &Watch::none());
        for (class, given) in problem.classes.iter().enumerate() {
            let built = solution.order.iter().filter(|one| **one == class).count();
            prop_assert_eq!(built, given.count as usize);
        }
        prop_assert_eq!(&solution.order[..problem.frozen.len()], &problem.frozen[..]);
        prop_assert!(solution.bound.cost <= solution.tally.cost);
        prop_assert_eq!(evaluate(&checked, &solution.order).unwrap(), solution.tally);
    }

    #[test]
    fn a_rule_that_lets_all_through_never_binds(
        problem in problems(),
        option in 0_usize..3,
        window in 1_u32..9,
        seed in any::<u64>(),
    ) {
        let settings = Settings { seed, steps: 2_000, walkers: 1, proof_states: 500 };
        let mut with = problem.clone();
        with.rules.push(Rule {
            option,
            at_most: window,
            in_every: window,
            force: Force::Hard,
        });
        let without = best(&problem.check().unwrap(), &settings, &Watch::none());
        let with = best(&with.check().unwrap(), &settings, &Watch::none());
        prop_assert_eq!(with.order, without.order);
        prop_assert_eq!(with.tally.windows.last(), Some(&0));
    }

    #[test]
    fn the_least_excess_and_the_least_runs_of_one_rule_are_exact(
        fixed in prop::collection::vec(0_i64..2, 0..6),
        free in 1_usize..11,
        at_most in 0_u16..3,
        wider in 1_usize..4,
        past_end in any::<bool>(),
        cars in 0_i64..11,
    ) {
        let cars = cars.min(free as i64);
        let in_every = usize::from(at_most) + wider;
        let len = fixed.len() + free;
        let start = (fixed.len() + 1).saturating_sub(in_every);
        let end = if past_end { len } else { (len + 1).saturating_sub(in_every) };
        let rule = Spacing {
            given: 0, at_most, in_every, tier: 1, price: 1, starts: start..end.max(start),
        };
        let (mut least, mut runs) = (i64::MAX, i64::MAX);
        for bits in 0_u32..1 << free {
            if i64::from(bits.count_ones()) != cars {
                continue;
            }
            let has = |at: usize| match fixed.get(at) {
                Some(has) => *has,
                None => i64::from(bits >> (at - fixed.len()) & 1),
            };
            let over = |start: usize| {
                let with: i64 = (start..len.min(start + in_every)).map(has).sum();
                (with - i64::from(at_most)).max(0)
            };
            least = least.min(rule.starts.clone().map(over).sum());
            runs = runs.min(rule.starts.clone().filter(|start| over(*start) > 0).count() as i64);
        }
        prop_assert_eq!(least_windows(&fixed, len, cars, &rule), Some(runs));
        prop_assert_eq!(least_excess(&fixed, len, cars, &rule), least);
    }

    #[test]
    fn the_number_of_threads_changes_nothing(problem in problems(), seed in any::<u64>()) {
        let checked = problem.check().unwrap();
        let settings = Settings { seed, steps: 6_000, walkers: 3, proof_states: 0 };
        let on = |threads: usize| {
            let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
            pool.install(|| best(&checked, &settings, &Watch::none()))
        };
        prop_assert_eq!(on(1), on(3));
    }
}

#[test]
fn breaks_are_counted_by_run_or_by_car() {
    // Four cars in a row with an option that may stand once in three: two runs
    // exceed the rule, by two cars each.
    let mut problem = Problem::empty();
    problem.options.push("towbar".into());
    problem.classes.push(Class {
        name: "van".into(),
        count: 4,
        options: vec![true],
        colour: None,
    });
    problem.rules.push(Rule {
        option: 0,
        at_most: 1,
        in_every: 3,
        force: Force::Soft(1),
    });
    for (counted, cost) in [(Counted::Windows, 2), (Counted::Excess, 4)] {
        problem.counted = counted;
        let tally = evaluate(&problem.check().unwrap(), &[0; 4]).unwrap();
        assert_eq!((tally.windows[0], tally.excess[0]), (2, 4));
        assert_eq!(tally.cost.0[1], cost);
    }
    // Past the end the last two cars are still one too many.
    problem.past_end = true;
    let tally = evaluate(&problem.check().unwrap(), &[0; 4]).unwrap();
    assert_eq!((tally.windows[0], tally.excess[0]), (3, 5));
}

#[test]
fn products_that_add_up_to_the_place_bound_level_use_by_what_can_be_had() {
    // Three products, each a part of its own: a week of 3, 3 and 4 cars. Alone
    // each could be nearer to its line; together they take what the shortest
    // way through the counts takes.
    let class = |count: u32| Class {
        name: count.to_string(),
        count,
        options: Vec::new(),
        colour: None,
    };
    let part = |at: usize| Part {
        name: at.to_string(),
        per_car: (0..3).map(|class| u32::from(class == at)).collect(),
    };
    let problem = Problem {
        classes: vec![class(3), class(3), class(4)],
        level: Level {
            weight: 1,
            parts: (0..3).map(part).collect(),
        },
        ..Problem::empty()
    };
    let checked = problem.check().unwrap();
    let demand = Demand {
        cars: vec![3, 3, 4],
        uses: vec![vec![1, 0, 0], vec![0, 1, 0], vec![0, 0, 1]],
        first: Vec::new(),
    };
    let demand = demand.check().unwrap();
    let least = level(&demand, &Settings::quick(1), &Watch::none());
    assert!(least.proven);
    let bound = bound(&checked).cost;
    assert!((bound[1] as f64 / 100.0 - least.sum).abs() < 1e-9);
}
