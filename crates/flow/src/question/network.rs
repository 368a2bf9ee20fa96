//! Stations, links, arrivals and fleets of a question.

use std::collections::BTreeMap;

use super::time::{self, Least};
use crate::distribution::Distribution;
use crate::model::{
    Arrival, Basis, Cycles, Fleet, Gives, Link, LinkIdx, Network, Quality, Station, StationIdx,
    Stop, Takes, Work,
};
use asked::Json;
use asked::{Cursor, Fields, Range, Spot};

const STATION_KEYS: [&str; 10] = [
    "name",
    "cycle",
    "units",
    "stops",
    "first_time_ok",
    "rework_to",
    "scrap",
    "takes",
    "loads",
    "gives",
];

/// More places than jobs could ever fill are the same as no limit.
const MOST_PLACES: f64 = 1e7;

/// Reads what a question says of the network; names resolve to indices.
pub(super) fn read(cursor: &mut Cursor, fields: &Fields<'_>) -> Option<Network> {
    let spots = match cursor.required(fields, "stations") {
        Some(spot) => cursor.list(&spot),
        None => return None,
    };
    if spots.is_empty() {
        cursor.refuse("stations", "no station", "a list of stations", "add one");
        return None;
    }
    let names = cursor.own_names(&spots, "stations");
    let mut stations = Vec::new();
    let mut rework = Vec::new();
    for spot in &spots {
        if let Some((station, to)) = read_station(cursor, spot, &names) {
            stations.push(station);
            rework.push(to);
        }
    }
    let links: Vec<ReadLink> = cursor
        .optional_list(fields, "links")
        .iter()
        .filter_map(|spot| read_link(cursor, spot, &names))
        .collect();
    let arrivals = cursor
        .optional_list(fields, "arrivals")
        .iter()
        .filter_map(|spot| read_arrival(cursor, spot, &names))
        .collect();
    let fleets = read_fleets(cursor, fields, &names);
    // With a station or a link missing, what follows would accuse the innocent.
    if !cursor.problems.is_empty() {
        return None;
    }
    let links = join_up(cursor, &mut stations, &rework, links)?;
    let network = Network {
        classes: vec!["job".to_owned()],
        stations,
        links,
        arrivals,
        fleets,
        crews: Vec::new(),
        calendars: Vec::new(),
    };
    time_passes_at_sources(cursor, &network)?;
    Some(network)
}

/// A station and the station its rework goes to.
type ReadStation = (Station, Option<StationIdx>);

fn read_station(
    cursor: &mut Cursor,
    spot: &Spot<'_>,
    names: &BTreeMap<String, u32>,
) -> Option<ReadStation> {
    let fields = cursor.object(spot, &STATION_KEYS)?;
    let name = cursor.required(&fields, "name");
    let name = name.and_then(|spot| cursor.text(&spot));
    let cycle = cursor.required(&fields, "cycle");
    let cycle = cycle.and_then(|spot| time::read(cursor, &spot, Least::Zero));
    let units = cursor.count_or(&fields, "units", 1, 1..=10_000);
    let stops: Vec<Option<Stop>> = cursor
        .optional_list(&fields, "stops")
        .iter()
        .enumerate()
        .map(|(n, spot)| read_stop(cursor, spot, n))
        .collect();
    let first_time_ok = cursor.number_or(&fields, "first_time_ok", 1.0, &Range::SHARE);
    let scrap = cursor.number_or(&fields, "scrap", 0.0, &Range::SHARE);
    let rework = match fields.get("rework_to") {
        Some(spot) if *spot.value != Json::Null => {
            cursor.named(&spot, names, "station").map(StationIdx)
        }
        _ => None,
    };
    let takes = read_takes(cursor, &fields);
    let gives = match fields.get("gives") {
        Some(spot) => {
            let words = [("share", Gives::Share), ("one_to_each", Gives::OneToEach)];
            cursor.word(&spot, &words)
        }
        None => Some(Gives::Share),
    };
    let station = Station {
        name: name?,
        work: Work::Cycle(Cycles::same(cycle?)),
        units: units?,
        stops: stops.into_iter().collect::<Option<_>>()?,
        wear: 1.0,
        quality: Quality {
            first_time_ok: first_time_ok?,
            rework: None,
            scrap: scrap?,
            attempts: None,
        },
        takes: takes?,
        gives: gives?,
        calendar: None,
        release: None,
    };
    Some((station, rework))
}

