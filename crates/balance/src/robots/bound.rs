//! What no plan can cost less than.

use std::collections::{BTreeMap, BTreeSet};

use super::frame::Frame;
use super::lines::{Line, apart};
use super::{Group, Shop};

/// What all robots together must cost at least: for each set of kinds that can
/// stand in for one another, and for the division of the line into stretches that
/// asks most, the robots for the work that cannot leave its stretch. A robot is
/// counted with the most that whole joints can fill of its time. Waiting, order
/// within a station and tool changes only add to it. The shop must be free of
/// faults.
pub fn bound(shop: &Shop) -> u64 {
    apart(shop).iter().map(|line| of_line(shop, line)).sum()
}

/// The same for one line.
pub(super) fn of_line(shop: &Shop, line: &Line) -> u64 {
    let frame = Frame::of(shop, line);
    let clusters = clusters(shop, line);
    let costs = clusters.iter().map(|groups| cluster(&frame, groups));
    costs.sum()
}

/// Kinds that can stand in for one another on a line, and the fewest robots of
/// them that its work takes.
pub(super) fn by_kinds(frame: &Frame<'_>, line: &Line) -> Vec<(Vec<usize>, u64)> {
    let clusters = clusters(frame.shop, line);
    let told = clusters.iter().map(|groups| {
        let mut kinds: Vec<usize> = groups
            .iter()
            .flat_map(|at| frame.shop.groups[*at].kinds.iter().copied())
            .collect();
        kinds.sort_unstable();
        kinds.dedup();
        (kinds, robots(frame, &windowed(frame, groups)))
    });
    told.collect()
}

/// Groups that kinds in common bind together.
fn clusters(shop: &Shop, line: &Line) -> Vec<Vec<usize>> {
    let mut clusters: Vec<(BTreeSet<usize>, Vec<usize>)> = Vec::new();
    for at in &line.groups {
        let mut kinds: BTreeSet<usize> = shop.groups[*at].kinds.iter().copied().collect();
        let mut groups = vec![*at];
        let (same, apart): (Vec<_>, Vec<_>) = clusters
            .into_iter()
            .partition(|(other, _)| !other.is_disjoint(&kinds));
        for (other, more) in same {
            kinds.extend(other);
            groups.extend(more);
        }
        clusters = apart;
        clusters.push((kinds, groups));
    }
    clusters.into_iter().map(|(_, groups)| groups).collect()
}

fn cluster(frame: &Frame<'_>, at: &[usize]) -> u64 {
    let shop = frame.shop;
    let groups = windowed(frame, at);
    let cost = |group: &Group| group.kinds.iter().map(|kind| shop.kinds[*kind].cost).min();
    let least = groups.iter().filter_map(|one| cost(one.group)).min();
    let robots = robots(frame, &groups) * least.unwrap_or(0);
    // Each group by itself at the least that any of its kinds asks for its time.
    let longest = frame.stations.iter().map(|s| shop.stations[*s].ticks);
    let all = u128::from(longest.max().unwrap_or(1).max(1));
    let price: u128 = groups
        .iter()
        .map(|one| u128::from(work(one.group)) * u128::from(cost(one.group).unwrap_or(0)))
        .sum();
    robots.max(price.div_ceil(all) as u64)
}

fn windowed<'f>(frame: &'f Frame<'_>, at: &[usize]) -> Vec<Windowed<'f>> {
    let local = at
        .iter()
        .filter_map(|at| frame.groups.binary_search(at).ok());
    local
        .map(|local| Windowed {
            group: frame.group(local),
            first: frame.first[local],
            last: frame.last[local],
        })
        .collect()
}

/// A group with the stations that the order leaves to it.
struct Windowed<'a> {
    group: &'a Group,
    first: usize,
    last: usize,
}

/// Ticks of a group on one car, begun once.
pub(super) fn work(group: &Group) -> u64 {
    if group.joints == 0 {
        return 0;
    }
    u64::from(group.joints) * u64::from(group.ticks) + u64::from(group.start)
}

/// Robots that groups of one set of kinds need at least.
fn robots(frame: &Frame<'_>, groups: &[Windowed<'_>]) -> u64 {
    let plain = stretches(frame, groups, work, |ticks| ticks);
    let joints = |group: &Group| u64::from(group.joints) * u64::from(group.ticks);
    let mut known: BTreeMap<u64, u64> = BTreeMap::new();
    let whole = stretches(frame, groups, joints, |ticks| {
        *known
            .entry(ticks)
            .or_insert_with(|| most_of_whole_joints(ticks, groups))
    });
    plain.max(whole)
}

/// The most robots that any division of the line into stretches asks for.
fn stretches(
    frame: &Frame<'_>,
    groups: &[Windowed<'_>],
    work: impl Fn(&Group) -> u64,
    mut holds: impl FnMut(u64) -> u64,
) -> u64 {
    let count = frame.stations.len();
    let room: Vec<u64> = frame
        .stations
        .iter()
        .map(|s| holds(u64::from(frame.shop.stations[*s].ticks)).max(1))
        .collect();
    // The most for the stations before each.
    let mut most = vec![0; count + 1];
    for to in 0..count {
        let mut inside = 0;
        let mut largest = 1;
        most[to + 1] = most[to];
        for from in (0..=to).rev() {
            let new = |one: &&Windowed<'_>| one.first == from && one.last <= to;
            inside += groups
                .iter()
                .filter(new)
                .map(|one| work(one.group))
                .sum::<u64>();
            largest = largest.max(room[from]);
            most[to + 1] = most[to + 1].max(most[from] + inside.div_ceil(largest));
        }
    }
    most[count]
}

/// The most of so many ticks that whole joints of these groups can fill, however
/// many there are of each.
fn most_of_whole_joints(ticks: u64, groups: &[Windowed<'_>]) -> u64 {
    let sizes: BTreeSet<u64> = groups
        .iter()
        .filter(|one| one.group.joints > 0)
        .map(|one| u64::from(one.group.ticks))
        .filter(|size| *size > 0)
        .collect();
    let shared = sizes.iter().fold(0, |shared, size| divisor(shared, *size));
    if shared == 0 {
        return ticks;
    }
    let places = (ticks / shared) as usize;
    // Large tables are not worth it: with many sizes nearly everything fills.
    if sizes.len() > 12 || places > 100_000 {
        return places as u64 * shared;
    }
    let mut reached = vec![false; places + 1];
    reached[0] = true;
    for size in sizes {
        let size = (size / shared) as usize;
        for at in size..=places {
            reached[at] |= reached[at - size];
        }
    }
    reached.iter().rposition(|at| *at).unwrap_or(0) as u64 * shared
}

fn divisor(one: u64, other: u64) -> u64 {
    if other == 0 {
        one
    } else {
        divisor(other, one % other)
    }
}
