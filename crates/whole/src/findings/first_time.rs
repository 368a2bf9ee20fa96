//! First time right in the run: the share of cars that passed every check on
//! their way at the first try, against the target and the plan, and the checks
//! that lose most of it.

use book::{At, Book};
use flow::Estimate;
use flow::statistics::Interval;
use serde::{Deserialize, Serialize};

use super::measure::Measured;
use super::{Verdict, cars_of};
use crate::network::Built;
use crate::plan::first_time::{Expected, expected};
use crate::requirement::outcome;

/// Checks told, the worst first.
const TOLD: usize = 8;

/// First time right: of the cars that ended in the weeks measured, finished or
/// scrapped, the share that was sent to no rework and lost at no check on its
/// way (rolled throughput yield).
///
/// A car is followed from where its own way begins. What is repaired or lost of
/// a part, door or pack before it is built in counts there, not on the car.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct FirstTimeRight {
    /// The target, where the book sets one.
    pub target: Option<f64>,
    /// The same share by plan; none where it makes no cars.
    pub planned: Option<f64>,
    /// The share in the run.
    pub made: Interval,
    /// Whether the target is kept; none without one.
    pub verdict: Option<Verdict>,
    /// What the run has less (or more) than the plan, and why, where the plan lies
    /// outside the interval.
    pub differs: Option<String>,
    /// The checks that were the first to stop most cars, the worst first.
    pub losses: Vec<FirstTimeLoss>,
}

impl FirstTimeRight {
    /// Whether the target is kept, as a part of a sentence; none without a target.
    pub fn in_words(&self) -> Option<String> {
        let says = match self.verdict? {
            Verdict::Met => "as many as the target of",
            Verdict::Open => "not shown to be the target of",
            Verdict::Missed => "short of the target of",
        };
        let interval = if self.made.half_width.is_finite() {
            format!(" ± {}", points(self.made.half_width))
        } else {
            String::new()
        };
        Some(format!(
            "{}{interval} % of them are right at the first try, {says} {} %",
            points(self.made.mean),
            points(self.target?)
        ))
    }
}

/// What first time right loses at one check.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct FirstTimeLoss {
    /// The station.
    pub station: String,
    /// Its row.
    pub at: At,
    /// Cars that failed here and nowhere before, as a share of all that ended.
    pub lost: Interval,
    /// Their share of all cars that were not right at the first try.
    pub of_loss: f64,
    /// First time right if this check let every car go on and all else stayed as
    /// it is: less than `lost` above the run, for some of those cars fail further on.
    pub if_right: f64,
}

/// First time right of a run; nothing of a plant that made no cars.
pub(super) fn first_time_right(book: &Book, built: &Built, measured: &Measured) -> FirstTimeRight {
    let seen = &measured.outcome.first_time_right;
    let made = seen.interval(measured.level());
    let expected = expected(book);
    let needed: Vec<f64> = book
        .products
        .iter()
        .map(|row| row.cars_per_week.0)
        .collect();
    let planned = expected.as_ref().and_then(|plan| plan.of(&needed));
    let target = book.plant.first_time_target.value.map(|share| share.0);
    let runs = measured.outcome.rate_per_h.mean > 0.0;
    FirstTimeRight {
        target,
        planned,
        made,
        verdict: target.map(|target| {
            if runs {
                Verdict::at_least(target, made)
            } else {
                Verdict::Missed
            }
        }),
        differs: match (&expected, planned) {
            (Some(plan), Some(planned)) if runs && !made.holds(planned) => {
                let why = why(book, built, measured, plan);
                Some(difference(made.mean, planned, &why))
            }
            _ => None,
        },
        losses: losses(built, measured, expected.as_ref()),
    }
}

fn points(share: f64) -> String {
    format!("{:.1}", share * 100.0)
}

