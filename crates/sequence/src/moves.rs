//! Which small change to try next.

use crate::cost::TIERS;
use crate::pieces::{Cut, MOST_PIECES, Piece};
use crate::plan::Plan;
use crate::row::Row;
use crate::stream::Stream;

#[expect(
    clippy::large_enum_variant,
    reason = "made and used up at once, millions of times a second: a box would cost more"
)]
pub(crate) enum Move {
    None,
    /// Two cars change places, the first before the second.
    Swap(usize, usize),
    Cut(Cut),
}

/// Where cars of a kind stand, found now and then: what has moved since is
/// seen when it is used.
#[derive(Clone, Debug)]
struct Places {
    /// By class, the kind.
    kind: Vec<u32>,
    by_kind: Vec<Vec<u32>>,
}

impl Places {
    fn new<K: Ord>(plan: &Plan, key: impl Fn(usize) -> K) -> Self {
        let mut keys: Vec<K> = (0..plan.masks.len()).map(&key).collect();
        keys.sort_unstable();
        keys.dedup();
        let kind = |class: usize| keys.binary_search(&key(class)).unwrap_or(0) as u32;
        Self {
            kind: (0..plan.masks.len()).map(kind).collect(),
            by_kind: vec![Vec::new(); keys.len()],
        }
    }

    fn look(&mut self, row: &Row<'_>) {
        for list in &mut self.by_kind {
            list.clear();
        }
        for at in row.plan.free..row.plan.len {
            let kind = self.kind[usize::from(row.cars[at])];
            self.by_kind[kind as usize].push(at as u32);
        }
    }

    /// A place that held a car of the kind of this class when last looked at.
    fn one_like(&self, class: u16, stream: &mut Stream) -> Option<usize> {
        let list = &self.by_kind[self.kind[usize::from(class)] as usize];
        if list.is_empty() {
            return None;
        }
        Some(list[stream.below(list.len())] as usize)
    }
}

#[derive(Clone, Debug)]
pub(crate) struct Picker {
    /// Runs that break a rule.
    hot: Vec<(u8, u32)>,
    by_colour: Places,
    /// Alike in colour and in what the goals before colours see.
    by_colour_and_first: Places,
    by_first: Places,
    /// Alike in what the very first rules see.
    by_top: Places,
    /// By kind of the options that come before colours, by kind of colour:
    /// the kind alike in both and 1, or 0 where there is none.
    twins: Vec<Vec<u32>>,
    /// Whether goals come behind what the very first rules see.
    top_helps: bool,
    minds_colours: bool,
    age: u32,
}

/// Moves for which what was looked up is used before it is looked up anew.
const STALE: u32 = 1_024;

/// Places that a near move spans.
const NEAR: usize = 32;

impl Picker {
    pub(crate) fn new(plan: &Plan) -> Self {
        let before = if plan.change_price > 0 {
            plan.change_tier
        } else {
            TIERS
        };
        let mut first = plan.tier_masks[..before]
            .iter()
            .fold(0, |all, mask| all | mask);
        if first == 0 {
            // Colours come first, or with all else: what comes next then.
            let rest = plan.tier_masks[before..].iter();
            first = rest.copied().find(|mask| *mask != 0).unwrap_or(0);
        }
        let top = plan
            .tier_masks
            .iter()
            .copied()
            .find(|mask| *mask != 0)
            .unwrap_or(0);
        let by_colour = Places::new(plan, |class| plan.colours[class]);
        let by_first = Places::new(plan, |class| plan.masks[class] & first);
        let by_both = Places::new(plan, |class| {
            (plan.colours[class], plan.masks[class] & first)
        });
        let mut twins = vec![vec![0; by_colour.by_kind.len()]; by_first.by_kind.len()];
        for class in 0..plan.masks.len() {
            let (options, colour) = (by_first.kind[class], by_colour.kind[class]);
            twins[options as usize][colour as usize] = by_both.kind[class] + 1;
        }
        Self {
            hot: Vec::new(),
            by_colour,
            by_colour_and_first: by_both,
            by_first,
            by_top: Places::new(plan, |class| plan.masks[class] & top),
            twins,
            top_helps: plan.active_tiers().count_ones() > 1,
            minds_colours: plan.minds_colours(),
            age: 0,
        }
    }

    /// Says whether colours are among the goals that are looked at.
    pub(crate) const fn mind_colours(&mut self, minded: bool) {
        self.minds_colours = minded;
        self.age = 0;
    }

