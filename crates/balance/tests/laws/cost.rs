//! People or robots.

use balance::cost::{Kind, Mode, Shop, frontier, least_cost, least_takt_within};
use proptest::prelude::*;

use crate::{LIMITS, calmly, orders, work};

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
        let found = calmly(|watch| least_cost(&shop, takt, &LIMITS, watch)).unwrap();
        prop_assert!(found.proven);
        prop_assert_eq!(found.bound, found.cost_per_year);
        prop_assert!(found.stations.iter().all(|station| station.ticks <= u64::from(takt)));
        let done: usize = found.stations.iter().map(|station| station.work.len()).sum();
        prop_assert_eq!(done, shop.after.len());
        prop_assert_eq!(Some(found.cost_per_year), least_by_all(&shop, takt));
    }

    #[test]
    fn fewer_stations_on_the_frontier_never_cost_less(shop in shop(), takt in 9_u32..20) {
        let points = calmly(|watch| frontier(&shop, takt, &LIMITS, watch)).unwrap();
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
            calmly(|watch| least_takt_within(&shop, budget, &LIMITS, watch))
        else {
            return Ok(());
        };
        prop_assert!(crew.cost_per_year <= budget && low <= takt);
        prop_assert!(least_by_all(&shop, takt).is_some_and(|cost| cost <= budget));
        let less = least_by_all(&shop, takt - 1);
        prop_assert!(less.is_none_or(|cost| cost > budget));
    }
}
