//! What the plan of a paint shop says.

use std::collections::BTreeMap;

use book::{At, CoatKind, Problem};
use serde::{Deserialize, Serialize};

use crate::sheet::{ShopFigure, ShopValue};

/// The plan of a paint shop.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Paint {
    /// The plant's name.
    pub plant: String,
    /// The currency of all money.
    pub currency: String,
    /// The shop.
    pub shop: String,
    /// Whether nothing stands under [`Paint::broken`].
    pub holds: bool,
    /// Good bodies that leave it a week.
    pub bodies: f64,
    /// Working hours a week.
    pub net_h: f64,
    /// Time from good body to good body.
    pub takt_s: ShopValue,
    /// The steps along the line.
    pub steps: Vec<PaintStep>,
    /// Paint and sealer of all steps for a good body; 0 where no coat has a price.
    pub material_cost: f64,
    /// Length of the whole line, as it is or as it needs to be.
    pub length_m: f64,
    /// Hours from the first door to the last, without waiting between steps.
    pub hours: f64,
    /// Robots that spray or lay beads.
    pub robots: u32,
    /// What each station on a step or at a repair has from here.
    pub stations: Vec<PaintStation>,
    /// Colours; none where no coat has one.
    pub colours: Option<Colours>,
    /// Inspection and repairs.
    pub repairs: RepairLoad,
    /// What all bakes do to adhesives and alloys.
    pub heat: Vec<HeatSum>,
    /// The store behind paint.
    pub store: StoreSize,
    /// Solvent to the air; none where no coat says what it holds.
    pub solvent: Option<Solvent>,
    /// What does not hold, each with its row and the way out.
    pub broken: Vec<Problem>,
    /// Worth knowing.
    pub notes: Vec<Problem>,
    /// What to mind where people can get hurt.
    pub cautions: Vec<String>,
    /// Every figure with its working, by id. A plan read back has none: the
    /// texts of a working are the formula sheet's own.
    #[serde(skip_deserializing)]
    pub figures: BTreeMap<String, ShopFigure>,
}

/// A step of the line.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct PaintStep {
    /// The coat.
    pub coat: String,
    /// Its row.
    pub at: At,
    /// Its kind.
    pub kind: CoatKind,
    /// Its stations.
    pub stations: Vec<String>,
    /// Temperature, in an oven that of the metal.
    pub temperature_c: Option<f64>,
    /// Passes for each good body that leaves the shop.
    pub passes: f64,
    /// Bodies a week, repeats counted.
    pub bodies: f64,
    /// Time from body to body that the rate allows here.
    pub takt_s: ShopValue,
    /// Time from body to body of its conveyor.
    pub cycle_s: ShopValue,
    /// Speed of its conveyor.
    pub speed_m_min: f64,
    /// Whether the book gives that speed.
    pub speed_given: bool,
    /// Distance from body to body.
    pub pitch_m: f64,
    /// Minutes from door to door.
    pub dwell_min: f64,
    /// Where it begins along the line.
    pub from_m: f64,
    /// Its length: the one it has, or else the one that its time needs.
    pub length_m: f64,
    /// The length that its time and window need.
    pub needed_m: ShopValue,
    /// Whether the book gives its length.
    pub length_given: bool,
    /// Bodies in it, on average.
    pub inside: f64,
    /// Its window at metal temperature, for an oven.
    pub window: Option<BakeWindow>,
    /// What is laid on.
    pub film: Option<CoatFilm>,
    /// The longest that a body may wait before it, and what waits longest.
    pub age: Option<CoatAge>,
}

