//! The least work moved.

use balance::again::balance_again;
use balance::line::{Line, broken_rules};
use proptest::prelude::*;

use crate::{LIMITS, calmly, work};

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
        let found = calmly(|watch| balance_again(&line, takt, today, 3, &LIMITS, watch));
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

#[test]
fn a_line_that_holds_takt_stays_as_it_is() {
    let work = balance::Work {
        ticks: vec![6, 4, 5, 5],
        after: vec![vec![], vec![0], vec![0], vec![2]],
    };
    let line = Line::plain(work);
    let found = calmly(|watch| balance_again(&line, 10, &[0, 0, 1, 1], 2, &LIMITS, watch)).unwrap();
    assert_eq!((found.moved, found.proven), (0, true));
    assert!(found.moves.is_empty());
}
