//! All full loads of the next station, with its posts' timetables.

use std::collections::HashSet;
use std::hash::{BuildHasherDefault, Hasher};

use super::frame::Frame;
use super::model::Side;
use crate::set::Set;
use crate::watch::Watch;

/// A timetable in the making.
#[derive(Clone)]
struct Table<const W: usize> {
    tasks: Set<W>,
    /// By post and measure, when the post is free.
    free: Vec<u64>,
    /// Tasks placed, with post and end by measure.
    placed: Vec<(usize, usize, Vec<u64>)>,
}

impl<const W: usize> Table<W> {
    fn load(&self) -> Load<W> {
        let placed = self.placed.iter();
        Load {
            tasks: self.tasks,
            order: placed
                .map(|(task, post, _)| (*task as u16, *post as u16))
                .collect(),
        }
    }
}

/// The tasks of a station in an order in which they can be done, each with its
/// post.
#[derive(Clone)]
pub(crate) struct Load<const W: usize> {
    pub(crate) tasks: Set<W>,
    pub(crate) order: Box<[(u16, u16)]>,
}

/// Numbers by chance, the same on every machine (splitmix64, Steele, Lea &
/// Flood 2014).
pub(crate) struct Luck(pub(crate) u64);

impl Luck {
    pub(crate) fn below(&mut self, end: u64) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut mixed = self.0;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        (mixed ^ (mixed >> 31)) % end
    }
}

/// What tells two timetables apart for all that can follow.
#[derive(PartialEq, Eq)]
struct Key<const W: usize> {
    tasks: Set<W>,
    free: Vec<u64>,
    /// Ends that something still waits for, beyond when the posts are free.
    ends: Vec<(usize, Vec<u64>)>,
}

impl<const W: usize> std::hash::Hash for Key<W> {
    fn hash<H: Hasher>(&self, state: &mut H) {
        state.write_u64(self.tasks.hash());
        for free in &self.free {
            state.write_u64(*free);
        }
        for (task, ends) in &self.ends {
            state.write_u64(*task as u64);
            for end in ends {
                state.write_u64(*end);
            }
        }
    }
}

/// Mixes whole numbers; the same on every machine.
#[derive(Default)]
pub(crate) struct Mix(u64);

impl Hasher for Mix {
    fn finish(&self) -> u64 {
        self.0
    }
    fn write(&mut self, bytes: &[u8]) {
        for byte in bytes {
            self.write_u64(u64::from(*byte));
        }
    }
    fn write_u64(&mut self, number: u64) {
        self.0 = (self.0.rotate_left(23) ^ number).wrapping_mul(0x9e37_79b9_7f4a_7c15);
        self.0 ^= self.0 >> 29;
    }
    fn write_usize(&mut self, number: usize) {
        self.write_u64(number as u64);
    }
}

/// Where a station stands in the line.
#[derive(Clone)]
pub(crate) struct Place<const W: usize> {
    /// Done before it.
    pub(crate) done: Set<W>,
    /// Its number, from 0.
    pub(crate) station: u32,
    /// Tasks that must not stand at it yet, whatever is done.
    pub(crate) later: Set<W>,
}

/// Finds the loads of one station.
pub(crate) struct Filler<'a, const W: usize> {
    frame: &'a Frame<W>,
    watch: &'a Watch<'a>,
    place: Place<W>,
    seen: HashSet<Key<W>, BuildHasherDefault<Mix>>,
    steps_left: u32,
    /// Steps taken.
    pub(crate) steps: u64,
}

impl<'a, const W: usize> Filler<'a, W> {
    pub(crate) fn new(
        frame: &'a Frame<W>,
        watch: &'a Watch<'a>,
        place: Place<W>,
        steps: u32,
    ) -> Self {
        Self {
            frame,
            watch,
            place,
            seen: HashSet::default(),
            steps_left: steps,
            steps: 0,
        }
    }

    /// Hands every load that is full, perhaps more than once, to `take` until
    /// it returns false. Returns whether all were seen.
    pub(crate) fn each(&mut self, take: &mut dyn FnMut(Load<W>) -> bool) -> bool {
        let table = self.blank();
        self.grow(&table, &mut |table| take(table.load()))
    }

    fn blank(&self) -> Table<W> {
        Table {
            tasks: Set::EMPTY,
            free: vec![0; self.frame.posts.len() * self.frame.measures.len()],
            placed: Vec::new(),
        }
    }

    /// A load put together by chance: again and again, of what can start about
    /// soonest, what matters most. None where rules of place leave it open.
    pub(crate) fn sampled(&mut self, luck: &mut Luck) -> Option<Load<W>> {
        let room = self.frame.measures[0].room;
        let (by_weight, by_time) = (luck.below(100), luck.below(100));
        let ahead = [0, 0, room / 50, room / 10][luck.below(4) as usize];
        let mut table = self.blank();
        loop {
            self.steps += 1;
            let mut options = Vec::new();
            let mut soonest = u64::MAX;
            for task in self.open(&table.tasks) {
                for post in self.posts_for(task, &table) {
                    if let Some(ends) = self.ends(&table, task, post) {
                        let start = ends[0] - self.frame.measures[0].ticks[task];
                        soonest = soonest.min(start);
                        options.push((start, task, post, ends));
                    }
                }
            }
            options.retain(|(start, ..)| *start <= soonest + ahead);
            let worth = |task: usize, luck: &mut Luck| {
                let ticks = self.frame.measures[0].ticks[task];
                let plain = by_weight * self.frame.weight[task] / 10 + by_time * ticks;
                plain * (100 + luck.below(60))
            };
            let chosen = options
                .into_iter()
                .map(|option| (worth(option.1, luck), option))
                .max_by_key(|(worth, (start, task, ..))| {
                    (*worth, std::cmp::Reverse((*start, *task)))
                });
            let Some((_, (_, task, post, ends))) = chosen else {
                break;
            };
            table = self.put(&table, task, post, ends);
        }
        self.is_closed(&table.tasks).then(|| table.load())
    }

