//! What jobs do: their kinds, their words, and the lane in which each waits.

use serde::{Deserialize, Serialize};
use units::PerWeek;
use whole::findings::RunSettings;
use whole::improve::Goal;

use crate::log_work::{LogAsk, LogOrder, Weeks};

/// How much a run is to tell.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub(crate) enum RunKind {
    /// Soon, with a wide interval and no trials.
    Preview,
    /// Later, with a narrow one.
    Precise,
}

impl RunKind {
    /// The settings of this kind.
    pub(crate) fn settings(self) -> RunSettings {
        match self {
            Self::Preview => RunSettings {
                replications: 4,
                weeks: 1,
                trials: 0,
                ..RunSettings::USUAL
            },
            Self::Precise => RunSettings::USUAL,
        }
    }
}

/// A shop that has a plan of its own.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub(crate) enum Shop {
    /// Strips, coils to hold, coil orders.
    Coil,
    /// Presses, lots, the die timetable.
    Press,
    /// Methods, seconds, robots of the joints.
    Body,
    /// Work to stations, people or robots.
    Assembly,
    /// Carts on their loops, supply carts, stores of the sub-plants.
    Carts,
    /// The order in which a week's cars are built.
    Order,
    /// The paint line: windows, films, colours, repairs.
    Paint,
    /// No shop: what a car costs, over all of them.
    Money,
    /// No shop: the forecast against all of them.
    Growth,
}

impl Shop {
    /// Its word in addresses.
    pub(crate) fn word(self) -> &'static str {
        match self {
            Self::Coil => "coil",
            Self::Press => "press",
            Self::Body => "body",
            Self::Assembly => "assembly",
            Self::Carts => "carts",
            Self::Order => "order",
            Self::Paint => "paint",
            Self::Money => "money",
            Self::Growth => "growth",
        }
    }
}

/// Ideas taken together, at most.
const MOST_PICKED: usize = 12;

/// Numbers of ideas, rising; places left over are 0.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) struct Picked([u32; MOST_PICKED]);

impl Picked {
    /// None where there are too many, twice the same, or the number 0.
    pub(crate) fn of(ids: &[u32]) -> Option<Self> {
        let mut sorted = ids.to_vec();
        sorted.sort_unstable();
        sorted.dedup();
        if sorted.len() != ids.len() || sorted.len() > MOST_PICKED || sorted.first() == Some(&0) {
            return None;
        }
        let mut picked = Self::default();
        for (place, id) in picked.0.iter_mut().zip(sorted) {
            *place = id;
        }
        Some(picked)
    }

    pub(crate) fn ids(self) -> impl Iterator<Item = u32> {
        self.0.into_iter().filter(|id| *id > 0)
    }
}

/// A question about what to do next.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Next {
    /// Ideas ranked.
    Improve,
    /// Banks priced both ways.
    Banks,
    /// The cheapest way to a goal.
    Reach(Goal),
    /// Some ideas together.
    Together(Picked),
    /// What a yearly budget mans the assembly lines for.
    Budget(f64),
}

impl Next {
    /// Its name among results.
    pub(crate) fn word(self) -> &'static str {
        match self {
            Self::Improve => "improve",
            Self::Banks => "banks",
            Self::Reach(_) => "reach",
            Self::Together(_) => "together",
            Self::Budget(_) => "budget",
        }
    }

    /// What it asks, as a part of a result's name.
    pub(crate) fn asks(self) -> String {
        match self {
            Self::Improve | Self::Banks => String::new(),
            Self::Reach(goal) => format!("{goal:?}"),
            Self::Together(picked) => format!("{picked:?}"),
            Self::Budget(money) => money.to_string(),
        }
    }
}

/// What a job does, in a word.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(untagged)]
pub(crate) enum JobKind {
    /// Runs the plant.
    Run(RunKind),
    /// Plans a shop, or what goes over all of them.
    Shop(Shop),
    /// Answers a question.
    Ask(AskKind),
}

/// A question that a job answers, in a word.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub(crate) enum AskKind {
    /// Ranks ideas.
    Improve,
    /// Prices banks both ways.
    Banks,
    /// Finds the cheapest way to a rate.
    Reach,
    /// Runs the plant with some ideas together.
    Together,
    /// Balances the assembly lines at the rates that a budget may pay for.
    Budget,
    /// Reads a log and holds the book against it.
    Learn,
    /// Runs the plant against what really came out.
    Believe,
    /// Replays a day.
    Day,
    /// Writes a log of the plant's own run.
    Rehearse,
}

/// What a shop's plan is for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Wanted {
    /// The book as it is.
    Book,
    /// So many cars a week instead of the book's.
    Rate(PerWeek),
    /// The book, with a run of every period of its forecast.
    Runs,
    /// The book on paper where money is by runs: ideas by the plan's weakest station.
    Paper,
    /// The same, ideas by the ranking that was kept.
    Kept,
    /// A week, the first being 1, and how many times the usual moves are
    /// searched for it.
    Week(u32, u32),
}

