//! What half the changeover time gives, in two ways: the lots of least cost,
//! which free hours and money; or the hours kept and every lot halved, which
//! frees days and racks.
//!
//! The second needs no search. Where runs, changeovers and covers all halve, the
//! timetable is the old one at twice the pace and holds as that does; every
//! second costs as much in changeovers as before, and half as much is kept.

use lots::model::{Checked, ItemIdx};
use lots::{Change, Schedule, Settings, Watch, gain};

use super::Question;
use super::answer::{Money, racks};
use super::model::Halved;
use super::work::Work;

pub(super) fn halved(
    question: &Question<'_>,
    work: &Work<'_>,
    checked: &Checked,
    schedule: &Schedule,
    money: &Money,
    watch: &Watch<'_>,
) -> Vec<Halved> {
    let mut all: Vec<Halved> = (0..work.units.len())
        .filter_map(|line| one(question, work, checked, schedule, money, watch, Some(line)))
        .collect();
    if work.units.len() > 1 {
        all.extend(one(question, work, checked, schedule, money, watch, None));
    }
    all
}

fn one(
    question: &Question<'_>,
    work: &Work<'_>,
    checked: &Checked,
    schedule: &Schedule,
    money: &Money,
    watch: &Watch<'_>,
    line: Option<usize>,
) -> Option<Halved> {
    let made_here = |at: usize| line.is_none_or(|line| at == line);
    let items = &schedule.replay.items;
    let here: Vec<usize> = (0..items.len())
        .filter(|item| made_here(items[*item].line.at()))
        .collect();
    let change = Change {
        items: Some(here.iter().map(|item| ItemIdx(*item as u32)).collect()),
        time_left: 0.5,
        // People, energy and trial parts cost by the hour.
        cost_left: 0.5,
    };
    let brief = Settings {
        work: question.search.work / 16,
        ..question.search
    };
    let gain = gain(checked, schedule, &change, &brief, watch).ok()?;
    let freed = |at: usize| {
        let after = &gain.schedule.replay.lines[at];
        (schedule.replay.lines[at].changing - after.changing) * work.units[at].hours
    };
    let mut days = 0.0;
    let (mut fewer, mut kept_per_day) = (0.0, 0.0);
    for &item in &here {
        let (job, seen) = (&work.jobs[item], &items[item]);
        days += seen.oldest_days / 2.0;
        fewer += racks(job, seen.peak_stock) - racks(job, seen.peak_stock / 2.0);
        kept_per_day += checked.problem().items[item].hold_cost_per_day * seen.mean_stock / 2.0;
    }
    Some(Halved {
        line: line.map(|line| work.units[line].name.clone()),
        hours_per_week: (0..work.units.len())
            .filter(|at| made_here(*at))
            .map(freed)
            .sum(),
        saved_per_year: gain.saved_per_day * money.days_per_year,
        days: days / here.len().max(1) as f64,
        racks: fewer,
        halved_lots_saved_per_year: kept_per_day * money.days_per_year
            + fewer * money.rack_per_year,
    })
}
