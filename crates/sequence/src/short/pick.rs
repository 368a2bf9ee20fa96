//! Which change is tried next.

use super::row::{Change, How, ShortRow};
use super::sweep::Swept;
use crate::stream::Stream;

/// Places that a near change spans.
const NEAR: usize = 32;

/// Others that one place is tried with in a row.
const SWEPT: usize = 32;

/// Tries some changes; gives how many, and whether the last of them was made.
pub(crate) fn step(row: &mut ShortRow<'_>, stream: &mut Stream, allowed: i32) -> Swept {
    let draw = stream.below(64);
    if draw >= 32 {
        let change = pick(row, stream);
        let made = change.is_some_and(|change| row.try_out(change, allowed));
        return Swept { tried: 1, made };
    }
    let i = anywhere(row, stream);
    let j = if draw & 3 == 0 {
        anywhere(row, stream)
    } else {
        near(row, stream, i, 2 * NEAR)
    };
    let others = j.saturating_sub(SWEPT / 2)..j + SWEPT / 2;
    if draw < 16 {
        row.sweep_turns(i, others, allowed)
    } else {
        row.sweep_swaps(i, others, allowed)
    }
}

/// Some change; none where the draw makes no sense.
pub(super) fn pick(row: &ShortRow<'_>, stream: &mut Stream) -> Option<Change> {
    let draw = stream.below(128);
    let i = anywhere(row, stream);
    let swaps = draw < 40;
    let j = if swaps && draw < 20 || !swaps && stream.below(4) == 0 {
        anywhere(row, stream)
    } else {
        near(row, stream, i, if swaps { NEAR / 2 } else { NEAR })
    };
    let (from, end) = (i.min(j), i.max(j) + 1);
    let how = match draw {
        0..40 if row.mask(i) == row.mask(j) => return None,
        0..40 => How::Swap,
        40..50 if i < j => How::Back,
        40..50 => How::Forth,
        50..90 => How::Turn,
        _ => {
            let reach = row.reach();
            let ways = (end - from + 1).checked_sub(2 * reach)?;
            if ways == 0 {
                return None;
            }
            let turned = if draw < 110 { 0 } else { draw };
            let turned = [turned & 1 == 1, turned & 2 == 2];
            How::Exchange(reach + stream.below(ways), turned)
        }
    };
    Some(Change { from, end, how })
}

fn anywhere(row: &ShortRow<'_>, stream: &mut Stream) -> usize {
    let free = row.free();
    free.start + stream.below(free.len())
}

/// A place within reach of `i`.
fn near(row: &ShortRow<'_>, stream: &mut Stream, i: usize, reach: usize) -> usize {
    let free = row.free();
    let from = i.saturating_sub(reach).max(free.start);
    from + stream.below(free.end.min(i + reach + 1) - from)
}
