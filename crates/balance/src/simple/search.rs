//! Is there a balance of at most so many stations? Branch, bound and remember
//! (Sewell & Jacobson 2012; Morrison, Sewell & Jacobson 2014).
//!
//! States are sets of tasks done. The search goes round the stations and
//! expands the most promising state at each (cyclic best first), so that it
//! finds answers like a diving heuristic and still ends with a proof. A state
//! with very many loads is expanded in part and put off; the search has shown
//! that there is no answer only when nothing is open and nothing put off.

use std::cmp::Reverse;
use std::collections::BinaryHeap;

use super::bound::{due, earliest, in_sixths, packed};
use super::graph::Graph;
use super::loads::{Cut, Load, Loader, Station};
use super::memory::{Memory, OUTDONE, Seen};
use super::packing::Weights;
use crate::set::Set;
use crate::watch::Watch;

/// How a spell of search ended.
pub(crate) enum Spell<const W: usize> {
    /// With an answer: a load for every station.
    Found(Vec<Set<W>>),
    /// There is no answer.
    Refuted,
    /// The steps given are used up, or the caller wants an end.
    Open,
}

/// What does not change during a search.
struct Frame<'a, const W: usize> {
    graph: &'a Graph<W>,
    takt: u32,
    stations: u32,
    /// Ticks that may be idle on the whole line.
    idle: u64,
    /// By stations filled, what must be done by then.
    due: Vec<Set<W>>,
    /// By task, the last station at which it can stand.
    latest: Vec<u32>,
    /// By task, those that could always stand in its place.
    stronger: Vec<Vec<u16>>,
    /// By task, its weight in the count of large tasks.
    sixths: Vec<u32>,
    /// By task, its weight as priced.
    weights: Weights,
    /// Tasks that nothing follows.
    last: Set<W>,
    /// Weight of a task undone against ticks idle in the order of search.
    small: i64,
}

/// A search in one direction that can be taken up again.
pub(crate) struct Search<'a, const W: usize> {
    frame: Frame<'a, W>,
    memory: Memory<W>,
    open: Vec<BinaryHeap<Reverse<(i64, u32)>>>,
    put_off: Vec<u32>,
    loader: Loader,
    children: Vec<Load<W>>,
    scratch: Vec<u32>,
    room: Vec<(u64, u64, u64)>,
    cursor: usize,
    open_count: usize,
    started: bool,
}

const FIRST_LOADS: u32 = 1_000;

impl<'a, const W: usize> Search<'a, W> {
    /// For at most `stations` stations, of which `graph` sees one direction
    /// and `back` the other.
    pub(crate) fn new(
        graph: &'a Graph<W>,
        back: &Graph<W>,
        takt: u32,
        stations: u32,
        weights: &Weights,
        memory_mb: u32,
    ) -> Self {
        let from_end = earliest(back, takt);
        let latest = from_end
            .iter()
            .map(|behind| (stations - 1).saturating_sub(*behind))
            .collect();
        let mut last = Set::EMPTY;
        for task in 0..graph.len() {
            if graph.after[task].is_empty() {
                last.put(task);
            }
        }
        let frame = Frame {
            graph,
            takt,
            stations,
            idle: (u64::from(stations) * u64::from(takt)).saturating_sub(graph.total),
            due: due(graph, &from_end, stations),
            latest,
            stronger: stronger(graph),
            sixths: graph
                .ticks
                .iter()
                .map(|ticks| in_sixths(*ticks, takt))
                .collect(),
            weights: weights.clone(),
            last,
            small: (graph.total / (20 * graph.len() as u64)).max(1) as i64,
        };
        Self {
            frame,
            memory: Memory::of(memory_mb, last),
            open: vec![BinaryHeap::new(); stations as usize],
            put_off: Vec::new(),
            loader: Loader::default(),
            children: Vec::new(),
            scratch: Vec::new(),
            room: Vec::new(),
            cursor: 0,
            open_count: 0,
            started: false,
        }
    }

    /// Steps of enumeration taken so far.
    pub(crate) fn steps(&self) -> u64 {
        self.loader.steps
    }