/// What the run has less or more than the plan, in words.
fn difference(made: f64, planned: f64, why: &str) -> String {
    let side = if made < planned { "less" } else { "more" };
    format!(
        "the run has {} points {side} than the {} % by plan: {why}",
        points((made - planned).abs()),
        points(planned)
    )
}

/// Why the run differs from the plan: another mix, or the check whose own figure
/// lies furthest outside of what the book says.
fn why(book: &Book, built: &Built, measured: &Measured, plan: &Expected) -> String {
    let made = measured.outcome.first_time_right.interval(measured.level());
    let mean = |row: &book::Product| {
        let cars = cars_of(&row.product, built, measured);
        Interval::of(&cars, measured.level()).mean
    };
    let cars: Vec<f64> = book.products.iter().map(mean).collect();
    if let Some(of_mix) = plan.of(&cars).filter(|share| made.holds(*share)) {
        return format!(
            "its cars are not those of the planned mix, and of them the plan expects {} %",
            points(of_mix)
        );
    }
    // as many checks are looked at, one in twenty would stand out by luck
    let level = 1.0 - (1.0 - measured.level()) / plan.checks.len().max(1) as f64;
    let furthest = plan
        .checks
        .iter()
        .filter_map(|&(station, _)| {
            let fails = 1.0 - outcome(&book.stations[station]).0;
            let seen = failed(&measured.outcome.stations[station]);
            let seen = seen.interval(level);
            let off = (seen.mean - fails).abs() / seen.half_width;
            (off > 1.0).then_some((station, fails, seen, off))
        })
        .max_by(|a, b| a.3.total_cmp(&b.3));
    match furthest {
        Some((station, fails, seen, _)) => format!(
            "{} failed {} % of its cars, {} % by plan",
            built.stations[station].name,
            points(seen.mean),
            points(fails)
        ),
        None => "every check alone failed as many as planned, but cars that go more than one way \
                 meet them together otherwise than the plan, which multiplies the means"
            .to_owned(),
    }
}

/// Share of a station's jobs that failed, repeats counted.
fn failed(station: &flow::StationOutcome) -> Estimate {
    let lost = station.reworked.each.iter().zip(&station.scrapped.each);
    Estimate::of(
        lost.map(|(reworked, scrapped)| reworked + scrapped)
            .collect(),
    )
}

fn losses(built: &Built, measured: &Measured, plan: Option<&Expected>) -> Vec<FirstTimeLoss> {
    let stations = &measured.outcome.stations;
    let made = measured.outcome.first_time_right.mean;
    let all: f64 = stations.iter().map(|s| s.failed_first.mean).sum();
    let passes = |station: usize| {
        let checks = plan.iter().flat_map(|plan| &plan.checks);
        let mut of = checks.filter(|(at, _)| *at == station);
        of.next().map_or(1.0, |(_, share)| *share)
    };
    let mut losses: Vec<FirstTimeLoss> = stations
        .iter()
        .zip(&built.stations)
        .enumerate()
        .filter(|(_, (seen, _))| seen.failed_first.mean > 0.0)
        .map(|(station, (seen, origin))| FirstTimeLoss {
            station: origin.name.clone(),
            at: origin.at,
            lost: seen.failed_first.interval(measured.level()),
            of_loss: seen.failed_first.mean / all,
            if_right: if passes(station) > 0.0 {
                (made / passes(station)).min(1.0)
            } else {
                made
            },
        })
        .collect();
    losses.sort_by(|a, b| b.lost.mean.total_cmp(&a.lost.mean).then(a.at.cmp(&b.at)));
    losses.truncate(TOLD);
    losses
}

#[cfg(test)]
mod tests {
    use flow::Watch;

    use crate::findings::{Answer, FirstTimeRight, RunSettings, Verdict, find};
    use crate::sample::book;

