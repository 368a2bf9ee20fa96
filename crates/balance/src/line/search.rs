//! Is there a balance of at most so many stations? The search of the plain
//! line (branch, bound and remember, cyclic best first) over loads that have a
//! timetable.

use std::cmp::Reverse;
use std::collections::{BTreeMap, BinaryHeap};

use super::fill::{Filler, Load, Luck, Place};
use super::frame::Frame;
use crate::set::Set;
use crate::simple::{Memory, OUTDONE, Seen};
use crate::watch::Watch;

/// How a spell of search ended.
pub(crate) enum Spell<const W: usize> {
    /// With an answer: a load for every station.
    Found(Vec<Load<W>>),
    /// There is no answer.
    Refuted,
    /// The steps given are used up, or the caller wants an end.
    Open,
}

/// A search that can be taken up again.
pub(crate) struct Search<'a, const W: usize> {
    pub(super) frame: &'a Frame<W>,
    pub(super) stations: u32,
    earliest: Vec<u32>,
    latest: Vec<u32>,
    /// By stations filled, what must be done by then.
    pub(super) due: Vec<Set<W>>,
    memory: Memory<W>,
    /// By state, the load that led to it.
    loads: Vec<Load<W>>,
    /// Where first tasks of distance rules stand, for states in which the
    /// second is still to come; states are only compared within one of these.
    stands: BTreeMap<Vec<(usize, u32)>, u32>,
    open: Vec<BinaryHeap<Reverse<(i64, u32)>>>,
    put_off: Vec<u32>,
    cursor: usize,
    /// Steps taken.
    pub(crate) steps: u64,
    full: bool,
}

const FIRST_LOADS: u32 = 200;
const SAMPLES: u32 = 24;

impl<'a, const W: usize> Search<'a, W> {
    /// `earliest` and `behind` are the frame's own for the whole line.
    pub(crate) fn new(
        frame: &'a Frame<W>,
        earliest: &[u32],
        behind: &[u32],
        stations: u32,
        memory_mb: u32,
    ) -> Self {
        let latest: Vec<u32> = behind
            .iter()
            .enumerate()
            .map(|(task, behind)| {
                let last = (stations - 1).saturating_sub(*behind);
                frame.fixed[task].map_or(last, |station| last.min(station))
            })
            .collect();
        let mut due = vec![Set::EMPTY; stations as usize + 1];
        for (task, latest) in latest.iter().enumerate() {
            for set in &mut due[*latest as usize + 1..] {
                set.put(task);
            }
        }
        let mut search = Self {
            frame,
            stations,
            earliest: earliest.to_vec(),
            latest,
            due,
            memory: Memory::of(memory_mb, frame.loose).unranked(),
            loads: vec![Load {
                tasks: Set::EMPTY,
                order: Box::default(),
            }],
            stands: BTreeMap::new(),
            open: vec![BinaryHeap::new(); stations as usize],
            put_off: Vec::new(),
            cursor: 0,
            steps: 0,
            full: false,
        };
        search.stands.insert(Vec::new(), 0);
        if let Seen::New(at) = search.memory.note(&Set::EMPTY, 0, 0, 0) {
            search.open[0].push(Reverse((0, at)));
        }
        search
    }

    /// Goes on for about so many steps.
    pub(crate) fn spell(&mut self, steps: u64, watch: &Watch<'_>) -> Spell<W> {
        let roomy = self.latest.iter().zip(&self.earliest);
        if self.stations < self.frame.needs(&self.frame.all)
            || roomy
                .into_iter()
                .any(|(latest, earliest)| latest < earliest)
        {
            return Spell::Refuted;
        }
        let until = self.steps.saturating_add(steps);
        while self.steps < until {
            if watch.cancelled() {
                return Spell::Open;
            }
            let Some(at) = self.next() else {
                if self.take_up() {
                    continue;
                }
                // Where something was forgotten nothing is shown.
                return if self.full {
                    Spell::Open
                } else {
                    Spell::Refuted
                };
            };
            if let Some(found) = self.expand(at, watch) {
                return Spell::Found(found);
            }
        }
        Spell::Open
    }

    fn next(&mut self) -> Option<u32> {
        for _ in 0..=self.open.len() {
            if self.cursor >= self.open.len() {
                self.cursor = 0;
            }
            let level = self.cursor;
            self.cursor += 1;
            while let Some(Reverse((_, at))) = self.open[level].pop() {
                if self.memory.states[at as usize].filled != OUTDONE {
                    return Some(at);
                }
            }
        }
        None
    }

    fn take_up(&mut self) -> bool {
        let mut any = false;
        for at in std::mem::take(&mut self.put_off) {
            let state = &self.memory.states[at as usize];
            if state.filled != OUTDONE {
                any = true;
                let worth = self.worth(&state.done, state.filled);
                self.open[usize::from(state.filled)].push(Reverse((worth, at)));
            }
        }
        self.cursor = 0;
        any
    }

    /// Much work done, and of equals in few and long tasks.
    pub(super) fn worth(&self, done: &Set<W>, filled: u16) -> i64 {
        let measure = &self.frame.measures[0];
        let used: u64 = done.iter().map(|task| measure.ticks[task]).sum();
        let mean = measure.ticks.iter().sum::<u64>() / self.frame.sides.len() as u64;
        let whole = u64::from(filled) * measure.room * self.frame.posts.len() as u64;
        whole as i64 - used as i64 + (mean as i64 / 20).max(1) * done.len() as i64
    }

