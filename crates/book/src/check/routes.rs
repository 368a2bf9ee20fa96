//! Ways through the plant.
//!
//! # Checks
//! More than one station has links between them; something leads to every station; from every station cars reach an end, also
//! round a rework loop; every product has a way from a source to an end, and no
//! station holds cars of a product that none of its links takes.
//!
//! # Why it hurts
//! Cars would pile up where no way goes on, and the plant would stand.
//!
//! # Example
//! `inspect` has `first_time_ok` 0 and sends every car back to itself.
//!
//! # Mended
//! `first_time_ok` is 0.9.

use std::collections::{BTreeMap, BTreeSet};

use super::{graph, shares::serves};
use crate::{
    Book, Link, Station, Table,
    problem::{Problem, Problems},
};

pub(super) fn check(book: &Book, problems: &mut Problems) {
    let unread = [Table::Stations, Table::Links]
        .iter()
        .any(|table| problems.unread(*table));
    if unread || problems.any("links/unknown-name") || problems.any("stations/unknown-name") {
        // A way over a misspelt station is mended by its name.
        return;
    }
    if book.links.is_empty() {
        // One station alone needs no ways.
        if let [first, second, ..] = book.stations.as_slice() {
            problems.push(no_links(first, second));
        }
        return;
    }
    let ways = Ways::new(book);
    links_to_themselves(book, &ways, problems);
    lonely(book, &ways, problems);
    knots(book, &ways, problems);
    for product in &book.products {
        let name = product.product.as_str();
        let edges = ways.edges(|link| !ways.is_rework(link) && serves(link, Some(name)));
        let reached = graph::reached(
            &edges,
            (0..book.stations.len()).filter(|place| ways.starts(*place)),
        );
        let ends = (0..book.stations.len())
            .any(|place| reached[place] && ways.ends(place) && !ways.alone(place));
        if !ends {
            problems.push(
                Problem::at(product.at, "no-route")
                    .column("product")
                    .found(format!("`{name}` without a way from a source to an end"))
                    .expected("links that take it through the plant")
                    .mend(stuck_hint(book, &ways, &edges, &reached, name)),
            );
        }
    }
    stuck(book, &ways, problems);
}

fn no_links(first: &Station, second: &Station) -> Problem {
    Problem::error("links", "empty")
        .found("no row")
        .expected("the ways between the stations")
        .mend(format!(
            "add a row from `{}` to `{}`, and so on to the last station",
            first.station, second.station
        ))
}

/// The stations by place and what leads where.
struct Ways<'b> {
    places: BTreeMap<&'b str, usize>,
    stations: &'b [Station],
    links: &'b [Link],
    /// Stations that links lead to, that links leave, that parts go to, and
    /// that rework is sent to.
    fed: BTreeSet<usize>,
    left: BTreeSet<usize>,
    parts: BTreeSet<usize>,
    reworks: BTreeSet<usize>,
}

impl<'b> Ways<'b> {
    fn new(book: &'b Book) -> Self {
        // Of two rows with one name the first has it; the second is reported.
        let mut places = BTreeMap::new();
        for (place, row) in book.stations.iter().enumerate() {
            places.entry(row.station.as_str()).or_insert(place);
        }
        let mut ways = Self {
            places,
            stations: &book.stations,
            links: &book.links,
            fed: BTreeSet::new(),
            left: BTreeSet::new(),
            parts: BTreeSet::new(),
            reworks: BTreeSet::new(),
        };
        for link in &book.links {
            let from = ways.places.get(link.from.as_str()).copied();
            let to = ways.places.get(link.to.as_str()).copied();
            if ways.is_rework(link) {
                ways.reworks.extend(to.filter(|_| from != to));
            } else if from != to {
                ways.fed.extend(to);
                ways.left.extend(from);
            }
        }
        let to = book.parts.iter().filter_map(|part| part.to.as_deref());
        ways.parts
            .extend(to.filter_map(|name| ways.places.get(name)));
        ways
    }

    fn is_rework(&self, link: &Link) -> bool {
        self.places
            .get(link.from.as_str())
            .is_some_and(|place| self.stations[*place].rework_to.as_ref() == Some(&link.to))
    }

