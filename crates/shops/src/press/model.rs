//! The press shop's plan as it leaves the house.

use std::collections::BTreeMap;

use book::{At, Problem};
use serde::{Deserialize, Serialize};

use crate::sheet::{ShopFigure, ShopValue};

/// From coil to panel on the lines: which line can make which part, in which
/// lots and order each line runs, and what quicker changeovers give.
/// Serialises as it is.
///
/// Days are days of the week's seven, so that they add up with the other days of
/// the coil-to-car time; hours of a line are its working hours.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Press {
    /// The plant's name.
    pub plant: String,
    /// The currency of all money.
    pub currency: String,
    /// Whether every line has a timetable and every part a line strong enough.
    pub holds: bool,
    /// Days that the plant allows itself from coil to car.
    pub target_days: f64,
    /// Days from the panel joined to the finished car, at most.
    pub after_days: f64,
    /// Force, energy and lines of each made part, in the book's order.
    pub parts: Vec<PressPart>,
    /// Parts that no line, or not their own, is strong enough for.
    pub too_strong: Vec<TooStrong>,
    /// Each part's lots on its lines, by line and part; those of lines that
    /// cannot keep up are left out.
    pub lots: Vec<PartLots>,
    /// Racks of all parts on the lines of each shop; a shop without any is left out.
    pub racks: BTreeMap<String, f64>,
    /// The lines, each of several like units by itself.
    pub lines: Vec<PressLineLots>,
    /// The rotation: every part once a cycle.
    pub common_cycle: Policy,
    /// The best repeating timetable found; the lines' timetables are its own.
    pub best: Policy,
    /// No timetable costs less a year.
    pub lower_bound_per_year: Option<f64>,
    /// How far the best found may be from the best there is, as a share of the
    /// bound.
    pub gap: Option<f64>,
    /// False when the search was cut short; what was found holds all the same.
    pub complete: bool,
    /// What half the changeover time gives: line by line, then all together.
    pub halved: Vec<Halved>,
    /// Lines that lack time, and the ways out.
    pub overload: Vec<Overload>,
    /// What is odd but can be computed.
    pub notes: Vec<Problem>,
    /// What to mind where people can get hurt.
    pub caution: String,
    /// Every figure with its working, by id. A plan read back has none: the
    /// texts of a working are the formula sheet's own.
    #[serde(skip_deserializing)]
    pub figures: BTreeMap<String, ShopFigure>,
}

/// What a part asks of a line: a screen, not a die design.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct PressPart {
    /// The part.
    pub part: String,
    /// Its row.
    pub at: At,
    /// Cutting its blank, if a die does.
    pub blanking: Option<Screen>,
    /// Forming it: drawing, or trimming where that takes more.
    pub forming: Option<Screen>,
    /// Press lines whose rating and bed suffice; empty where nothing is known
    /// of the part's force.
    pub lines: Vec<String>,
    /// Why there is no force, if there is none.
    pub unknown: Option<String>,
}

/// Force and energy of a stroke.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Screen {
    /// The line in the book.
    pub line: String,
    /// Force of a stroke, kN.
    pub force_kn: ShopValue,
    /// Energy of a stroke, kJ.
    pub energy_kj: Option<ShopValue>,
    /// Force over the line's rating; none without a rating.
    pub force_used: Option<ShopValue>,
    /// Energy over the line's rating; none without a rating.
    pub energy_used: Option<f64>,
    /// Whether either is more than the line is rated for.
    pub over: bool,
}

/// A part too strong for its line.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct TooStrong {
    /// The part.
    pub part: String,
    /// Its row.
    pub at: At,
    /// Its line in the book.
    pub line: String,
    /// Force needed, kN.
    pub force_kn: f64,
    /// Rating of its line, kN.
    pub rated_kn: f64,
    /// The strongest line of that kind.
    pub strongest: String,
    /// Its rating, kN.
    pub strongest_kn: f64,
    /// What would free it.
    pub mend: String,
}

/// A part's blanks or panels in lots on their line.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct PartLots {
    /// The part.
    pub part: String,
    /// Its row.
    pub at: At,
    /// Blanks are cut, else panels are pressed.
    pub blanks: bool,
    /// The line, of several like units the unit.
    pub line: String,
    /// Whether that is the line that the book names; else one of the others that
    /// it says could make the part too.
    pub own_line: bool,
    /// Good pieces used a week.
    pub used_per_week: f64,
    /// Good pieces an hour while the line runs it, stops included.
    pub rate_per_hour: ShopValue,
    /// Hours of running a week, stops included.
    pub run_h: f64,
    /// Days that the longest lot may last.
    pub most_days: ShopValue,
    /// Pieces that a lot may add to the stock: the places there are, less the
    /// safety stock. None without a limit.
    pub most_stock: Option<f64>,
    /// Pieces in a lot, on average.
    pub lot: f64,
    /// Days from lot to lot, on average.
    pub every_days: f64,
    /// Days that the longest lot lasts.
    pub longest_days: f64,
    /// Pieces of the safety stock, which is under every lot.
    pub safety: f64,
    /// Age of the oldest piece when it is used, safety stock included.
    pub oldest_days: f64,
    /// Most pieces in stock, safety stock included.
    pub peak_stock: f64,
    /// Racks to own; none for blanks before a press, which lie on stacks.
    pub racks: Option<ShopValue>,
    /// Changeovers and keeping, money a year.
    pub cost_per_year: f64,
}

