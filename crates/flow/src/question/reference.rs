//! Whether a question is the repeatable series line, and which.

use super::Run;
use crate::distribution::Distribution;
use crate::model::{Basis, Gives, Network, Station, Takes, Work};
use crate::reference::ReferenceLine;
use asked::Cursor;

/// Seconds of a day.
pub(super) const DAY_S: f64 = 86_400.0;
/// Days that the definition simulates unless told otherwise.
pub(super) const DAYS: f64 = 30.0;

// What the definition lays down for every station.
const CYCLE_S: f64 = 60.0;
const BETWEEN_S: f64 = 14_400.0;
const REPAIR_S: f64 = 300.0;

/// The line that the network is, or the first place where it is not.
pub(super) fn line(cursor: &mut Cursor, network: &Network, run: &Run) -> Option<ReferenceLine> {
    let before = cursor.problems.len();
    for (at, station) in network.stations.iter().enumerate() {
        check_station(cursor, at, station);
    }
    if !network.arrivals.is_empty() {
        refuse(
            cursor,
            "arrivals",
            "arrivals",
            "endless supply at the first station",
        );
    }
    if !network.fleets.is_empty() {
        refuse(cursor, "fleets", "fleets", "no fleet");
    }
    if run.warm_up_s.is_some_and(|warm_up| warm_up > 0.0) {
        let found = "a warm-up above zero";
        refuse(
            cursor,
            "run.warm_up_s",
            found,
            "counting from the empty line",
        );
    }
    let places = series(cursor, network);
    if cursor.problems.len() > before {
        return None;
    }
    Some(ReferenceLine {
        stations: u32::try_from(network.stations.len()).ok()?,
        places: places?,
        days: run.length_s / DAY_S,
        seed: run.seed,
        replications: run.replications,
        // The definition's cycles differ; the question's 60 s is their mean.
        jitter: true,
    })
}

fn refuse(cursor: &mut Cursor, path: impl Into<String>, found: &str, expected: &str) {
    cursor.refuse(
        path,
        found,
        format!("{expected}, as the repeatable line is defined"),
        "change it, or leave `run.repeatable` out",
    );
}

fn check_station(cursor: &mut Cursor, at: usize, station: &Station) {
    let path = |key: &str| format!("stations[{at}].{key}");
    let fixed = matches!(&station.work, Work::Cycle(cycles)
        if cycles.distributions == [Distribution::Fixed(CYCLE_S)]);
    if !fixed {
        refuse(cursor, path("cycle"), "another cycle", "{\"fixed\": 60}");
    }
    let stops = matches!(station.stops.as_slice(), [stop]
        if stop.basis == Basis::Running
            && stop.between == Distribution::Exponential(BETWEEN_S)
            && stop.repair == Distribution::Exponential(REPAIR_S));
    if !stops {
        refuse(
            cursor,
            path("stops"),
            "other stops",
            "one running stop with `between` {\"exponential\": 14400} and `repair` {\"exponential\": 300}",
        );
    }
    if station.units != 1 {
        refuse(cursor, path("units"), "several units", "one unit");
    }
    let quality = &station.quality;
    if quality.first_time_ok != 1.0 || quality.scrap != 0.0 || quality.rework.is_some() {
        refuse(
            cursor,
            path("first_time_ok"),
            "rework or scrap",
            "every job right",
        );
    }
    if station.takes != Takes::Any || station.gives != Gives::Share {
        refuse(
            cursor,
            path("takes"),
            "a merge or a split",
            "a plain series",
        );
    }
}

/// The places between neighbours of a series line whose stations stand in the
/// order of the list.
fn series(cursor: &mut Cursor, network: &Network) -> Option<u32> {
    let count = network.stations.len();
    if count < 2 {
        refuse(
            cursor,
            "stations",
            "one station",
            "two stations or more in series",
        );
        return None;
    }
    if network.links.len() != count - 1 {
        let found = format!("{} links", network.links.len());
        let expected = format!("{} links, one between each two neighbours", count - 1);
        refuse(cursor, "links", &found, &expected);
        return None;
    }
    // A station's random numbers hang on its place in the line, so the list has
    // to be in that order; the links may be in any.
    let mut linked = vec![false; count - 1];
    let places = network.links.first().and_then(|link| link.holds);
    for (at, link) in network.links.iter().enumerate() {
        let neighbours = link.to.at() == link.from.at() + 1;
        if !neighbours || linked.get(link.from.at()).copied().unwrap_or(true) {
            let path = format!("links[{at}].to");
            let name = &network.stations[link.to.at()].name;
            refuse(
                cursor,
                path,
                &format!("{name:?}"),
                "the next station of the list",
            );
            return None;
        }
        linked[link.from.at()] = true;
        if link.holds.is_none() || link.holds != places {
            let path = format!("links[{at}].holds");
            let found = link
                .holds
                .map_or("null".to_owned(), |held| held.to_string());
            refuse(
                cursor,
                path,
                &found,
                "the same number of places in every link",
            );
            return None;
        }
        if link.move_s != 0.0 {
            let path = format!("links[{at}].move_s");
            refuse(cursor, path, &link.move_s.to_string(), "0");
            return None;
        }
    }
    places
}
