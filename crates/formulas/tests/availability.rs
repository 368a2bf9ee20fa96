//! The two availabilities against the balance of a Markov chain of all the states
//! a station can be in, which knows neither formula.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test that fails says so"
)]

use formulas::rate_plan::{clock_availability, running_availability};
use proptest::prelude::*;
use units::Minutes;

/// The long-run share of the time in state 0 of a chain with so many states, whose
/// ways are (from, to, moves a minute).
fn share_of_first(states: usize, ways: &[(usize, usize, f64)]) -> f64 {
    // what flows into a state flows out of it; the last balance follows from the
    // others, and in its place the shares make one
    let mut rows = vec![vec![0.0; states + 1]; states];
    for &(from, to, rate) in ways {
        rows[to][from] += rate;
        rows[from][from] -= rate;
    }
    rows[states - 1] = vec![1.0; states + 1];
    for column in 0..states {
        let by_size =
            |a: &usize, b: &usize| rows[*a][column].abs().total_cmp(&rows[*b][column].abs());
        let pivot = (column..states).max_by(by_size).unwrap();
        rows.swap(column, pivot);
        for row in 0..states {
            if row == column {
                continue;
            }
            let factor = rows[row][column] / rows[column][column];
            let pivot = rows[column].clone();
            for (cell, taken) in rows[row].iter_mut().zip(pivot) {
                *cell -= factor * taken;
            }
        }
    }
    rows[0][states] / rows[0][0]
}

/// Causes as (minutes between, minutes to repair).
fn causes() -> impl Strategy<Value = Vec<(f64, f64)>> {
    proptest::collection::vec((5.0..2_000.0f64, 0.5..120.0f64), 1..5)
}

fn split(causes: &[(f64, f64)]) -> (Vec<Minutes>, Vec<Minutes>) {
    causes.iter().map(|c| (Minutes(c.0), Minutes(c.1))).unzip()
}

proptest! {
    /// State 0 runs, state i is down for cause i: while one is mended the others
    /// do not come.
    #[test]
    fn stops_by_running_time_are_a_chain_in_which_one_cause_waits_for_the_other(
        causes in causes(),
    ) {
        let ways: Vec<(usize, usize, f64)> = (1..)
            .zip(&causes)
            .flat_map(|(down, (between, repair))| {
                [(0, down, 1.0 / between), (down, 0, 1.0 / repair)]
            })
            .collect();
        let (between, repair) = split(&causes);
        let told = running_availability(between, repair).unwrap().value;
        let chain = share_of_first(causes.len() + 1, &ways);
        prop_assert!((told.0 - chain).abs() < 1e-9, "{} and {chain}", told.0);
    }

    /// A state for every set of causes that are down together: each comes and goes
    /// whatever the others do.
    #[test]
    fn stops_by_the_clock_are_a_chain_in_which_each_cause_goes_its_own_way(
        causes in causes(),
    ) {
        let states = 1_usize << causes.len();
        let mut ways = Vec::new();
        for state in 0..states {
            for (cause, (between, repair)) in causes.iter().enumerate() {
                let other = state ^ (1 << cause);
                let up = state & (1 << cause) == 0;
                ways.push((state, other, 1.0 / if up { between } else { repair }));
            }
        }
        let (between, repair) = split(&causes);
        let told = clock_availability(between, repair).unwrap().value;
        let chain = share_of_first(states, &ways);
        prop_assert!((told.0 - chain).abs() < 1e-9, "{} and {chain}", told.0);
    }
}
