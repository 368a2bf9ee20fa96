//! Lower bounds on stations, and the stations at which a task can stand.
//!
//! Bounds by sum and by counting (Johnson 1988; Scholl & Klein 1997 number
//! them LB1 to LB3), by bin packing (Martello & Toth 1990, L2), and heads and
//! tails as in one-machine scheduling (Johnson's LB4).

use std::cmp::Ordering;

use super::graph::Graph;
use crate::set::Set;

/// The fewest stations for tasks of these times, falling, order disregarded.
pub(crate) fn packed(ticks: &[u32], takt: u32) -> u32 {
    let mut total = 0_u64;
    // In sixths: above 2/3, 2/3, above 1/3 and 1/3 of takt weigh 6, 4, 3, 2.
    let mut sixths = 0_u64;
    let takt = u64::from(takt);
    for task in ticks {
        let triple = 3 * u64::from(*task);
        total += u64::from(*task);
        if triple < takt {
            continue;
        }
        sixths += u64::from(in_sixths(*task, takt as u32));
    }
    let counted = total.div_ceil(takt).max(sixths.div_ceil(6));
    counted.max(beside_large(ticks, takt, total)) as u32
}

/// What a task takes of a station when counted by size alone (LB3): of tasks
/// above 2/3 of takt there is one to a station, of those above 1/3 two.
pub(crate) fn in_sixths(ticks: u32, takt: u32) -> u32 {
    let (triple, takt) = (3 * u64::from(ticks), u64::from(takt));
    match (triple.cmp(&(2 * takt)), triple.cmp(&takt)) {
        (Ordering::Greater, _) => 6,
        (Ordering::Equal, _) => 4,
        (Ordering::Less, Ordering::Greater) => 3,
        (Ordering::Less, Ordering::Equal) => 2,
        (Ordering::Less, Ordering::Less) => 0,
    }
}

/// Martello and Toth's L2: with a threshold, tasks shorter than it are left
/// out, tasks too long to stand beside it stand alone, the others above half
/// a takt stand one to a station, and the rest fills what these leave. Tasks
/// of exactly half a takt count as LB2 does.
fn beside_large(ticks: &[u32], takt: u64, total: u64) -> u64 {
    let large = ticks.partition_point(|task| 2 * u64::from(*task) > takt);
    let halves = ticks[large..].partition_point(|task| 2 * u64::from(*task) == takt);
    let mut best = large as u64 + (halves as u64).div_ceil(2);
    let large_time: u64 = ticks[..large].iter().map(|task| u64::from(*task)).sum();
    let mut rest = total - large_time;
    let mut alone = 0;
    let mut pair_time = large_time;
    for threshold in ticks[large..].iter().rev() {
        while alone < large && u64::from(ticks[alone]) + u64::from(*threshold) > takt {
            pair_time -= u64::from(ticks[alone]);
            alone += 1;
        }
        let free = (large - alone) as u64 * takt - pair_time;
        best = best.max(large as u64 + rest.saturating_sub(free).div_ceil(takt));
        rest -= u64::from(*threshold);
    }
    best
}

/// For every task the time that must pass at stations before its own, in
/// ticks of a line where each station takes `takt`.
///
/// Its predecessors are jobs on one machine, each with its own head, so the
/// last of them ends no earlier than any set of them allows. A head that ends
/// within a station where the task does not fit beside it is raised to the
/// station's end.
pub(crate) fn heads<const W: usize>(graph: &Graph<W>, takt: u32) -> Vec<u64> {
    let takt = u64::from(takt);
    let mut heads = vec![0; graph.len()];
    let mut by_depth: Vec<usize> = (0..graph.len()).collect();
    by_depth.sort_by_key(|task| graph.all_before[*task].len());
    let mut jobs = Vec::new();
    let mut packing = Vec::new();
    for task in by_depth {
        jobs.clear();
        packing.clear();
        for before in graph.all_before[task].iter() {
            jobs.push((heads[before], u64::from(graph.ticks[before])));
            packing.push(graph.ticks[before]);
        }
        jobs.sort_unstable();
        let mut end = 0;
        for (head, ticks) in &jobs {
            end = end.max(*head) + ticks;
        }
        // What needs more stations than its sum fills at least all but the
        // last of them, and a tick of that.
        if let Some(full) = packed(&packing, takt as u32).checked_sub(1) {
            end = end.max(u64::from(full) * takt + 1);
        }
        let own = graph.ticks[task];
        let at = packing.partition_point(|ticks| *ticks >= own);
        packing.insert(at, own);
        if let Some(full) = packed(&packing, takt as u32).checked_sub(1) {
            end = end.max(u64::from(full) * takt);
        }
        let rounded = end.next_multiple_of(takt);
        heads[task] = if end + u64::from(own) > rounded {
            rounded
        } else {
            end
        };
    }
    heads
}

/// The first station (from 0) at which each task can stand.
pub(crate) fn earliest<const W: usize>(graph: &Graph<W>, takt: u32) -> Vec<u32> {
    heads(graph, takt)
        .iter()
        .map(|head| (head / u64::from(takt)) as u32)
        .collect()
}

/// A lower bound at the root: packing, the longest heads and tails, and, for
/// every number of stations not yet refuted, whether the tasks that must stand
/// within a stretch of stations fit into it (destructive improvement, Klein &
/// Scholl 1999).
pub(crate) fn at_root<const W: usize>(graph: &Graph<W>, back: &Graph<W>, takt: u32) -> u32 {
    let mut bound = packed(&graph.ticks, takt).max(1);
    let earliest_at = earliest(graph, takt);
    let from_end = earliest(back, takt);
    for task in 0..graph.len() {
        bound = bound.max(earliest_at[task] + from_end[task] + 1);
    }
    while !stretches_fit(graph, &earliest_at, &from_end, takt, bound) {
        bound += 1;
    }
    bound
}

fn stretches_fit<const W: usize>(
    graph: &Graph<W>,
    earliest: &[u32],
    from_end: &[u32],
    takt: u32,
    stations: u32,
) -> bool {
    let mut inside = Vec::new();
    for first in 0..stations {
        let mut last_tasks = usize::MAX;
        for last in (first..stations).rev() {
            if first == 0 && last + 1 == stations {
                continue;
            }
            inside.clear();
            inside.extend(
                (0..graph.len())
                    .filter(|task| {
                        earliest[*task] >= first && stations - 1 - from_end[*task] <= last
                    })
                    .map(|task| graph.ticks[task]),
            );
            if inside.is_empty() {
                break;
            }
            if inside.len() != last_tasks && packed(&inside, takt) > last - first + 1 {
                return false;
            }
            last_tasks = inside.len();
        }
        // Long lines have too many stretches to look at each.
        if stations > 200 && first > 40 {
            break;
        }
    }
    true
}

/// For each number of stations already filled, the tasks that must be among
/// those done.
pub(crate) fn due<const W: usize>(
    graph: &Graph<W>,
    from_end: &[u32],
    stations: u32,
) -> Vec<Set<W>> {
    let mut due = vec![Set::EMPTY; stations as usize + 1];
    for (task, behind) in from_end.iter().enumerate().take(graph.len()) {
        let latest = (stations - 1).saturating_sub(*behind);
        due[latest as usize + 1].put(task);
    }
    for filled in 1..due.len() {
        due[filled] = due[filled].or(&due[filled - 1]);
    }
    due
}
