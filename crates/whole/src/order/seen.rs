//! What the stations that a planned order overruns had of it in the run.
//!
//! The walk along the plan knows mean times and no stops. Here replications of
//! the run are told job by job: work, breakdowns and waits as they fell. A
//! station is behind by what its cars took beyond their takt, and makes it good
//! while it waits.

use std::collections::BTreeMap;

use flow::model::Calendar;
use flow::statistics::Interval;
use flow::{Halt, Observed, Pass, Plan, Watch};
use rayon::prelude::*;
use serde::{Deserialize, Serialize};

use super::Overrun;
use crate::calendar::WEEK;
use crate::findings::RunFacts;
use crate::findings::measure::Stopped;
use crate::network::Built;

/// What a station had of the order in the run: work and stops as they fell.
/// Means over replications.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct OverrunInRun {
    /// Replications looked at: the first of the run.
    pub replications: u32,
    /// Cars a week that ended past the drift.
    pub past: Interval,
    /// Cars a week that were taken up when the station was past it already.
    pub begun_past: Interval,
    /// Seconds behind takt at which a car was taken up, on average.
    pub behind_s: Interval,
    /// The farthest that a car ended past the station's end, seconds.
    pub worst_s: Interval,
    /// The car that did so, of all replications: product and options.
    pub worst_car: String,
}

/// Replications that are looked at: told job by job they take longer, and a few
/// say how far behind a station is.
const LOOKED_AT: u32 = 4;
const NS: f64 = 1e9;

/// Looks at the stations of a run that is made by a planned order; runs without
/// one are not touched.
pub(crate) fn seen(built: &Built, run: &RunFacts, watch: &Watch) -> Result<Vec<Overrun>, Stopped> {
    let mut overruns = built.overruns.clone();
    let stations: Vec<Option<usize>> = overruns
        .iter()
        .map(|row| built.stations.iter().position(|own| own.at == row.at))
        .collect();
    if stations.iter().all(Option::is_none) {
        return Ok(overruns);
    }
    let plan = Plan::compile(&built.network).map_err(Stopped::Faults)?;
    let replications = run.replications.clamp(1, LOOKED_AT);
    let looked = (0..replications).into_par_iter().map(|replication| {
        let paced = overruns.iter().zip(&stations);
        let paced = paced.filter_map(|(row, station)| Some(((*station)?, row)));
        let mut stations: BTreeMap<usize, Behind<'_>> = paced
            .map(|(station, row)| (station, Behind::of(built, station, row, run)))
            .collect();
        let length_s = run.warm_up_h * 3_600.0 + f64::from(run.weeks) * WEEK.0;
        let mut tell = |what: Observed<'_>| {
            if let Observed::Pass(pass) = what
                && let Some(station) = stations.get_mut(&pass.station)
            {
                station.pass(&pass);
            }
        };
        flow::observe(
            &plan,
            run.seed,
            replication,
            length_s,
            watch.cancel,
            &mut tell,
        )?;
        let told = |(at, behind): (usize, Behind<'_>)| (at, behind.counted);
        Ok(stations.into_iter().map(told).collect())
    });
    let looked: Result<Vec<BTreeMap<usize, Counted>>, Halt> = looked.collect();
    let looked = looked.map_err(Stopped::Halt)?;
    for (row, station) in overruns.iter_mut().zip(stations) {
        let own = |each: &BTreeMap<usize, Counted>| each.get(&station?).copied();
        let counted: Vec<Counted> = looked.iter().filter_map(own).collect();
        row.in_run = told(built, run, &counted);
    }
    Ok(overruns)
}

fn told(built: &Built, run: &RunFacts, counted: &[Counted]) -> Option<OverrunInRun> {
    let worst = counted
        .iter()
        .max_by(|a, b| a.worst.0.total_cmp(&b.worst.0))?;
    let mean = |of: &dyn Fn(&Counted) -> f64| {
        let each: Vec<f64> = counted.iter().map(of).collect();
        Interval::of(&each, run.level)
    };
    let weeks = f64::from(run.weeks.max(1));
    Some(OverrunInRun {
        replications: counted.len() as u32,
        past: mean(&|one| f64::from(one.past) / weeks),
        begun_past: mean(&|one| f64::from(one.begun_past) / weeks),
        behind_s: mean(&|one| one.behind_s / f64::from(one.cars.max(1))),
        worst_s: mean(&|one| one.worst.0),
        worst_car: built
            .classes
            .get(worst.worst.1)
            .map_or_else(String::new, |class| class.name.clone()),
    })
}

/// What was counted at a station.
#[derive(Clone, Copy, Debug, Default)]
struct Counted {
    cars: u32,
    past: u32,
    begun_past: u32,
    behind_s: f64,
    /// Seconds past the station's end, and the class of that car.
    worst: (f64, usize),
}

