//! Today's places mended for certain: of what breaks a rule one task must go,
//! each in turn to each other station, dearer answers let in by and by.
//!
//! Deepening by cost rather than by moves (Korf 1985): what the last complete
//! round has ruled out is a bound, whenever the search is ended.

use super::cover::least_cover;
use super::place::{Effort, Loads, Places};
use crate::line::Side;
use crate::watch::Watch;

/// What a search has shown.
pub(crate) struct Mended {
    /// The assignment that moves least of those known.
    pub(crate) best: Option<Vec<usize>>,
    /// No assignment moves less; [`u64::MAX`] where there is none at all.
    pub(crate) bound: u64,
}

/// A rule between two tasks, or about one alone.
#[derive(Clone, Copy)]
enum Tie {
    /// The second stands so many stations after the first, or more.
    After(usize, usize, usize),
    Together(usize, usize),
    Apart(usize, usize),
    Fixed(usize, usize),
    /// The task's station of today is beyond the last.
    Gone(usize),
}

impl Tie {
    fn tasks(self) -> [usize; 2] {
        match self {
            Self::After(one, other, _) | Self::Together(one, other) | Self::Apart(one, other) => {
                [one, other]
            }
            Self::Fixed(task, _) | Self::Gone(task) => [task, task],
        }
    }

    fn holds(self, at: &[usize], count: usize) -> bool {
        match self {
            Self::After(one, other, far) => at[one] + far <= at[other],
            Self::Together(one, other) => at[one] == at[other],
            Self::Apart(one, other) => at[one] != at[other],
            Self::Fixed(task, station) => at[task] == station,
            Self::Gone(task) => at[task] < count,
        }
    }
}

struct Search<'a> {
    places: &'a Places<'a>,
    ties: Vec<Tie>,
    /// The ties of each task.
    of_task: Vec<Vec<Tie>>,
    at: Vec<usize>,
    /// Whether it is settled where a task stands.
    settled: Vec<bool>,
    loads: Loads,
    /// By station, the least work of those unsettled that must go yet.
    sheds: Vec<u64>,
    moved: u64,
    best: Option<Vec<usize>>,
    least: u64,
    limit: u64,
    /// The least that was cut off for being beyond the limit.
    beyond: u64,
    effort: &'a mut Effort,
    watch: &'a Watch<'a>,
    steps: u64,
    ended: bool,
}

/// Looks for less than `best` moves until nothing less can be, or the effort is
/// spent.
pub(crate) fn mended(
    places: &Places<'_>,
    best: Option<Vec<usize>>,
    effort: &mut Effort,
    watch: &Watch<'_>,
) -> Mended {
    let mut search = Search::of(places, best, effort, watch);
    let mut floor = search.lower();
    let mut limit = floor;
    while floor < search.least && !search.ended {
        search.limit = limit;
        search.beyond = u64::MAX;
        search.go_on();
        if search.ended {
            break;
        }
        floor = search.beyond.min(search.least);
        // A twentieth at a time: rounds grow fast enough to be worth no more.
        limit = floor.max(limit.saturating_add(limit / 20));
    }
    Mended {
        bound: floor.min(search.least),
        best: search.best,
    }
}

impl<'a> Search<'a> {
    fn of(
        places: &'a Places<'a>,
        best: Option<Vec<usize>>,
        effort: &'a mut Effort,
        watch: &'a Watch<'a>,
    ) -> Self {
        let ties = ties(places);
        let mut of_task = vec![Vec::new(); places.today.len()];
        for tie in &ties {
            let [one, other] = tie.tasks();
            of_task[one].push(*tie);
            if other != one {
                of_task[other].push(*tie);
            }
        }
        let mut loads = places.none();
        for (task, station) in places.today.iter().enumerate() {
            if *station < places.count {
                places.add(&mut loads, task, *station);
            }
        }
        let mut search = Self {
            places,
            ties,
            of_task,
            at: places.today.to_vec(),
            settled: vec![false; places.today.len()],
            loads,
            sheds: vec![0; places.count],
            moved: 0,
            least: best.as_ref().map_or(u64::MAX, |at| places.moved(at)),
            best,
            limit: 0,
            beyond: u64::MAX,
            effort,
            watch,
            steps: 0,
            ended: false,
        };
        for station in 0..places.count {
            search.sheds[station] = search.shed(station);
        }
        search
    }

    fn own(&self, task: usize) -> u64 {
        self.places.measures[0].ticks[task]
    }

