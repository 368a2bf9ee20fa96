//! Small shops, where every choice can be tried.

use balance::robots::{Group, Kind, Place, Shop};
use proptest::prelude::*;
use proptest::test_runner::{RngAlgorithm, TestRng, TestRunner};

use crate::robots::{group, solved};

/// One joint at a time, every choice tried: the fewest robots there can be.
fn fewest(shop: &Shop) -> Option<usize> {
    let most = shop.stations[0].most as usize;
    let mut crews: Vec<Vec<Vec<usize>>> = vec![vec![]];
    for _ in &shop.stations {
        let of_one = choices(shop.kinds.len(), most);
        crews = crews
            .iter()
            .flat_map(|crew| {
                of_one
                    .iter()
                    .map(move |kinds| [crew.clone(), vec![kinds.clone()]].concat())
            })
            .collect();
    }
    crews.sort_by_key(|crew| crew.iter().map(Vec::len).sum::<usize>());
    crews
        .into_iter()
        .find(|crew| {
            let left = shop.groups.iter().map(|group| group.joints).collect();
            suffices(shop, crew, 0, left)
        })
        .map(|crew| crew.iter().map(Vec::len).sum())
}

/// Sets of up to so many robots of so many kinds.
fn choices(kinds: usize, most: usize) -> Vec<Vec<usize>> {
    let mut all = vec![vec![]];
    let mut last: Vec<Vec<usize>> = vec![vec![]];
    for _ in 0..most {
        last = last
            .iter()
            .flat_map(|set| {
                let from = set.last().copied().unwrap_or(0);
                (from..kinds).map(move |kind| [set.clone(), vec![kind]].concat())
            })
            .collect();
        all.extend(last.clone());
    }
    all
}

#[derive(Clone)]
struct Now {
    time: Vec<u32>,
    tool: Vec<Option<usize>>,
    first: Vec<Option<usize>>,
    ready: Vec<u32>,
    zone: Vec<u32>,
    left: Vec<u32>,
}

fn suffices(shop: &Shop, crew: &[Vec<usize>], at: usize, left: Vec<u32>) -> bool {
    let over = |left: &[u32], at: usize| {
        let last = |group: &Group| group.stations.last().is_some_and(|last| *last < at);
        shop.groups
            .iter()
            .zip(left)
            .any(|(group, left)| *left > 0 && last(group))
    };
    if over(&left, at) {
        return false;
    }
    if at == crew.len() {
        return left.iter().all(|left| *left == 0);
    }
    let robots = crew[at].len();
    let mut open = vec![Now {
        time: vec![0; robots],
        tool: vec![None; robots],
        first: vec![None; robots],
        ready: vec![0; left.len()],
        zone: vec![0; 9],
        left,
    }];
    let mut ended: Vec<Vec<u32>> = Vec::new();
    while let Some(now) = open.pop() {
        if !ended.contains(&now.left) {
            ended.push(now.left.clone());
        }
        for (robot, kind) in crew[at].iter().enumerate() {
            for group in 0..shop.groups.len() {
                open.extend(after_one(shop, at, *kind, robot, group, &now));
            }
        }
    }
    ended.sort();
    ended
        .into_iter()
        .any(|left| suffices(shop, crew, at + 1, left))
}

/// The robot makes one joint of the group next, at the earliest.
fn after_one(
    shop: &Shop,
    at: usize,
    kind: usize,
    robot: usize,
    group: usize,
    now: &Now,
) -> Option<Now> {
    let what = &shop.groups[group];
    let done = |before: &usize| now.left[*before] == 0;
    if now.left[group] == 0
        || !what.stations.contains(&at)
        || !what.kinds.contains(&kind)
        || !what.after.iter().all(done)
    {
        return None;
    }
    let change = shop.kinds[kind].change;
    let changed = now.tool[robot].is_some_and(|tool| tool != what.tool);
    let mut start = now.time[robot] + if changed { change } else { 0 };
    for before in &what.after {
        start = start.max(now.ready[*before]);
    }
    if let Some(zone) = what.zone {
        start = start.max(now.zone[zone]);
    }
    let end = start + what.ticks;
    let first = now.first[robot].or(Some(what.tool));
    let back = if first == Some(what.tool) { 0 } else { change };
    if end + back > shop.stations[at].ticks {
        return None;
    }
    let mut next = now.clone();
    next.time[robot] = end;
    next.tool[robot] = Some(what.tool);
    next.first[robot] = first;
    next.ready[group] = next.ready[group].max(end);
    if let Some(zone) = what.zone {
        next.zone[zone] = end;
    }
    next.left[group] -= 1;
    Some(next)
}

fn small_shop() -> impl Strategy<Value = Shop> {
    let one = (
        1_u32..3,
        2_u32..6,
        0_usize..2,
        prop::option::of(0_usize..2),
        0_usize..3,
        any::<bool>(),
    );
    (prop::collection::vec(one, 2..4), 8_u32..13, 0_u32..3).prop_map(|(rows, ticks, change)| {
        let mut groups: Vec<Group> = Vec::new();
        for (joints, ticks, tool, zone, place, follows) in rows {
            let stations = match place {
                0 => vec![0],
                1 => vec![1],
                _ => vec![0, 1],
            };
            let last = *stations.last().unwrap();
            let fits = groups
                .last()
                .is_some_and(|before: &Group| before.stations[0] <= last);
            let after = if follows && fits {
                vec![groups.len() - 1]
            } else {
                vec![]
            };
            groups.push(Group {
                tool,
                kinds: vec![0],
                zone,
                after,
                ..group(joints, ticks, &stations)
            });
        }
        Shop {
            groups,
            stations: vec![Place { ticks, most: 2 }; 2],
            kinds: vec![Kind { cost: 1, change }],
        }
    })
}

/// The same shops every time: the search is no proof, so that a rare shop that it
/// does not finish must not come up by chance.
#[test]
fn small_shops_take_as_few_robots_as_trying_everything_finds() {
    let config = ProptestConfig::with_cases(150);
    let rng = TestRng::deterministic_rng(RngAlgorithm::ChaCha);
    let mut runner = TestRunner::new_with_rng(config, rng);
    let all = runner.run(&small_shop(), |shop| {
        let Ok(plan) = solved(&shop, 2_000) else {
            return Ok(());
        };
        match fewest(&shop) {
            Some(robots) => {
                prop_assert!(plan.holds(), "{robots} robots suffice for {shop:?}");
                prop_assert_eq!(plan.robots(), robots);
                prop_assert!(plan.bound <= robots as u64);
            }
            None => prop_assert!(!plan.holds()),
        }
        Ok(())
    });
    all.unwrap();
}
