//! One station's tasks on its posts: is there a timetable within so much time,
//! and which is the shortest?

use std::collections::HashMap;
use std::hash::BuildHasherDefault;

use super::fill::Mix;
use super::model::{Line, Measure, Side};

/// Tasks of a station with their posts, in an order in which they can be done;
/// tasks by their place in the list given.
pub(super) type Order = Vec<(usize, usize)>;

/// What is known of a time.
pub(super) enum Within {
    /// It is enough, in this order.
    Yes(Order),
    /// It is not.
    No,
    /// The steps do not tell.
    Unknown,
}

/// The most tasks that are searched: a set of them is a number.
const MOST: usize = 64;

/// A station's tasks, ready for search.
pub(super) struct Station {
    posts: Vec<Side>,
    sides: Vec<Side>,
    /// By measure and task.
    ticks: Vec<Vec<u64>>,
    before: Vec<u64>,
    /// By task, those that follow it next.
    after: Vec<u64>,
    /// By measure and task, the longest way through what follows it, its own
    /// time included.
    tails: Vec<Vec<u64>>,
}

impl Station {
    /// None where there are too many tasks or their order goes in a circle.
    pub(super) fn of(line: &Line, measures: &[Measure], tasks: &[usize]) -> Option<Self> {
        if tasks.len() > MOST {
            return None;
        }
        let place = |task: &usize| tasks.iter().position(|other| other == task);
        let befores = |task: &usize| {
            let here = line.work.after[*task].iter().filter_map(place);
            here.fold(0_u64, |set, at| set | 1 << at)
        };
        let before: Vec<u64> = tasks.iter().map(befores).collect();
        let of = |measure: &Measure| tasks.iter().map(|task| measure.ticks[*task]).collect();
        let mut station = Self {
            posts: line.posts(),
            sides: tasks.iter().map(|task| line.side(*task)).collect(),
            ticks: measures.iter().map(of).collect(),
            after: (0..tasks.len())
                .map(|at| {
                    (0..tasks.len())
                        .filter(|other| before[*other] >> at & 1 == 1)
                        .fold(0, |set, other| set | 1 << other)
                })
                .collect(),
            before,
            tails: Vec::new(),
        };
        station.tails = station.tails_by_measure()?;
        Some(station)
    }

    fn tails_by_measure(&self) -> Option<Vec<Vec<u64>>> {
        let tasks = self.before.len();
        let mut tails = self.ticks.clone();
        let mut done = 0_u64;
        while done.count_ones() < tasks as u32 {
            let free = |at: &usize| done >> at & 1 == 0 && self.after[*at] & !done == 0;
            let at = (0..tasks).find(free)?;
            for (tails, ticks) in tails.iter_mut().zip(&self.ticks) {
                let behind = each(self.after[at]).map(|other| tails[other]);
                tails[at] = ticks[at] + behind.max().unwrap_or(0);
            }
            done |= 1 << at;
        }
        Some(tails)
    }

    fn reaches(&self, post: usize, task: usize) -> bool {
        let (side, stands) = (self.sides[task], self.posts[post]);
        side == Side::Either || stands == Side::Either || side == stands
    }

    /// What no timetable is shorter than, by a measure: the longest way through
    /// the order, and the work over the posts that reach it.
    pub(super) fn least(&self, measure: usize) -> u64 {
        let ticks = &self.ticks[measure];
        let of = |side: Side| -> (u64, u64) {
            let reaches = |stands: &&Side| **stands == side || **stands == Side::Either;
            let own = (0..ticks.len()).filter(|task| self.sides[*task] == side);
            let posts = self.posts.iter().filter(reaches).count() as u64;
            (own.map(|task| ticks[task]).sum(), posts)
        };
        let all = (ticks.iter().sum::<u64>(), self.posts.len() as u64);
        let sums = [all, of(Side::Left), of(Side::Right)];
        let longest = self.tails[measure].iter().copied().max().unwrap_or(0);
        sums.iter()
            .map(|(sum, posts)| sum.div_ceil((*posts).max(1)))
            .fold(longest, u64::max)
    }