    pub(crate) fn pick(&mut self, row: &Row<'_>, stream: &mut Stream) -> Move {
        if self.age == 0 {
            self.look(row);
            self.age = STALE;
        }
        self.age -= 1;
        let i = self.anchor(row, stream);
        let draw = stream.below(128);
        if self.minds_colours {
            match draw {
                0..76 => self.swap(row, stream, i),
                76..100 => self.join_by_swap(row, stream, i),
                100..108 => self.insert(row, stream, i),
                108..118 => self.reflect(row, stream, i),
                118..124 => block(row, stream, i),
                _ => shuffle(row, stream, i),
            }
        } else {
            match draw {
                0..96 => self.swap(row, stream, i),
                96..108 => self.insert(row, stream, i),
                108..118 => self.reflect(row, stream, i),
                118..122 => block(row, stream, i),
                _ => shuffle(row, stream, i),
            }
        }
    }

    fn look(&mut self, row: &Row<'_>) {
        self.hot.clear();
        for (bit, rule) in row.plan.rules.iter().enumerate() {
            let runs = row.runs(bit, rule.starts.start, rule.starts.end);
            for (n, count) in runs.iter().enumerate() {
                if *count > rule.at_most {
                    self.hot.push((bit as u8, (rule.starts.start + n) as u32));
                }
            }
        }
        self.by_first.look(row);
        self.by_top.look(row);
        if self.minds_colours {
            self.by_colour.look(row);
            self.by_colour_and_first.look(row);
        }
    }

    /// A place to change something at: one in three times a car of a run that
    /// breaks a rule, where there is one.
    fn anchor(&self, row: &Row<'_>, stream: &mut Stream) -> usize {
        if self.hot.is_empty() || stream.below(3) > 0 {
            return anywhere(row, stream);
        }
        let (bit, start) = self.hot[stream.below(self.hot.len())];
        let rule = &row.plan.rules[usize::from(bit)];
        let from = (start as usize).max(row.plan.free);
        let end = row.plan.len.min(start as usize + rule.in_every);
        if from >= end {
            return anywhere(row, stream);
        }
        from + stream.below(end - from)
    }

    fn swap(&self, row: &Row<'_>, stream: &mut Stream, i: usize) -> Move {
        let car = row.cars[i];
        let like = |places: &Places, stream: &mut Stream| places.one_like(car, stream).unwrap_or(i);
        let j = match stream.below(16) {
            0..3 => near(row, stream, i, NEAR),
            3..6 => anywhere(row, stream),
            6..9 if self.minds_colours => like(&self.by_colour, stream),
            9 | 10 if self.minds_colours => like(&self.by_colour_and_first, stream),
            11 | 12 if self.minds_colours => like(&self.by_first, stream),
            13 | 14 if self.top_helps => like(&self.by_top, stream),
            _ => self.similar(row, stream, i),
        };
        swapped(row, i, j)
    }

    /// The most similar of a few: small steps are kept more often.
    fn similar(&self, row: &Row<'_>, stream: &mut Stream, i: usize) -> usize {
        let mut least = u32::MAX;
        let mut best = i;
        for _ in 0..5 {
            let other = anywhere(row, stream);
            let apart = (row.masks[other] ^ row.masks[i]).count_ones();
            if row.cars[other] != row.cars[i] && apart < least {
                least = apart;
                best = other;
            }
        }
        best
    }

    /// Brings a car of the neighbour's colour to where the colour changes.
    fn join_by_swap(&self, row: &Row<'_>, stream: &mut Stream, i: usize) -> Move {
        let after = stream.below(2) == 0;
        let i = if after {
            run_end(row, i)
        } else {
            run_start(row, i)
        };
        // The car across the border whose colour goes on over it.
        let (i, neighbour) = if after {
            if i >= row.plan.len {
                return Move::None;
            }
            (i, row.cars[i - 1])
        } else {
            if i == row.plan.free {
                return Move::None;
            }
            (i - 1, row.cars[i])
        };
        if i < row.plan.free {
            return Move::None;
        }
        let wanted = if stream.below(4) > 0 {
            self.twin(row.cars[i], neighbour)
        } else {
            None
        };
        let j = match wanted {
            Some(kind) => {
                let list = &self.by_colour_and_first.by_kind[kind as usize];
                if list.is_empty() {
                    return Move::None;
                }
                list[stream.below(list.len())] as usize
            }
            None => self.by_colour.one_like(neighbour, stream).unwrap_or(i),
        };
        swapped(row, i, j)
    }

    /// The kind that has the options of one class, as far as they come before
    /// colours, and the colour of another; none where there is none.
    fn twin(&self, options: u16, colour: u16) -> Option<u32> {
        let options = self.by_first.kind[usize::from(options)];
        let colour = self.by_colour.kind[usize::from(colour)];
        self.twins[options as usize][colour as usize].checked_sub(1)
    }

