//! Where tasks stand, what that loads and whether it holds.

use std::cell::{Cell, RefCell};
use std::collections::BTreeMap;

use crate::line::{Line, Measure, Side, Station, given, post_ends};

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
    /// By tasks of a station, by how much its posts exceed takt.
    known: RefCell<BTreeMap<Vec<usize>, (u64, bool)>>,
    /// Whether some station was taken to exceed takt without proof.
    guessed: Cell<bool>,
}

/// What is left to spend: one for every assignment looked at.
pub(crate) struct Effort(u64);

impl Effort {
    pub(crate) fn of(steps: u64) -> Self {
        Self(steps)
    }

    /// Whether there is any left; takes one.
    pub(crate) fn spend(&mut self) -> bool {
        let any = self.0 > 0;
        self.0 = self.0.saturating_sub(1);
        any
    }

    /// What is left.
    pub(crate) fn left(&self) -> u64 {
        self.0
    }

    /// So much of it at most, set aside.
    pub(crate) fn at_most(&mut self, steps: u64) -> Self {
        let part = self.0.min(steps);
        self.0 -= part;
        Self(part)
    }

    /// A part of it, set aside.
    pub(crate) fn part(&mut self, of: u64) -> Self {
        let part = self.0 / of;
        self.0 -= part;
        Self(part)
    }

    /// Puts back what was not spent.
    pub(crate) fn back(&mut self, rest: &Self) {
        self.0 += rest.0;
    }
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
            known: RefCell::default(),
            guessed: Cell::new(false),
        }
    }

    /// Tasks that share a station, each group one unit; all others alone.
    pub(crate) fn units(&self) -> Vec<Vec<usize>> {
        let mut units: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
        for (task, group) in self.groups.iter().enumerate() {
            units.entry(*group).or_default().push(task);
        }
        units.into_values().collect()
    }

    /// Whether a unit leaves hardly any room at a station.
    pub(crate) fn fills(&self, unit: &[usize]) -> bool {
        let sum = unit.iter().map(|task| self.measures[0].ticks[*task]);
        sum.sum::<u64>() * 10 >= self.measures[0].room * self.posts * 9
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

    /// By how much the posts of a station with these tasks exceed takt, waiting
    /// for each other counted; in thousandths of takt.
    pub(crate) fn excess(&self, tasks: &[usize]) -> u64 {
        let known = self.known.borrow().get(tasks).copied();
        let (excess, is_known) = known.unwrap_or_else(|| {
            let found = self.look(tasks);
            self.known.borrow_mut().insert(tasks.to_vec(), found);
            found
        });
        if excess > 0 && !is_known {
            self.guessed.set(true);
        }
        excess
    }

    fn look(&self, tasks: &[usize]) -> (u64, bool) {
        let sums = self.sum_over(tasks);
        if sums > 0 || self.posts == 1 {
            return (sums, true);
        }
        let (station, is_known) = given(self.line, self.takt, tasks);
        let over = self.measures.iter().map(|measure| {
            let ends = post_ends(self.line, &station, &|task| measure.ticks[task]);
            let last = ends.into_iter().max().unwrap_or(0);
            (last.saturating_sub(measure.room) * 1_000).div_ceil(measure.room)
        });
        (over.max().unwrap_or(0), is_known)
    }

    /// Whether every station that was found to exceed takt since the last call
    /// does so for certain.
    pub(crate) fn all_certain(&self) -> bool {
        !self.guessed.replace(false)
    }

    fn sum_over(&self, tasks: &[usize]) -> u64 {
        let mut loads = Loads(vec![[0; 3]; self.measures.len()]);
        for task in tasks {
            self.add(&mut loads, *task, 0);
        }
        self.over(&loads, 0)
    }

    pub(crate) fn tasks_at(&self, at: &[usize], station: usize) -> Vec<usize> {
        (0..at.len()).filter(|task| at[*task] == station).collect()
    }

    /// The assignment, where it keeps every rule and takt.
    pub(crate) fn feasible(&self, at: Vec<usize>) -> Option<Vec<usize>> {
        let inside = at.iter().all(|station| *station < self.count);
        let holds = inside
            && (0..at.len()).all(|task| {
                self.may_stand(&at, task, at[task]) && at[self.groups[task]] == at[task]
            })
            && (0..self.count).all(|station| self.excess(&self.tasks_at(&at, station)) == 0);
        holds.then_some(at)
    }

    /// Whether an assignment that keeps every rule and takt still does after
    /// some tasks were put elsewhere; `left` are the stations they left.
    pub(crate) fn holds_after(&self, at: &[usize], moved: &[usize], left: &[usize]) -> bool {
        let mut touched: Vec<usize> = left.to_vec();
        touched.extend(moved.iter().map(|task| at[*task]));
        touched.sort_unstable();
        touched.dedup();
        let in_group = |task: usize| {
            let group = self.groups[task];
            (0..at.len()).all(|other| self.groups[other] != group || at[other] == at[task])
        };
        let rules = &self.line.rules;
        moved.iter().all(|task| {
            self.may_stand(at, *task, at[*task]) && (rules.together.is_empty() || in_group(*task))
        }) && touched
            .iter()
            .all(|station| self.excess(&self.tasks_at(at, *station)) == 0)
    }

    pub(crate) fn stations(&self, at: &[usize]) -> Vec<Station> {
        let each = (0..self.count).map(|station| self.tasks_at(at, station));
        each.map(|tasks| given(self.line, self.takt, &tasks).0)
            .collect()
    }

    /// By how much a station's sums exceed its posts by a measure: on all of
    /// them, on the left, on the right.
    pub(crate) fn excesses(&self, loads: &Loads, station: usize, measure: usize) -> [u64; 3] {
        let load = &loads.0[station * self.measures.len() + measure];
        let room = self.measures[measure].room;
        let all = load.iter().sum::<u64>();
        let sides = if self.line.sides.is_empty() {
            [0; 2]
        } else {
            let half = self.posts / 2 * room;
            [load[0].saturating_sub(half), load[1].saturating_sub(half)]
        };
        [all.saturating_sub(self.posts * room), sides[0], sides[1]]
    }

    /// Whether a station has posts that can wait for each other.
    pub(crate) fn posts_wait(&self) -> bool {
        self.posts > 1
    }

    /// The side of a task, for callers that sort by it.
    pub(crate) fn is_either(&self, task: usize) -> bool {
        self.line.side(task) == Side::Either
    }
}