    /// What is moved and must be moved yet, at least: of each station, and of
    /// ties between tasks of stations that are not counted already.
    fn lower(&self) -> u64 {
        let sheds = self
            .sheds
            .iter()
            .fold(0, |sum: u64, own| sum.saturating_add(*own));
        let mut sum = self.moved.saturating_add(sheds);
        let mut used: Vec<usize> = Vec::new();
        for tie in &self.ties {
            if tie.holds(&self.at, self.places.count) {
                continue;
            }
            let open = || tie.tasks().into_iter().filter(|task| !self.settled[*task]);
            let Some(least) = open().map(|task| self.own(task)).min() else {
                return u64::MAX;
            };
            let counted = |task: usize| {
                used.contains(&task) || self.sheds.get(self.at[task]).is_some_and(|own| *own > 0)
            };
            if !open().any(counted) {
                sum = sum.saturating_add(least);
                used.extend(open());
            }
        }
        sum
    }

    /// Of what breaks a rule, the tasks of which one must go; none where all
    /// holds.
    fn conflict(&self) -> Option<Vec<usize>> {
        let count = self.places.count;
        let broken = self.ties.iter().filter(|tie| !tie.holds(&self.at, count));
        let of_tie = |tie: &Tie| {
            let mut tasks = tie.tasks().to_vec();
            tasks.dedup();
            tasks.retain(|task| !self.settled[*task]);
            tasks
        };
        if let Some(tasks) = broken.map(of_tie).min_by_key(Vec::len) {
            return Some(tasks);
        }
        let full = (0..count).filter(|station| self.sheds[*station] > 0 || self.is_over(*station));
        let station = full.max_by_key(|station| self.sheds[*station])?;
        Some(self.leavers(station))
    }

    fn is_over(&self, station: usize) -> bool {
        self.places.over(&self.loads, station) > 0
            || self.places.excess(&self.places.tasks_at(&self.at, station)) > 0
    }

    /// The unsettled tasks of a station of which one must go, the lightest first.
    fn leavers(&self, station: usize) -> Vec<usize> {
        let mut here = self.unsettled(station);
        let first = self.over_by(station).into_iter().next();
        if let Some((measure, side, _)) = first {
            here.retain(|task| {
                side.is_none_or(|side| self.places.line.side(*task) == side)
                    && self.places.measures[measure].ticks[*task] > 0
            });
        }
        here.sort_by_key(|task| (self.own(*task), *task));
        here
    }

    fn unsettled(&self, station: usize) -> Vec<usize> {
        let here = (0..self.at.len()).filter(|task| self.at[*task] == station);
        here.filter(|task| !self.settled[*task]).collect()
    }

    /// By which measure and on which side a station's sums are too much, and by
    /// how much.
    fn over_by(&self, station: usize) -> Vec<(usize, Option<Side>, u64)> {
        let mut over = Vec::new();
        for measure in 0..self.places.measures.len() {
            let [all, left, right] = self.places.excesses(&self.loads, station, measure);
            let each = [
                (Some(Side::Left), left),
                (Some(Side::Right), right),
                (None, all),
            ];
            let too_much = each.into_iter().filter(|(_, excess)| *excess > 0);
            over.extend(too_much.map(|(side, excess)| (measure, side, excess)));
        }
        over
    }

    /// The least work of unsettled tasks that must leave a station.
    fn shed(&self, station: usize) -> u64 {
        let over = self.over_by(station);
        if over.is_empty() && self.places.posts_wait() {
            let tasks = self.places.tasks_at(&self.at, station);
            if self.places.excess(&tasks) == 0 {
                return 0;
            }
            let open = self
                .unsettled(station)
                .into_iter()
                .map(|task| self.own(task));
            return open.min().unwrap_or(u64::MAX);
        }
        if over.is_empty() {
            return 0;
        }
        let here = self.unsettled(station);
        let (mut all, mut sides) = (0, [0; 2]);
        for (measure, side, excess) in over {
            let of_side = here
                .iter()
                .filter(|task| side.is_none_or(|side| self.places.line.side(**task) == side));
            let ticks = &self.places.measures[measure].ticks;
            let things = of_side.map(|task| (ticks[*task], self.own(*task)));
            let cover = least_cover(&things.collect::<Vec<_>>(), excess).unwrap_or(u64::MAX);
            let most: &mut u64 = match side {
                None => &mut all,
                Some(Side::Left) => &mut sides[0],
                Some(_) => &mut sides[1],
            };
            *most = cover.max(*most);
        }
        // What leaves the left and what leaves the right are other tasks.
        all.max(sides[0].saturating_add(sides[1]))
    }

