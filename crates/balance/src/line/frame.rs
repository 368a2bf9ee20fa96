//! A line made ready for search.

use super::model::{Line, Measure, Side};
use crate::set::Set;
use crate::simple::{Weights, packed, weights_by_reach};

/// Everything about a line that does not change during a search. Tasks keep
/// the caller's numbers.
pub(crate) struct Frame<const W: usize> {
    pub(crate) posts: Vec<Side>,
    pub(crate) sides: Vec<Side>,
    pub(crate) measures: Vec<Measure>,
    pub(crate) before: Vec<Vec<usize>>,
    pub(crate) before_set: Vec<Set<W>>,
    pub(crate) after: Vec<Vec<usize>>,
    pub(crate) all_before: Vec<Set<W>>,
    pub(crate) all_after: Vec<Set<W>>,
    pub(crate) all: Set<W>,
    /// The place of each task in the order in which they are tried.
    pub(crate) rank: Vec<usize>,
    /// The task's own time and that of all its followers, first measure.
    pub(crate) weight: Vec<u64>,
    /// Tasks under no rule of place.
    pub(crate) free: Set<W>,
    /// Of these, those that nothing follows.
    pub(crate) loose: Set<W>,
    /// Groups of tasks that share a station.
    pub(crate) groups: Vec<Set<W>>,
    pub(crate) apart: Vec<Set<W>>,
    pub(crate) fixed: Vec<Option<u32>>,
    pub(crate) distance: Vec<(usize, usize, u32)>,
    /// Prices for packing by the first measure, each with the posts of a
    /// station that share them: all of them, and those of each side.
    pub(crate) weights: Vec<(Weights, u64)>,
    /// The first measure in whole ticks, rounded down, and takt.
    whole: Vec<u32>,
    takt: u32,
}

impl<const W: usize> Frame<W> {
    pub(crate) fn of(line: &Line, order: &[usize], takt: u32) -> Self {
        let n = line.work.ticks.len();
        let measures = line.measures(takt);
        let mut frame = Self {
            posts: line.posts(),
            sides: (0..n).map(|task| line.side(task)).collect(),
            before: line.work.after.clone(),
            before_set: vec![Set::EMPTY; n],
            after: vec![Vec::new(); n],
            all_before: vec![Set::EMPTY; n],
            all_after: vec![Set::EMPTY; n],
            all: Set::EMPTY,
            rank: vec![0; n],
            weight: vec![0; n],
            free: Set::EMPTY,
            loose: Set::EMPTY,
            groups: Vec::new(),
            apart: vec![Set::EMPTY; n],
            fixed: vec![None; n],
            distance: line.rules.distance.clone(),
            weights: Vec::new(),
            whole: measures[0].whole(takt),
            takt,
            measures,
        };
        frame.put_in_order(order);
        frame.put_rules(line);
        frame
    }

    fn put_in_order(&mut self, order: &[usize]) {
        for task in order {
            self.all.put(*task);
            for before in self.before[*task].clone() {
                self.before_set[*task].put(before);
                self.after[before].push(*task);
                let upstream = self.all_before[before].with(before);
                self.all_before[*task] = self.all_before[*task].or(&upstream);
            }
        }
        for task in order.iter().rev() {
            let behind = self.all_after[*task];
            self.weight[*task] = self.measures[0].ticks[*task]
                + behind
                    .iter()
                    .map(|t| self.measures[0].ticks[t])
                    .sum::<u64>();
            for before in self.before[*task].clone() {
                self.all_after[before] = self.all_after[before].or(&behind.with(*task));
            }
        }
        let mut tried = order.to_vec();
        tried.sort_by_key(|task| (std::cmp::Reverse(self.weight[*task]), *task));
        for (rank, task) in tried.iter().enumerate() {
            self.rank[*task] = rank;
        }
    }

    fn put_rules(&mut self, line: &Line) {
        let rules = &line.rules;
        let mut ruled = Set::EMPTY;
        let group = line.groups();
        for first in 0..group.len() {
            let mut tasks = Set::EMPTY;
            for (task, of) in group.iter().enumerate() {
                if *of == first {
                    tasks.put(task);
                }
            }
            if tasks.len() > 1 {
                ruled = ruled.or(&tasks);
                self.groups.push(tasks);
            }
        }
        for (one, other) in &rules.apart {
            self.apart[*one].put(*other);
            self.apart[*other].put(*one);
            ruled = ruled.with(*one).with(*other);
        }
        for (task, station) in &rules.fixed {
            self.fixed[*task] = Some(*station as u32);
            ruled.put(*task);
        }
        for (one, other, _) in &rules.distance {
            ruled = ruled.with(*one).with(*other);
        }
        self.free = self.all.less(&ruled);
        for task in self.free.iter() {
            if self.after[task].is_empty() {
                self.loose.put(task);
            }
        }
    }

