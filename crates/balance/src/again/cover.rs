//! The cheapest things that together give enough.

/// Things of which every choice is looked at; of more, needs in cells.
const FEW: usize = 12;

/// Cells of need that are looked at one by one; more are counted in fewer.
const MOST_CELLS: u64 = 20_000;

/// The least sum of costs of things, each with what it gives and what it costs,
/// that together give so much; none where all together do not. Of many things
/// whose need is large it is a bound from below.
pub(crate) fn least_cover(things: &[(u64, u64)], need: u64) -> Option<u64> {
    let all: u64 = things.iter().map(|(gives, _)| gives).sum();
    if all < need {
        return None;
    }
    if things.len() > FEW {
        return Some(by_cells(things, need));
    }
    let mut least = u64::MAX;
    by_choice(things, need, all, 0, &mut least);
    Some(least)
}

fn by_choice(things: &[(u64, u64)], need: u64, left: u64, cost: u64, least: &mut u64) {
    if cost >= *least || left < need {
        return;
    }
    if need == 0 {
        *least = cost;
        return;
    }
    if let Some(((gives, own), rest)) = things.split_first() {
        let left = left - gives;
        by_choice(rest, need.saturating_sub(*gives), left, cost + own, least);
        by_choice(rest, need, left, cost, least);
    }
}

fn by_cells(things: &[(u64, u64)], need: u64) -> u64 {
    let coarse = need / MOST_CELLS + 1;
    let need = (need / coarse) as usize;
    let all: u64 = things.iter().map(|(_, cost)| cost).sum();
    let mut least = vec![all; need + 1];
    least[0] = 0;
    for (gives, cost) in things {
        let gives = gives.div_ceil(coarse) as usize;
        for left in (1..=need).rev() {
            let with = least[left.saturating_sub(gives)].saturating_add(*cost);
            least[left] = least[left].min(with);
        }
    }
    least[need]
}
