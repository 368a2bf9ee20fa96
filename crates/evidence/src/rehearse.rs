//! A log of the plant's own run, written as a real one would be: what is true
//! of it is known, so whoever reads logs can be tried on it.

#[cfg(feature = "parquet")]
pub mod parquet;
mod rows;
mod write;

use std::sync::atomic::AtomicBool;

use book::Book;
use flow::model::{AtClose, Work};
use flow::{Halt, JobOut, Observed, Plan, Verdict};
use whole::network::Built;

use crate::map::LogMap;
use crate::read::Made;
use crate::roster::Roster;
use crate::time::{DAY, HOUR, Micros};

pub use rows::LogRow;
pub use write::{counts_csv, genealogy_csv, quality_csv, states_csv, truth_csv};

use rows::Writer;
pub(crate) use write::{cell, stamp};

/// Monday on which a rehearsed log's clock begins: any would do.
pub const MONDAY: i64 = 20_514;

/// How to rehearse.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Settings {
    /// Seed of all streams.
    pub seed: u64,
    /// Weeks run before the log begins, so that the plant is full.
    pub warm_up_weeks: u32,
    /// Weeks logged.
    pub weeks: u32,
}

/// Jobs at a station in an hour: station, hour from 1970, counts.
pub type HourCount = (u32, i64, Made);

/// A log, not yet written down.
#[derive(Clone, Debug, Default)]
pub struct Rehearsal {
    /// States, in the order of time and units.
    pub rows: Vec<LogRow>,
    /// Counts by station and hour.
    pub counts: Vec<HourCount>,
    /// Jobs that were not right: station, when, what became of them.
    pub rejects: Vec<(u32, Micros, Verdict)>,
    /// Cars out: class, oldest part's birth, when.
    pub cars: Vec<(u32, Micros, Micros)>,
    /// Begin and end of the log.
    pub span: (Micros, Micros),
}

/// A value that is true of a rehearsed log.
#[derive(Clone, Debug, PartialEq)]
pub struct Truth {
    /// Table of the book.
    pub table: String,
    /// Its row.
    pub row: u32,
    /// Its column.
    pub column: String,
    /// The station or line.
    pub station: String,
    /// The value there.
    pub value: f64,
}

/// Runs the plant and keeps what a log would say.
///
/// # Errors
/// What keeps the network from running, or [`Halt::Cancelled`].
pub fn rehearse(
    book: &Book,
    built: &Built,
    settings: &Settings,
    cancel: &AtomicBool,
) -> Result<Rehearsal, Halt> {
    let roster = Roster::of(book, built, LogMap::default());
    let plan = Plan::compile(&built.network).map_err(|faults| {
        let lines: Vec<String> = faults.iter().map(ToString::to_string).collect();
        Halt::Settings(lines.join("\n"))
    })?;
    let begin = MONDAY * DAY;
    let warm = i64::from(settings.warm_up_weeks) * 7 * DAY;
    let end = warm + i64::from(settings.weeks) * 7 * DAY;
    let mut writer = Writer::new(&roster, built, begin, (begin + warm, begin + end));
    let mut cars: Vec<JobOut> = Vec::new();
    let mut tell = |seen: Observed<'_>| match seen {
        Observed::Pass(pass) => writer.pass(&pass),
        Observed::Out(job) => cars.push(job),
    };
    let length = crate::time::seconds(end);
    flow::observe(&plan, settings.seed, 0, length, cancel, &mut tell)?;
    let mut rehearsal = writer.finish();
    rehearsal.cars = cars
        .iter()
        .map(|car| {
            let at = |ns: i64| begin + rows::micros_of(ns);
            (
                u32::try_from(car.class).unwrap_or(0),
                at(car.born_ns),
                at(car.out_ns),
            )
        })
        .filter(|car| car.2 >= begin + warm && car.2 < begin + end)
        .collect();
    rehearsal
        .cars
        .sort_unstable_by_key(|car| (car.2, car.0, car.1));
    Ok(rehearsal)
}

/// What is true of the stations of a network: cycles, stops and quality with
/// the cells of the book they came from.
pub fn truth(book: &Book, built: &Built) -> Vec<Truth> {
    let cells = crate::learn::cells(book, built);
    let known = cells.into_iter().filter_map(|cell| {
        Some(Truth {
            table: cell.at.table.name().to_owned(),
            row: cell.at.row,
            column: cell.column.to_owned(),
            station: cell.station,
            value: cell.book?,
        })
    });
    known.collect()
}

/// Whether a station's work pauses when its calendar closes.
fn pauses(built: &Built, place: usize) -> bool {
    let calendar = built.network.stations[place].calendar;
    calendar.is_some_and(|c| built.network.calendars[c.at()].at_close == AtClose::Pause)
}

/// Whether it runs lots.
fn runs_lots(built: &Built, place: usize) -> bool {
    matches!(built.network.stations[place].work, Work::Lots(_))
}

/// The hour of an instant.
fn hour(at: Micros) -> i64 {
    at.div_euclid(HOUR)
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeMap;

    use super::*;
    use crate::state::State;
    use crate::time::{SECOND, days};

    #[test]
    fn a_job_that_a_check_by_the_clock_runs_into_the_break_with_is_worked_on_as_long_as_any() {
        let book = book::small::book(
            "
            [shifts]
            shop,shift,days,start,end,planned_stops_min,at_close
            paint,early,mon-fri,06:00,14:00,40,finish
            paint,late,mon-fri,14:00,22:00,40,finish
            [products]
            product,cars_per_week
            van,1000
            [stations]
            station,shop,cycle_s
            bath,paint,160
            [stops]
            station,cause,mtbf_min,mttr_min,repair_spread,basis
            bath,check,70,15,0.5,clock
            ",
        );
        let built = whole::network::build(&book).unwrap();
        let settings = Settings {
            seed: 1,
            warm_up_weeks: 1,
            weeks: 4,
        };
        let never = AtomicBool::new(false);
        let heard = rehearse(&book, &built, &settings, &never).unwrap();
        let mut worked: BTreeMap<u32, Micros> = BTreeMap::new();
        for row in heard.rows.iter().filter(|row| row.state == State::Working) {
            *worked.entry(row.item).or_default() += row.to - row.from;
        }
        // The log may begin and end in the midst of a job.
        let (last, first) = (worked.pop_last().unwrap(), worked.pop_first().unwrap());
        assert!(worked.len() > 1_000 && last.0 > first.0);
        // Stamps are whole microseconds.
        let mut worked = worked.iter();
        let other = worked.find(|(_, worked)| (**worked - 160 * SECOND).abs() > 2);
        let rows = |item: u32| heard.rows.iter().filter(move |row| row.item == item);
        let shown = other.map(|(item, _)| rows(*item).collect::<Vec<_>>());
        assert_eq!(shown, None);
    }

    #[test]
    fn a_rehearsed_week_begins_on_a_monday() {
        assert_eq!(MONDAY, days(2026, 3, 2));
        assert_eq!((MONDAY - 4).rem_euclid(7), 0);
    }
}
