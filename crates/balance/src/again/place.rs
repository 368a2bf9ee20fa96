//! Where tasks stand, what that loads and whether it holds.

use crate::line::{Line, Measure, Side, Station, timetable};

/// A line with today's places.
pub(crate) struct Places<'a> {
    pub(crate) line: &'a Line,
    takt: u32,
    pub(crate) today: &'a [usize],
    pub(crate) count: usize,
    pub(crate) measures: Vec<Measure>,
    pub(crate) after: Vec<Vec<usize>>,
    pub(crate) groups: Vec<usize>,
    posts: u64,
}

/// Loads by station, measure and side.
#[derive(Clone)]
pub(crate) struct Loads(Vec<[u64; 3]>);

impl<'a> Places<'a> {
    pub(crate) fn of(line: &'a Line, takt: u32, today: &'a [usize], count: usize) -> Self {
        let mut after = vec![Vec::new(); today.len()];
        for (task, befores) in line.work.after.iter().enumerate() {
            for before in befores {
                after[*before].push(task);
            }
        }
        Self {
            line,
            takt,
            today,
            count,
            measures: line.measures(takt),
            after,
            groups: line.groups(),
            posts: line.posts().len() as u64,
        }
    }

    /// Work that stands elsewhere than today.
    pub(crate) fn moved(&self, at: &[usize]) -> u64 {
        let elsewhere = (0..at.len()).filter(|task| at[*task] != self.today[*task]);
        elsewhere.map(|task| self.measures[0].ticks[task]).sum()
    }

    pub(crate) fn loads(&self, at: &[usize]) -> Loads {
        let mut loads = Loads(vec![[0; 3]; self.count * self.measures.len()]);
        for (task, station) in at.iter().enumerate() {
            self.add(&mut loads, task, *station);
        }
        loads
    }

    pub(crate) fn none(&self) -> Loads {
        Loads(vec![[0; 3]; self.count * self.measures.len()])
    }

    pub(crate) fn add(&self, loads: &mut Loads, task: usize, station: usize) {
        for (at, measure) in self.measures.iter().enumerate() {
            let load = &mut loads.0[station * self.measures.len() + at];
            load[self.line.side(task) as usize] += measure.ticks[task];
        }
    }

    pub(crate) fn take(&self, loads: &mut Loads, task: usize, station: usize) {
        for (at, measure) in self.measures.iter().enumerate() {
            let load = &mut loads.0[station * self.measures.len() + at];
            load[self.line.side(task) as usize] -= measure.ticks[task];
        }
    }

    /// By how much a station exceeds its posts, the worst measure in thousandths
    /// of takt.
    pub(crate) fn over(&self, loads: &Loads, station: usize) -> u64 {
        let over = self.measures.iter().enumerate().map(|(at, measure)| {
            let load = &loads.0[station * self.measures.len() + at];
            let all = load
                .iter()
                .sum::<u64>()
                .saturating_sub(self.posts * measure.room);
            let side = if self.line.sides.is_empty() {
                0
            } else {
                let room = self.posts / 2 * measure.room;
                load[0].saturating_sub(room) + load[1].saturating_sub(room)
            };
            (all.max(side) * 1_000).div_ceil(measure.room)
        });
        over.max().unwrap_or(0)
    }

    /// Whether a task may stand at a station, those around it staying.
    pub(crate) fn may_stand(&self, at: &[usize], task: usize, station: usize) -> bool {
        let rules = &self.line.rules;
        let near = |other: usize| if other == task { station } else { at[other] };
        self.line.work.after[task]
            .iter()
            .all(|before| at[*before] <= station)
            && self.after[task].iter().all(|after| at[*after] >= station)
            && self.keeps_rules(&near, task)
            && rules
                .fixed
                .iter()
                .all(|(fixed, to)| *fixed != task || *to == station)
    }

    fn keeps_rules(&self, near: &dyn Fn(usize) -> usize, task: usize) -> bool {
        let rules = &self.line.rules;
        let with = |one: usize, other: usize| one == task || other == task;
        rules
            .apart
            .iter()
            .all(|(one, other)| !with(*one, *other) || near(*one) != near(*other))
            && rules.distance.iter().all(|(one, other, far)| {
                !with(*one, *other) || near(*one) + *far as usize <= near(*other)
            })
    }

    /// The assignment, where it keeps every rule and takt.
    pub(crate) fn feasible(&self, at: Vec<usize>) -> Option<Vec<usize>> {
        let inside = at.iter().all(|station| *station < self.count);
        if !inside {
            return None;
        }
        let placed = (0..at.len())
            .all(|task| self.may_stand(&at, task, at[task]) && at[self.groups[task]] == at[task]);
        let loads = self.loads(&at);
        let fits = placed && (0..self.count).all(|station| self.over(&loads, station) == 0);
        let holds = fits && (self.posts == 1 || self.timetables(&at).is_some());
        holds.then_some(at)
    }

    fn timetables(&self, at: &[usize]) -> Option<Vec<Station>> {
        let listed = (0..self.count).map(|station| {
            let tasks: Vec<usize> = (0..at.len()).filter(|task| at[*task] == station).collect();
            timetable(self.line, self.takt, &tasks)
        });
        listed.collect()
    }

    pub(crate) fn stations(&self, at: &[usize]) -> Vec<Station> {
        self.timetables(at).unwrap_or_default()
    }

    /// What the stations that exceed a measure must give away at least, by the
    /// first: the least sum of some of their tasks that is enough.
    pub(crate) fn bound(&self) -> u64 {
        let beyond = |task: &usize| self.today[*task] >= self.count;
        let all = 0..self.today.len();
        let gone: u64 = all
            .clone()
            .filter(beyond)
            .map(|task| self.measures[0].ticks[task])
            .sum();
        let sheds = (0..self.count).map(|station| {
            let here: Vec<u64> = all
                .clone()
                .filter(|task| self.today[*task] == station)
                .map(|task| self.measures[0].ticks[task])
                .collect();
            let sum: u64 = here.iter().sum();
            least_sum(
                &here,
                sum.saturating_sub(self.posts * self.measures[0].room),
            )
        });
        gone + sheds.sum::<u64>()
    }
}

/// The least sum of some of the numbers that is at least so much.
fn least_sum(numbers: &[u64], at_least: u64) -> u64 {
    if at_least == 0 {
        return 0;
    }
    let mut sums = std::collections::BTreeSet::from([0]);
    for number in numbers {
        let more: Vec<u64> = sums
            .iter()
            .filter(|sum| **sum < at_least)
            .map(|sum| sum + number)
            .collect();
        sums.extend(more);
        // Too many different sums to follow: what is asked is a bound itself.
        if sums.len() > 200_000 {
            return at_least;
        }
    }
    sums.range(at_least..).next().copied().unwrap_or(at_least)
}

impl Places<'_> {
    /// The side of a task, for callers that sort by it.
    pub(crate) fn is_either(&self, task: usize) -> bool {
        self.line.side(task) == Side::Either
    }
}
