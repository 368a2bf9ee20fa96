//! Stations whose tasks are given: their posts' order of work, and how long
//! they take for any car.

use super::model::{Line, Measure, Placed, Post, Side, Station};
use super::solve::timetable_within;

/// Steps of search for a timetable where the rules of thumb end beyond takt.
const STEPS: u32 = 3_000;

/// The work of a station whose tasks are given, in an order in which it can be
/// done, on the posts that reach it. It is within takt where a rule of thumb or
/// a short search finds it so, and as little beyond as they find where not.
/// What the tasks follow elsewhere counts as done; rules of place do not count.
///
/// ```
/// use balance::Work;
/// use balance::line::{Line, Side, given_station};
///
/// let work = Work { ticks: vec![4, 4, 3], after: vec![vec![], vec![], vec![0]] };
/// let mut line = Line::plain(work);
/// line.sides = vec![Side::Left, Side::Right, Side::Right];
/// let station = given_station(&line, 7, &[0, 1, 2]);
/// assert_eq!(station.tasks(), [0, 1, 2]);
/// assert_eq!(station.posts[1].work[1].end, 7);
/// ```
pub fn given_station(line: &Line, takt: u32, tasks: &[usize]) -> Station {
    given(line, takt, tasks).0
}

/// The same, and whether it is known that no order of work is within takt where
/// this one is not.
pub(crate) fn given(line: &Line, takt: u32, tasks: &[usize]) -> (Station, bool) {
    let measures = line.measures(takt.max(1));
    let given = Given {
        line,
        measures: &measures,
        posts: line.posts(),
        weights: weights(line, &measures[0], tasks),
        tasks,
    };
    let mut best: Option<((u64, u64), Table)> = None;
    for rule in RULES {
        let table = given.listed(rule);
        let worth = (given.over(&table), table.longest(measures.len()));
        if best.as_ref().is_none_or(|(least, _)| worth < *least) {
            best = Some((worth, table));
        }
    }
    let Some(((over, _), table)) = best else {
        return (given.station(&Table::default()), true);
    };
    if over == 0 || !given.might_fit() {
        return (given.station(&table), true);
    }
    let (searched, all_seen) = timetable_within(line, takt, tasks, STEPS);
    let known = searched.is_some() || all_seen;
    (searched.unwrap_or_else(|| given.station(&table)), known)
}

/// When each post of a station is done with a car that takes so many ticks for
/// each task, the posts' orders kept and what a task follows at the same
/// station awaited. Empty posts are done at 0; posts that wait for each other
/// for ever are done when the others are.
pub fn post_ends(line: &Line, station: &Station, ticks: &dyn Fn(usize) -> u64) -> Vec<u64> {
    let here = station.tasks();
    let mut end = std::collections::BTreeMap::new();
    let mut next = vec![0; station.posts.len()];
    let mut free = vec![0; station.posts.len()];
    let mut moved = true;
    while moved {
        moved = false;
        for (post, work) in station.posts.iter().map(|post| &post.work).enumerate() {
            let Some(placed) = work.get(next[post]) else {
                continue;
            };
            let befores = &line.work.after[placed.task];
            let open = |before: &&usize| here.contains(before) && !end.contains_key(*before);
            if befores.iter().any(|before| open(&before)) {
                continue;
            }
            let ended = befores.iter().filter_map(|before| end.get(before));
            let start = ended.fold(free[post], |start, ended| start.max(*ended));
            free[post] = start + ticks(placed.task);
            end.insert(placed.task, free[post]);
            next[post] += 1;
            moved = true;
        }
    }
    free
}

/// How far ahead of the soonest start a task may be taken, in hundredths of
/// takt, and whether long tasks come first instead of those that much waits for.
const RULES: [(u64, bool); 6] = [
    (0, false),
    (0, true),
    (2, false),
    (2, true),
    (10, false),
    (10, true),
];

struct Given<'a> {
    line: &'a Line,
    measures: &'a [Measure],
    posts: Vec<Side>,
    tasks: &'a [usize],
    /// By place in `tasks`, its time and that of what follows it here.
    weights: Vec<u64>,
}

/// A timetable in the making.
#[derive(Default)]
struct Table {
    /// By post and measure, when the post is free.
    free: Vec<u64>,
    /// Place in the list of tasks, post, ends by measure.
    placed: Vec<(usize, usize, Vec<u64>)>,
}

impl Table {
    fn longest(&self, measures: usize) -> u64 {
        self.free
            .iter()
            .step_by(measures)
            .copied()
            .max()
            .unwrap_or(0)
    }
}

