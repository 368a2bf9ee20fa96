//! The day on the flow model, with and without its losses.

use std::collections::BTreeSet;
use std::sync::atomic::{AtomicU32, Ordering};

use book::{Book, Problem};
use flow::model::{Basis, Network, Stop};
use flow::statistics::Interval;
use flow::stream::Stream;
use flow::{Distribution, Halt, Plan, Progress, WarmUp, Watch};
use rayon::prelude::*;
use whole::network::Built;

use super::happened::{Happened, Key, LossKind, Outage, Sum, cause};
use super::{Day, Loss, hours};
use crate::defects::refusal;
use crate::read::{Log, Made};
use crate::roster::Roster;
use crate::scan::NO_WORD;
use crate::state::State;
use crate::time::{DAY, Micros, WEEK, micros, seconds, show_day};

/// How to replay.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Settings {
    /// Seed of what is not in the log.
    pub seed: u64,
    /// Replications; at least two for an interval.
    pub replications: u32,
    /// Losses that are told apart; the others are taken together.
    pub apart: usize,
}

/// Why there is no answer.
#[derive(Clone, Debug, PartialEq)]
pub enum NoDay {
    /// The day or the book.
    Problems(Vec<Problem>),
    /// The caller asked to stop.
    Cancelled,
}

/// Replays a day of a log whose spells were kept (see [`super::wanted`]).
///
/// The watch is told of every replay that is done, of how many is known from
/// the first on; its flag ends the work within a second.
///
/// # Errors
/// [`NoDay`].
pub fn day(
    book: &Book,
    built: &Built,
    roster: &Roster,
    log: &Log,
    date: i64,
    settings: &Settings,
    watch: &Watch<'_>,
) -> Result<Day, NoDay> {
    let zone = roster.map.zone;
    let span = (zone.instant(date * DAY), zone.instant((date + 1) * DAY));
    let inside = log
        .span
        .is_some_and(|(from, to)| from < span.1 && to > span.0);
    if !inside {
        return Err(no_such_day(log, roster, date));
    }
    let last = hours::last_shop(built).map_err(|none| NoDay::Problems(vec![*none]))?;
    if let Some(ends) = hours::untold(built, log) {
        return Err(no_end_of_line(log, &ends));
    }
    let happened = Happened::of(log, roster, book, built, span);
    let replay = Replay::new(built, roster, log, &happened, span, settings);
    let eye = replay.eye(watch);
    let groups = replay.groups(&eye)?;
    let values = replay.values(&groups, &eye)?;
    let plan = hours::planned(book, roster, last, span.0, span.1);
    let made = hours::cars_made(built, roster, log, date);
    let interval = |each: Vec<f64>| Interval::of(&each, 0.95);
    let (actual, clean) = (&values[0], &values[groups.len()]);
    let losses = replay.losses(&groups, &values);
    Ok(Day {
        date: show_day(date),
        plan,
        made,
        shortfall: plan - made,
        losses,
        lost: interval(clean.iter().zip(actual).map(|(c, a)| c - a).collect()),
        beyond: interval(clean.iter().map(|c| plan - c).collect()),
        unexplained: interval(actual.iter().map(|a| a - made).collect()),
        replayed: interval(actual.clone()),
        replications: settings.replications,
        hours: hours::rows(book, built, roster, log, date),
        stops: happened.stops(log, roster),
        waits: hours::waits(log, roster, span.0, span.1),
    })
}

fn no_such_day(log: &Log, roster: &Roster, date: i64) -> NoDay {
    let zone = roster.map.zone;
    let (from, to) = log.span.unwrap_or_default();
    NoDay::Problems(vec![refusal(
        "log",
        "no-such-day",
        &show_day(date),
        &format!("a day between {} and {}", zone.show(from), zone.show(to)),
        "give a day of the log",
    )])
}

fn no_end_of_line(log: &Log, ends: &[&str]) -> NoDay {
    NoDay::Problems(vec![refusal(
        "log",
        "no-end-of-line",
        &format!(
            "rows of {} stations, none of them where cars leave",
            log.stations_seen()
        ),
        &format!("rows of {}, or a genealogy", ends.join(" or ")),
        "give the log of those stations too, or genealogy.csv beside it; `linewright learn` needs \
         neither",
    )])
}

/// Losses that are taken away together.
type Group = Vec<Key>;

/// The caller's eye on all replays of a day together.
struct Eye<'w> {
    watch: &'w Watch<'w>,
    done: AtomicU32,
    of: u32,
}

