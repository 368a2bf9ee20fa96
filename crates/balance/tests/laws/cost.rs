//! People or robots.

use balance::cost::{
    Kind, Mode, Shop, Staffed, frontier, frontier_of_line, least_cost, least_cost_of_line,
    least_takt_within,
};
use balance::line::{Line, Rules, Side};
use balance::{Limits, Watch, Work};
use proptest::prelude::*;
use proptest::strategy::ValueTree as _;
use proptest::test_runner::TestRunner;

use crate::{LIMITS, orders, work};

fn shop() -> impl Strategy<Value = Shop> {
    let robot = (1_u32..8, 0_usize..2, any::<bool>());
    (
        work(2..6, 9),
        prop::collection::vec(robot, 6),
        0_u32..4,
        0_u64..3,
    )
        .prop_map(|(work, robots, change, station)| {
            let person = work.ticks.iter();
            let modes = person.zip(&robots).map(|(ticks, (quick, tool, can))| {
                let mut modes = vec![Mode {
                    kind: 0,
                    ticks: *ticks,
                    tool: None,
                }];
                if *can {
                    modes.push(Mode {
                        kind: 1,
                        ticks: *quick,
                        tool: Some(*tool),
                    });
                }
                modes
            });
            Shop {
                modes: modes.collect(),
                after: work.after.clone(),
                kinds: vec![
                    Kind {
                        cost_per_year: 10,
                        tool_change: 0,
                        tools: vec![],
                    },
                    Kind {
                        cost_per_year: 9,
                        tool_change: change,
                        tools: vec![3, 4],
                    },
                ],
                station_per_year: station,
            }
        })
}

/// Least cost over all sets for the next station, kinds, modes and orders.
fn least_by_all(shop: &Shop, takt: u32) -> Option<u64> {
    least_with(shop, takt, 0, shop.after.len())
}

/// The same with at most so many stations, some tasks done.
fn least_with(shop: &Shop, takt: u32, done: usize, most: usize) -> Option<u64> {
    let n = shop.after.len();
    if done == (1 << n) - 1 {
        return Some(0);
    }
    if most == 0 {
        return None;
    }
    let mut best = None;
    for load in 1..1_usize << n {
        let tasks: Vec<usize> = (0..n).filter(|task| load >> task & 1 == 1).collect();
        let after = |task: &usize| {
            shop.after[*task]
                .iter()
                .all(|b| (done | load) >> b & 1 == 1)
        };
        if load & done != 0 || !tasks.iter().all(after) {
            continue;
        }
        let cheapest = (0..shop.kinds.len()).filter_map(|kind| station(shop, takt, kind, &tasks));
        let Some(own) = cheapest.min() else { continue };
        if let Some(rest) = least_with(shop, takt, done | load, most - 1) {
            best = Some(best.map_or(own + rest, |best: u64| best.min(own + rest)));
        }
    }
    best
}

fn station(shop: &Shop, takt: u32, kind: usize, tasks: &[usize]) -> Option<u64> {
    let mode = |task: usize| shop.modes[task].iter().find(|mode| mode.kind == kind);
    let modes: Option<Vec<_>> = tasks.iter().map(|task| mode(*task)).collect();
    let ticks: u32 = modes?.iter().map(|mode| mode.ticks).sum();
    let kept = orders(tasks).into_iter().filter(|order| {
        order.iter().enumerate().all(|(at, task)| {
            order[at..]
                .iter()
                .all(|later| !shop.after[*task].contains(later))
        })
    });
    let changes = kept.map(|order| {
        let tools: Vec<usize> = order.iter().filter_map(|task| mode(*task)?.tool).collect();
        let around = tools.iter().zip(tools.iter().cycle().skip(1));
        around.filter(|(one, next)| one != next).count() as u32
    });
    let changes = changes.min()?;
    if ticks + changes * shop.kinds[kind].tool_change > takt {
        return None;
    }
    let mut tools: Vec<usize> = tasks.iter().filter_map(|task| mode(*task)?.tool).collect();
    tools.sort_unstable();
    tools.dedup();
    let tools: u64 = tools.iter().map(|tool| shop.kinds[kind].tools[*tool]).sum();
    Some(shop.station_per_year + shop.kinds[kind].cost_per_year + tools)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(80))]

    #[test]
    fn the_least_cost_is_that_of_plain_enumeration(shop in shop(), takt in 9_u32..20) {
        let found = least_cost(&shop, takt, &LIMITS, &Watch::none()).unwrap();
        prop_assert!(found.proven);
        prop_assert_eq!(found.bound, found.cost_per_year);
        prop_assert!(found.stations.iter().all(|station| station.ticks <= u64::from(takt)));
        let done: usize = found.stations.iter().map(|station| station.work.len()).sum();
        prop_assert_eq!(done, shop.after.len());
        prop_assert_eq!(Some(found.cost_per_year), least_by_all(&shop, takt));
    }

    #[test]
    fn fewer_stations_on_the_frontier_never_cost_less(shop in shop(), takt in 9_u32..20) {
        let points = frontier(&shop, takt, &LIMITS, &Watch::none()).unwrap();
        for pair in points.windows(2) {
            prop_assert!(pair[0].stations < pair[1].stations);
            prop_assert!(pair[0].crewed.cost_per_year >= pair[1].crewed.cost_per_year);
        }
        for point in &points {
            let least = least_with(&shop, takt, 0, point.stations as usize);
            prop_assert!(least.is_some_and(|least| point.crewed.bound <= least));
            prop_assert!(least.is_some_and(|least| point.crewed.cost_per_year >= least));
        }
    }

    #[test]
    fn a_budget_buys_the_takt_of_plain_enumeration(shop in shop(), budget in 14_u64..60) {
        let Ok((takt, low, crew)) =
            least_takt_within(&shop, budget, &LIMITS, &Watch::none())
        else {
            return Ok(());
        };
        prop_assert!(crew.cost_per_year <= budget && low <= takt);
        prop_assert!(least_by_all(&shop, takt).is_some_and(|cost| cost <= budget));
        let less = least_by_all(&shop, takt - 1);
        prop_assert!(less.is_none_or(|cost| cost > budget));
    }
}

