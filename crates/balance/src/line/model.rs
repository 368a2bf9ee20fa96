//! A line with sides, several people a station, models and rules of place.

use crate::fault::Fault;
use crate::work::Work;

/// Where a task can be reached from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Side {
    /// The left of the car only.
    Left,
    /// The right only.
    Right,
    /// From either side.
    Either,
}

/// A model of the mix.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Model {
    /// Its share, in any whole measure: cars a week, or parts of a thousand.
    pub share: u32,
    /// Its time for each task, in ticks; nothing where it does not have it.
    pub ticks: Vec<u32>,
}

/// Which tasks must and must not stand where.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Rules {
    /// Pairs at the same station.
    pub together: Vec<(usize, usize)>,
    /// Pairs at different stations.
    pub apart: Vec<(usize, usize)>,
    /// Tasks with the station, from 0, at which they stand.
    pub fixed: Vec<(usize, usize)>,
    /// The second stands at least so many stations after the first.
    pub distance: Vec<(usize, usize, u32)>,
}

/// What a line must do.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Line {
    /// The work. With models its times are not looked at.
    pub work: Work,
    /// The side of each task; empty for a line with one side.
    pub sides: Vec<Side>,
    /// People at a station, on each of its sides.
    pub people: u32,
    /// The models of the mix; empty where all cars are alike.
    pub models: Vec<Model>,
    /// By how much a model may exceed takt at a station, in parts of a
    /// thousand of takt.
    pub overload_per_mille: u32,
    /// Rules of place.
    pub rules: Rules,
}

impl Line {
    /// A plain line: one side, one person a station, one model, no rules.
    pub fn plain(work: Work) -> Self {
        Self {
            work,
            sides: Vec::new(),
            people: 1,
            models: Vec::new(),
            overload_per_mille: 0,
            rules: Rules::default(),
        }
    }

    /// Whether it is no more than [`Line::plain`].
    pub fn is_plain(&self) -> bool {
        self.sides.is_empty()
            && self.people == 1
            && self.models.is_empty()
            && self.rules == Rules::default()
    }

    /// The side of a task.
    pub fn side(&self, task: usize) -> Side {
        self.sides.get(task).copied().unwrap_or(Side::Either)
    }

    /// The posts of a station: where its people stand.
    pub fn posts(&self) -> Vec<Side> {
        let people = self.people as usize;
        if self.sides.is_empty() {
            return vec![Side::Either; people];
        }
        let mut posts = vec![Side::Left; people];
        posts.extend(vec![Side::Right; people]);
        posts
    }

    /// By measure, what a station's post may take and what each task takes of
    /// it: the mean over the mix first, weighted and not divided by the sum of
    /// shares, so that it stays whole; then each model.
    pub fn measures(&self, takt: u32) -> Vec<Measure> {
        if self.models.is_empty() {
            return vec![Measure {
                room: u64::from(takt),
                ticks: self.work.ticks.iter().map(|t| u64::from(*t)).collect(),
            }];
        }
        let shares: u64 = self.models.iter().map(|model| u64::from(model.share)).sum();
        let mean = (0..self.work.ticks.len()).map(|task| {
            let weighted = |model: &Model| u64::from(model.share) * u64::from(model.ticks[task]);
            self.models.iter().map(weighted).sum()
        });
        let mut measures = vec![Measure {
            room: shares * u64::from(takt),
            ticks: mean.collect(),
        }];
        let most = u64::from(takt) * u64::from(1_000 + self.overload_per_mille) / 1_000;
        measures.extend(self.models.iter().map(|model| Measure {
            room: most,
            ticks: model.ticks.iter().map(|t| u64::from(*t)).collect(),
        }));
        measures
    }

    /// Everything that stands against the line at a takt, before any search.
    pub fn faults(&self, takt: u32) -> Vec<Fault> {
        let tasks = self.work.ticks.len();
        let mut faults = self.work.faults();
        if takt == 0 {
            faults.push(Fault::NoTakt);
        }
        if self.people == 0 {
            faults.push(Fault::NoStations);
        }
        for (at, model) in self.models.iter().enumerate() {
            if model.ticks.len() != tasks {
                faults.push(Fault::ModelTimes {
                    model: at,
                    given: model.ticks.len(),
                    tasks,
                });
            }
        }
        if !self.models.is_empty() && self.models.iter().all(|model| model.share == 0) {
            faults.push(Fault::NoShares);
        }
        for (task, named) in self.named() {
            if task >= tasks || named >= tasks {
                faults.push(Fault::NoSuchTask { task, named });
            }
        }
        if faults.is_empty() {
            faults.extend(self.too_long(takt));
            faults.extend(self.contradictions(takt));
        }
        faults
    }