    /// A body whose doors are hung, with two checks of its own.
    const PLANT: &str = "
        [plant]
        setting,value
        first_time_target,0.7
        [products]
        product,cars_per_week
        van,2000
        [stations]
        station,shop,cycle_s,first_time_ok,rework_to,takes
        floor,body,200,0.95,floor,
        doors,body,100,0.6,doors,
        hang,body,200,,,one_of_each
        test,trim,150,0.8,mend,
        mend,trim,300,,,
        [links]
        from,to,holds
        floor,hang,5
        doors,hang,5
        floor,floor,2
        doors,doors,5
        hang,test,5
        test,mend,40
        mend,test,40";

    fn answer(text: &str) -> Answer {
        let settings = RunSettings {
            replications: 8,
            weeks: 2,
            trials: 0,
            ..RunSettings::USUAL
        };
        find(&book(text), &settings, &Watch::none()).expect("an answer")
    }

    fn first(text: &str) -> FirstTimeRight {
        answer(text).first_time_right
    }

    #[test]
    fn the_run_has_as_many_cars_right_at_the_first_try_as_the_plan() {
        let seen = first(PLANT);
        let planned = 0.95 * 0.8;
        assert!((seen.planned.expect("cars") - planned).abs() < 1e-9);
        assert!(seen.made.holds(planned), "{seen:?}");
        assert_eq!(seen.differs, None);
        assert_eq!(seen.verdict, Some(Verdict::Met));
    }

    #[test]
    fn the_target_decides_and_without_one_nothing_does() {
        let above = PLANT.replace("first_time_target,0.7", "first_time_target,0.8");
        assert_eq!(first(&above).verdict, Some(Verdict::Missed));
        let at = PLANT.replace("first_time_target,0.7", "first_time_target,0.76");
        assert_eq!(first(&at).verdict, Some(Verdict::Open));
        let none = first(&PLANT.replace("first_time_target,0.7", "name,Quay"));
        assert_eq!((none.target, none.verdict), (None, None));
    }

    #[test]
    fn the_checks_that_lose_most_are_named_and_doors_mended_before_they_hang_are_not() {
        let seen = first(PLANT);
        let names: Vec<&str> = seen.losses.iter().map(|l| l.station.as_str()).collect();
        assert_eq!(names, ["test", "floor"]);
        // the floor stops one in twenty, the test one in five of the rest
        assert!(seen.losses[0].lost.holds(0.95 * 0.2), "{seen:?}");
        let share: f64 = seen.losses.iter().map(|l| l.of_loss).sum();
        assert!((share - 1.0).abs() < 1e-9);
        assert!((seen.losses[0].if_right - seen.made.mean / 0.8).abs() < 1e-9);
    }

    #[test]
    fn a_car_scrapped_on_its_way_is_not_right_by_plan_or_in_the_run() {
        let lost = PLANT.replace("rework_to,takes", "rework_to,takes,scrap");
        let lost = lost.replace("test,trim,150,0.8,mend,", "test,trim,150,,,,0.2");
        let lost = lost.replace("        mend,trim,300,,,\n", "");
        let lost = lost.replace("        test,mend,40\n        mend,test,40", "");
        let seen = first(&lost);
        assert!(seen.made.holds(0.95 * 0.8), "{seen:?}");
        assert!((seen.planned.expect("cars") - 0.95 * 0.8).abs() < 1e-9);
    }

    #[test]
    fn another_mix_than_planned_is_told_as_the_reason() {
        // the bus, seldom right, is held up in a line of its own
        let plant = "
            [products]
            product,cars_per_week
            van,1000
            bus,1000
            [stations]
            station,shop,cycle_s,first_time_ok,rework_to
            call,trim,200,,
            van line,trim,200,0.95,van line
            bus line,trim,800,0.5,bus line
            [links]
            from,to,holds,products
            call,van line,unlimited,van
            call,bus line,unlimited,bus
            van line,van line,5,
            bus line,bus line,5,";
        let seen = first(plant);
        let differs = seen.differs.unwrap_or_default();
        assert!(differs.contains("planned mix"), "{differs} {:?}", seen.made);
    }
}
