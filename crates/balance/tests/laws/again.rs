//! The least work moved.

use balance::again::balance_again;
use balance::line::{Line, Rules, Side, broken_rules};
use balance::{Limits, Watch};
use proptest::prelude::*;

use crate::{LIMITS, work};

fn least_by_all(line: &Line, takt: u32, today: &[usize], stations: usize) -> Option<u64> {
    let n = today.len();
    let mut best = None;
    for code in 0..stations.pow(n as u32) {
        let at: Vec<usize> = (0..n)
            .map(|task| code / stations.pow(task as u32) % stations)
            .collect();
        let in_order = (0..n).all(|task| line.work.after[task].iter().all(|b| at[*b] <= at[task]));
        let fits = (0..stations).all(|station| {
            let here = (0..n).filter(|task| at[*task] == station);
            here.map(|task| line.work.ticks[task]).sum::<u32>() <= takt
        });
        if in_order && fits {
            let moved = (0..n).filter(|task| at[*task] != today[*task]);
            let moved: u64 = moved.map(|task| u64::from(line.work.ticks[task])).sum();
            best = Some(best.map_or(moved, |best: u64| best.min(moved)));
        }
    }
    best
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(120))]

    #[test]
    fn no_more_work_moves_than_must(
        work in work(3..7, 9),
        today in prop::collection::vec(0_usize..3, 7),
        takt in 9_u32..20,
    ) {
        let line = Line::plain(work);
        let today = &today[..line.work.ticks.len()];
        let found = balance_again(&line, takt, today, 3, &LIMITS, &Watch::none());
        let least = least_by_all(&line, takt, today, 3);
        match found {
            Ok(found) => {
                prop_assert_eq!(broken_rules(&line, takt, &found.stations), Vec::<String>::new());
                prop_assert_eq!(Some(found.moved), least);
                prop_assert!(found.proven && found.bound == found.moved);
                let moved: u64 = found.moves.iter().map(|m| u64::from(line.work.ticks[m.0])).sum();
                prop_assert_eq!(moved, found.moved);
            }
            Err(_) => prop_assert_eq!(least, None),
        }
    }
}

/// Whether an assignment keeps the rules of place.
fn keeps_rules(rules: &Rules, at: &[usize]) -> bool {
    rules.together.iter().all(|(a, b)| at[*a] == at[*b])
        && rules.apart.iter().all(|(a, b)| at[*a] != at[*b])
        && rules.fixed.iter().all(|(task, place)| at[*task] == *place)
        && rules
            .distance
            .iter()
            .all(|(a, b, far)| at[*a] + *far as usize <= at[*b])
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(150))]

    #[test]
    fn with_rules_of_place_no_more_work_moves_than_must(
        work in work(4..7, 9),
        today in prop::collection::vec(0_usize..3, 7),
        takt in 14_u32..30,
        pairs in prop::collection::vec((0_usize..7, 0_usize..7, 0_u8..4), 1..4),
    ) {
        let n = work.ticks.len();
        let mut line = Line::plain(work);
        for (one, other, rule) in pairs {
            let (one, other) = (one % n, other % n);
            match rule {
                _ if one == other => {}
                0 => line.rules.together.push((one, other)),
                1 => line.rules.apart.push((one, other)),
                2 => line.rules.fixed.push((one, other % 3)),
                _ => line.rules.distance.push((one, other, 1)),
            }
        }
        let today = &today[..n];
        let least = (0..3_usize.pow(n as u32))
            .map(|code| (0..n).map(|task| code / 3_usize.pow(task as u32) % 3).collect())
            .filter(|at: &Vec<usize>| keeps_rules(&line.rules, at))
            .filter(|at| (0..n).all(|task| line.work.after[task].iter().all(|b| at[*b] <= at[task])))
            .filter(|at| (0..3).all(|station| {
                let here = (0..n).filter(|task| at[*task] == station);
                here.map(|task| line.work.ticks[task]).sum::<u32>() <= takt
            }))
            .map(|at| {
                let moved = (0..n).filter(|task| at[*task] != today[*task]);
                moved.map(|task| u64::from(line.work.ticks[task])).sum::<u64>()
            })
            .min();
        match balance_again(&line, takt, today, 3, &LIMITS, &Watch::none()) {
            Ok(found) => {
                prop_assert_eq!(broken_rules(&line, takt, &found.stations), Vec::<String>::new());
                prop_assert_eq!((Some(found.moved), found.bound), (least, found.moved));
            }
            Err(_) => prop_assert_eq!(least, None),
        }
    }
}

