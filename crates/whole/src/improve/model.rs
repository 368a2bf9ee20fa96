//! Ideas ranked, as they leave the house.

use book::Problem;
use flow::statistics::Interval;
use serde::{Deserialize, Serialize};

use super::ideas::Idea;
use crate::findings::RunFacts;
use crate::money::CarWorth;

/// How ideas are ranked.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct ImproveSettings {
    /// The seed of all streams.
    pub seed: u64,
    /// Weeks measured in a run.
    pub weeks: u32,
    /// Runs of every idea to begin with.
    pub first: u32,
    /// Runs of the plant as it is, whose luck they then show.
    pub control: u32,
    /// Runs in all, at most.
    pub runs: u32,
    /// Ideas that are run, at most; the book's own always are.
    pub ideas: usize,
    /// Level of the intervals, and of the first idea being the first.
    pub level: f64,
    /// An idea is as good as another that makes no more than this part of the
    /// needed rate more.
    pub indifferent: f64,
    /// Places that the runs are to tell apart: once the first is certain, those
    /// left go to the second, and so on.
    pub places: usize,
}

impl ImproveSettings {
    /// Sixty ideas, five runs of a week each, sixty of the plant as it is, seed 1.
    pub const USUAL: Self = Self {
        seed: 1,
        weeks: 1,
        first: 5,
        control: 60,
        runs: 360,
        ideas: 60,
        level: 0.95,
        indifferent: 0.002_5,
        places: 8,
    };
}

/// An idea with what it gives.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct RankedIdea {
    /// Its rank; ideas that are not shown to differ from the first of them share
    /// one.
    pub rank: u32,
    /// The idea.
    pub idea: Idea,
    /// Cars a week more.
    pub cars: Interval,
    /// Whether that interval leaves zero out; if not, no difference is shown.
    pub shown: bool,
    /// Days from coil to car more that nine cars in ten keep; below zero is
    /// better.
    pub days: Interval,
    /// Whether that interval leaves zero out.
    pub days_shown: bool,
    /// Whether the plant locked itself up with it.
    pub locked: bool,
    /// Pairs of runs behind these figures.
    pub runs: u32,
    /// Cars a week that the critical path promised at most; none for the book's
    /// own.
    pub promise: Option<f64>,
    /// What it costs a year, the investment spread over its life; none where the
    /// money is not known.
    pub yearly: Option<f64>,
    /// The same for each car more in the year; none where no gain is shown.
    pub per_car: Option<f64>,
    /// What it brings a year less what it costs, each car more at
    /// [`Improve::car`]; none where either is not known.
    pub worth: Option<Interval>,
}

/// Why an idea was not run.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case", tag = "why")]
pub enum Unrun {
    /// The cells hold already what it says.
    Stands,
    /// It changes nothing that the run of the plant sees.
    Unseen,
    /// It does what another idea does.
    Same {
        /// That idea's name.
        other: String,
    },
    /// The critical path promises so little that luck would hide it.
    Little {
        /// Cars a week at most.
        promise: f64,
    },
    /// There were so many that promise more.
    Many {
        /// Cars a week at most.
        promise: f64,
    },
    /// The plant is shown to make fewer cars with it, or to take longer: alone, or
    /// beside the best set of ideas.
    Worse {
        /// Cars a week more.
        cars: Interval,
        /// Days more.
        days: Interval,
    },
    /// The book with it has errors.
    Refused {
        /// The errors.
        problems: Vec<Problem>,
    },
}

/// An idea that was not run.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct UnrunIdea {
    /// The idea.
    pub idea: Idea,
    /// Why.
    pub why: Unrun,
}

/// The plant as it is, as every idea is compared with it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct AsItIs {
    /// The plant's name.
    pub plant: String,
    /// What its money is in.
    pub currency: String,
    /// Cars a week needed.
    pub needed: f64,
    /// Cars a week made.
    pub made: Interval,
    /// The coil-to-car target in days.
    pub target_days: f64,
    /// Days from coil to car that nine cars in ten keep.
    pub days: Interval,
    /// The station with most of the critical path, and its share.
    pub constraint: Option<(String, f64)>,
    /// The yearly return that an investment must bring.
    pub hurdle_rate: f64,
    /// Weeks that the plant works in a year.
    pub weeks_per_year: f64,
    /// How it was run.
    pub run: RunFacts,
}

/// Something that gives no car and saves money.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Saving {
    /// What is done.
    pub name: String,
    /// Where: a table or a row of the book.
    pub place: String,
    /// What it saves a year.
    pub a_year: f64,
}

/// Ideas ranked.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Improve {
    /// The plant as it is.
    pub as_it_is: AsItIs,
    /// How the ideas were run.
    pub settings: ImproveSettings,
    /// What a car more brings; none where the book has neither the setting
    /// `margin_per_car` nor a price for every product.
    pub car: Option<CarWorth>,
    /// Runs made in all.
    pub runs: u32,
    /// The ideas that were run, the best first.
    pub ideas: Vec<RankedIdea>,
    /// What gives no car and saves money, the most first; coils of other widths
    /// among it where blanks were laid for [`Improve::car`].
    pub savings: Vec<Saving>,
    /// The ideas that were not run.
    pub unrun: Vec<UnrunIdea>,
    /// A lower bound on the probability that no other idea makes more than the
    /// first by more than [`Improve::indifferent`].
    pub first_is_good: f64,
    /// A lower bound on the probability that none makes more at all.
    pub first_is_best: f64,
    /// Cars a week that make no difference.
    pub indifferent: f64,
    /// Whether the level asked for was reached; else more runs would tell.
    pub reached: bool,
    /// Runs more that would tell the first two ideas apart, an estimate by the spread
    /// between them; none where they are told apart or the spread is not known.
    pub further: Option<u32>,
    /// Places from the first on that are certain at the level: no idea behind one
    /// of them makes more by more than [`Improve::indifferent`].
    pub sure: u32,
    /// Whether it was stopped before its end: the best so far.
    pub stopped: bool,
    /// What is worth knowing.
    pub notes: Vec<Problem>,
}
