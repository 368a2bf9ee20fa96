//! The figures of ISO 22400-2 from a log: by station, line, shop and plant, for
//! all time, by day and by shift.
//!
//! How states count: working is APT, setup AUST, stopped and waiting ADET,
//! starved and blocked ADOT; so APT + AUST = AUPT, AUPT + ADET = AUBT and
//! AUBT + ADOT, with what is unknown, is planned busy time (PBT). Starving and
//! blocking are kept apart from stops: they are not the station's own.
//!
//! A group's ratios are those of its sums: effectiveness and quality ratio are
//! weighted by planned run time, so that OEE = availability · effectiveness ·
//! quality ratio = planned run time of good jobs / PBT holds for every group.

mod pareto;

use std::collections::BTreeMap;

use formulas::{Figure, Refusal, kpi};
use serde::{Deserialize, Serialize};
use units::{Count, Minutes, Quantity as _, Share};

use crate::gather::Cell;
use crate::hours::Turn;
use crate::read::{Log, Made};
use crate::roster::Roster;
use crate::state::State;
use crate::time::{seconds, show_day};

pub use pareto::{CauseRow, CycleRow, causes, cycles};
pub(crate) use pareto::{ranked, word_of};

/// What the figures are of.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Of {
    /// The shop; empty for the plant.
    pub shop: String,
    /// The line; empty for the whole shop.
    pub line: String,
    /// The station; empty for the whole line.
    pub station: String,
    /// The day, by the begin of its shift; empty for all.
    pub day: String,
    /// The shift; empty for all.
    pub shift: String,
}

/// Times in seconds, counts, and the figures made of them.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Figures {
    /// Planned busy time in seconds, PBT of ISO 22400-2: the open hours of the shop
    /// from the log's first row to its last, for each unit.
    pub pbt_s: f64,
    /// Actual production time in seconds, APT of ISO 22400-2: working.
    pub apt_s: f64,
    /// Actual unit setup time in seconds, AUST of ISO 22400-2: changing over.
    pub aust_s: f64,
    /// Actual unit delay time in seconds, ADET of ISO 22400-2: stopped, and waiting for
    /// help.
    pub adet_s: f64,
    /// Of that, waiting for help, seconds.
    pub waiting_s: f64,
    /// Free with no job to work on, within planned time, seconds.
    pub starved_s: f64,
    /// Done with a job that could not leave, within planned time, seconds.
    pub blocked_s: f64,
    /// Planned time of which the log says nothing.
    pub unknown_s: f64,
    /// Worked outside planned time; contained in the times above.
    pub outside_s: f64,
    /// Produced quantity, PQ of ISO 22400-2: jobs done, right or not.
    pub made: u64,
    /// Good quantity, GQ of ISO 22400-2: of these, right at the first try.
    pub good: u64,
    /// Rework quantity, RQ of ISO 22400-2: of these, sent to be mended.
    pub rework: u64,
    /// Scrap quantity, SQ of ISO 22400-2: of these, lost.
    pub scrap: u64,
    /// Produced by the group's first station, for the fall-off.
    pub first_made: u64,
    /// Planned run time of what was produced, seconds: each shift's jobs by the mean
    /// planned cycle of its mix, else of the log's, else the book's.
    pub planned_run_s: f64,
    /// The same of what was good, seconds.
    pub planned_good_s: f64,
    /// Stops begun; one that a break parts is one.
    pub stops: u64,
    /// Of these, shorter than the rules of reading say (`short`).
    pub short_stops: u64,
    /// Time down in short ones, seconds.
    pub short_s: f64,
    /// The ratios.
    pub ratios: Ratios,
}