    /// Whether cars or sub-assemblies begin here.
    fn starts(&self, place: usize) -> bool {
        self.stations[place].source
            || self.parts.contains(&place)
            || !self.fed.contains(&place) && !self.reworks.contains(&place)
    }

    /// Whether finished cars leave here.
    fn ends(&self, place: usize) -> bool {
        !self.left.contains(&place)
    }

    fn alone(&self, place: usize) -> bool {
        !self.fed.contains(&place) && !self.left.contains(&place)
    }

    fn edges(&self, open: impl Fn(&Link) -> bool) -> Vec<Vec<usize>> {
        let mut edges = vec![Vec::new(); self.stations.len()];
        for link in self.links.iter().filter(|link| open(link)) {
            let ends = (
                self.places.get(link.from.as_str()),
                self.places.get(link.to.as_str()),
            );
            if let (Some(from), Some(to)) = ends {
                edges[*from].push(*to);
            }
        }
        edges
    }
}

fn links_to_themselves(book: &Book, ways: &Ways<'_>, problems: &mut Problems) {
    for link in book
        .links
        .iter()
        .filter(|link| link.from == link.to && !ways.is_rework(link))
    {
        problems.push(
            Problem::at(link.at, "link-to-itself")
                .column("to")
                .found(format!("a link from `{}` to itself", link.from))
                .expected("another station")
                .mend("correct the name, or name the station as its own rework_to"),
        );
    }
}

/// Stations that nothing leads to.
fn lonely(book: &Book, ways: &Ways<'_>, problems: &mut Problems) {
    let sources_named = book.stations.iter().any(|station| station.source);
    for (place, station) in book.stations.iter().enumerate() {
        let fed = ways.fed.contains(&place)
            || ways.parts.contains(&place)
            || ways.reworks.contains(&place);
        let named_before = ways.places.get(station.station.as_str()) != Some(&place);
        if fed || station.source || named_before {
            continue;
        }
        let problem = Problem::at(station.at, "nothing-leads-to")
            .column("station")
            .found(format!("`{}`, to which no link leads", station.station));
        if !ways.left.contains(&place) && book.stations.len() > 1 {
            problems.push(
                problem
                    .expected("a link to it and on from it")
                    .mend(format!(
                        "add a link to `{}`, or take the row away",
                        station.station
                    )),
            );
        } else if sources_named {
            problems.push(
                problem
                    .mend("cars are released here; if that is not meant add a link to it")
                    .into_note(),
            );
        }
    }
}

/// Loops that nothing leads into or out of.
fn knots(book: &Book, ways: &Ways<'_>, problems: &mut Problems) {
    let mut edges = ways.edges(|link| match ways.places.get(link.from.as_str()) {
        // A car that is never OK never goes on.
        Some(place) if ways.is_rework(link) => book.stations[*place].ok().0 < 1.0,
        Some(place) => book.stations[*place].ok().0 > 0.0,
        None => false,
    });
    for (place, station) in book.stations.iter().enumerate() {
        if station.rework_to.as_ref() == Some(&station.station) && station.ok().0 < 1.0 {
            edges[place].push(place);
        }
    }
    let forward = ways.edges(|_| true);
    for component in graph::components(&edges) {
        let inside = |place: &usize| component.binary_search(place).is_ok();
        let leaves = component.iter().any(|place| {
            edges[*place].iter().any(|next| !inside(next))
                || (ways.ends(*place) && book.stations[*place].ok().0 > 0.0)
        });
        if !leaves {
            problems.push(no_way_out(book, &edges, &component));
        }
    }
    let components = graph::components(&forward);
    let mut home = vec![0; forward.len()];
    for (index, component) in components.iter().enumerate() {
        component.iter().for_each(|place| home[*place] = index);
    }
    let mut entered = vec![false; components.len()];
    for (from, nexts) in forward.iter().enumerate() {
        entered[home[from]] |= ways.starts(from);
        for next in nexts.iter().filter(|next| home[**next] != home[from]) {
            entered[home[*next]] = true;
        }
    }
    for (component, entered) in components.iter().zip(entered) {
        if !entered {
            // Where only cars that failed come from within is where the loop begins.
            let onward = |link: &&Link| !ways.is_rework(link);
            let begins = |place: &&usize| {
                let name = &book.stations[**place].station;
                book.links
                    .iter()
                    .filter(onward)
                    .all(|link| link.to != *name)
            };
            let first = component.iter().find(begins).unwrap_or(&component[0]);
            let station = &book.stations[*first];
            problems.push(
                Problem::at(station.at, "nothing-leads-to")
                    .column("station")
                    .found(format!(
                        "a loop {} that nothing leads into",
                        names(book, component)
                    ))
                    .expected("a link into it from a station where cars start")
                    .mend(format!(
                        "put a station where cars start before `{0}`, with a link from it to `{0}`",
                        station.station
                    )),
            );
        }
    }
}

