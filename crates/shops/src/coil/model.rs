//! The coil plan as it leaves the house.

use std::collections::BTreeMap;

use book::{At, Problem};
use serde::{Deserialize, Serialize};

use crate::sheet::ShopFigure;

/// From coil to blank: how each blank lies on its strip, which coils to hold,
/// and what to order when. Serialises as it is.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Coil {
    /// The plant's name.
    pub plant: String,
    /// The currency of all money.
    pub currency: String,
    /// Whether no coil runs out within the weeks planned and all find a place, now
    /// and at each week's end.
    pub holds: bool,
    /// Each part that is cut from coil, in the book's order.
    pub parts: Vec<StripPart>,
    /// Each coil specification of the book with its use, in the book's order.
    pub coils: Vec<CoilUse>,
    /// Which specifications to hold.
    pub holding: Holding,
    /// What to order, week by week.
    pub orders: Orders,
    /// The metal of a mean week as things are.
    pub metal: Metal,
    /// What is odd but can be computed.
    pub notes: Vec<Problem>,
    /// Every figure with its working, by id. A plan read back has none: the
    /// texts of a working are the formula sheet's own.
    #[serde(skip_deserializing)]
    pub figures: BTreeMap<String, ShopFigure>,
}

/// A part on its strip.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct StripPart {
    /// The part.
    pub part: String,
    /// Its row.
    pub at: At,
    /// Its alloy and temper.
    pub material: String,
    /// Its gauge.
    pub gauge_mm: f64,
    /// The name of its outline.
    pub outline: String,
    /// The blank's paths, the outer one first: points `[x, y, bulge]`, turned over
    /// where the part is.
    pub paths: Vec<Vec<[f64; 3]>>,
    /// The line that cuts it.
    pub line: String,
    /// Whether a laser cuts it.
    pub laser: bool,
    /// Least distance between blanks: web, and kerf where a laser cuts.
    pub clearance_mm: f64,
    /// Least distance to the strip's edges.
    pub margin_mm: f64,
    /// The part whose blanks lie on the same strip, where that is cheapest.
    pub with: Option<String>,
    /// Blanks cut in a mean week, scrap included.
    pub blanks_a_week: f64,
    /// Metal in a blank.
    pub net_kg: f64,
    /// Length that is cut around a blank and its holes.
    pub cut_mm: f64,
    /// The layouts found on coils of the book, the cheapest blank first; never
    /// empty. The first is the one used.
    pub layouts: Vec<StripLayout>,
    /// The layout that came next and why it lost; none where there is one only.
    pub runner_up: Option<RunnerUp>,
    /// The pair that it was asked to lie in, where it is cut alone after all.
    pub beside: Option<Beside>,
    /// Kinds of layout that no coil of the book takes, with the reason.
    pub without: Vec<Unlaid>,
    /// The coil that it is cut from if the plant holds what [`Holding`] says.
    pub to_cut_from: String,
}

/// A layout of a part's blanks on a coil.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct StripLayout {
    /// Its kind: `single`, `opposed_pair`, `two_row`, `three_row`, `mixed_pair`.
    pub kind: String,
    /// The coil specification.
    pub coil: String,
    /// The strip's width.
    pub width_mm: f64,
    /// Width that the layout needs.
    pub needed_width_mm: f64,
    /// The angle of the first blank to the feed.
    pub angle_deg: f64,
    /// Feed for each repeat.
    pub pitch_mm: f64,
    /// Blanks of this part in a pitch.
    pub blanks_per_pitch: u32,
    /// Metal in blanks over the strip used.
    pub utilisation: f64,
    /// No layout of the kind on this width has a better utilisation.
    pub bound: f64,
    /// Least distance between blanks, measured on the finished layout.
    pub clearance_mm: f64,
    /// Least distance to the strip's edges, measured.
    pub edge_clearance_mm: f64,
    /// The blanks of one pitch.
    pub placements: Vec<Placed>,
    /// Good blanks of this part from a coil.
    pub blanks_of_a_coil: f64,
    /// Metal cost of a good blank with the scrap's credit; of both parts of a
    /// mixed pair by their metal.
    pub cost: f64,
    /// The same before the credit.
    pub gross_cost: f64,
    /// The figure of the cost: of the layout used and the runner-up.
    pub figure: Option<String>,
}

