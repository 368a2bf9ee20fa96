//! The planned build order as it serialises.

use std::collections::BTreeMap;

use book::{At, Problem};
use serde::{Deserialize, Serialize};

use super::drift::StationDrift;
use super::painted::PaintedStore;
use crate::sheet::{ShopFigure, ShopValue};

/// The order in which a week's cars are built. Places count from 1.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct BuildOrder {
    /// The plant's name.
    pub plant: String,
    /// The week, the first being 1.
    pub week: u32,
    /// Whether all that must hold does: hard rules, the longest block, promises,
    /// cars on hold until they come back.
    pub holds: bool,
    /// What must hold and does not, in words; empty where all does.
    pub broken: Vec<String>,
    /// What its headline tells.
    pub sums: OrderSums,
    /// Moves made by hand since it was planned.
    pub by_hand: u32,
    /// Cars that the week's working time has room for; none where unknown.
    pub slots: Option<u32>,
    /// Working days of the week.
    pub days: u32,
    /// Cars built at the end of the week before, place 1 the last of them; rules
    /// and colours reach back to them.
    pub before: Vec<PlacedCar>,
    /// The cars, place by place.
    pub places: Vec<PlacedCar>,
    /// Cars of the first places, which stay as they were frozen.
    pub frozen: u32,
    /// The spacing rules and where the order breaks them.
    pub rules: Vec<OrderRule>,
    /// Colours and their blocks.
    pub colours: ColourUse,
    /// Options and products against their level lines.
    pub level: Vec<LevelUse>,
    /// Level use beside that of an order made for it alone; none where nothing
    /// is to be used evenly.
    pub levelling: Option<Levelling>,
    /// The promises.
    pub promises: Vec<Promised>,
    /// What is proven of the order.
    pub proof: Proof,
    /// What each rule costs; empty where not asked for.
    pub costs: Vec<RulePrice>,
    /// The painted-body store between paint and the line.
    pub store: PaintedStore,
    /// Stations whose takt some car exceeds, walked through car by car.
    pub stations: Vec<StationDrift>,
    /// Cars on hold.
    pub on_hold: Vec<Held>,
    /// What is odd but can be computed.
    pub notes: Vec<Problem>,
    /// What to mind before anybody relies on it.
    pub caution: String,
    /// Every figure with its working, by id. A plan read back has none: the
    /// texts of a working are the formula sheet's own.
    #[serde(skip_deserializing)]
    pub figures: BTreeMap<String, ShopFigure>,
}

/// Breaks summed over rules and promises.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct OrderSums {
    /// Runs of cars past a spacing rule; a rule that another implies is not
    /// counted twice.
    pub runs_past: u64,
    /// Promises not kept.
    pub late: u32,
    /// Those of them that need not be kept.
    pub wishes_late: u32,
}

impl OrderSums {
    pub(super) fn of(rules: &[OrderRule], promises: &[Promised]) -> Self {
        let weighed = rules.iter().filter(|rule| rule.weighed);
        let late = || promises.iter().filter(|promise| !promise.kept);
        Self {
            runs_past: weighed.map(|rule| rule.runs_broken() as u64).sum(),
            late: late().count() as u32,
            wishes_late: late().filter(|promise| !promise.must).count() as u32,
        }
    }
}

/// A car in its place.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct PlacedCar {
    /// Its place.
    pub place: u32,
    /// The order; none for a car that the shares fill in.
    pub order: Option<String>,
    /// The product.
    pub product: String,
    /// Its options.
    pub options: Vec<String>,
    /// Its colour.
    pub colour: Option<String>,
    /// Whether the place was frozen before.
    pub frozen: bool,
}

/// Where a spacing rule comes from.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case", tag = "from")]
pub enum RuleFrom {
    /// The options table.
    Given {
        /// Its row.
        at: At,
    },
    /// A station that the option overruns.
    Station {
        /// The station.
        station: String,
        /// Its row.
        at: At,
        /// Seconds of a car with the option.
        heavy_s: f64,
        /// Seconds of a mean car without it.
        light_s: f64,
        /// Seconds from car to car.
        takt_s: f64,
        /// Seconds that work may drift past the station's end.
        drift_s: f64,
        /// Work behind after the most heavy cars in a row.
        overrun_s: ShopValue,
        /// Light cars that make it good.
        recovery: ShopValue,
        /// Seconds by which one such car ends past the drift however cars are
        /// spaced; 0 where spacing keeps the drift.
        past_alone_s: f64,
    },
}

/// A spacing rule and its breaks.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct OrderRule {
    /// The option; of a product that overruns a station, the product.
    pub option: String,
    /// The product that it is limited to; none for all.
    pub product: Option<String>,
    /// Most cars with it ...
    pub at_most: u32,
    /// ... in so many in a row.
    pub in_every: u32,
    /// Its weight; none where it must hold.
    pub weight: Option<u32>,
    /// Where it comes from.
    pub from: RuleFrom,
    /// Whether it is weighed; a rule that another implies is not.
    pub weighed: bool,
    /// Cars with the option.
    pub cars: u32,
    /// First places of the runs of cars that break it.
    pub broken_at: Vec<u32>,
    /// Further such runs that begin among the cars of the week before.
    pub broken_before: u32,
    /// Runs that any order must break with no other rule to mind.
    pub at_least: u64,
    /// Runs that break it in the order that reaches the line.
    pub broken_on_line: u64,
}

