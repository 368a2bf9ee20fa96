//! A row that is judged by tables.

use std::ops::Range;

use super::tables::Tables;
use crate::evaluate;
use crate::plan::{Plan, Spacing};

/// A small change of a part of the row; places count from its first car on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Change {
    /// Where the part begins and ends.
    pub(crate) from: usize,
    pub(crate) end: usize,
    pub(crate) how: How,
}

/// What is done to a part.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum How {
    /// Its first and its last car change places.
    Swap,
    /// It comes back to front.
    Turn,
    /// Its first car comes behind the others.
    Back,
    /// Its last car comes before the others.
    Forth,
    /// It is cut after so many cars and its two parts change places, either of
    /// them turned or not.
    Exchange(usize, [bool; 2]),
}

impl Change {
    /// The change that takes it back.
    const fn undone(self) -> Self {
        let how = match self.how {
            How::Swap | How::Turn => self.how,
            How::Back => How::Forth,
            How::Forth => How::Back,
            How::Exchange(cut, [first, second]) => {
                How::Exchange(self.end - self.from - cut, [second, first])
            }
        };
        Self { how, ..self }
    }
}

#[derive(Clone, Debug)]
pub(crate) struct ShortRow<'a> {
    plan: &'a Plan,
    pub(super) tables: &'a Tables,
    /// Places without a car on either side of the row.
    pub(super) pad: usize,
    pub(super) cars: Vec<u16>,
    pub(super) masks: Vec<u8>,
    /// What is known of the cars before and behind each joint, the one before
    /// the place of its number.
    pub(super) before: Vec<u32>,
    pub(super) behind: Vec<u32>,
    /// Breaks across each joint, and in runs with each car.
    pub(super) across: Vec<i32>,
    pub(super) with: Vec<i32>,
    /// Places in runs that the tables see and the plan does not count, since
    /// they reach beyond the row: up to the first, and from the second on.
    ends: (usize, usize),
    /// Breaks, counted as the plan counts.
    pub(crate) breaks: i64,
}

/// More than the runs at both ends break.
const AT_ENDS: i32 = 1 << 20;

impl<'a> ShortRow<'a> {
    pub(crate) fn new(plan: &'a Plan, tables: &'a Tables, cars: &[u16]) -> Self {
        let pad = 2 * tables.reach + 1;
        let size = cars.len() + 2 * pad;
        let mut row = Self {
            plan,
            tables,
            pad,
            cars: vec![0; size],
            masks: vec![0; size],
            before: vec![0; size + 1],
            behind: vec![0; size + 1],
            across: vec![0; size + 1],
            with: vec![0; size],
            ends: (0, size),
            breaks: 0,
        };
        for rule in &plan.rules {
            if let Some(last) = row.starts_before(rule).last() {
                row.ends.0 = row.ends.0.max(last + rule.in_every);
            }
            if let Some(start) = row.starts_behind(rule).next() {
                row.ends.1 = row.ends.1.min(start);
            }
        }
        row.take(cars);
        row
    }

    /// Takes another order of the same cars.
    pub(crate) fn take(&mut self, cars: &[u16]) {
        let places = self.pad..self.pad + cars.len();
        self.cars[places.clone()].copy_from_slice(cars);
        for (place, car) in places.clone().zip(cars) {
            self.masks[place] = self.plan.masks[usize::from(*car)] as u8;
        }
        let rule = &self.plan.rules[0];
        self.breaks = evaluate::cost(self.plan, cars)[rule.tier] / rule.price;
        self.look(places.start, places.end);
    }

    /// The cars as they stand.
    pub(crate) fn cars(&self) -> &[u16] {
        &self.cars[self.pad..self.cars.len() - self.pad]
    }

    /// Places whose cars may move.
    pub(crate) const fn free(&self) -> Range<usize> {
        self.plan.free..self.plan.len
    }

    /// Padded places from which on, and up to which, a car may move without
    /// touching an end.
    pub(super) fn inner(&self) -> Range<usize> {
        let free = self.free();
        let from = self.ends.0.max(self.pad + free.start);
        from..self.ends.1.min(self.pad + free.end).max(from)
    }

    /// The options of the car in a place.
    pub(crate) fn mask(&self, place: usize) -> u8 {
        self.masks[self.pad + place]
    }