/// The shop as a line with sides or rules of place of no effect, so that it is
/// asked as any other line.
fn as_line(shop: &Shop, sides: &[Side]) -> Staffed {
    let mut line = Line::plain(Work {
        ticks: vec![0; shop.after.len()],
        after: shop.after.clone(),
    });
    line.sides = sides.to_vec();
    Staffed {
        line,
        modes: shop.modes.clone(),
        kinds: shop.kinds.clone(),
        people: Some(0),
        station_per_year: shop.station_per_year,
    }
}

const SOME: Limits = Limits {
    steps: Some(200_000),
    ..LIMITS
};

proptest! {
    #![proptest_config(ProptestConfig::with_cases(60))]

    #[test]
    fn a_line_of_one_post_costs_what_the_exact_search_says(shop in shop(), takt in 12_u32..25) {
        let staffed = as_line(&shop, &[]);
        let found = least_cost_of_line(&staffed, takt, &SOME, &Watch::none()).unwrap();
        let least = least_by_all(&shop, takt).unwrap();
        prop_assert!(found.bound <= least && least <= found.cost_per_year);
    }

    #[test]
    fn people_on_two_sides_and_robots_keep_order_sides_and_takt(
        shop in shop(),
        sides in prop::collection::vec(0_usize..3, 6),
        takt in 12_u32..25,
    ) {
        let n = shop.after.len();
        let sides: Vec<Side> = sides[..n].iter().map(|s| [Side::Left, Side::Right, Side::Either][*s]).collect();
        let mut staffed = as_line(&shop, &sides);
        staffed.line.rules = Rules { apart: vec![(0, 1)], ..Rules::default() };
        let points = frontier_of_line(&staffed, takt, &SOME, &Watch::none()).unwrap();
        for pair in points.windows(2) {
            prop_assert!(pair[0].stations.len() < pair[1].stations.len());
            prop_assert!(pair[0].cost_per_year > pair[1].cost_per_year);
            prop_assert!(pair[0].bound >= pair[1].bound);
        }
        for point in points {
            prop_assert!(point.bound <= point.cost_per_year);
            let mut at = vec![usize::MAX; n];
            for (station, posts) in point.stations.iter().enumerate() {
                let alone = posts.iter().any(|post| post.kind != 0);
                prop_assert!(!alone || posts.len() == 1);
                for post in posts {
                    for (task, _, start, end) in &post.work {
                        prop_assert!(start <= end && *end <= u64::from(takt));
                        let side = staffed.line.side(*task);
                        prop_assert!(alone || side == Side::Either || side == post.side);
                        at[*task] = station;
                    }
                }
            }
            let in_order = (0..n).all(|task| shop.after[task].iter().all(|b| at[*b] <= at[task]));
            prop_assert!(in_order && at.iter().all(|station| *station < point.stations.len()));
            prop_assert!(at[0] != at[1]);
        }
    }
}

/// The search goes from neighbour to neighbour and may miss the least; over many
/// small lines, each time the same ones, it misses little.
#[test]
fn over_a_hundred_lines_of_one_post_the_search_stays_near_the_least() {
    let mut runner = TestRunner::deterministic();
    let (mut excess, mut far) = (0.0, 0);
    for _ in 0..100 {
        let drawn = (shop(), 12_u32..25).new_tree(&mut runner).unwrap();
        let (shop, takt) = drawn.current();
        let staffed = as_line(&shop, &[]);
        let found = least_cost_of_line(&staffed, takt, &SOME, &Watch::none()).unwrap();
        let least = least_by_all(&shop, takt).unwrap();
        let over = found.cost_per_year as f64 / least as f64 - 1.0;
        excess += over / 100.0;
        far += u32::from(over > 0.25);
    }
    assert!(excess < 0.02, "on the average {excess:.3} above the least");
    assert!(far <= 2, "{far} of 100 are more than a quarter above");
}
