//! What a quicker changeover gives.

use crate::model::{Checked, ItemIdx, Problem};
use crate::refusal::Refusal;
use crate::rotation;
use crate::solve::{Schedule, Settings, Watch, improve};

/// A change to changeovers.
#[derive(Clone, Debug, PartialEq)]
pub struct Change {
    /// To these items, on every line; none for all items.
    pub items: Option<Vec<ItemIdx>>,
    /// What is left of their time: 0.5 halves it.
    pub time_left: f64,
    /// What is left of their cost.
    pub cost_left: f64,
}

impl Change {
    /// Half the time of every changeover, at the same cost each.
    pub const fn halved() -> Self {
        Self {
            items: None,
            time_left: 0.5,
            cost_left: 1.0,
        }
    }
}

/// What a schedule comes to.
#[derive(Clone, Debug, PartialEq)]
pub struct Figures {
    /// Money a day.
    pub cost_per_day: f64,
    /// Age of the oldest piece of any item when it is used.
    pub oldest_days: f64,
    /// That age averaged over the items.
    pub mean_oldest_days: f64,
    /// Pieces of all items at their own peaks, in the items' order: divided by
    /// what a rack holds and rounded up, the racks to own.
    pub peak_stock: Vec<f64>,
    /// Days of line time that changeovers take in a day, all lines.
    pub changing: f64,
    /// The longest of the lines' shortest rotation cycles: how quick every item
    /// could come round if cost did not matter.
    pub least_cycle_days: f64,
}

/// Before and after a change.
#[derive(Clone, Debug, PartialEq)]
pub struct Gain {
    /// Without the change.
    pub before: Figures,
    /// With it.
    pub after: Figures,
    /// Money saved a day.
    pub saved_per_day: f64,
    /// The schedule with the change.
    pub schedule: Schedule,
}

/// What a change to changeovers gives, the items staying on their lines.
///
/// The sequences of `schedule` are where the search for the new ones starts.
/// For a change that makes nothing slower or dearer the gain is therefore never
/// below 0. With `settings.work` of 0 only the lengths of the lots change.
///
/// # Errors
///
/// [`Refusal::Faulty`] when the change leaves changeovers that take neither time
/// nor money; as [`crate::best`] for a change that makes changeovers longer.
pub fn gain(
    checked: &Checked,
    schedule: &Schedule,
    change: &Change,
    settings: &Settings,
    watch: &Watch<'_>,
) -> Result<Gain, Refusal> {
    let changed = changed(checked, change)?;
    let found = improve(&changed, schedule, settings, watch)?;
    let before = figures(checked, schedule);
    let after = figures(&changed, &found.schedule);
    Ok(Gain {
        saved_per_day: before.cost_per_day - after.cost_per_day,
        before,
        after,
        schedule: found.schedule,
    })
}

fn changed(checked: &Checked, change: &Change) -> Result<Checked, Refusal> {
    let mut problem: Problem = checked.problem().clone();
    for (at, item) in problem.items.iter_mut().enumerate() {
        let named = |items: &Vec<ItemIdx>| items.iter().any(|named| named.at() == at);
        if change.items.as_ref().is_none_or(named) {
            for way in &mut item.ways {
                way.changeover_days *= change.time_left;
                way.changeover_cost *= change.cost_left;
            }
        }
    }
    problem.check().map_err(Refusal::Faulty)
}

/// The figures of a schedule of this problem.
pub fn figures(checked: &Checked, schedule: &Schedule) -> Figures {
    let items = &schedule.replay.items;
    let ages = items.iter().map(|item| item.oldest_days);
    let mut least_cycle_days = 0.0_f64;
    for line in 0..checked.line_count() {
        let here = items
            .iter()
            .enumerate()
            .filter(|(_, item)| item.line.at() == line);
        let jobs: Vec<_> = here
            .filter_map(|(at, _)| checked.job_on(at, line).copied())
            .collect();
        least_cycle_days = least_cycle_days.max(rotation::least_days(&jobs));
    }
    Figures {
        cost_per_day: schedule.replay.cost_per_day,
        oldest_days: ages.clone().fold(0.0, f64::max),
        mean_oldest_days: ages.sum::<f64>() / items.len() as f64,
        peak_stock: items.iter().map(|item| item.peak_stock).collect(),
        changing: schedule.replay.lines.iter().map(|line| line.changing).sum(),
        least_cycle_days,
    }
}
