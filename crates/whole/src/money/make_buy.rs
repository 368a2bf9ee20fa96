//! Make or buy, for each part and sub-assembly with a price from outside.

use std::collections::BTreeMap;

use book::{Offer, Part, PartSource};
use formulas::{Sourced, cost};
use shops::carts::ShopValue;
use units::{Count, Days, Money, PerWeek};

use super::Basis;
use super::made::{self, PartMade};
use super::model::{BetterWay, Freed, MakeOrBuy, NotCompared};
use super::pieces::Piece;
use super::yearly::{self, Machine, Place};
use crate::plan::sheet::{Made, Sheet, cell, setting};

/// Both ways where both are known, and the rest.
pub(super) struct Compared {
    pub(super) both: Vec<MakeOrBuy>,
    pub(super) one_way: Vec<NotCompared>,
}

/// One way to be compared.
struct Making {
    name: String,
    assembly: bool,
    at: book::At,
    pieces: f64,
    make: ShopValue,
    saved: f64,
    freed: Vec<Freed>,
    days: f64,
}

/// What another asks.
struct Asked {
    price: Money,
    min_order: Sourced<Count>,
    lead_time: Option<Sourced<Days>>,
}

/// Compares everything that has a price from outside.
pub(super) fn compare(
    sheet: &mut Sheet,
    basis: &Basis<'_>,
    pieces: &[Piece],
    machines: &[Machine],
    margin: Option<&ShopValue>,
) -> Compared {
    let parts = made::parts(sheet, basis, pieces, machines);
    let (mut both, mut one_way) = (Vec::new(), Vec::new());
    for (p, part) in basis.book.parts.iter().enumerate() {
        match (parts.get(&p), part.price) {
            (Some(made), Some(price)) => {
                let (making, asked) = of_part(part, made, price);
                both.push(weigh(sheet, basis, making, &asked, margin));
            }
            (made, _) => one_way.push(one_way_only(part, made.is_some())),
        }
    }
    for offer in &basis.book.offers {
        if let Some(making) = of_line(sheet, basis, offer, &parts, pieces, machines) {
            let asked = Asked {
                price: offer.price,
                min_order: cell(Count(f64::from(offer.min_order)), offer.at, "min_order"),
                lead_time: Some(cell(offer.lead_time_days, offer.at, "lead_time_days")),
            };
            both.push(weigh(sheet, basis, making, &asked, margin));
        }
    }
    Compared { both, one_way }
}

fn one_way_only(part: &Part, costed: bool) -> NotCompared {
    let why = match (part.source, costed) {
        (PartSource::Made, true) => {
            "nobody's price stands in the book; write what another would ask into price"
        }
        (PartSource::Made, false) => {
            "what making it costs is not known; give it an outline and its material a price"
        }
        (PartSource::Bought, _) => {
            "the book has no way to make it; give it material, gauge, outline and lines in a \
             copy of the book, with source made"
        }
    };
    NotCompared {
        name: part.part.clone(),
        at: part.at,
        why: why.to_owned(),
    }
}

fn of_part(part: &Part, made: &PartMade, price: Money) -> (Making, Asked) {
    let making = Making {
        name: part.part.clone(),
        assembly: false,
        at: part.at,
        pieces: made.pieces,
        make: made.cost.told(|cost| cost.0),
        saved: made.saved,
        freed: made.hours.clone(),
        days: made.days,
    };
    let order = part.min_order.unwrap_or(1);
    let asked = Asked {
        price,
        min_order: cell(Count(f64::from(order)), part.at, "min_order"),
        lead_time: part
            .lead_time_days
            .map(|days| cell(days, part.at, "lead_time_days")),
    };
    (making, asked)
}

