//! Laws of lots that hold for any plant, tried on problems drawn at random.
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::print_stdout,
    reason = "a test fails by panicking"
)]

mod support;

use std::sync::atomic::AtomicBool;

use lots::model::{Item, ItemIdx, Line, LineIdx, Problem, Way};
use lots::{Change, Refusal, Settings, Watch, best, common_cycle, gain, improve, overload, replay};
use proptest::prelude::*;
use support::{bomberger, checked, lines};

const BRIEF: Settings = Settings {
    seed: 7,
    work: 4_000_000,
};
/// Best lengths for the sequences at hand, no search.
const LENGTHS: Settings = Settings { seed: 7, work: 0 };

prop_compose! {
    /// An item that takes up to a seventh of a line.
    fn items()(
        rate in 20.0..900.0_f64,
        load in 0.01..0.14_f64,
        days in 0.005..0.1_f64,
        cost in 0.0..400.0_f64,
        hold in 0.001..0.2_f64,
        cover in proptest::option::of(1.0..8.0_f64),
        stock in proptest::option::of(2.0..8.0_f64),
        ways in 1..8_u32,
    ) -> (Item, u32) {
        (Item {
            name: String::new(),
            rate_per_day: rate,
            hold_cost_per_day: hold,
            max_cover_days: cover,
            max_stock: stock.map(|days| days * rate),
            ways: vec![Way {
                line: LineIdx(0),
                make_per_day: rate / load,
                changeover_days: days,
                changeover_cost: cost,
            }],
        }, ways)
    }
}

prop_compose! {
    /// Up to three lines; each item may be made on those of the bits in `ways`.
    fn problems()(
        items in proptest::collection::vec(items(), 2..9),
        count in 1..4_usize,
    ) -> Problem {
        let mut problem = Problem { items: Vec::new(), lines: lines(count) };
        for (n, (mut item, ways)) in items.into_iter().enumerate() {
            item.name = format!("panel {n}");
            let usual = item.ways[0].clone();
            let allowed = |line: &u32| count == 1 || ways >> line & 1 == 1;
            item.ways = (0..count as u32)
                .filter(allowed)
                .map(|line| Way { line: LineIdx(line), ..usual.clone() })
                .collect();
            if item.ways.is_empty() {
                item.ways.push(usual);
            }
            problem.items.push(item);
        }
        problem
    }
}

/// The cost by the formula of every lot: changeover, and half the square of its
/// cover times what keeping costs.
fn cost_by_formula(problem: &Problem, schedule: &lots::Schedule) -> f64 {
    let mut cost = 0.0;
    for timetable in &schedule.timetables {
        let cycle = lots::days(timetable.cycle);
        for lot in &timetable.lots {
            let item = &problem.items[lot.item.at()];
            let way = item
                .ways
                .iter()
                .find(|way| way.line == timetable.line)
                .unwrap();
            let make = way.make_per_day * problem.lines[timetable.line.at()].available;
            let cover = lots::days(lot.cover);
            let rising = 1.0 - item.rate_per_day / make;
            let keeping = item.hold_cost_per_day * item.rate_per_day * rising / 2.0 * cover * cover;
            cost += (way.changeover_cost + keeping) / cycle;
        }
    }
    cost
}