/// What a line does.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct PressLineLots {
    /// The line, of several like units the unit.
    pub line: String,
    /// Its row.
    pub at: At,
    /// Its shop.
    pub shop: String,
    /// Parts it makes.
    pub parts: usize,
    /// Working hours a week.
    pub hours: f64,
    /// Minutes of a changeover, first-off approval included.
    pub changeover_min: ShopValue,
    /// Share of its hours in which it runs, stops included.
    pub running: f64,
    /// Share of its hours in changeovers.
    pub changing: f64,
    /// Both: above 1 the line cannot.
    pub load: f64,
    /// Whether that is more than its hours.
    pub over: bool,
    /// Changeovers a week.
    pub changeovers_per_week: f64,
    /// Days of the shortest rotation in which every part comes round; none
    /// where running leaves no time.
    pub least_cycle_days: Option<f64>,
    /// Days until its timetable starts again; 0 without one.
    pub cycle_days: f64,
    /// Its timetable: a cycle that repeats, in the order of time.
    pub cycle: Vec<CycleLot>,
    /// The same laid over the line's shifts for one week from Monday.
    pub week: Vec<WeekLot>,
}

/// A lot in a line's cycle: a changeover, then at once a run.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct CycleLot {
    /// The part.
    pub part: String,
    /// Blanks are cut, else panels are pressed.
    pub blanks: bool,
    /// Day of the cycle on which the changeover starts.
    pub start_day: f64,
    /// Days of the changeover.
    pub changeover_days: f64,
    /// Days of the run.
    pub run_days: f64,
    /// Pieces.
    pub lot: f64,
    /// Days that the lot lasts: the part's next run starts then.
    pub cover_days: f64,
    /// Pieces in stock above the safety stock as the run ends.
    pub peak: f64,
}

/// A lot on the calendar, in hours from Monday 00:00.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct WeekLot {
    /// The part.
    pub part: String,
    /// Blanks are cut, else panels are pressed.
    pub blanks: bool,
    /// Pieces.
    pub lot: f64,
    /// The changeover starts.
    pub start_h: f64,
    /// The run starts.
    pub run_h: f64,
    /// The run ends, shift breaks between.
    pub end_h: f64,
}

/// A way of timetabling.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Policy {
    /// Changeovers and keeping, money a year.
    pub cost_per_year: Option<f64>,
    /// The longest of the lines' cycles, days.
    pub cycle_days: Option<f64>,
    /// Age of the oldest piece of all, safety stocks included.
    pub oldest_days: Option<f64>,
    /// Racks of all parts.
    pub racks: Option<f64>,
    /// Why there is none.
    pub why: Option<String>,
}

/// What half the changeover time gives.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Halved {
    /// The line; none for all of them.
    pub line: Option<String>,
    /// The lots of least cost: hours a week of the lines that become free.
    pub hours_per_week: f64,
    /// The lots of least cost: money saved a year.
    pub saved_per_year: f64,
    /// The hours kept and every lot halved: days by which the oldest piece of
    /// the parts concerned is younger, on average.
    pub days: f64,
    /// The hours kept and every lot halved: racks not needed.
    pub racks: f64,
    /// The hours kept and every lot halved: money saved a year, racks included.
    pub halved_lots_saved_per_year: f64,
}

/// A line that lacks time.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Overload {
    /// The line, of several like units the unit.
    pub line: String,
    /// Its row.
    pub at: At,
    /// Hours missing a week.
    pub missing_h: f64,
    /// Whether it is proven that no spread over the lines in the book fits.
    pub proven: bool,
    /// The fewest parts that free the line when they are made elsewhere.
    pub move_parts: Vec<MovePart>,
    /// Minutes to save on each changeover instead; none when that is not enough.
    pub save_minutes: Option<f64>,
    /// The ways out in a sentence.
    pub mend: String,
}

/// A part to make elsewhere.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct MovePart {
    /// The part.
    pub part: String,
    /// Its row.
    pub at: At,
    /// Blanks are cut, else panels are pressed.
    pub blanks: bool,
    /// The other line that can make it and has room; none where there is none.
    pub to: Vec<String>,
}