fn no_way_out(book: &Book, edges: &[Vec<usize>], component: &[usize]) -> Problem {
    let never_ok = component
        .iter()
        .find(|place| book.stations[**place].ok().0 == 0.0);
    let place = *never_ok.unwrap_or(&component[0]);
    let station = &book.stations[place];
    let way = graph::round(edges, component).unwrap_or_else(|| vec![place]);
    let (column, mend) = if never_ok.is_some() {
        (
            "first_time_ok",
            format!("make first_time_ok of `{}` larger than 0", station.station),
        )
    } else {
        (
            "station",
            format!("add a link out of `{}`", station.station),
        )
    };
    Problem::at(station.at, "no-way-out")
        .column(column)
        .found(format!(
            "cars that go round `{}` without end",
            round(book, &way)
        ))
        .expected("a way out of the loop")
        .mend(mend)
}

/// The way round a loop; of a long one the first few stations.
fn round(book: &Book, way: &[usize]) -> String {
    const SHOWN: usize = 6;
    let name = |place: &usize| book.stations[*place].station.as_str();
    let mut shown: Vec<&str> = way.iter().take(SHOWN).map(name).collect();
    if way.len() > SHOWN {
        shown.push("...");
        shown.extend(way.last().map(name));
    }
    shown.join(" > ")
}

fn names(book: &Book, places: &[usize]) -> String {
    const SHOWN: usize = 4;
    let names: Vec<_> = places
        .iter()
        .take(SHOWN)
        .map(|place| format!("`{}`", book.stations[*place].station))
        .collect();
    let names = names.join(", ");
    match places.len().saturating_sub(SHOWN) {
        0 => names,
        more => format!("{names} and {more} more"),
    }
}

/// Stations that a product reaches and can't leave, though others can.
fn stuck(book: &Book, ways: &Ways<'_>, problems: &mut Problems) {
    for product in &book.products {
        let name = product.product.as_str();
        let edges = ways.edges(|link| !ways.is_rework(link) && serves(link, Some(name)));
        let starts = (0..book.stations.len())
            .filter(|place| ways.starts(*place) && !edges[*place].is_empty());
        let reached = graph::reached(&edges, starts);
        for (place, station) in book.stations.iter().enumerate() {
            if reached[place] && edges[place].is_empty() && !ways.ends(place) {
                let link = book
                    .links
                    .iter()
                    .find(|link| link.from == station.station && !ways.is_rework(link));
                let row = link.map_or(station.at.row, |link| link.at.row);
                problems.push(
                    Problem::error("links", "stuck-product")
                        .row(row)
                        .column("products")
                        .found(format!(
                            "no link from `{}` that takes `{name}`, which comes there",
                            station.station
                        ))
                        .expected("a link on for every product that comes")
                        .mend(format!(
                            "add `{name}` to the products of row {row}, or add a link"
                        )),
                );
            }
        }
    }
}

fn stuck_hint(
    book: &Book,
    ways: &Ways<'_>,
    edges: &[Vec<usize>],
    reached: &[bool],
    name: &str,
) -> String {
    let last = (0..book.stations.len())
        .rev()
        .find(|place| reached[*place] && edges[*place].is_empty() && !ways.ends(*place));
    match last {
        Some(place) => format!(
            "let a link from `{}` take `{name}`",
            book.stations[place].station
        ),
        None => format!("let the links of one way take `{name}`"),
    }
}
