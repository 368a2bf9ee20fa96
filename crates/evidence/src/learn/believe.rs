//! Whether the model is believable: the plant run with mended figures against
//! what really came out.
//!
//! A log is one course of the plant, so it is held against where one further
//! run would lie (a prediction interval), not against the mean's interval.

use book::Book;
use flow::Watch;
use flow::statistics::Interval;
use serde::Serialize;
use whole::findings::{self, NoAnswer, RunSettings};
use whole::network::Built;

use crate::fit::Span;
use crate::hours::ShopHours;
use crate::read::Log;
use crate::roster::Roster;
use crate::state::State;
use crate::time::{Micros, WEEK, micros, seconds};

/// A figure of the log against the model's.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(
    feature = "schema",
    derive(schemars::JsonSchema),
    schemars(rename = "ModelCheck")
)]
pub struct Check {
    /// What: `cars a week`, `days coil to car, median`, or a state.
    pub what: String,
    /// The station, for a state.
    pub station: Option<String>,
    /// What really came out.
    pub log: f64,
    /// Where one further run of the model would lie, 95 times in 100.
    pub model: Span,
    /// Whether the log lies there.
    pub inside: bool,
}

/// Replications of the model.
const REPLICATIONS: u32 = 10;
/// Quantiles of the model's lead time are read from buckets of half a per cent.
const BUCKET: f64 = 0.005;
/// A share of time is not told apart more finely than this.
const FINEST: f64 = 0.002;

/// Figures of a log that cannot be held against a run, and what they need.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct NotCompared {
    /// Which figures.
    pub figures: String,
    /// What the log would have to have.
    pub needs: String,
}

/// Weeks of work below which a log is no course of the plant: its figures swing
/// by more than those of a whole week, with which they would be compared.
const SHORTEST: f64 = 0.5;
/// Stations that are named before the rest is counted.
const NAMED: usize = 3;

/// What [`believe`] cannot hold against the log, and why.
pub fn not_compared(built: &Built, log: &Log, roster: &Roster) -> Vec<NotCompared> {
    let mut found = Vec::new();
    let mut say = |figures: &str, needs: String| {
        found.push(NotCompared {
            figures: figures.to_owned(),
            needs,
        });
    };
    let (from, to) = log.span.unwrap_or_default();
    let worked = worked_weeks(built, roster, from, to);
    if worked < SHORTEST {
        let needs = format!("a log of at least {SHORTEST} weeks of work; this one has {worked:.2}");
        say("all figures", needs);
        return found;
    }
    if log.tables.items.is_empty() {
        if let Some(ends) = crate::day::untold(built, log) {
            let ends = ends.join(" or ");
            let needs = format!("rows of {ends}, where cars leave, or a genealogy");
            say("cars a week", needs);
        }
        let needs = "a genealogy: when each car began and when it was finished".to_owned();
        say("days from coil to car and cars on their way", needs);
    }
    let unseen: Vec<&str> = roster
        .places
        .iter()
        .filter(|place| shares(log, place.first_unit, place.units).is_none())
        .map(|place| place.name.as_str())
        .collect();
    if let Some(more) = unseen.len().checked_sub(1) {
        let stations = if more == 0 { "station" } else { "stations" };
        let mut names = unseen[..unseen.len().min(NAMED)].join(", ");
        if unseen.len() > NAMED {
            names += &format!(" and {} more", unseen.len() - NAMED);
        }
        let figures = format!("states of {} {stations}", unseen.len());
        say(&figures, format!("rows of {names}"));
    }
    found
}

/// Runs the (mended) book and holds rate, lead time, content and the states of
/// every station against the log, as far as it has them ([`not_compared`]).
///
/// # Errors
/// [`NoAnswer`], as for any run.
pub fn believe(
    book: &Book,
    built: &Built,
    log: &Log,
    roster: &Roster,
    seed: u64,
    watch: &Watch<'_>,
) -> Result<Vec<Check>, NoAnswer> {
    let Some((from, to)) = log.span else {
        return Ok(Vec::new());
    };
    let worked = worked_weeks(built, roster, from, to);
    if worked < SHORTEST {
        return Ok(Vec::new());
    }
    let weeks = (worked.round() as u32).clamp(1, 26);
    let settings = RunSettings {
        replications: REPLICATIONS,
        weeks,
        seed,
        trials: 0,
        ..RunSettings::USUAL
    };
    let answer = findings::find(book, &settings, watch)?;
    let mut checks = plant(built, log, &answer, worked);
    for (place, model) in roster.places.iter().zip(&answer.stations) {
        let Some(shares) = shares(log, place.first_unit, place.units) else {
            continue;
        };
        let states = [
            (State::Working, model.working),
            (State::Setup, model.changeover),
            (State::Stopped, model.stopped),
            (State::Starved, model.starved),
            (State::Blocked, model.blocked),
        ];
        for (share, (state, model)) in shares.into_iter().zip(states) {
            // A state that neither knows says nothing.
            if share > 0.0 || model.mean > 0.0 {
                checks.push(check(state.word(), Some(&place.name), share, model, FINEST));
            }
        }
    }
    Ok(checks)
}

/// Weeks of work between two instants, where cars leave the plant: a log that
/// ends on Friday night has all of its week. Where no shop is the last, time in
/// which any shop works.
fn worked_weeks(built: &Built, roster: &Roster, from: Micros, to: Micros) -> f64 {
    let last = crate::day::last_shop(built).ok();
    let hours = roster
        .hours
        .iter()
        .find(|hours| Some(hours.shop.as_str()) == last);
    let open = |from, to| match hours {
        Some(hours) => hours.open_between(from, to),
        None => any_open(&roster.hours, from, to),
    };
    seconds(open(from, to)) / seconds(open(from, from + WEEK)).max(1.0)
}

