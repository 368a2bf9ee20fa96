//! Which of several widths to hold, of several sorts at once, so that all parts
//! are covered at least cost: exact, with its bound.
//!
//! A sort (an alloy and gauge) is a facility location problem with a limit on
//! the number of places opened: branch and bound with the bound of the
//! Lagrangian relaxation of "each part is cut from one width" (Cornuejols,
//! Fisher and Nemhauser, Management Science 23, 1977). Sorts meet only in the
//! number of specifications, which a dynamic programme shares out.

use std::sync::atomic::{AtomicBool, Ordering};

/// Widths and parts of one sort.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Sort {
    /// What holding each width costs.
    pub(super) fixed: Vec<f64>,
    /// What each part costs on each width; infinite where it does not fit.
    pub(super) cost: Vec<Vec<f64>>,
}

/// The best choice of at most so many widths of a sort.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Pick {
    /// The widths, in order.
    pub(super) widths: Vec<usize>,
    /// What it costs.
    pub(super) cost: f64,
    /// No choice costs less.
    pub(super) bound: f64,
}

/// The choice over all sorts.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Choice {
    /// The widths of each sort.
    pub(super) widths: Vec<Vec<usize>>,
    /// What it costs.
    pub(super) cost: f64,
    /// No choice costs less.
    pub(super) bound: f64,
    /// The least cost of each number of widths in all, from the fewest that
    /// cover all parts on.
    pub(super) by_number: Vec<(usize, f64)>,
    /// The fewest widths that cover all parts.
    pub(super) fewest: usize,
}

/// Nodes searched for one number of widths of one sort; what is left then
/// stands in the bound.
const NODES: usize = 4_000;
/// Steps that tune the multipliers at the root and at a node.
const ROOT_STEPS: usize = 200;
const NODE_STEPS: usize = 12;

/// Chooses at most `at_most` widths over all sorts; none if they do not cover
/// all parts, or if it was cancelled.
pub(super) fn choose(sorts: &[Sort], at_most: usize, cancel: &AtomicBool) -> Option<Choice> {
    let mut picks: Vec<Vec<Option<Pick>>> = Vec::with_capacity(sorts.len());
    for sort in sorts {
        let most = sort.fixed.len().min(sort.cost.len()).min(at_most);
        let mut own: Vec<Option<Pick>> = Vec::with_capacity(most);
        for number in 1..=most {
            if cancel.load(Ordering::Relaxed) {
                return None;
            }
            let before = own.last().and_then(Option::as_ref);
            let pick = best(sort, number, before);
            // Where one more is no use, a hundred more are none.
            let settled = match (&pick, before) {
                (Some(pick), Some(before)) => pick.widths == before.widths,
                _ => false,
            };
            own.push(pick);
            if settled {
                break;
            }
        }
        picks.push(own);
    }
    share_out(&picks, at_most)
}

/// Shares the number of widths out among the sorts.
fn share_out(picks: &[Vec<Option<Pick>>], at_most: usize) -> Option<Choice> {
    let value = |pick: &Option<Pick>, of: fn(&Pick) -> f64| pick.as_ref().map_or(f64::INFINITY, of);
    // costs[n]: the least cost of exactly n widths offered to the sorts so far.
    let mut costs = vec![0.0];
    let mut bounds = vec![0.0];
    let mut given: Vec<Vec<usize>> = Vec::new();
    for own in picks {
        let reach = (costs.len() - 1 + own.len()).min(at_most);
        let mut next = vec![f64::INFINITY; reach + 1];
        let mut next_bounds = vec![f64::INFINITY; reach + 1];
        let mut from = vec![0; reach + 1];
        for (n, (cost, bound)) in costs.iter().zip(&bounds).enumerate() {
            for (k, pick) in own.iter().enumerate() {
                let at = n + k + 1;
                if at > reach {
                    break;
                }
                let sum = cost + value(pick, |pick| pick.cost);
                if sum < next[at] {
                    next[at] = sum;
                    from[at] = k + 1;
                }
                next_bounds[at] = next_bounds[at].min(bound + value(pick, |pick| pick.bound));
            }
        }
        (costs, bounds) = (next, next_bounds);
        given.push(from);
    }
    let fewest = costs.iter().position(|cost| cost.is_finite())?;
    let mut by_number: Vec<(usize, f64)> = Vec::new();
    for (n, cost) in costs.iter().enumerate().skip(fewest) {
        let before = by_number.last().map_or(f64::INFINITY, |(_, cost)| *cost);
        by_number.push((n, cost.min(before)));
    }
    let bound = bounds.iter().copied().fold(f64::INFINITY, f64::min);
    let (mut left, cost) =
        costs
            .iter()
            .copied()
            .enumerate()
            .fold((fewest, f64::INFINITY), |best, (n, cost)| {
                if cost < best.1 { (n, cost) } else { best }
            });
    let mut widths = vec![Vec::new(); picks.len()];
    for (s, own) in picks.iter().enumerate().rev() {
        let k = given[s][left];
        let pick = own.get(k.wrapping_sub(1)).and_then(Option::as_ref)?;
        widths[s] = pick.widths.clone();
        left -= k;
    }
    Some(Choice {
        widths,
        cost,
        bound,
        by_number,
        fewest,
    })
}

