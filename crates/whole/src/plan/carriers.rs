//! Carts, skids and hangers: how many the loop needs at the plan's rate.
//!
//! On the way from `taken_at` to `returned_at` every station holds a carrier
//! for each of its units, at the pace of the line; moves, loading, unloading
//! and the way back hold what travels meanwhile. Stations reached only by
//! rework hold one while they work. Full buffers hold more; the run shows them.

use book::{Carrier, Holds};
use formulas::{Origin, Sourced, calendar as trade, rate_plan};
use units::{Count, Minutes, Seconds, Share};

use super::sheet::{Sheet, cell};
use super::stations::alone;
use super::{Basis, CarrierPlan};

/// The fleets' plans, in the book's order.
pub(super) fn plan(sheet: &mut Sheet, basis: &Basis<'_>) -> Vec<CarrierPlan> {
    let carriers = basis.book.carriers.iter();
    carriers.filter_map(|row| one(sheet, basis, row)).collect()
}

fn one(sheet: &mut Sheet, basis: &Basis<'_>, row: &Carrier) -> Option<CarrierPlan> {
    let book = basis.book;
    let find = |name: &str| {
        book.stations
            .iter()
            .position(|station| station.station == name)
    };
    let (from, to) = (find(&row.taken_at)?, find(&row.returned_at)?);
    let jobs = basis.need.fresh(from);
    if jobs <= 0.0 {
        return None;
    }
    let at = Some(row.at);
    let name = row.carrier.as_str();
    let net = basis.shops.get(&book.stations[from].shop)?.net.clone();
    let taken = Sourced::figure(Count(jobs), format!("station.{}.jobs", row.taken_at));
    let takt = sheet.add(
        format!("carrier.{name}.takt"),
        format!("time from one {name} taken to the next"),
        at,
        trade::takt(net.map(|net| Minutes(net.0 * 60.0)), taken),
    )?;
    let way = Way::of(basis, from, to);
    let needed = sheet.add(
        format!("carrier.{name}.needed"),
        format!("{name} that the plan needs"),
        at,
        rate_plan::carriers_needed(
            way.stations(basis),
            way.travel(basis, row, jobs),
            takt.part(|takt| *takt),
            cell(row.availability, row.at, "availability"),
        ),
    )?;
    let load = needed.value.exact.0 / f64::from(row.count.max(1));
    let share = needed.part(|needed| Share(needed.exact.0 / f64::from(row.count.max(1))));
    Some(CarrierPlan {
        carrier: row.carrier.clone(),
        at: row.at,
        count: row.count,
        needed: needed.planned(|needed| needed.carriers.0),
        load,
        alone: alone(sheet, basis, &format!("carrier.{name}"), share),
    })
}

/// What lies between the two ends of a loop.
struct Way {
    /// Stations on a way without rework.
    main: Vec<usize>,
    /// Stations that only rework comes to.
    side: Vec<usize>,
}

impl Way {
    fn of(basis: &Basis<'_>, from: usize, to: usize) -> Self {
        let main = between(basis, from, to, false);
        let all = between(basis, from, to, true);
        let side = all
            .into_iter()
            .filter(|station| !main.contains(station))
            .collect();
        Self { main, side }
    }

    /// Units of the stations on the way.
    fn stations(&self, basis: &Basis<'_>) -> Sourced<Count> {
        let rows = self.main.iter().map(|&i| &basis.book.stations[i]);
        let units: Vec<Sourced<f64>> = rows
            .map(|row| cell(f64::from(row.units), row.at, "units"))
            .collect();
        Sourced::<Vec<f64>>::from(units).map(|units| Count(units.iter().sum()))
    }

    /// Mean time a carrier is on the move, in rework or on the way back.
    fn travel(&self, basis: &Basis<'_>, row: &Carrier, jobs: f64) -> Sourced<Seconds> {
        let book = basis.book;
        let inside = |name: &str| {
            let named = |&&i: &&usize| book.stations[i].station == name;
            self.main.iter().chain(&self.side).find(named).is_some()
        };
        let mut parts: Vec<Sourced<f64>> = Vec::new();
        for (l, link) in book.links.iter().enumerate() {
            if link.move_s.0 > 0.0 && inside(&link.from) && inside(&link.to) {
                let share = basis.need.over_link(l) / jobs;
                parts.push(cell(link.move_s.0 * share, link.at, "move_s"));
            }
        }
        for &i in &self.side {
            let station = &book.stations[i];
            let share = basis.need.visits(i) / jobs;
            parts.push(cell(station.cycle_s.0 * share, station.at, "cycle_s"));
        }
        parts.push(back(row));
        parts.push(cell(row.load_s.0, row.at, "load_s"));
        parts.push(cell(row.unload_s.0, row.at, "unload_s"));
        Sourced::<Vec<f64>>::from(parts).map(|parts| Seconds(parts.iter().sum()))
    }
}

/// Seconds of the way back: given, or its length over the speed.
fn back(row: &Carrier) -> Sourced<f64> {
    if let Some(back) = row.return_s {
        return cell(back.0, row.at, "return_s");
    }
    match row.loop_m.zip(row.speed_m_min) {
        Some((length, speed)) => {
            let from = |column| cell((), row.at, column).from;
            let origin = Origin::Several(vec![from("loop_m"), from("speed_m_min")]);
            Sourced::new(length.0 / speed * 60.0, origin)
        }
        None => Sourced::usual(0.0, "carriers", "return_s"),
    }
}

/// Stations on a way between two, both included, with or without rework.
fn between(basis: &Basis<'_>, from: usize, to: usize, rework: bool) -> Vec<usize> {
    let book = basis.book;
    let find = |name: &str| book.stations.iter().position(|row| row.station == name);
    let ways: Vec<(usize, usize)> = book
        .links
        .iter()
        .filter_map(|link| Some((find(&link.from)?, find(&link.to)?)))
        .filter(|&(a, b)| {
            rework || book.stations[a].rework_to.as_ref() != Some(&book.stations[b].station)
        })
        .collect();
    let ahead = reach(book.stations.len(), from, Some(to), &ways);
    let turned: Vec<(usize, usize)> = ways.iter().map(|&(a, b)| (b, a)).collect();
    let behind = reach(book.stations.len(), to, Some(from), &turned);
    (0..book.stations.len())
        .filter(|&i| ahead[i] && behind[i])
        .collect()
}

/// Stations reached from one without going on beyond another.
fn reach(stations: usize, from: usize, stop: Option<usize>, ways: &[(usize, usize)]) -> Vec<bool> {
    let mut seen = vec![false; stations];
    let mut todo = vec![from];
    while let Some(at) = todo.pop() {
        if std::mem::replace(&mut seen[at], true) || Some(at) == stop {
            continue;
        }
        todo.extend(ways.iter().filter(|way| way.0 == at).map(|way| way.1));
    }
    seen
}

/// Places of a link that count, none where there is no limit.
pub(super) fn places(holds: Holds) -> Option<f64> {
    match holds {
        Holds::Places(places) => Some(f64::from(places)),
        Holds::Unlimited => None,
    }
}
