//! The answer to the first question: can this plant make the plan, and where
//! not?
//!
//! [`find`] builds the flow network, runs it, and reads the answer off one
//! set of replications: cars a week against needed, coil-to-car time against
//! its target, the content of the stages, the states of the stations, the
//! banks, the constraint and the bridge from needed to made. The first few
//! suspects are put to trial with the same luck. Every simulated figure is an
//! interval over the replications that [`Answer::run`] describes.

mod banks;
mod bridge;
mod constraint;
mod course;
mod deadlock;
mod difference;
mod first_time;
mod loads;
pub(crate) mod measure;
mod output;
mod stage_days;
mod stations;

use book::{Book, Problem, Severity};
use flow::statistics::Interval;
use flow::{Estimate, Halt, Watch};
use rayon::prelude::*;
use serde::{Deserialize, Serialize};
use units::{Quantity, Seconds};

use crate::network::{self, Built, LotPlan};
use crate::plan::RatePlan;
use crate::work;

pub use banks::{Arrow, Bank, StageContent, Toward};
pub use bridge::{Bridge, BridgePart, Cause};
pub use constraint::{CYCLE_CUT, Lever, REPAIR_CUT, Suspect, Trial};
pub use course::{Day, Spread};
pub use deadlock::{Deadlock, DeadlockLink};
pub use difference::{Difference, Sample, differences};
pub use first_time::{FirstTimeLoss, FirstTimeRight};
pub use measure::{PathShare, RunFacts};
pub use output::ShopOutput;
pub use stations::StationStates;

use bridge::Pillar;
use measure::{Measured, Stopped};

/// Suspects listed in the answer.
const SUSPECTS: usize = 10;

/// How to run the plant.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct RunSettings {
    /// Independent replications.
    pub replications: u32,
    /// Weeks measured in each.
    pub weeks: u32,
    /// Hours cut off before; none has them found by MSER-5.
    pub warm_up_h: Option<f64>,
    /// The seed of all streams.
    pub seed: u64,
    /// Level of the intervals.
    pub level: f64,
    /// How many of the first suspects are put to trial; each takes up to two
    /// or three further runs.
    pub trials: usize,
}

impl RunSettings {
    /// Ten replications of four weeks with seed 1, three suspects on trial.
    pub const USUAL: Self = Self {
        replications: 10,
        weeks: 4,
        warm_up_h: None,
        seed: 1,
        level: 0.95,
        trials: 3,
    };
}

/// Whether a figure holds against its target.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum Verdict {
    /// The whole interval is on the right side.
    Met,
    /// The interval holds the target: more replications would tell.
    Open,
    /// The whole interval is on the wrong side.
    Missed,
}

impl Verdict {
    pub(crate) fn at_least(needed: f64, made: Interval) -> Self {
        if made.mean - made.half_width >= needed {
            Self::Met
        } else if made.mean + made.half_width < needed {
            Self::Missed
        } else {
            Self::Open
        }
    }

    pub(crate) fn at_most(target: f64, seen: Interval) -> Self {
        if seen.mean + seen.half_width <= target {
            Self::Met
        } else if seen.mean - seen.half_width > target {
            Self::Missed
        } else {
            Self::Open
        }
    }
}

/// Cars of one product.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct ProductRate {
    /// The product.
    pub product: String,
    /// Cars a week needed.
    pub needed: f64,
    /// Cars a week made.
    pub made: Interval,
    /// Whether that is enough.
    pub verdict: Verdict,
}

/// Coil-to-car time in days of 24 hours: from the oldest piece of a car (the
/// coil opened first, or the car's own release) until the car leaves.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct CoilToCar {
    /// The target.
    pub target_days: f64,
    /// One car in ten takes less.
    pub p10: Interval,
    /// Half take less.
    pub p50: Interval,
    /// Nine in ten take less.
    pub p90: Interval,
    /// The stages' days together: the mean time on the way that takes longest. A
    /// car is as old as its oldest piece, so that the mean car takes some more.
    pub by_stage: Option<Interval>,
    /// The same by plan, with every place filled and every lot just begun.
    pub planned_days: Option<f64>,
    /// The whole distribution.
    pub spread: Spread,
    /// Whether nine cars in ten keep the target.
    pub verdict: Verdict,
}