    /// Tasks that could be next.
    fn open(&self, tasks: &Set<W>) -> Vec<usize> {
        let now = self.place.done.or(tasks);
        let undone = self.frame.all.less(&now).less(&self.place.later);
        undone
            .iter()
            .filter(|task| self.frame.before_set[*task].within(&now) && !self.clashes(*task, tasks))
            .collect()
    }

    fn grow(&mut self, table: &Table<W>, take: &mut dyn FnMut(&Table<W>) -> bool) -> bool {
        if self.steps_left == 0 {
            return false;
        }
        self.steps_left -= 1;
        self.steps += 1;
        if self.steps.is_multiple_of(1_024) && self.watch.cancelled() {
            return false;
        }
        let mut full = true;
        let mut open = self.open(&table.tasks);
        open.sort_unstable_by_key(|task| self.frame.rank[*task]);
        for task in open {
            for post in self.posts_for(task, table) {
                let Some(ends) = self.ends(table, task, post) else {
                    continue;
                };
                let next = self.put(table, task, post, ends);
                full &= !self.frame.free.has(task);
                let key = self.key(&next);
                if self.seen.insert(key) && !self.grow(&next, take) {
                    return false;
                }
            }
        }
        if full && self.is_closed(&table.tasks) {
            return take(table);
        }
        true
    }

    fn clashes(&self, task: usize, tasks: &Set<W>) -> bool {
        self.frame.fixed[task].is_some_and(|station| station != self.place.station)
            || !self.frame.apart[task].and(tasks).is_empty()
            || self
                .frame
                .distance
                .iter()
                .any(|(one, other, far)| *other == task && *far > 0 && tasks.has(*one))
    }

    /// Whether every group that stands here stands here as a whole.
    fn is_closed(&self, tasks: &Set<W>) -> bool {
        self.frame
            .groups
            .iter()
            .all(|group| group.and(tasks).is_empty() || group.within(tasks))
    }

    /// Posts that reach the task, the soonest free first; of posts that are
    /// alike and equally free only one.
    fn posts_for(&self, task: usize, table: &Table<W>) -> Vec<usize> {
        let side = self.frame.sides[task];
        let measures = self.frame.measures.len();
        let free = |post: usize| &table.free[post * measures..(post + 1) * measures];
        let mut posts: Vec<usize> = Vec::new();
        for (post, stands) in self.frame.posts.iter().enumerate() {
            let reaches = side == Side::Either || *stands == Side::Either || side == *stands;
            let alike =
                |other: &usize| self.frame.posts[*other] == *stands && free(*other) == free(post);
            if reaches && !posts.iter().any(alike) {
                posts.push(post);
            }
        }
        posts.sort_by_key(|post| free(*post)[0]);
        posts
    }

    /// When the task would end at the post, by measure; none where that is
    /// too late.
    fn ends(&self, table: &Table<W>, task: usize, post: usize) -> Option<Vec<u64>> {
        let measures = self.frame.measures.len();
        let mut ends = Vec::with_capacity(measures);
        for (at, measure) in self.frame.measures.iter().enumerate() {
            let mut start = table.free[post * measures + at];
            for (before, _, ended) in &table.placed {
                if self.frame.before_set[task].has(*before) {
                    start = start.max(ended[at]);
                }
            }
            let end = start + measure.ticks[task];
            if end > measure.room {
                return None;
            }
            ends.push(end);
        }
        Some(ends)
    }

    fn put(&self, table: &Table<W>, task: usize, post: usize, ends: Vec<u64>) -> Table<W> {
        let measures = self.frame.measures.len();
        let mut next = table.clone();
        next.tasks.put(task);
        next.free[post * measures..(post + 1) * measures].copy_from_slice(&ends);
        next.placed.push((task, post, ends));
        next
    }

    fn key(&self, table: &Table<W>) -> Key<W> {
        let measures = self.frame.measures.len();
        let now = self.place.done.or(&table.tasks);
        let mut ends: Vec<(usize, Vec<u64>)> = Vec::new();
        if self.frame.posts.len() > 1 {
            for (task, _, ended) in &table.placed {
                let waited = self.frame.after[*task].iter().any(|after| !now.has(*after));
                let late = (0..measures).any(|at| {
                    table
                        .free
                        .iter()
                        .skip(at)
                        .step_by(measures)
                        .any(|free| ended[at] > *free)
                });
                if waited && late {
                    ends.push((*task, ended.clone()));
                }
            }
            ends.sort_unstable();
        }
        Key {
            tasks: table.tasks,
            free: table.free.clone(),
            ends,
        }
    }
}
