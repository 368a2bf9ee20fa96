//! The flow network of a book: what is simulated when the plant runs.
//!
//! [`build`] turns the tables into stations, links, fleets and calendars of
//! the flow engine and keeps, for each of them, the row it came from. What it
//! assumes:
//!
//! * **Classes of car** are the products with those of their options that
//!   change a cycle; options of one product are taken as independent. All
//!   sources release by the same levelled order, or by the planned build order
//!   where the book says so, so that a sub-plant builds what the main line needs
//!   next.
//! * **Merges.** The first link listed (or the car released at the station)
//!   is the car; other links bring what is joined to it, `needs` at a time,
//!   for the products the link names.
//! * **Made parts** run in lots: a blanking or laser line fills a stock of
//!   blanks, a press line draws from it and fills a stock of panels, the
//!   station that joins the part draws from that. A press line without blanks
//!   presses from its own coils. Coils are never short. Scrap of a part
//!   falls where it is formed last. Missing lots, stocks and start
//!   levels are computed and listed in [`Built::lots`].
//! * **Bought parts** are never short and not simulated.
//! * **Carriers**: the fleet's count times its availability and what charging
//!   leaves, rounded down and at least one; loading, unloading, curves and the
//!   traffic of those on the way back count as part of that way.
//! * **Hours**: a shop without shifts always works. Crews are taken as present
//!   at all hours.

mod classes;
mod demand;
mod hours;
mod order;
mod presses;
mod stations;
mod ways;

use std::collections::BTreeMap;

use book::{At, Book, Problem, Severity};
use flow::model::{CrewIdx, Network, StationIdx};
use serde::{Deserialize, Serialize};

pub use classes::{CarClass, MOST_CLASSES};
pub use order::{Order, Spacing};
pub use presses::LotPlan;

pub use crate::lots::LotFigure;

use crate::lots::Timetabled;
use crate::press;
use crate::work;
use classes::Classes;
use hours::Hours;

/// The network of a book, and where each piece of it came from.
#[derive(Clone, Debug)]
pub struct Built {
    /// What the engine runs.
    pub network: Network,
    /// The classes of car, by class index.
    pub classes: Vec<CarClass>,
    /// The order of release.
    pub order: Order,
    /// For each station its origin: the rows of the book in their order, then
    /// the blanking and press lines.
    pub stations: Vec<StationOrigin>,
    /// For each link its origin.
    pub links: Vec<LinkOrigin>,
    /// For each link whether it brings what is joined to a car.
    pub joined: Vec<bool>,
    /// For each fleet its row.
    pub fleets: Vec<At>,
    /// The stages of the plant, from coil to car.
    pub stages: Vec<Stage>,
    /// Lots, stocks and start levels of the made parts.
    pub lots: Vec<LotPlan>,
    /// For each station its open seconds a week.
    pub open_s_per_week: Vec<f64>,
    /// Stations that the planned order overruns, where one drives the flow.
    pub overruns: Vec<crate::order::Overrun>,
    /// What is worth knowing though it keeps nothing from running.
    pub notes: Vec<Problem>,
}

/// Where a station of the network came from.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct StationOrigin {
    /// Its name in the network.
    pub name: String,
    /// Its row in `stations` or `press_lines`.
    pub at: At,
    /// Its shop.
    pub shop: String,
    /// Position of its stage in [`Built::stages`].
    pub stage: usize,
}

/// Where a link of the network came from.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct LinkOrigin {
    /// Its row in `links`, or in `parts` for a stock.
    pub at: At,
    /// What the link is.
    pub way: Way,
}

/// What a link is in the plant.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case", tag = "kind", content = "part")]
pub enum Way {
    /// The way of a car or sub-assembly to the next station.
    Onward,
    /// The way to rework.
    Rework,
    /// The stock of a part's blanks.
    Blanks(String),
    /// The stock of a part's panels.
    Panels(String),
}

/// A stage of the plant, for grouping in the answer.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Stage {
    /// The name from `stations.stage`, else the shop's.
    pub name: String,
    /// The shop.
    pub shop: String,
    /// Positions of its stations.
    pub stations: Vec<usize>,
}

/// Builds the flow network of a book.
///
/// The same book gives the same network, to the last bit.
///
/// # Errors
///
/// All reasons why the book cannot be run as it stands, each with its row and
/// a way out: too many classes of car, a product that cannot leave the plant,
/// a rework route without a link, a made part without a speed, and the like.
pub fn build(book: &Book) -> Result<Built, Vec<Problem>> {
    let (planned, no_order) = crate::order::driving(book);
    let driven = press::driving(book);
    let book = &*driven.book;
    let mut problems = Vec::new();
    let worked = work::of(book)?;
    let book = &*worked.book;
    let Some(classes) = classes::list(book, planned.as_ref(), &mut problems) else {
        return Err(problems);
    };
    let hours = hours::of(book, &mut problems);
    let mut draft = Draft::new(book, classes, hours);
    draft.problems = problems;
    draft.problems.extend(worked.notes.iter().cloned());
    draft.timetabled = driven.timetabled;
    draft.problems.extend(driven.why_not);
    draft.problems.extend(no_order);
    draft
        .problems
        .extend(planned.iter().flat_map(crate::order::overrun_notes));
    draft.overruns = planned.iter().flat_map(crate::order::overruns).collect();
    draft.add_stations();
    draft.add_links();
    draft.add_fleets();
    draft.add_presses();
    draft.settle_merges();
    // what is said of routes below would only repeat errors found so far
    if draft
        .problems
        .iter()
        .all(|problem| problem.severity == Severity::Note)
    {
        draft.release_cars();
    }
    draft.finish()
}