    /// Goes on for about so many steps.
    pub(crate) fn spell(&mut self, steps: u64, watch: &Watch<'_>) -> Spell<W> {
        if !self.started {
            self.started = true;
            let whole = u64::from(self.frame.stations) * u64::from(self.frame.takt);
            if whole < self.frame.graph.total {
                return Spell::Refuted;
            }
            if let Seen::New(at) = self.memory.note(&Set::EMPTY, 0, 0, 0) {
                self.push(0, 0, at);
            }
        }
        let until = self.loader.steps.saturating_add(steps);
        while self.loader.steps < until {
            if watch.cancelled() {
                return Spell::Open;
            }
            let Some(at) = self.next() else {
                if self.take_up() {
                    continue;
                }
                return Spell::Refuted;
            };
            if let Some(found) = self.expand(at, watch) {
                return Spell::Found(found);
            }
        }
        Spell::Open
    }

    fn push(&mut self, filled: u16, worth: i64, at: u32) {
        self.open[usize::from(filled)].push(Reverse((worth, at)));
        self.open_count += 1;
    }

    /// The best open state at the next station that has one.
    fn next(&mut self) -> Option<u32> {
        while self.open_count > 0 {
            if self.cursor >= self.open.len() {
                self.cursor = 0;
            }
            let level = self.cursor;
            self.cursor += 1;
            while let Some(Reverse((_, at))) = self.open[level].pop() {
                self.open_count -= 1;
                if self.memory.states[at as usize].filled != OUTDONE {
                    return Some(at);
                }
            }
        }
        None
    }

    /// Opens what was put off again, with room for more loads each.
    fn take_up(&mut self) -> bool {
        let put_off = std::mem::take(&mut self.put_off);
        let mut any = false;
        for at in &put_off {
            if self.memory.states[*at as usize].filled == OUTDONE {
                continue;
            }
            any = true;
            let state = &self.memory.states[*at as usize];
            let (filled, worth) = (state.filled, self.frame.worth(&state.done, state.filled));
            self.push(filled, worth, *at);
        }
        self.cursor = 0;
        any
    }

    /// Fills the next station of a state in all ways that matter.
    fn expand(&mut self, at: u32, watch: &Watch<'_>) -> Option<Vec<Set<W>>> {
        let state = &self.memory.states[at as usize];
        let (done, filled, put_off) = (state.done, state.filled, state.put_off);
        let loads = FIRST_LOADS.saturating_mul(8_u32.saturating_pow(put_off.into()));
        let mut children = std::mem::take(&mut self.children);
        children.clear();
        let cut = Cut {
            loads,
            steps: loads.saturating_mul(20),
        };
        let whole = self
            .frame
            .loads(&mut self.loader, &done, filled, cut, watch, &mut children);
        let mut found = None;
        for (at_child, load) in children.iter().enumerate() {
            if at_child % 256 == 255 && watch.cancelled() {
                break;
            }
            if !self
                .frame
                .hopeful(load, filled, &mut self.scratch, &mut self.room)
            {
                continue;
            }
            self.loader.steps += 1;
            match self.memory.note(&load.done, filled + 1, at, 0) {
                Seen::New(child) => {
                    if load.done == self.frame.graph.all {
                        found = Some(self.memory.way_to(child));
                        break;
                    }
                    let worth = self.frame.worth(&load.done, filled + 1);
                    self.push(filled + 1, worth, child);
                }
                Seen::Before => {}
                Seen::NoRoom => {
                    if let Some(rest) = self.deeper(load, filled + 1, watch) {
                        let mut way = self.memory.way_to(at);
                        way.push(load.tasks);
                        way.extend(rest);
                        found = Some(way);
                        break;
                    }
                }
            }
        }
        self.children = children;
        if !whole && found.is_none() {
            self.memory.states[at as usize].put_off += 1;
            self.put_off.push(at);
        }
        found
    }

    /// Without room to remember: depth first through everything behind a load,
    /// still using what is remembered. Returns the loads that lead to the end.
    fn deeper(&mut self, load: &Load<W>, filled: u16, watch: &Watch<'_>) -> Option<Vec<Set<W>>> {
        if load.done == self.frame.graph.all {
            return Some(Vec::new());
        }
        if watch.cancelled() {
            return None;
        }
        let mut children = Vec::new();
        let cut = Cut {
            loads: u32::MAX,
            steps: u32::MAX,
        };
        self.frame.loads(
            &mut self.loader,
            &load.done,
            filled,
            cut,
            watch,
            &mut children,
        );
        children.sort_by_key(|child| self.frame.worth(&child.done, filled + 1));
        for child in &children {
            let hopeful = self
                .frame
                .hopeful(child, filled, &mut self.scratch, &mut self.room);
            if !hopeful || self.memory.knows(&child.done, filled + 1) {
                continue;
            }
            if let Some(rest) = self.deeper(child, filled + 1, watch) {
                let mut way = vec![child.tasks];
                way.extend(rest);
                return Some(way);
            }
        }
        None
    }
}

