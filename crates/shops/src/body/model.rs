//! The body shop's plan, as it serialises.

use std::collections::BTreeMap;

use book::{At, JoinMethod, Problem};
use serde::{Deserialize, Serialize};

use crate::sheet::{ShopFigure, ShopValue};

/// The plan of all lines that the book gives joints.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Body {
    /// The plant's name.
    pub plant: String,
    /// The currency of all money.
    pub currency: String,
    /// Every joint is made within takt.
    pub holds: bool,
    /// Joints on a car.
    pub joints: u32,
    /// Joining robots of all stations.
    pub robots: u32,
    /// No allocation has fewer.
    pub robots_bound: u32,
    /// Money a year of those robots.
    pub robots_cost_per_year: f64,
    /// No allocation costs less.
    pub cost_bound_per_year: f64,
    /// What the search made least: robots or their cost.
    pub aim: Aim,
    /// By how much, at most, the answer is above the least there can be.
    pub gap: f64,
    /// Money a year for consumables.
    pub consumables_cost_per_year: f64,
    /// The joint groups with their methods, in the order of the book.
    pub groups: Vec<JoinGroup>,
    /// The lines.
    pub lines: Vec<BodyLine>,
    /// The stations with their robots, in the order of the book.
    pub stations: Vec<BodyStation>,
    /// What the joints use up.
    pub consumables: Vec<Consumable>,
    /// The limits and figures that stand in for what the book leaves out.
    pub limits: Vec<LimitUsed>,
    /// The same at other takts.
    pub takts: Vec<AtTakt>,
    /// The least takt at which one robot less suffices; none where none was found.
    pub one_less: Option<OneLess>,
    /// Joints that found no robot, with ways out.
    pub stuck: Vec<StuckJoints>,
    /// What to beware of.
    pub cautions: Vec<String>,
    /// Whether the search ran to its end.
    pub complete: bool,
    /// What is odd but can be computed.
    pub notes: Vec<Problem>,
    /// Every figure with its working, by id. A plan read back has none: the
    /// texts of a working are the formula sheet's own.
    #[serde(skip_deserializing)]
    pub figures: BTreeMap<String, ShopFigure>,
}

/// What is made least.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum Aim {
    /// The number of robots.
    FewestRobots,
    /// What they cost a year.
    LeastCost,
}

/// A rule that a stack breaks.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct BrokenLimit {
    /// The rule, as the book writes it.
    pub rule: String,
    /// The limit.
    pub limit: f64,
    /// The value that breaks it.
    pub value: f64,
    /// Where the limit comes from.
    pub source: String,
    /// Rule, limit and value in words.
    pub told: String,
    /// The change that would free the method.
    pub mend: String,
}

/// What a method would be for a group.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct MethodWay {
    /// The method.
    pub method: JoinMethod,
    /// Rules that the stack breaks; none where the method may be used.
    pub refused: Vec<BrokenLimit>,
    /// Joints on a car; none where the method is refused.
    pub joints: Option<u32>,
    /// Seconds of a joint within the cycle.
    pub in_cycle_s: Option<f64>,
    /// Seconds of a joint with its part of the stops.
    pub effective_s: Option<f64>,
    /// Consumables of a joint.
    pub consumables: Option<f64>,
    /// Money a year for the group: consumables, robot seconds, inspection, and its
    /// own gun, die or nozzle where no other group uses it.
    pub cost_per_year: Option<f64>,
}

/// A group of like joints.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct JoinGroup {
    /// Its name.
    pub join: String,
    /// Its row.
    pub at: At,
    /// The assembly it belongs to.
    pub assembly: String,
    /// The parts of its stack with their gauges.
    pub stack: String,
    /// Its zone.
    pub zone: Option<String>,
    /// Whether it holds the shape.
    pub geometry: bool,
    /// Joints on a car.
    pub joints: u32,
    /// The method taken.
    pub method: JoinMethod,
    /// Gun, rivet and die, or nozzle that makes it.
    pub variant: String,
    /// Why this method.
    pub reason: String,
    /// The best of the other methods that may be used.
    pub runner_up: Option<JoinMethod>,
    /// What the runner-up costs more a year.
    pub runner_up_dearer: Option<f64>,
    /// Seconds of a joint within the cycle.
    pub in_cycle_s: f64,
    /// Seconds of a joint with its part of the stops.
    pub effective_s: ShopValue,
    /// Money a year.
    pub cost_per_year: Option<ShopValue>,
    /// All methods.
    pub ways: Vec<MethodWay>,
    /// Stations at which it is made.
    pub stations: Vec<String>,
}