    fn insert(&self, row: &Row<'_>, stream: &mut Stream, i: usize) -> Move {
        let j = match stream.below(4) {
            0 | 1 => near(row, stream, i, NEAR),
            2 if self.minds_colours => self.by_colour.one_like(row.cars[i], stream).unwrap_or(i),
            _ => anywhere(row, stream),
        };
        if j > i + 1 {
            Move::Cut(Cut::new(&[
                Piece::plain(i + 1, j + 1),
                Piece::plain(i, i + 1),
            ]))
        } else if j + 1 < i {
            Move::Cut(Cut::new(&[Piece::plain(i, i + 1), Piece::plain(j, i)]))
        } else {
            Move::None
        }
    }

    fn reflect(&self, row: &Row<'_>, stream: &mut Stream, i: usize) -> Move {
        let (mut from, mut end);
        match stream.below(4) {
            0 if self.minds_colours => {
                // The part behind a change of colour ends with the colour
                // before it.
                from = run_start(row, i);
                if from <= row.plan.free {
                    return Move::None;
                }
                let j = self
                    .by_colour
                    .one_like(row.cars[from - 1], stream)
                    .unwrap_or(i);
                end = j + 1;
                if j < from {
                    // The same the other way round: the colour before the
                    // change comes to where it stands already.
                    (from, end) = (j + 1, from);
                }
            }
            kind => {
                let j = if kind == 3 {
                    anywhere(row, stream)
                } else {
                    near(row, stream, i, NEAR)
                };
                (from, end) = (i.min(j), i.max(j) + 1);
                if self.minds_colours && stream.below(2) == 0 {
                    from = run_start(row, from);
                    end = run_end(row, end - 1);
                }
            }
        }
        if end < from + 2 {
            return Move::None;
        }
        Move::Cut(Cut::new(&[Piece::flipped(from, end)]))
    }
}

fn swapped(row: &Row<'_>, i: usize, j: usize) -> Move {
    if row.cars[i] == row.cars[j] {
        return Move::None;
    }
    Move::Swap(i.min(j), i.max(j))
}

/// A place within reach of `i`.
fn near(row: &Row<'_>, stream: &mut Stream, i: usize, reach: usize) -> usize {
    let from = i.saturating_sub(reach).max(row.plan.free);
    let end = row.plan.len.min(i + reach + 1);
    from + stream.below(end - from)
}

fn anywhere(row: &Row<'_>, stream: &mut Stream) -> usize {
    row.plan.free + stream.below(row.plan.len - row.plan.free)
}

/// The start of the run of one colour that a place lies in.
fn run_start(row: &Row<'_>, mut at: usize) -> usize {
    let colour = |at: usize| row.plan.colours[usize::from(row.cars[at])];
    while at > row.plan.free && colour(at - 1) == colour(at) {
        at -= 1;
    }
    at
}

/// The end of the run of one colour that a place lies in.
fn run_end(row: &Row<'_>, mut at: usize) -> usize {
    let colour = |at: usize| row.plan.colours[usize::from(row.cars[at])];
    while at + 1 < row.plan.len && colour(at + 1) == colour(at) {
        at += 1;
    }
    at + 1
}

/// Two neighbouring blocks change places.
fn block(row: &Row<'_>, stream: &mut Stream, i: usize) -> Move {
    let j = near(row, stream, i, 3 * NEAR);
    let (mut from, mut end) = (i.min(j), i.max(j));
    let mut middle;
    if row.plan.change_price > 0 && stream.below(3) > 0 {
        from = run_start(row, from);
        middle = run_end(row, from);
        end = run_end(row, end);
    } else {
        if end - from < 2 {
            return Move::None;
        }
        middle = from + 1 + stream.below((end - from - 1).min(NEAR));
    }
    if stream.below(2) == 0 {
        // As often the last part is the short one.
        middle = middle.max(from + end - middle);
    }
    if middle <= from || middle >= end {
        return Move::None;
    }
    Move::Cut(Cut::new(&[
        Piece::plain(middle, end),
        Piece::plain(from, middle),
    ]))
}

fn shuffle(row: &Row<'_>, stream: &mut Stream, i: usize) -> Move {
    let size = 3 + stream.below(4);
    let free = row.plan.len - row.plan.free;
    if free < size {
        return Move::None;
    }
    let from = i.min(row.plan.len - size);
    let mut pieces = [Piece::plain(0, 0); MOST_PIECES];
    for (n, piece) in pieces[..size].iter_mut().enumerate() {
        *piece = Piece::plain(from + n, from + n + 1);
    }
    for n in (1..size).rev() {
        pieces.swap(n, stream.below(n + 1));
    }
    Move::Cut(Cut::new(&pieces[..size]))
}