/// Ratios; none where the log has nothing to divide by.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Ratios {
    /// APT / PBT.
    pub availability: Option<f64>,
    /// Planned run time / APT.
    pub effectiveness: Option<f64>,
    /// Good / produced, by planned run time.
    pub quality_ratio: Option<f64>,
    /// Overall equipment effectiveness.
    pub oee: Option<f64>,
    /// Net equipment effectiveness: setting up counts as available.
    pub nee: Option<f64>,
    /// AUST / AUPT.
    pub setup_ratio: Option<f64>,
    /// APT / (APT + ADET).
    pub technical_efficiency: Option<f64>,
    /// APT / AUBT.
    pub utilisation_efficiency: Option<f64>,
    /// AUBT / PBT.
    pub allocation_efficiency: Option<f64>,
    /// Good at the first try / produced.
    pub first_pass_yield: Option<f64>,
    /// Reworked / produced.
    pub rework_ratio: Option<f64>,
    /// Lost / produced.
    pub scrap_ratio: Option<f64>,
    /// Lost in the group / produced by its first station (from memory).
    pub fall_off: Option<f64>,
}

/// How finely figures are wanted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Grain {
    /// By day, or all time.
    pub day: bool,
    /// By shift, or all shifts.
    pub shift: bool,
}

impl Grain {
    /// All time in one.
    pub const ALL: Self = Self {
        day: false,
        shift: false,
    };
}

/// All groups' figures: every station, its line, its shop and the plant.
pub fn figures(log: &Log, roster: &Roster, grain: Grain) -> BTreeMap<Of, Figures> {
    let mut groups: BTreeMap<Of, (Figures, u32)> = BTreeMap::new();
    for (place, cells) in by_station(log) {
        let found = &roster.places[place as usize];
        let hours = &roster.hours[found.hours];
        let usual = usual_run(&cells).or_else(|| roster.planned(place, None));
        for (turn, (cell, made)) in cells {
            let day = if grain.day {
                show_day(turn.day)
            } else {
                String::new()
            };
            let shift = if grain.shift {
                hours.shift(turn).to_owned()
            } else {
                String::new()
            };
            let levels = [
                ("", "", ""),
                (found.shop.as_str(), "", ""),
                (found.shop.as_str(), found.line.as_str(), ""),
                (
                    found.shop.as_str(),
                    found.line.as_str(),
                    found.name.as_str(),
                ),
            ];
            for (n, (shop, line, station)) in levels.into_iter().enumerate() {
                if n == 2 && line.is_empty() {
                    continue;
                }
                let of = Of {
                    shop: shop.to_owned(),
                    line: line.to_owned(),
                    station: station.to_owned(),
                    day: day.clone(),
                    shift: shift.clone(),
                };
                let (sum, first) = groups.entry(of).or_insert((Figures::default(), place));
                sum.add(&cell, made, usual);
                if *first == place {
                    sum.first_made += made.made;
                }
            }
        }
    }
    groups
        .into_iter()
        .map(|(of, (mut sum, _))| {
            sum.ratios = sum.ratios();
            if of.shop.is_empty() {
                // Blanks, panels and cars: a fall-off needs one thing that flows.
                sum.ratios.fall_off = None;
            }
            (of, sum)
        })
        .collect()
}

/// The planned seconds of a station's job over the whole log; none where no
/// job's planned cycle is known.
fn usual_run(cells: &BTreeMap<Turn, (Cell, Made)>) -> Option<f64> {
    let sums = cells.values().fold((0, 0), |sums, (cell, _)| {
        (sums.0 + cell.planned, sums.1 + u64::from(cell.known))
    });
    (sums.1 > 0).then(|| seconds(sums.0) / sums.1 as f64)
}

/// Cells and counts of every station that the log speaks of, by shift and day.
fn by_station(log: &Log) -> BTreeMap<u32, BTreeMap<Turn, (Cell, Made)>> {
    let mut stations: BTreeMap<u32, BTreeMap<Turn, (Cell, Made)>> = BTreeMap::new();
    for unit in log.units.iter().filter(|unit| unit.rows > 0) {
        let turns = stations.entry(unit.place).or_default();
        for cell in &unit.cells {
            let entry = turns
                .entry(cell.turn)
                .or_insert((Cell::new(cell.turn), Made::default()));
            entry.0.add(cell);
        }
    }
    // A count may fall into a shift in which no state of the station was seen.
    for ((place, turn), made) in log.output().made {
        let turns = stations.entry(place).or_default();
        let shift = turns.entry(turn);
        shift.or_insert((Cell::new(turn), Made::default())).1 = made;
    }
    stations
}

