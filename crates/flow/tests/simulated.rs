//! The engine against the figures under `checks/flow`, by long runs.
//!
//! Every run has 20 replications after a warm-up, and a seed of its own made
//! from the case's name. Each number is compared with its 99 % interval
//! (Student's t over the replications). One interval in a hundred misses by
//! chance, so a few of several hundred must; no interval is widened for that
//! (only a known rate that was itself simulated brings its own half-width).
//! Instead the misses are counted, and there may not be more than chance gives
//! in one suite of a thousand. (The numbers of one run go together, so the
//! count scatters a little more than that of independent ones; the bound is
//! that of independent ones all the same.) So that no single wrong figure can
//! hide among the misses allowed, none may lie outside its 99.9999 % interval;
//! and so that the test has teeth, the 99 % interval of a throughput may not be
//! wider than 1 % of it to either side.
//! Numbers that do not vary between replications must be right to a thousandth,
//! which the job cut by the end of the run can make up, or exactly where the
//! case says so.
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::print_stdout,
    reason = "a wrong check file must stop the test"
)]

mod support;

#[path = "support/plants.rs"]
mod plants;

use flow::statistics::{Interval, chi_square_quantile, most_outside, variance};
use std::fmt::Write;
use support::{Case, Figure, Tolerance};

/// Figures of the collection that a run gives.
const SIMULATED: usize = 267;

/// Models without any run, and why.
const NOT_SIMULATED: [(&str, &str); 11] = [
    ("merge and its line", "compares two chains"),
    ("slotted line", "the engine has no geometric times"),
    ("storage without limit", "the engine has no geometric times"),
    ("Bernoulli line", "the engine has no geometric times"),
    ("fluid pair", "the engine moves whole jobs"),
    ("transfer line", "checks of a formula, not of a line"),
    ("student t", "a quantile"),
    ("ar1", "a formula"),
    ("mser5", "a series of its own"),
    ("output variance", "measured below"),
    (
        "fixed times",
        "times job by job are the business of the engine's own tests",
    ),
];

/// A number measured against the number known.
struct Compared {
    what: String,
    values: Vec<f64>,
    known: f64,
    tolerance: Tolerance,
    /// Half-width of the known number's own interval, where it was simulated.
    known_half_width: f64,
}

impl Compared {
    fn varies(&self) -> bool {
        let spread = Interval::of(&self.values, 0.99).half_width;
        spread.is_finite() && spread > 1e-9 * self.known.abs().max(1e-3)
    }

    /// Whether a number that does not vary is right.
    fn meets(&self) -> bool {
        let mean = Interval::of(&self.values, 0.99).mean;
        let share = match self.tolerance {
            Tolerance::Exact => 1e-12,
            _ => 1e-3,
        };
        (mean - self.known).abs() <= share * self.known.abs() + 1e-12
    }

    fn inside(&self, level: f64) -> bool {
        let interval = Interval::of(&self.values, level);
        let own = interval.half_width;
        let width = (own * own + self.known_half_width * self.known_half_width).sqrt();
        (interval.mean - self.known).abs() <= width
    }

    fn line(&self) -> String {
        let interval = Interval::of(&self.values, 0.99);
        let (what, known) = (&self.what, self.known);
        let (mean, width) = (interval.mean, interval.half_width);
        format!("{what}: {mean:.6} +- {width:.6}, known {known:.6}")
    }
}

#[test]
fn long_runs_agree_with_the_references() {
    let all = compare_all();
    let (chance, fixed): (Vec<_>, Vec<_>) = all.iter().partition(|c| c.varies());
    for number in &fixed {
        assert!(number.meets(), "{}", number.line());
    }
    let outside: Vec<_> = chance.iter().filter(|c| !c.inside(0.99)).collect();
    let allowed = most_outside(chance.len(), 0.99, 0.001);
    let mut report = format!(
        "{} of {} intervals miss, {allowed} may; {} numbers do not vary\n",
        outside.len(),
        chance.len(),
        fixed.len()
    );
    for number in &outside {
        writeln!(report, "{}", number.line()).unwrap();
    }
    println!("{report}");
    assert!(outside.len() <= allowed, "{report}");
    let far = chance.iter().find(|c| !c.inside(1.0 - 1e-6));
    assert!(far.is_none(), "{}", far.unwrap().line());
    let wide = chance
        .iter()
        .filter(|c| c.what.ends_with("throughput"))
        .find(|c| Interval::of(&c.values, 0.99).half_width > 0.01 * c.known);
    assert!(wide.is_none(), "{}", wide.unwrap().line());
}

/// Runs every case the engine can express.
fn compare_all() -> Vec<Compared> {
    let mut all = Vec::new();
    let mut figures = 0;
    for case in support::cases() {
        let Some(measured) = plants::simulate(&case) else {
            let known = NOT_SIMULATED.iter().any(|(model, _)| *model == case.model);
            // Of the other models single cases have no run: blocking before
            // service, and a corridor without jobs.
            let alone = ["line", "corridor"].contains(&case.model.as_str());
            assert!(known || alone, "{}: {}", case.model, case.name);
            continue;
        };
        for figure in &case.figures {
            if let Some((_, values)) = measured.iter().find(|(name, _)| *name == figure.name) {
                all.extend(compare(&case, figure, values));
                figures += 1;
            }
        }
    }
    assert_eq!(figures, SIMULATED, "figures simulated");
    all
}

/// The variance of what one machine makes, by 400 runs of 30 days: inside the
/// 99 % interval of a variance (chi-square).
#[test]
fn the_output_of_one_machine_scatters_as_renewal_theory_says() {
    for case in support::cases() {
        if case.model != "output variance" {
            continue;
        }
        let made = plants::output_of_months(&case, 400);
        let measured = variance(&made) * 399.0;
        let known = support::numbers(&case.figures[0].value)[0] * 30.0 * 86_400.0;
        let low = measured / chi_square_quantile(0.995, 399.0);
        let high = measured / chi_square_quantile(0.005, 399.0);
        assert!(
            low < known && known < high,
            "{}: {low} {known} {high}",
            case.name
        );
    }
}

fn compare(case: &Case, figure: &Figure, values: &[Vec<f64>]) -> Vec<Compared> {
    let known = known(figure);
    assert_eq!(known.len(), values.len(), "{}: {}", case.name, figure.name);
    let simulated = case.model.ends_with("long run");
    let tolerance = case.tolerance(figure);
    let known_half_width = match tolerance {
        Tolerance::Absolute(width) if simulated => 0.5 * width,
        _ => 0.0,
    };
    let compared = known.iter().zip(values).map(|(&known, values)| Compared {
        what: format!("{}, {}: {}", case.model, case.name, figure.name),
        values: values.clone(),
        known,
        tolerance,
        known_half_width,
    });
    compared.collect()
}

/// The numbers of a figure; a fraction as text is one number.
fn known(figure: &Figure) -> Vec<f64> {
    let parts: Option<Vec<f64>> = figure
        .value
        .as_str()
        .map(|text| text.split('/').map(|x| x.parse().unwrap()).collect());
    match parts.as_deref() {
        Some([above, below]) => vec![above / below],
        _ => support::numbers(&figure.value),
    }
}
