//! The same figures week by week, each with its interval.

use std::collections::BTreeMap;

use serde::Serialize;
use statrs::distribution::{ContinuousCDF, StudentsT};
use whole::network::Built;

use super::course::{self, Course};
use super::share_span;
use crate::fit::{self, Span};
use crate::gather::{Cell, Moments, UnitLog};
use crate::read::{Log, Made};
use crate::roster::Roster;
use crate::state::State;
use crate::time::{Micros, seconds, show_day};

/// A station's week.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(
    feature = "schema",
    derive(schemars::JsonSchema),
    schemars(rename = "StationWeek")
)]
pub struct Week {
    /// The station.
    pub station: String,
    /// Monday of the week.
    pub monday: String,
    /// Processing time between stops, minutes; none without stops.
    pub mtbf_min: Option<f64>,
    /// Time down a stop, minutes.
    pub down_min: Option<f64>,
    /// Time worked over planned, for jobs whose planned cycle is known.
    pub cycle_ratio: Option<f64>,
    /// Jobs finished.
    pub jobs: u64,
    /// Part right at the first try, where it was counted.
    pub first_time_ok: Option<f64>,
    /// Stops begun.
    pub stops: u64,
    /// The figures with their intervals.
    pub spans: WeekSpans,
}

/// A week's figures with their 95 % intervals, as far as the book speaks of them.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct WeekSpans {
    /// Processing time between stops, minutes, of all causes together. A week
    /// without a stop says only that it is not less.
    pub mtbf_min: Option<Span>,
    /// Time to repair, minutes: time down without waiting for help.
    pub repair_min: Option<Span>,
    /// Time worked over planned.
    pub cycle_ratio: Option<Span>,
    /// Part right at the first try; what is scrapped whatever is done has had
    /// none.
    pub first_time_ok: Option<Span>,
}

/// Weeks of all stations, and what they come to.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Drift {
    /// Station by station, week by week.
    pub weeks: Vec<Week>,
    /// Station by station, figure by figure: whether it moves over the weeks.
    pub courses: Vec<Course>,
}

/// A station's week as sums.
pub(super) struct Sums {
    /// Days from 1970 to its Monday.
    pub(super) monday: i64,
    pub(super) cell: Cell,
    pub(super) made: Made,
}

/// How much single repairs and cycles of a station vary over the whole log:
/// the squares of their coefficients of variation, and the degrees of freedom
/// behind these. One week's few times would say too little of it.
#[derive(Clone, Copy, Default)]
pub(super) struct Scatter {
    pub(super) repairs: (f64, f64),
    pub(super) cycles: (f64, f64),
}

/// Every station seen, week by week.
///
/// Intervals: of the time between stops the exact one of an exponential's mean;
/// of a part right the score interval; of repairs and cycles Student's on the
/// logarithm of the mean, with the variation of single ones over the whole log
/// (common practice).
pub fn drift(log: &Log, roster: &Roster, built: &Built) -> Drift {
    let mut found = Drift::default();
    for (place, weeks) in by_station(log) {
        let scatter = Scatter::of(log, place);
        let station = &built.network.stations[place as usize];
        let name = &roster.places[place as usize].name;
        let told = weeks.iter().map(|sums| Week {
            station: name.clone(),
            ..week(sums, station.quality.scrap > 0.0, scatter)
        });
        found.weeks.extend(told);
        let courses = course::of(&weeks, station, scatter);
        found
            .courses
            .extend(courses.into_iter().map(|course| Course {
                station: name.clone(),
                ..course
            }));
    }
    found
}

fn by_station(log: &Log) -> BTreeMap<u32, Vec<Sums>> {
    // 1970-01-05 was a Monday.
    let monday = |day: i64| (day - 4).div_euclid(7) * 7 + 4;
    let mut weeks: BTreeMap<(u32, i64), (Cell, Made)> = BTreeMap::new();
    for unit in log.units.iter().filter(|unit| unit.rows > 0) {
        for cell in &unit.cells {
            let week = weeks.entry((unit.place, monday(cell.turn.day)));
            let nothing = || (Cell::new(cell.turn), Made::default());
            week.or_insert_with(nothing).0.add(cell);
        }
    }
    let output = log.output();
    for ((place, turn), made) in &output.made {
        if output.judged.contains(place) {
            // There may be counts of a week and no states.
            let week = weeks.entry((*place, monday(turn.day)));
            let nothing = || (Cell::new(*turn), Made::default());
            week.or_insert_with(nothing).1.add(*made);
        }
    }
    let mut stations: BTreeMap<u32, Vec<Sums>> = BTreeMap::new();
    for ((place, monday), (cell, made)) in weeks {
        let sums = Sums { monday, cell, made };
        stations.entry(place).or_default().push(sums);
    }
    stations
}

