//! What the good cars ask of each station, link and part.
//!
//! The cascade runs backwards from the products' cars a week: scrap is made up
//! before the station that loses it, rework loads every station it passes
//! again, a merge asks each of its links for the pieces it joins. Nothing is
//! rounded on the way; whole lots and coils are a matter of the plan.

mod chain;
mod mend;
mod route;

use std::collections::BTreeMap;

use book::{Book, Gives, Link, Part, PartSource, Problem, Station, Takes};
use serde::Serialize;

use route::{Node, Route, Way};

pub(crate) use mend::no_products;
pub use route::Flow;

/// The requirement of a week, station by station.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Requirement {
    /// The products, in the book's order.
    pub products: Vec<Need>,
    /// Each made or bought part, in the book's order.
    pub parts: Vec<PartNeed>,
    /// What is odd but can be computed.
    pub notes: Vec<Problem>,
}

/// One product's requirement.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Need {
    /// The product.
    pub product: String,
    /// Good cars a week.
    pub cars: f64,
    /// Jobs and pieces for one good car; stations and links in the book's order.
    pub per_car: Flow,
}

/// One part's requirement.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PartNeed {
    /// The part.
    pub part: String,
    /// Good pieces a week.
    pub good: f64,
    /// Pieces a week that must be begun, scrap included.
    pub begun: f64,
}

impl Requirement {
    /// Jobs a week at a station, repeats counted.
    pub fn visits(&self, station: usize) -> f64 {
        self.total(|flow| flow.visits[station])
    }

    /// Jobs a week that a station sends on.
    pub fn good(&self, station: usize) -> f64 {
        self.total(|flow| flow.good[station])
    }

    /// Jobs a week begun with fresh pieces, which is what a merge draws.
    pub fn fresh(&self, station: usize) -> f64 {
        self.total(|flow| flow.fresh[station])
    }

    /// Jobs a week that a station releases.
    pub fn released(&self, station: usize) -> f64 {
        self.total(|flow| flow.released[station])
    }

    /// Jobs a week that a station loses.
    pub fn scrapped(&self, station: usize) -> f64 {
        self.total(|flow| flow.scrapped[station])
    }

    /// Pieces a week over a link.
    pub(crate) fn over_link(&self, link: usize) -> f64 {
        self.total(|flow| flow.ways[link])
    }

    /// Good cars a week of all products.
    pub fn cars(&self) -> f64 {
        self.products.iter().map(|need| need.cars).sum()
    }

    fn total(&self, of: impl Fn(&Flow) -> f64) -> f64 {
        self.products
            .iter()
            .map(|need| need.cars * of(&need.per_car))
            .sum()
    }
}

/// The requirement cascade of a checked book.
///
/// # Errors
/// All reasons at once why a product has no way through the plant: a loop with
/// no way out, a station that cannot be reached, shares that do not add to 1, a
/// merge that nothing supplies; each with its row and the smallest change that
/// frees it.
pub fn requirement(book: &Book) -> Result<Requirement, Vec<Problem>> {
    let book = &*crate::work::inspected(book);
    let plant = Plant::of(book);
    let mut problems = plant.unreachable();
    let mut notes = plant.unmeant_sources();
    let mut products = Vec::with_capacity(book.products.len());
    for row in &book.products {
        let ways = plant.ways_for(Some(&row.product));
        let solved = Route::new(&plant.nodes, &ways).and_then(|route| route.solve(1.0));
        match solved {
            Ok((per_car, odd)) => {
                notes.extend(odd.iter().map(|trouble| mend::problem(book, row, trouble)));
                products.push(Need {
                    product: row.product.clone(),
                    cars: row.cars_per_week.0,
                    per_car,
                });
            }
            Err(troubles) => {
                problems.extend(
                    troubles
                        .iter()
                        .map(|trouble| mend::problem(book, row, trouble)),
                );
            }
        }
    }
    if book.products.is_empty() {
        problems.push(no_products());
    }
    if book.stations.is_empty() {
        problems.push(mend::no_stations());
    }
    problems.extend(
        book.parts
            .iter()
            .filter(|part| part.scrap.0 >= 1.0)
            .map(mend::all_scrap),
    );
    if !problems.is_empty() {
        problems.dedup();
        return Err(problems);
    }
    let parts = book
        .parts
        .iter()
        .map(|part| part_need(part, &plant, &products))
        .collect();
    Ok(Requirement {
        products,
        parts,
        notes,
    })
}

fn part_need(part: &Part, plant: &Plant<'_>, products: &[Need]) -> PartNeed {
    let joined_at = part.to.as_ref().and_then(|to| plant.index.get(to.as_str()));
    let jobs = |need: &Need| match joined_at {
        Some(&station) => need.cars * need.per_car.fresh[station],
        None => need.cars,
    };
    let good: f64 = products
        .iter()
        .filter(|need| part.products.is_empty() || part.products.contains(&need.product))
        .map(|need| jobs(need) * f64::from(part.per_car))
        .sum();
    let scrap = match part.source {
        PartSource::Made => part.scrap.0,
        PartSource::Bought => 0.0,
    };
    PartNeed {
        part: part.part.clone(),
        good,
        begun: good / (1.0 - scrap),
    }
}

/// Shares of a station's jobs: sent on, sent to rework. The rest is scrap.
///
/// Scrap is a share of all jobs; first time OK is a share of those not
/// scrapped. Without a way to rework what is not right is scrap too.
pub fn outcome(station: &Station) -> (f64, f64) {
    let kept = 1.0 - station.scrap.0;
    let ok = kept * station.ok().0;
    let rework = if station.rework_to.is_some() {
        kept - ok
    } else {
        0.0
    };
    (ok, rework)
}

