//! Stations whose tasks are given: their posts' order of work, and how long
//! they take for any car.

use super::model::{Line, Measure, Placed, Post, Side, Station};
use super::shortest::{self, Order, Within};

/// Steps of search for a timetable within takt.
const STEPS: u32 = 3_000;

/// Steps of search for the shortest.
const STEPS_FOR_SHORTEST: u32 = 100_000;

/// The work of a station whose tasks are given, in an order in which it can be
/// done, on the posts that reach it: within takt where that can be, else with
/// the least excess that any car of the mix can have, and of these with the
/// longest post as short as it can be. A search in bounded steps shows it for
/// stations of up to some ten tasks; beyond that it is the best found.
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
    let takt = takt.max(1);
    let measures = line.measures(takt);
    let given = Given::of(line, &measures, tasks);
    let first = given.by_rules();
    match shortest::Station::of(line, &measures, tasks) {
        Some(station) => {
            let order = shortest_of(line, takt, &station, first.order());
            given.station(&given.in_order(&order))
        }
        _ => given.station(&first),
    }
}

/// The shortest order from one to start with: first the least takt that it is
/// within, down to `takt`; then the first measure alone. What the steps do not
/// tell is taken for impossible, so that the best found stands.
fn shortest_of(line: &Line, takt: u32, station: &shortest::Station, mut best: Order) -> Order {
    let mut steps = STEPS_FOR_SHORTEST;
    let rooms = |takt: u32| -> Vec<u64> { line.measures(takt).iter().map(|m| m.room).collect() };
    let needs = |ends: &[u64]| takt_for(line, ends).max(takt);
    let least: Vec<u64> = (0..rooms(takt).len()).map(|at| station.least(at)).collect();
    let (mut low, mut high) = (needs(&least), needs(&station.ends(&best)));
    while low < high && steps > 0 {
        let middle = low + (high - low) / 2;
        match asked(station, &rooms(middle), &mut steps) {
            Within::Yes(order) => {
                high = needs(&station.ends(&order)).min(middle);
                best = order;
            }
            Within::No | Within::Unknown => low = middle + 1,
        }
    }
    let mut rooms = rooms(high);
    let (mut low, mut longest) = (least[0], station.ends(&best)[0]);
    while low < longest && steps > 0 {
        rooms[0] = low + (longest - low) / 2;
        match asked(station, &rooms, &mut steps) {
            Within::Yes(order) => {
                longest = station.ends(&order)[0];
                best = order;
            }
            Within::No | Within::Unknown => low = rooms[0] + 1,
        }
    }
    best
}

/// Whether a station's work is within some times, with no more than a part of
/// the steps left.
fn asked(station: &shortest::Station, rooms: &[u64], steps: &mut u32) -> Within {
    let part = (*steps / 3).max(1_000).min(*steps);
    let mut left = part;
    let within = station.within(rooms, &mut left);
    *steps -= part - left;
    within
}

/// The least takt at which posts that are done then, by measure, exceed none.
fn takt_for(line: &Line, ends: &[u64]) -> u32 {
    let scale = line.measures(1).first().map_or(1, |mean| mean.room.max(1));
    let allowed = u64::from(1_000 + line.overload_per_mille);
    let each = ends.iter().enumerate().map(|(at, end)| match at {
        0 => end.div_ceil(scale),
        _ => (end * 1_000).div_ceil(allowed),
    });
    let most = each.max().unwrap_or(0).max(1);
    u32::try_from(most).unwrap_or(u32::MAX)
}

/// A station that is within takt where a rule of thumb or a short search finds
/// one, and whether it is known that no order of work is where this one is not.
pub(crate) fn given(line: &Line, takt: u32, tasks: &[usize]) -> (Station, bool) {
    let measures = line.measures(takt.max(1));
    let given = Given::of(line, &measures, tasks);
    let table = given.by_rules();
    if given.over(&table) == 0 || !given.might_fit() {
        return (given.station(&table), true);
    }
    let Some(station) = shortest::Station::of(line, &measures, tasks) else {
        return (given.station(&table), false);
    };
    let rooms: Vec<u64> = measures.iter().map(|measure| measure.room).collect();
    match station.within(&rooms, &mut { STEPS }) {
        Within::Yes(order) => (given.station(&given.in_order(&order)), true),
        Within::No => (given.station(&table), true),
        Within::Unknown => (given.station(&table), false),
    }
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
    fn order(&self) -> Order {
        self.placed
            .iter()
            .map(|(at, post, _)| (*at, *post))
            .collect()
    }

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

impl<'a> Given<'a> {
    fn of(line: &'a Line, measures: &'a [Measure], tasks: &'a [usize]) -> Self {
        Self {
            line,
            measures,
            posts: line.posts(),
            weights: weights(line, &measures[0], tasks),
            tasks,
        }
    }

    /// The best of the rules of thumb.
    fn by_rules(&self) -> Table {
        let tables = RULES.iter().map(|rule| self.listed(*rule));
        let worth = |table: &Table| (self.over(table), table.longest(self.measures.len()));
        tables.min_by_key(worth).unwrap_or_default()
    }

    fn in_order(&self, order: &Order) -> Table {
        let mut table = self.blank();
        for (at, post) in order {
            self.put(&mut table, *at, *post);
        }
        table
    }

    fn blank(&self) -> Table {
        Table {
            free: vec![0; self.posts.len() * self.measures.len()],
            placed: Vec::new(),
        }
    }

    fn put(&self, table: &mut Table, at: usize, post: usize) {
        let count = self.measures.len();
        let ends = (0..count).map(|measure| {
            self.start(table, at, post, measure) + self.measures[measure].ticks[self.tasks[at]]
        });
        let ends: Vec<u64> = ends.collect();
        table.free[post * count..(post + 1) * count].copy_from_slice(&ends);
        table.placed.push((at, post, ends));
    }

    fn reaches(&self, post: usize, task: usize) -> bool {
        let (side, stands) = (self.line.side(task), self.posts[post]);
        side == Side::Either || stands == Side::Either || side == stands
    }

    /// Again and again, of what can start about soonest, what matters most.
    fn listed(&self, (ahead, by_time): (u64, bool)) -> Table {
        let mut table = self.blank();
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
            self.put(&mut table, at, post);
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