/// The best choice of at most `number` widths; none if so few cover not all.
fn best(sort: &Sort, number: usize, start: Option<&Pick>) -> Option<Pick> {
    let search = Search::of(sort, number);
    let mut found = search.greedy();
    if let Some(start) = start
        && start.cost < found.1
    {
        found = (start.widths.clone(), start.cost);
    }
    let bound = search.run(&mut found);
    // A part left without a width costs more than all that can be.
    (found.1 < search.never).then(|| Pick {
        widths: found.0,
        cost: found.1,
        bound: bound.min(found.1),
    })
}

struct Search<'a> {
    fixed: &'a [f64],
    cost: Vec<Vec<f64>>,
    number: usize,
    /// Costs above any choice that covers all parts.
    never: f64,
}

#[derive(Clone, Copy, PartialEq)]
enum State {
    Undecided,
    Open,
    Closed,
}

#[derive(Clone)]
struct Node {
    states: Vec<State>,
    multipliers: Vec<f64>,
    bound: f64,
}

impl<'a> Search<'a> {
    fn of(sort: &'a Sort, number: usize) -> Self {
        let most = |row: &Vec<f64>| {
            let finite = row.iter().copied().filter(|cost| cost.is_finite());
            finite.fold(0.0, f64::max)
        };
        let never = 1.0 + sort.cost.iter().map(most).sum::<f64>() + sort.fixed.iter().sum::<f64>();
        let capped = |row: &Vec<f64>| row.iter().map(|cost| cost.min(never)).collect();
        Self {
            fixed: &sort.fixed,
            cost: sort.cost.iter().map(capped).collect(),
            number,
            never,
        }
    }

    fn value(&self, widths: &[usize]) -> f64 {
        let held: f64 = widths.iter().map(|w| self.fixed[*w]).sum();
        let parts: f64 = self
            .cost
            .iter()
            .map(|row| widths.iter().map(|w| row[*w]).fold(self.never, f64::min))
            .sum();
        held + parts
    }

    /// Opens the width that helps most, again and again, then swaps.
    fn greedy(&self) -> (Vec<usize>, f64) {
        let mut widths: Vec<usize> = Vec::new();
        let mut cost = f64::INFINITY;
        while widths.len() < self.number {
            let better = (0..self.fixed.len())
                .filter(|w| !widths.contains(w))
                .map(|w| {
                    let mut more = widths.clone();
                    more.push(w);
                    (self.value(&more), w)
                })
                .min_by(|one, other| one.0.total_cmp(&other.0));
            match better {
                Some((value, width)) if value < cost => {
                    widths.push(width);
                    cost = value;
                }
                _ => break,
            }
        }
        while self.swap(&mut widths, &mut cost) {}
        widths.sort_unstable();
        (widths, cost)
    }

    fn swap(&self, widths: &mut [usize], cost: &mut f64) -> bool {
        for place in 0..widths.len() {
            for width in 0..self.fixed.len() {
                if widths.contains(&width) {
                    continue;
                }
                let old = std::mem::replace(&mut widths[place], width);
                let value = self.value(widths);
                if value < *cost - 1e-9 {
                    *cost = value;
                    return true;
                }
                widths[place] = old;
            }
        }
        false
    }

