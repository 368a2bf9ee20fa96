//! The money of a car as it leaves the house.

use std::collections::BTreeMap;

use book::{At, Problem};
use flow::statistics::Interval;
use serde::{Deserialize, Serialize};
use shops::carts::{ShopFigure, ShopValue};

/// What a car costs and what changes would bring. Serialises as it is.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct CarMoney {
    /// The plant's name.
    pub plant: String,
    /// The currency of all money.
    pub currency: String,
    /// Good cars a week over which yearly costs are spread.
    pub cars: f64,
    /// Cost of a mean car: the sum of [`CarMoney::shops`].
    pub total: ShopValue,
    /// What one more car costs: metal, bought parts, consumables, energy.
    pub variable: ShopValue,
    /// Cars a week that a run makes, where one is at hand.
    pub made: Option<Interval>,
    /// Cost of a mean car with the yearly costs spread over those.
    pub at_made: Option<ShopValue>,
    /// Whether no price is missing.
    pub complete: bool,
    /// Prices that are missing, and which figure stays too low.
    pub missing: Vec<Missing>,
    /// The shops, from coil to car, each with its kinds of cost.
    pub shops: Vec<ShopCost>,
    /// The same by kind.
    pub kinds: Vec<KindCost>,
    /// From the metal that the coil plan tells to the cars' own; none where no metal
    /// has a price.
    pub metal: Option<MetalBridge>,
    /// The same by product, in the book's order.
    pub products: Vec<ProductCost>,
    /// What a car lost costs; none where the book gives neither prices nor a
    /// margin.
    pub lost: Option<LostCar>,
    /// A person's hour and each kind of robot's.
    pub hours: HourPrices,
    /// Each part and sub-assembly that could be made or bought.
    pub make_or_buy: Vec<MakeOrBuy>,
    /// Whose both ways are not known, and why.
    pub not_compared: Vec<NotCompared>,
    /// Whether runs tell the cars that ideas give; else the plan's weakest does.
    pub gains_by_run: bool,
    /// The investment case of each idea, the most valuable first.
    pub cases: Vec<Case>,
    /// Ideas that exclude each other.
    pub exclusive: Vec<Exclusive>,
    /// What is odd but can be computed.
    pub notes: Vec<Problem>,
    /// Every figure with its working, by id. Money read back has none: the
    /// texts of a working are the formula sheet's own.
    #[serde(skip_deserializing)]
    pub figures: BTreeMap<String, ShopFigure>,
}

/// Why the metal of the coil plan is not the metal of the cars: `coils` less `builds`,
/// `offal` and `rest` is `cars`. All in money a week.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct MetalBridge {
    /// Metal of a mean week by the coil plan, the scrap of the strips credited.
    pub coils: f64,
    /// Blanks that the mean week of the builds takes beyond those of the planned cars;
    /// below 0 where it builds fewer.
    pub builds: f64,
    /// What is credited at the presses: what they trim off the blanks, and blanks and
    /// panels lost.
    pub offal: f64,
    /// What is left, as of gauges that are delivered otherwise than they are drawn.
    pub rest: f64,
    /// Metal of the week's cars: [`CostKind::Metal`] times [`CarMoney::cars`].
    pub cars: f64,
}

/// A kind of cost.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum CostKind {
    /// Sheet of pressed parts, scrap credited.
    Metal,
    /// Parts that are bought.
    BoughtParts,
    /// Joints, adhesive and paint.
    Consumables,
    /// Electricity of robots, stations and lines.
    Energy,
    /// People on the payroll.
    People,
    /// Upkeep of robots, stations and lines.
    Upkeep,
    /// Capital of robots, stations and lines.
    Capital,
    /// What the plant costs beside.
    Overhead,
}

impl CostKind {
    /// All of them, what each car causes first.
    pub const ALL: [Self; 8] = [
        Self::Metal,
        Self::BoughtParts,
        Self::Consumables,
        Self::Energy,
        Self::People,
        Self::Upkeep,
        Self::Capital,
        Self::Overhead,
    ];

    /// In words.
    pub fn word(self) -> &'static str {
        match self {
            Self::Metal => "metal",
            Self::BoughtParts => "bought parts",
            Self::Consumables => "consumables",
            Self::Energy => "energy",
            Self::People => "people",
            Self::Upkeep => "upkeep",
            Self::Capital => "capital",
            Self::Overhead => "overhead",
        }
    }

    /// Whether one more car costs it once more.
    pub fn variable(self) -> bool {
        matches!(
            self,
            Self::Metal | Self::BoughtParts | Self::Consumables | Self::Energy
        )
    }
}