impl Figures {
    /// Adds a shift; `usual` is the planned seconds of a job where the shift
    /// has none of its own that is known.
    fn add(&mut self, cell: &Cell, made: Made, usual: Option<f64>) {
        let time = |state: State| seconds(cell.time[state.at()]);
        self.apt_s += time(State::Working);
        self.aust_s += time(State::Setup);
        self.adet_s += time(State::Stopped) + time(State::Waiting);
        self.waiting_s += time(State::Waiting);
        self.starved_s += time(State::Starved);
        self.blocked_s += time(State::Blocked);
        self.unknown_s += seconds(cell.unknown);
        self.outside_s += seconds(cell.outside);
        let all: f64 = State::ALL[..6].iter().map(|state| time(*state)).sum();
        self.pbt_s += all + seconds(cell.unknown) - seconds(cell.outside);
        self.made += made.made;
        self.good += made.good();
        self.rework += made.rework;
        self.scrap += made.scrap;
        let own = (cell.known > 0).then(|| seconds(cell.planned) / f64::from(cell.known));
        if let Some(run) = own.or(usual) {
            self.planned_run_s += run * made.made as f64;
            self.planned_good_s += run * made.good() as f64;
        }
        self.stops += u64::from(cell.stops);
        self.short_stops += u64::from(cell.short);
        self.short_s += seconds(cell.short_time);
    }

    fn ratios(&self) -> Ratios {
        let minutes = |s: f64| Minutes(s / 60.0);
        let (apt, pbt, aupt) = (
            minutes(self.apt_s),
            minutes(self.pbt_s),
            minutes(self.apt_s + self.aust_s),
        );
        let busy = minutes(self.apt_s + self.aust_s + self.adet_s);
        let count = |n: u64| Count(n as f64);
        // The quality ratio by planned run time: the formula's counts are times.
        let (run, good) = (Count(self.planned_run_s), Count(self.planned_good_s));
        let one = Minutes(1.0 / 60.0);
        let whole = kpi::oee(pbt, apt, one, run, good)
            .ok()
            .map(|figure| figure.value);
        let made = count(self.made);
        Ratios {
            availability: value(kpi::availability(apt, pbt)),
            effectiveness: value(kpi::effectiveness(one, run, apt)).filter(|_| run.0 > 0.0),
            quality_ratio: value(kpi::quality_ratio(good, run)),
            oee: whole.map(|oee| oee.oee.get()),
            nee: value(kpi::nee(pbt, aupt, apt, one, run, good)),
            setup_ratio: value(kpi::setup_ratio(minutes(self.aust_s), aupt)),
            technical_efficiency: value(kpi::technical_efficiency(apt, minutes(self.adet_s))),
            utilisation_efficiency: value(kpi::utilisation_efficiency(apt, busy)),
            allocation_efficiency: value(kpi::allocation_efficiency(busy, pbt)),
            first_pass_yield: value(kpi::first_pass_yield(count(self.good), made)),
            rework_ratio: value(kpi::rework_ratio(count(self.rework), made)),
            scrap_ratio: value(kpi::scrap_ratio(count(self.scrap), made)),
            fall_off: (self.first_made > 0).then(|| self.scrap as f64 / self.first_made as f64),
        }
    }

    /// How far the parts of planned busy time are from the whole, seconds; and
    /// OEE from the product of its three. Both are zero but for rounding.
    pub fn identity_gaps(&self) -> (f64, f64) {
        let busy = self.apt_s + self.aust_s + self.adet_s;
        let down = self.starved_s + self.blocked_s;
        let time = busy + down + self.unknown_s - self.outside_s - self.pbt_s;
        let r = &self.ratios;
        let product = |a: f64, e: f64, q: f64, oee: f64| a * e * q - oee;
        let oee = match (r.availability, r.effectiveness, r.quality_ratio, r.oee) {
            (Some(a), Some(e), Some(q), Some(oee)) => product(a, e, q, oee),
            _ => 0.0,
        };
        (time, oee)
    }
}

fn value(figure: Result<Figure<Share>, Refusal>) -> Option<f64> {
    figure.ok().map(|figure| figure.value.get())
}

#[cfg(test)]
mod tests;
