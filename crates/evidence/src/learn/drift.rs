//! The same figures week by week.

use std::collections::BTreeMap;

use serde::Serialize;

use crate::gather::Cell;
use crate::read::Log;
use crate::roster::Roster;
use crate::state::State;
use crate::time::{seconds, show_day};

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
}

/// Every station seen, week by week.
#[allow(clippy::cast_precision_loss)]
pub fn drift(log: &Log, roster: &Roster) -> Vec<Week> {
    // 1970-01-05 was a Monday.
    let monday = |day: i64| (day - 4).div_euclid(7) * 7 + 4;
    let mut weeks: BTreeMap<(u32, i64), Cell> = BTreeMap::new();
    for unit in log.units.iter().filter(|unit| unit.rows > 0) {
        for cell in &unit.cells {
            let week = weeks.entry((unit.place, monday(cell.turn.day)));
            week.or_insert_with(|| Cell::new(cell.turn)).add(cell);
        }
    }
    let output = log.output();
    let mut made: BTreeMap<(u32, i64), (u64, u64)> = BTreeMap::new();
    for ((place, turn), counts) in &output.made {
        if !output.judged.contains(place) {
            continue;
        }
        let week = made.entry((*place, monday(turn.day))).or_default();
        week.0 += counts.good();
        week.1 += counts.made;
        // A week of which there are counts and no states.
        let cell = weeks.entry((*place, monday(turn.day)));
        cell.or_insert_with(|| Cell::new(*turn));
    }
    let week = |((place, monday), cell): ((u32, i64), Cell)| {
        let time = |state: State| seconds(cell.time[state.at()]);
        let processing = time(State::Working) + time(State::Setup);
        let down = time(State::Stopped) + time(State::Waiting);
        let stops = f64::from(cell.stops);
        let counted = made.get(&(place, monday)).filter(|made| made.1 > 0);
        Week {
            station: roster.places[place as usize].name.clone(),
            monday: show_day(monday),
            mtbf_min: (cell.stops > 0).then(|| processing / 60.0 / stops),
            down_min: (cell.stops > 0).then(|| down / 60.0 / stops),
            cycle_ratio: (cell.planned > 0).then(|| cell.worked as f64 / cell.planned as f64),
            jobs: u64::from(cell.jobs),
            first_time_ok: counted.map(|made| made.0 as f64 / made.1 as f64),
        }
    };
    weeks.into_iter().map(week).collect()
}