/// A price that the book does not give.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Missing {
    /// What is too low for it.
    pub what: String,
    /// The table.
    pub table: String,
    /// The first such row; none for a setting that has no row.
    pub row: Option<u32>,
    /// The column, or the setting.
    pub column: String,
    /// The name of the row.
    pub name: String,
    /// Further rows that lack the same.
    pub more: u32,
    /// What to write where.
    pub mend: String,
}

impl std::fmt::Display for Missing {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}: ", self.table)?;
        if let Some(row) = self.row {
            write!(f, "row {row}, ")?;
        }
        write!(f, "{}: found nothing", self.column)?;
        if !self.name.is_empty() {
            write!(f, " for {}", self.name)?;
        }
        if self.more > 0 {
            write!(f, " and {} more", self.more)?;
        }
        write!(f, ", so {}; {}", self.what, self.mend)
    }
}

/// The cost of a mean car in one shop.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct ShopCost {
    /// The shop; `whole plant` for what belongs to none.
    pub shop: String,
    /// The sum of its items.
    pub cost: ShopValue,
    /// Its kinds of cost, none of which is 0.
    pub items: Vec<CostItem>,
}

/// One kind of cost in one shop.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct CostItem {
    /// The kind.
    pub kind: CostKind,
    /// For a mean car.
    pub cost: ShopValue,
    /// For a car of each product; weighed by the mix it is the mean.
    pub by_product: Vec<f64>,
}

/// One kind of cost over all shops.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct KindCost {
    /// The kind.
    pub kind: CostKind,
    /// For a mean car.
    pub cost: f64,
    /// Its part of the total.
    pub share: f64,
    /// Whether one more car costs it once more.
    pub variable: bool,
}

/// The cost of a car of one product.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct ProductCost {
    /// The product.
    pub product: String,
    /// Its row.
    pub at: At,
    /// Good cars a week.
    pub cars: f64,
    /// Cost of one.
    pub cost: f64,
    /// What one more costs.
    pub variable: f64,
    /// What one brings.
    pub price: Option<f64>,
    /// Price less what one more costs.
    pub margin: Option<f64>,
    /// Price less cost.
    pub profit: Option<f64>,
}

/// What a lost car costs.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct LostCar {
    /// At the constraint: the margin of a mean car.
    pub at_constraint: ShopValue,
    /// Off the constraint: the time is made up, and nothing is lost.
    pub off_constraint: f64,
    /// Whether the margin is the book's setting; else prices less what varies.
    pub given: bool,
    /// Whether the plant can sell all that it can make, so that a car lost is a
    /// car short.
    pub short: bool,
    /// The time that can be lost and made up, where the plant makes more than is
    /// needed; only what is lost beyond it costs cars.
    pub spare: Option<Spare>,
    /// Where minutes cost, the dearest first.
    pub minutes: Vec<LostMinute>,
    /// Whether a run told where; else the plan's weakest station.
    pub by_run: bool,
}

/// Time that the constraint has beyond what the needed cars take.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Spare {
    /// The station or line.
    pub place: String,
    /// Cars a week that it lets the plant make.
    pub cars: f64,
    /// Minutes a week that it can lose before a needed car is lost.
    pub minutes: f64,
}

/// What a minute lost at a station costs.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct LostMinute {
    /// The station or line.
    pub place: String,
    /// Its shop.
    pub shop: String,
    /// Share of its lost minutes that the plant never makes up once
    /// [`LostCar::spare`] is used: its share of the critical path in a run, 1 for
    /// the plan's weakest.
    pub share: f64,
    /// What a minute costs on the mean.
    pub minute: ShopValue,
}

/// A person's hour and the robots' hours.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct HourPrices {
    /// What an hour of a filled post costs.
    pub person: Option<ShopValue>,
    /// Each kind of robot.
    pub robots: Vec<RobotHour>,
}

/// What an hour of a kind of robot costs while it works.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct RobotHour {
    /// The kind.
    pub robot: String,
    /// Its row.
    pub at: At,
    /// How many stand in the plant.
    pub count: u32,
    /// Working hours a year of the shop with most of them.
    pub hours_a_year: f64,
    /// Part of those hours in which they work.
    pub used: f64,
    /// Cost of an hour of work.
    pub hour: ShopValue,
    /// Seconds that a person takes for what it does in one, by the tasks that
    /// both can do; none where no task tells.
    pub pace: Option<f64>,
    /// What a person costs for the work of a robot's hour.
    pub person: f64,
    /// HourPrices a year from which it is cheaper; none if never.
    pub pays_from_h: Option<f64>,
    /// The figure of those hours.
    pub pays_figure: Option<String>,
    /// Whether it is cheaper as it is used.
    pub robot_cheaper: bool,
}