    /// Betters what was found; the bound that is left.
    fn run(&self, found: &mut (Vec<usize>, f64)) -> f64 {
        let start = |row: &Vec<f64>| row.iter().copied().fold(self.never, f64::min);
        let mut root = Node {
            states: vec![State::Undecided; self.fixed.len()],
            multipliers: self.cost.iter().map(start).collect(),
            bound: 0.0,
        };
        self.tune(&mut root, ROOT_STEPS, found);
        let mut stack = vec![root];
        let mut nodes = 0;
        while let Some(node) = stack.pop() {
            if node.bound >= found.1 - 1e-7 * found.1.abs().max(1.0) {
                continue;
            }
            nodes += 1;
            if nodes > NODES {
                let left = stack.iter().map(|node| node.bound);
                return left.fold(node.bound, f64::min);
            }
            let Some(width) = self.branch(&node) else {
                continue;
            };
            for state in [State::Closed, State::Open] {
                let mut child = node.clone();
                child.states[width] = state;
                self.tune(&mut child, NODE_STEPS, found);
                child.bound = child.bound.max(node.bound);
                stack.push(child);
            }
        }
        found.1
    }

    /// What each width is worth at these multipliers: its cost, less what the
    /// parts would save on it.
    fn worth(&self, multipliers: &[f64]) -> Vec<f64> {
        let saved = |width: usize| -> f64 {
            let rows = self.cost.iter().zip(multipliers);
            rows.map(|(row, price)| (row[width] - price).min(0.0)).sum()
        };
        (0..self.fixed.len())
            .map(|width| self.fixed[width] + saved(width))
            .collect()
    }

    /// The widths opened at these multipliers, and the bound they give.
    fn relaxed(&self, node: &Node, multipliers: &[f64]) -> (Vec<usize>, f64) {
        let worth = self.worth(multipliers);
        let mut opened: Vec<usize> = Vec::new();
        let mut free: Vec<usize> = Vec::new();
        for (width, state) in node.states.iter().enumerate() {
            match state {
                State::Open => opened.push(width),
                State::Undecided => free.push(width),
                State::Closed => {}
            }
        }
        free.sort_by(|a, b| worth[*a].total_cmp(&worth[*b]));
        let room = self.number.saturating_sub(opened.len());
        let useful = free.iter().take(room).filter(|width| worth[**width] < 0.0);
        opened.extend(useful);
        let bound = multipliers.iter().sum::<f64>() + opened.iter().map(|w| worth[*w]).sum::<f64>();
        (opened, bound)
    }

    /// Raises a node's bound by subgradient steps, and tries what they open.
    fn tune(&self, node: &mut Node, steps: usize, found: &mut (Vec<usize>, f64)) {
        let opened = node
            .states
            .iter()
            .filter(|state| **state == State::Open)
            .count();
        if opened > self.number {
            node.bound = f64::INFINITY;
            return;
        }
        let mut multipliers = node.multipliers.clone();
        let mut stride = 1.0;
        let mut stale = 0;
        node.bound = f64::NEG_INFINITY;
        for _ in 0..steps {
            let (widths, bound) = self.relaxed(node, &multipliers);
            if bound > node.bound {
                node.bound = bound;
                node.multipliers.clone_from(&multipliers);
                stale = 0;
            } else {
                stale += 1;
                if stale >= 5 {
                    stride *= 0.5;
                    stale = 0;
                }
            }
            self.try_out(&widths, found);
            let served: Vec<f64> = self
                .cost
                .iter()
                .zip(&multipliers)
                .map(|(row, price)| widths.iter().filter(|w| row[**w] < *price).count() as f64)
                .collect();
            let norm: f64 = served.iter().map(|n| (1.0 - n) * (1.0 - n)).sum();
            if norm == 0.0 {
                break;
            }
            let step = stride * (found.1 - bound).max(1e-9 * found.1.abs()) / norm;
            for (price, n) in multipliers.iter_mut().zip(&served) {
                *price += step * (1.0 - n);
            }
        }
    }

    fn try_out(&self, widths: &[usize], found: &mut (Vec<usize>, f64)) {
        if widths.is_empty() || widths.len() > self.number {
            return;
        }
        let value = self.value(widths);
        if value < found.1 - 1e-9 {
            let mut widths = widths.to_vec();
            widths.sort_unstable();
            *found = (widths, value);
        }
    }

