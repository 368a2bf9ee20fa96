//! Larger changes to a row: a part of it is cut into pieces, which are put
//! together in another order or back to front.
//!
//! Inserting a car elsewhere, turning a part round and moving a block are all
//! of this kind. Runs of cars that lie wholly within a piece keep their count,
//! so only those across the joints are looked at.

use crate::cost::{Cost, TIERS};
use crate::row::{Row, Verdict, verdict};
use crate::runs::run_cost;

/// Cars `from..end` of the row as it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Piece {
    pub(crate) from: usize,
    pub(crate) end: usize,
    pub(crate) flipped: bool,
}

impl Piece {
    pub(crate) const fn plain(from: usize, end: usize) -> Self {
        Self {
            from,
            end,
            flipped: false,
        }
    }

    pub(crate) const fn flipped(from: usize, end: usize) -> Self {
        Self {
            from,
            end,
            flipped: true,
        }
    }

    const fn len(self) -> usize {
        self.end - self.from
    }

    /// Where the n-th car of the piece stands in the old row.
    const fn old_place(self, n: usize) -> usize {
        if self.flipped {
            self.end - 1 - n
        } else {
            self.from + n
        }
    }
}

/// Most pieces of one change.
pub(crate) const MOST_PIECES: usize = 12;

/// Pieces that fill `lo..hi`, empty ones left out, with their joints.
#[derive(Clone, Debug)]
pub(crate) struct Cut {
    lo: usize,
    hi: usize,
    pieces: [Piece; MOST_PIECES],
    count: usize,
    new_joints: [usize; MOST_PIECES + 1],
    old_joints: [usize; MOST_PIECES + 1],
}

impl Cut {
    /// Puts pieces together; they must fill one part of the row without gaps.
    pub(crate) fn new(pieces: &[Piece]) -> Self {
        let mut cut = Self {
            lo: usize::MAX,
            hi: 0,
            pieces: [Piece::plain(0, 0); MOST_PIECES],
            count: 0,
            new_joints: [0; MOST_PIECES + 1],
            old_joints: [0; MOST_PIECES + 1],
        };
        for piece in pieces.iter().filter(|piece| piece.from < piece.end) {
            cut.pieces[cut.count] = *piece;
            cut.old_joints[cut.count] = piece.from;
            cut.lo = cut.lo.min(piece.from);
            cut.hi = cut.hi.max(piece.end);
            cut.count += 1;
        }
        let mut at = cut.lo;
        for n in 0..cut.count {
            cut.new_joints[n] = at;
            at += cut.pieces[n].len();
        }
        cut.new_joints[cut.count] = cut.hi;
        cut.old_joints[cut.count] = cut.hi;
        cut.old_joints[..cut.count].sort_unstable();
        cut
    }

    fn pieces(&self) -> &[Piece] {
        &self.pieces[..self.count]
    }

    fn new_joints(&self) -> &[usize] {
        &self.new_joints[..=self.count]
    }

    fn old_joints(&self) -> &[usize] {
        &self.old_joints[..=self.count]
    }

    /// Old places in the new order.
    fn places(&self) -> impl Iterator<Item = usize> {
        let of = |piece: &Piece| {
            let piece = *piece;
            (0..piece.len()).map(move |n| piece.old_place(n))
        };
        self.pieces().iter().flat_map(of)
    }
}