impl Eye<'_> {
    fn cancelled(&self) -> bool {
        self.watch.cancel.load(Ordering::Relaxed)
    }

    /// One more replay is done.
    fn tell(&self) {
        let done = self.done.fetch_add(1, Ordering::Relaxed) + 1;
        (self.watch.progress)(Progress { done, of: self.of });
    }
}

struct Replay<'a> {
    built: &'a Built,
    roster: &'a Roster,
    log: &'a Log,
    happened: &'a Happened,
    day: (Micros, Micros),
    /// The Monday on which the replay begins.
    start: Micros,
    settings: &'a Settings,
    /// For each replication the outages before the log, drawn by the book.
    before: Vec<Vec<Vec<(Micros, Micros)>>>,
}

impl<'a> Replay<'a> {
    fn new(
        built: &'a Built,
        roster: &'a Roster,
        log: &'a Log,
        happened: &'a Happened,
        day: (Micros, Micros),
        settings: &'a Settings,
    ) -> Self {
        let zone = roster.map.zone;
        // 1970-01-05 was a Monday; a week before the week of the day.
        let monday = (zone.local(day.0) - 4 * DAY).div_euclid(WEEK) * WEEK + 4 * DAY;
        let start = zone.instant(monday - WEEK);
        let mut replay = Self {
            built,
            roster,
            log,
            happened,
            day,
            start,
            settings,
            before: Vec::new(),
        };
        let known = log
            .span
            .map_or(day.0, |span| span.0)
            .max(day.0 - super::DAYS_BEFORE * DAY);
        let mut told = vec![false; roster.places.len()];
        for unit in log.units.iter().filter(|unit| unit.rows > 0) {
            told[unit.place as usize] = true;
        }
        // Of a station without rows nothing is known but the book.
        let until = |place: usize| if told[place] { known } else { day.1 };
        replay.before = (0..settings.replications)
            .map(|r| {
                (0..roster.places.len())
                    .map(|place| replay.drawn(place, r, until(place)))
                    .collect()
            })
            .collect();
        replay
    }

    /// Outages of a station from the start of the replay to the log's, as the
    /// book would have them: running time passes as fast as the station worked
    /// in the log.
    fn drawn(&self, place: usize, replication: u32, until: Micros) -> Vec<(Micros, Micros)> {
        let found = &self.roster.places[place];
        let shop = &self.roster.hours[found.hours];
        let mut time = [0_i64; 7];
        for unit in self
            .log
            .units
            .iter()
            .filter(|unit| unit.place as usize == place)
        {
            let cells = unit.cells.iter();
            cells.for_each(|cell| {
                time.iter_mut()
                    .zip(cell.time)
                    .for_each(|(sum, t)| *sum += t);
            });
        }
        let all: i64 = time[..6].iter().sum();
        let processing = time[State::Working.at()] + time[State::Setup.at()];
        let busy = if all > 0 {
            processing as f64 / all as f64
        } else {
            1.0
        }
        .max(0.01);
        let mut outages = Vec::new();
        for stop in &self.built.network.stations[place].stops {
            let key = format!("before the log, {}", stop.cause);
            let mut stream = Stream::keyed(self.settings.seed, replication, &found.name, &key);
            let mut at = self.start;
            loop {
                let between = -stop.between.mean() * libm::log(stream.uniform());
                let mut left = micros(
                    between
                        / if stop.basis == Basis::Running {
                            busy
                        } else {
                            1.0
                        },
                );
                while left > 0 && at < until {
                    let stretch = shop.stretch(at);
                    let open = if stretch.open || stop.basis == Basis::Clock {
                        stretch.to - at
                    } else {
                        0
                    };
                    at = if open > left { at + left } else { stretch.to };
                    left -= open.min(left);
                }
                if at >= until {
                    break;
                }
                let repair = micros(-stop.repair.mean() * libm::log(stream.uniform()));
                outages.push((at, repair / i64::from(found.units.max(1))));
                at += repair;
            }
        }
        outages
    }

    /// The network of a replication without some losses.
    fn network(&self, replication: u32, without: &BTreeSet<Key>) -> Network {
        let mut network = self.built.network.clone();
        let mut outages = self.before[replication as usize].clone();
        for Outage { key, from, length } in &self.happened.outages {
            let of_day = self.day.0 <= *from && *from < self.day.1;
            if *from >= self.start && !(of_day && without.contains(key)) {
                outages[key.0 as usize].push((*from, *length));
            }
        }
        for (place, (station, mut outages)) in network.stations.iter_mut().zip(outages).enumerate()
        {
            outages.sort_unstable();
            station.stops = listed(&outages, self.start).into_iter().collect();
            if let Some(before) = self.happened.made_before.get(&place_of(place)) {
                let (first_time_ok, scrap) = shares(*before, station.quality.rework.is_some());
                station.quality.first_time_ok = first_time_ok;
                station.quality.scrap = scrap;
            }
        }
        network
    }