/// The sub-assembly of a line: what goes in there, and the line itself.
fn of_line(
    sheet: &mut Sheet,
    basis: &Basis<'_>,
    offer: &Offer,
    parts: &BTreeMap<usize, PartMade>,
    pieces: &[Piece],
    machines: &[Machine],
) -> Option<Making> {
    let on_line = |i: usize| basis.book.stations[i].line.as_ref() == Some(&offer.line);
    let stations: Vec<usize> = (0..basis.book.stations.len())
        .filter(|&i| on_line(i))
        .collect();
    let out = sent_on(basis, &stations);
    if stations.is_empty() || out <= 0.0 {
        return None;
    }
    let (mut summed, saved, mut freed, days) = goes_in(basis, &stations, parts, pieces, out);
    let own: Vec<&Machine> = machines
        .iter()
        .filter(|one| matches!(one.place, Place::Station(i) if on_line(i)))
        .collect();
    let work = work_on_a_piece(sheet, basis, offer, (&stations, &own), out)?;
    summed.extend(work.cost);
    freed.extend(freed_stations(basis, &stations));
    let name = &offer.line;
    let title = format!("making the sub-assembly of {name}");
    let id = format!("assembly.{name}.make");
    let made = sheet.add(id, title, Some(offer.at), cost::money_sum(summed))?;
    Some(Making {
        name: name.clone(),
        assembly: true,
        at: offer.at,
        pieces: out,
        make: made.told(|cost| cost.0),
        saved: saved + work.energy,
        freed,
        days: days + in_line(basis, &stations, out),
    })
}

/// What a line adds to a piece of its own.
struct LineWork {
    /// With its people and capital; none where it costs nothing.
    cost: Option<Sourced<Money>>,
    /// The energy of it.
    energy: f64,
}

/// A line's year, spread over its pieces; none where a formula refuses it.
fn work_on_a_piece(
    sheet: &mut Sheet,
    basis: &Basis<'_>,
    offer: &Offer,
    (stations, own): (&[usize], &[&Machine]),
    out: f64,
) -> Option<LineWork> {
    let name = &offer.line;
    let id = |what: &str| format!("assembly.{name}.{what}");
    let shop = basis.book.stations[*stations.first()?].shop.clone();
    let energy = yearly::energy(sheet, basis, id("energy"), name, &shop, own);
    let weeks = &basis.book.plant.weeks_per_year;
    let energy_each = energy
        .as_ref()
        .map_or(0.0, |made| made.value.0 / (out * weeks.value));
    let mut year: Vec<Made<Money>> = energy.into_iter().collect();
    year.extend(yearly::upkeep(sheet, id("upkeep"), name, own));
    year.extend(yearly::capital(sheet, basis, id("capital"), name, own));
    year.extend(people(sheet, basis, name, &shop, stations));
    if year.is_empty() {
        return Some(LineWork {
            cost: None,
            energy: energy_each,
        });
    }
    let all: Vec<_> = year.iter().map(|made| made.part(|cost| *cost)).collect();
    let title = format!("the line {name} a year");
    let year = sheet.add(id("year"), title, Some(offer.at), cost::money_sum(all))?;
    let made = cost::share_of_car(
        year.part(|cost| *cost),
        PerWeek(out),
        setting(weeks, "weeks_per_year").map(Count),
    );
    let title = format!("work of {name} on a piece");
    let work = sheet.add(id("work"), title, Some(offer.at), made)?;
    Some(LineWork {
        cost: Some(work.part(|cost| *cost)),
        energy: energy_each,
    })
}

/// Pieces a week that leave a line.
fn sent_on(basis: &Basis<'_>, stations: &[usize]) -> f64 {
    let links = basis.book.links.iter().enumerate();
    let leaving = links.filter(|(_, link)| {
        let (from, to) = (basis.station(&link.from), basis.station(&link.to));
        let inside = |at: Option<usize>| at.is_some_and(|i| stations.contains(&i));
        let rework =
            from.is_some_and(|i| basis.book.stations[i].rework_to.as_ref() == Some(&link.to));
        inside(from) && !inside(to) && !rework
    });
    leaving.map(|(l, _)| basis.need.over_link(l)).sum()
}