/// The answer.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Answer {
    /// How every figure here was simulated.
    pub run: RunFacts,
    /// The answer in a sentence.
    pub sentence: String,
    /// Whether the needed rate is made.
    pub verdict: Verdict,
    /// Cars a week needed.
    pub needed: f64,
    /// Cars a week made.
    pub made: Interval,
    /// The same by product.
    pub products: Vec<ProductRate>,
    /// Coil-to-car time.
    pub coil_to_car: CoilToCar,
    /// First time right.
    pub first_time_right: FirstTimeRight,
    /// Cars, sub-assemblies and pieces in the plant.
    pub jobs: Interval,
    /// The same by stage, from coil to car.
    pub stages: Vec<StageContent>,
    /// Cars out and content, day by day over the weeks measured.
    pub days: Vec<Day>,
    /// What each shop sent on, from coil to car.
    pub shops: Vec<ShopOutput>,
    /// The states of every station.
    pub stations: Vec<StationStates>,
    /// Banks and stocks.
    pub banks: Vec<Bank>,
    /// What holds the plant back, the worst first.
    pub constraint: Vec<Suspect>,
    /// Blocked and starved over every link of cars.
    pub arrows: Vec<Arrow>,
    /// Share of the critical path between stations: moves, carriers on their
    /// way back, closed hours.
    pub on_the_way: Interval,
    /// How the plant locks itself up, if it does. The figures then hold the
    /// time in which it stood still.
    pub deadlock: Option<Deadlock>,
    /// From needed to made, on the first suspect.
    pub bridge: Option<Bridge>,
    /// Lots, stocks and start levels used.
    pub lots: Vec<LotPlan>,
    /// Stations that the planned order overruns, the most cars first, by the plan
    /// and in the run; empty where none drives the run.
    pub overruns: Vec<crate::order::Overrun>,
    /// The main figures replication by replication, for comparing with another
    /// answer pair by pair.
    pub samples: Vec<Sample>,
    /// What is worth knowing.
    pub notes: Vec<Problem>,
}

/// Why there is no answer.
#[derive(Clone, Debug, PartialEq)]
pub enum NoAnswer {
    /// The book cannot be run as it stands.
    Problems(Vec<Problem>),
    /// The settings make no run.
    Settings(String),
    /// The caller asked to stop.
    Cancelled,
}

impl std::fmt::Display for NoAnswer {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Problems(problems) => {
                let mut lines = problems.iter();
                if let Some(first) = lines.next() {
                    write!(f, "{first}")?;
                }
                lines.try_for_each(|problem| write!(f, "\n{problem}"))
            }
            Self::Settings(what) => f.write_str(what),
            Self::Cancelled => f.write_str("stopped before the end"),
        }
    }
}

impl std::error::Error for NoAnswer {}

impl From<Vec<Problem>> for NoAnswer {
    fn from(problems: Vec<Problem>) -> Self {
        Self::Problems(problems)
    }
}

