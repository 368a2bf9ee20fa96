//! The ways on which paint sends bodies round, and how many others overtake
//! them meanwhile.

use std::collections::BTreeMap;

use book::{At, Book, Station};
use sequence::store::Repair;
use serde::{Deserialize, Serialize};

use super::super::luck;

/// A way of repair from a station that finds cars not OK.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct RepairWay {
    /// The station that finds them.
    pub station: String,
    /// Its row.
    pub at: At,
    /// The stations on the way, the one last where it rejoins the others.
    pub way: Vec<String>,
    /// Share of all cars that go it.
    pub share: f64,
    /// Seconds that it takes longer than the way of a good car.
    pub seconds: f64,
    /// Cars that overtake it meanwhile.
    pub overtaken_by: u32,
}

/// Stations on a way of repair beyond which it is not followed.
const LONGEST: usize = 60;
/// Ways followed from a station.
const MOST_WAYS: usize = 200;

/// All ways of repair in the paint shop, for cars `takt_s` apart.
pub(in super::super) fn ways(book: &Book, takt_s: f64) -> Vec<RepairWay> {
    let shop = &book.plant.paint_shop.value;
    let mut ways = Vec::new();
    for row in &book.stations {
        let bad = 1.0 - row.ok().0;
        let Some(to) = row.rework_to.as_ref().filter(|_| bad > 0.0) else {
            continue;
        };
        if row.shop == *shop {
            ways.extend(of_station(book, row, to, bad, takt_s));
        }
    }
    ways
}

fn of_station(book: &Book, row: &Station, to: &str, bad: f64, takt_s: f64) -> Vec<RepairWay> {
    let good = good_way(book, &row.station, to);
    let first = move_s(book, &row.station, to);
    let mut open = vec![(vec![to.to_owned()], 1.0, first)];
    let mut found: Vec<RepairWay> = Vec::new();
    while let Some((way, share, seconds)) = open.pop() {
        let last = &way[way.len() - 1];
        if let Some(direct) = good.get(last.as_str()) {
            // Sent through the same station again, it takes that time too.
            let again = if *last == row.station {
                cycle_s(book, last)
            } else {
                0.0
            };
            let longer = (seconds + again - direct).max(0.0);
            found.push(RepairWay {
                station: row.station.clone(),
                at: row.at,
                share: bad * share,
                seconds: longer,
                // a repair takes less than a million takts
                overtaken_by: (longer / takt_s.max(1e-9)).round().min(1e6) as u32,
                way,
            });
            continue;
        }
        if way.len() >= LONGEST || found.len() + open.len() >= MOST_WAYS {
            continue;
        }
        let through = seconds + cycle_s(book, last);
        let links: Vec<&book::Link> = book
            .links
            .iter()
            .filter(|link| link.from == *last)
            .collect();
        let given: f64 = links
            .iter()
            .filter_map(|link| link.share)
            .map(|share| share.0)
            .sum();
        let bare = links
            .iter()
            .filter(|link| link.share.is_none())
            .count()
            .max(1);
        for link in &links {
            let part = link
                .share
                .map_or((1.0 - given).max(0.0) / bare as f64, |share| share.0);
            // A station on the way that sends cars round itself adds to its own ways.
            let own_rework = station(book, last).and_then(|row| row.rework_to.as_ref());
            if part <= 0.0
                || own_rework == Some(&link.to)
                || way[..way.len() - 1].contains(&link.to)
            {
                continue;
            }
            let mut on = way.clone();
            on.push(link.to.clone());
            open.push((on, share * part, through + link.move_s.0));
        }
    }
    found.sort_by(|a, b| b.share.total_cmp(&a.share).then_with(|| a.way.cmp(&b.way)));
    found
}

/// Seconds from the end of a station to each that a good car comes to, within
/// the shop, and to itself.
fn good_way<'b>(book: &'b Book, from: &'b str, rework_to: &str) -> BTreeMap<&'b str, f64> {
    let mut reached = BTreeMap::from([(from, 0.0)]);
    let mut open = vec![(from, 0.0)];
    while let Some((at, seconds)) = open.pop() {
        for link in book.links.iter().filter(|link| link.from == at) {
            let to = link.to.as_str();
            if (at == from && to == rework_to) || reached.contains_key(to) {
                continue;
            }
            let there = seconds + link.move_s.0;
            reached.insert(to, there);
            open.push((to, there + cycle_s(book, to)));
        }
    }
    reached
}

fn station<'b>(book: &'b Book, name: &str) -> Option<&'b Station> {
    book.stations.iter().find(|row| row.station == name)
}

fn cycle_s(book: &Book, name: &str) -> f64 {
    station(book, name).map_or(0.0, |row| row.cycle().0)
}

fn move_s(book: &Book, from: &str, to: &str) -> f64 {
    let link = book
        .links
        .iter()
        .find(|link| link.from == from && link.to == to);
    link.map_or(0.0, |link| link.move_s.0)
}

/// Times that a car is sent round at most.
const ROUNDS: u64 = 3;

/// The repairs of a week: each station's luck belongs to its name and the car's
/// place, so that a change of one rate moves no other repair.
pub(super) fn drawn(ways: &[RepairWay], cars: usize, seed: u64) -> Vec<Repair> {
    let mut stations: Vec<&str> = ways.iter().map(|way| way.station.as_str()).collect();
    stations.dedup();
    let mut repairs = Vec::new();
    for car in 0..cars {
        let mut overtaken_by = 0;
        for name in &stations {
            let own = luck::of_name(name) ^ luck::mixed(seed);
            for round in 0..ROUNDS {
                let number = own.wrapping_add(car as u64 * ROUNDS + round);
                let mut at = luck::share(number);
                let taken = ways.iter().filter(|way| way.station == *name).find(|way| {
                    at -= way.share;
                    at < 0.0
                });
                let Some(way) = taken else { break };
                overtaken_by += way.overtaken_by as usize;
                if way.way.last().map(String::as_str) != Some(*name) {
                    break;
                }
            }
        }
        if overtaken_by > 0 {
            repairs.push(Repair {
                place: car,
                overtaken_by,
            });
        }
    }
    repairs
}
