//! States remembered: which tasks were done after how few stations.

use crate::set::Set;

/// A set of tasks done.
pub(crate) struct State<const W: usize> {
    pub(crate) done: Set<W>,
    /// The state before the last station; its own position for the start.
    pub(crate) parent: u32,
    /// The next state in the same slot.
    next: u32,
    /// Stations filled; [`OUTDONE`] once another state is at least as good.
    pub(crate) filled: u16,
    /// States are compared only with those of the same stamp.
    pub(crate) stamp: u32,
    /// Times it was expanded with a cut and put off.
    pub(crate) put_off: u16,
}

const NONE: u32 = u32::MAX;

/// In place of the stations filled by a state that need not be looked at.
pub(crate) const OUTDONE: u16 = u16::MAX;

/// A slot is walked so far. States beyond are not compared, which costs time
/// but never an answer.
const WALK: usize = 400;

/// What remembering a set found.
pub(crate) enum Seen {
    /// Nothing remembered is as good; it now stands at this position.
    New(u32),
    /// One that is as good is remembered.
    Before,
    /// It is new but there is no room for it.
    NoRoom,
}

/// States by the tasks done that others wait for.
///
/// Tasks that nothing waits for are loose: of two states that differ in these
/// alone, one is as good as the other if each loose task it has left can take
/// the place of one at least as long that the other has left. This contains
/// that of two sets the larger is better, and that equals are interchangeable.
/// Whole sets are compared, never hashes alone.
pub(crate) struct Memory<const W: usize> {
    pub(crate) states: Vec<State<W>>,
    slots: Vec<u32>,
    loose: Set<W>,
    /// Whether tasks are numbered by falling time and may stand for each other.
    ranked: bool,
    most: usize,
}

impl<const W: usize> Memory<W> {
    /// Of at most so many megabytes, for a line where `loose` are the tasks
    /// that nothing waits for.
    pub(crate) fn of(megabytes: u32, loose: Set<W>) -> Self {
        // A state, its share of the slots (one to two each) and of a heap entry.
        let each = size_of::<State<W>>() + 8 + 24;
        let most = (megabytes as usize * 1_000_000 / each).clamp(1_000, NONE as usize - 1);
        Self {
            states: Vec::new(),
            slots: vec![NONE; 1 << 12],
            loose,
            ranked: true,
            most,
        }
    }

    /// Where loose tasks cannot take each other's places: of two states only
    /// the one that has more done is as good.
    pub(crate) fn unranked(mut self) -> Self {
        self.ranked = false;
        self
    }

    fn slot_of(&self, done: &Set<W>, slots: usize) -> usize {
        // The low bits of a product mix worst.
        (done.less(&self.loose).hash() >> 20) as usize & (slots - 1)
    }

    /// Whether a state as good is remembered after so few stations.
    pub(crate) fn knows(&self, done: &Set<W>, filled: u16) -> bool {
        let mut at = self.slots[self.slot_of(done, self.slots.len())];
        for _ in 0..WALK {
            let Some(state) = self.states.get(at as usize) else {
                return false;
            };
            if state.filled <= filled && self.as_good(&state.done, done) {
                return true;
            }
            at = state.next;
        }
        false
    }

    /// Notes a set reached from `parent` after `filled` stations.
    pub(crate) fn note(&mut self, done: &Set<W>, filled: u16, parent: u32, stamp: u32) -> Seen {
        let slot = self.slot_of(done, self.slots.len());
        let mut last = NONE;
        let mut at = self.slots[slot];
        for _ in 0..WALK {
            let Some(state) = self.states.get(at as usize) else {
                break;
            };
            let next = state.next;
            if state.stamp != stamp {
                last = at;
                at = next;
                continue;
            }
            if state.filled <= filled && self.as_good(&state.done, done) {
                return Seen::Before;
            }
            if filled <= state.filled && self.as_good(done, &state.done) {
                self.states[at as usize].filled = OUTDONE;
                match self.states.get_mut(last as usize) {
                    Some(last) => last.next = next,
                    None => self.slots[slot] = next,
                }
            } else {
                last = at;
            }
            at = next;
        }
        if self.states.len() >= self.most {
            return Seen::NoRoom;
        }
        let at = self.states.len() as u32;
        self.states.push(State {
            done: *done,
            parent,
            next: self.slots[slot],
            filled,
            stamp,
            put_off: 0,
        });
        self.slots[slot] = at;
        if self.states.len() > self.slots.len() {
            self.grow();
        }
        Seen::New(at)
    }

    /// Whether what `one` has left can take the places of what `other` has.
    fn as_good(&self, one: &Set<W>, other: &Set<W>) -> bool {
        let more = other.less(one);
        let fewer = one.less(other);
        if more.is_empty() {
            // Slots are shared by hash, so the core must still be the same.
            return fewer.within(&self.loose);
        }
        if !self.ranked || more.len() > fewer.len() || !more.or(&fewer).within(&self.loose) {
            return false;
        }
        // Tasks are numbered by falling time: each that only `one` has left
        // must find a place left by an earlier one of `other`'s.
        let mut places = fewer.iter();
        more.iter()
            .all(|task| places.next().is_some_and(|place| place < task))
    }

    fn grow(&mut self) {
        let slots = self.slots.len() * 4;
        let mut table = vec![NONE; slots];
        for at in 0..self.states.len() {
            if self.states[at].filled == OUTDONE {
                continue;
            }
            let slot = self.slot_of(&self.states[at].done, slots);
            self.states[at].next = table[slot];
            table[slot] = at as u32;
        }
        self.slots = table;
    }

    /// The loads that led to a state, first station first.
    pub(crate) fn way_to(&self, at: u32) -> Vec<Set<W>> {
        let mut loads = Vec::new();
        let mut at = at;
        loop {
            let state = &self.states[at as usize];
            if state.parent == at {
                break;
            }
            loads.push(state.done.less(&self.states[state.parent as usize].done));
            at = state.parent;
        }
        loads.reverse();
        loads
    }
}
