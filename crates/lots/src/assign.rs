//! Which item on which line.
//!
//! Items are moved and swapped between lines as long as that lowers the sum of
//! a quick figure for each line; a few random kicks lead out of dead ends. The
//! quick figure is closed or nearly so: the rotation cycle's cost, or the
//! independent solution's, which the search for sequences comes within a
//! percent or two of.

use std::sync::atomic::{AtomicBool, Ordering};

use crate::bound;
use crate::model::{Checked, Job};
use crate::rotation;
use crate::stream::Stream;

/// How a line's items are judged.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Yardstick {
    /// The cost of the rotation cycle.
    Rotation,
    /// The cost of the independent solution on this share of the line's time.
    Independent(f64),
    /// The least load alone.
    Load,
}

/// First the load that does not fit, then the cost.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Grade {
    pub(crate) over: f64,
    pub(crate) cost: f64,
}

impl Grade {
    const NONE: Self = Self {
        over: 0.0,
        cost: 0.0,
    };

    fn plus(self, other: Self) -> Self {
        Self {
            over: self.over + other.over,
            cost: self.cost + other.cost,
        }
    }

    fn below(self, other: Self) -> bool {
        if (self.over - other.over).abs() > 1e-12 {
            self.over < other.over
        } else {
            self.cost < other.cost - 1e-12 * other.cost.abs()
        }
    }
}

impl Yardstick {
    pub(crate) fn grade(self, jobs: &[Job]) -> Grade {
        if jobs.is_empty() {
            return Grade::NONE;
        }
        let capacity = match self {
            Self::Independent(capacity) => capacity,
            _ => 1.0,
        };
        let load = bound::least_load(jobs);
        let over = (load - capacity).max(0.0);
        if over > 0.0 {
            return Grade { over, cost: 0.0 };
        }
        match self {
            Self::Load => Grade {
                over,
                // Even loads leave the most room on every line.
                cost: load * load,
            },
            Self::Rotation => match rotation::of(jobs) {
                Ok(rotation) => Grade {
                    over,
                    cost: rotation.cost,
                },
                Err(floor) => Grade {
                    over: floor.least_days / floor.most_days - 1.0,
                    cost: 0.0,
                },
            },
            Self::Independent(_) => bound::independent(jobs, capacity).map_or(
                Grade {
                    over: 1e-9,
                    cost: 0.0,
                },
                |relaxed| Grade {
                    over,
                    cost: relaxed.cost,
                },
            ),
        }
    }
}

/// The way taken for each item, with the sum of the lines' grades.
#[derive(Clone, Debug)]
pub(crate) struct Assignment {
    pub(crate) way: Vec<usize>,
    pub(crate) grade: Grade,
}

impl Assignment {
    /// The largest loads first, each to the line on which that leaves the least.
    pub(crate) fn spread(checked: &Checked, yardstick: Yardstick) -> Self {
        Desk::spread(checked, yardstick).assignment()
    }

    /// Ways at hand, graded.
    pub(crate) fn judged(checked: &Checked, yardstick: Yardstick, way: &[usize]) -> Self {
        Desk::new(checked, yardstick, way.to_vec()).assignment()
    }

    /// The items on a line.
    pub(crate) fn items_on(&self, checked: &Checked, line: usize) -> Vec<usize> {
        (0..checked.item_count())
            .filter(|&item| checked.line_of(item, self.way[item]) == line)
            .collect()
    }

    /// The jobs of these items on the lines they are on.
    pub(crate) fn jobs(&self, checked: &Checked, items: &[usize]) -> Vec<Job> {
        items
            .iter()
            .map(|&item| checked.ways(item)[self.way[item]])
            .collect()
    }
}

/// Lines graded at most, which bounds the time that the assignment takes.
const MOST_GRADED: u64 = 40_000;
/// Items put on other lines by a kick.
const KICKED: usize = 3;

struct Desk<'a> {
    checked: &'a Checked,
    yardstick: Yardstick,
    grades: Vec<Grade>,
    way: Vec<usize>,
    graded: u64,
}

/// A good assignment by the yardstick.
pub(crate) fn assign(
    checked: &Checked,
    yardstick: Yardstick,
    seed: u64,
    cancel: &AtomicBool,
) -> Assignment {
    improve(Desk::spread(checked, yardstick), seed, cancel)
}

/// A good assignment, starting from one at hand.
pub(crate) fn assign_from(
    checked: &Checked,
    yardstick: Yardstick,
    way: &[usize],
    seed: u64,
    cancel: &AtomicBool,
) -> Assignment {
    improve(Desk::new(checked, yardstick, way.to_vec()), seed, cancel)
}