/// Where a blank of a pitch lies: turned over where mirrored, turned about the
/// drawing's origin, its origin put at the place.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Placed {
    /// 0 for the part itself, 1 for the part beside it.
    pub part: u32,
    /// Along the feed.
    pub x_mm: f64,
    /// Across the strip, from its lower edge.
    pub y_mm: f64,
    /// Turned counter-clockwise by.
    pub rot_deg: f64,
    /// Whether it is turned over.
    pub mirrored: bool,
}

/// The second-best layout.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct RunnerUp {
    /// Its place in [`StripPart::layouts`]; none where it is the other way of
    /// cutting a pair of parts, together or apart.
    pub layout: Option<u32>,
    /// What a blank costs more.
    pub cost_more: f64,
    /// What that is in a year.
    pub cost_more_a_year: f64,
    /// Why it lost.
    pub why: String,
}

/// A pair of parts that was tried on one strip, and why it lost.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Beside {
    /// The other part.
    pub part: String,
    /// The best layout of the pair, its place in [`StripPart::layouts`]; none where
    /// no coil of the book takes both.
    pub layout: Option<u32>,
    /// What the blanks of both cost in a mean week on one strip.
    pub cost_a_week: Option<f64>,
    /// What they cost apart, each on its best.
    pub apart_a_week: f64,
    /// Why it lost.
    pub why: String,
}

/// A kind of layout that cannot be.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Unlaid {
    /// The kind.
    pub kind: String,
    /// Why, and what would free it.
    pub why: String,
}

/// A coil specification and its use as things are.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct CoilUse {
    /// The specification.
    pub coil: String,
    /// Its row; none for one that the book does not hold.
    pub at: Option<At>,
    /// Its alloy and temper.
    pub material: String,
    /// The gauge ordered.
    pub gauge_mm: f64,
    /// The gauge delivered, on the whole.
    pub delivered_mm: f64,
    /// Its width.
    pub width_mm: f64,
    /// Its mass, by which it is bought.
    pub mass_kg: f64,
    /// The mass that its diameters hold.
    pub mass_by_size_kg: f64,
    /// Its inner diameter.
    pub inner_mm: f64,
    /// Its outer diameter: the book's, or that of its mass.
    pub outer_mm: f64,
    /// Its length by its mass and the gauge delivered.
    pub length_m: f64,
    /// Its turns.
    pub wraps: f64,
    /// Share of the length lost by the gauge's side of its tolerance.
    pub gauge_loss: f64,
    /// The parts cut from it.
    pub parts: Vec<String>,
    /// Coils used in a mean week.
    pub coils_a_week: f64,
    /// Metal used in a mean week.
    pub kg_a_week: f64,
    /// Utilisation of the metal used, coil ends counted.
    pub utilisation: f64,
    /// The figures of its length, by id.
    pub figures: Vec<String>,
}

/// Which coil specifications to hold.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Holding {
    /// The most specifications that may be held.
    pub at_most: u32,
    /// The fewest that cover all parts.
    pub fewest: u32,
    /// What to hold: alloys and gauges in the book's order, widths rising.
    pub chosen: Vec<Held>,
    /// What the specifications of the book cost a year, each part on its best.
    pub now: YearlyCost,
    /// What the chosen ones cost.
    pub then: YearlyCost,
    /// No choice among the widths looked at costs less.
    pub bound: f64,
    /// (`then` − bound) / bound; 0 where the choice is proven best.
    pub gap: f64,
    /// What the best choice of each number of specifications costs.
    pub by_number: Vec<ByNumber>,
    /// Widths looked at.
    pub candidates: u32,
    /// Coils of the book not to order again: to run out, or to sell where nothing
    /// is cut from them today.
    pub dropped: Vec<String>,
}

/// A specification to hold.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Held {
    /// Its name: the book's, or one made of alloy, gauge and width.
    pub coil: String,
    /// Its alloy and temper.
    pub material: String,
    /// Its gauge.
    pub gauge_mm: f64,
    /// Its width.
    pub width_mm: f64,
    /// Its mass.
    pub mass_kg: f64,
    /// Whether the book has it.
    pub in_book: bool,
    /// The parts to cut from it.
    pub parts: Vec<String>,
    /// Coils used in a mean week.
    pub coils_a_week: f64,
    /// What holding it costs a year.
    pub cost: f64,
    /// The figure of that cost.
    pub figure: String,
}

