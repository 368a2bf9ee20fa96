//! Made against plan by shop and hour, and who waited.

use std::ops::Range;

use serde::{Deserialize, Serialize};
use units::Quantity as _;
use whole::network::{Built, Way};

use book::{Book, Problem};

use crate::defects::refusal;
use crate::read::Log;
use crate::roster::Roster;
use crate::state::State;
use crate::time::{DAY, HOUR, Micros, WEEK, Zone, seconds};

/// An hour of a shop.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct HourRow {
    /// The shop.
    pub shop: String,
    /// The hour on the plant's clock, 0 to 23.
    pub hour: i64,
    /// Cars planned: the week's, by open time.
    pub plan: f64,
    /// Cars that left the shop: where they leave the plant those of the genealogy, if
    /// there is one, else jobs done right at the shop's last stations.
    pub made: u64,
}

/// How long a station waited.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(
    feature = "schema",
    derive(schemars::JsonSchema),
    schemars(rename = "StationWaits")
)]
pub struct Waits {
    /// The station.
    pub station: String,
    /// Minutes starved, each unit.
    pub starved_min: f64,
    /// Minutes blocked, each unit.
    pub blocked_min: f64,
}

/// Stations from which cars leave a shop.
pub(super) fn exits(built: &Built, shop: &str) -> Vec<usize> {
    let leaves = |place: usize| {
        let mut onward = (0..built.links.len()).filter(|l| {
            built.links[*l].way == Way::Onward && built.network.links[*l].from.at() == place
        });
        let mut last = true;
        let out = onward.any(|l| {
            last = false;
            let to = built.network.links[l].to.at();
            !built.joined[l] && built.stations[to].shop != shop
        });
        // What feeds a stock only is no end of the line.
        out || (last && finishes(built, place))
    };
    (0..built.stations.len())
        .filter(|place| built.stations[*place].shop == shop && leaves(*place))
        .collect()
}

/// Whether the network counts what leaves a station as finished: no way leads
/// on from it but the one to rework, which a good car does not take.
fn finishes(built: &Built, place: usize) -> bool {
    let mut links = built.network.links.iter().zip(&built.links);
    links.all(|(link, origin)| link.from.at() != place || origin.way == Way::Rework)
}

/// Stations from which cars leave the plant.
pub(crate) fn ends(built: &Built) -> Vec<usize> {
    (0..built.stations.len())
        .filter(|place| finishes(built, *place))
        .collect()
}

/// The shop from which cars leave the plant.
///
/// # Errors
/// The plant has no such station: nothing can be held against what left it.
pub(crate) fn last_shop(built: &Built) -> Result<&str, Box<Problem>> {
    let end = ends(built).pop();
    end.map(|place| built.stations[place].shop.as_str())
        .ok_or_else(|| {
            Box::new(refusal(
                "links",
                "no-end-of-line",
                "a link onward from every station",
                "a station from which cars leave the plant",
                "drop the link that leads on from the last station; its way to rework may stay",
            ))
        })
}

/// Cars a week by the book.
pub(super) fn cars_per_week(book: &Book) -> f64 {
    book.products
        .iter()
        .map(|row| row.cars_per_week.get())
        .sum()
}

/// Planned cars of a shop between two instants of a week.
pub(super) fn planned(book: &Book, roster: &Roster, shop: &str, from: Micros, to: Micros) -> f64 {
    let Some(hours) = roster.hours.iter().find(|hours| hours.shop == shop) else {
        return 0.0;
    };
    let week = hours.open_between(from, from + WEEK);
    let open = hours.open_between(from, to);
    cars_per_week(book) * seconds(open) / seconds(week).max(1.0)
}

/// Jobs right and done at stations in hours of the plant's clock, counted from
/// 1970.
fn made(log: &Log, zone: Zone, places: &[usize], wanted: Range<i64>) -> u64 {
    let units = log
        .units
        .iter()
        .filter(|unit| places.contains(&(unit.place as usize)));
    let hours = units.flat_map(|unit| &unit.hours);
    let within = hours.filter(|(hour, _)| wanted.contains(hour));
    let done: u64 = within.map(|(_, jobs)| u64::from(*jobs)).sum();
    let hour = |at: Micros| zone.local(at).div_euclid(HOUR);
    let wrong = log.tables.kept.iter().filter(|reject| {
        places.contains(&(reject.place as usize)) && wanted.contains(&hour(reject.at))
    });
    done.saturating_sub(wrong.count() as u64)
}