/// Runs the plant of a book and says whether it makes the plan, and where not.
///
/// The same book and settings give the same answer, to the last bit, on any
/// number of cores.
///
/// ```
/// # use book::raw::{RawRow, RawTable, Workbook};
/// # let table = |name: &str, columns: &[&str], rows: &[&[&str]]| RawTable {
/// #     name: name.into(),
/// #     columns: columns.iter().map(|c| c.to_string()).collect(),
/// #     rows: rows
/// #         .iter()
/// #         .zip(2..)
/// #         .map(|(cells, line)| RawRow { line, cells: cells.iter().map(|c| c.to_string()).collect() })
/// #         .collect(),
/// #     ..RawTable::default()
/// # };
/// # let workbook = Workbook {
/// #     tables: vec![
/// #         table("products", &["product", "cars_per_week"], &[&["van", "9000"]]),
/// #         table(
/// #             "stations",
/// #             &["station", "shop", "cycle_s"],
/// #             &[&["weld", "body", "60"], &["trim", "body", "72"]],
/// #         ),
/// #         table("links", &["from", "to", "holds"], &[&["weld", "trim", "4"]]),
/// #     ],
/// #     ..Workbook::default()
/// # };
/// use whole::findings::{RunSettings, Verdict, find};
///
/// // weld 60 s, trim 72 s, round the clock; 9,000 cars a week needed
/// let book = book::check(&workbook).book;
/// let settings = RunSettings { replications: 3, weeks: 1, ..RunSettings::USUAL };
/// let answer = find(&book, &settings, &flow::Watch::none())?;
/// assert_eq!(answer.verdict, Verdict::Missed);
/// assert_eq!(answer.made.mean, 8_400.0);
/// assert_eq!(answer.constraint[0].name, "trim");
/// # Ok::<(), whole::findings::NoAnswer>(())
/// ```
///
/// # Errors
/// [`NoAnswer`]: problems of the book, settings out of range, or a run
/// cancelled through `watch`.
pub fn find(book: &Book, settings: &RunSettings, watch: &Watch) -> Result<Answer, NoAnswer> {
    let worked = work::of(book)?;
    let notes = &worked.notes;
    // From here on with cycles filled in, which are not worked out a second time.
    let book = &*worked.book;
    let plan = crate::plan::plan(book).ok();
    let built = network::build(book)?;
    let loads = loads::per_car(book, &built)?;
    let measured = measure::run(&built, settings, watch).map_err(|s| no_answer(&built, s))?;
    let level = measured.level();
    let needed: f64 = book
        .products
        .iter()
        .map(|row| row.cars_per_week.get())
        .sum();
    let made = Interval::of(&measured.cars, level);
    let suspects = suspects(&built, &measured, settings, watch)?;
    let deadlock = measured
        .stuck()
        .map(|stuck| deadlock::describe(&built, &measured, stuck));
    let bridge = suspects
        .first()
        .and_then(|first| from_pillar(first, needed, &measured, (&built, &loads)));
    let on_the_way = measured.outcome.on_the_way.as_ref();
    let first_time_right = first_time::first_time_right(book, &built, &measured);
    let stage_days = stage_days::days(book, &built, &measured);
    Ok(Answer {
        // what locks up or makes nothing meets no need, not even none
        verdict: if deadlock.is_some() || made.mean <= 0.0 {
            Verdict::Missed
        } else {
            Verdict::at_least(needed, made)
        },
        sentence: sentence(
            needed,
            made,
            &first_time_right,
            suspects.first(),
            deadlock.as_ref(),
        ),
        needed,
        made,
        products: products(book, &built, &measured),
        coil_to_car: coil_to_car(book, &measured, stage_days.all, plan.as_ref()),
        first_time_right,
        jobs: measured.outcome.jobs_in_plant.interval(level),
        samples: difference::samples(book, &built, &measured),
        stages: banks::content(&built, &measured, &stage_days, plan.as_ref()),
        days: course::days(&measured),
        shops: output::output(book, &built, &measured)?,
        stations: stations::states(&built, &measured),
        banks: banks::banks(&built, &measured),
        arrows: banks::arrows(&built, &measured),
        constraint: suspects,
        on_the_way: on_the_way.map_or_else(|| Interval::of(&[], level), |e| e.interval(level)),
        deadlock,
        bridge,
        overruns: overruns(&built, &measured.run, watch)?,
        run: measured.run,
        lots: built.lots,
        notes: notes.iter().cloned().chain(built.notes).collect(),
    })
}

/// The way from what the first suspect could do alone to what is made.
fn from_pillar(
    first: &Suspect,
    needed: f64,
    measured: &Measured,
    (built, loads): (&Built, &[loads::SecondsPerCar]),
) -> Option<Bridge> {
    let pillar = Pillar {
        station: first.station,
        name: first.name.clone(),
        units: built.network.stations[first.station].units,
        open_s: built.open_s_per_week[first.station],
        clean_s_per_car: loads[first.station].clean,
        gross_s_per_car: loads[first.station].gross,
    };
    bridge::build(measured, needed, &pillar)
}

/// Stations that the planned order overruns, with what they had of it in the run.
fn overruns(
    built: &Built,
    run: &RunFacts,
    watch: &Watch,
) -> Result<Vec<crate::order::Overrun>, NoAnswer> {
    crate::order::seen(built, run, watch).map_err(|stopped| no_answer(built, stopped))
}

/// The stations with most of the critical path, the first few put to trial. A
/// plant that stands still for good has other worries.
fn suspects(
    built: &Built,
    measured: &Measured,
    settings: &RunSettings,
    watch: &Watch,
) -> Result<Vec<Suspect>, NoAnswer> {
    let on_trial = if measured.stuck().is_some() {
        0
    } else {
        settings.trials
    };
    let ranked = constraint::ranked(measured);
    let suspect = |(rank, &station): (usize, &usize)| {
        let trials = if rank < on_trial {
            constraint::trial(&built.network, station, measured, watch)
                .map_err(|stopped| no_answer(built, stopped))?
                .into_iter()
                .collect()
        } else {
            Vec::new()
        };
        Ok(Suspect {
            station,
            name: built.stations[station].name.clone(),
            path: measured.paths[station],
            trials,
            explanation: banks::explanation(built, measured, station),
        })
    };
    // All at once, so that no core waits for another between two trials.
    ranked
        .par_iter()
        .take(SUSPECTS)
        .enumerate()
        .map(suspect)
        .collect()
}

