//! What a question is answered with, as JSON writes it.

use serde::Serialize as Derive;
use serde::ser::{Serialize, SerializeMap, Serializer};

use super::{OverloadAnswer, Policy, Question};
use crate::gain::{Change, Gain, gain};
use crate::model::{ItemIdx, LineIdx};
use crate::overload::overload;
use crate::refusal::Refusal;
use crate::rotation::economic_lot;
use crate::solve::{Schedule, Settings, Solution, Watch, best, common_cycle, lower_bound};
use crate::timetable::{Timetable, days};

/// How good an answer is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Derive)]
#[serde(rename_all = "lowercase")]
pub enum Status {
    /// It costs no more than the bound.
    Optimal,
    /// It holds; a better one may exist.
    Feasible,
    /// It is proven that there is none.
    Infeasible,
    /// None was found, and none was proven not to exist.
    Unknown,
}

/// The answer to a question; a face adds `wall_s`.
#[derive(Clone, Debug, Derive)]
pub struct Answer {
    /// The best of the policies' statuses.
    pub status: Status,
    /// One for each policy asked for, in that order.
    pub policies: Vec<PolicyAnswer>,
    /// No timetable costs less a day; null where no timetable can exist.
    pub lower_bound_per_day: Option<f64>,
    /// Each item as if it had its line to itself, on the first of its lines.
    pub alone: Vec<Alone>,
    /// What lines lack, if they do.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub overload: Option<OverloadAnswer>,
    /// What halving changeovers gives to the last policy's timetable, if asked
    /// for: first all of them, then each item's.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub halved: Vec<HalvedAnswer>,
}

/// A timetable of one kind.
#[derive(Clone, Debug, Derive)]
pub struct PolicyAnswer {
    /// `common_cycle` or `best`.
    pub policy: &'static str,
    /// How good it is.
    pub status: Status,
    /// Money a day; null without a timetable.
    pub cost_per_day: Option<f64>,
    /// Days until the timetable starts again; of several lines the longest.
    pub cycle_days: Option<f64>,
    /// The items in the question's order.
    pub items: Vec<ItemAnswer>,
    /// Share of each line's time that runs take.
    pub utilisation: ByLine<f64>,
    /// Share of each line's time that changeovers take.
    pub changing: ByLine<f64>,
    /// Days until each line's timetable starts again.
    pub cycle_days_by_line: ByLine<f64>,
    /// What each line does, again and again, in the order of time.
    pub timetable: ByLine<Vec<Entry>>,
    /// Why there is no timetable.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub why: Option<String>,
}

/// What the timetable means for an item.
#[derive(Clone, Debug, Derive)]
pub struct ItemAnswer {
    /// Name.
    pub name: String,
    /// Where it is made.
    pub line: String,
    /// Pieces in a lot, on average.
    pub lot: f64,
    /// Days between the starts of its lots, on average.
    pub every_days: f64,
    /// Lots in a cycle.
    pub lots: u32,
    /// Days that its longest lot lasts.
    pub longest_days: f64,
    /// Age of the oldest piece when it is used.
    pub oldest_days: f64,
    /// Most pieces in stock.
    pub peak_stock: f64,
    /// Pieces in stock on average.
    pub mean_stock: f64,
    /// Money a day.
    pub cost_per_day: f64,
}

/// One lot of a line's timetable: a changeover, then at once a run.
#[derive(Clone, Debug, Derive)]
pub struct Entry {
    /// What is made.
    pub item: String,
    /// Day of the cycle on which the changeover starts.
    pub start_day: f64,
    /// Days of the run.
    pub run_days: f64,
    /// Days of the changeover before it.
    pub changeover_days: f64,
    /// Day on which the run starts: `start_day + changeover_days`.
    pub run_start_day: f64,
    /// Pieces made.
    pub lot: f64,
    /// Days that the lot lasts.
    pub cover_days: f64,
}

/// An item that has its line to itself.
#[derive(Clone, Debug, Derive)]
pub struct Alone {
    /// Name.
    pub name: String,
    /// Pieces in its economic lot; null where changeovers cost nothing or
    /// keeping does not.
    pub lot: Option<f64>,
    /// Days between lots.
    pub every_days: Option<f64>,
    /// Money a day.
    pub cost_per_day: Option<f64>,
}