fn read_takes(cursor: &mut Cursor, fields: &Fields<'_>) -> Option<Takes> {
    let each = match fields.get("takes") {
        Some(spot) => cursor.word(&spot, &[("any", false), ("one_of_each", true)])?,
        None => false,
    };
    let Some(spot) = fields.get("loads") else {
        return Some(if each { Takes::OneOfEach } else { Takes::Any });
    };
    let one_by_one = cursor.word(&spot, &[("together", false), ("as_they_come", true)])?;
    match (each, one_by_one) {
        (true, true) => Some(Takes::OneOfEachAsTheyCome),
        (true, false) => Some(Takes::OneOfEach),
        (false, false) => Some(Takes::Any),
        (false, true) => {
            cursor.refuse(
                fields.path_of("loads"),
                "\"as_they_come\" at a station that takes \"any\"",
                "\"as_they_come\" only beside `takes` \"one_of_each\"",
                "leave `loads` out or write `takes` \"one_of_each\"",
            );
            None
        }
    }
}

fn read_stop(cursor: &mut Cursor, spot: &Spot<'_>, at: usize) -> Option<Stop> {
    let fields = cursor.object(spot, &["basis", "between", "repair"])?;
    let basis = match fields.get("basis") {
        Some(spot) => {
            let words = [("running", Basis::Running), ("clock", Basis::Clock)];
            cursor.word(&spot, &words)
        }
        None => Some(Basis::Running),
    };
    let between = cursor.required(&fields, "between");
    let between = between.and_then(|spot| time::read(cursor, &spot, Least::AboveZero));
    let repair = cursor.required(&fields, "repair");
    let repair = repair.and_then(|spot| time::read(cursor, &spot, Least::Zero));
    Some(Stop {
        // Streams belong to a cause by its name, and a question has none.
        cause: format!("stop {}", at + 1),
        basis: basis?,
        between: between?,
        repair: repair?,
        crew: None,
        in_breaks: true,
    })
}

/// A link whose share may have been left out.
struct ReadLink {
    path: String,
    link: Link,
    share: Option<f64>,
}

fn read_link(
    cursor: &mut Cursor,
    spot: &Spot<'_>,
    names: &BTreeMap<String, u32>,
) -> Option<ReadLink> {
    let fields = cursor.object(spot, &["from", "to", "holds", "move_s", "share"])?;
    let mut end = |key: &str| {
        let spot = cursor.required(&fields, key)?;
        cursor.named(&spot, names, "station").map(StationIdx)
    };
    let (from, to) = (end("from"), end("to"));
    let holds = match cursor.required(&fields, "holds") {
        Some(spot) if *spot.value == Json::Null => Some(None),
        Some(spot) => {
            let range = Range {
                what: "places",
                least: 0.0,
                most: MOST_PLACES,
            };
            cursor
                .count(&spot, &range)
                .map(|places| places.try_into().ok())
        }
        None => None,
    };
    let move_s = cursor.number_or(&fields, "move_s", 0.0, &Range::SECONDS);
    let share = match fields.get("share") {
        Some(spot) if *spot.value != Json::Null => Some(cursor.number(&spot, &Range::SHARE)?),
        _ => None,
    };
    Some(ReadLink {
        path: spot.path.clone(),
        link: Link {
            from: from?,
            to: to?,
            holds: holds?,
            move_s: move_s?,
            share: 1.0,
            classes: Vec::new(),
            needs: 1,
            needed_for: Vec::new(),
        },
        share,
    })
}

fn read_arrival(
    cursor: &mut Cursor,
    spot: &Spot<'_>,
    names: &BTreeMap<String, u32>,
) -> Option<Arrival> {
    let fields = cursor.object(spot, &["station", "between"])?;
    let station = cursor.required(&fields, "station");
    let station = station.and_then(|spot| cursor.named(&spot, names, "station"));
    let between = cursor.required(&fields, "between");
    let between = between.and_then(|spot| time::read(cursor, &spot, Least::AboveZero));
    Some(Arrival {
        station: StationIdx(station?),
        between: between?,
        batch: 1,
        mix: Vec::new(),
    })
}

fn read_fleets(
    cursor: &mut Cursor,
    fields: &Fields<'_>,
    names: &BTreeMap<String, u32>,
) -> Vec<Fleet> {
    let mut fleets: Vec<Fleet> = Vec::new();
    for spot in cursor.optional_list(fields, "fleets") {
        let Some(fleet) = read_fleet(cursor, &spot, names) else {
            continue;
        };
        if let Some(first) = fleets.iter().position(|known| known.name == fleet.name) {
            cursor.refuse(
                format!("{}.name", spot.path),
                format!("{:?}, the name of fleets[{first}] too", fleet.name),
                "a name of its own",
                format!("write \"{} 2\"", fleet.name),
            );
        }
        fleets.push(fleet);
    }
    fleets
}

fn read_fleet(
    cursor: &mut Cursor,
    spot: &Spot<'_>,
    names: &BTreeMap<String, u32>,
) -> Option<Fleet> {
    let keys = ["name", "count", "taken_at", "returned_at", "return_s"];
    let fields = cursor.object(spot, &keys)?;
    let name = cursor.required(&fields, "name");
    let name = name.and_then(|spot| cursor.text(&spot));
    cursor.required(&fields, "count");
    let count = cursor.count_or(&fields, "count", 1, 1..=1_000_000);
    let mut end = |key: &str| {
        let spot = cursor.required(&fields, key)?;
        cursor.named(&spot, names, "station").map(StationIdx)
    };
    let (taken_at, returned_at) = (end("taken_at"), end("returned_at"));
    let return_s = cursor.number_or(&fields, "return_s", 0.0, &Range::SECONDS);
    Some(Fleet {
        name: name?,
        count: count?,
        taken_at: taken_at?,
        returned_at: returned_at?,
        return_s: return_s?,
    })
}