impl Wanted {
    /// The same as a part of a result's name.
    pub(crate) fn text(self) -> String {
        match self {
            Self::Book => String::new(),
            Self::Runs => "with runs".to_owned(),
            Self::Paper => "on paper".to_owned(),
            Self::Kept => "by the kept ranking".to_owned(),
            Self::Rate(rate) => format!("{} cars a week", rate.0),
            Self::Week(week, 1) => format!("week {week}"),
            Self::Week(week, times) => format!("week {week}, {times} times the moves"),
        }
    }
}

impl From<()> for Wanted {
    /// Who asks for nothing more wants the book as it is.
    fn from((): ()) -> Self {
        Self::Book
    }
}

impl From<Option<PerWeek>> for Wanted {
    fn from(rate: Option<PerWeek>) -> Self {
        rate.map_or(Self::Book, Self::Rate)
    }
}

/// What a thread takes jobs of.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Lane {
    /// Previews only.
    Previews,
    /// Plans of shops only.
    Plans,
    /// Carts, money and ideas only: hundreds of runs of the plant, which nothing
    /// waits for.
    Carts,
    /// Logs only: reading one, and replaying a day.
    Logs,
    /// Precise runs, and previews before them.
    Runs,
}

impl Lane {
    /// The lanes that its thread takes from, the most urgent first.
    pub(super) fn takes(self) -> &'static [Self] {
        match self {
            Self::Previews => &[Self::Previews],
            Self::Plans => &[Self::Plans],
            Self::Carts => &[Self::Carts],
            Self::Logs => &[Self::Logs],
            Self::Runs => &[Self::Previews, Self::Runs],
        }
    }
}

/// What a job does.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Work {
    /// Runs the plant.
    Run(RunKind, RunSettings),
    /// Plans a shop.
    Plan(Shop, Wanted),
    /// Says what to do next.
    Next(Next),
    /// Answers a question about a log.
    Log(LogOrder),
    /// Writes a log of the plant's own run.
    Rehearse(Weeks),
}

impl Work {
    pub(super) fn kind(self) -> JobKind {
        JobKind::Ask(match self {
            Self::Run(kind, _) => return JobKind::Run(kind),
            Self::Plan(shop, _) => return JobKind::Shop(shop),
            Self::Next(Next::Improve) => AskKind::Improve,
            Self::Next(Next::Banks) => AskKind::Banks,
            Self::Next(Next::Reach(_)) => AskKind::Reach,
            Self::Next(Next::Together(_)) => AskKind::Together,
            Self::Next(Next::Budget(_)) => AskKind::Budget,
            Self::Log(order) => match order.ask {
                LogAsk::Learn => AskKind::Learn,
                LogAsk::Believe => AskKind::Believe,
                LogAsk::Day(_) => AskKind::Day,
            },
            Self::Rehearse(_) => AskKind::Rehearse,
        })
    }

    /// Steps to the end, as far as is known before the beginning.
    pub(super) fn steps(self) -> u32 {
        match self {
            Self::Run(_, settings) => settings.replications,
            Self::Plan(..) | Self::Next(_) | Self::Log(_) | Self::Rehearse(_) => 0,
        }
    }

    pub(super) fn begins(self) -> &'static str {
        match self {
            Self::Run(..) => "the plant as it stands",
            Self::Plan(Shop::Money, _) => "what a car costs",
            Self::Plan(Shop::Growth, _) => "the forecast",
            Self::Plan(_, Wanted::Book | Wanted::Runs | Wanted::Paper | Wanted::Kept) => {
                "the shop as the book has it"
            }
            Self::Plan(_, Wanted::Rate(_)) => "the shop at another rate",
            Self::Plan(_, Wanted::Week(..)) => "the week as the book has it",
            Self::Next(Next::Budget(_)) => "the lines at the book's rate",
            Self::Next(_) | Self::Rehearse(_) => "the plant as it stands",
            Self::Log(_) => "the log",
        }
    }

    pub(super) fn lane(self) -> Lane {
        match self {
            Self::Run(RunKind::Preview, _) => Lane::Previews,
            Self::Run(RunKind::Precise, _) => Lane::Runs,
            Self::Plan(_, Wanted::Paper | Wanted::Kept) => Lane::Plans,
            Self::Plan(Shop::Carts | Shop::Money, _)
            | Self::Plan(_, Wanted::Runs)
            | Self::Next(Next::Improve | Next::Banks | Next::Reach(_)) => Lane::Carts,
            Self::Plan(..) | Self::Next(Next::Together(_) | Next::Budget(_)) => Lane::Plans,
            Self::Log(_) | Self::Rehearse(_) => Lane::Logs,
        }
    }
}
