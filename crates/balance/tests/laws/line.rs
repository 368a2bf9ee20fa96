//! Sides, people, models and rules of place.

use balance::Watch;
use balance::line::{
    Line, Model, Placed, Post, Side, Station, balance_line, broken_rules, given_station,
    least_takt_of_line,
};
use proptest::prelude::*;

use crate::{LIMITS, orders, work};

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
        let found = balance_line(&line, takt, &LIMITS, &Watch::none());
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
        let found = least_takt_of_line(&line, stations, &LIMITS, &Watch::none());
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
        let Ok(found) = balance_line(&line, takt, &few, &Watch::none()) else {
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

/// The least time in which the posts of a station are all done, by every order
/// of work on every choice of posts.
fn shortest_by_all(line: &Line) -> u64 {
    fn go_on(line: &Line, left: &[usize], free: &[u64], ends: &mut [u64], least: &mut u64) {
        if free.iter().any(|end| end >= least) {
            return;
        }
        if left.is_empty() {
            *least = free.iter().copied().max().unwrap_or(0);
            return;
        }
        for (at, task) in left.iter().enumerate() {
            let befores = &line.work.after[*task];
            if left.iter().any(|other| befores.contains(other)) {
                continue;
            }
            for (post, stands) in line.posts().iter().enumerate() {
                let side = line.side(*task);
                if side != Side::Either && *stands != Side::Either && side != *stands {
                    continue;
                }
                let ready = befores.iter().map(|before| ends[*before]);
                let start = ready.fold(free[post], u64::max);
                let mut then = free.to_vec();
                then[post] = start + u64::from(line.work.ticks[*task]);
                ends[*task] = then[post];
                let mut rest = left.to_vec();
                rest.remove(at);
                go_on(line, &rest, &then, ends, least);
            }
        }
    }
    let all: Vec<usize> = (0..line.work.ticks.len()).collect();
    let mut least = u64::MAX;
    let free = vec![0; line.posts().len()];
    go_on(line, &all, &free, &mut vec![0; all.len()], &mut least);
    least
}

fn longest_post(station: &Station) -> u64 {
    let work = station.posts.iter().flat_map(|post| &post.work);
    work.map(|placed| placed.end).max().unwrap_or(0)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(600))]

    #[test]
    fn a_given_station_is_done_as_soon_as_any_order_of_work_can_be(
        work in work(3..8, 20),
        sides in prop::collection::vec(side(), 8),
        two_sided in any::<bool>(),
        people in 1_u32..3,
        takt in 5_u32..80,
    ) {
        let n = work.ticks.len();
        let mut line = Line::plain(work);
        line.people = people;
        if two_sided {
            line.sides = sides[..n].to_vec();
        }
        let all: Vec<usize> = (0..n).collect();
        let station = given_station(&line, takt, &all);
        prop_assert_eq!(longest_post(&station), shortest_by_all(&line));
        // Whatever it is, takt is not exceeded by the checker's count.
        let least = shortest_by_all(&line) as u32;
        prop_assert_eq!(broken_rules(&line, least, &[station]), Vec::<String>::new());
    }

    #[test]
    fn a_task_longer_by_some_seconds_makes_its_station_longer_by_no_more(
        work in work(8..11, 60),
        sides in prop::collection::vec(side(), 13),
        task in 0_usize..8,
        more in 1_u32..6,
    ) {
        let n = work.ticks.len();
        let mut line = Line::plain(work);
        line.sides = sides[..n].to_vec();
        line.people = 2;
        let all: Vec<usize> = (0..n).collect();
        let before = longest_post(&given_station(&line, 60, &all));
        line.work.ticks[task] += more;
        let after = longest_post(&given_station(&line, 60, &all));
        prop_assert!(before <= after && after <= before + u64::from(more), "{before} {after}");
    }
}

#[test]
fn rules_that_clash_are_named_and_no_others() {
    let work = balance::Work {
        ticks: vec![3, 3, 3, 3, 3],
        after: vec![vec![], vec![0], vec![1], vec![], vec![]],
    };
    let mut line = Line::plain(work);
    line.rules.together = vec![(0, 2), (3, 4)];
    line.rules.apart = vec![(0, 3), (0, 1)];
    let told = |line: &Line| balance_line(line, 10, &LIMITS, &Watch::none()).unwrap_err();
    let clash = balance::Fault::Clash {
        rules: vec![
            balance::PlaceRule::Together(0, 2),
            balance::PlaceRule::Apart(0, 1),
        ],
        takt_helps: false,
    };
    assert_eq!(told(&line), vec![clash]);
    line.rules = balance::line::Rules {
        apart: vec![(0, 4)],
        fixed: vec![(0, 0), (1, 0), (2, 0), (3, 0)],
        ..Default::default()
    };
    let text = told(&line)[0].to_string();
    // What the third follows stands there too, fixed or not.
    for task in 3..5 {
        assert!(
            text.contains(&format!("task {task} is fixed to station 1")),
            "{text}"
        );
    }
    assert!(
        text.ends_with("or raise takt") && !text.contains("task 5"),
        "{text}"
    );
}

#[test]
fn what_pushes_a_fixed_task_beyond_its_station_is_named() {
    let work = balance::Work {
        ticks: vec![3, 3, 3],
        after: vec![vec![], vec![0], vec![1]],
    };
    let mut line = Line::plain(work);
    line.rules.fixed = vec![(0, 4), (2, 0)];
    let told = balance_line(&line, 10, &LIMITS, &Watch::none()).unwrap_err();
    let text = told[0].to_string();
    assert!(
        text.contains("task 1 before task 2 before task 3"),
        "{text}"
    );
    assert!(
        !text.contains("add stations") && !text.contains("takt"),
        "{text}"
    );
}