impl Scatter {
    fn of(log: &Log, place: u32) -> Self {
        let units = || log.units.iter().filter(|unit| unit.place == place);
        let mut repairs = Moments::default();
        let times = units().flat_map(|unit| &unit.stops);
        for time in times.flat_map(|stop| &stop.repairs.kept) {
            repairs.add(*time);
        }
        let single = |moments: &Moments| (squared(moments), moments.n.saturating_sub(1) as f64);
        Self {
            repairs: single(&repairs),
            cycles: cycles(units()),
        }
    }
}

/// Each product's cycles about their own mean.
fn cycles<'a>(units: impl Iterator<Item = &'a UnitLog>) -> (f64, f64) {
    let mut products: BTreeMap<u32, Moments> = BTreeMap::new();
    for (word, moments) in units.flat_map(|unit| &unit.cycles) {
        products.entry(*word).or_default().join(moments);
    }
    let (mut sum, mut freedom) = (0.0, 0.0);
    for moments in products.values().filter(|moments| moments.n > 1) {
        let own = (moments.n - 1) as f64;
        sum += squared(moments) * own;
        freedom += own;
    }
    (if freedom > 0.0 { sum / freedom } else { 0.0 }, freedom)
}

/// The square of the coefficient of variation.
fn squared(moments: &Moments) -> f64 {
    let part = moments
        .deviation()
        .filter(|_| moments.mean > 0.0)
        .map_or(0.0, |deviation| deviation / moments.mean);
    part * part
}

impl Sums {
    fn time(&self, state: State) -> f64 {
        seconds(self.cell.time[state.at()]) / 60.0
    }

    /// Minutes during which a stop may come.
    pub(super) fn processing_min(&self) -> f64 {
        self.time(State::Working) + self.time(State::Setup)
    }

    /// Minutes of repair.
    pub(super) fn repair_min(&self) -> f64 {
        self.time(State::Stopped)
    }

    /// Jobs that were tried, and those right at once.
    pub(super) fn tried(&self, scraps: bool) -> (u64, u64) {
        let lost = if scraps { self.made.scrap } else { 0 };
        let tried = self.made.made.saturating_sub(lost);
        (tried, self.made.good().min(tried))
    }
}

fn week(sums: &Sums, scraps: bool, scatter: Scatter) -> Week {
    let cell = &sums.cell;
    let stops = f64::from(cell.stops);
    let per_stop = |minutes: f64| (cell.stops > 0).then(|| minutes / stops);
    let ratio = (cell.planned > 0).then(|| over(cell.worked, cell.planned));
    let processing = sums.processing_min();
    let (tried, good) = sums.tried(scraps);
    let first_time_ok = (tried > 0).then(|| share_span(good, tried, 0.95));
    let mean = |value: Option<f64>, scatter, n: u32| {
        let value = value.filter(|value| *value > 0.0 && n > 0)?;
        mean_span(value, scatter, n)
    };
    Week {
        station: String::new(),
        monday: show_day(sums.monday),
        mtbf_min: per_stop(processing),
        down_min: per_stop(sums.repair_min() + sums.time(State::Waiting)),
        cycle_ratio: ratio,
        jobs: u64::from(cell.jobs),
        first_time_ok: first_time_ok.map(|span| span.value),
        stops: u64::from(cell.stops),
        spans: WeekSpans {
            mtbf_min: (processing > 0.0)
                .then(|| fit::exact_exponential(processing, cell.stops as usize, 0.95)),
            repair_min: mean(per_stop(sums.repair_min()), scatter.repairs, cell.stops),
            cycle_ratio: mean(ratio, scatter.cycles, cell.known),
            first_time_ok,
        },
    }
}

fn over(part: Micros, whole: Micros) -> f64 {
    part as f64 / whole as f64
}

/// The least part of a time that stamps can tell.
const STAMP: f64 = 1e-6;

/// A mean of `n` whose logarithm varies by the coefficient of variation of one.
fn mean_span(value: f64, (squared, freedom): (f64, f64), n: u32) -> Option<Span> {
    let t = StudentsT::new(0.0, 1.0, freedom).ok()?.inverse_cdf(0.975);
    // Stamps are no finer than a microsecond: what never varies is not fixed to
    // the last digit.
    let half = t * (squared / f64::from(n)).sqrt() + STAMP;
    Some(Span {
        value,
        low: value * libm::exp(-half),
        high: value * libm::exp(half),
    })
}

#[cfg(test)]
mod tests;