impl Row<'_> {
    /// Lays down the masks that would stand near the new joints; gives the
    /// options whose runs may come out otherwise.
    fn lay_fresh(&mut self, cut: &Cut) -> u64 {
        if cut.hi - cut.lo <= self.plan.longest_window {
            return self.lay_all_fresh(cut);
        }
        let reach = self.plan.longest_window;
        let mut seen = self.lay_around(cut, reach);
        for (piece, start) in cut.pieces().iter().zip(cut.new_joints()) {
            let len = piece.len();
            let head = len.min(reach);
            let tail = head.max(len.saturating_sub(reach));
            for n in (0..head).chain(tail..len) {
                let mask = self.masks[piece.old_place(n)];
                self.fresh[start + n] = mask;
                seen |= mask;
            }
        }
        seen
    }

    /// The same for a part that is no longer than the longest window: an
    /// option that stands where it stood needs no second look.
    fn lay_all_fresh(&mut self, cut: &Cut) -> u64 {
        // Rules with a longer window do not look beyond the part.
        self.lay_around(cut, cut.hi - cut.lo);
        let mut moved = 0;
        for (at, place) in (cut.lo..cut.hi).zip(cut.places()) {
            let mask = self.masks[place];
            self.fresh[at] = mask;
            moved |= mask ^ self.masks[at];
        }
        moved
    }

    /// Lays down the masks of so many cars on either side; gives all options
    /// that occur there.
    fn lay_around(&mut self, cut: &Cut, reach: usize) -> u64 {
        let before = cut.lo.saturating_sub(reach)..cut.lo;
        let behind = cut.hi..self.plan.len.min(cut.hi + reach);
        let mut seen = 0;
        for part in [before, behind] {
            let masks = &self.masks[part.clone()];
            seen |= masks.iter().fold(0, |all, mask| all | mask);
            self.fresh[part].copy_from_slice(masks);
        }
        seen
    }

    /// Change of the breaks of a rule whose window is no shorter than the cut
    /// part: only runs that start or end within the part change, by what more
    /// or less of the option stands in its first places than did before.
    fn breaks_of_short_cut(&self, bit: usize, cut: &Cut) -> i64 {
        let rule = &self.plan.rules[bit];
        let counts = &self.counts[self.offsets[bit]..];
        let change = |start: usize, more: i16| {
            let old = counts[start - rule.starts.start];
            let new = old.wrapping_add_signed(more);
            self.plan.breaks(new, rule.at_most) - self.plan.breaks(old, rule.at_most)
        };
        let has = |mask: u64| (mask >> bit & 1) as i16;
        let (mut more, mut sum) = (0, 0);
        for at in cut.lo..cut.hi - 1 {
            more += has(self.fresh[at]) - has(self.masks[at]);
            if more == 0 {
                continue;
            }
            let next = at + 1;
            if next >= rule.in_every && rule.starts.contains(&(next - rule.in_every)) {
                sum += change(next - rule.in_every, more);
            }
            if rule.starts.contains(&next) {
                sum += change(next, -more);
            }
        }
        sum
    }

    /// Breaks of a rule across the new joints, from the masks laid down.
    fn fresh_breaks(&self, bit: usize, joints: &[usize]) -> i64 {
        let rule = &self.plan.rules[bit];
        let (reach, len) = (rule.in_every, self.plan.len);
        let has = |mask: u64| (mask >> bit & 1) as u16;
        let mut next = rule.starts.start;
        let mut sum = 0;
        for joint in joints {
            let from = next.max((joint + 1).saturating_sub(reach));
            let end = rule.starts.end.min(*joint);
            if from >= end {
                continue;
            }
            let first = self.fresh[from..len.min(from + reach)].iter();
            let mut cars: u16 = first.map(|mask| has(*mask)).sum();
            for start in from..end {
                sum += self.plan.breaks(cars, rule.at_most);
                cars -= has(self.fresh[start]);
                if start + reach < len {
                    cars += has(self.fresh[start + reach]);
                }
            }
            next = end;
        }
        sum
    }

    fn old_breaks(&self, bit: usize, joints: &[usize]) -> i64 {
        let reach = self.plan.rules[bit].in_every;
        let mut next = 0;
        let mut sum = 0;
        for joint in joints {
            let from = next.max((joint + 1).saturating_sub(reach));
            if from < *joint {
                sum += self.breaks_in(bit, from, *joint);
                next = *joint;
            }
        }
        sum
    }

    fn spacing_of_cut(&self, cut: &Cut, bits: u64) -> i64 {
        let mut left = bits;
        let mut sum = 0;
        while left != 0 {
            let bit = left.trailing_zeros() as usize;
            left &= left - 1;
            let change = if cut.hi - cut.lo <= self.plan.rules[bit].in_every {
                self.breaks_of_short_cut(bit, cut)
            } else {
                self.fresh_breaks(bit, cut.new_joints()) - self.old_breaks(bit, cut.old_joints())
            };
            sum += change * self.plan.rules[bit].price;
        }
        sum
    }

    /// Changes of colour and of cars beyond the longest block; none where
    /// nothing depends on colours.
    fn colours_of_cut(&self, cut: &Cut) -> Option<(i64, i64)> {
        if !self.plan.minds_colours() {
            return None;
        }
        let most = self.plan.max_block.unwrap_or(usize::MAX);
        let (left, right) = self.around(cut.lo, cut.hi);
        let new = cut.pieces().iter().map(|piece| {
            let stretch = self.stretch(piece.from, piece.end);
            stretch.map(|stretch| {
                if piece.flipped {
                    stretch.flipped()
                } else {
                    stretch
                }
            })
        });
        let row = |joint: usize| {
            let (from, end) = (cut.old_joints[joint], cut.old_joints[joint + 1]);
            self.stretch(from, end)
        };
        let old = (0..cut.count).map(row);
        let ends = |inner: &mut dyn Iterator<Item = _>| {
            let whole = std::iter::once(left).chain(inner).chain([right]);
            run_cost(whole, most)
        };
        let (new, old) = (ends(&mut new.into_iter()), ends(&mut old.into_iter()));
        Some((new.0 - old.0, new.1 - old.1))
    }

    fn level_of_cut(&self, cut: &Cut) -> i64 {
        let cars = self.plan.len - self.plan.first;
        let mut sum = 0;
        let plan = self.plan;
        for (part, (per_car, line)) in plan.parts.iter().zip(&plan.lines).enumerate() {
            let from = cut.lo - plan.first;
            let far = &self.far[part * cars..(part + 1) * cars];
            let mut used = match from.checked_sub(1) {
                Some(before) => far[before] + line[before],
                None => 0,
            };
            let places = far[from..].iter().zip(&line[from..]);
            for ((old, line), place) in places.zip(cut.places()) {
                used += plan.level_unit * per_car[usize::from(self.cars[place])];
                let now = used - line;
                sum += now * now - old * old;
            }
        }
        sum
    }

    fn in_time_after(&self, cut: &Cut, at: usize) -> i64 {
        let due = &self.plan.dues[at];
        if due.end <= cut.lo || due.end >= cut.hi {
            return self.in_time[at];
        }
        let cars = due.end - cut.lo;
        let is_class = |place: usize| i64::from(self.cars[place] == due.class);
        let new: i64 = cut.places().take(cars).map(is_class).sum();
        let old: i64 = (cut.lo..due.end).map(is_class).sum();
        self.in_time[at] + new - old
    }

    /// What a cut changes in the cost; none where that is above the bound.
    pub(crate) fn cut_change(&mut self, cut: &Cut, bound: &Cost) -> Option<Cost> {
        let plan = self.plan;
        let seen = self.lay_fresh(cut);
        let mut change = Cost::ZERO;
        for (at, due) in plan.dues.iter().enumerate() {
            let (old, new) = (self.in_time[at], self.in_time_after(cut, at));
            change[due.tier] += (due.missed(new) - due.missed(old)) * due.price;
        }
        let mut so_far = Verdict::Even;
        let mut colours = None;
        // As for an exchange: while all musts hold they are judged last.
        let musts_first = self.cost[0] > 0 || bound[0] > 0;
        if musts_first {
            colours = self.colours_of_cut(cut);
            change[0] += colours.map_or(0, |(_, over)| over);
            change[0] += self.spacing_of_cut(cut, seen & plan.tier_masks[0]);
            so_far = verdict(so_far, change[0], bound[0]);
        }
        for tier in 1..TIERS {
            if so_far == Verdict::Above {
                return None;
            }
            if tier == plan.change_tier && plan.change_price > 0 {
                colours = colours.or_else(|| self.colours_of_cut(cut));
                change[tier] += colours.map_or(0, |(changes, _)| changes * plan.change_price);
            }
            change[tier] += self.spacing_of_cut(cut, seen & plan.tier_masks[tier]);
            if tier == plan.level_tier && self.levels {
                change[tier] += self.level_of_cut(cut) * plan.level_price;
            }
            so_far = verdict(so_far, change[tier], bound[tier]);
        }
        if so_far == Verdict::Above {
            return None;
        }
        if !musts_first {
            colours = colours.or_else(|| self.colours_of_cut(cut));
            change[0] += colours.map_or(0, |(_, over)| over);
            change[0] += self.spacing_of_cut(cut, seen & plan.tier_masks[0]);
        }
        (change <= *bound).then_some(change)
    }

    /// Cuts the row and puts it together anew.
    pub(crate) fn cut(&mut self, cut: &Cut, change: &Cost) {
        for at in 0..self.plan.dues.len() {
            self.in_time[at] = self.in_time_after(cut, at);
        }
        let mut cars = std::mem::take(&mut self.old_cars);
        cars.clear();
        cars.extend(cut.places().map(|place| self.cars[place]));
        for (n, car) in cars.iter().enumerate() {
            self.cars[cut.lo + n] = *car;
            self.masks[cut.lo + n] = self.plan.masks[usize::from(*car)];
        }
        self.old_cars = cars;
        for bit in 0..self.plan.rules.len() {
            self.move_runs(bit, cut);
        }
        if self.levels {
            let first = self.plan.first;
            self.recount_level(cut.lo - first, cut.hi - first);
        }
        self.cost += *change;
    }

    /// Carries the counts of runs within pieces along, counts the others anew.
    fn move_runs(&mut self, bit: usize, cut: &Cut) {
        let reach = self.plan.rules[bit].in_every;
        let starts = self.plan.rules[bit].starts.clone();
        let base = self.offsets[bit];
        let mut old = std::mem::take(&mut self.old_counts);
        old.clear();
        old.extend_from_slice(self.runs(bit, cut.lo, cut.hi));
        // Runs that start before the counted ones lie among previous cars.
        let old_from = cut.lo.max(starts.start);
        for (piece, start) in cut.pieces().iter().zip(cut.new_joints()) {
            if piece.len() < reach {
                continue;
            }
            let inside = piece.len() - reach + 1;
            let source = &old[piece.from - old_from..piece.from - old_from + inside];
            let to = base + start - starts.start;
            let target = &mut self.counts[to..to + inside];
            target.copy_from_slice(source);
            if piece.flipped {
                target.reverse();
            }
        }
        self.old_counts = old;
        let mut next = 0;
        for joint in cut.new_joints() {
            let from = next.max((joint + 1).saturating_sub(reach));
            if from < *joint {
                self.recount_runs(bit, from..*joint);
                next = *joint;
            }
        }
    }
}
