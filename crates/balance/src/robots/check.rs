//! What stands against a question whatever the robots.

use std::collections::BTreeMap;

use super::bound::work;
use super::{Group, Shop};
use crate::{Fault, Work};

pub(super) fn faults(shop: &Shop) -> Vec<Fault> {
    let mut faults = Vec::new();
    if shop.stations.is_empty() || shop.stations.iter().any(|place| place.most == 0) {
        faults.push(Fault::NoStations);
    }
    if shop.stations.iter().any(|place| place.ticks == 0) {
        faults.push(Fault::NoTakt);
    }
    for (at, group) in shop.groups.iter().enumerate() {
        let stations = &group.stations;
        let known = stations.iter().all(|s| *s < shop.stations.len());
        let sorted = stations.windows(2).all(|pair| pair[0] < pair[1]);
        let kinds = group.kinds.iter().all(|kind| *kind < shop.kinds.len());
        let fixed = !group.geometry || stations.len() == 1;
        if stations.is_empty() || group.kinds.is_empty() || !(known && sorted && kinds && fixed) {
            faults.push(Fault::NoMode { task: at });
        }
    }
    let order = Work {
        ticks: shop.groups.iter().map(|_| 1).collect(),
        after: shop
            .groups
            .iter()
            .map(|group| group.after.clone())
            .collect(),
    };
    faults.extend(order.faults());
    if !faults.is_empty() {
        return faults;
    }
    faults.extend(too_long(shop));
    faults.extend(no_room(shop, &order.order().unwrap_or_default()));
    faults.extend(crowded(shop));
    faults
}

fn time(shop: &Shop, group: &Group) -> u64 {
    let times = group.stations.iter().map(|s| shop.stations[*s].ticks);
    u64::from(times.max().unwrap_or(0))
}

fn too_long(shop: &Shop) -> impl Iterator<Item = Fault> {
    let groups = shop.groups.iter().enumerate();
    groups.filter_map(|(at, group)| {
        let ticks = u64::from(group.ticks) + u64::from(group.start);
        let takt = time(shop, group);
        (group.joints > 0 && ticks > takt).then_some(Fault::LongerThanTakt {
            task: at,
            ticks,
            takt,
        })
    })
}

/// Groups that must come before what another can only come after.
fn no_room(shop: &Shop, order: &[usize]) -> Vec<Fault> {
    let mut earliest = vec![0; shop.groups.len()];
    let mut from: Vec<Option<usize>> = vec![None; shop.groups.len()];
    let mut faults = Vec::new();
    for at in order {
        let group = &shop.groups[*at];
        let pushing = group.after.iter().copied().max_by_key(|b| earliest[*b]);
        let pushed = pushing.map_or(0, |before| earliest[before]);
        let first = group.stations.iter().copied().find(|s| *s >= pushed);
        if first.is_none() {
            let mut way = vec![*at];
            let mut back = pushing;
            while let Some(before) = back {
                way.push(before);
                back = from[before];
            }
            way.reverse();
            faults.push(Fault::NoRoom {
                task: *at,
                earliest: pushed,
                latest: group.stations.last().copied().unwrap_or(0),
                pushed: way,
            });
        }
        earliest[*at] = first.unwrap_or(pushed);
        // A group that its own stations push begins the way.
        from[*at] = pushing.filter(|_| group.stations.first() < Some(&pushed));
    }
    faults
}

/// Zones with more work than their stations have time, one robot at a time.
fn crowded(shop: &Shop) -> Vec<Fault> {
    // By zone and stations: the groups that can only be made there.
    let mut places: BTreeMap<(usize, Vec<usize>), Vec<usize>> = BTreeMap::new();
    for (at, group) in shop.groups.iter().enumerate() {
        let Some(zone) = group.zone else { continue };
        places
            .entry((zone, group.stations.clone()))
            .or_default()
            .push(at);
    }
    let keys: Vec<(usize, Vec<usize>)> = places.keys().cloned().collect();
    let mut faults = Vec::new();
    for (zone, stations) in keys {
        let inside = |at: &&usize| {
            let group = &shop.groups[**at];
            group.zone == Some(zone) && group.stations.iter().all(|s| stations.contains(s))
        };
        let all: Vec<usize> = (0..shop.groups.len()).collect();
        let tasks: Vec<usize> = all.iter().filter(inside).copied().collect();
        let ticks: u64 = tasks.iter().map(|at| work(&shop.groups[*at])).sum();
        let takt: u64 = stations
            .iter()
            .map(|s| u64::from(shop.stations[*s].ticks))
            .sum();
        if ticks > takt {
            faults.push(Fault::ZoneTooLong { tasks, ticks, takt });
        }
    }
    faults
}