/// Every shop that sends cars on, hour by hour of a day on the plant's clock.
pub(super) fn rows(
    book: &Book,
    built: &Built,
    roster: &Roster,
    log: &Log,
    day: i64,
) -> Vec<HourRow> {
    let zone = roster.map.zone;
    let ends = ends(built);
    let mut rows = Vec::new();
    for shop in whole::calendar::shops(book) {
        let exits = exits(built, &shop);
        if exits.is_empty() {
            continue;
        }
        for hour in 0..24 {
            // An hour that comes twice has two, one that is left out none.
            let clock = day * DAY + hour * HOUR;
            let (from, to) = (zone.instant(clock), zone.instant(clock + HOUR));
            let at = day * 24 + hour;
            // The last shop's hours add up to the day's cars.
            let cars = finished(log, from, to).filter(|_| exits == ends);
            let row = HourRow {
                plan: planned(book, roster, &shop, from, to),
                made: cars.unwrap_or_else(|| made(log, zone, &exits, at..at + 1)),
                shop: shop.clone(),
                hour,
            };
            if row.plan > 0.0 || row.made > 0 {
                rows.push(row);
            }
        }
    }
    rows
}

/// Cars that left the plant in a day: those of the genealogy, else the jobs
/// done where cars leave.
pub(super) fn cars_made(built: &Built, roster: &Roster, log: &Log, day: i64) -> f64 {
    let zone = roster.map.zone;
    let (from, to) = (zone.instant(day * DAY), zone.instant((day + 1) * DAY));
    let cars = finished(log, from, to);
    cars.unwrap_or_else(|| made(log, zone, &ends(built), day * 24..(day + 1) * 24)) as f64
}

/// Cars of the genealogy that were finished between two instants; none where the log
/// has no genealogy.
fn finished(log: &Log, from: Micros, to: Micros) -> Option<u64> {
    let items = &log.tables.items;
    let within = items.iter().filter(|item| from <= item.0 && item.0 < to);
    (!items.is_empty()).then(|| within.count() as u64)
}

/// Names of the stations from which cars leave, if the log knows of none and
/// has no genealogy either: then it does not tell what was made.
pub(crate) fn untold<'b>(built: &'b Built, log: &Log) -> Option<Vec<&'b str>> {
    let ends = ends(built);
    let seen =
        |unit: &crate::gather::UnitLog| unit.rows > 0 && ends.contains(&(unit.place as usize));
    let told = !log.tables.items.is_empty() || log.units.iter().any(seen);
    let names = ends
        .iter()
        .map(|place| built.stations[*place].name.as_str());
    (!told).then(|| names.collect())
}

/// The stations that waited longest in a day.
pub(super) fn waits(log: &Log, roster: &Roster, from: Micros, to: Micros) -> Vec<Waits> {
    let mut all: Vec<Waits> = Vec::new();
    for (n, place) in roster.places.iter().enumerate() {
        let units = log.units.iter().filter(|unit| unit.place as usize == n);
        let (mut starved, mut blocked) = (0, 0);
        for spell in units.flat_map(|unit| &unit.kept) {
            let both = spell.to.min(to) - spell.from.max(from);
            match spell.state {
                State::Starved if both > 0 => starved += both,
                State::Blocked if both > 0 => blocked += both,
                _ => {}
            }
        }
        let minutes = |t: Micros| seconds(t) / 60.0 / f64::from(place.units.max(1));
        all.push(Waits {
            station: place.name.clone(),
            starved_min: minutes(starved),
            blocked_min: minutes(blocked),
        });
    }
    all.sort_by(|a, b| {
        let sum = |w: &Waits| w.starved_min + w.blocked_min;
        sum(b)
            .total_cmp(&sum(a))
            .then_with(|| a.station.cmp(&b.station))
    });
    all.truncate(12);
    all
}