fn improve(mut desk: Desk<'_>, seed: u64, cancel: &AtomicBool) -> Assignment {
    let (checked, yardstick) = (desk.checked, desk.yardstick);
    let choosers: Vec<usize> = (0..checked.item_count())
        .filter(|&item| checked.ways(item).len() > 1)
        .collect();
    desk.descend(&choosers, cancel);
    let mut best = desk.assignment();
    let mut stream = Stream::keyed(seed, u64::MAX, 0);
    let enough = |best: &Assignment| matches!(yardstick, Yardstick::Load) && best.grade.over <= 0.0;
    while !choosers.is_empty()
        && !enough(&best)
        && desk.graded < MOST_GRADED
        && !cancel.load(Ordering::Relaxed)
    {
        desk.way.clone_from(&best.way);
        for _ in 0..KICKED {
            let item = choosers[stream.below(choosers.len())];
            desk.way[item] = stream.below(checked.ways(item).len());
        }
        desk.grade_all();
        desk.descend(&choosers, cancel);
        let found = desk.assignment();
        if found.grade.below(best.grade) {
            best = found;
        }
    }
    best
}

impl<'a> Desk<'a> {
    /// Largest loads first, each to the line on which that leaves the least.
    fn spread(checked: &'a Checked, yardstick: Yardstick) -> Self {
        let n = checked.item_count();
        let mut order: Vec<usize> = (0..n).collect();
        let least = |item: usize| {
            let loads = checked.ways(item).iter().map(Job::least_load);
            loads.fold(f64::INFINITY, f64::min)
        };
        order.sort_by(|a, b| {
            let ways = |item: usize| checked.ways(item).len();
            let few = ways(*a).min(2).cmp(&ways(*b).min(2));
            few.then(least(*b).total_cmp(&least(*a)))
        });
        let mut load = vec![0.0; checked.line_count()];
        let mut way = vec![0; n];
        for item in order {
            let after =
                |w: usize| load[checked.line_of(item, w)] + checked.ways(item)[w].least_load();
            let ways = 0..checked.ways(item).len();
            way[item] = ways
                .min_by(|a, b| after(*a).total_cmp(&after(*b)))
                .unwrap_or(0);
            load[checked.line_of(item, way[item])] = after(way[item]);
        }
        Self::new(checked, yardstick, way)
    }

    fn new(checked: &'a Checked, yardstick: Yardstick, way: Vec<usize>) -> Self {
        let mut desk = Self {
            checked,
            yardstick,
            grades: vec![Grade::NONE; checked.line_count()],
            way,
            graded: 0,
        };
        desk.grade_all();
        desk
    }

    fn assignment(&self) -> Assignment {
        Assignment {
            way: self.way.clone(),
            grade: self.grades.iter().fold(Grade::NONE, |sum, g| sum.plus(*g)),
        }
    }

    fn grade_all(&mut self) {
        for line in 0..self.grades.len() {
            self.grades[line] = self.grade(line);
        }
    }

    fn grade(&mut self, line: usize) -> Grade {
        self.graded += 1;
        let jobs: Vec<Job> = (0..self.way.len())
            .filter(|&item| self.checked.line_of(item, self.way[item]) == line)
            .map(|item| self.checked.ways(item)[self.way[item]])
            .collect();
        self.yardstick.grade(&jobs)
    }

    /// Changes the ways of these items if that is better.
    fn try_ways(&mut self, changes: &[(usize, usize)]) -> bool {
        let old: Vec<(usize, usize)> = changes.iter().map(|c| (c.0, self.way[c.0])).collect();
        let mut lines: Vec<usize> = Vec::new();
        for (item, way) in changes.iter().chain(&old) {
            let line = self.checked.line_of(*item, *way);
            if !lines.contains(&line) {
                lines.push(line);
            }
        }
        for (item, way) in changes {
            self.way[*item] = *way;
        }
        let sum = |grades: &[Grade]| grades.iter().fold(Grade::NONE, |sum, g| sum.plus(*g));
        let before: Vec<Grade> = lines.iter().map(|&line| self.grades[line]).collect();
        let after: Vec<Grade> = lines.iter().map(|&line| self.grade(line)).collect();
        if sum(&after).below(sum(&before)) {
            for (line, grade) in lines.into_iter().zip(after) {
                self.grades[line] = grade;
            }
            return true;
        }
        for (item, way) in old {
            self.way[item] = way;
        }
        false
    }

    /// Moves and swaps until none helps.
    fn descend(&mut self, choosers: &[usize], cancel: &AtomicBool) {
        let mut going = true;
        while going && self.graded < MOST_GRADED && !cancel.load(Ordering::Relaxed) {
            going = false;
            for &item in choosers {
                for way in 0..self.checked.ways(item).len() {
                    going |= way != self.way[item] && self.try_ways(&[(item, way)]);
                }
            }
            for (n, &a) in choosers.iter().enumerate() {
                for &b in &choosers[n + 1..] {
                    going |= self.swap(a, b);
                }
                if self.graded >= MOST_GRADED {
                    return;
                }
            }
        }
    }

    fn swap(&mut self, a: usize, b: usize) -> bool {
        let line = |item: usize| self.checked.line_of(item, self.way[item]);
        let (line_a, line_b) = (line(a), line(b));
        if line_a == line_b {
            return false;
        }
        let way_to = |item: usize, line: usize| {
            (0..self.checked.ways(item).len()).find(|&way| self.checked.line_of(item, way) == line)
        };
        match (way_to(a, line_b), way_to(b, line_a)) {
            (Some(way_a), Some(way_b)) => self.try_ways(&[(a, way_a), (b, way_b)]),
            _ => false,
        }
    }
}