/// Dearer by no more than what margins and ticks may add.
fn not_above(cost: f64, limit: f64) -> bool {
    cost <= limit * (1.0 + 1e-6)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 60, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn a_timetable_holds_and_lies_between_the_bound_and_the_rotation_cycle(problem in problems()) {
        let checked = checked(&problem);
        let rotation = common_cycle(&checked, 7);
        match best(&checked, &BRIEF, &Watch::none()) {
            Ok(found) => {
                let again = replay(&checked, &found.schedule.timetables).unwrap();
                prop_assert_eq!(&again, &found.schedule.replay);
                let cost = again.cost_per_day;
                prop_assert!(found.lower_bound_per_day <= cost);
                let formula = cost_by_formula(&problem, &found.schedule);
                prop_assert!((formula - cost).abs() < 1e-9 * cost, "{} {}", formula, cost);
                if let Ok(rotation) = rotation {
                    prop_assert!(cost <= rotation.replay.cost_per_day);
                }
                for (item, seen) in problem.items.iter().zip(&again.items) {
                    prop_assert!(item.max_cover_days.is_none_or(|most| seen.longest_days <= most));
                    prop_assert!(seen.oldest_days <= seen.longest_days * (1.0 + 1e-12));
                }
            }
            Err(Refusal::Overloaded(over)) => prop_assert!(!over.lines.is_empty()),
            Err(Refusal::NotFound { over_days, .. }) => {
                prop_assert!(over_days > 0.0);
                prop_assert!(rotation.is_err());
            }
            Err(other) => prop_assert!(false, "{}", other),
        }
    }

    #[test]
    fn more_line_time_never_costs_more(problem in problems(), more in 1.01..1.5_f64) {
        let mut scarce = problem.clone();
        for line in &mut scarce.lines {
            line.available = 1.0 / more;
        }
        let (scarce, ample) = (checked(&scarce), checked(&problem));
        if let Ok(found) = best(&scarce, &BRIEF, &Watch::none()) {
            // The time alone: a line that is there longer also makes faster,
            // and what is made faster lies longer.
            let mut as_made = scarce.problem().clone();
            for (item, given) in as_made.items.iter_mut().zip(&problem.items) {
                for (way, given) in item.ways.iter_mut().zip(&given.ways) {
                    way.make_per_day = given.make_per_day / more;
                    way.changeover_days = given.changeover_days;
                }
            }
            as_made.lines.clone_from(&problem.lines);
            let eased = improve(&checked(&as_made), &found.schedule, &LENGTHS, &Watch::none());
            let eased = eased.unwrap();
            let before = found.schedule.replay.cost_per_day;
            let after = eased.schedule.replay.cost_per_day;
            prop_assert!(not_above(after, before), "{} {}", after, before);
            prop_assert!(eased.lower_bound_per_day <= before * (1.0 + 1e-9));
            prop_assert!(lots::lower_bound(&ample).is_some());
        }
    }

    #[test]
    fn a_tighter_limit_on_cover_never_costs_less(problem in problems(), share in 0.3..1.0_f64) {
        let mut tight = problem.clone();
        for item in &mut tight.items {
            item.max_cover_days = Some(item.max_cover_days.unwrap_or(8.0) * share);
        }
        let (tight, loose) = (checked(&tight), checked(&problem));
        if let Ok(found) = best(&tight, &BRIEF, &Watch::none()) {
            let eased = improve(&loose, &found.schedule, &LENGTHS, &Watch::none()).unwrap();
            let before = found.schedule.replay.cost_per_day;
            let after = eased.schedule.replay.cost_per_day;
            prop_assert!(not_above(after, before), "{} {}", after, before);
            let bound = |checked| lots::lower_bound(checked).unwrap();
            prop_assert!(bound(&loose) <= bound(&tight) * (1.0 + 1e-6));
        }
    }

    #[test]
    fn quicker_changeovers_never_lose(problem in problems(), left in 0.0..1.0_f64, one in 0..9_u32) {
        let checked = checked(&problem);
        if let Ok(found) = best(&checked, &BRIEF, &Watch::none()) {
            let change = Change {
                items: (one as usize).lt(&problem.items.len()).then(|| vec![ItemIdx(one)]),
                time_left: left.max(1e-3),
                cost_left: 1.0,
            };
            let gain = gain(&checked, &found.schedule, &change, &LENGTHS, &Watch::none()).unwrap();
            prop_assert!(gain.saved_per_day >= -1e-6 * gain.before.cost_per_day, "{} of {}", gain.saved_per_day, gain.before.cost_per_day);
            prop_assert!(gain.after.least_cycle_days <= gain.before.least_cycle_days);
        }
    }

    #[test]
    fn what_an_overload_says_frees_the_line(problem in problems(), more in 2.0..12.0_f64) {
        let mut busy = problem;
        for item in &mut busy.items {
            item.rate_per_day *= more;
            item.max_stock = None;
            item.ways.truncate(1);
        }
        let Some(over) = overload(&checked(&busy)) else { return Ok(()); };
        prop_assert!(over.proven);
        let mut freed = busy.clone();
        for line in &over.lines {
            let alone = Line { name: "elsewhere".into(), available: 1.0 };
            for item in &line.move_items {
                freed.items[item.at()].ways[0].line = LineIdx(freed.lines.len() as u32);
                freed.items[item.at()].ways[0].make_per_day *= 1e3;
                freed.lines.push(alone.clone());
            }
        }
        prop_assert!(overload(&checked(&freed)).is_none());
        let mut quick = busy.clone();
        for line in &over.lines {
            let Some(days) = line.save_changeover_days else { return Ok(()); };
            for item in &mut quick.items {
                let way = &mut item.ways[0];
                if way.line == line.line {
                    way.changeover_days = (way.changeover_days - days * (1.0 + 1e-9)).max(0.0);
                    way.changeover_cost += 1.0;
                }
            }
        }
        prop_assert!(overload(&checked(&quick)).is_none());
    }
}

