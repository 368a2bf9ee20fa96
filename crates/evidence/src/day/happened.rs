//! What happened at every station: outages with their time and length, and the
//! losses they belong to.

use std::collections::BTreeMap;

use book::Book;
use flow::model::Work;
use serde::{Deserialize, Serialize};
use whole::network::Built;

use crate::figures::{CauseRow, ranked, word_of};
use crate::gather::Spell;
use crate::read::{Log, Made};
use crate::roster::Roster;
use crate::scan::NO_WORD;
use crate::state::State;
use crate::time::{DAY, Micros, micros, seconds};

/// A cycle this much longer than planned is slow; what varies more by the
/// book's own spread is not.
const SLOW: f64 = 0.1;
/// Spreads above the planned cycle beyond which a job is slow.
const SPREADS: f64 = 3.0;

/// The jobs of a day that are slower than planned by less than this of it are
/// not slow: stamps are cut, and no book is that exact.
const DRIFT: f64 = 0.005;

/// What kind of loss.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum LossKind {
    /// Stopped, waiting for help included.
    Stop,
    /// Cycles longer than planned.
    Slow,
    /// Starved for a cause that the log names.
    Starved,
    /// Blocked for a cause that the log names.
    Blocked,
    /// Jobs that were not right.
    Reject,
    /// All smaller losses together.
    Others,
}

/// Which loss: station, kind, word of the cause.
pub(super) type Key = (u32, LossKind, u32);

/// Time lost at a unit.
#[derive(Clone, Copy, Debug)]
pub(super) struct Outage {
    pub(super) key: Key,
    pub(super) from: Micros,
    /// Length; of one unit among several, its part of the station.
    pub(super) length: Micros,
}

/// What a loss comes to.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Sum {
    pub(super) events: u64,
    pub(super) lost: Micros,
}

/// A job in hand at a unit.
#[derive(Clone, Copy, Debug, Default)]
struct Job {
    item: u64,
    from: Micros,
    worked: Micros,
    product: u32,
}

/// Jobs of one day at a unit that were not slow by themselves.
#[derive(Debug)]
struct Pace {
    /// The station and its units.
    of: (u32, u32),
    /// The book's spread of its cycles.
    spread: f64,
    /// Days from the one that is replayed.
    day: i64,
    /// When they began, and planned seconds.
    jobs: Vec<(Micros, f64)>,
    /// Seconds worked more than planned.
    excess: f64,
}

impl Pace {
    fn new(of: (u32, u32), spread: f64) -> Self {
        Self {
            of,
            spread,
            day: 0,
            jobs: Vec::new(),
            excess: 0.0,
        }
    }
}

/// A spell cut where the day begins and where it ends, so that each day bears its
/// own part of a stop.
fn parts(spell: &Spell, day: (Micros, Micros)) -> impl Iterator<Item = Spell> {
    let spell = *spell;
    let bounds = [Micros::MIN, day.0, day.1, Micros::MAX];
    (0..3).filter_map(move |n| {
        let (from, to) = (spell.from.max(bounds[n]), spell.to.min(bounds[n + 1]));
        (from < to).then_some(Spell { from, to, ..spell })
    })
}

/// Whether a station stands at an end of the plant: what it waits for there
/// comes from outside, and no stop of the plant explains it. Such waiting is a
/// loss without a name of its own.
#[derive(Clone, Copy, Debug)]
struct Ends {
    first: bool,
    last: bool,
}

impl Ends {
    fn of(built: &Built, place: usize) -> Self {
        let network = &built.network;
        let links = || network.links.iter();
        let carts = network
            .fleets
            .iter()
            .any(|fleet| fleet.taken_at.at() == place);
        let lots = matches!(network.stations[place].work, Work::Lots(_));
        let fed = links().any(|link| link.to.at() == place)
            || network
                .arrivals
                .iter()
                .any(|arrival| arrival.station.at() == place);
        Self {
            first: !fed && !carts && !lots,
            last: !lots && links().all(|link| link.from.at() != place),
        }
    }
}

