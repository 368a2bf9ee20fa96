//! A repeating timetable of one line, on a clock of whole ticks.

use crate::exact;
use crate::model::{Checked, ItemIdx, Job, LineIdx};
use crate::programme::Lengths;

/// Ticks in a day: a tick is a microsecond of a day of 24 hours.
pub const TICKS_PER_DAY: u64 = 86_400_000_000;

/// Ticks as days.
pub fn days(ticks: u64) -> f64 {
    ticks as f64 / TICKS_PER_DAY as f64
}

/// A lot: a changeover, then a run, without a pause between.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Lot {
    /// What is made.
    pub item: ItemIdx,
    /// Tick at which the changeover starts, counted from the cycle's start.
    pub start: u64,
    /// Ticks of the changeover.
    pub changeover: u64,
    /// The lot is what is used up in so many ticks: `rate_per_day` times this
    /// many days. Whole ticks keep the stock exact for ever.
    pub cover: u64,
}

impl Lot {
    /// Tick at which the run starts.
    pub const fn run_start(&self) -> u64 {
        self.start + self.changeover
    }
}

/// What a line does, again and again.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Timetable {
    /// The line.
    pub line: LineIdx,
    /// Ticks until it starts again; 0 for a line that makes nothing.
    pub cycle: u64,
    /// Lots in the order of their starts, the first at tick 0.
    pub lots: Vec<Lot>,
}

impl Timetable {
    /// A line that makes nothing.
    pub(crate) const fn idle(line: LineIdx) -> Self {
        Self {
            line,
            cycle: 0,
            lots: Vec::new(),
        }
    }

    /// Rounds lengths to ticks. None when the rounding breaks a row: solve
    /// again with a larger margin.
    pub(crate) fn rounded(
        line: LineIdx,
        items: &[usize],
        jobs: &[Job],
        sequence: &[u16],
        lengths: &Lengths,
    ) -> Option<Self> {
        let ticks = |days: f64| (days * TICKS_PER_DAY as f64).round() as u64;
        let n = sequence.len();
        let cycle = ticks(lengths.cycle);
        let starts: Vec<u64> = lengths.starts.iter().map(|s| ticks(*s)).collect();
        let changeover = |at: usize| {
            let job = &jobs[usize::from(sequence[at])];
            (job.changeover * TICKS_PER_DAY as f64).ceil() as u64
        };
        // The first changeover, which lies before the first run, opens the cycle.
        let shift = changeover(0);
        let mut lots = Vec::with_capacity(n);
        for at in 0..n {
            let item = usize::from(sequence[at]);
            let job = &jobs[item];
            let next = (1..=n).find(|k| sequence[(at + k) % n] == sequence[at])?;
            let cover = if at + next < n {
                starts[at + next].checked_sub(starts[at])?
            } else {
                (starts[at + next - n] + cycle).checked_sub(starts[at])?
            };
            let follower = if at + 1 < n { starts[at + 1] } else { cycle };
            let room = follower
                .checked_sub(changeover((at + 1) % n))?
                .checked_sub(starts[at])?;
            let fits = exact::at_most(job.rate, cover, job.make, room);
            if !fits || days(cover) > job.most {
                return None;
            }
            lots.push(Lot {
                item: ItemIdx(items[item] as u32),
                start: (starts[at] + shift).checked_sub(changeover(at))?,
                changeover: changeover(at),
                cover,
            });
        }
        Some(Self { line, cycle, lots })
    }

    /// The days that a lot's run takes.
    pub fn run_days(&self, lot: &Lot, checked: &Checked) -> f64 {
        checked
            .job_on(lot.item.at(), self.line.at())
            .map_or(0.0, |job| days(lot.cover) * job.load)
    }
}