    /// Cars on either side of a joint that matter.
    pub(crate) const fn reach(&self) -> usize {
        self.tables.reach
    }

    /// Runs of a rule, in padded places, that begin before those that count and
    /// hold a car that may move.
    fn starts_before(&self, rule: &Spacing) -> Range<usize> {
        let first = (self.pad + self.plan.free + 1).saturating_sub(rule.in_every);
        first..self.pad + rule.starts.start
    }

    /// Runs of a rule that begin behind those that count.
    fn starts_behind(&self, rule: &Spacing) -> Range<usize> {
        self.pad + rule.starts.end..self.pad + self.plan.len
    }

    /// Breaks that the tables see and the plan does not count.
    fn uncounted(&self) -> i32 {
        let mut sum = 0;
        for (bit, rule) in self.plan.rules.iter().enumerate() {
            for start in self.starts_before(rule).chain(self.starts_behind(rule)) {
                let run = self.masks[start..start + rule.in_every].iter();
                let with: u16 = run.map(|mask| u16::from(mask >> bit & 1)).sum();
                sum += self.plan.breaks(with, rule.at_most) as i32;
            }
        }
        sum
    }

    /// Looks anew at what is around and within a part whose cars have changed, in
    /// padded places.
    pub(super) fn look(&mut self, from: usize, end: usize) {
        let reach = self.tables.reach;
        self.look_before(from..end + reach - 1);
        self.look_behind(from + 1 - reach..end);
        self.look_across(from - reach..end + reach);
    }

    /// Looks anew at what is around and within a part that has been turned. What
    /// lies deep enough within it is known: turned, it shows before what it
    /// showed behind.
    pub(super) fn look_at_turned(&mut self, from: usize, end: usize) {
        let reach = self.tables.reach;
        if end - from <= 2 * reach {
            return self.look(from, end);
        }
        let deep = from + reach..end - reach;
        for (before, behind) in (from + reach..=end).zip((from..=end - reach).rev()) {
            std::mem::swap(&mut self.before[before], &mut self.behind[behind]);
        }
        self.across[deep.start..=deep.end].reverse();
        self.with[deep].reverse();
        self.look_before(from..from + reach - 1);
        self.look_before(end..end + reach - 1);
        self.look_behind(end + 1 - reach..end);
        self.look_behind(from + 1 - reach..from);
        self.look_across(from - reach..from + reach);
        self.look_across(end - reach..end + reach);
    }

    /// What is known of the cars before each joint behind one of these places.
    fn look_before(&mut self, places: Range<usize>) {
        let mut side = self.before[places.start];
        for place in places {
            side = self.tables.next(side, self.masks[place]);
            self.before[place + 1] = side;
        }
    }

    /// What is known of the cars behind each joint before one of these places.
    fn look_behind(&mut self, places: Range<usize>) {
        let mut side = self.behind[places.end];
        for place in places.rev() {
            side = self.tables.next(side, self.masks[place]);
            self.behind[place] = side;
        }
    }

    /// Breaks across the joint before each of these places, and with its car.
    fn look_across(&mut self, places: Range<usize>) {
        for place in places {
            let (before, behind) = (self.before[place], self.behind[place]);
            self.across[place] = self.tables.across(before, behind);
            let behind = self.behind[place + 1];
            self.with[place] = self.tables.with(before, self.masks[place], behind);
        }
    }

    /// Makes the change if it adds no more breaks than are allowed; says whether.
    pub(crate) fn try_out(&mut self, change: Change, allowed: i32) -> bool {
        let (from, end) = (self.pad + change.from, self.pad + change.end);
        let inside = from >= self.ends.0 && end <= self.ends.1;
        let slack = if inside { 0 } else { AT_ENDS };
        let Some(mut more) = self.judged(from, end, change.how, allowed + slack) else {
            return false;
        };
        let uncounted = if inside { 0 } else { self.uncounted() };
        self.shift(change);
        if !inside {
            more -= self.uncounted() - uncounted;
            if more > allowed {
                self.shift(change.undone());
                return false;
            }
        }
        match change.how {
            How::Swap => {
                self.look(from, from + 1);
                self.look(end - 1, end);
            }
            How::Turn => self.look_at_turned(from, end),
            How::Back | How::Forth | How::Exchange(..) => self.look(from, end),
        }
        self.breaks += i64::from(more);
        true
    }