/// Time between two instants in which any shop works.
pub(super) fn any_open(shops: &[ShopHours], from: Micros, to: Micros) -> Micros {
    let mut at = from;
    let mut open = 0;
    while at < to {
        let stretches = shops.iter().map(|shop| shop.stretch(at));
        // Until any of them changes.
        let (until, works) = stretches.fold((to, false), |(until, works), stretch| {
            (until.min(stretch.to), works || stretch.open)
        });
        let until = until.max(at + 1);
        if works {
            open += until - at;
        }
        at = until;
    }
    open
}

/// Rate, lead time and content; without a genealogy the rate only, of what was
/// made where cars leave.
fn plant(built: &Built, log: &Log, answer: &findings::Answer, weeks: f64) -> Vec<Check> {
    let items = &log.tables.items;
    if items.is_empty() {
        if crate::day::untold(built, log).is_some() {
            return Vec::new();
        }
        let rate = left(built, log) as f64 / weeks;
        return vec![check("cars a week", None, rate, answer.made, 0.0)];
    }
    let rate = items.len() as f64 / weeks;
    let mut days: Vec<f64> = items.iter().map(|item| item.1 / 86_400.0).collect();
    days.sort_by(f64::total_cmp);
    let quantile = |p: f64| days[((days.len() - 1) as f64 * p).round() as usize];
    let time = &answer.coil_to_car;
    // The model's by Little's law: cars a week by the mean time. The mean is that
    // of the quantiles, and its half-width at most that of theirs.
    let spread = &time.spread.days;
    let mean = spread.windows(2).map(|pair| (pair[0] + pair[1]) / 2.0);
    let mean = mean.sum::<f64>() / (spread.len().max(2) - 1) as f64;
    let half = 0.3 * time.p10.half_width + 0.4 * time.p50.half_width + 0.3 * time.p90.half_width;
    let around = Interval {
        mean: answer.made.mean * mean / 7.0,
        half_width: (answer.made.half_width * mean + answer.made.mean * half) / 7.0,
    };
    let of_time = |what: &str, seen: f64, model: Interval| {
        check(what, None, seen, model, BUCKET * model.mean)
    };
    vec![
        check("cars a week", None, rate, answer.made, 0.0),
        of_time("days coil to car, median", quantile(0.5), time.p50),
        of_time("days coil to car, nine in ten", quantile(0.9), time.p90),
        of_time("cars on their way", on_their_way(log, rate), around),
    ]
}

/// Cars between the begin of their oldest part and their end, on average over the
/// time in which all of them are known: those not finished by the end of the log
/// have no row. In a log too short for that by Little's law, at `rate` a week.
pub(super) fn on_their_way(log: &Log, rate: f64) -> f64 {
    let items = &log.tables.items;
    let (from, to) = log.span.unwrap_or_default();
    let ages = items.iter().map(|item| item.1);
    let longest = ages.clone().fold(0.0, f64::max);
    let until = to - micros(longest);
    if (until - from) * 4 < to - from {
        return rate * ages.sum::<f64>() / items.len() as f64 / seconds(WEEK);
    }
    let within = items.iter().map(|(end, age)| {
        let began = *end - micros(*age);
        seconds(((*end).min(until) - began.max(from)).max(0))
    });
    within.sum::<f64>() / seconds(until - from)
}

/// Cars that left the plant, by what was made where they leave.
fn left(built: &Built, log: &Log) -> u64 {
    let ends = crate::day::ends(built);
    let output = log.output();
    let made = output
        .made
        .iter()
        .filter(|((place, _), _)| ends.contains(&(*place as usize)));
    let cars = made.map(|((place, _), made)| {
        // A car that is reworked elsewhere has not left.
        let quality = &built.network.stations[*place as usize].quality;
        match quality.rework {
            Some(_) => made.good(),
            None => made.made.saturating_sub(made.scrap),
        }
    });
    cars.sum()
}

/// Shares of working, setup, stopped, starved and blocked in a station's known
/// planned time.
fn shares(log: &Log, first: u32, units: u32) -> Option<[f64; 5]> {
    let mut time = [0_i64; 7];
    for unit in log
        .units
        .iter()
        .filter(|u| (first..first + units).contains(&u.unit))
    {
        for cell in &unit.cells {
            time.iter_mut()
                .zip(cell.time)
                .for_each(|(sum, t)| *sum += t);
        }
    }
    let stopped = time[State::Stopped.at()] + time[State::Waiting.at()];
    let parts = [
        time[State::Working.at()],
        time[State::Setup.at()],
        stopped,
        time[State::Starved.at()],
        time[State::Blocked.at()],
    ];
    let all: i64 = parts.iter().sum();
    (all > 0).then(|| parts.map(|part| part as f64 / all as f64))
}

/// The mean's interval of some replications widened to where one more lies.
fn check(what: &str, station: Option<&str>, log: f64, model: Interval, finest: f64) -> Check {
    let half = model.half_width * f64::from(REPLICATIONS + 1).sqrt() + finest;
    // No figure here is below nothing, and no share above all.
    let most = if station.is_some() {
        1.0
    } else {
        f64::INFINITY
    };
    let model = Span {
        value: model.mean,
        low: (model.mean - half).max(0.0),
        high: (model.mean + half).min(most),
    };
    Check {
        what: what.to_owned(),
        station: station.map(str::to_owned),
        log,
        model,
        inside: model.holds(log),
    }
}