/// A window of time at metal temperature.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct BakeWindow {
    /// Minutes until the metal has its temperature.
    pub heat_up_min: f64,
    /// Minutes that it has it in a normal run.
    pub at_metal_min: ShopValue,
    /// The least.
    pub least_min: Option<f64>,
    /// The most.
    pub most_min: Option<f64>,
    /// Stop of the conveyor that every body in it bears; none without a most.
    pub allowance_min: Option<ShopValue>,
    /// Bodies in it at most: places that empty it wholly.
    pub bodies: u32,
    /// Places kept empty behind it.
    pub room: u32,
    /// Stop borne with these; none where any is.
    pub stop_min: Option<f64>,
    /// What stops of some lengths do.
    pub stops: Vec<StopIn>,
    /// Minutes at metal temperature of a body that goes through a second time;
    /// none where no repair leads back here.
    pub twice_min: Option<f64>,
}

/// What a stop of the conveyor does to bodies in an oven.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct StopIn {
    /// Minutes of the stop.
    pub minutes: f64,
    /// Bodies that cannot leave meanwhile.
    pub caught: u32,
    /// Minutes that they are at metal temperature.
    pub at_metal_min: f64,
    /// Minutes of that above the most.
    pub over_min: f64,
}

/// What a step lays on a body.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct CoatFilm {
    /// CoatFilm, dry.
    pub dry_um: Option<f64>,
    /// CoatFilm as laid on.
    pub wet_um: Option<f64>,
    /// The part that stays on.
    pub transfer_efficiency: Option<f64>,
    /// Litres a body and pass.
    pub litres: f64,
    /// Their figure; none where the book gives them.
    pub figure: Option<String>,
    /// Litres of it that miss the body.
    pub missed_l: f64,
    /// Litres a week, repeats counted.
    pub week_l: f64,
    /// Money for it on each good body.
    pub cost: f64,
    /// Applicators; none where the step has no flow.
    pub applicators: Option<Applicators>,
}

/// Applicators of a step, a robot each.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Applicators {
    /// Before rounding up.
    pub exact: f64,
    /// Whole ones.
    pub needed: ShopValue,
    /// For which the stations have room; none where the book does not say.
    pub room: Option<u32>,
    /// Whether more are needed than there is room for.
    pub over: bool,
    /// Those placed: needed, or as many as have room.
    pub placed: u32,
}

/// What a station has from its step or repair.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct PaintStation {
    /// The station.
    pub station: String,
    /// Its row.
    pub at: At,
    /// The step or repair.
    pub step: String,
    /// Time for a body at one of its places.
    pub cycle_s: ShopValue,
    /// Its measured cycle, which wins.
    pub measured_s: Option<f64>,
    /// Robots from the applicators; none where the step has none.
    pub robots: Option<u32>,
    /// Robots that the book gives; 0 leaves them to the applicators.
    pub robots_given: u32,
    /// Seconds that an applicator is on the body.
    pub path_s: Option<f64>,
    /// Seconds of the cycle for colour changes.
    pub change_s: Option<f64>,
}

/// Colours of the coat that has them.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Colours {
    /// Colours and their shares.
    pub mix: Vec<ColourShare>,
    /// Chance that the next body has another colour as they come.
    pub change_probability: ShopValue,
    /// Litres lost in a change, mean over the changes.
    pub purge_l: f64,
    /// Seconds of a change, mean over the changes.
    pub change_s: f64,
    /// Seconds of it that do not fit between two bodies.
    pub lost_s: f64,
    /// Bodies through the coat a week.
    pub bodies: f64,
    /// Bodies collected before a block is painted, as the book has it.
    pub block: u32,
    /// The block at which the costs of the curve are least.
    pub best: u32,
    /// The same by the square root, in parts of a body.
    pub root: Option<ShopValue>,
    /// Block by block, from 1.
    pub curve: Vec<BlockPoint>,
}

/// A colour.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct ColourShare {
    /// Its name.
    pub colour: String,
    /// Share of all bodies.
    pub share: f64,
    /// Hours that the first body of its block waits, at the book's block.
    pub longest_wait_h: f64,
}

