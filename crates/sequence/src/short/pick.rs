//! Which change is tried next.

use super::row::{Change, How, ShortRow};
use crate::stream::Stream;

/// Places that a near change spans.
const NEAR: usize = 32;

/// Some change; none where the draw makes no sense.
pub(crate) fn pick(row: &ShortRow<'_>, stream: &mut Stream) -> Option<Change> {
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