#[test]
fn where_only_rules_of_place_are_broken_the_bound_is_met_at_once() {
    // Three pairs that must share a station stand apart, at stations with room.
    let work = balance::Work {
        ticks: vec![7, 3, 5, 6, 4, 9],
        after: vec![Vec::new(); 6],
    };
    let mut line = Line::plain(work);
    line.rules.together = vec![(0, 1), (2, 3)];
    line.rules.apart = vec![(4, 5)];
    let few = Limits {
        steps: Some(200),
        ..LIMITS
    };
    let today = [0, 1, 1, 2, 3, 3];
    let found = balance_again(&line, 20, &today, 4, &few, &Watch::none()).unwrap();
    assert_eq!((found.moved, found.bound), (3 + 5 + 4, 12));
}

#[test]
fn a_line_that_holds_takt_stays_as_it_is() {
    let work = balance::Work {
        ticks: vec![6, 4, 5, 5],
        after: vec![vec![], vec![0], vec![0], vec![2]],
    };
    let line = Line::plain(work);
    let found = balance_again(&line, 10, &[0, 0, 1, 1], 2, &LIMITS, &Watch::none()).unwrap();
    assert_eq!((found.moved, found.proven), (0, true));
    assert!(found.moves.is_empty());
}

/// Whether one pair of posts can do these tasks in takt, by every order of
/// work on every choice of posts.
fn one_station_holds(line: &Line, takt: u32, tasks: &[usize]) -> bool {
    fn go_on(
        line: &Line,
        takt: u32,
        left: &[usize],
        free: [u32; 2],
        ends: &mut Vec<(usize, u32)>,
    ) -> bool {
        if left.is_empty() {
            return true;
        }
        for (at, task) in left.iter().enumerate() {
            let befores = &line.work.after[*task];
            if left.iter().any(|other| befores.contains(other)) {
                continue;
            }
            for post in 0..2 {
                let wrong = [Side::Right, Side::Left][post];
                let ready = ends.iter().filter(|(done, _)| befores.contains(done));
                let start = ready.map(|(_, end)| *end).fold(free[post], u32::max);
                let end = start + line.work.ticks[*task];
                if line.side(*task) == wrong || end > takt {
                    continue;
                }
                let mut rest = left.to_vec();
                rest.remove(at);
                let mut then = free;
                then[post] = end;
                ends.push((*task, end));
                let holds = go_on(line, takt, &rest, then, ends);
                ends.pop();
                if holds {
                    return true;
                }
            }
        }
        false
    }
    go_on(line, takt, tasks, [0; 2], &mut Vec::new())
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(80))]

    #[test]
    fn on_two_sides_no_more_work_moves_than_must(
        work in work(3..6, 9),
        sides in prop::collection::vec(0_usize..3, 6),
        today in prop::collection::vec(0_usize..2, 6),
        takt in 9_u32..16,
    ) {
        let n = work.ticks.len();
        let mut line = Line::plain(work);
        line.sides = sides[..n].iter().map(|side| [Side::Left, Side::Right, Side::Either][*side]).collect();
        let today = &today[..n];
        let mut least: Option<u64> = None;
        for code in 0..1_usize << n {
            let at: Vec<usize> = (0..n).map(|task| code >> task & 1).collect();
            let in_order = (0..n).all(|task| line.work.after[task].iter().all(|b| at[*b] <= at[task]));
            let holds = in_order && (0..2).all(|station| {
                let here: Vec<usize> = (0..n).filter(|task| at[*task] == station).collect();
                one_station_holds(&line, takt, &here)
            });
            if holds {
                let moved = (0..n).filter(|task| at[*task] != today[*task]);
                let moved: u64 = moved.map(|task| u64::from(line.work.ticks[task])).sum();
                least = Some(least.map_or(moved, |least| least.min(moved)));
            }
        }
        match balance_again(&line, takt, today, 2, &LIMITS, &Watch::none()) {
            Ok(found) => {
                prop_assert_eq!(broken_rules(&line, takt, &found.stations), Vec::<String>::new());
                prop_assert_eq!(Some(found.moved), least);
                prop_assert!(found.bound <= found.moved);
            }
            Err(_) => prop_assert_eq!(least, None),
        }
    }

    #[test]
    fn however_few_the_steps_an_answer_is_sound_and_no_answer_says_why(
        work in work(8..14, 9),
        today in prop::collection::vec(0_usize..4, 14),
        takt in 10_u32..16,
        steps in 0_u64..200,
    ) {
        let line = Line::plain(work);
        let today = &today[..line.work.ticks.len()];
        let few = Limits { steps: Some(steps), ..LIMITS };
        match balance_again(&line, takt, today, 4, &few, &Watch::none()) {
            Ok(found) => {
                prop_assert_eq!(broken_rules(&line, takt, &found.stations), Vec::<String>::new());
                prop_assert!(found.bound <= found.moved);
            }
            Err(faults) => prop_assert!(!faults[0].to_string().is_empty()),
        }
    }
}