    /// The rejects of the day, in a plan that so far has those of the days
    /// before it: a reject of the day cannot empty the stock of its morning.
    fn rejects(&self, plan: &mut Plan, without: &BTreeSet<Key>) {
        let morning = seconds(self.day.0 - self.start);
        for (place, station) in self.built.network.stations.iter().enumerate() {
            let key = place_of(place);
            let day = self.happened.made.get(&key).copied().unwrap_or_default();
            let before = self.happened.made_before.get(&key);
            let before = before.copied().unwrap_or_default();
            if day.good() == day.made && before.good() == before.made {
                continue;
            }
            let (first_time_ok, scrap) = if without.contains(&(key, LossKind::Reject, NO_WORD)) {
                (1.0, 0.0)
            } else {
                shares(day, station.quality.rework.is_some())
            };
            plan.quality_from(place, morning, first_time_ok, scrap);
        }
    }

    /// Cars of the day in a replication, and by station the part of the
    /// critical path that lies in its cycles and its stops.
    fn run(
        &self,
        replication: u32,
        without: &BTreeSet<Key>,
        path: bool,
        eye: &Eye<'_>,
    ) -> Result<(f64, Vec<[f64; 2]>), NoDay> {
        // A replay's network takes time to build too.
        if eye.cancelled() {
            return Err(NoDay::Cancelled);
        }
        let mut plan = Plan::compile(&self.network(replication, without)).map_err(|faults| {
            let problem = |fault: &flow::Fault| {
                refusal(
                    "book",
                    "cannot-run",
                    &fault.to_string(),
                    "a plant that runs",
                    "see `linewright run`",
                )
            };
            NoDay::Problems(faults.iter().map(problem).collect())
        })?;
        self.rejects(&mut plan, without);
        let how = flow::Settings {
            seed: self.settings.seed.wrapping_add(u64::from(replication)),
            replications: 1,
            warm_up: WarmUp::Fixed(seconds(self.day.0 - self.start)),
            length_s: seconds(self.day.1 - self.day.0),
            slabs: 1,
            precise: None,
            elasticities: path,
            banks: false,
            states: path,
        };
        let watch = Watch {
            cancel: eye.watch.cancel,
            progress: &|_| eye.tell(),
        };
        let outcome = flow::run(&plan, &how, &watch).map_err(|halt| match halt {
            Halt::Cancelled => NoDay::Cancelled,
            Halt::Settings(what) => NoDay::Problems(vec![refusal(
                "log",
                "settings",
                &what,
                "a day",
                "give another day",
            )]),
        })?;
        let hours = seconds(self.day.1 - self.day.0) / 3_600.0;
        let paths = outcome.stations.iter().map(|station| {
            station
                .path
                .as_ref()
                .map_or([0.0; 2], |path| [path.cycle.mean, path.stopped.mean])
        });
        Ok(((outcome.rate_per_h.mean * hours).round(), paths.collect()))
    }

    /// How many replays the day takes: one to rank its losses, then one for
    /// each replication and set of losses taken away.
    fn eye<'w>(&self, watch: &'w Watch<'w>) -> Eye<'w> {
        let losses = self.happened.losses.len();
        let groups = losses.min(self.settings.apart.saturating_add(1));
        let sets = u32::try_from(2 * groups).unwrap_or(u32::MAX).max(1);
        Eye {
            watch,
            done: AtomicU32::new(0),
            of: sets
                .saturating_mul(self.settings.replications)
                .saturating_add(1),
        }
    }

    /// Losses by what they are likely to cost: time lost, weighed by the part
    /// of the critical path that lies at the station. What ranks below goes
    /// into one group.
    fn groups(&self, eye: &Eye<'_>) -> Result<Vec<Group>, NoDay> {
        let (_, paths) = self.run(0, &BTreeSet::new(), true, eye)?;
        let weight = |key: &Key, sum: &Sum| {
            let [cycle, stopped] = paths.get(key.0 as usize).copied().unwrap_or_default();
            match key.1 {
                LossKind::Reject => cycle * sum.events as f64 * 60.0,
                _ => (stopped + 1e-6) * seconds(sum.lost),
            }
        };
        let mut ranked: Vec<(f64, Key)> = self
            .happened
            .losses
            .iter()
            .map(|(key, sum)| (weight(key, sum), *key))
            .collect();
        ranked.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
        let mut groups: Vec<Group> = ranked.iter().map(|(_, key)| vec![*key]).collect();
        if groups.len() > self.settings.apart {
            let others = groups
                .split_off(self.settings.apart)
                .into_iter()
                .flatten()
                .collect();
            groups.push(others);
        }
        Ok(groups)
    }