    /// Puts prices on the tasks as for a plain line, by the first measure; what
    /// rounding it down loses only makes them weaker. A side is priced by itself
    /// where its work alone asks for `bound` stations.
    pub(crate) fn price(&mut self, bound: u32) {
        let posts = self.posts.len() as u64;
        let reach = |side: &Side| match side {
            Side::Left => 1,
            Side::Right => 2,
            Side::Either => 3,
        };
        let each = self.whole.iter().zip(&self.sides);
        let tasks: Vec<(u32, u8)> = each.map(|(ticks, side)| (*ticks, reach(side))).collect();
        let one_sided = self.posts[0] == Side::Either;
        let mut price = |tasks: &[(u32, u8)], posts: u64| {
            let priced = weights_by_reach(tasks, self.takt);
            self.weights.extend(priced.map(|priced| (priced, posts)));
        };
        if one_sided {
            let alike: Vec<(u32, u8)> = tasks.iter().map(|(ticks, _)| (*ticks, 1)).collect();
            price(&alike, posts);
            return;
        }
        price(&tasks, posts);
        for side in [1, 2] {
            let own = |(ticks, reach): &(u32, u8)| (if *reach == side { *ticks } else { 0 }, 1);
            let tasks: Vec<(u32, u8)> = tasks.iter().map(own).collect();
            let sum: u64 = tasks.iter().map(|(ticks, _)| u64::from(*ticks)).sum();
            if sum.div_ceil(posts / 2 * u64::from(self.takt)) >= u64::from(bound) {
                price(&tasks, posts / 2);
            }
        }
    }

    /// Stations that a set of tasks needs by the prices.
    pub(crate) fn by_weight(&self, tasks: &Set<W>) -> u64 {
        let each = self.weights.iter().map(|(weights, posts)| {
            let weight = tasks.iter().map(|task| u64::from(weights.of[task])).sum();
            weights.stations(weight).div_ceil(*posts)
        });
        each.max().unwrap_or(0)
    }

    /// The fewest stations that a set of tasks needs: by each measure and side
    /// and by packing, order disregarded.
    pub(crate) fn needs(&self, tasks: &Set<W>) -> u32 {
        let posts = self.posts.len() as u64;
        let mut most = 0;
        for measure in &self.measures {
            let mut sums = [0; 3];
            for task in tasks.iter() {
                sums[self.sides[task] as usize] += measure.ticks[task];
            }
            most = most.max(self.by_sums(&sums, measure.room));
        }
        let mut ticks: Vec<u32> = tasks.iter().map(|task| self.whole[task]).collect();
        ticks.sort_unstable_by_key(|ticks| std::cmp::Reverse(*ticks));
        most = most.max(u64::from(packed(&ticks, self.takt)).div_ceil(posts));
        most = most.max(self.by_weight(tasks));
        most as u32
    }

    /// Stations for so many ticks of left, right and either-sided work.
    pub(crate) fn by_sums(&self, sums: &[u64; 3], room: u64) -> u64 {
        let posts = self.posts.len() as u64;
        let all = (sums[0] + sums[1] + sums[2]).div_ceil(posts * room);
        if self.posts[0] == Side::Either {
            return all;
        }
        let one_side = posts / 2 * room;
        all.max(sums[0].div_ceil(one_side))
            .max(sums[1].div_ceil(one_side))
    }

    /// The first station, from 0, at which each task can stand: by the longest
    /// way through its predecessors, where none reaches over a station's end,
    /// and by what they need.
    pub(crate) fn earliest(&self, order: &[usize]) -> Vec<u32> {
        let mut at = vec![0_u64; order.len()];
        // Only the mean tells when a station's time is up for all measures.
        for measure in &self.measures {
            let mut start = vec![0_u64; order.len()];
            for task in order {
                let mut head = at[*task] * measure.room;
                for before in &self.before[*task] {
                    head = head.max(start[*before] + measure.ticks[*before]);
                }
                for (one, other, stations) in &self.distance {
                    if other == task {
                        let from = start[*one] / measure.room + u64::from(*stations);
                        head = head.max(from * measure.room);
                    }
                }
                let needs = self.needs(&self.all_before[*task].with(*task));
                head = head.max(u64::from(needs.saturating_sub(1)) * measure.room);
                if let Some(station) = self.fixed[*task] {
                    head = head.max(u64::from(station) * measure.room);
                }
                let end = head.next_multiple_of(measure.room);
                start[*task] = if head + measure.ticks[*task] > end && head < end {
                    end
                } else {
                    head
                };
                at[*task] = start[*task] / measure.room;
            }
            for tasks in &self.groups {
                let last = tasks.iter().map(|task| at[task]).max().unwrap_or(0);
                for task in tasks.iter() {
                    at[task] = last;
                }
            }
        }
        at.iter().map(|station| *station as u32).collect()
    }

    /// How many stations must lie behind each task's own; the fixed aside.
    pub(crate) fn behind(&self, order: &[usize]) -> Vec<u32> {
        let mut behind = vec![0_u64; order.len()];
        for measure in &self.measures {
            let mut tail = vec![0_u64; order.len()];
            for task in order.iter().rev() {
                let mut after = behind[*task] * measure.room;
                for follower in &self.after[*task] {
                    after = after.max(tail[*follower] + measure.ticks[*follower]);
                }
                for (one, other, stations) in &self.distance {
                    if one == task {
                        let from = tail[*other] / measure.room + u64::from(*stations);
                        after = after.max(from * measure.room);
                    }
                }
                let needs = self.needs(&self.all_after[*task].with(*task));
                after = after.max(u64::from(needs.saturating_sub(1)) * measure.room);
                let end = after.next_multiple_of(measure.room);
                tail[*task] = if after + measure.ticks[*task] > end && after < end {
                    end
                } else {
                    after
                };
                behind[*task] = tail[*task] / measure.room;
            }
            for tasks in &self.groups {
                let most = tasks.iter().map(|task| behind[task]).max().unwrap_or(0);
                for task in tasks.iter() {
                    behind[task] = most;
                }
            }
        }
        behind.iter().map(|stations| *stations as u32).collect()
    }
}