/// A line of two sides and `stations` stations of some eight tasks, about 95 %
/// full, whose sides follow each other loosely; a machine that fills the posts
/// of its station stands twice at the middle one.
fn with_two_machines_at_one_station(stations: usize, takt: u32) -> (Line, Vec<usize>) {
    let mut work = balance::Work {
        ticks: Vec::new(),
        after: Vec::new(),
    };
    let (mut sides, mut today) = (Vec::new(), Vec::new());
    let mut machines = Vec::new();
    let middle = stations / 2;
    for station in 0..stations {
        for side in [Side::Left, Side::Right] {
            if station == middle {
                for _ in 0..2 {
                    machines.push(work.ticks.len());
                    work.ticks.push(takt);
                    work.after.push(Vec::new());
                    sides.push(side);
                    today.push(station);
                }
                continue;
            }
            let parts: &[u32] = match station % 3 {
                0 => &[300, 240, 200, 120],
                1 => &[420, 180, 160, 90],
                _ => &[250, 230, 210, 90, 60],
            };
            for (at, part) in parts.iter().enumerate() {
                let task = work.ticks.len();
                work.ticks.push(part * takt / 1_000);
                work.after
                    .push(if at > 0 { vec![task - 1] } else { Vec::new() });
                sides.push(side);
                today.push(station);
            }
        }
    }
    let mut line = Line::plain(work);
    line.sides = sides;
    let left = |at: usize| machines[at];
    line.rules.together.push((left(0), left(2)));
    line.rules.together.push((left(1), left(3)));
    (line, today)
}

#[test]
fn where_posts_wait_for_each_other_some_work_must_move() {
    let work = balance::Work {
        ticks: vec![4, 6, 2],
        after: vec![vec![], vec![0], vec![]],
    };
    let mut line = Line::plain(work);
    line.sides = vec![Side::Left, Side::Right, Side::Either];
    let few = Limits {
        steps: Some(2),
        ..LIMITS
    };
    let found = balance_again(&line, 9, &[0, 0, 0], 2, &LIMITS, &Watch::none()).unwrap();
    assert_eq!((found.moved, found.bound), (6, 6));
    if let Ok(found) = balance_again(&line, 9, &[0, 0, 0], 2, &few, &Watch::none()) {
        assert!(found.bound >= 2);
    }
}

#[test]
fn a_second_machine_gets_a_station_and_little_else_moves() {
    let takt = 1_000;
    let (line, today) = with_two_machines_at_one_station(12, takt);
    let few = Limits {
        steps: Some(80_000),
        ..LIMITS
    };
    let found = balance_again(&line, takt, &today, 12, &few, &Watch::none()).unwrap();
    assert_eq!(
        broken_rules(&line, takt, &found.stations),
        Vec::<String>::new()
    );
    // The machine's two posts, and what a station's people did there.
    assert!(found.bound >= 2_000, "{}", found.bound);
    assert!(found.moved <= 5_500, "{}", found.moved);
}