/// What halving the time of changeovers gives.
#[derive(Clone, Debug, Derive)]
pub struct HalvedAnswer {
    /// Whose changeovers; null for all.
    pub item: Option<String>,
    /// Money saved a day.
    pub saved_per_day: f64,
    /// Days by which the age of the oldest piece, averaged over the items,
    /// falls.
    pub oldest_days_saved: f64,
    /// Pieces by which the sum of the peak stocks falls.
    pub peak_stock_saved: f64,
    /// Days of line time a day that changeovers no longer take.
    pub line_days_saved: f64,
    /// Days by which the shortest possible rotation falls, whatever it costs.
    pub least_cycle_days_saved: f64,
}

/// A figure for each line, written as an object by the lines' names.
#[derive(Clone, Debug)]
pub struct ByLine<T>(pub Vec<(String, T)>);

impl<T: Serialize> Serialize for ByLine<T> {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        let mut map = to.serialize_map(Some(self.0.len()))?;
        for (name, value) in &self.0 {
            map.serialize_entry(name, value)?;
        }
        map.end()
    }
}

/// A cost this near to the bound, as a share of it, is the least there is: what
/// rounding to ticks adds.
const NEAR: f64 = 1e-8;

impl Question {
    /// Answers with all policies asked for.
    pub fn answer(&self, settings: &Settings, watch: &Watch<'_>) -> Answer {
        let mut bound = lower_bound(&self.checked);
        let mut policies = Vec::new();
        let mut last = None;
        for policy in &self.policies {
            let found = match policy {
                Policy::CommonCycle => common_cycle(&self.checked, settings.seed),
                Policy::Best => best(&self.checked, settings, watch).map(|solution| {
                    let Solution {
                        schedule,
                        lower_bound_per_day,
                        ..
                    } = solution;
                    bound = Some(bound.map_or(lower_bound_per_day, |b| b.max(lower_bound_per_day)));
                    schedule
                }),
            };
            policies.push(self.policy(*policy, &found, bound));
            last = found.ok().or(last);
        }
        let status = policies.iter().map(|answer| answer.status);
        let rank = |status: &Status| match status {
            Status::Optimal => 0,
            Status::Feasible => 1,
            Status::Unknown => 2,
            Status::Infeasible => 3,
        };
        let halved = match last {
            Some(schedule) if self.halved => self.halved(&schedule, settings, watch),
            _ => Vec::new(),
        };
        Answer {
            status: status.min_by_key(rank).unwrap_or(Status::Unknown),
            policies,
            lower_bound_per_day: bound,
            alone: self.alone(),
            overload: overload(&self.checked).map(|over| self.overload_answer(&over)),
            halved,
        }
    }

    fn line_name(&self, line: LineIdx) -> String {
        self.checked.problem().lines[line.at()].name.clone()
    }

    fn by_line<T>(&self, of: impl Fn(usize) -> T) -> ByLine<T> {
        let lines = self.checked.problem().lines.iter().enumerate();
        ByLine(
            lines
                .map(|(at, line)| (line.name.clone(), of(at)))
                .collect(),
        )
    }

    fn policy(
        &self,
        policy: Policy,
        found: &Result<Schedule, Refusal>,
        bound: Option<f64>,
    ) -> PolicyAnswer {
        let schedule = match found {
            Ok(schedule) => schedule,
            Err(refusal) => return self.refused(policy, refusal),
        };
        let replay = &schedule.replay;
        let near = bound.is_some_and(|bound| replay.cost_per_day <= bound * (1.0 + NEAR));
        let cycles = replay.lines.iter().map(|line| line.cycle_days);
        PolicyAnswer {
            policy: policy.word(),
            status: if near {
                Status::Optimal
            } else {
                Status::Feasible
            },
            cost_per_day: Some(replay.cost_per_day),
            cycle_days: Some(cycles.fold(0.0, f64::max)),
            items: self.items(schedule),
            utilisation: self.by_line(|line| replay.lines[line].running),
            changing: self.by_line(|line| replay.lines[line].changing),
            cycle_days_by_line: self.by_line(|line| replay.lines[line].cycle_days),
            timetable: self.by_line(|line| self.entries(&schedule.timetables[line])),
            why: None,
        }
    }