/// Cost of a year by its causes.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct YearlyCost {
    /// Specifications held.
    pub specifications: u32,
    /// All of it.
    pub all: f64,
    /// Metal, scrap credited.
    pub metal: f64,
    /// Stock of one coil a specification.
    pub stock: f64,
    /// Coil changes.
    pub changes: f64,
}

/// The best choice of so many specifications.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct ByNumber {
    /// So many.
    pub specifications: u32,
    /// What it costs a year.
    pub cost: f64,
}

/// Coil orders for the weeks planned, with the coils of the book.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Orders {
    /// How many weeks are planned.
    pub weeks: u32,
    /// Chance wanted that an order comes in time.
    pub service: f64,
    /// Places for coils.
    pub places: u32,
    /// Each specification in use, in the book's order.
    pub coils: Vec<CoilOrders>,
    /// The day, such as Monday, on which what comes in a week is taken to come,
    /// before the first cut.
    pub delivery_day: String,
    /// Places taken now, all specifications, those too of which nothing is cut.
    pub stored_now: f64,
    /// Places taken just after the deliveries of each week if all of them come on
    /// that day.
    pub stored_after_deliveries: Vec<f64>,
    /// Places taken at the end of each week.
    pub stored: Vec<f64>,
    /// The specification that is emptiest, and when.
    pub emptiest: Option<Emptiest>,
}

/// The specification with the least cover.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Emptiest {
    /// The specification.
    pub coil: String,
    /// The week at whose end it is emptiest; 0 for now.
    pub week: u32,
    /// Days of use that are left then.
    pub cover_days: f64,
}

/// The orders of one specification.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct CoilOrders {
    /// The specification.
    pub coil: String,
    /// Its row.
    pub at: At,
    /// Days from order to delivery.
    pub lead_time_days: f64,
    /// Coils used in a mean week.
    pub mean_use: f64,
    /// Standard deviation of a week's real use from the plan.
    pub use_spread: f64,
    /// Standard deviation of the plan's own use from week to week.
    pub plan_spread: f64,
    /// Coils kept for spread.
    pub safety: f64,
    /// Coils in the store and on order at which to order.
    pub reorder_point: f64,
    /// The figure of the reorder point.
    pub figure: String,
    /// Days that the coils in the store last without any delivery.
    pub cover_days: f64,
    /// The least cover: now, or at the end of a week.
    pub least_cover_days: f64,
    /// The first week in which it runs out, if it does.
    pub runs_out: Option<u32>,
    /// The weeks.
    pub weeks: Vec<CoilWeek>,
}

/// A week of one specification, in coils.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct CoilWeek {
    /// The week, from 1.
    pub week: u32,
    /// Coils used.
    pub used: f64,
    /// Coils that come of what is ordered already.
    pub due: u32,
    /// Coils that come of orders of this plan.
    pub comes: u32,
    /// Coils to order at the week's start.
    pub order: u32,
    /// Coils that lie there just before this week's deliveries; below 0 what is
    /// missing.
    pub before: f64,
    /// Days of use that those last: so long may the deliveries keep waiting.
    pub before_days: f64,
    /// Coils left at the week's end; below 0 what is missing.
    pub left: f64,
    /// Days of the use to come that this lasts.
    pub cover_days: f64,
}

/// The metal of a mean week as things are.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Metal {
    /// Metal bought.
    pub bought_kg: f64,
    /// Of it in good blanks.
    pub in_blanks_kg: f64,
    /// Metal in blanks over metal bought.
    pub utilisation: f64,
    /// Cost, scrap credited.
    pub cost: f64,
    /// What the scrap brings.
    pub scrap_credit: f64,
    /// The scrap by alloy.
    pub scrap: Vec<Scrap>,
}

/// Scrap of one alloy.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Scrap {
    /// The alloy and temper.
    pub material: String,
    /// Scrap of a week.
    pub kg: f64,
    /// What it brings, kept apart from other alloys.
    pub credit: f64,
}