    fn named(&self) -> impl Iterator<Item = (usize, usize)> + '_ {
        let rules = &self.rules;
        let pairs = rules.together.iter().chain(&rules.apart).copied();
        let fixed = rules.fixed.iter().map(|(task, _)| (*task, *task));
        let far = rules.distance.iter().map(|(one, other, _)| (*one, *other));
        pairs.chain(fixed).chain(far)
    }

    /// Tasks that no post can do within what a measure allows.
    fn too_long(&self, takt: u32) -> Vec<Fault> {
        let mut faults = Vec::new();
        for (at, measure) in self.measures(takt).iter().enumerate() {
            // The mean exceeds takt only where some model does; it is told in
            // the caller's ticks.
            let scale = if at == 0 {
                measure.room / u64::from(takt)
            } else {
                1
            };
            for (task, ticks) in measure.ticks.iter().enumerate() {
                let told = faults.iter().any(
                    |fault| matches!(fault, Fault::LongerThanTakt { task: t, .. } if *t == task),
                );
                if *ticks > measure.room && !told {
                    faults.push(Fault::LongerThanTakt {
                        task,
                        ticks: ticks.div_ceil(scale.max(1)),
                        takt: measure.room / scale.max(1),
                    });
                }
            }
        }
        faults
    }

    fn contradictions(&self, takt: u32) -> Vec<Fault> {
        let mut faults = Vec::new();
        let groups = self.groups();
        for (one, other) in &self.rules.apart {
            if groups[*one] == groups[*other] {
                faults.push(Fault::TogetherAndApart {
                    one: *one,
                    other: *other,
                });
            }
        }
        for (at, (task, station)) in self.rules.fixed.iter().enumerate() {
            for (other, elsewhere) in &self.rules.fixed[..at] {
                if station == elsewhere {
                    continue;
                }
                if task == other {
                    faults.push(Fault::FixedTwice {
                        task: *task,
                        one: *elsewhere,
                        other: *station,
                    });
                } else if groups[*task] == groups[*other] {
                    faults.push(Fault::FixedApart {
                        one: *other,
                        other: *task,
                    });
                }
            }
        }
        for (one, other, stations) in &self.rules.distance {
            if *stations > 0 && groups[*one] == groups[*other] {
                faults.push(Fault::TogetherAndApart {
                    one: *one,
                    other: *other,
                });
            }
        }
        faults.extend(self.crowded(&groups, takt));
        faults
    }

    /// Groups that must share a station and are longer than its posts, all or
    /// those of a side.
    fn crowded(&self, groups: &[usize], takt: u32) -> Vec<Fault> {
        let people = u64::from(self.people);
        let posts = self.posts().len() as u64;
        let mut faults = Vec::new();
        for first in 0..groups.len() {
            let all: Vec<usize> = (0..groups.len()).filter(|t| groups[*t] == first).collect();
            if all.len() < 2 {
                continue;
            }
            let of = |side: Side| all.iter().copied().filter(move |t| self.side(*t) == side);
            let parts = [
                (of(Side::Left).collect(), people),
                (of(Side::Right).collect(), people),
                (all.clone(), posts),
            ];
            let crowd = |(tasks, posts): &(Vec<usize>, u64)| {
                let measures = self.measures(takt);
                let mut crowds = measures.iter().enumerate().filter_map(|(at, measure)| {
                    let ticks: u64 = tasks.iter().map(|task| measure.ticks[*task]).sum();
                    let scale = if at == 0 {
                        measure.room / u64::from(takt)
                    } else {
                        1
                    };
                    (ticks > measure.room * posts).then(|| Fault::TogetherTooLong {
                        tasks: tasks.clone(),
                        ticks: ticks.div_ceil(scale),
                        takt: measure.room * posts / scale,
                    })
                });
                crowds.next()
            };
            faults.extend(parts.iter().find_map(crowd));
        }
        faults
    }

    /// For each task the first of those that must share its station.
    pub(crate) fn groups(&self) -> Vec<usize> {
        let mut group: Vec<usize> = (0..self.work.ticks.len()).collect();
        // Few pairs: joining until nothing changes is soon done.
        loop {
            let mut changed = false;
            for (one, other) in &self.rules.together {
                let first = group[*one].min(group[*other]);
                for task in [*one, *other] {
                    if group[task] != first {
                        group[task] = first;
                        changed = true;
                    }
                }
            }
            if !changed {
                return group;
            }
        }
    }
}

/// One way in which a post's work is measured against a limit.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Measure {
    /// What a post may take.
    pub room: u64,
    /// What each task takes.
    pub ticks: Vec<u64>,
}

impl Measure {
    /// The ticks that each task takes, where a post takes `takt` of them: the
    /// measure divided by its scale and rounded down.
    pub(crate) fn whole(&self, takt: u32) -> Vec<u32> {
        let scale = (self.room / u64::from(takt)).max(1);
        let each = self.ticks.iter().map(|ticks| ticks / scale);
        // a mean is never longer than the longest of the models
        each.map(|ticks| ticks.min(u64::from(u32::MAX)) as u32)
            .collect()
    }
}

/// A task at its post.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Placed {
    /// The task.
    pub task: usize,
    /// When it starts in the station's cycle, in the first measure.
    pub start: u64,
    /// When it ends.
    pub end: u64,
}

/// A place for one person.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Post {
    /// The side it stands on; either on a line with one side.
    pub side: Side,
    /// Its work in order.
    pub work: Vec<Placed>,
}

/// A station.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Station {
    /// Its posts, also those without work.
    pub posts: Vec<Post>,
}

impl Station {
    /// Its tasks in order of start.
    pub fn tasks(&self) -> Vec<usize> {
        let mut placed: Vec<Placed> = self
            .posts
            .iter()
            .flat_map(|post| post.work.clone())
            .collect();
        placed.sort_by_key(|placed| (placed.start, placed.end, placed.task));
        placed.iter().map(|placed| placed.task).collect()
    }
}

/// A line's balance and how good it is known to be.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LineBalance {
    /// Stations in order.
    pub stations: Vec<Station>,
    /// No balance has fewer stations.
    pub bound: u64,
    /// Whether the bound is met.
    pub proven: bool,
    /// Steps of search taken.
    pub steps: u64,
}