    /// When an order's last post is done, by measure.
    pub(super) fn ends(&self, order: &Order) -> Vec<u64> {
        let mut table = Table::of(self);
        for (task, post) in order {
            table.put(self, *task, *post);
        }
        let measures = self.ticks.len();
        let last = |at: usize| table.free.iter().skip(at).step_by(measures).copied().max();
        (0..measures).map(|at| last(at).unwrap_or(0)).collect()
    }

    /// Whether there is a timetable within so much by each measure.
    pub(super) fn within(&self, rooms: &[u64], steps: &mut u32) -> Within {
        let mut search = Search {
            station: self,
            rooms,
            seen: HashMap::default(),
            steps,
            ended: false,
        };
        let mut table = Table::of(self);
        if search.go_on(&mut table) {
            Within::Yes(table.order)
        } else if search.ended {
            Within::Unknown
        } else {
            Within::No
        }
    }
}

fn each(mut set: u64) -> impl Iterator<Item = usize> {
    std::iter::from_fn(move || {
        let first = (set != 0).then(|| set.trailing_zeros() as usize)?;
        set &= set - 1;
        Some(first)
    })
}

/// A timetable in the making.
struct Table {
    done: u64,
    /// By post and measure, when the post is free.
    free: Vec<u64>,
    /// By task and measure, when it ends.
    ends: Vec<u64>,
    /// By the first measure, when each begins: in the order they were put, so
    /// never sooner than the one before. Every timetable can be put in that
    /// order, and in few others, so that none is met twice.
    begins: Vec<u64>,
    order: Order,
}

impl Table {
    fn of(station: &Station) -> Self {
        let measures = station.ticks.len();
        Self {
            done: 0,
            free: vec![0; station.posts.len() * measures],
            ends: vec![0; station.before.len() * measures],
            begins: Vec::new(),
            order: Vec::new(),
        }
    }

    fn start(&self, station: &Station, task: usize, post: usize, measure: usize) -> u64 {
        let measures = station.ticks.len();
        let ends = each(station.before[task]).map(|before| self.ends[before * measures + measure]);
        ends.fold(self.free[post * measures + measure], u64::max)
    }

    /// Puts a task at a post; what the post was free at before.
    fn put(&mut self, station: &Station, task: usize, post: usize) -> Vec<u64> {
        let measures = station.ticks.len();
        let was = self.free[post * measures..(post + 1) * measures].to_vec();
        self.begins.push(self.start(station, task, post, 0));
        for measure in 0..measures {
            let end = self.start(station, task, post, measure) + station.ticks[measure][task];
            self.ends[task * measures + measure] = end;
            self.free[post * measures + measure] = end;
        }
        self.done |= 1 << task;
        self.order.push((task, post));
        was
    }

    /// Before when, by a measure, nothing more begins.
    fn from(&self, measure: usize) -> u64 {
        let last = self.begins.last().filter(|_| measure == 0);
        last.copied().unwrap_or(0)
    }

    fn take_back(&mut self, was: &[u64]) {
        if let Some((task, post)) = self.order.pop() {
            self.begins.pop();
            self.done &= !(1 << task);
            self.free[post * was.len()..(post + 1) * was.len()].copy_from_slice(was);
        }
    }
}

struct Search<'a> {
    station: &'a Station,
    rooms: &'a [u64],
    /// Timetables that led nowhere: what is done, when posts are free and when
    /// that ends for which others wait; and from when on nothing led anywhere.
    seen: HashMap<Vec<u64>, u64, BuildHasherDefault<Mix>>,
    steps: &'a mut u32,
    ended: bool,
}

