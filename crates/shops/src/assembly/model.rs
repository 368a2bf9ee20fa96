//! The plan of an assembly shop, as it serialises.

use std::collections::BTreeMap;

use book::{At, Side};
use serde::{Deserialize, Serialize};

use super::today_told::Today;
use crate::sheet::{ShopFigure, ShopValue};

/// The plan of all assembly lines that the book gives tasks.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Assembly {
    /// Every line has a balance within takt.
    pub holds: bool,
    /// The lines, in the order of their first tasks.
    pub lines: Vec<AssemblyLine>,
    /// Who does each task and why, in the order of the book.
    pub choices: Vec<Choice>,
    /// Robots that do several tasks on a car.
    pub cells: Vec<RobotCell>,
    /// Distances around the robots chosen: planning figures.
    pub guards: Vec<Guard>,
    /// Money a year for all lines: people, robots, tools, stations.
    pub cost_per_year: f64,
    /// Every figure with its working, by id. A plan read back has none: the
    /// texts of a working are the formula sheet's own.
    #[serde(skip_deserializing)]
    pub figures: BTreeMap<String, ShopFigure>,
}

/// How a task can be done.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum How {
    /// By hand.
    Hand,
    /// By hand with a lifting aid.
    Aided,
    /// By robot.
    Robot,
}

/// A way to do a task, and what the screens say of it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(
    feature = "schema",
    derive(schemars::JsonSchema),
    schemars(rename = "TaskWay")
)]
pub struct Way {
    /// How.
    pub how: How,
    /// The kind of person or robot.
    pub by: String,
    /// The tool or aid it takes.
    pub tool: Option<String>,
    /// Seconds on a car that has the task.
    pub seconds: f64,
    /// Money a year for its share of a post that works all its time, and its
    /// tool.
    pub cost_per_year: f64,
    /// Mass over the recommended limit, where a person lifts.
    pub lifting_index: Option<ShopValue>,
    /// Why it is out of the question; none where it may be done so.
    pub refused: Option<String>,
}

/// Who does a task, and why.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Choice {
    /// The task.
    pub task: String,
    /// Its row.
    pub at: At,
    /// The way taken.
    pub chosen: Way,
    /// Why.
    pub reason: String,
    /// The best of the other ways that may be taken.
    pub runner_up: Option<Way>,
    /// Ways that the screens refuse.
    pub refused: Vec<Way>,
}

/// An assembly line and its balance.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct AssemblyLine {
    /// Its shop.
    pub shop: String,
    /// Its name; none where the shop's tasks name no line.
    pub line: Option<String>,
    /// Tasks on it.
    pub tasks: usize,
    /// Whether it has a balance; without one its stations, people and costs are
    /// not known, which is not 0.
    pub balanced: bool,
    /// Seconds from one car to the next.
    pub takt_s: ShopValue,
    /// Seconds of it that work may fill.
    pub cycle_s: ShopValue,
    /// Whether people stand on both sides of the car.
    pub two_sided: bool,
    /// Seconds of work on a mean car.
    pub work_s: f64,
    /// The stations, in order; empty where there is no balance.
    pub stations: Vec<AssemblyStation>,
    /// No balance of this work has fewer stations.
    pub bound: u64,
    /// Whether the bound is met.
    pub proven: bool,
    /// Posts where a person stands.
    pub people: u32,
    /// Work as a share of what the posts with work can do in the cycle.
    pub efficiency: f64,
    /// Money a year: people, robots, tools, stations.
    pub cost_per_year: f64,
    /// No way to do this line's work within the cycle costs less.
    pub cost_bound_per_year: f64,
    /// The least work to move from where the book has it today; none where a
    /// task has no station or the work cannot stay on these stations.
    pub again: Option<Again>,
    /// Why there is none, where every task has a station.
    pub again_stuck: Vec<Stuck>,
    /// The line as the book has it today; none where no task has a station.
    pub today: Option<Today>,
    /// Cost of the line against its stations, where robots could do some of it;
    /// each point costs less than those with fewer stations.
    pub frontier: Vec<CostPoint>,
    /// Heavy cars in a row that still end past the drift allowed, though lighter
    /// stations were searched for.
    pub too_far: Vec<Stuck>,
    /// Why there is no balance.
    pub stuck: Vec<Stuck>,
}

/// A station of a balance.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct AssemblyStation {
    /// Its place in the line, the first being 1.
    pub number: u32,
    /// The book's station at this place today.
    pub station: Option<String>,
    /// Where its people and robots stand; those without work are left out.
    pub posts: Vec<AssemblyPost>,
}

/// A post of a station.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct AssemblyPost {
    /// The side it stands on.
    pub side: Side,
    /// The kind of person or robot.
    pub by: String,
    /// Tools and aids there.
    pub tools: Vec<String>,
    /// Its work in order.
    pub work: Vec<TimedTask>,
    /// Seconds of work on a mean car.
    pub load_s: f64,
    /// Seconds of work on a mean car of each product, in the book's order.
    pub by_product_s: Vec<f64>,
    /// The worst run of heavy cars, where some exceed the cycle.
    pub heavy: Option<Heavy>,
}

/// A task in its place in time, for a mean car.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct TimedTask {
    /// The task.
    pub task: String,
    /// Its row.
    pub at: At,
    /// Seconds after the station's cycle starts.
    pub start_s: f64,
    /// When it ends.
    pub end_s: f64,
    /// Seconds on a car that has it.
    pub seconds: f64,
    /// Seconds on a mean car of each product, in the book's order.
    pub by_product_s: Vec<f64>,
}