/// A network in the making.
struct Draft<'a> {
    book: &'a Book,
    classes: Classes,
    hours: Hours,
    network: Network,
    stations: Vec<StationOrigin>,
    /// For each station its position in `stations` by name.
    station_of: BTreeMap<&'a str, StationIdx>,
    crew_of: BTreeMap<&'a str, CrewIdx>,
    links: Vec<LinkOrigin>,
    /// For each link the products for which it is open, all if empty.
    link_products: Vec<&'a [String]>,
    /// For each link whether it brings what is joined to a car.
    joined: Vec<bool>,
    fleets: Vec<At>,
    stages: Vec<Stage>,
    lots: Vec<LotPlan>,
    timetabled: Timetabled,
    overruns: Vec<crate::order::Overrun>,
    problems: Vec<Problem>,
}

impl<'a> Draft<'a> {
    fn new(book: &'a Book, classes: Classes, hours: Hours) -> Self {
        let names = classes.list.iter().map(|class| class.name.clone());
        let mut draft = Self {
            book,
            network: Network {
                classes: names.collect(),
                calendars: hours.calendars.clone(),
                ..Network::default()
            },
            classes,
            hours,
            stations: Vec::new(),
            station_of: BTreeMap::new(),
            crew_of: BTreeMap::new(),
            links: Vec::new(),
            link_products: Vec::new(),
            joined: Vec::new(),
            fleets: Vec::new(),
            stages: stages(book),
            lots: Vec::new(),
            timetabled: Timetabled::default(),
            overruns: Vec::new(),
            problems: Vec::new(),
        };
        draft.add_crews();
        draft
    }

    /// The position of a stage, by name within its shop.
    fn stage(&self, shop: &str, stage: Option<&str>) -> usize {
        let name = stage.unwrap_or(shop);
        let same = |s: &Stage| s.shop == shop && s.name == name;
        self.stages.iter().position(same).unwrap_or(0)
    }

    fn finish(mut self) -> Result<Built, Vec<Problem>> {
        let (errors, notes) = self
            .problems
            .into_iter()
            .partition::<Vec<_>, _>(|problem| problem.severity == Severity::Error);
        if !errors.is_empty() {
            return Err(errors);
        }
        for (position, station) in self.stations.iter().enumerate() {
            self.stages[station.stage].stations.push(position);
        }
        let open = |s: &StationOrigin| self.hours.open_s_per_week(&s.shop);
        Ok(Built {
            open_s_per_week: self.stations.iter().map(open).collect(),
            network: self.network,
            classes: self.classes.list,
            order: self.classes.order,
            stations: self.stations,
            links: self.links,
            joined: self.joined,
            fleets: self.fleets,
            stages: self.stages,
            lots: self.lots,
            overruns: self.overruns,
            notes,
        })
    }
}

/// The stages in plant order: shops as they first appear in `shifts`, others
/// behind them as they appear in `press_lines` and `stations`; within a shop
/// in the order of the tables.
fn stages(book: &Book) -> Vec<Stage> {
    let mut shops: Vec<&str> = Vec::new();
    let named = book
        .shifts
        .iter()
        .map(|row| row.shop.as_str())
        .chain(book.press_lines.iter().map(|row| row.shop.as_str()))
        .chain(book.stations.iter().map(|row| row.shop.as_str()));
    for shop in named {
        if !shops.contains(&shop) {
            shops.push(shop);
        }
    }
    let mut stages: Vec<Stage> = Vec::new();
    for shop in shops {
        let lines = book.press_lines.iter().filter(|row| row.shop == shop);
        let rows = book.stations.iter().filter(|row| row.shop == shop);
        let names = lines
            .map(|_| shop)
            .chain(rows.map(|row| row.stage.as_deref().unwrap_or(shop)));
        for name in names {
            if !stages.iter().any(|s| s.shop == shop && s.name == name) {
                stages.push(Stage {
                    name: name.to_owned(),
                    shop: shop.to_owned(),
                    stations: Vec::new(),
                });
            }
        }
    }
    stages
}

/// An error with its place, to be completed with found, expected and mend.
fn problem(table: &str, what: &str, at: Option<At>, column: &str) -> Problem {
    Problem {
        code: format!("{table}/{what}"),
        severity: Severity::Error,
        table: table.to_owned(),
        row: at.map(|at| at.row),
        column: Some(column.to_owned()),
        found: String::new(),
        expected: String::new(),
        mend: String::new(),
        nearest: None,
    }
}

/// A position as the network's index type holds it; beyond four thousand
/// million there is no plant.
fn idx(position: usize) -> u32 {
    u32::try_from(position).unwrap_or(u32::MAX)
}

#[cfg(test)]
mod tests;