    fn expand(&mut self, at: u32, watch: &Watch<'_>) -> Option<Vec<Load<W>>> {
        let state = &self.memory.states[at as usize];
        let (done, filled, put_off) = (state.done, state.filled, state.put_off);
        let stands = self.stands_at(at);
        let station = u32::from(filled);
        let place = self.place(&done, station, &stands);
        // At first a few loads by chance, which spread better than as many of
        // a list in order; when the state comes up again, the list.
        let loads = FIRST_LOADS.saturating_mul(8_u32.saturating_pow(u32::from(put_off) / 2));
        let mut filler = Filler::new(self.frame, watch, place, loads.saturating_mul(20));
        let mut children: Vec<Load<W>> = Vec::new();
        let due = self.due[usize::from(filled) + 1];
        let mut whole = false;
        if put_off % 2 == 0 && self.frame.all.less(&done).len() > 12 {
            let mut luck = Luck(done.hash() ^ u64::from(put_off));
            for _ in 0..SAMPLES << (put_off / 2).min(6) {
                children.extend(filler.sampled(&mut luck));
                if watch.cancelled() {
                    break;
                }
            }
            children.retain(|load| due.within(&done.or(&load.tasks)));
        } else {
            whole = filler.each(&mut |load| {
                if due.within(&done.or(&load.tasks)) {
                    children.push(load);
                }
                children.len() <= loads as usize
            });
        }
        self.steps += filler.steps + 1;
        for load in children {
            let next = done.or(&load.tasks);
            if !self.hopeful(&next, station + 1) {
                continue;
            }
            let stamp = self.stamp(&stands, &load.tasks, &next, station);
            match self.memory.note(&next, filled + 1, at, stamp) {
                Seen::New(child) => {
                    self.loads.push(load);
                    if next == self.frame.all {
                        return Some(self.way_to(child));
                    }
                    let worth = self.worth(&next, filled + 1);
                    self.open[usize::from(filled) + 1].push(Reverse((worth, child)));
                }
                Seen::Before => {}
                Seen::NoRoom => self.full = true,
            }
        }
        if !whole {
            self.memory.states[at as usize].put_off += 1;
            self.put_off.push(at);
        }
        None
    }

    /// What a station may take, with where first tasks of distance rules stand.
    pub(super) fn place(&self, done: &Set<W>, station: u32, stands: &[(usize, u32)]) -> Place<W> {
        let mut later = Set::EMPTY;
        for (task, earliest) in self.earliest.iter().enumerate() {
            if *earliest > station {
                later.put(task);
            }
        }
        for (one, other, far) in &self.frame.distance {
            let from = stands
                .iter()
                .find(|(task, _)| task == one)
                .map(|(_, at)| *at);
            let waits = from.map_or(!done.has(*one) && *far > 0, |from| station < from + far);
            if waits {
                later.put(*other);
            }
        }
        Place {
            done: *done,
            station,
            later,
        }
    }

    fn way_to(&self, child: u32) -> Vec<Load<W>> {
        let mut loads = Vec::new();
        let mut at = child;
        while at != 0 {
            loads.push(self.loads[at as usize].clone());
            at = self.memory.states[at as usize].parent;
        }
        loads.reverse();
        loads
    }

    fn stands_at(&self, at: u32) -> Vec<(usize, u32)> {
        let stamp = self.memory.states[at as usize].stamp;
        self.stands
            .iter()
            .find(|(_, number)| **number == stamp)
            .map(|(stands, _)| stands.clone())
            .unwrap_or_default()
    }

    /// A number for where the first tasks of open distance rules stand.
    fn stamp(
        &mut self,
        before: &[(usize, u32)],
        load: &Set<W>,
        done: &Set<W>,
        station: u32,
    ) -> u32 {
        let fixed = self.frame.fixed.iter().enumerate();
        let waits = fixed
            .filter(|(task, at)| at.is_some() && !done.has(*task))
            .count()
            > 0;
        if self.frame.distance.is_empty() && !waits {
            return 0;
        }
        let mut stands = Vec::new();
        for (one, other, far) in &self.frame.distance {
            if !done.has(*one) || done.has(*other) {
                continue;
            }
            let known = before.iter().find(|(task, _)| task == one);
            // Neither known nor new: it stands far enough back already.
            if known.is_none() && !load.has(*one) {
                continue;
            }
            let at = known.map_or(station, |(_, at)| *at);
            // Once far enough it no longer matters where it stands.
            if station + 1 < at + far && !stands.contains(&(*one, at)) {
                stands.push((*one, at));
            }
        }
        stands.sort_unstable();
        // Where something waits for a station, being further on may be better:
        // states are then only compared at the same station.
        if waits || !stands.is_empty() {
            stands.push((usize::MAX, station));
        }
        let next = self.stands.len() as u32;
        *self.stands.entry(stands).or_insert(next)
    }

    /// Whether what is left can still fit the stations left.
    pub(super) fn hopeful(&self, done: &Set<W>, filled: u32) -> bool {
        if *done == self.frame.all {
            return filled <= self.stations;
        }
        let Some(left) = self.stations.checked_sub(filled).filter(|left| *left > 0) else {
            return false;
        };
        let undone = self.frame.all.less(done);
        let mut sums = vec![[0_u64; 3]; left as usize];
        for measure in &self.frame.measures {
            sums.fill([0; 3]);
            for task in undone.iter() {
                let Some(due) = self.latest[task].checked_sub(filled) else {
                    return false;
                };
                sums[due as usize][self.frame.sides[task] as usize] += measure.ticks[task];
            }
            let mut all = [0; 3];
            for (station, sum) in sums.iter().enumerate() {
                for (all, sum) in all.iter_mut().zip(sum) {
                    *all += sum;
                }
                if self.frame.by_sums(&all, measure.room) > station as u64 + 1 {
                    return false;
                }
            }
        }
        self.frame.by_weight(&undone) <= u64::from(left)
    }
}
