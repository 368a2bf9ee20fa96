//! Sides, people, models and rules of place.

use balance::line::{
    Line, Model, Placed, Post, Side, Station, balance_line, broken_rules, least_takt_of_line,
};
use proptest::prelude::*;

use crate::{LIMITS, calmly, orders, work};

/// The fewest stations of all ways to put tasks on posts in all orders, up to
/// `most`; judged by the checker alone.
fn fewest_by_all(line: &Line, takt: u32, most: usize) -> Option<usize> {
    let n = line.work.ticks.len();
    let posts = line.posts();
    let all: Vec<usize> = (0..n).collect();
    let orders = orders(&all);
    for stations in 1..=most {
        let places = stations * posts.len();
        for code in 0..places.pow(n as u32) {
            let place = |task: usize| code / places.pow(task as u32) % places;
            for order in &orders {
                let mut made: Vec<Station> = (0..stations)
                    .map(|_| Station {
                        posts: posts
                            .iter()
                            .map(|side| Post {
                                side: *side,
                                work: Vec::new(),
                            })
                            .collect(),
                    })
                    .collect();
                for (at, task) in order.iter().enumerate() {
                    let (station, post) = (place(*task) / posts.len(), place(*task) % posts.len());
                    // Only the order counts for the checker.
                    made[station].posts[post].work.push(Placed {
                        task: *task,
                        start: at as u64,
                        end: at as u64,
                    });
                }
                if broken_rules(line, takt, &made).is_empty() {
                    return Some(stations);
                }
            }
        }
    }
    None
}

fn side() -> impl Strategy<Value = Side> {
    prop_oneof![Just(Side::Left), Just(Side::Right), Just(Side::Either)]
}

/// A line of four tasks with a bit of everything.
fn line() -> impl Strategy<Value = Line> {
    let sides = prop::option::of(prop::collection::vec(side(), 4));
    let pair = (0_usize..4, 0_usize..4);
    (
        work(4..5, 9),
        sides,
        1_u32..3,
        pair,
        0_usize..6,
        any::<bool>(),
    )
        .prop_map(|(work, sides, people, (one, other), rule, mixed)| {
            let mut line = Line::plain(work);
            line.sides = sides.unwrap_or_default();
            line.people = if line.sides.is_empty() { people } else { 1 };
            if one != other {
                match rule {
                    0 => line.rules.together.push((one, other)),
                    1 => line.rules.apart.push((one, other)),
                    2 => line.rules.fixed.push((one, other.min(2))),
                    3 => line
                        .rules
                        .distance
                        .push((one.min(other), one.max(other), 1)),
                    _ => {}
                }
            }
            if mixed {
                let second = line.work.ticks.iter().rev().copied().collect();
                line.models = vec![
                    Model {
                        share: 2,
                        ticks: line.work.ticks.clone(),
                    },
                    Model {
                        share: 1,
                        ticks: second,
                    },
                ];
                line.overload_per_mille = 200;
            }
            line
        })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(60))]

    #[test]
    fn a_line_needs_the_stations_of_plain_enumeration(line in line(), takt in 9_u32..16) {
        let found = calmly(|watch| balance_line(&line, takt, &LIMITS, watch));
        let fewest = fewest_by_all(&line, takt, 3);
        match (found, fewest) {
            (Ok(found), fewest) => {
                prop_assert_eq!(broken_rules(&line, takt, &found.stations), Vec::<String>::new());
                prop_assert!(found.proven);
                match fewest {
                    Some(fewest) => prop_assert_eq!(found.stations.len(), fewest),
                    None => prop_assert!(found.stations.len() > 3),
                }
            }
            (Err(faults), fewest) => prop_assert_eq!(fewest, None, "{:?}", faults),
        }
    }

    #[test]
    fn a_least_takt_holds_and_one_tick_less_does_not(line in line(), stations in 2_u32..4) {
        let found = calmly(|watch| least_takt_of_line(&line, stations, &LIMITS, watch));
        let Ok((found, takt)) = found else { return Ok(()) };
        prop_assert_eq!(broken_rules(&line, takt, &found.stations), Vec::<String>::new());
        prop_assert!(found.proven);
        let below = takt > 1 && fewest_by_all(&line, takt - 1, stations.min(2) as usize).is_some();
        prop_assert!(!below, "takt {} is not the least", takt);
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(40))]

    #[test]
    fn a_longer_two_sided_line_breaks_no_rule(
        work in work(12..30, 20),
        sides in prop::collection::vec(side(), 30),
        takt in 25_u32..50,
        people in 1_u32..3,
    ) {
        let mut line = Line::plain(work);
        line.sides = sides[..line.work.ticks.len()].to_vec();
        line.people = people;
        line.rules.together.push((2, 3));
        line.rules.apart.push((0, 5));
        let few = balance::Limits { steps: Some(30_000), ..LIMITS };
        let Ok(found) = calmly(|watch| balance_line(&line, takt, &few, watch)) else {
            return Ok(());
        };
        // With so few steps there may be none to show.
        if found.stations.is_empty() {
            prop_assert!(!found.proven);
            return Ok(());
        }
        prop_assert_eq!(broken_rules(&line, takt, &found.stations), Vec::<String>::new());
        prop_assert!(found.bound <= found.stations.len() as u64);
    }
}
