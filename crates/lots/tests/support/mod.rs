//! Published problems, and the data beside the project where it is there.
#![allow(dead_code, reason = "no test uses all of it")]

use lots::model::{Checked, Item, Line, LineIdx, Problem, Way};

/// The ten metal stampings of E. E. Bomberger, "A dynamic programming approach
/// to a lot size scheduling problem", Management Science 12 (1966) 778-784, as
/// restated with daily holding costs in S. Axsäter, Inventory Control (2nd ed.,
/// example 7.1): pieces used a day, pieces made a day, days and dollars of a
/// changeover, dollars that a piece costs.
const STAMPINGS: [(f64, f64, f64, f64, f64); 10] = [
    (400.0, 30_000.0, 0.125, 15.0, 0.0065),
    (400.0, 8_000.0, 0.125, 20.0, 0.1775),
    (800.0, 9_500.0, 0.25, 30.0, 0.1275),
    (1_600.0, 7_500.0, 0.125, 10.0, 0.1),
    (80.0, 2_000.0, 0.5, 110.0, 2.785),
    (80.0, 6_000.0, 0.25, 50.0, 0.2675),
    (24.0, 2_400.0, 1.0, 310.0, 1.5),
    (340.0, 1_300.0, 0.5, 130.0, 5.9),
    (340.0, 2_000.0, 0.75, 200.0, 0.9),
    (400.0, 15_000.0, 0.125, 5.0, 0.04),
];

/// A tenth of its cost a year of 240 days to keep a piece, as in the source.
const KEEPING_A_DAY: f64 = 0.10 / 240.0;

/// The stampings on one press, used at `scale` times the published rates.
pub(crate) fn bomberger(scale: f64) -> Problem {
    let item = |(n, row): (usize, &(f64, f64, f64, f64, f64))| Item {
        name: format!("stamping {}", n + 1),
        rate_per_day: row.0 * scale,
        hold_cost_per_day: row.4 * KEEPING_A_DAY,
        max_cover_days: None,
        max_stock: None,
        ways: vec![Way {
            line: LineIdx(0),
            make_per_day: row.1,
            changeover_days: row.2,
            changeover_cost: row.3,
        }],
    };
    Problem {
        items: STAMPINGS.iter().enumerate().map(item).collect(),
        lines: lines(1),
    }
}

/// So many lines that are always available.
pub(crate) fn lines(count: usize) -> Vec<Line> {
    let line = |n: usize| Line {
        name: format!("P{}", n + 1),
        available: 1.0,
    };
    (0..count).map(line).collect()
}

/// The problem with its numbers checked.
pub(crate) fn checked(problem: &Problem) -> Checked {
    match problem.check() {
        Ok(checked) => checked,
        Err(faults) => panic!("{faults:?}"),
    }
}

/// A problem of the data beside the project, with its known figures.
pub(crate) struct Known {
    pub(crate) name: String,
    pub(crate) problem: Problem,
    pub(crate) figures: serde_json::Value,
}

/// The generated problems beside the project; none where they are not there.
#[allow(
    clippy::disallowed_methods,
    reason = "a test reads the data beside the project"
)]
pub(crate) fn generated() -> Vec<Known> {
    let path = concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/../../../shared/data/elsp/generated_dev.json"
    );
    let Ok(text) = std::fs::read_to_string(path) else {
        println!("no data beside the project; only published problems are tried");
        return Vec::new();
    };
    let cases: Vec<serde_json::Value> = serde_json::from_str(&text).unwrap();
    cases.into_iter().map(known).collect()
}

fn known(case: serde_json::Value) -> Known {
    let column = |key: &str| -> Vec<f64> {
        let values = case[key].as_array().unwrap().iter();
        values.map(|value| value.as_f64().unwrap()).collect()
    };
    let (rate, make) = (column("demand"), column("rate"));
    let (days, cost, hold) = (column("setup_time"), column("setup_cost"), column("hold"));
    let item = |n: usize| Item {
        name: format!("item {}", n + 1),
        rate_per_day: rate[n],
        hold_cost_per_day: hold[n],
        max_cover_days: None,
        max_stock: None,
        ways: vec![Way {
            line: LineIdx(0),
            make_per_day: make[n],
            changeover_days: days[n],
            changeover_cost: cost[n],
        }],
    };
    Known {
        name: format!("generated {}", case["id"]),
        problem: Problem {
            items: (0..rate.len()).map(item).collect(),
            lines: lines(1),
        },
        figures: case,
    }
}
