//! Stations and groups that have nothing to do with one another.

use super::Shop;

/// Stations that share groups, and those groups.
#[derive(Clone, Debug, Default)]
pub(super) struct Line {
    /// In the order of the shop.
    pub(super) stations: Vec<usize>,
    /// In the order of the shop.
    pub(super) groups: Vec<usize>,
}

/// The shop as lines that can be searched apart: groups belong together where
/// they may share a station, or where an order binds them that their stations
/// do not keep anyway.
pub(super) fn apart(shop: &Shop) -> Vec<Line> {
    let mut sets = Sets((0..shop.stations.len()).collect());
    for group in &shop.groups {
        for station in &group.stations {
            sets.join(group.stations[0], *station);
        }
        for before in &group.after {
            let earlier = &shop.groups[*before].stations;
            if earlier.last() >= group.stations.first() {
                sets.join(earlier[0], group.stations[0]);
            }
        }
    }
    let mut lines: Vec<Line> = vec![Line::default(); shop.stations.len()];
    for station in 0..shop.stations.len() {
        lines[sets.of(station)].stations.push(station);
    }
    for (at, group) in shop.groups.iter().enumerate() {
        lines[sets.of(group.stations[0])].groups.push(at);
    }
    lines.retain(|line| !line.groups.is_empty());
    lines
}

struct Sets(Vec<usize>);

impl Sets {
    fn of(&mut self, of: usize) -> usize {
        let mut root = of;
        while self.0[root] != root {
            root = self.0[root];
        }
        self.0[of] = root;
        root
    }

    fn join(&mut self, one: usize, other: usize) {
        let (one, other) = (self.of(one), self.of(other));
        self.0[one.max(other)] = one.min(other);
    }
}
