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
        sample(
            "in the plant",
            "",
            measured.outcome.jobs_in_plant.each.clone(),
        ),
        sample("first time right", "% of cars", percent(&measured.outcome)),
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

/// First time right as a number that reads beside others.
fn percent(outcome: &flow::Outcome) -> Vec<f64> {
    let shares = outcome.first_time_right.each.iter();
    shares.map(|share| share * 100.0).collect()
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

#[cfg(test)]
mod tests {
    use flow::Watch;

    use super::{Difference, differences};
    use crate::findings::{Answer, RunSettings, find};
    use crate::sample::{SMALL_PLANT, book};

    fn answer(text: &str, seed: u64) -> Answer {
        let settings = RunSettings {
            replications: 4,
            weeks: 1,
            trials: 0,
            seed,
            ..RunSettings::USUAL
        };
        find(&book(text), &settings, &Watch::none()).expect("an answer")
    }

    fn cars(all: &[Difference]) -> &Difference {
        let found = all.iter().find(|d| d.figure == "cars made");
        found.expect("the first figure of all")
    }

    #[test]
    fn a_plant_does_not_differ_from_itself() {
        let first = answer(SMALL_PLANT, 1);
        let all = differences(&first, &first.clone()).expect("the same run");
        assert!(all.len() >= 4);
        assert!(all.iter().all(|d| d.difference.mean == 0.0 && !d.shown));
        assert_eq!(cars(&all).a, first.made);
    }

    #[test]
    fn a_slower_station_is_shown_and_another_seed_makes_no_pairs() {
        let first = answer(SMALL_PLANT, 1);
        let slower = SMALL_PLANT.replace("underbody,body,1,380", "underbody,body,1,560");
        let second = answer(&slower, 1);
        let all = differences(&first, &second).expect("runs alike");
        assert!(
            cars(&all).shown && cars(&all).difference.mean < 0.0,
            "{:?}",
            cars(&all)
        );
        assert_eq!(differences(&first, &answer(SMALL_PLANT, 2)), None);
    }

    #[test]
    fn an_answer_comes_back_from_its_json() {
        let first = answer(SMALL_PLANT, 1);
        let text = serde_json::to_string(&first).expect("text");
        assert_eq!(
            serde_json::from_str::<Answer>(&text).expect("an answer"),
            first
        );
    }
}
