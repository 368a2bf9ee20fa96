//! The carts' plan as it leaves the house.

use std::collections::BTreeMap;

use book::{At, Charging, Problem};
use serde::Serialize;

use crate::sheet::{ShopFigure, ShopValue};

/// How many carts each loop and each supply fleet needs. Serialises as it is.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct CartPlan {
    /// Whether every fleet has as many as it needs.
    pub holds: bool,
    /// The fleets that follow a loop, in the book's order.
    pub loops: Vec<CartLoop>,
    /// The fleets that bring material, in the book's order.
    pub supplies: Vec<SupplyFleet>,
    /// The stores from which sub-plants feed the main line, in the book's order.
    pub stores: Vec<StorePlan>,
    /// What is odd but can be computed.
    pub notes: Vec<Problem>,
    /// What to mind where people can get hurt.
    pub caution: String,
    /// Every figure with its working, by id.
    pub figures: BTreeMap<String, ShopFigure>,
}

/// A fleet that follows a loop: carts, skids or hangers.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct CartLoop {
    /// The fleet.
    pub carrier: String,
    /// Its row.
    pub at: At,
    /// How many there are.
    pub count: u32,
    /// Where a car takes one.
    pub taken_at: String,
    /// Where it leaves it.
    pub returned_at: String,
    /// Cars a week that take one.
    pub jobs: f64,
    /// Seconds from one taken to the next.
    pub takt_s: ShopValue,
    /// Metres from carrier to carrier under the cars.
    pub pitch_m: f64,
    /// Length of the way under the cars.
    pub line_m: f64,
    /// Speed of that way, were it to move evenly: a pitch in each takt.
    pub speed_m_min: ShopValue,
    /// Seconds of the empty way back, curves counted, alone on it.
    pub way_back_s: f64,
    /// Seconds of a round on the move along the line, loading and unloading.
    pub travel_s: f64,
    /// How it charges.
    pub charging: Charging,
    /// Share of the time that charging besides takes.
    pub charging_share: f64,
    /// Share of the fleet in service: fit and not charging.
    pub fit: f64,
    /// What each further one on the way back costs all others there.
    pub traffic_loss: f64,
    /// Of those needed: share of speed that is left on the way back.
    pub traffic: f64,
    /// Of those needed: at stations under the cars.
    pub on_line: f64,
    /// Of those needed: on the move along the line, loading, unloading.
    pub on_move: f64,
    /// Of those needed: on the empty way back.
    pub on_way_back: f64,
    /// Of those needed: charging or unfit.
    pub out_of_service: f64,
    /// How many are needed, before rounding up.
    pub exact: f64,
    /// How many are needed, whole.
    pub needed: ShopValue,
    /// Needed over count; above 1 the fleet is too small.
    pub load: f64,
    /// Whether the fleet is too small.
    pub over: bool,
    /// Of those there are: in service at a time, whole.
    pub in_service: u32,
    /// Why there are too few for the line itself, if there are.
    pub starved: Option<String>,
}

/// A fleet that brings material.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct SupplyFleet {
    /// The fleet.
    pub fleet: String,
    /// The first row that names it.
    pub at: At,
    /// What it delivers.
    pub runs: Vec<SupplyRun>,
    /// How many there are, where the book says so.
    pub count: Option<u32>,
    /// Minutes of cart work in each hour.
    pub workload_min: f64,
    /// Carts that would suffice if none slowed another, before rounding up.
    pub exact: f64,
    /// How many are needed, whole; none when crowding lets no number suffice.
    pub needed: Option<ShopValue>,
    /// Whether there are fewer, or no number suffices; a fleet without a count
    /// suffices if any number would.
    pub over: bool,
    /// What further carts cost the others, where traffic is not given.
    pub crowding: Option<Crowding>,
    /// What is wrong and the way out, where it falls short.
    pub mend: Option<String>,
}

/// How a fleet slows itself.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Crowding {
    /// What each further cart costs all others.
    pub loss: f64,
    /// Share of the time that the number needed leaves, or the most useful
    /// number where none suffices.
    pub traffic: f64,
    /// The number that does most; more do less.
    pub most_at: u32,
    /// Work of that number, in carts that nothing slows.
    pub most: f64,
}

/// One thing delivered.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct SupplyRun {
    /// What is delivered.
    pub supply: String,
    /// Its row.
    pub at: At,
    /// Where it goes.
    pub station: Option<String>,
    /// Loads an hour.
    pub loads_per_hour: f64,
    /// Minutes of a delivery, there and back.
    pub cycle_min: ShopValue,
    /// Minutes of cart work in each hour.
    pub workload_min: f64,
    /// Its part of the fleet, before rounding up and crowding.
    pub carts: f64,
}

/// A store from which a sub-plant feeds the main line, sized by the time that
/// it must last.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct StorePlan {
    /// Its row of the links.
    pub at: At,
    /// The line that fills it, or its shop.
    pub line: String,
    /// The last station of that line.
    pub from: String,
    /// The station that merges it into the car.
    pub to: String,
    /// Places in the book; none without limit.
    pub places: Option<u32>,
    /// Places that the plan asks for.
    pub needed: ShopValue,
    /// The longest stop of the feeding line in a week, on average.
    pub longest_stop_min: f64,
    /// The longest work of the merge while the feeding line has none.
    pub closed_min: f64,
    /// Cars whose pieces wait there although nothing stops, since they were taken
    /// off and the car is longer under way.
    pub ahead: f64,
    /// How long the places beyond these last.
    pub cover_min: f64,
}