    /// The breaks that a change adds as the tables see it; none where they are
    /// more than allowed, or where its parts are too short for the tables.
    fn judged(&self, from: usize, end: usize, how: How, allowed: i32) -> Option<i32> {
        let more = match how {
            How::Swap => self.of_swap(from, end - 1, allowed)?,
            How::Turn => self.of_turn(from, end, allowed)?,
            How::Back => self.of_move(from, end, allowed)?,
            How::Forth => self.of_move(end - 1, from, allowed)?,
            How::Exchange(cut, turned) => {
                self.of_exchange([from, from + cut, end], turned, allowed)?
            }
        };
        (more <= allowed).then_some(more)
    }

    fn of_swap(&self, i: usize, j: usize, allowed: i32) -> Option<i32> {
        let tables = self.tables;
        let (one, other) = (self.masks[i], self.masks[j]);
        let at_first = tables.with(self.before[i], other, self.behind[i + 1]) - self.with[i];
        let (mut before, behind) = (self.before[j], self.behind[j + 1]);
        if j - i > tables.reach {
            if at_first - self.with[j] > allowed {
                return None;
            }
            return Some(at_first + tables.with(before, one, behind) - self.with[j]);
        }
        // The second car sees that the first has been exchanged.
        before ^= tables.bits_at(one ^ other, j - i - 1);
        let at_second = tables.with(before, one, behind) - tables.with(before, other, behind);
        Some(at_first + at_second)
    }

    fn of_turn(&self, from: usize, end: usize, allowed: i32) -> Option<i32> {
        if end - from < self.tables.reach {
            return None;
        }
        let more = self.tables.across(self.before[from], self.before[end])
            - self.across[from]
            - self.across[end];
        if more > allowed {
            return None;
        }
        Some(more + self.tables.across(self.behind[from], self.behind[end]))
    }

    /// A car taken out of its place and put into a joint.
    fn of_move(&self, place: usize, joint: usize, allowed: i32) -> Option<i32> {
        if place.abs_diff(joint) <= self.tables.reach + 1 {
            return None;
        }
        let (tables, mask) = (self.tables, self.masks[place]);
        let more = tables.with(self.before[joint], mask, self.behind[joint])
            - self.with[place]
            - self.across[joint];
        if more > allowed {
            return None;
        }
        Some(more + tables.across(self.before[place], self.behind[place + 1]))
    }

    fn of_exchange(
        &self,
        [from, middle, end]: [usize; 3],
        [first_turned, second_turned]: [bool; 2],
        allowed: i32,
    ) -> Option<i32> {
        if middle - from < self.tables.reach || end - middle < self.tables.reach {
            return None;
        }
        let tables = self.tables;
        // What each part shows where it begins and where it ends.
        let shown = |from: usize, end: usize, turned: bool| {
            let (head, tail) = (self.behind[from], self.before[end]);
            if turned { (tail, head) } else { (head, tail) }
        };
        let (second_head, second_tail) = shown(middle, end, second_turned);
        let (first_head, first_tail) = shown(from, middle, first_turned);
        let mut more = tables.across(self.before[from], second_head)
            - self.across[from]
            - self.across[middle]
            - self.across[end];
        if more > allowed {
            return None;
        }
        more += tables.across(second_tail, first_head);
        if more > allowed {
            return None;
        }
        Some(more + tables.across(first_tail, self.behind[end]))
    }

    /// Puts the cars where the change puts them.
    fn shift(&mut self, change: Change) {
        let part = self.pad + change.from..self.pad + change.end;
        shift(&mut self.cars[part.clone()], change.how);
        shift(&mut self.masks[part], change.how);
    }
}

fn shift<T>(part: &mut [T], how: How) {
    match how {
        How::Swap => part.swap(0, part.len() - 1),
        How::Turn => part.reverse(),
        How::Back => part.rotate_left(1),
        How::Forth => part.rotate_right(1),
        How::Exchange(cut, [first, second]) => {
            if first {
                part[..cut].reverse();
            }
            if second {
                part[cut..].reverse();
            }
            part.rotate_left(cut);
        }
    }
}