/// Whether a way between two stations brings the second one cars that it has not
/// had: what a station sends back to itself does not feed it, so one that is fed
/// by nothing else is where cars start.
pub(crate) fn brings_new<T: PartialEq + Copy>(from: T, to: T) -> bool {
    from != to
}

/// The book's stations and links as the cascade sees them.
struct Plant<'a> {
    book: &'a Book,
    index: BTreeMap<&'a str, usize>,
    nodes: Vec<Node>,
    /// For each link its ends and whether it is the rework link.
    ends: Vec<(usize, usize, bool)>,
    /// Stations with an incoming link.
    fed: Vec<bool>,
}

impl<'a> Plant<'a> {
    fn of(book: &'a Book) -> Self {
        let index: BTreeMap<&str, usize> = book
            .stations
            .iter()
            .enumerate()
            .map(|(i, row)| (row.station.as_str(), i))
            .collect();
        let find = |name: &str| index.get(name).copied();
        let mut nodes: Vec<Node> = book
            .stations
            .iter()
            .map(|row| node(row, row.rework_to.as_deref().and_then(find)))
            .collect();
        // A link whose end is misspelt is an error of the book's check; here it
        // is tied to its other end, closed, so that positions stay those of the
        // table.
        let ends: Vec<(usize, usize, bool)> = book
            .links
            .iter()
            .map(|row| {
                let (from, to) = (find(&row.from).unwrap_or(0), find(&row.to).unwrap_or(0));
                let rework = nodes
                    .get(from)
                    .is_some_and(|node| node.rework_to == Some(to));
                (from, to, rework)
            })
            .collect();
        let mut fed = vec![false; nodes.len()];
        for &(_, to, rework) in &ends {
            if let Some(fed) = fed.get_mut(to).filter(|_| !rework) {
                *fed = true;
            }
        }
        let mended: Vec<usize> = nodes
            .iter()
            .enumerate()
            .filter_map(|(i, node)| node.rework_to.filter(|&to| brings_new(i, to)))
            .collect();
        for (i, node) in nodes.iter_mut().enumerate() {
            node.source |= !fed[i] && !mended.contains(&i);
        }
        Self {
            book,
            index,
            nodes,
            ends,
            fed,
        }
    }

    /// The links as a product sees them; no product: all are open.
    fn ways_for(&self, product: Option<&String>) -> Vec<Way> {
        if self.nodes.is_empty() {
            return Vec::new();
        }
        let open = |row: &Link| match product {
            Some(product) => row.products.is_empty() || row.products.contains(product),
            None => true,
        };
        let ways = self.book.links.iter().zip(&self.ends);
        ways.map(|(row, &(from, to, rework))| Way {
            from,
            to,
            share: row.share.map(|share| share.0),
            needs: f64::from(row.needs),
            open: open(row),
            rework,
        })
        .collect()
    }

    /// Stations that no car of any product can come to.
    fn unreachable(&self) -> Vec<Problem> {
        let mut reached = vec![false; self.nodes.len()];
        for row in &self.book.products {
            let ways = self.ways_for(Some(&row.product));
            let mut todo: Vec<usize> = (0..self.nodes.len())
                .filter(|&i| self.nodes[i].source)
                .collect();
            let mut seen = vec![false; self.nodes.len()];
            while let Some(at) = todo.pop() {
                if std::mem::replace(&mut seen[at], true) {
                    continue;
                }
                reached[at] = true;
                todo.extend(
                    ways.iter()
                        .filter(|way| way.from == at && way.open)
                        .map(|way| way.to),
                );
                todo.extend(self.nodes[at].rework_to);
            }
        }
        let linked = |i: usize| self.ends.iter().any(|&(from, to, _)| from == i || to == i);
        let alone = |i: usize| !self.ends.is_empty() && !linked(i) && !self.is_rework_target(i);
        (0..self.nodes.len())
            .filter(|&i| alone(i) || (!reached[i] && !self.book.products.is_empty()))
            .map(|i| mend::unreachable(&self.book.stations[i]))
            .collect()
    }

    fn is_rework_target(&self, i: usize) -> bool {
        let mut nodes = self.nodes.iter().enumerate();
        nodes.any(|(from, node)| node.rework_to == Some(i) && brings_new(from, i))
    }

    /// Stations that release cars only because nothing leads to them, in a line
    /// that has a marked source already: more likely a forgotten link.
    fn unmeant_sources(&self) -> Vec<Problem> {
        let ways = self.ways_for(None);
        let Ok(route) = Route::new(&self.nodes, &ways) else {
            return Vec::new();
        };
        let marked: Vec<usize> = (0..self.nodes.len())
            .filter(|&i| self.book.stations[i].source)
            .map(|i| route.line_of(i))
            .collect();
        (0..self.nodes.len())
            .filter(|&i| self.nodes[i].source && !self.fed[i] && !self.book.stations[i].source)
            .filter(|&i| marked.contains(&route.line_of(i)))
            .map(|i| mend::unmeant_source(&self.book.stations[i]))
            .collect()
    }
}

fn node(row: &Station, rework_to: Option<usize>) -> Node {
    let (ok, rework) = outcome(row);
    Node {
        ok,
        rework,
        rework_to,
        attempts: row.attempts,
        merge: matches!(row.takes, Takes::OneOfEach | Takes::AsTheyCome),
        split: row.gives == Gives::OneToEach,
        source: row.source,
        pace: f64::from(row.units) / row.cycle().0.max(1e-9),
    }
}