    fn go_on(&mut self) {
        let Some(leavers) = self.conflict() else {
            if self.moved < self.least
                && let Some(found) = self.places.feasible(self.at.clone())
            {
                self.least = self.moved;
                self.best = Some(found);
            }
            return;
        };
        let mut stayed = Vec::new();
        for task in leavers {
            for (_, _, station) in self.children(task) {
                let undo = self.go(task, station);
                // The best may have fallen since the children were weighed.
                if self.lower() < self.least {
                    self.go_on();
                }
                self.back(task, &undo);
                if self.ended {
                    break;
                }
            }
            if self.ended {
                break;
            }
            self.settled[task] = true;
            let home = self.at[task];
            if home >= self.places.count {
                stayed.push((task, 0));
                break;
            }
            stayed.push((task, self.sheds[home]));
            self.sheds[home] = self.shed(home);
            if !self.is_within() {
                break;
            }
        }
        for (task, shed) in stayed.into_iter().rev() {
            self.settled[task] = false;
            if let Some(old) = self.sheds.get_mut(self.at[task]) {
                *old = shed;
            }
        }
    }

    /// Whether what must move is within the limit and less than the best.
    fn is_within(&mut self) -> bool {
        let lower = self.lower();
        if lower > self.limit && lower < self.least {
            self.beyond = self.beyond.min(lower);
        }
        lower <= self.limit && lower < self.least
    }

    /// Where a task may go, the most promising first.
    fn children(&mut self, task: usize) -> Vec<(u64, usize, usize)> {
        let home = self.at[task];
        let mut children = Vec::new();
        for station in (0..self.places.count).filter(|station| *station != home) {
            if !self.agrees(task, station) {
                continue;
            }
            self.steps += 1;
            self.ended |=
                !self.effort.spend() || self.steps.is_multiple_of(256) && self.watch.cancelled();
            if self.ended {
                return Vec::new();
            }
            let undo = self.go(task, station);
            if self.is_within() {
                children.push((self.lower(), station.abs_diff(home), station));
            }
            self.back(task, &undo);
        }
        children.sort_unstable();
        children
    }

    /// Whether a task may stand at a station beside all that is settled.
    fn agrees(&mut self, task: usize, station: usize) -> bool {
        let home = std::mem::replace(&mut self.at[task], station);
        let mut ties = self.of_task[task].iter();
        let agrees = ties.all(|tie| {
            let mut others = tie.tasks().into_iter();
            let open = others.any(|other| other != task && !self.settled[other]);
            open || tie.holds(&self.at, self.places.count)
        });
        self.at[task] = home;
        agrees
    }

    fn go(&mut self, task: usize, station: usize) -> Undo {
        let home = std::mem::replace(&mut self.at[task], station);
        let undo = Undo {
            home,
            sheds: [self.sheds.get(home).copied(), Some(self.sheds[station])],
        };
        self.settled[task] = true;
        self.moved += self.own(task);
        self.places.add(&mut self.loads, task, station);
        if home < self.places.count {
            self.places.take(&mut self.loads, task, home);
            self.sheds[home] = self.shed(home);
        }
        self.sheds[station] = self.shed(station);
        undo
    }

    fn back(&mut self, task: usize, undo: &Undo) {
        let station = std::mem::replace(&mut self.at[task], undo.home);
        self.settled[task] = false;
        self.moved -= self.own(task);
        self.places.take(&mut self.loads, task, station);
        if undo.home < self.places.count {
            self.places.add(&mut self.loads, task, undo.home);
        }
        let [home, there] = undo.sheds;
        self.sheds[station] = there.unwrap_or(0);
        if let Some(shed) = home {
            self.sheds[undo.home] = shed;
        }
    }
}

/// Where a task came from, and what its stations had to shed before.
struct Undo {
    home: usize,
    sheds: [Option<u64>; 2],
}

fn ties(places: &Places<'_>) -> Vec<Tie> {
    let rules = &places.line.rules;
    let mut ties: Vec<Tie> = Vec::new();
    for (task, befores) in places.line.work.after.iter().enumerate() {
        ties.extend(befores.iter().map(|before| Tie::After(*before, task, 0)));
    }
    let far = rules.distance.iter();
    ties.extend(far.map(|(one, other, far)| Tie::After(*one, *other, *far as usize)));
    ties.extend(
        rules
            .together
            .iter()
            .map(|(one, other)| Tie::Together(*one, *other)),
    );
    ties.extend(
        rules
            .apart
            .iter()
            .map(|(one, other)| Tie::Apart(*one, *other)),
    );
    ties.extend(rules.fixed.iter().map(|(task, at)| Tie::Fixed(*task, *at)));
    let beyond = (0..places.today.len()).filter(|task| places.today[*task] >= places.count);
    ties.extend(beyond.map(Tie::Gone));
    ties
}