    /// The undecided width that matters most; none when the number is used up
    /// or nothing is undecided, and then what is open has been tried.
    fn branch(&self, node: &Node) -> Option<usize> {
        let opened = node
            .states
            .iter()
            .filter(|state| **state == State::Open)
            .count();
        if opened >= self.number {
            return None;
        }
        let worth = self.worth(&node.multipliers);
        (0..self.fixed.len())
            .filter(|width| node.states[*width] == State::Undecided)
            .min_by(|a, b| worth[*a].total_cmp(&worth[*b]))
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    static NEVER: AtomicBool = AtomicBool::new(false);

    /// All subsets of all sorts together.
    fn by_trying_all(sorts: &[Sort], at_most: usize) -> Option<f64> {
        let mut least = vec![0.0];
        for sort in sorts {
            let mut own = vec![f64::INFINITY; sort.fixed.len() + 1];
            for subset in 1_u32..(1 << sort.fixed.len()) {
                let held: Vec<usize> = (0..sort.fixed.len())
                    .filter(|w| subset & (1 << w) != 0)
                    .collect();
                let parts: f64 = sort
                    .cost
                    .iter()
                    .map(|row| held.iter().map(|w| row[*w]).fold(f64::INFINITY, f64::min))
                    .sum();
                let cost = parts + held.iter().map(|w| sort.fixed[*w]).sum::<f64>();
                own[held.len()] = own[held.len()].min(cost);
            }
            let mut next = vec![f64::INFINITY; least.len() + own.len()];
            for (n, before) in least.iter().enumerate() {
                for (k, cost) in own.iter().enumerate() {
                    next[n + k] = next[n + k].min(before + cost);
                }
            }
            least = next;
        }
        let reachable = least.iter().take(at_most + 1).copied();
        let best = reachable.fold(f64::INFINITY, f64::min);
        best.is_finite().then_some(best)
    }

    fn any_sort() -> impl Strategy<Value = Sort> {
        (1_usize..7, 1_usize..6).prop_flat_map(|(widths, parts)| {
            let fixed = prop::collection::vec(0.0..60.0, widths);
            // A blank fits from some width on, as on a real strip.
            let row = (0..widths, prop::collection::vec(1.0..100.0, widths)).prop_map(
                |(from, mut row)| {
                    row.iter_mut()
                        .take(from)
                        .for_each(|cost| *cost = f64::INFINITY);
                    row
                },
            );
            (fixed, prop::collection::vec(row, parts))
                .prop_map(|(fixed, cost)| Sort { fixed, cost })
        })
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(200))]

        #[test]
        fn no_other_choice_of_widths_is_cheaper(
            sorts in prop::collection::vec(any_sort(), 1..4),
            at_most in 1_usize..8,
        ) {
            let choice = choose(&sorts, at_most, &NEVER);
            let wanted = by_trying_all(&sorts, at_most);
            prop_assert_eq!(choice.is_some(), wanted.is_some());
            if let (Some(choice), Some(wanted)) = (choice, wanted) {
                prop_assert!((choice.cost - wanted).abs() < 1e-6 * wanted, "{} {}", choice.cost, wanted);
                prop_assert!(choice.bound <= choice.cost + 1e-9);
                prop_assert!(choice.bound >= choice.cost - 1e-5 * choice.cost.abs(), "not proven");
                let held: usize = choice.widths.iter().map(Vec::len).sum();
                prop_assert!(held <= at_most);
            }
        }
    }

    #[test]
    fn two_parts_share_a_width_when_holding_two_costs_more_than_the_scrap_saved() {
        let sort = |fixed: f64| Sort {
            fixed: vec![fixed, fixed],
            cost: vec![vec![100.0, 108.0], vec![f64::INFINITY, 100.0]],
        };
        let shared = choose(&[sort(10.0)], 9, &NEVER).unwrap();
        assert_eq!(shared.widths, [vec![1]]);
        let apart = choose(&[sort(5.0)], 9, &NEVER).unwrap();
        assert_eq!(apart.widths, [vec![0, 1]]);
        assert_eq!(apart.fewest, 1);
    }

    #[test]
    fn fewer_specifications_than_sorts_cover_nothing() {
        let sort = Sort {
            fixed: vec![1.0],
            cost: vec![vec![1.0]],
        };
        assert_eq!(choose(&[sort.clone(), sort], 1, &NEVER), None);
    }
}