/// A station as it goes on; each of its units has every so-manyeth car.
struct Behind<'a> {
    calendar: Option<&'a Calendar>,
    /// Seconds of takt for a car of one unit, and of drift.
    pace_s: f64,
    drift_s: f64,
    warm_ns: i64,
    /// By unit the open time of the last end, and how far behind that was.
    units: BTreeMap<usize, (f64, f64)>,
    counted: Counted,
}

impl<'a> Behind<'a> {
    fn of(built: &'a Built, station: usize, row: &Overrun, run: &RunFacts) -> Self {
        let own = &built.network.stations[station];
        let units = f64::from(own.units.max(1));
        Self {
            calendar: own
                .calendar
                .and_then(|at| built.network.calendars.get(at.at())),
            pace_s: row.takt_s * units,
            drift_s: row.drift_s * units,
            warm_ns: (run.warm_up_h * 3_600.0 * NS) as i64,
            units: BTreeMap::new(),
            counted: Counted::default(),
        }
    }

    fn pass(&mut self, pass: &Pass<'_>) {
        if !pass.ended {
            return;
        }
        let begun_s = open_s(self.calendar, pass.begun_ns as f64 / NS);
        let finish_s = open_s(self.calendar, pass.finish_ns as f64 / NS);
        let (last_s, last_behind_s) = self
            .units
            .get(&pass.unit)
            .copied()
            .unwrap_or((begun_s, 0.0));
        // Waiting makes good what is behind; nobody works ahead of the line.
        let behind_s = (last_behind_s - (begun_s - last_s)).max(0.0);
        let end_s = behind_s + (finish_s - begun_s) - self.pace_s;
        self.units.insert(pass.unit, (finish_s, end_s));
        if pass.begun_ns < self.warm_ns {
            return;
        }
        let counted = &mut self.counted;
        counted.cars += 1;
        counted.past += u32::from(end_s > self.drift_s);
        counted.begun_past += u32::from(behind_s > self.drift_s);
        counted.behind_s += behind_s;
        if end_s > counted.worst.0 {
            counted.worst = (end_s, pass.class);
        }
    }
}

/// Open seconds up to a time from the start of the run; what is finished after
/// closing counts only as far as the station was open.
fn open_s(calendar: Option<&Calendar>, at_s: f64) -> f64 {
    let Some(calendar) = calendar else {
        return at_s;
    };
    let round = (at_s / calendar.repeat_s).floor();
    let rest = at_s - round * calendar.repeat_s;
    let spells = || calendar.open.iter();
    let whole: f64 = spells().map(|(from, to)| to - from).sum();
    let begun: f64 = spells()
        .map(|(from, to)| (rest - from).clamp(0.0, to - from))
        .sum();
    round * whole + begun
}

#[cfg(test)]
mod tests {
    use flow::Verdict;

    use super::*;

    fn pass(begun_s: f64, finish_s: f64, class: usize) -> Pass<'static> {
        let ns = |s: f64| (s * NS) as i64;
        Pass {
            station: 0,
            unit: 0,
            class,
            free_ns: ns(begun_s),
            begun_ns: ns(begun_s),
            finish_ns: ns(finish_s),
            left_ns: ns(finish_s),
            changeover_ns: 0,
            downs: &[],
            verdict: Verdict::Ok,
            ended: true,
        }
    }

    #[test]
    fn a_station_is_behind_by_what_cars_take_beyond_takt_and_makes_it_good_while_it_waits() {
        let mut station = Behind {
            calendar: None,
            pace_s: 100.0,
            drift_s: 30.0,
            warm_ns: 0,
            units: BTreeMap::new(),
            counted: Counted::default(),
        };
        // 20 s over, 20 s over again (40 behind, past 30), then one of takt that
        // begins behind, then a wait of 45 s and a light car
        for (begun_s, finish_s, class) in [
            (0.0, 120.0, 1),
            (120.0, 240.0, 2),
            (240.0, 340.0, 3),
            (385.0, 475.0, 4),
        ] {
            station.pass(&pass(begun_s, finish_s, class));
        }
        let counted = station.counted;
        assert_eq!((counted.cars, counted.past, counted.begun_past), (4, 2, 1));
        assert_eq!(counted.worst, (40.0, 2));
        assert_eq!(counted.behind_s, 0.0 + 20.0 + 40.0 + 0.0);
    }

    #[test]
    fn a_night_between_two_cars_is_no_time_behind() {
        let day = Calendar {
            name: "day".into(),
            open: vec![(0.0, 1_000.0)],
            repeat_s: 5_000.0,
            at_close: flow::model::AtClose::Pause,
        };
        assert_eq!(open_s(Some(&day), 900.0), 900.0);
        assert_eq!(open_s(Some(&day), 3_000.0), 1_000.0);
        assert_eq!(open_s(Some(&day), 5_050.0), 1_050.0);
        assert_eq!(open_s(None, 5_050.0), 5_050.0);
    }
}
