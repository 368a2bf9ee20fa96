//! Which small change to try next.

use crate::pieces::{Cut, MOST_PIECES, Piece};
use crate::row::Row;
use crate::stream::Stream;

pub(crate) enum Move {
    None,
    /// Two cars change places, the first before the second.
    Swap(usize, usize),
    Cut(Cut),
}

/// Runs of cars that break a rule, found now and then.
#[derive(Clone, Debug, Default)]
pub(crate) struct Picker {
    hot: Vec<(u8, u32)>,
    age: u32,
}

/// Moves for which the list of broken runs is used before it is found anew.
const STALE: u32 = 512;

/// Places that a near move spans.
const NEAR: usize = 32;

impl Picker {
    pub(crate) fn pick(&mut self, row: &Row<'_>, stream: &mut Stream) -> Move {
        if self.age == 0 {
            self.look(row);
            self.age = STALE;
        }
        self.age -= 1;
        let i = self.anchor(row, stream);
        match stream.below(100) {
            0..64 => swap(row, stream, i),
            64..76 => insert(row, stream, i),
            76..88 => reflect(row, stream, i),
            88..94 => block(row, stream, i),
            _ => shuffle(row, stream, i),
        }
    }

    /// Lists the runs that break a rule.
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
    }

    /// A place to change something at: one in three times a car of a run that
    /// breaks a rule, where there is one.
    fn anchor(&self, row: &Row<'_>, stream: &mut Stream) -> usize {
        let any = row.plan.free + stream.below(row.plan.len - row.plan.free);
        if self.hot.is_empty() || stream.below(3) > 0 {
            return any;
        }
        let (bit, start) = self.hot[stream.below(self.hot.len())];
        let rule = &row.plan.rules[usize::from(bit)];
        let from = (start as usize).max(row.plan.free);
        let end = row.plan.len.min(start as usize + rule.in_every);
        if from >= end {
            return any;
        }
        from + stream.below(end - from)
    }
}

fn ordered(i: usize, j: usize) -> (usize, usize) {
    (i.min(j), i.max(j))
}

/// A place within reach of `i`, or any.
fn near(row: &Row<'_>, stream: &mut Stream, i: usize, reach: usize) -> usize {
    let from = i.saturating_sub(reach).max(row.plan.free);
    let end = row.plan.len.min(i + reach + 1);
    from + stream.below(end - from)
}

fn anywhere(row: &Row<'_>, stream: &mut Stream) -> usize {
    row.plan.free + stream.below(row.plan.len - row.plan.free)
}

fn swap(row: &Row<'_>, stream: &mut Stream, i: usize) -> Move {
    let colour = |at: usize| row.plan.colours[usize::from(row.cars[at])];
    let same_colour = row.plan.minds_colours() && stream.below(2) == 0;
    let mut j = i;
    match stream.below(4) {
        0 => {
            for _ in 0..4 {
                j = near(row, stream, i, NEAR);
                if row.cars[j] != row.cars[i] && (!same_colour || colour(i) == colour(j)) {
                    break;
                }
            }
        }
        1 | 2 => {
            for _ in 0..8 {
                j = anywhere(row, stream);
                if row.cars[j] != row.cars[i] && (!same_colour || colour(i) == colour(j)) {
                    break;
                }
            }
        }
        _ => {
            // The most similar of a few: small steps are kept more often.
            let mut least = u32::MAX;
            for _ in 0..6 {
                let other = anywhere(row, stream);
                let apart = (row.masks[other] ^ row.masks[i]).count_ones() * 2
                    + u32::from(row.plan.minds_colours() && colour(i) != colour(other));
                if row.cars[other] != row.cars[i] && apart < least {
                    least = apart;
                    j = other;
                }
            }
        }
    }
    if row.cars[i] == row.cars[j] {
        return Move::None;
    }
    let (i, j) = ordered(i, j);
    Move::Swap(i, j)
}

fn insert(row: &Row<'_>, stream: &mut Stream, i: usize) -> Move {
    let j = if stream.below(3) > 0 {
        near(row, stream, i, NEAR)
    } else {
        anywhere(row, stream)
    };
    if j > i + 1 {
        Move::Cut(Cut::new(&[Piece::plain(i + 1, j + 1), Piece::plain(i, i + 1)]))
    } else if j + 1 < i {
        Move::Cut(Cut::new(&[Piece::plain(i, i + 1), Piece::plain(j, i)]))
    } else {
        Move::None
    }
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

fn reflect(row: &Row<'_>, stream: &mut Stream, i: usize) -> Move {
    let j = if stream.below(3) > 0 {
        near(row, stream, i, NEAR)
    } else {
        anywhere(row, stream)
    };
    let (mut from, last) = ordered(i, j);
    let mut end = last + 1;
    if row.plan.change_price > 0 && stream.below(2) == 0 {
        from = run_start(row, from);
        end = run_end(row, last);
    }
    if end - from < 2 {
        return Move::None;
    }
    Move::Cut(Cut::new(&[Piece::flipped(from, end)]))
}

/// Two neighbouring blocks change places.
fn block(row: &Row<'_>, stream: &mut Stream, i: usize) -> Move {
    let j = near(row, stream, i, 3 * NEAR);
    let (mut from, mut end) = ordered(i, j);
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
    Move::Cut(Cut::new(&[Piece::plain(middle, end), Piece::plain(from, middle)]))
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