/// Tells rework links from the others, adds those that go without saying, and
/// fills in the shares left out.
fn join_up(
    cursor: &mut Cursor,
    stations: &mut [Station],
    rework: &[Option<StationIdx>],
    read: Vec<ReadLink>,
) -> Option<Vec<Link>> {
    let mut outgoing: Vec<Vec<usize>> = vec![Vec::new(); stations.len()];
    for (at, link) in read.iter().enumerate() {
        outgoing[link.link.from.at()].push(at);
    }
    let paths: Vec<String> = read.iter().map(|link| link.path.clone()).collect();
    let shares: Vec<Option<f64>> = read.iter().map(|link| link.share).collect();
    let mut links: Vec<Link> = read.into_iter().map(|link| link.link).collect();
    for (at, station) in (0_u32..).zip(stations.iter_mut()) {
        let mut ways = outgoing[at as usize].clone();
        if let Some(to) = rework[at as usize] {
            let said = ways.iter().position(|way| links[*way].to == to);
            let way = match said {
                Some(place) => ways.remove(place),
                None => {
                    links.push(rework_way(StationIdx(at), to));
                    links.len() - 1
                }
            };
            station.quality.rework = u32::try_from(way).ok().map(LinkIdx);
        }
        if station.gives == Gives::Share {
            fill_shares(cursor, &mut links, &ways, &shares, &paths);
        }
    }
    cursor.problems.is_empty().then_some(links)
}

/// The way to rework where no link says it: room for all, no time.
fn rework_way(from: StationIdx, to: StationIdx) -> Link {
    Link {
        from,
        to,
        holds: None,
        move_s: 0.0,
        share: 1.0,
        classes: Vec::new(),
        needs: 1,
        needed_for: Vec::new(),
    }
}

fn fill_shares(
    cursor: &mut Cursor,
    links: &mut [Link],
    ways: &[usize],
    shares: &[Option<f64>],
    paths: &[String],
) {
    let said: f64 = ways.iter().filter_map(|way| shares[*way]).sum();
    let open = ways.iter().filter(|way| shares[**way].is_none()).count();
    let rest = 1.0 - said;
    let Some(last) = ways.last() else {
        return;
    };
    // A third written with four digits is still meant as a third.
    let slack = 1e-3;
    if rest < -slack || (open == 0 && rest > slack) {
        let own = shares[*last].unwrap_or(0.0);
        cursor.refuse(
            format!("{}.share", paths[*last]),
            format!(
                "shares of the links from this station that add to {}",
                round(said)
            ),
            "shares that add to 1",
            if (0.0..=1.0).contains(&(own + rest)) {
                format!("change {} to {}", round(own), round(own + rest))
            } else {
                format!("divide each by {}", round(said))
            },
        );
        return;
    }
    for way in ways {
        links[*way].share = match shares[*way] {
            Some(share) if open == 0 => share / said,
            Some(share) => share,
            None => rest.max(0.0) / open as f64,
        };
    }
}

fn round(share: f64) -> f64 {
    (share * 1e6).round() / 1e6
}

/// A station that is never short and takes no time would give without end.
fn time_passes_at_sources(cursor: &mut Cursor, network: &Network) -> Option<()> {
    let mut fed = vec![false; network.stations.len()];
    for link in &network.links {
        fed[link.to.at()] = true;
    }
    for arrival in &network.arrivals {
        fed[arrival.station.at()] = true;
    }
    for (at, station) in network.stations.iter().enumerate() {
        let Work::Cycle(cycles) = &station.work else {
            continue;
        };
        let timeless = cycles.distributions.iter().all(|cycle| {
            matches!(
                cycle,
                Distribution::Fixed(0.0)
                    | Distribution::Exponential(0.0)
                    | Distribution::Uniform(_, 0.0)
                    | Distribution::Triangular(_, _, 0.0)
                    | Distribution::Erlang(_, 0.0)
                    | Distribution::Lognormal(0.0, _)
                    | Distribution::Weibull(_, 0.0)
            ) || matches!(cycle, Distribution::Empirical(times) if times.iter().all(|time| *time == 0.0))
        });
        if !fed[at] && timeless {
            cursor.refuse(
                format!("stations[{at}].cycle"),
                "a cycle of zero at a station that is never short of work",
                "a time above zero, or arrivals at this station",
                "write a cycle above zero or add an arrival",
            );
        }
    }
    cursor.problems.is_empty().then_some(())
}