/// Everything that happened in the time that was kept.
#[derive(Debug, Default)]
pub(super) struct Happened {
    /// In the order of stations and time.
    pub(super) outages: Vec<Outage>,
    /// Losses of the day.
    pub(super) losses: BTreeMap<Key, Sum>,
    /// Counts of the day by station, where there are any.
    pub(super) made: BTreeMap<u32, Made>,
    /// Counts of the days before it that are replayed too.
    pub(super) made_before: BTreeMap<u32, Made>,
}

impl Happened {
    /// From the kept spells; of a stop over midnight each day bears its part.
    pub(super) fn of(
        log: &Log,
        roster: &Roster,
        book: &Book,
        built: &Built,
        day: (Micros, Micros),
    ) -> Self {
        let spread: BTreeMap<u32, f64> = book
            .stations
            .iter()
            .map(|row| (row.at.row, row.spread))
            .collect();
        let mut happened = Self::default();
        for unit in &log.units {
            let place = &roster.places[unit.place as usize];
            let origin = built.stations[unit.place as usize].at;
            let spread = if place.cycles.is_empty() {
                0.0
            } else {
                spread.get(&origin.row).copied().unwrap_or(0.0)
            };
            let ends = Ends::of(built, unit.place as usize);
            let mut stop: Option<Outage> = None;
            let mut pace = Pace::new((unit.place, place.units), spread);
            let mut job = Job::default();
            for spell in unit.kept.iter().flat_map(|spell| parts(spell, day)) {
                happened.stop(&spell, (unit.place, place.units), ends, &mut stop, day);
                if spell.state != State::Working || spell.item == 0 {
                    continue;
                }
                if spell.item != job.item {
                    happened.job(
                        &job,
                        planned(log, roster, unit.place, job.product),
                        &mut pace,
                        day,
                    );
                    job = Job {
                        item: spell.item,
                        from: spell.from,
                        worked: 0,
                        product: spell.product,
                    };
                }
                job.worked += spell.to - spell.from;
            }
            happened.slowly(&mut pace, day);
            if let Some(stop) = stop {
                happened.push(stop, place.units, day);
            }
        }
        happened
            .outages
            .sort_by_key(|outage| (outage.key.0, outage.from));
        happened.rejects(log, roster, day);
        happened
    }

    /// Jobs that were not right, from counts and events.
    fn rejects(&mut self, log: &Log, roster: &Roster, day: (Micros, Micros)) {
        let date = roster.map.zone.local(day.0).div_euclid(DAY);
        let output = log.output();
        let judged = |place: &u32| output.judged.contains(place);
        for ((place, turn), made) in output.made.iter().filter(|(key, _)| judged(&key.0)) {
            let sums = match date - turn.day {
                0 => &mut self.made,
                1..=super::DAYS_BEFORE => &mut self.made_before,
                _ => continue,
            };
            sums.entry(*place).or_default().add(*made);
        }
        for reject in log
            .tables
            .kept
            .iter()
            .filter(|r| day.0 <= r.at && r.at < day.1)
        {
            let key = (reject.place, LossKind::Reject, NO_WORD);
            self.losses.entry(key).or_default().events += 1;
        }
        // Counts may tell of rejects that have no event of their own.
        for (place, made) in &self.made {
            let rejects = made.rework + made.scrap;
            if rejects > 0 {
                let key = (*place, LossKind::Reject, NO_WORD);
                let sum = self.losses.entry(key).or_default();
                sum.events = sum.events.max(rejects);
            }
        }
    }

    /// The day's stops by cause, the most time down first.
    pub(super) fn stops(&self, log: &Log, roster: &Roster) -> Vec<CauseRow> {
        let stops = self
            .losses
            .iter()
            .filter(|(key, _)| key.1 == LossKind::Stop);
        let total: f64 = stops.clone().map(|(_, sum)| seconds(sum.lost)).sum();
        let rows = stops.map(|(key, sum)| CauseRow {
            station: roster.places[key.0 as usize].name.clone(),
            cause: cause(log, *key),
            stops: sum.events,
            down_s: seconds(sum.lost),
            waiting_s: 0.0,
            share: seconds(sum.lost) / total.max(1e-9),
            running_share: 0.0,
        });
        ranked(rows.collect())
    }

