//! A line as the book has it today, as it serialises.

use book::At;
use serde::{Deserialize, Serialize};

use super::model::AssemblyStation;

/// A line as the book has it today: every task at the station of its row.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Today {
    /// Its shop.
    pub shop: String,
    /// Its name; none where the shop's tasks name no line.
    pub line: Option<String>,
    /// Nothing is broken.
    pub holds: bool,
    /// Seconds from one car to the next.
    pub takt_s: f64,
    /// Seconds of it that work may fill.
    pub cycle_s: f64,
    /// Whether people stand on both sides of the car.
    pub two_sided: bool,
    /// Seconds of work on a mean car.
    pub work_s: f64,
    /// All its stations in the book's order, also those without work.
    pub stations: Vec<AssemblyStation>,
    /// How long each of these stations takes a car, in the same order.
    pub cycles: Vec<StationCycle>,
    /// Posts where a person stands.
    pub people: u32,
    /// Work as a share of what the posts with work can do in the cycle.
    pub efficiency: f64,
    /// Money a year: people, robots, tools, stations with work.
    pub cost_per_year: f64,
    /// What breaks takt or a rule.
    pub faults: Vec<Broken>,
    /// Tasks without a station.
    pub unplaced: Vec<Unplaced>,
    /// Which task waits for which, on this line.
    pub order: Vec<Waits>,
}

/// How long a station takes a car: its longest post, waiting for the others
/// counted.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct StationCycle {
    /// The book's station.
    pub station: String,
    /// Seconds on a mean car of the mix; 0 where it has no work.
    pub mean_s: f64,
    /// Posts where a person stands.
    pub people: u32,
    /// Robots.
    pub robots: u32,
    /// By product, in the book's order.
    pub by_product: Vec<ProductCycle>,
    /// By option that has work here, and product that has it.
    pub by_option: Vec<OptionCycle>,
}

/// How long a station takes a product's car.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct ProductCycle {
    /// The product.
    pub product: String,
    /// Seconds on its mean car, options by their shares.
    pub mean_s: f64,
    /// Seconds on its car without any option.
    pub plain_s: f64,
}

/// How long a station takes a car with an option and no other.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct OptionCycle {
    /// The option.
    pub option: String,
    /// The product.
    pub product: String,
    /// Seconds on such a car.
    pub cycle_s: f64,
}

/// What kind of rule is broken.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum BrokenRule {
    /// A task has no station.
    Unplaced,
    /// A task stands at a station of another line.
    Elsewhere,
    /// A task stands before what it must follow.
    Order,
    /// A post takes a mean car longer than the cycle.
    Cycle,
    /// A side has more work that only it can do than its people have time.
    Side,
    /// Some cars of the mix exceed the cycle by more than the plant allows.
    Overload,
    /// A run of heavy cars drifts too far past the station's end.
    Run,
    /// Tasks that must share a station do not.
    SameStation,
    /// Tasks that must not share a station do.
    OtherStation,
    /// A robot shares its station, does not fit the cycle or lets a bead dry.
    Robot,
    /// A row cannot be read as work, so that the line's other work is not shown.
    Row,
}

/// A rule that today's stations break.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Broken {
    /// Which rule.
    pub rule: BrokenRule,
    /// The station where it shows.
    pub station: Option<String>,
    /// By how many seconds, where it is a matter of time.
    pub by_s: Option<f64>,
    /// What is wrong.
    pub what: String,
    /// The way out.
    pub way_out: String,
    /// The rows of the tasks that make it so.
    pub rows: Vec<At>,
}

/// A task that no station has.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Unplaced {
    /// The task.
    pub task: String,
    /// Its row.
    pub at: At,
    /// Seconds on a car that has it.
    pub seconds: f64,
}

/// A task that waits for another of its line.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Waits {
    /// The task.
    pub task: String,
    /// The task before it.
    pub after: String,
    /// The row of the first.
    pub at: At,
}