/// What goes into a line's pieces: their summed cost, what of it is saved at
/// once, the lines' hours, and the days of the slowest part.
fn goes_in(
    basis: &Basis<'_>,
    stations: &[usize],
    parts: &BTreeMap<usize, PartMade>,
    pieces: &[Piece],
    out: f64,
) -> (Vec<Sourced<Money>>, f64, Vec<Freed>, f64) {
    let (mut summed, mut saved, mut freed, mut days) = (Vec::new(), 0.0, Vec::new(), 0.0_f64);
    let here = |name: &str| basis.station(name).is_some_and(|i| stations.contains(&i));
    for (p, part) in basis.book.parts.iter().enumerate() {
        let made = parts
            .get(&p)
            .filter(|_| part.to.as_deref().is_some_and(here));
        if let Some(made) = made {
            let share = made.pieces / out;
            summed.push(made.cost.part(|cost| *cost * share));
            saved += made.saved * share;
            days = days.max(made.days);
            for hours in &made.hours {
                join(&mut freed, hours);
            }
        }
    }
    let others = pieces.iter().filter(|piece| {
        piece.kind != super::CostKind::Metal && piece.goes_to.is_some_and(|i| stations.contains(&i))
    });
    for piece in others {
        let a_week: f64 = piece
            .per_car
            .iter()
            .zip(&basis.need.products)
            .map(|(pieces, need)| pieces * need.cars)
            .sum();
        let each = piece.price.clone().map(|price| price * (a_week / out));
        saved += each.value.0;
        summed.push(each);
    }
    (summed, saved, freed, days)
}

/// Adds hours to those of the same line.
fn join(freed: &mut Vec<Freed>, more: &Freed) {
    match freed.iter_mut().find(|known| known.place == more.place) {
        Some(known) => known.hours += more.hours,
        None => freed.push(more.clone()),
    }
}

fn people(
    sheet: &mut Sheet,
    basis: &Basis<'_>,
    name: &str,
    shop: &str,
    stations: &[usize],
) -> Option<Made<Money>> {
    let rows = stations.iter().map(|&i| &basis.book.stations[i]);
    let posts = rows
        .filter(|row| row.people() > 0.0)
        .map(|row| cell(Count(row.people()), row.at, "heads"));
    let id = format!("assembly.{name}.people");
    let heads = yearly::heads_of(sheet, basis, &id, name, shop, posts.collect())?;
    let title = format!("people of {name} a year");
    let exact = heads.part(|heads| heads.exact);
    yearly::cost_of_heads(sheet, basis, (id, title), shop, exact)
}

fn freed_stations(basis: &Basis<'_>, stations: &[usize]) -> Vec<Freed> {
    let weakest = super::lost::weakest(basis).map(|weakest| weakest.place);
    let stations = stations.iter().map(|&i| &basis.plan.stations[i]);
    stations
        .filter(|row| row.jobs.value > 0.0)
        .map(|row| Freed {
            place: row.station.clone(),
            hours: row.jobs.value * row.cycle_s.value / 3_600.0,
            load: row.load.value,
            constraint: weakest.as_ref() == Some(&row.station),
        })
        .collect()
}

/// Days of a line with every place filled, by Little's law.
fn in_line(basis: &Basis<'_>, stations: &[usize], out: f64) -> f64 {
    let units: f64 = stations
        .iter()
        .map(|&i| f64::from(basis.book.stations[i].units))
        .sum();
    let inside = |name: &str| basis.station(name).is_some_and(|i| stations.contains(&i));
    let links = basis.book.links.iter();
    let places: f64 = links
        .filter(|link| inside(&link.from) && inside(&link.to))
        .map(|link| match link.holds {
            book::Holds::Places(places) => f64::from(places),
            book::Holds::Unlimited => 0.0,
        })
        .sum();
    (units + places) / out * 7.0
}