    /// Stops, and waits with a cause of their own; rows of one are joined.
    fn stop(
        &mut self,
        spell: &Spell,
        (place, units): (u32, u32),
        ends: Ends,
        open: &mut Option<Outage>,
        day: (Micros, Micros),
    ) {
        let kind = match spell.state {
            State::Stopped | State::Waiting => LossKind::Stop,
            State::Starved if spell.cause != NO_WORD || ends.first => LossKind::Starved,
            State::Blocked if spell.cause != NO_WORD || ends.last => LossKind::Blocked,
            State::Off => return,
            _ => {
                if let Some(stop) = open.take() {
                    self.push(stop, units, day);
                }
                return;
            }
        };
        let key = (place, kind, spell.cause);
        let part = |at: Micros| (at >= day.0, at >= day.1);
        match open {
            Some(stop) if stop.key == key && part(stop.from) == part(spell.from) => {
                stop.length += spell.to - spell.from;
            }
            _ => {
                if let Some(stop) = open.take() {
                    self.push(stop, units, day);
                }
                *open = Some(Outage {
                    key,
                    from: spell.from,
                    length: spell.to - spell.from,
                });
            }
        }
    }

    /// A job that is done: slow by itself, or one of a part of the time that may
    /// be slow as a whole.
    fn job(&mut self, job: &Job, planned: Option<f64>, pace: &mut Pace, day: (Micros, Micros)) {
        let Some(planned) = planned.filter(|planned| job.item != 0 && *planned > 0.0) else {
            return;
        };
        let slow = SLOW.max(SPREADS * pace.spread);
        if seconds(job.worked) > planned * (1.0 + slow) {
            let key = (pace.of.0, LossKind::Slow, NO_WORD);
            let length = job.worked - micros(planned);
            let from = job.from;
            self.push(Outage { key, from, length }, pace.of.1, day);
            return;
        }
        let of = (job.from - day.0).div_euclid(DAY);
        if of != pace.day {
            self.slowly(pace, day);
            pace.day = of;
        }
        pace.jobs.push((job.from, planned));
        pace.excess += seconds(job.worked) - planned;
    }

    /// The jobs of a day that were none of them slow by itself: where their mean
    /// is, beyond what their own spread explains, each has its part of it.
    fn slowly(&mut self, pace: &mut Pace, day: (Micros, Micros)) {
        let jobs = std::mem::take(&mut pace.jobs);
        let excess = std::mem::take(&mut pace.excess);
        let all: f64 = jobs.iter().map(|job| job.1).sum();
        let squares: f64 = jobs.iter().map(|job| job.1 * job.1).sum();
        if excess <= (SPREADS * pace.spread * squares.sqrt()).max(DRIFT * all) {
            return;
        }
        let key = (pace.of.0, LossKind::Slow, NO_WORD);
        for (from, planned) in jobs {
            let length = micros(excess * planned / all);
            self.push(Outage { key, from, length }, pace.of.1, day);
        }
    }

    fn push(&mut self, mut outage: Outage, units: u32, day: (Micros, Micros)) {
        if day.0 <= outage.from && outage.from < day.1 {
            let sum = self.losses.entry(outage.key).or_default();
            sum.events += 1;
            sum.lost += outage.length;
        }
        outage.length /= i64::from(units.max(1));
        self.outages.push(outage);
    }
}

fn planned(log: &Log, roster: &Roster, place: u32, word: u32) -> Option<f64> {
    let class = log.classes.get(word as usize).copied().flatten();
    roster.planned(place, class)
}

/// The word of a loss's cause; empty for none.
pub(super) fn cause(log: &Log, key: Key) -> String {
    match key.2 {
        NO_WORD => String::new(),
        word => word_of(log, word).to_owned(),
    }
}
