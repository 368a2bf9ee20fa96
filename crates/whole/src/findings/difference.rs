//! Two answers compared pair by pair.
//!
//! Stations keep their luck from one book to the next, so replication 3 of one
//! run met the same stops as replication 3 of the other. The differences of the
//! pairs spread less than the figures do, and tell a small gain from luck.

use book::Book;
use flow::statistics::{Interval, paired_difference};
use serde::{Deserialize, Serialize};
use units::{Quantity, Seconds};

use super::measure::Measured;
use super::{Answer, cars_of};
use crate::network::Built;

/// A simulated figure, replication by replication.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Sample {
    /// What it is.
    pub figure: String,
    /// Its unit; empty for plain numbers.
    pub unit: String,
    /// Its value in every replication.
    pub each: Vec<f64>,
}

/// A figure of two answers.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Difference {
    /// What it is.
    pub figure: String,
    /// Its unit; empty for plain numbers.
    pub unit: String,
    /// Its value in the first answer.
    pub a: Interval,
    /// Its value in the second.
    pub b: Interval,
    /// Second less first, over the pairs.
    pub difference: Interval,
    /// Whether the interval leaves zero out; if not, the difference may be luck.
    pub shown: bool,
}

/// The figures that answers are compared by.
pub(super) fn samples(book: &Book, built: &Built, measured: &Measured) -> Vec<Sample> {
    let sample = |figure: &str, unit: &str, each: Vec<f64>| Sample {
        figure: figure.to_owned(),
        unit: unit.to_owned(),
        each,
    };
    let days = |estimate: &flow::Estimate| {
        let seconds = estimate.each.iter();
        seconds.map(|s| Seconds(*s).days().get()).collect()
    };
    let times = &measured.outcome.time_in_plant_s;
    let mut samples = vec![
        sample("cars made", "cars a week", measured.cars.clone()),
        sample("coil to car, half of the cars", "days", days(&times.p50)),
        sample("coil to car, nine cars in ten", "days", days(&times.p90)),
        sample("in the plant", "", measured.outcome.jobs_in_plant.each.clone()),
    ];
    if book.products.len() > 1 {
        for row in &book.products {
            let figure = format!("cars made of {}", row.product);
            let cars = cars_of(&row.product, built, measured);
            samples.push(sample(&figure, "cars a week", cars));
        }
    }
    samples
}

/// Compares the figures that both answers have. None where the two were not run
/// alike: another seed, length or number of replications makes no pairs.
pub fn differences(a: &Answer, b: &Answer) -> Option<Vec<Difference>> {
    let (first, second) = (&a.run, &b.run);
    let alike = first.seed == second.seed
        && first.replications == second.replications
        && first.weeks == second.weeks
        && first.level.to_bits() == second.level.to_bits();
    if !alike {
        return None;
    }
    let level = first.level;
    let pair = |before: &Sample| {
        let after = b.samples.iter().find(|s| s.figure == before.figure)?;
        let difference = paired_difference(&after.each, &before.each, level)?;
        Some(Difference {
            figure: before.figure.clone(),
            unit: before.unit.clone(),
            a: Interval::of(&before.each, level),
            b: Interval::of(&after.each, level),
            difference,
            shown: difference.mean != 0.0 && !difference.holds(0.0),
        })
    };
    Some(a.samples.iter().filter_map(pair).collect())
}
