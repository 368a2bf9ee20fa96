//! One side, one person a station.

use balance::{Balance, Fault, Watch, Work, fewest_stations, least_takt};
use proptest::prelude::*;

use crate::{LIMITS, work};

/// The fewest stations by trying, for every set of tasks, each as the last:
/// of ways to do a set the one with fewest stations and, of these, the least
/// work at the last is best for all that can follow.
fn fewest_by_sets(work: &Work, takt: u32) -> usize {
    let n = work.ticks.len();
    let mut best = vec![(usize::MAX, 0); 1 << n];
    best[0] = (0, takt);
    for set in 0..1_usize << n {
        if best[set].0 == usize::MAX {
            continue;
        }
        for task in 0..n {
            let ready = work.after[task].iter().all(|before| set >> before & 1 == 1);
            if set >> task & 1 == 1 || !ready {
                continue;
            }
            let (stations, used) = best[set];
            let ticks = work.ticks[task];
            let next = if used + ticks <= takt {
                (stations, used + ticks)
            } else {
                (stations + 1, ticks)
            };
            let there = &mut best[set | 1 << task];
            *there = next.min(*there);
        }
    }
    best[(1 << n) - 1].0
}

fn assert_sound(work: &Work, takt: u64, found: &Balance) {
    let mut at = vec![None; work.ticks.len()];
    for (station, tasks) in found.stations.iter().enumerate() {
        for task in tasks {
            assert!(at[*task].replace(station).is_none(), "a task is done twice");
            for before in &work.after[*task] {
                assert!(at[*before].is_some(), "a task comes before what it follows");
            }
        }
    }
    assert!(at.iter().all(Option::is_some), "a task is not done");
    assert!(found.longest(work) <= takt, "a station exceeds takt");
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    #[test]
    fn the_fewest_stations_are_those_of_plain_enumeration(
        work in work(1..12, 12),
        spare in 0_u32..14,
    ) {
        let takt = work.ticks.iter().max().unwrap() + spare;
        let found = fewest_stations(&work, takt, &LIMITS, &Watch::none()).unwrap();
        assert_sound(&work, takt.into(), &found);
        let fewest = fewest_by_sets(&work, takt);
        prop_assert!(found.proven);
        prop_assert_eq!(found.stations.len(), fewest);
        prop_assert_eq!(found.bound, fewest as u64);
    }

    #[test]
    fn large_tasks_beside_small_ones_are_packed_no_tighter_than_they_can_be(
        mut work in work(6..13, 6),
        large in 8_u32..14,
    ) {
        for ticks in work.ticks.iter_mut().step_by(2) {
            *ticks += large;
        }
        let takt = 2 * large + 13;
        let found = fewest_stations(&work, takt, &LIMITS, &Watch::none()).unwrap();
        assert_sound(&work, takt.into(), &found);
        prop_assert_eq!(found.stations.len(), fewest_by_sets(&work, takt));
        prop_assert!(found.proven);
    }

    #[test]
    fn the_least_takt_is_the_first_that_so_many_stations_can_meet(
        work in work(1..9, 12),
        stations in 1_u32..6,
    ) {
        let found = least_takt(&work, stations, &LIMITS, &Watch::none()).unwrap();
        let takt = found.longest(&work) as u32;
        assert_sound(&work, takt.into(), &found);
        prop_assert!(found.stations.len() <= stations as usize);
        prop_assert!(fewest_by_sets(&work, takt) <= stations as usize);
        let longest = *work.ticks.iter().max().unwrap();
        prop_assert!(takt == longest || fewest_by_sets(&work, takt - 1) > stations as usize);
        prop_assert!(found.proven);
    }

    #[test]
    fn more_takt_never_needs_more_stations(work in work(5..40, 30), takt in 30_u32..60) {
        let stations = |takt| {
            let found = fewest_stations(&work, takt, &LIMITS, &Watch::none()).unwrap();
            assert_sound(&work, takt.into(), &found);
            assert!(found.bound <= found.stations.len() as u64);
            found.stations.len()
        };
        prop_assert!(stations(takt + 5) <= stations(takt));
    }
}

#[test]
fn a_circle_is_named_with_all_its_tasks() {
    let work = Work {
        ticks: vec![1; 4],
        after: vec![vec![], vec![3], vec![1], vec![2]],
    };
    let faults = fewest_stations(&work, 9, &LIMITS, &Watch::none()).unwrap_err();
    let Fault::Circle { tasks } = &faults[0] else {
        panic!("{faults:?}");
    };
    assert_eq!(tasks.len(), 3);
    let told = faults[0].to_string();
    assert!(
        told.starts_with("the order goes in a circle: task"),
        "{told}"
    );
}

#[test]
fn every_task_longer_than_takt_is_told_with_what_would_free_it() {
    let work = Work {
        ticks: vec![12, 5, 11],
        after: vec![vec![]; 3],
    };
    let faults = fewest_stations(&work, 10, &LIMITS, &Watch::none()).unwrap_err();
    assert_eq!(faults.len(), 2);
    assert_eq!(
        faults[0].to_string(),
        "task 1 takes 12 at its quickest, 2 more than a station may take (10); split it, let \
         stations in parallel do it, or allow a takt of 12"
    );
}

#[test]
fn two_thousand_tasks_are_taken_and_one_more_is_not() {
    let work = |tasks: usize| Work {
        ticks: (0..tasks as u32).map(|task| 5 + task * 7 % 31).collect(),
        after: (0..tasks)
            .map(|task| (task >= 9).then(|| task - 9).into_iter().collect())
            .collect(),
    };
    let few = balance::Limits {
        steps: Some(200_000),
        ..LIMITS
    };
    let found = fewest_stations(&work(2_000), 120, &few, &Watch::none()).unwrap();
    assert_sound(&work(2_000), 120, &found);
    assert!(found.bound <= found.stations.len() as u64);
    let faults = fewest_stations(&work(2_001), 120, &few, &Watch::none()).unwrap_err();
    assert_eq!(
        faults,
        [Fault::TooMany {
            tasks: 2_001,
            most: 2_000
        }]
    );
}

#[test]
fn the_answer_is_the_same_on_one_thread_and_on_many() {
    let work = Work {
        ticks: (0..60).map(|task| 20 + task * 13 % 37).collect(),
        after: (0..60_usize)
            .map(|task| {
                (task >= 7)
                    .then(|| task - 7 + task % 3)
                    .into_iter()
                    .collect()
            })
            .collect(),
    };
    let solve = |threads| {
        let pool = rayon::ThreadPoolBuilder::new()
            .num_threads(threads)
            .build()
            .unwrap();
        pool.install(|| fewest_stations(&work, 100, &LIMITS, &Watch::none()).unwrap())
    };
    assert_eq!(solve(1), solve(4));
}