impl<const W: usize> Frame<'_, W> {
    /// Order of search among states with as many stations: little idle time,
    /// and of equals those that have many short tasks left to fill gaps with.
    fn worth(&self, done: &Set<W>, filled: u16) -> i64 {
        let used: u64 = done
            .iter()
            .map(|task| u64::from(self.graph.ticks[task]))
            .sum();
        let idle = i64::from(filled) * i64::from(self.takt) - used as i64;
        idle + self.small * done.len() as i64
    }

    /// The loads of the next station worth a look. Returns whether these are
    /// all that there are.
    fn loads(
        &self,
        loader: &mut Loader,
        done: &Set<W>,
        filled: u16,
        cut: Cut,
        watch: &Watch<'_>,
        out: &mut Vec<Load<W>>,
    ) -> bool {
        let used: u64 = done
            .iter()
            .map(|task| u64::from(self.graph.ticks[task]))
            .sum();
        let idle = u64::from(filled) * u64::from(self.takt) - used;
        let most_idle = self.idle.saturating_sub(idle).min(u64::from(self.takt)) as u32;
        let due = &self.due[usize::from(filled) + 1];
        let only_last_left = self.graph.all.less(done).within(&self.last);
        let station = Station {
            done,
            takt: self.takt,
            most_idle,
        };
        loader.each(self.graph, station, cut, watch, |load| {
            let in_time = due.within(&load.done);
            // A load that nothing follows can as well stand at the end.
            let can_wait = !only_last_left && load.tasks.within(&self.last);
            let ends = load.done == self.graph.all;
            if in_time && (ends || !can_wait && !self.outdone(&load)) {
                out.push(load);
            }
        })
    }

    /// Jackson's rule (1956): whether a task of the load could give its place
    /// to an undone one that takes as long or longer and that all of its
    /// followers follow too.
    fn outdone(&self, load: &Load<W>) -> bool {
        load.tasks.iter().any(|task| {
            let ticks = self.graph.ticks[task];
            let mut without = load.done;
            without.take(task);
            self.stronger[task].iter().any(|other| {
                let other = usize::from(*other);
                !load.done.has(other)
                    && self.graph.ticks[other] - ticks <= load.idle
                    && self.graph.before[other].within(&without)
            })
        })
    }

    /// Whether what a load leaves can still fit the stations left.
    fn hopeful(
        &self,
        load: &Load<W>,
        filled: u16,
        scratch: &mut Vec<u32>,
        room: &mut Vec<(u64, u64, u64)>,
    ) -> bool {
        let filled = u32::from(filled) + 1;
        if load.done == self.graph.all {
            return filled <= self.stations;
        }
        let left = self.stations - filled;
        if left == 0 {
            return false;
        }
        scratch.clear();
        room.clear();
        room.resize(left as usize, (0, 0, 0));
        for task in self.graph.all.less(&load.done).iter() {
            scratch.push(self.graph.ticks[task]);
            let due = &mut room[(self.latest[task] - filled) as usize];
            due.0 += u64::from(self.graph.ticks[task]);
            due.1 += u64::from(self.sixths[task]);
            due.2 += u64::from(self.weights.of[task]);
        }
        let (mut needed, mut sixths, mut weight) = (0, 0, 0);
        for (station, due) in room.iter().enumerate() {
            needed += due.0;
            sixths += due.1;
            weight += due.2;
            let stations = station as u64 + 1;
            if needed > stations * u64::from(self.takt)
                || sixths > 6 * stations
                || weight > stations * u64::from(self.weights.unit)
            {
                return false;
            }
        }
        packed(scratch, self.takt) <= left
    }
}

/// For each task those that take as long or longer, unrelated to it, and that
/// are followed by all that follows it. Of two that are equal in both, the
/// first counts, or each would give its place to the other.
fn stronger<const W: usize>(graph: &Graph<W>) -> Vec<Vec<u16>> {
    (0..graph.len())
        .map(|task| {
            (0..graph.len())
                .filter(|other| {
                    let other = *other;
                    if other == task
                        || graph.ticks[other] < graph.ticks[task]
                        || graph.all_after[task].has(other)
                        || graph.all_before[task].has(other)
                        || !graph.all_after[task].within(&graph.all_after[other])
                    {
                        return false;
                    }
                    let equal = graph.ticks[other] == graph.ticks[task]
                        && graph.all_after[other] == graph.all_after[task];
                    !equal || other < task
                })
                .map(|other| other as u16)
                .collect()
        })
        .collect()
}