impl Search<'_> {
    fn go_on(&mut self, table: &mut Table) -> bool {
        let tasks = self.station.before.len();
        if table.done.count_ones() as usize == tasks {
            return true;
        }
        if *self.steps == 0 {
            self.ended = true;
            return false;
        }
        *self.steps -= 1;
        if !self.hopeful(table) || self.known(table) {
            return false;
        }
        for (_, _, task, post) in self.options(table) {
            let was = table.put(self.station, task, post);
            if self.go_on(table) {
                return true;
            }
            table.take_back(&was);
            if self.ended {
                return false;
            }
        }
        false
    }

    /// What can be next within the rooms, what starts soonest first and of that
    /// what most waits for; of posts that are alike only one.
    fn options(&self, table: &Table) -> Vec<(u64, u64, usize, usize)> {
        let station = self.station;
        let measures = self.rooms.len();
        let free = |post: usize| &table.free[post * measures..(post + 1) * measures];
        let mut options = Vec::new();
        for task in 0..station.before.len() {
            if table.done >> task & 1 == 1 || station.before[task] & !table.done != 0 {
                continue;
            }
            for post in 0..station.posts.len() {
                let alike = |other: usize| {
                    station.posts[other] == station.posts[post] && free(other) == free(post)
                };
                if !station.reaches(post, task) || (0..post).any(alike) {
                    continue;
                }
                let start = |measure| table.start(station, task, post, measure);
                if start(0) < table.from(0) {
                    continue;
                }
                let fits =
                    (0..measures).all(|m| start(m) + station.tails[m][task] <= self.rooms[m]);
                if fits {
                    options.push((start(0), u64::MAX - station.tails[0][task], task, post));
                }
            }
        }
        options.sort_unstable();
        options
    }

    /// Whether the posts have time for what is left, and what is left for what
    /// follows it.
    fn hopeful(&self, table: &Table) -> bool {
        let station = self.station;
        let measures = self.rooms.len();
        let left = |task: &usize| table.done >> task & 1 == 0;
        (0..measures).all(|measure| {
            let ticks = &station.ticks[measure];
            let mut work = [0_u64; 3];
            for task in (0..ticks.len()).filter(left) {
                work[station.sides[task] as usize] += ticks[task];
                let befores = each(station.before[task] & table.done);
                let ready = befores.map(|b| table.ends[b * measures + measure]).max();
                let ready = ready.unwrap_or(0).max(table.from(measure));
                if ready + station.tails[measure][task] > self.rooms[measure] {
                    return false;
                }
            }
            let room = |side: Side| -> u64 {
                let posts = station.posts.iter().enumerate();
                let own = posts.filter(|(_, stands)| {
                    side == Side::Either || **stands == side || **stands == Side::Either
                });
                own.map(|(post, _)| {
                    let free = table.free[post * measures + measure];
                    self.rooms[measure].saturating_sub(free.max(table.from(measure)))
                })
                .sum()
            };
            work.iter().sum::<u64>() <= room(Side::Either)
                && work[0] <= room(Side::Left)
                && work[1] <= room(Side::Right)
        })
    }

    /// Whether it is known that this leads nowhere; it will be, after this.
    fn known(&mut self, table: &Table) -> bool {
        let from = table.from(0);
        let key = self.key(table);
        match self.seen.get_mut(&key) {
            Some(seen) if *seen <= from => true,
            Some(seen) => {
                *seen = from;
                false
            }
            None => self.seen.insert(key, from).is_some(),
        }
    }

    /// What is done and what that leaves: posts of a side change places freely,
    /// so theirs are in order of when they are free.
    fn key(&self, table: &Table) -> Vec<u64> {
        let measures = self.rooms.len();
        let free = table.free.chunks(measures);
        let mut posts: Vec<_> = self.station.posts.iter().zip(free).collect();
        posts.sort_unstable_by_key(|(side, free)| (**side as usize, *free));
        let mut key = Vec::with_capacity(1 + table.free.len());
        key.push(table.done);
        key.extend(posts.into_iter().flat_map(|(_, free)| free));
        for task in each(table.done) {
            if self.station.after[task] & !table.done != 0 {
                key.extend(&table.ends[task * measures..(task + 1) * measures]);
            }
        }
        key
    }
}