fn weigh(
    sheet: &mut Sheet,
    basis: &Basis<'_>,
    making: Making,
    asked: &Asked,
    margin: Option<&ShopValue>,
) -> MakeOrBuy {
    let cars_freed = cars_freed(basis, &making.freed);
    let worth = margin.map_or(0.0, |margin| margin.value) * cars_freed / making.pieces;
    let buy = asked.price.0;
    let net = buy - worth;
    let (full, saved) = (making.make.value, making.saved);
    let verdict = if net < saved {
        BetterWay::Buy
    } else if net < full {
        BetterWay::MakeWhileLinesStay
    } else {
        BetterWay::Make
    };
    let pieces_a_year = making.pieces * basis.book.plant.weeks_per_year.value;
    let buy_days = asked.lead_time.clone().and_then(|lead_time| {
        let of_week = PerWeek(making.pieces);
        let made = cost::delivery_cover(asked.min_order.clone(), of_week, lead_time);
        let id = format!("buy.{}", making.name);
        let title = format!("days of a delivery of {}", making.name);
        let made = sheet.add(id, title, Some(making.at), made)?;
        Some(made.told(|cover| cover.days.0))
    });
    MakeOrBuy {
        why: why(verdict, cars_freed),
        name: making.name,
        assembly: making.assembly,
        at: making.at,
        made_today: true,
        pieces: making.pieces,
        make: making.make,
        make_saved: saved,
        buy,
        freed_h: making.freed.iter().map(|at| at.hours).sum(),
        freed: making.freed,
        cars_freed,
        freed_worth: worth,
        make_days: making.days,
        buy_days,
        verdict,
        saves_a_year: (net - saved).abs() * pieces_a_year,
    }
}

fn why(verdict: BetterWay, cars_freed: f64) -> String {
    let freed = if cars_freed > 0.0 {
        ", the cars counted that the constraint then makes more"
    } else {
        "; what it frees is off the constraint and gives no car"
    };
    let said = match verdict {
        BetterWay::Buy => "bought it costs less than what is saved at once by not making it",
        BetterWay::MakeWhileLinesStay => {
            "bought it costs more than is saved at once, and less than with people and capital \
             of the lines: it pays only where those go or do other work"
        }
        BetterWay::Make => "bought it costs more than making it with all people and capital",
    };
    format!("{said}{freed}")
}

/// Cars a week more where freed hours lie at the constraint, as far as they are
/// needed and the next weakest lets them.
fn cars_freed(basis: &Basis<'_>, freed: &[Freed]) -> f64 {
    let Some(at) = freed.iter().find(|freed| freed.constraint) else {
        return 0.0;
    };
    let Some(weakest) = super::lost::weakest(basis) else {
        return 0.0;
    };
    let used = used_hours(basis, &at.place);
    let left = (used - at.hours).max(0.0);
    let alone = if left > 0.0 {
        weakest.cars * used / left
    } else {
        f64::INFINITY
    };
    let next = next_weakest(basis, &weakest.place);
    (alone.min(next).min(basis.need.cars().max(weakest.cars)) - weakest.cars).max(0.0)
}

/// Hours a week that a place is used.
fn used_hours(basis: &Basis<'_>, place: &str) -> f64 {
    let lines = basis.plan.press_lines.iter();
    let line = lines.into_iter().find(|row| row.press_line == place);
    if let Some(line) = line {
        let running: f64 = line.runs.iter().map(|run| run.run_h.value).sum();
        return running + line.changing_h.value;
    }
    let stations = basis.plan.stations.iter();
    let station = stations.into_iter().find(|row| row.station == place);
    station.map_or(0.0, |row| row.jobs.value * row.cycle_s.value / 3_600.0)
}

/// What the weakest but one allows.
fn next_weakest(basis: &Basis<'_>, but: &str) -> f64 {
    let stations = basis.plan.stations.iter();
    let stations = stations.map(|row| (&row.station, row.alone.as_ref()));
    let lines = basis.plan.press_lines.iter();
    let lines = lines.map(|row| (&row.press_line, row.alone.as_ref()));
    let fleets = basis.plan.carriers.iter();
    let fleets = fleets.map(|row| (&row.carrier, row.alone.as_ref()));
    stations
        .chain(lines)
        .chain(fleets)
        .filter(|(name, _)| *name != but)
        .filter_map(|(_, alone)| Some(alone?.value))
        .fold(f64::INFINITY, f64::min)
}
