//! The least cost exactly, for work of moderate size: best first over sets of
//! tasks done, each with the least cost that leads to it.

use std::cmp::Reverse;
use std::collections::{BinaryHeap, HashMap, HashSet};
use std::hash::BuildHasherDefault;

use super::bound::Prices;
use super::load::equipped;
use super::model::{Equipped, Mode, Shop};
use crate::line::Mix;
use crate::set::Set;
use crate::watch::Watch;

/// What the search has shown.
pub(crate) enum Shown {
    /// These stations cost less than the best before, and nothing less.
    Cheaper(Vec<Equipped>),
    /// Nothing costs less than the best before.
    None,
    /// No answer costs less than this.
    AtLeast(u64),
}

struct State<const W: usize> {
    done: Set<W>,
    cost: u64,
    parent: u32,
    kind: usize,
    work: Vec<(usize, usize)>,
}

pub(crate) struct Search<'a, const W: usize> {
    shop: &'a Shop,
    useful: &'a [Vec<(usize, Mode)>],
    takt: u32,
    prices: Prices,
    before: Vec<Set<W>>,
    all: Set<W>,
    states: Vec<State<W>>,
    known: HashMap<Set<W>, u32, BuildHasherDefault<Mix>>,
    steps_left: u64,
    ended: bool,
    watch: &'a Watch<'a>,
}

/// Tasks with their modes that were put together before.
type Seen = HashSet<Vec<(usize, usize)>, BuildHasherDefault<Mix>>;

/// A station in the making.
#[derive(Clone)]
struct Part<const W: usize> {
    tasks: Set<W>,
    tools: u64,
    ticks: u64,
    work: Vec<(usize, usize)>,
}

impl<'a, const W: usize> Search<'a, W> {
    pub(crate) fn new(
        shop: &'a Shop,
        useful: &'a [Vec<(usize, Mode)>],
        takt: u32,
        steps: u64,
        watch: &'a Watch<'a>,
    ) -> Self {
        let n = shop.after.len();
        let mut before = vec![Set::EMPTY; n];
        let mut all = Set::EMPTY;
        for (task, befores) in before.iter_mut().enumerate() {
            all.put(task);
            for earlier in &shop.after[task] {
                befores.put(*earlier);
            }
        }
        Self {
            shop,
            useful,
            takt,
            prices: Prices::of(shop, useful, takt),
            before,
            all,
            states: Vec::new(),
            known: HashMap::default(),
            steps_left: steps,
            ended: false,
            watch,
        }
    }

    /// Looks for less than `best` with so many states.
    pub(crate) fn run(&mut self, best: u64, most_states: usize) -> Shown {
        let mut open = BinaryHeap::new();
        self.states.push(State {
            done: Set::EMPTY,
            cost: 0,
            parent: 0,
            kind: 0,
            work: Vec::new(),
        });
        open.push(Reverse((self.ahead(&Set::EMPTY), 0, 0_u32)));
        while let Some(Reverse((least, _, at))) = open.pop() {
            let state = &self.states[at as usize];
            if self
                .known
                .get(&state.done)
                .is_some_and(|other| *other != at)
            {
                continue;
            }
            if least >= best {
                return Shown::None;
            }
            if state.done == self.all {
                return Shown::Cheaper(self.way_to(at));
            }
            if self.ended || self.states.len() >= most_states {
                return Shown::AtLeast(least);
            }
            let (done, cost) = (state.done, state.cost);
            for kind in 0..self.shop.kinds.len() {
                let parts = self.parts(&done, kind);
                if self.ended {
                    return Shown::AtLeast(least);
                }
                for part in parts {
                    let next = done.or(&part.tasks);
                    let station = equipped(self.shop, kind, &part.work);
                    let spent = cost + station.cost_per_year;
                    let least = spent + self.ahead(&next);
                    let known = self.known.get(&next);
                    let known = known.map_or(u64::MAX, |at| self.states[*at as usize].cost);
                    if least >= best || known <= spent {
                        continue;
                    }
                    let child = self.states.len() as u32;
                    self.known.insert(next, child);
                    self.states.push(State {
                        done: next,
                        cost: spent,
                        parent: at,
                        kind,
                        work: part.work,
                    });
                    let left = self.all.less(&next).len();
                    open.push(Reverse((least, left, child)));
                }
            }
        }
        Shown::None
    }

    fn ahead(&self, done: &Set<W>) -> u64 {
        let undone = self.all.less(done);
        self.prices
            .cost(undone.iter().map(|task| self.prices.of[task]).sum())
    }

    /// The loads of one of a kind that no further task fits without a further
    /// tool.
    fn parts(&mut self, done: &Set<W>, kind: usize) -> Vec<Part<W>> {
        let mut found = Vec::new();
        let mut seen = Seen::default();
        let blank = Part {
            tasks: Set::EMPTY,
            tools: 0,
            ticks: 0,
            work: Vec::new(),
        };
        self.grow(done, kind, &blank, &mut seen, &mut found);
        found
    }

    fn grow(
        &mut self,
        done: &Set<W>,
        kind: usize,
        part: &Part<W>,
        seen: &mut Seen,
        found: &mut Vec<Part<W>>,
    ) {
        self.ended |=
            self.steps_left == 0 || self.steps_left.is_multiple_of(256) && self.watch.cancelled();
        if self.ended {
            return;
        }
        self.steps_left -= 1;
        let now = done.or(&part.tasks);
        let mut full = true;
        for task in self.all.less(&now).iter() {
            if !self.before[task].within(&now) {
                continue;
            }
            for (at, mode) in &self.useful[task] {
                if mode.kind != kind {
                    continue;
                }
                let Some(next) = self.with(kind, part, task, *at, *mode) else {
                    continue;
                };
                full &= next.tools != part.tools;
                let mut chosen = next.work.clone();
                chosen.sort_unstable();
                if seen.insert(chosen) {
                    self.grow(done, kind, &next, seen, found);
                }
            }
        }
        if full && !part.work.is_empty() {
            found.push(part.clone());
        }
    }

    /// The part with a task more; none where it no longer fits. A further task
    /// never saves a tool change, so nothing is lost.
    fn with(
        &self,
        kind: usize,
        part: &Part<W>,
        task: usize,
        at: usize,
        mode: Mode,
    ) -> Option<Part<W>> {
        let mut next = part.clone();
        next.tasks.put(task);
        next.tools |= mode.tool.map_or(0, |tool| 1 << tool.min(63));
        next.ticks += u64::from(mode.ticks);
        next.work.push((task, at));
        let least = next.tools.count_ones().saturating_sub(1);
        let change = u64::from(self.shop.kinds[kind].tool_change);
        if next.ticks + u64::from(least) * change > u64::from(self.takt) {
            return None;
        }
        let station = equipped(self.shop, kind, &next.work);
        (station.ticks <= u64::from(self.takt)).then_some(next)
    }

    fn way_to(&self, at: u32) -> Vec<Equipped> {
        let mut stations = Vec::new();
        let mut at = at;
        while at != 0 {
            let state = &self.states[at as usize];
            stations.push(equipped(self.shop, state.kind, &state.work));
            at = state.parent;
        }
        stations.reverse();
        stations
    }
}
