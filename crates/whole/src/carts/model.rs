//! What the runs say of carts and stores, as it leaves the house.

use book::{At, Problem};
use flow::statistics::Interval;
use serde::Serialize;
use shops::carts::CartPlan;

use crate::findings::RunFacts;

/// The carts' plan, and what the plant makes with more and fewer of them.
/// Serialises as it is.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Carts {
    /// The plant's name.
    pub plant: String,
    /// Whether every fleet suffices, by formula and in the runs, and no store is
    /// so small that the main line loses cars.
    pub holds: bool,
    /// By formula: loops and supplies, each figure with its working.
    pub plan: CartPlan,
    /// How every figure of a run was simulated.
    pub run: RunFacts,
    /// Cars a week of the plant as it is.
    pub made: Interval,
    /// For each loop its curve, in the plan's order.
    pub curves: Vec<Curve>,
    /// For each supply fleet its curve, in the plan's order; those with no loads
    /// or beyond sixty carts are left out.
    pub supply_curves: Vec<SupplyCurve>,
    /// The stores that feed the main line from its sub-plants.
    pub stores: Vec<Store>,
    /// What is worth knowing of the network that was run.
    pub notes: Vec<Problem>,
}

/// Cars a week against the number of carriers of a fleet.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Curve {
    /// The fleet.
    pub carrier: String,
    /// Its row.
    pub at: At,
    /// How many there are.
    pub count: u32,
    /// How many the formula asks for.
    pub needed: u32,
    /// The fewest from which one more gives nothing that the runs show, nor do
    /// all further ones tried; none where even the most tried still gain.
    pub enough: Option<u32>,
    /// What one more than that gives, with the same luck.
    pub one_more: Option<Interval>,
    /// What that many make more than there are now.
    pub against_count: Option<Interval>,
    /// Whether those there are lose cars that more, or fewer in thick traffic,
    /// would make.
    pub loses: bool,
    /// The numbers tried, fewest first.
    pub points: Vec<CurvePoint>,
}

/// A number of carriers tried.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct CurvePoint {
    /// How many.
    pub carriers: u32,
    /// In service at a time, charging and unfit ones left out.
    pub in_service: u32,
    /// Cars a week.
    pub cars: Interval,
    /// Cars a week fewer than with the best number, with the same luck.
    pub below_best: Interval,
    /// Whether that difference is shown: its interval leaves zero out.
    pub shown: bool,
    /// Whether the plant locked itself up in one of the runs.
    pub locked: bool,
}

/// Loads an hour against the carts of a supply fleet, with calls that come by
/// chance (exponential times between them).
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct SupplyCurve {
    /// The fleet.
    pub fleet: String,
    /// The first row that names it.
    pub at: At,
    /// How many there are, where the book says so.
    pub count: Option<u32>,
    /// How many the formula asks for.
    pub needed: Option<u32>,
    /// Loads an hour that are called for.
    pub calls_per_hour: f64,
    /// The fewest from which one more brings nothing that the runs show.
    pub enough: Option<u32>,
    /// One cart, two, and so on.
    pub points: Vec<SupplyPoint>,
}

/// A number of supply carts tried.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct SupplyPoint {
    /// How many.
    pub carts: u32,
    /// Loads brought an hour.
    pub loads_per_hour: Interval,
    /// Minutes from the call to the load, waiting for a cart counted; grows
    /// without end where the carts are too few.
    pub wait_min: Interval,
    /// Loads an hour more with one more, with the same luck; none for the most
    /// tried.
    pub one_more: Option<Interval>,
}

/// A store from which a sub-plant feeds the main line.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Store {
    /// Its row of the links.
    pub at: At,
    /// The line that fills it, or its shop.
    pub line: String,
    /// The last station of that line.
    pub from: String,
    /// The station that merges it into the car.
    pub to: String,
    /// Places there are.
    pub places: u32,
    /// Places that the plan asks for, by the longest stop that they must last;
    /// none where the plan has no such store.
    pub planned: Option<u32>,
    /// Cars a week at the planned places against the most tried, with the same
    /// luck.
    pub at_planned: Option<Interval>,
    /// The fewest places with which the plant loses no cars that the runs show.
    pub least: u32,
    /// Cars a week at the fewest against the most places tried, with the same
    /// luck.
    pub at_least: Interval,
    /// The same with one place fewer; none where there is none to take.
    pub one_fewer: Option<Interval>,
    /// Cars a week of the places there are against the most tried.
    pub at_places: Interval,
    /// Whether the places there are lose cars.
    pub loses: bool,
    /// The numbers tried, fewest first, each with what it makes less than the
    /// most tried.
    pub points: Vec<StorePoint>,
}

/// A number of places tried.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct StorePoint {
    /// Places.
    pub places: u32,
    /// Cars a week fewer than with the most places tried.
    pub below_most: Interval,
    /// Whether that difference is shown.
    pub shown: bool,
}