/// Each task's time with that of its followers at the station.
fn weights(line: &Line, measure: &Measure, tasks: &[usize]) -> Vec<u64> {
    let place = |task: &usize| tasks.iter().position(|other| other == task);
    let mut followers: Vec<Vec<usize>> = vec![Vec::new(); tasks.len()];
    for (at, task) in tasks.iter().enumerate() {
        for before in line.work.after[*task].iter().filter_map(place) {
            followers[before].push(at);
        }
    }
    let of = |start: usize| {
        let mut seen = vec![false; tasks.len()];
        let mut open = vec![start];
        let mut sum = 0;
        while let Some(at) = open.pop() {
            if !std::mem::replace(&mut seen[at], true) {
                sum += measure.ticks[tasks[at]];
                open.extend(&followers[at]);
            }
        }
        sum
    };
    (0..tasks.len()).map(of).collect()
}

impl Given<'_> {
    fn reaches(&self, post: usize, task: usize) -> bool {
        let (side, stands) = (self.line.side(task), self.posts[post]);
        side == Side::Either || stands == Side::Either || side == stands
    }

    /// Again and again, of what can start about soonest, what matters most.
    fn listed(&self, (ahead, by_time): (u64, bool)) -> Table {
        let count = self.measures.len();
        let mut table = Table {
            free: vec![0; self.posts.len() * count],
            placed: Vec::new(),
        };
        let mut left: Vec<usize> = (0..self.tasks.len()).collect();
        while !left.is_empty() {
            let waits = |at: &usize| {
                let befores = &self.line.work.after[self.tasks[*at]];
                left.iter()
                    .any(|other| other != at && befores.contains(&self.tasks[*other]))
            };
            let mut open: Vec<usize> = left.iter().copied().filter(|at| !waits(at)).collect();
            if open.is_empty() {
                open.clone_from(&left);
            }
            let mut options = Vec::new();
            for at in open {
                for post in (0..self.posts.len()).filter(|p| self.reaches(*p, self.tasks[at])) {
                    options.push((self.start(&table, at, post, 0), at, post));
                }
            }
            let soonest = options.iter().map(|option| option.0).min().unwrap_or(0);
            let window = self.measures[0].room * ahead / 100;
            let worth = |at: usize| {
                if by_time {
                    self.measures[0].ticks[self.tasks[at]]
                } else {
                    self.weights[at]
                }
            };
            options.retain(|(start, ..)| *start <= soonest + window);
            let chosen = options.into_iter().min_by_key(|(start, at, post)| {
                (std::cmp::Reverse(worth(*at)), *start, *at, *post)
            });
            let Some((_, at, post)) = chosen else { break };
            let ends = (0..count).map(|measure| {
                self.start(&table, at, post, measure) + self.measures[measure].ticks[self.tasks[at]]
            });
            let ends: Vec<u64> = ends.collect();
            table.free[post * count..(post + 1) * count].copy_from_slice(&ends);
            table.placed.push((at, post, ends));
            left.retain(|other| *other != at);
        }
        table
    }

    fn start(&self, table: &Table, at: usize, post: usize, measure: usize) -> u64 {
        let befores = &self.line.work.after[self.tasks[at]];
        let here = table.placed.iter();
        let ends = here
            .filter(|(other, ..)| befores.contains(&self.tasks[*other]))
            .map(|(_, _, ends)| ends[measure]);
        ends.fold(table.free[post * self.measures.len() + measure], u64::max)
    }

    /// The worst that any post exceeds any measure by, in thousandths.
    fn over(&self, table: &Table) -> u64 {
        let ends = table.free.iter().enumerate().map(|(at, end)| {
            let room = self.measures[at % self.measures.len()].room;
            (end.saturating_sub(room) * 1_000).div_ceil(room.max(1))
        });
        ends.max().unwrap_or(0)
    }

    /// Whether sums leave it open that a timetable fits.
    fn might_fit(&self) -> bool {
        let people = u64::from(self.line.people);
        let posts = self.posts.len() as u64;
        self.measures.iter().all(|measure| {
            let sum = |side: Option<Side>| -> u64 {
                let tasks = self.tasks.iter();
                tasks
                    .filter(|task| side.is_none_or(|side| self.line.side(**task) == side))
                    .map(|task| measure.ticks[*task])
                    .sum()
            };
            let one_sided = self.line.sides.is_empty();
            let fits = |side| one_sided || sum(Some(side)) <= people * measure.room;
            sum(None) <= posts * measure.room && fits(Side::Left) && fits(Side::Right)
        })
    }

    fn station(&self, table: &Table) -> Station {
        let blank = |side: &Side| Post {
            side: *side,
            work: Vec::new(),
        };
        let mut posts: Vec<Post> = self.posts.iter().map(blank).collect();
        for (at, post, ends) in &table.placed {
            let task = self.tasks[*at];
            posts[*post].work.push(Placed {
                task,
                start: ends[0] - self.measures[0].ticks[task],
                end: ends[0],
            });
        }
        Station { posts }
    }
}
