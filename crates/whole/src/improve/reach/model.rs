//! What is asked and answered about the way to a rate.

use flow::statistics::Interval;
use serde::{Deserialize, Serialize};

use super::super::{AsItIs, Idea, UnrunIdea};
use crate::findings::Verdict;

/// What is to be reached: a rate, a lead time, or both.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Goal {
    /// Cars a week, if a rate is to be reached.
    pub cars_per_week: Option<f64>,
    /// Days from coil to car that nine cars in ten keep, if a lead time is to be
    /// reached.
    pub days: Option<f64>,
}

/// How the way is sought.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct ReachSettings {
    /// The seed of all streams.
    pub seed: u64,
    /// Weeks measured in a run.
    pub weeks: u32,
    /// Runs of the plant as it is, whose luck the sets then show.
    pub control: u32,
    /// Runs of a set to begin with; four times as many where it is close.
    pub first: u32,
    /// Runs of the sets that are told.
    pub confirm: u32,
    /// Runs in all, at most.
    pub runs: u32,
    /// Ideas considered, at most: the book's own, then those that promise most.
    pub ideas: usize,
    /// Level of the intervals.
    pub level: f64,
    /// Found ideas that promise less than this part of the needed rate are not
    /// considered.
    pub indifferent: f64,
}

impl ReachSettings {
    /// Five runs of a week for a set, twenty for those told, a thousand in all.
    pub const USUAL: Self = Self {
        seed: 1,
        weeks: 1,
        control: 60,
        first: 5,
        confirm: 20,
        runs: 1_000,
        ideas: 24,
        level: 0.95,
        indifferent: 0.002_5,
    };
}

/// A set of ideas and what the plant makes with it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct WayPoint {
    /// The ideas' numbers.
    pub ideas: Vec<u32>,
    /// What they cost once.
    pub investment: f64,
    /// What they cost a year, investments spread over their lives.
    pub yearly: f64,
    /// Cars a week made.
    pub made: Interval,
    /// Days from coil to car that nine cars in ten keep.
    pub days: Interval,
    /// Whether the goal is reached, by the whole intervals.
    pub verdict: Verdict,
    /// The station that then has most of the critical path, and its share.
    pub constraint: Option<(String, f64)>,
    /// Runs behind the figures.
    pub runs: u32,
}

/// A step from the plant as it is to the set found. The steps' means add up to
/// what the whole set makes more in the same pairs of runs.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct WayStep {
    /// The idea's number.
    pub idea: u32,
    /// Cars a week that it adds to those before it.
    pub cars: Interval,
    /// Whether that interval leaves zero out.
    pub shown: bool,
    /// Days from coil to car that it adds; below zero is better.
    pub days: Interval,
    /// Whether that interval leaves zero out.
    pub days_shown: bool,
    /// The station that has most of the critical path after it, and its share.
    pub constraint: Option<(String, f64)>,
}

/// The set found.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Reached {
    /// The set.
    pub set: WayPoint,
    /// From the plant as it is to it, idea by idea.
    pub steps: Vec<WayStep>,
    /// Whether every cheaper set was ruled out: it was run and missed the goal
    /// with its whole interval, or is a part of one that did. That needs no idea
    /// to do harm that does none alone.
    pub proved: bool,
}

/// The way to a goal.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Reach {
    /// The plant as it is.
    pub as_it_is: AsItIs,
    /// What is to be reached.
    pub goal: Goal,
    /// How it was sought.
    pub settings: ReachSettings,
    /// The ideas considered.
    pub ideas: Vec<Idea>,
    /// Ideas without money, or that change nothing that the run sees.
    pub left_out: Vec<UnrunIdea>,
    /// Found ideas that promise something but whose money the book does not tell:
    /// they are not considered.
    pub without_money: u32,
    /// The cheapest set whose whole intervals reach the goal; none where no set
    /// was found that does.
    pub cheapest: Option<Reached>,
    /// A cheaper set, or where there is none to tell any, that may reach it: the
    /// goal lies within its interval, and more runs would tell.
    pub perhaps: Option<WayPoint>,
    /// All ideas together that do no harm and can be done beside each other.
    pub all: WayPoint,
    /// Money against cars: sets that nothing cheaper was seen to beat, from none
    /// to the most.
    pub curve: Vec<WayPoint>,
    /// Sets run.
    pub sets: u32,
    /// Runs made.
    pub runs: u32,
    /// Whether it was stopped before its end: the best so far.
    pub stopped: bool,
}
