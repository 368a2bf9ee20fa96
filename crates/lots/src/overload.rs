//! Lines with too little time: how much is missing, and what would free them.

use crate::assign::{Assignment, Yardstick, assign};
use crate::bound;
use crate::fit::{Fit, fit};
use crate::model::{Checked, ItemIdx, Job, LineIdx};

/// Lines that cannot make what is asked of them.
#[derive(Clone, Debug, PartialEq)]
pub struct Overload {
    /// The lines with too little time, by the spread of items that comes
    /// nearest to fitting.
    pub lines: Vec<LineOverload>,
    /// Whether it is proven that no spread of the items fits. If not, none was
    /// found.
    pub proven: bool,
}

/// What one line lacks.
#[derive(Clone, Debug, PartialEq)]
pub struct LineOverload {
    /// The line.
    pub line: LineIdx,
    /// Days of running that a day of use asks for.
    pub running: f64,
    /// Days of changeovers in a day that the limits on cover force.
    pub changing: f64,
    /// Days missing in each day: what running and changing are above 1.
    pub missing: f64,
    /// The fewest items that free the line when they are made elsewhere, the
    /// smallest such set among those of equal number that was found.
    pub move_items: Vec<ItemIdx>,
    /// Days of line time to save on each changeover to free the line, no
    /// changeover below 0; none when even changeovers of no time do not.
    pub save_changeover_days: Option<f64>,
}

impl LineOverload {
    /// Hours missing a week, for days of so many hours.
    ///
    /// A line whose runs and forced changeovers need 1.05 of the time it has
    /// lacks 8.4 hours in a week of seven full days.
    pub fn missing_hours_per_week(&self, hours_per_day: f64, days_per_week: f64) -> f64 {
        self.missing * hours_per_day * days_per_week
    }
}

/// The overload of the problem, none when every line can have enough time.
///
/// This weighs time alone. Lots can still lie on each other so that no
/// timetable keeps every limit on cover; [`crate::best`] finds that out.
pub fn overload(checked: &Checked) -> Option<Overload> {
    let never = std::sync::atomic::AtomicBool::new(false);
    let spread = assign(checked, Yardstick::Load, 0, &never);
    if spread.grade.over <= 0.0 {
        return None;
    }
    match fit(checked) {
        Fit::Found(_) => None,
        Fit::Proven => Some(describe(checked, &spread, true)),
        Fit::Unknown => Some(describe(checked, &spread, false)),
    }
}

pub(crate) fn describe(checked: &Checked, spread: &Assignment, proven: bool) -> Overload {
    let mut lines = Vec::new();
    for line in 0..checked.line_count() {
        let items = spread.items_on(checked, line);
        let jobs = spread.jobs(checked, &items);
        let missing = bound::least_load(&jobs) - 1.0;
        if missing > 0.0 {
            let running = jobs.iter().map(|job| job.load).sum::<f64>();
            lines.push(LineOverload {
                line: LineIdx(line as u32),
                running,
                changing: missing + 1.0 - running,
                missing,
                move_items: fewest(&jobs, missing)
                    .into_iter()
                    .map(|at| ItemIdx(items[at] as u32))
                    .collect(),
                save_changeover_days: saving(&jobs, missing)
                    .map(|days| days * checked.problem().lines[line].available),
            });
        }
    }
    Overload { lines, proven }
}

/// The fewest jobs whose least loads sum to `missing` or more, and among sets
/// of that number one that takes away little.
fn fewest(jobs: &[Job], missing: f64) -> Vec<usize> {
    let load = |at: usize| jobs[at].least_load();
    let mut order: Vec<usize> = (0..jobs.len()).collect();
    order.sort_by(|a, b| load(*b).total_cmp(&load(*a)));
    let mut chosen = Vec::new();
    let mut sum = 0.0;
    for &at in &order {
        if sum >= missing {
            break;
        }
        chosen.push(at);
        sum += load(at);
    }
    // Trade each for the smallest that still does.
    for n in 0..chosen.len() {
        let rest = sum - load(chosen[n]);
        let smaller = order
            .iter()
            .rev()
            .copied()
            .find(|at| !chosen.contains(at) && rest + load(*at) >= missing);
        if let Some(at) = smaller.filter(|at| load(*at) < load(chosen[n])) {
            sum = rest + load(at);
            chosen[n] = at;
        }
    }
    chosen.sort_unstable();
    chosen
}

/// Days to take off each changeover so that the sum of changeover over limit
/// falls by `missing`: piecewise linear, solved from kink to kink.
fn saving(jobs: &[Job], missing: f64) -> Option<f64> {
    let mut order: Vec<&Job> = jobs.iter().collect();
    order.sort_by(|a, b| a.changeover.total_cmp(&b.changeover));
    let mut left = missing;
    let mut slope: f64 = jobs.iter().map(|job| 1.0 / job.most).sum();
    let mut saved = 0.0;
    for job in order {
        let step = job.changeover - saved;
        if slope * step >= left {
            return Some(saved + left / slope);
        }
        left -= slope * step;
        saved = job.changeover;
        slope -= 1.0 / job.most;
    }
    None
}