    fn refused(&self, policy: Policy, refusal: &Refusal) -> PolicyAnswer {
        let items = &self.checked.problem().items;
        let choice = items.iter().any(|item| item.ways.len() > 1);
        let proven = match refusal {
            Refusal::Overloaded(overload) => overload.proven,
            Refusal::RotationTooLong { .. } => !choice,
            _ => false,
        };
        PolicyAnswer {
            policy: policy.word(),
            status: if proven {
                Status::Infeasible
            } else {
                Status::Unknown
            },
            cost_per_day: None,
            cycle_days: None,
            items: Vec::new(),
            utilisation: ByLine(Vec::new()),
            changing: ByLine(Vec::new()),
            cycle_days_by_line: ByLine(Vec::new()),
            timetable: ByLine(Vec::new()),
            why: Some(refusal.worded(self.checked.problem())),
        }
    }

    fn items(&self, schedule: &Schedule) -> Vec<ItemAnswer> {
        let items = self.checked.problem().items.iter();
        let answer = |(item, seen): (&crate::model::Item, &crate::replay::ItemReplay)| ItemAnswer {
            name: item.name.clone(),
            line: self.line_name(seen.line),
            lot: seen.lot,
            every_days: seen.every_days,
            lots: seen.lots,
            longest_days: seen.longest_days,
            oldest_days: seen.oldest_days,
            peak_stock: seen.peak_stock,
            mean_stock: seen.mean_stock,
            cost_per_day: seen.cost_per_day,
        };
        items.zip(&schedule.replay.items).map(answer).collect()
    }

    fn entries(&self, timetable: &Timetable) -> Vec<Entry> {
        let items = &self.checked.problem().items;
        let entry = |lot: &crate::timetable::Lot| Entry {
            item: items[lot.item.at()].name.clone(),
            start_day: days(lot.start),
            run_days: timetable.run_days(lot, &self.checked),
            changeover_days: days(lot.changeover),
            run_start_day: days(lot.run_start()),
            lot: days(lot.cover) * items[lot.item.at()].rate_per_day,
            cover_days: days(lot.cover),
        };
        timetable.lots.iter().map(entry).collect()
    }

    fn alone(&self) -> Vec<Alone> {
        let problem = self.checked.problem();
        let alone = |item: &crate::model::Item| {
            let way = &item.ways[0];
            let make = way.make_per_day * problem.lines[way.line.at()].available;
            let lot = economic_lot(
                item.rate_per_day,
                Some(make),
                way.changeover_cost,
                item.hold_cost_per_day,
            );
            Alone {
                name: item.name.clone(),
                lot: lot.map(|lot| lot.lot),
                every_days: lot.map(|lot| lot.every_days),
                cost_per_day: lot.map(|lot| lot.cost_per_day),
            }
        };
        problem.items.iter().map(alone).collect()
    }

    fn halved(
        &self,
        schedule: &Schedule,
        settings: &Settings,
        watch: &Watch<'_>,
    ) -> Vec<HalvedAnswer> {
        let brief = Settings {
            work: settings.work / 8,
            ..*settings
        };
        let lengths = Settings {
            work: 0,
            ..*settings
        };
        let all = gain(&self.checked, schedule, &Change::halved(), &brief, watch);
        let mut answers: Vec<HalvedAnswer> = all.iter().map(|gain| halved(None, gain)).collect();
        for (at, item) in (0_u32..).zip(&self.checked.problem().items) {
            let change = Change {
                items: Some(vec![ItemIdx(at)]),
                ..Change::halved()
            };
            let one = gain(&self.checked, schedule, &change, &lengths, watch);
            answers.extend(one.iter().map(|gain| halved(Some(&item.name), gain)));
        }
        answers
    }
}

fn halved(item: Option<&String>, gain: &Gain) -> HalvedAnswer {
    let (before, after) = (&gain.before, &gain.after);
    let sum = |stock: &[f64]| stock.iter().sum::<f64>();
    HalvedAnswer {
        item: item.cloned(),
        saved_per_day: gain.saved_per_day,
        oldest_days_saved: before.mean_oldest_days - after.mean_oldest_days,
        peak_stock_saved: sum(&before.peak_stock) - sum(&after.peak_stock),
        line_days_saved: before.changing - after.changing,
        least_cycle_days_saved: before.least_cycle_days - after.least_cycle_days,
    }
}
