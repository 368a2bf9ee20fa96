//! Tasks renumbered by falling time, with the order as sets.

use crate::set::Set;
use crate::work::Work;

/// Work as one direction of the line sees it. Tasks are numbered by falling
/// time, so that walking a set meets long tasks first: bounds want them so and
/// loads fill better.
#[derive(Clone)]
pub(crate) struct Graph<const W: usize> {
    /// Times, falling.
    pub(crate) ticks: Vec<u32>,
    /// Immediate predecessors; what follows from others is left out.
    pub(crate) before: Vec<Set<W>>,
    /// Immediate followers.
    pub(crate) after: Vec<Vec<u16>>,
    /// All predecessors.
    pub(crate) all_before: Vec<Set<W>>,
    /// All followers.
    pub(crate) all_after: Vec<Set<W>>,
    /// All tasks.
    pub(crate) all: Set<W>,
    /// Their time.
    pub(crate) total: u64,
    /// The position in the caller's list of each task.
    pub(crate) was: Vec<usize>,
}

impl<const W: usize> Graph<W> {
    /// Of work without faults. `order` is an order that respects it.
    pub(crate) fn of(work: &Work, order: &[usize]) -> Self {
        let n = work.ticks.len();
        let mut followers = vec![Set::<W>::EMPTY; n];
        for task in order.iter().rev() {
            let mine = followers[*task].with(*task);
            for before in &work.after[*task] {
                followers[*before] = followers[*before].or(&mine);
            }
        }
        let mut was: Vec<usize> = (0..n).collect();
        was.sort_by_key(|task| {
            (
                std::cmp::Reverse(work.ticks[*task]),
                std::cmp::Reverse(followers[*task].len()),
                *task,
            )
        });
        let mut now = vec![0; n];
        for (new, old) in was.iter().enumerate() {
            now[*old] = new;
        }
        let mut graph = Self {
            ticks: was.iter().map(|old| work.ticks[*old]).collect(),
            before: vec![Set::EMPTY; n],
            after: vec![Vec::new(); n],
            all_before: vec![Set::EMPTY; n],
            all_after: vec![Set::EMPTY; n],
            all: Set::EMPTY,
            total: work.ticks.iter().map(|ticks| u64::from(*ticks)).sum(),
            was,
        };
        for task in 0..n {
            graph.all.put(task);
            for follower in followers[graph.was[task]].iter() {
                graph.all_after[task].put(now[follower]);
                graph.all_before[now[follower]].put(task);
            }
        }
        graph.keep_immediate();
        graph
    }

    fn keep_immediate(&mut self) {
        for task in 0..self.ticks.len() {
            let mut direct = self.all_after[task];
            for between in self.all_after[task].iter() {
                direct = direct.less(&self.all_after[between]);
            }
            for follower in direct.iter() {
                self.after[task].push(follower as u16);
                self.before[follower].put(task);
            }
        }
    }

    /// The same work walked from the end of the line.
    pub(crate) fn reversed(&self) -> Self {
        let n = self.ticks.len();
        let mut graph = Self {
            ticks: self.ticks.clone(),
            before: vec![Set::EMPTY; n],
            after: vec![Vec::new(); n],
            all_before: self.all_after.clone(),
            all_after: self.all_before.clone(),
            all: self.all,
            total: self.total,
            was: self.was.clone(),
        };
        for task in 0..n {
            for follower in &self.after[task] {
                graph.before[task].put(usize::from(*follower));
                graph.after[usize::from(*follower)].push(task as u16);
            }
        }
        graph
    }

    /// Loads in the caller's numbers, each in an order in which it can be done.
    pub(crate) fn listed(&self, loads: &[Set<W>], order: &[usize]) -> Vec<Vec<usize>> {
        let mut place = vec![0; order.len()];
        for (at, task) in order.iter().enumerate() {
            place[*task] = at;
        }
        let listed = loads.iter().map(|load| {
            let mut tasks: Vec<usize> = load.iter().map(|task| self.was[task]).collect();
            tasks.sort_by_key(|task| place[*task]);
            tasks
        });
        listed.collect()
    }

    /// Ticks of the longest of some loads.
    pub(crate) fn longest(&self, loads: &[Set<W>]) -> u32 {
        let sum = |load: &Set<W>| load.iter().map(|task| self.ticks[task]).sum();
        loads.iter().map(sum).max().unwrap_or(0)
    }

    /// How many tasks there are.
    pub(crate) fn len(&self) -> usize {
        self.ticks.len()
    }
}
