//! The course of the run: what left the plant and what stood in it day by
//! day, and the whole spread of the time from coil to car.

use flow::statistics::Interval;
use serde::{Deserialize, Serialize};
use units::{Quantity, Seconds};

use super::measure::Measured;

/// Steps of the spread: one point for each 2 % of the cars.
const STEPS: u32 = 50;
/// Halvings until a share of the cars is known to a millionth.
const HALVINGS: u32 = 20;

/// A day of the measured weeks, over all replications.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Day {
    /// When it begins, in hours from the start of the run, which is Monday
    /// 00:00; the warm-up lies before the first day.
    pub from_h: f64,
    /// When it ends.
    pub to_h: f64,
    /// Cars finished in it.
    pub cars: Interval,
    /// Cars, sub-assemblies and pieces in the plant: the day's mean.
    pub jobs: Interval,
}

/// The time from coil to car of all cars of all replications together.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Spread {
    /// Cars measured.
    pub cars: u64,
    /// Their mean in days; none where no car was finished.
    pub mean_days: Option<f64>,
    /// Share of them within the target.
    pub within_target: Option<f64>,
    /// Days that 0 %, 2 %, 4 % and so on up to 100 % of them do not exceed:
    /// the cumulative curve, read across; empty where no car was finished.
    pub days: Vec<f64>,
}

pub(super) fn days(measured: &Measured) -> Vec<Day> {
    let spells = measured.outcome.over_time.iter();
    let day = |spell: &flow::Spell| {
        let hours = (spell.to_s - spell.from_s) / 3_600.0;
        let cars: Vec<f64> = spell.rate_each.iter().map(|rate| rate * hours).collect();
        Day {
            from_h: spell.from_s / 3_600.0,
            to_h: spell.to_s / 3_600.0,
            cars: Interval::of(&cars, measured.level()),
            jobs: Interval::of(&spell.jobs_each, measured.level()),
        }
    };
    spells.map(day).collect()
}

pub(super) fn spread(measured: &Measured, target_days: f64) -> Spread {
    let times = &measured.outcome.time_in_plant_s.all;
    let days = |nanoseconds: f64| Seconds(nanoseconds / 1e9).days().get();
    let at = |share: f64| times.quantile(share).map(days);
    let curve = (0..=STEPS).filter_map(|step| at(f64::from(step) / f64::from(STEPS)));
    Spread {
        cars: times.count(),
        mean_days: times.mean().map(days),
        within_target: share_within(target_days, at),
        days: curve.collect(),
    }
}

/// The greatest share whose quantile keeps the target, found by halving, since
/// quantiles only rise.
fn share_within(target: f64, at: impl Fn(f64) -> Option<f64>) -> Option<f64> {
    if at(1.0)? <= target {
        return Some(1.0);
    }
    if at(0.0)? > target {
        return Some(0.0);
    }
    let (mut within, mut beyond) = (0.0, 1.0);
    for _ in 0..HALVINGS {
        let middle = 0.5 * (within + beyond);
        if at(middle)? <= target {
            within = middle;
        } else {
            beyond = middle;
        }
    }
    Some(within)
}

#[cfg(test)]
mod tests {
    use super::share_within;

    #[test]
    fn the_share_within_a_target_is_read_off_the_rising_curve() {
        // days spread evenly from 2 to 6: a target of 3 days holds a quarter
        let even = |share: f64| Some(2.0 + 4.0 * share);
        let quarter = share_within(3.0, even).expect("cars");
        assert!((quarter - 0.25).abs() < 1e-5, "{quarter}");
        assert_eq!(share_within(6.0, even), Some(1.0));
        assert_eq!(share_within(1.0, even), Some(0.0));
        assert_eq!(share_within(1.0, |_| None), None);
    }
}
