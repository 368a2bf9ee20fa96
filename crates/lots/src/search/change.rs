//! Small changes of a sequence.

use crate::stream::Stream;

/// Writes a changed copy of `from` into `to`; false when the change drawn is
/// not possible.
pub(crate) fn change(
    from: &[u16],
    items: usize,
    most: usize,
    stream: &mut Stream,
    to: &mut Vec<u16>,
) -> bool {
    to.clear();
    to.extend_from_slice(from);
    let n = from.len();
    if n < 3 || items < 2 {
        return false;
    }
    let at = stream.below(n);
    match stream.below(20) {
        0..=2 => {
            if n >= most {
                return false;
            }
            to.insert(at, stream.below(items) as u16);
        }
        3..=6 => {
            if from.iter().filter(|item| **item == from[at]).count() < 2 {
                return false;
            }
            to.remove(at);
        }
        7..=10 => to.swap(at, (at + 1) % n),
        11..=16 => {
            let item = to.remove(at);
            to.insert(stream.below(n), item);
        }
        17 | 18 => to.swap(at, stream.below(n)),
        _ => {
            // A lot becomes one of another item.
            if from.iter().filter(|item| **item == from[at]).count() < 2 {
                return false;
            }
            to[at] = stream.below(items) as u16;
        }
    }
    let n = to.len();
    (0..n).all(|at| to[at] != to[(at + 1) % n]) && to.as_slice() != from
}