/// Heavy cars in a row at a post.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Heavy {
    /// The product or option that makes them heavy.
    pub cars: String,
    /// Seconds of such a car.
    pub seconds: f64,
    /// Seconds past takt that the worst run ends, the spacing rules kept.
    pub past_s: f64,
    /// The same as metres past the end of the station.
    pub past_m: f64,
    /// Whether that is within the drift allowed.
    pub holds: bool,
}

/// A new balance near today's.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Again {
    /// Tasks that stand elsewhere than today.
    pub moves: Vec<Move>,
    /// Seconds of their work on a mean car.
    pub moved_s: f64,
    /// No balance on today's stations moves less.
    pub bound_s: f64,
    /// Whether the bound is met.
    pub proven: bool,
    /// Robots that are bought, moved or given up.
    pub robots: Vec<RobotMove>,
    /// Robots that stations have then, where the book says another number.
    pub counts: Vec<RobotCount>,
    /// Heavy cars in a row that still end past the drift allowed, though lighter
    /// stations were searched for.
    pub too_far: Vec<Stuck>,
    /// The stations after the moves.
    pub stations: Vec<AssemblyStation>,
    /// Posts where a person stands then.
    pub people: u32,
}

/// The robots of a station that has other ones after the moves.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct RobotCount {
    /// The station.
    pub station: String,
    /// Its row.
    pub at: At,
    /// Robots in the book.
    pub now: u32,
    /// Robots after the moves.
    pub then: u32,
}

/// A robot that does not stay as it is.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct RobotMove {
    /// The kind of robot.
    pub robot: String,
    /// What becomes of it.
    pub change: RobotChange,
    /// Its station today; none for one that is bought.
    pub from: Option<String>,
    /// Its station then; none for one that is given up.
    pub to: Option<String>,
    /// Money a year that this adds, its tools with it where it is bought; moving
    /// it costs once, which the book gives no price for.
    pub cost_per_year: f64,
}

/// What becomes of a robot.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum RobotChange {
    /// It is bought.
    Bought,
    /// It goes to another station.
    Moved,
    /// It has no work any more.
    GivenUp,
}

/// A task that moves.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Move {
    /// The task.
    pub task: String,
    /// Its row.
    pub at: At,
    /// Where it is done today.
    pub from: String,
    /// Where it goes.
    pub to: String,
    /// Who does it there, where that is somebody else than today.
    pub by: Option<String>,
}

/// What a line on so many stations costs.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct CostPoint {
    /// Stations.
    pub stations: u32,
    /// Posts, each of one person or robot.
    pub posts: u32,
    /// Robots among them.
    pub robots: u32,
    /// Money a year.
    pub cost_per_year: f64,
    /// On so many stations or fewer nothing costs less.
    pub bound_per_year: f64,
}

/// Why a line has no balance.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Stuck {
    /// What stands against it, and the way out.
    pub why: String,
    /// The rows that make it so.
    pub rows: Vec<At>,
}

/// A robot's work on a car.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct RobotCell {
    /// Its shop.
    pub shop: String,
    /// Its line.
    pub line: Option<String>,
    /// The kind of robot.
    pub robot: String,
    /// Its work and tool changes in time.
    pub steps: Vec<CellStep>,
    /// Tool changes on a car, that back to the first tool included.
    pub changes: u32,
    /// Seconds on a car.
    pub seconds: f64,
    /// Seconds that it may take.
    pub cycle_s: f64,
    /// Seconds left; below 0 it does not fit.
    pub spare_s: f64,
    /// No order of work is quicker.
    pub proven: bool,
    /// Seconds a car that doing two cars between returns to the first tool
    /// would save; none where adhesive would dry.
    pub pairs_save_s: Option<f64>,
    /// Beads and their open times.
    pub beads: Vec<Bead>,
    /// The same work by hand when the robot is down.
    pub fallback: Fallback,
    /// Why there is no order of work.
    pub stuck: Option<String>,
}

/// A step of a robot.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct CellStep {
    /// The task.
    pub task: String,
    /// The tool in hand.
    pub tool: Option<String>,
    /// When it starts; a tool change before it has ended then.
    pub start_s: f64,
    /// When it ends.
    pub end_s: f64,
    /// Seconds of the tool change before it, 0 for none.
    pub change_s: f64,
}

/// A bead of adhesive and how long it stays open.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Bead {
    /// The task that lays it.
    pub task: String,
    /// Seconds of laying, its length over its speed; none where not given.
    pub laying_s: Option<f64>,
    /// Seconds from the start of laying until the part is set.
    pub path_s: f64,
    /// Seconds that the adhesive stays open.
    pub open_s: f64,
    /// The longest stop of the line that does not cost the bead.
    pub margin_s: f64,
    /// Whether that is as long as the plant asks.
    pub holds: bool,
}

/// A robot's work done by hand while it is down.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Fallback {
    /// People at its station who do it within takt; none where they cannot.
    pub people: Option<u32>,
    /// Seconds of work.
    pub seconds: f64,
    /// In words, with the way out where there is none.
    pub note: String,
}

/// Distances around a kind of robot.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Guard {
    /// The kind of robot.
    pub robot: String,
    /// From a light curtain, met head on.
    pub curtain_mm: Option<ShopValue>,
    /// From the edge of a floor scanner's field.
    pub scanner_mm: Option<ShopValue>,
    /// Where speed and separation are watched instead.
    pub separation_mm: Option<ShopValue>,
    /// What must be done before anybody relies on it, or what is missing.
    pub caution: String,
}