/// Why a run gave nothing, in the words of the book.
pub(crate) fn no_answer(built: &Built, stopped: Stopped) -> NoAnswer {
    match stopped {
        Stopped::Halt(Halt::Cancelled) => NoAnswer::Cancelled,
        Stopped::Halt(Halt::Settings(what)) => NoAnswer::Settings(what),
        Stopped::Faults(faults) => NoAnswer::Problems(
            faults
                .iter()
                .map(|fault| as_problem(built, fault))
                .collect(),
        ),
    }
}

/// A fault of the network as a problem of the row it came from.
fn as_problem(built: &Built, fault: &flow::Fault) -> Problem {
    let quoted = |name: &str| fault.place.starts_with(&format!("station \"{name}\""));
    let link = fault
        .place
        .strip_prefix("link ")
        .and_then(|rest| rest.parse::<usize>().ok());
    let at = match link {
        Some(link) => built.links.get(link).map(|origin| origin.at),
        None => built
            .stations
            .iter()
            .find(|origin| quoted(&origin.name))
            .map(|origin| origin.at),
    };
    Problem {
        code: "flow/cannot-run".into(),
        severity: Severity::Error,
        table: at.map_or("stations", |at| at.table.name()).to_owned(),
        row: at.map(|at| at.row),
        column: None,
        found: format!("{} ({})", fault.found, fault.place),
        expected: fault.expected.clone(),
        mend: fault.mend.clone(),
        nearest: None,
    }
}

fn products(book: &Book, built: &Built, measured: &Measured) -> Vec<ProductRate> {
    let rate = |row: &book::Product| {
        let cars = cars_of(&row.product, built, measured);
        let made = Interval::of(&cars, measured.level());
        let needed = row.cars_per_week.get();
        ProductRate {
            product: row.product.clone(),
            needed,
            made,
            verdict: Verdict::at_least(needed, made),
        }
    };
    book.products.iter().map(rate).collect()
}

/// Cars of a product a week, by replication.
fn cars_of(product: &str, built: &Built, measured: &Measured) -> Vec<f64> {
    let mut cars = vec![0.0; measured.cars.len()];
    for (class, made) in built.classes.iter().zip(&measured.outcome.rate_by_class) {
        if class.product == product {
            let made = measure::a_week(made);
            cars.iter_mut()
                .zip(made)
                .for_each(|(sum, made)| *sum += made);
        }
    }
    cars
}

fn coil_to_car(
    book: &Book,
    measured: &Measured,
    by_stage: Option<Interval>,
    plan: Option<&RatePlan>,
) -> CoilToCar {
    let times = &measured.outcome.time_in_plant_s;
    let days = |seconds: &Estimate| {
        let days: Vec<f64> = seconds
            .each
            .iter()
            .map(|s| Seconds(*s).days().get())
            .collect();
        Interval::of(&days, measured.level())
    };
    let target_days = book.plant.coil_to_car_target_days.value.get();
    CoilToCar {
        target_days,
        p10: days(&times.p10),
        p50: days(&times.p50),
        p90: days(&times.p90),
        by_stage,
        planned_days: plan
            .and_then(|plan| plan.lead_time.as_ref())
            .map(|lead| lead.total_days.value),
        spread: course::spread(measured, target_days),
        verdict: if measured.outcome.rate_per_h.mean > 0.0 {
            Verdict::at_most(target_days, days(&times.p90))
        } else {
            Verdict::Missed
        },
    }
}

fn sentence(
    needed: f64,
    made: Interval,
    right: &FirstTimeRight,
    first: Option<&Suspect>,
    deadlock: Option<&Deadlock>,
) -> String {
    if let Some(deadlock) = deadlock {
        return deadlock.sentence.clone();
    }
    let rate = format!("{:.0} ± {:.0} cars a week", made.mean, made.half_width);
    let says = match Verdict::at_least(needed, made) {
        Verdict::Met => format!("the plant makes the {needed:.0} cars a week needed: {rate}"),
        Verdict::Open => {
            format!("the plant makes {rate}; whether that is the {needed:.0} needed is not shown")
        }
        Verdict::Missed => format!(
            "the plant makes {rate} of {needed:.0} needed, {:.0} short",
            needed - made.mean
        ),
    };
    let says = match right.in_words() {
        Some(right) => format!("{says}; {right}"),
        None => says,
    };
    match first {
        Some(suspect) => format!(
            "{says}; {} holds it back most ({:.0} % of the critical path)",
            suspect.name,
            suspect.path.total() * 100.0
        ),
        None => says,
    }
}

#[cfg(test)]
mod tests;
