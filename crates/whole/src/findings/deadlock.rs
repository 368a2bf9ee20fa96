//! A plant that locks itself up: which stations wait for each other, and the
//! smallest change that keeps them from it.

use book::At;
use flow::Stuck;
use serde::{Deserialize, Serialize};

use super::measure::Measured;
use crate::network::{Built, Way};

/// A full link of this share of the time is what a station waits for.
const FULL: f64 = 0.01;

/// A link on which a station that waits is, or would be, blocked.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct DeadlockLink {
    /// Its row.
    pub at: At,
    /// The station above.
    pub from: String,
    /// The station below.
    pub to: String,
    /// Whether it is the way to rework.
    pub rework: bool,
    /// Whether it brings something for some products only, to be joined.
    pub for_some: bool,
    /// Places; none means without limit.
    pub holds: Option<u32>,
}

/// Stations that wait for each other for ever.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Deadlock {
    /// What happens, in a sentence.
    pub sentence: String,
    /// The stations.
    pub stations: Vec<String>,
    /// The links that leave them.
    pub links: Vec<DeadlockLink>,
    /// Position in `links` of the one that a place more would free; none when
    /// the stations wait for something else than places.
    pub widen: Option<usize>,
    /// Replications in which it came to that.
    pub replications: u32,
    /// Hours after the start when the first of them stood still.
    pub since_h: f64,
}

pub(super) fn describe(built: &Built, measured: &Measured, stuck: &Stuck) -> Deadlock {
    let name = |station: usize| built.stations[station].name.clone();
    let waiting = ring(built, &stuck.stations);
    let inside = |station: usize| waiting.contains(&station);
    let full = |link: usize| measured.outcome.links[link].full.mean;
    let positions: Vec<usize> = (0..built.links.len())
        .filter(|&l| inside(built.network.links[l].from.at()))
        .collect();
    // a place more on the way to rework takes the car that closes the ring; of
    // other links the one that is full most of the time
    let widen = (0..positions.len())
        .filter(|&i| built.network.links[positions[i]].holds.is_some())
        .max_by(|&a, &b| {
            let (a, b) = (positions[a], positions[b]);
            let rework = |l: usize| {
                built.links[l].way == Way::Rework && inside(built.network.links[l].to.at())
            };
            let for_some = |l: usize| for_some(built, l) && full(l) > FULL;
            (rework(a), for_some(a))
                .cmp(&(rework(b), for_some(b)))
                .then(full(a).total_cmp(&full(b)))
        });
    let links: Vec<DeadlockLink> = positions
        .iter()
        .map(|&l| {
            let link = &built.network.links[l];
            DeadlockLink {
                at: built.links[l].at,
                from: name(link.from.at()),
                to: name(link.to.at()),
                rework: built.links[l].way == Way::Rework,
                for_some: for_some(built, l),
                holds: link.holds,
            }
        })
        .collect();
    let stations: Vec<String> = waiting.iter().map(|&s| name(s)).collect();
    let since_h = stuck.since_s / 3_600.0;
    Deadlock {
        sentence: sentence(&stations, since_h, widen.map(|l| &links[l])),
        stations,
        widen,
        links,
        replications: stuck.replications,
        since_h,
    }
}

/// The stations of a ring of links, without those that are only blocked by
/// it; all of them when no ring of links is the cause.
fn ring(built: &Built, stuck: &[usize]) -> Vec<usize> {
    let below = |station: usize| {
        let links = built
            .network
            .links
            .iter()
            .filter(move |l| l.from.at() == station);
        links.map(|l| l.to.at()).filter(|to| stuck.contains(to))
    };
    let comes_back = |start: usize| {
        let mut seen = vec![false; built.stations.len()];
        let mut open: Vec<usize> = below(start).collect();
        while let Some(station) = open.pop() {
            if station == start {
                return true;
            }
            if !std::mem::replace(&mut seen[station], true) {
                open.extend(below(station));
            }
        }
        false
    };
    let ring: Vec<usize> = stuck.iter().copied().filter(|&s| comes_back(s)).collect();
    if ring.is_empty() {
        stuck.to_vec()
    } else {
        ring
    }
}

fn for_some(built: &Built, link: usize) -> bool {
    built.links[link].way == Way::Onward && !built.network.links[link].needed_for.is_empty()
}

/// The first few names, and how many more there are: a ring of fifty stations
/// is in the list, a sentence names enough to find it.
fn handful(names: &[String]) -> String {
    const NAMED: usize = 4;
    match names.len().saturating_sub(NAMED) {
        0 => names.join(", "),
        more => format!("{} and {more} more", names[..NAMED].join(", ")),
    }
}

fn sentence(stations: &[String], since_h: f64, widen: Option<&DeadlockLink>) -> String {
    let stations = handful(stations);
    let says =
        format!("the plant locks itself up after {since_h:.0} h: {stations} wait for each other");
    let Some(link) = widen else {
        return format!("{says}; no link behind them has a limit that could be raised");
    };
    let places = link.holds.unwrap_or(0) + 1;
    let DeadlockLink { from, to, at, .. } = link;
    if link.for_some && !link.rework {
        format!(
            "{says}; the link from {from} to {to} ({at}) is full of pieces for one product while \
             the cars come in another order: let one link bring them for all products, or give it \
             more places than {}",
            places - 1
        )
    } else {
        format!("{says}; give the link from {from} to {to} ({at}) a place more, {places} in all")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_ring_of_many_stations_is_told_by_its_first_few() {
        let ring: Vec<String> = (1..=50).map(|place| format!("S-{place:02}")).collect();
        let sentence = sentence(&ring, 6.2, None);
        assert!(
            sentence.contains("after 6 h: S-01, S-02, S-03, S-04 and 46 more wait for each other"),
            "{sentence}"
        );
        assert_eq!(handful(&ring[..4]), "S-01, S-02, S-03, S-04");
    }
}