/// A part or sub-assembly made or bought.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct MakeOrBuy {
    /// Its name: a part, or a line whose sub-assembly it is.
    pub name: String,
    /// Whether it is a line's sub-assembly.
    pub assembly: bool,
    /// The row with the price.
    pub at: At,
    /// Whether the plant makes it today.
    pub made_today: bool,
    /// Good pieces a week.
    pub pieces: f64,
    /// What making one costs, people and capital of the lines included.
    pub make: ShopValue,
    /// Of it what is saved at once when it is bought: metal, bought parts,
    /// consumables, energy.
    pub make_saved: f64,
    /// What one costs bought.
    pub buy: f64,
    /// Where its making stands: lines or stations with the hours that would be
    /// free.
    pub freed: Vec<Freed>,
    /// Those hours a week together.
    pub freed_h: f64,
    /// Cars a week that the freed hours give at the constraint.
    pub cars_freed: f64,
    /// What those are worth for a piece bought.
    pub freed_worth: f64,
    /// Days from coil to the piece ready, at most.
    pub make_days: f64,
    /// Days from order to the last piece of the delivery used.
    pub buy_days: Option<ShopValue>,
    /// What to do, by cost.
    pub verdict: BetterWay,
    /// Why, in words.
    pub why: String,
    /// What the better way saves a year against the other, as the verdict counts.
    pub saves_a_year: f64,
}

/// What is better by cost.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum BetterWay {
    /// Making is cheaper even with people and capital counted.
    Make,
    /// Making is cheaper as long as people and lines stay; buying where they go
    /// or are used for something else.
    MakeWhileLinesStay,
    /// Buying is cheaper even though people and lines stay.
    Buy,
}

/// Hours that a bought piece leaves free.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Freed {
    /// The line or station.
    pub place: String,
    /// Hours a week.
    pub hours: f64,
    /// Its load now.
    pub load: f64,
    /// Whether it is the plant's constraint.
    pub constraint: bool,
}

/// A part or sub-assembly with one way only.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct NotCompared {
    /// Its name.
    pub name: String,
    /// Its row.
    pub at: At,
    /// What is missing, and what to write.
    pub why: String,
}

/// The investment case of an idea.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Case {
    /// The idea.
    pub idea: String,
    /// Its first row.
    pub at: At,
    /// What it costs once.
    pub investment: f64,
    /// What it costs a year.
    pub cost_per_year: f64,
    /// Years it is used.
    pub life_years: f64,
    /// Weeks until it works.
    pub weeks: f64,
    /// Cars a week that it gives: in the first period of the forecast by the plan,
    /// today by runs.
    pub cars: f64,
    /// The most that it gives in a later period, where that is more.
    pub cars_later: Option<f64>,
    /// Why it gives none by the plan, in words: what hides it, or that the plan
    /// does not see it. Its value then is no verdict on it.
    pub no_car: Option<String>,
    /// To each side of that, where runs tell it.
    pub half_width: Option<f64>,
    /// Whether that is a difference at all; else it may be luck.
    pub shown: bool,
    /// What [`Case::cars`] bring a year; none where no margin is known.
    pub gain_per_year: Option<f64>,
    /// Money out (−) and in (+) by year, from today.
    pub flows: Vec<f64>,
    /// Net present value at the hurdle rate.
    pub npv: ShopValue,
    /// To each side of the value, by that of the cars.
    pub npv_half: Option<f64>,
    /// All rates of return.
    pub returns: Returns,
    /// Years until the money is back; none if never.
    pub payback: Option<f64>,
    /// The same with interest.
    pub discounted_payback: Option<f64>,
    /// The level yearly cost that is worth the same; below 0 it earns.
    pub annual: Option<f64>,
    /// The figures: value, returns, paybacks, yearly cost.
    pub figures: Vec<String>,
}

/// The rates of return of a stream of money.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Returns {
    /// All of them, rising.
    pub rates: Vec<f64>,
    /// What to mind: that there is none and why, or that there are several.
    pub note: Option<String>,
}

/// Two ideas of which only one can be taken.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Exclusive {
    /// The cheaper one.
    pub first: String,
    /// The dearer one.
    pub second: String,
    /// The cell that both change.
    pub cell: String,
    /// What the second is worth more than the first.
    pub gain: ShopValue,
    /// Rates of return of what the second costs more.
    pub returns: Returns,
    /// Which to take, in words.
    pub verdict: String,
}
