//! Replays a timetable and sees whether it holds: an opinion of its own, which
//! knows nothing of how the timetable was found.
//!
//! All that decides is decided in whole ticks, or by comparing exact products:
//! whether lots overlap, whether stock runs out, whether the cycle closes.

use std::fmt;

use crate::exact;
use crate::model::{Checked, ItemIdx, Job, LineIdx};
use crate::timetable::{Lot, TICKS_PER_DAY, Timetable, days};

/// What an item's lots come to.
#[derive(Clone, Debug, PartialEq)]
pub struct ItemReplay {
    /// Where it is made.
    pub line: LineIdx,
    /// Lots in one cycle of the line.
    pub lots: u32,
    /// Pieces in a lot, on average.
    pub lot: f64,
    /// Days between the starts of its lots, on average.
    pub every_days: f64,
    /// Days that its longest lot lasts: its cover.
    pub longest_days: f64,
    /// Most pieces in stock: what racks must hold.
    pub peak_stock: f64,
    /// Pieces in stock, on average.
    pub mean_stock: f64,
    /// Age of the oldest piece when it is used, first made first used.
    pub oldest_days: f64,
    /// Money a day for its changeovers and for keeping it.
    pub cost_per_day: f64,
}

/// How a line spends its time; the shares add to 1.
#[derive(Clone, Debug, PartialEq)]
pub struct LineReplay {
    /// Days until the timetable starts again; 0 for a line that makes nothing.
    pub cycle_days: f64,
    /// Share of time running.
    pub running: f64,
    /// Share of time changing over.
    pub changing: f64,
    /// Share of time with nothing to do.
    pub idle: f64,
}

/// What replaying a whole schedule gives.
#[derive(Clone, Debug, PartialEq)]
pub struct Replay {
    /// The items, in the problem's order.
    pub items: Vec<ItemReplay>,
    /// The lines, in the problem's order.
    pub lines: Vec<LineReplay>,
    /// Money a day.
    pub cost_per_day: f64,
}

/// Why a timetable does not hold.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Flaw {
    /// The line.
    pub line: LineIdx,
    /// The item, where it is one item's.
    pub item: Option<ItemIdx>,
    /// What is wrong.
    pub what: &'static str,
}

impl fmt::Display for Flaw {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "line {}", self.line.0)?;
        if let Some(item) = self.item {
            write!(f, ", item {}", item.0)?;
        }
        write!(f, ": {}", self.what)
    }
}

impl std::error::Error for Flaw {}

/// Replays one timetable for each line of the problem.
///
/// ```
/// # use lots::model::{Item, Line, LineIdx, Problem, Way};
/// # let item = |rate_per_day: f64| Item {
/// #     name: String::new(), rate_per_day, hold_cost_per_day: 0.02,
/// #     max_cover_days: None, max_stock: None,
/// #     ways: vec![Way { line: LineIdx(0), make_per_day: 1_000.0, changeover_days: 0.1,
/// #         changeover_cost: 50.0 }],
/// # };
/// # let line = Line { name: "press".into(), available: 0.9 };
/// # let problem = Problem { items: vec![item(300.0), item(20.0)], lines: vec![line] };
/// use lots::{common_cycle, replay};
///
/// let checked = problem.check().map_err(|faults| faults[0].to_string())?;
/// let rotation = common_cycle(&checked, 1).map_err(|why| why.to_string())?;
/// let seen = replay(&checked, &rotation.timetables).map_err(|flaw| flaw.to_string())?;
/// assert_eq!(seen.cost_per_day, rotation.replay.cost_per_day);
///
/// // A changeover that is cut short is found.
/// let mut hasty = rotation.timetables.clone();
/// hasty[0].lots[0].changeover -= 1;
/// let flaw = replay(&checked, &hasty).err().map(|flaw| flaw.what);
/// assert_eq!(flaw, Some("its changeover is cut short"));
/// # Ok::<(), String>(())
/// ```
/// # Errors
///
/// The first flaw found: lots that overlap, an item that runs out or is never
/// made, stock that grows from cycle to cycle, a limit that is broken.
pub fn replay(checked: &Checked, timetables: &[Timetable]) -> Result<Replay, Flaw> {
    let mut items: Vec<Option<ItemReplay>> = vec![None; checked.item_count()];
    let mut lines = Vec::with_capacity(timetables.len());
    for timetable in timetables {
        lines.push(replay_line(checked, timetable, &mut items)?);
    }
    let mut complete = Vec::with_capacity(items.len());
    for (at, item) in items.into_iter().enumerate() {
        complete.push(item.ok_or(Flaw {
            line: checked.problem().items[at].ways[0].line,
            item: Some(ItemIdx(at as u32)),
            what: "no lot of it on any line",
        })?);
    }
    Ok(Replay {
        cost_per_day: complete.iter().map(|item| item.cost_per_day).sum(),
        items: complete,
        lines,
    })
}