/// A size of colour block.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct BlockPoint {
    /// Bodies collected.
    pub block: u32,
    /// Changes a week.
    pub changes: f64,
    /// Litres lost a week.
    pub purge_l: f64,
    /// Hours lost a week.
    pub stopped_h: f64,
    /// Bodies waiting for their block, mean.
    pub waiting: f64,
    /// Places for them.
    pub places: f64,
    /// Hours that a body waits, mean.
    pub wait_h: f64,
    /// Money a week for changes: paint and time.
    pub change_cost: f64,
    /// Money a week for waiting: stock and places.
    pub wait_cost: f64,
}

impl BlockPoint {
    /// Both costs together.
    #[must_use]
    pub fn cost(&self) -> f64 {
        self.change_cost + self.wait_cost
    }
}

/// Inspection and repairs as an absorbing chain.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct RepairLoad {
    /// Part of the bodies that is OK at inspection.
    pub first_time_ok: ShopValue,
    /// Whether a station's cell gives it; else the coats make it.
    pub measured: bool,
    /// Bodies that enter the shop for each good one that leaves it.
    pub entering: f64,
    /// Inspections for each good body.
    pub inspections: f64,
    /// Part of the entering bodies that leaves good.
    pub final_yield: f64,
    /// Each way of repair.
    pub ways: Vec<RepairWayLoad>,
}

/// The load of a way of repair.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct RepairWayLoad {
    /// The repair.
    pub repair: String,
    /// Its row.
    pub at: At,
    /// Where it leads back to; none if a repaired body is done.
    pub back_to: Option<String>,
    /// Visits for each good body.
    pub visits: f64,
    /// Visits a week.
    pub week: f64,
    /// Minutes of one.
    pub minutes: f64,
    /// Bays.
    pub bays: u32,
    /// Part of their time that is taken.
    pub load: f64,
    /// Whether that is more than they have.
    pub over: bool,
    /// Whole bays that it takes.
    pub bays_needed: u32,
    /// Hours that a repaired body comes later.
    pub delay_h: f64,
}

/// What all bakes do to a material.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct HeatSum {
    /// The material.
    pub limit: String,
    /// Its row.
    pub at: At,
    /// The temperature that its minutes are for.
    pub at_c: f64,
    /// Minutes that it needs.
    pub least_min: Option<f64>,
    /// Minutes that it bears.
    pub most_min: Option<f64>,
    /// Minutes that a body gets which is OK at once.
    pub normal_min: ShopValue,
    /// What each repair adds.
    pub repairs: Vec<RepairHeat>,
}

/// What a repair adds to the minutes at a reference temperature.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct RepairHeat {
    /// The repair.
    pub repair: String,
    /// Minutes that one adds.
    pub adds_min: f64,
    /// How many a body bears; none where nothing limits them.
    pub bears: Option<u32>,
}

/// The store behind paint.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct StoreSize {
    /// Places that undo the colour blocks.
    pub block_places: f64,
    /// Each repair for which others may be held.
    pub ways: Vec<StoreFor>,
    /// Places that the book has.
    pub places: u32,
}

/// The store that holds all others until a repaired body is back.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct StoreFor {
    /// The repair.
    pub repair: String,
    /// Places in all.
    pub places: ShopValue,
}

/// Solvent that goes to the air.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Solvent {
    /// Grams from each source.
    pub sources: Vec<SolventFrom>,
    /// Grams a good body.
    pub body_g: ShopValue,
    /// Surface that the limit counts.
    pub area_m2: f64,
    /// Grams for each square metre.
    pub per_m2_g: f64,
    /// Its limit.
    pub limit_g: Option<f64>,
    /// Tonnes a year.
    pub year_t: f64,
}

/// A source of solvent.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct SolventFrom {
    /// The coat, or the purges.
    pub from: String,
    /// Grams a good body.
    pub grams: f64,
}

/// The longest that a body waits before a step.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct CoatAge {
    /// Hours that it may.
    pub most_h: f64,
    /// Hours that it would, left over the longest time in which the shop is shut.
    pub shut_h: f64,
}