#[test]
fn a_replay_sees_a_lot_that_starts_a_tick_early_or_makes_a_tick_less() {
    let checked = checked(&bomberger(1.08));
    let found = common_cycle(&checked, 1).unwrap();
    let sound = &found.timetables;
    assert!(replay(&checked, sound).is_ok());
    for at in 0..sound[0].lots.len() {
        let mut less = sound.clone();
        less[0].lots[at].cover -= 1;
        assert!(replay(&checked, &less).is_err());
        let mut short = sound.clone();
        short[0].lots[at].changeover -= 1_000_000;
        assert!(replay(&checked, &short).is_err());
        let mut long = sound.clone();
        // Rotation cycles at this load have no time to spare.
        long[0].lots[at].cover += 10_000_000;
        assert!(replay(&checked, &long).is_err());
    }
    let mut gone = sound.clone();
    gone[0].lots.pop();
    assert!(replay(&checked, &gone).is_err());
}

#[test]
fn one_core_and_two_find_the_same_timetable() {
    let checked = checked(&bomberger(1.04));
    let on = |cores: usize| {
        let pool = rayon::ThreadPoolBuilder::new()
            .num_threads(cores)
            .build()
            .unwrap();
        let settings = Settings {
            seed: 3,
            work: 30_000_000,
        };
        pool.install(|| best(&checked, &settings, &Watch::none()).unwrap())
    };
    assert_eq!(on(1), on(2));
}

#[test]
fn a_cancelled_search_still_gives_a_timetable_that_holds() {
    let checked = checked(&bomberger(1.0));
    let cancel = AtomicBool::new(true);
    let watch = Watch {
        cancel: &cancel,
        progress: &|_| {},
    };
    let found = best(&checked, &Settings::thorough(1), &watch).unwrap();
    assert!(!found.complete);
    assert!(found.schedule.replay.cost_per_day < 41.17);
}

#[test]
fn an_item_with_a_short_limit_is_made_more_often_where_a_rotation_cycle_fails() {
    let mut problem = bomberger(1.0);
    problem.items.truncate(7);
    for (item, days) in problem
        .items
        .iter_mut()
        .zip([60.0, 60.0, 9.0, 9.0, 60.0, 60.0, 60.0])
    {
        item.max_cover_days = Some(days);
    }
    for item in &mut problem.items {
        item.ways[0].changeover_days *= 3.0;
    }
    let checked = checked(&problem);
    assert!(matches!(
        common_cycle(&checked, 1),
        Err(Refusal::RotationTooLong { .. })
    ));
    let found = best(&checked, &Settings::quick(1), &Watch::none()).unwrap();
    let items = &found.schedule.replay.items;
    assert!(items[2].lots > 1 && items[3].lots > 1);
    assert!(items[2].longest_days <= 9.0 && items[3].longest_days <= 9.0);
}

#[test]
fn a_press_shop_of_sixty_panels_keeps_three_days_of_cover_on_four_lines() {
    // Invented: sixty panels, changeovers of 8 to 15 minutes, lines that are
    // there 20 of 24 hours.
    let item = |n: usize| {
        let spread = |of: usize| ((n * 7 + of * 13) % 17) as f64 / 16.0;
        let rate = 200.0 + 200.0 * f64::from((n % 3) as u32);
        let ways = (0..4_u32).filter(|line| !(n as u32 + line).is_multiple_of(4));
        Item {
            name: format!("panel {n}"),
            rate_per_day: rate,
            hold_cost_per_day: 0.01 + 0.03 * spread(1),
            max_cover_days: Some(if n.is_multiple_of(5) { 1.5 } else { 3.0 }),
            max_stock: None,
            ways: ways
                .map(|line| Way {
                    line: LineIdx(line),
                    make_per_day: 14_000.0 + 3_000.0 * spread(2),
                    changeover_days: (8.0 + 7.0 * spread(3)) / 1_440.0,
                    changeover_cost: 60.0,
                })
                .collect(),
        }
    };
    let mut problem = Problem {
        items: (0..60).map(item).collect(),
        lines: lines(4),
    };
    for line in &mut problem.lines {
        line.available = 20.0 / 24.0;
    }
    let checked = checked(&problem);
    let found = best(&checked, &Settings::quick(1), &Watch::none()).unwrap();
    println!("gap {:.2} %", found.gap() * 100.0);
    assert!(found.gap() < 0.06, "{}", found.gap());
    assert!(
        found
            .schedule
            .replay
            .items
            .iter()
            .all(|item| item.longest_days <= 3.0)
    );
}