fn replay_line(
    checked: &Checked,
    timetable: &Timetable,
    items: &mut [Option<ItemReplay>],
) -> Result<LineReplay, Flaw> {
    let flaw = |item, what| Flaw {
        line: timetable.line,
        item,
        what,
    };
    let lots = &timetable.lots;
    let (mut running, mut changing) = (0.0, 0);
    for (at, lot) in lots.iter().enumerate() {
        let job = checked
            .job_on(lot.item.at(), timetable.line.at())
            .ok_or(flaw(Some(lot.item), "it cannot be made on this line"))?;
        let least = job.changeover * TICKS_PER_DAY as f64;
        if (lot.changeover as f64) < least {
            return Err(flaw(Some(lot.item), "its changeover is cut short"));
        }
        let end = lots.get(at + 1).map_or(timetable.cycle, |next| next.start);
        let room = end.checked_sub(lot.run_start());
        if !room.is_some_and(|room| exact::at_most(job.rate, lot.cover, job.make, room)) {
            return Err(flaw(Some(lot.item), "its run overlaps what follows"));
        }
        running += days(lot.cover) * job.load;
        changing += lot.changeover;
    }
    for lot in lots {
        let at = lot.item.at();
        if items[at]
            .as_ref()
            .is_some_and(|seen| seen.line != timetable.line)
        {
            return Err(flaw(Some(lot.item), "it is made on two lines"));
        }
        if items[at].is_none() {
            items[at] = Some(replay_item(checked, timetable, lot.item)?);
        }
    }
    let cycle_days = days(timetable.cycle);
    let share = |days: f64| {
        if cycle_days > 0.0 {
            days / cycle_days
        } else {
            0.0
        }
    };
    let (running, changing) = (share(running), share(days(changing)));
    Ok(LineReplay {
        cycle_days,
        running,
        changing,
        idle: 1.0 - running - changing,
    })
}

fn replay_item(
    checked: &Checked,
    timetable: &Timetable,
    item: ItemIdx,
) -> Result<ItemReplay, Flaw> {
    let flaw = |what| Flaw {
        line: timetable.line,
        item: Some(item),
        what,
    };
    let job = checked
        .job_on(item.at(), timetable.line.at())
        .ok_or(flaw("it cannot be made on this line"))?;
    let lots: Vec<&Lot> = timetable
        .lots
        .iter()
        .filter(|lot| lot.item == item)
        .collect();
    let made: u64 = lots.iter().map(|lot| lot.cover).sum();
    if made != timetable.cycle {
        return Err(flaw("a cycle makes more or less of it than is used"));
    }
    if job.make < job.rate && lots.iter().any(|lot| lot.cover > 0) {
        return Err(flaw("it is used faster than made"));
    }
    let stocks = stocks(timetable.cycle, &lots);
    let seen = areas(job, timetable.cycle, &lots, &stocks);
    let longest = lots.iter().map(|lot| lot.cover).max().unwrap_or(0);
    let given = &checked.problem().items[item.at()];
    if given
        .max_cover_days
        .is_some_and(|most| days(longest) > most)
    {
        return Err(flaw("a lot lasts longer than its limit"));
    }
    // A peak is a product of rounded numbers; a limit is kept to their last digit.
    let rounding = 1.0 + 1e-12;
    if given
        .max_stock
        .is_some_and(|most| seen.peak > most * rounding)
    {
        return Err(flaw("its stock is above its limit"));
    }
    let cycle_days = days(timetable.cycle);
    let count = lots.len() as f64;
    let mean_stock = seen.area / cycle_days;
    Ok(ItemReplay {
        line: timetable.line,
        lots: lots.len() as u32,
        lot: job.rate * cycle_days / count,
        every_days: cycle_days / count,
        longest_days: days(longest),
        peak_stock: seen.peak,
        mean_stock,
        oldest_days: seen.peak / job.rate,
        cost_per_day: job.cost * count / cycle_days + given.hold_cost_per_day * mean_stock,
    })
}

/// Stock at the start of each run, in ticks of use: the least that never runs
/// out, found by walking once round from an arbitrary level.
fn stocks(cycle: u64, lots: &[&Lot]) -> Vec<u64> {
    let n = lots.len();
    let mut level: i128 = 0;
    let mut levels = Vec::with_capacity(n);
    for at in 0..n {
        levels.push(level);
        let until = if at + 1 < n {
            lots[at + 1].run_start()
        } else {
            lots[0].run_start() + cycle
        };
        level += i128::from(lots[at].cover);
        level -= i128::from(until - lots[at].run_start());
    }
    let least = levels.iter().copied().min().unwrap_or(0);
    levels.iter().map(|l| (l - least) as u64).collect()
}

struct Areas {
    /// Piece days in one cycle.
    area: f64,
    /// Most pieces.
    peak: f64,
}

/// Follows the stock from run start to run end to the next run start.
fn areas(job: &Job, cycle: u64, lots: &[&Lot], stocks: &[u64]) -> Areas {
    let mut seen = Areas {
        area: 0.0,
        peak: 0.0,
    };
    for (at, lot) in lots.iter().enumerate() {
        let until = lots
            .get(at + 1)
            .map_or(lots[0].run_start() + cycle, |next| next.run_start());
        let gap = days(until - lot.run_start());
        let run = days(lot.cover) * job.rate / job.make;
        let low = days(stocks[at]) * job.rate;
        let high = low + (job.make - job.rate) * run;
        let end = high - job.rate * (gap - run);
        seen.area += (low + high) / 2.0 * run + (high + end) / 2.0 * (gap - run);
        seen.peak = seen.peak.max(high);
    }
    seen
}