/// A line of stations.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct BodyLine {
    /// Its name.
    pub line: String,
    /// Its shop.
    pub shop: String,
    /// Seconds from one car to the next.
    pub takt_s: ShopValue,
    /// The cycle that its stations are planned for.
    pub cycle_s: ShopValue,
    /// Joints on a car.
    pub joints: u32,
    /// Its joining robots.
    pub robots: u32,
}

/// A robot's work without a break on one group.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct RobotStep {
    /// The group.
    pub join: String,
    /// How.
    pub method: JoinMethod,
    /// Gun, rivet and die, or nozzle.
    pub variant: String,
    /// Its zone.
    pub zone: Option<String>,
    /// Joints.
    pub joints: u32,
    /// When it begins, in seconds from the start of the station's cycle.
    pub start_s: f64,
    /// When it ends.
    pub end_s: f64,
    /// Whether the tool was changed before it.
    pub changed: bool,
}

/// A joining robot.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct BodyRobot {
    /// Its name at the station.
    pub robot: String,
    /// Its kind.
    pub kind: String,
    /// What it carries.
    pub tools: Vec<String>,
    /// Its work in order.
    pub steps: Vec<RobotStep>,
    /// Joints on a car.
    pub joints: u32,
    /// Seconds of joining.
    pub work_s: f64,
    /// Seconds of tool changes, that back to the first included.
    pub change_s: f64,
    /// Seconds of waiting for zones and for joints before.
    pub wait_s: f64,
    /// When it is ready for the next car.
    pub end_s: f64,
}

/// What stops a station for its consumables.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct RefillStop {
    /// What.
    pub cause: String,
    /// Running time from stop to stop.
    pub between_min: f64,
    /// What a stop takes.
    pub minutes: f64,
    /// The working of the time between.
    pub figure: String,
}

/// A station.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct BodyStation {
    /// Its name.
    pub station: String,
    /// Its row.
    pub at: At,
    /// Its line.
    pub line: String,
    /// Seconds from one car to the next.
    pub takt_s: f64,
    /// What the cycle leaves its robots.
    pub net_s: ShopValue,
    /// Load, index and clamp.
    pub index_s: f64,
    /// The most robots around a car.
    pub robots_most: u32,
    /// Its joining robots.
    pub robots: Vec<BodyRobot>,
    /// Joints on a car.
    pub joints: u32,
    /// Load, index and the last robot's end.
    pub cycle_s: f64,
    /// The cycle that the book has measured; it drives the flow where it stands.
    pub measured_s: Option<f64>,
    /// Stops for caps, spools, refills and drums.
    pub stops: Vec<RefillStop>,
    /// The cycle with one robot less, its joints kept; none for one robot.
    pub one_less_s: Option<f64>,
}

/// What the joints use up.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Consumable {
    /// The method.
    pub method: JoinMethod,
    /// What.
    pub item: String,
    /// Its unit.
    pub unit: String,
    /// On a car.
    pub per_car: f64,
    /// In a week.
    pub per_week: f64,
    /// Money a year.
    pub cost_per_year: f64,
}

/// A limit in force.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct LimitUsed {
    /// The method.
    pub method: JoinMethod,
    /// The rule, as the book writes it.
    pub rule: String,
    /// The limit.
    pub limit: f64,
    /// Where it comes from.
    pub source: String,
    /// Its row, where the book replaces the usual one.
    pub at: Option<At>,
}

/// Robots at another takt.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct AtTakt {
    /// Seconds more than the plan's.
    pub more_s: f64,
    /// Cars a week of the line that takes the longest takt.
    pub cars_per_week: f64,
    /// Robots; none where some joints find no robot.
    pub robots: Option<u32>,
    /// Money a year.
    pub robots_cost_per_year: Option<f64>,
}

/// What one robot less takes.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct OneLess {
    /// Robots then.
    pub robots: u32,
    /// Seconds of takt more.
    pub more_s: f64,
    /// Cars a week then.
    pub cars_per_week: f64,
}

/// Joints without a robot.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct StuckJoints {
    /// The group.
    pub join: String,
    /// Its row.
    pub at: At,
    /// Joints of it.
    pub joints: u32,
    /// Why.
    pub why: String,
    /// Ways out.
    pub mend: String,
}