impl OrderRule {
    /// All runs of cars that break it.
    pub fn runs_broken(&self) -> usize {
        self.broken_at.len() + self.broken_before as usize
    }
}

/// Colours in the order.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct ColourUse {
    /// Changes of colour.
    pub changes: u64,
    /// No order that keeps the longest block has fewer.
    pub changes_at_least: u64,
    /// Changes in the order that reaches the line.
    pub changes_on_line: u64,
    /// The most cars of one colour in a row that are allowed.
    pub longest_allowed: Option<u32>,
    /// Cars beyond that, summed over blocks.
    pub over_block: u64,
    /// Minutes that the changes take.
    pub change_min: f64,
    /// Paint and solvent that they lose, litres.
    pub purge_l: f64,
    /// The blocks, first to last.
    pub blocks: Vec<Block>,
}

/// Cars of one colour in a row.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Block {
    /// The colour.
    pub colour: String,
    /// The first car's place.
    pub place: u32,
    /// Cars.
    pub cars: u32,
}

/// An option or product against its level line.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct LevelUse {
    /// The option or product.
    pub name: String,
    /// Cars with it.
    pub cars: u32,
    /// Farthest from the line, in cars, ahead positive.
    pub worst: f64,
    /// Where that is.
    pub worst_place: u32,
    /// Root of the mean squared distance, in cars.
    pub spread: f64,
    /// Cars built with it up to some places.
    pub points: Vec<LevelPoint>,
}

/// Level use as one figure: the sum over all places, products and options of
/// the squared distance from the level line, in cars.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Levelling {
    /// Of this order.
    pub order: f64,
    /// Of the same cars by goal chasing, which minds nothing but level use:
    /// what lies between is what spacing, colours and promises cost in it.
    pub goal_chasing: f64,
}

/// Use up to a place.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct LevelPoint {
    /// The place.
    pub place: u32,
    /// Cars built with it up to there.
    pub used: u32,
    /// The level line there.
    pub line: f64,
}

/// A promise and what became of it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Promised {
    /// The order.
    pub order: String,
    /// Its row.
    pub at: At,
    /// Promised to be among the first so many.
    pub within: u32,
    /// Whether the promise must be kept.
    pub must: bool,
    /// Its place; none for a car that stays on hold.
    pub place: Option<u32>,
    /// Whether it is kept.
    pub kept: bool,
    /// Its place in the order that reaches the line.
    pub place_on_line: Option<u32>,
    /// Whether it is among what no order keeps together.
    pub in_clash: bool,
}

/// What is proven of the order.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Proof {
    /// `found`, `impossible` or `unknown`: an order that breaks nothing.
    pub without_break: String,
    /// `kept`, `impossible` or `unknown`: what must hold, wishes aside. An order
    /// cut short may break it although another keeps it.
    pub must_hold: String,
    /// What no order keeps together, where that is proven: rules, promises, blocks.
    pub clash: Vec<String>,
    /// Whether no order is better.
    pub optimal: bool,
    /// Each goal with its bound, the first counting most.
    pub goals: Vec<GoalProof>,
    /// How the bounds come about, in words.
    pub bound_from: String,
    /// Moves tried.
    pub moves: u64,
    /// False when the search was cut short; what was found holds all the same.
    pub complete: bool,
    /// Seed of the search.
    pub seed: u64,
}

/// A goal and its bound.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct GoalProof {
    /// What it weighs.
    pub goal: String,
    /// The order's weighted sum.
    pub value: f64,
    /// No order that does as well in the goals before has less.
    pub at_least: f64,
}

/// What dropping or loosening a rule gives.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct RulePrice {
    /// The rule, block or promise.
    pub rule: String,
    /// `dropped`, or what it is loosened to.
    pub change: String,
    /// The orders behind a promise; empty for what is no promise of theirs.
    pub orders: Vec<String>,
    /// Fewer runs of cars that break the other rules; below 0 only where fewer
    /// changes of colour that weigh more were bought with them.
    pub fewer_breaks: i64,
    /// Fewer changes of colour; below 0 only where fewer breaks were bought
    /// with them.
    pub fewer_colour_changes: i64,
    /// Breaks of the rule itself before: runs of cars past it, cars beyond the
    /// longest block, promised cars that are late.
    pub own_before: u64,
    /// The same afterwards, counted by the rule as it was.
    pub own_after: u64,
    /// The same afterwards, counted by the rule as loosened; 0 where it is
    /// dropped.
    pub own_left: u64,
}

/// A car on hold.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Held {
    /// The order.
    pub order: String,
    /// Its row.
    pub at: At,
    /// The earliest place at which it may come back; none for not this week.
    pub back_from: Option<u32>,
    /// The place at which it came back; none where it did not.
    pub place: Option<u32>,
}