    /// Cars by replication: with all losses, then without the first, the first
    /// two and so on to none; then the same from the other end.
    fn values(&self, groups: &[Group], eye: &Eye<'_>) -> Result<Vec<Vec<f64>>, NoDay> {
        let n = groups.len();
        let mut sets: Vec<BTreeSet<Key>> = (0..=n)
            .map(|k| groups[..k].iter().flatten().copied().collect())
            .collect();
        sets.extend((1..n).map(|k| {
            groups[n - k..]
                .iter()
                .flatten()
                .copied()
                .collect::<BTreeSet<Key>>()
        }));
        let jobs: Vec<(usize, u32)> = (0..sets.len())
            .flat_map(|set| (0..self.settings.replications).map(move |r| (set, r)))
            .collect();
        let cars: Result<Vec<f64>, NoDay> = jobs
            .par_iter()
            .map(|(set, r)| self.run(*r, &sets[*set], false, eye).map(|(cars, _)| cars))
            .collect();
        Ok(cars?
            .chunks(self.settings.replications as usize)
            .map(<[f64]>::to_vec)
            .collect())
    }

    /// Every group's cars: the mean of its step from either end.
    fn losses(&self, groups: &[Group], values: &[Vec<f64>]) -> Vec<Loss> {
        let n = groups.len();
        // Without the last k groups.
        let from_end = |k: usize| match k {
            0 => &values[0],
            k if k == n => &values[n],
            k => &values[n + k],
        };
        let mut losses: Vec<Loss> = groups
            .iter()
            .enumerate()
            .map(|(i, group)| {
                let (ahead, behind) = (&values[i + 1], &values[i]);
                let (with, less) = (from_end(n - i), from_end(n - i - 1));
                let each: Vec<f64> = (0..ahead.len())
                    .map(|r| 0.5 * (ahead[r] - behind[r] + with[r] - less[r]))
                    .collect();
                self.loss(group, Interval::of(&each, 0.95))
            })
            .collect();
        losses.sort_by(|a, b| {
            let last = |loss: &Loss| loss.kind == LossKind::Others;
            last(a)
                .cmp(&last(b))
                .then(b.cars.mean.total_cmp(&a.cars.mean))
        });
        losses
    }

    fn loss(&self, group: &Group, cars: Interval) -> Loss {
        let sums = group.iter().filter_map(|key| self.happened.losses.get(key));
        let (events, lost) = sums.fold((0, 0), |all, sum| (all.0 + sum.events, all.1 + sum.lost));
        let minutes = seconds(lost) / 60.0;
        match group.as_slice() {
            [key] => {
                let place = &self.roster.places[key.0 as usize];
                Loss {
                    station: place.name.clone(),
                    shop: place.shop.clone(),
                    kind: key.1,
                    cause: cause(self.log, *key),
                    events,
                    minutes,
                    cars,
                }
            }
            _ => Loss {
                station: String::new(),
                shop: String::new(),
                kind: LossKind::Others,
                cause: String::new(),
                events,
                minutes,
                cars,
            },
        }
    }
}

fn place_of(place: usize) -> u32 {
    u32::try_from(place).unwrap_or(u32::MAX)
}

/// The shares of a station's jobs right at the first try, and lost, that counts
/// tell of. Rework without a way of its own is done on the spot.
fn shares(made: Made, has_rework: bool) -> (f64, f64) {
    if made.made == 0 {
        return (1.0, 0.0);
    }
    let all = made.made as f64;
    let scrap = (made.scrap as f64 / all).min(0.99);
    let rework = if has_rework {
        made.rework as f64 / all
    } else {
        0.0
    };
    (1.0 - rework / (1.0 - scrap), scrap)
}

/// Outages as one stop by the clock; those that overlap are one.
fn listed(outages: &[(Micros, Micros)], start: Micros) -> Option<Stop> {
    let (mut between, mut repair) = (Vec::new(), Vec::new());
    let mut end = start;
    for (from, length) in outages {
        let (from, to) = ((*from).max(start), from + length);
        if to <= end {
            continue;
        }
        if from <= end && !repair.is_empty() {
            let last = repair.len() - 1;
            repair[last] += seconds(to - end);
        } else {
            between.push(seconds((from - end).max(1)));
            repair.push(seconds(to - from));
        }
        end = to;
    }
    (!between.is_empty()).then(|| Stop {
        cause: "what happened".to_owned(),
        basis: Basis::Clock,
        between: Distribution::Listed(between),
        repair: Distribution::Listed(repair),
        crew: None,
        in_breaks: true,
    })
}
