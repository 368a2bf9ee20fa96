//! A line with everything that every trial of it needs, worked out once.

use super::lines::Line;
use super::{Group, Shop};

/// A line; groups, stations and zones are counted within it.
pub(super) struct Frame<'a> {
    pub(super) shop: &'a Shop,
    /// Its stations in the shop.
    pub(super) stations: &'a [usize],
    /// Its groups in the shop.
    pub(super) groups: &'a [usize],
    /// For each group those of this line before it.
    pub(super) before: Vec<Vec<usize>>,
    /// For each group its zone.
    pub(super) zone: Vec<Option<usize>>,
    pub(super) zones: usize,
    /// For each station the groups that may be made there.
    pub(super) at: Vec<Vec<usize>>,
    /// For each group the first station that the order leaves to it.
    pub(super) first: Vec<usize>,
    /// For each group its last station.
    pub(super) last: Vec<usize>,
    /// For each group the ticks of the longest way through what follows it.
    pub(super) tail: Vec<u64>,
    /// For each station with geometry: those groups, and for each group of the
    /// line whether it need not wait for them.
    pub(super) geometry: Vec<Option<(Vec<usize>, Vec<bool>)>>,
}

impl<'a> Frame<'a> {
    pub(super) fn of(shop: &'a Shop, line: &'a Line) -> Self {
        let count = line.groups.len();
        let local = |group: usize| line.groups.binary_search(&group).ok();
        let before: Vec<Vec<usize>> = line
            .groups
            .iter()
            .map(|at| {
                shop.groups[*at]
                    .after
                    .iter()
                    .filter_map(|b| local(*b))
                    .collect()
            })
            .collect();
        let mut zones: Vec<usize> = Vec::new();
        let mut zone = Vec::with_capacity(count);
        for at in &line.groups {
            zone.push(shop.groups[*at].zone.map(|name| {
                let known = zones.iter().position(|zone| *zone == name);
                known.unwrap_or_else(|| {
                    zones.push(name);
                    zones.len() - 1
                })
            }));
        }
        let mut frame = Self {
            shop,
            stations: &line.stations,
            groups: &line.groups,
            before,
            zone,
            zones: zones.len(),
            at: vec![Vec::new(); line.stations.len()],
            first: vec![0; count],
            last: vec![0; count],
            tail: vec![0; count],
            geometry: Vec::new(),
        };
        frame.windows();
        frame.geometry = (0..line.stations.len())
            .map(|station| frame.geometry_at(station))
            .collect();
        frame
    }

    pub(super) fn group(&self, local: usize) -> &Group {
        &self.shop.groups[self.groups[local]]
    }

    /// Stations that the order leaves to each group, and the ways behind it.
    fn windows(&mut self) {
        let count = self.groups.len();
        let order = self.order();
        let own: Vec<Vec<usize>> = (0..count)
            .map(|group| {
                let stations = self.group(group).stations.iter();
                stations
                    .filter_map(|s| self.stations.binary_search(s).ok())
                    .collect()
            })
            .collect();
        let mut first = vec![0; count];
        for group in &order {
            let pushed = self.before[*group].iter().map(|b| first[*b]).max();
            let pushed = pushed.unwrap_or(0);
            let own = own[*group].iter().copied();
            first[*group] = own.clone().find(|s| *s >= pushed).unwrap_or(pushed);
        }
        let mut latest: Vec<usize> = vec![usize::MAX; count];
        for group in order.iter().rev() {
            let own = own[*group].iter().rev().copied();
            let last = own.clone().find(|s| *s <= latest[*group]).unwrap_or(0);
            latest[*group] = last;
            self.last[*group] = last;
            let mine = super::bound::work(self.group(*group)) + self.tail[*group];
            for before in &self.before[*group] {
                latest[*before] = latest[*before].min(last);
                self.tail[*before] = self.tail[*before].max(mine);
            }
        }
        for (group, own) in own.iter().enumerate() {
            for station in own {
                let last = self.last[group];
                if (first[group]..=last).contains(station) {
                    self.at[*station].push(group);
                }
            }
        }
        self.first = first;
    }

    /// The groups, each after those before it.
    fn order(&self) -> Vec<usize> {
        let count = self.groups.len();
        let mut order: Vec<usize> = Vec::with_capacity(count);
        let mut placed = vec![false; count];
        while order.len() < count {
            let at = order.len();
            for group in 0..count {
                if !placed[group] && self.before[group].iter().all(|b| placed[*b]) {
                    placed[group] = true;
                    order.push(group);
                }
            }
            if order.len() == at {
                break;
            }
        }
        order
    }

    fn geometry_at(&self, station: usize) -> Option<(Vec<usize>, Vec<bool>)> {
        let groups: Vec<usize> = self.at[station]
            .iter()
            .copied()
            .filter(|group| self.group(*group).geometry)
            .collect();
        if groups.is_empty() {
            return None;
        }
        let mut free = vec![false; self.groups.len()];
        let mut open = groups.clone();
        while let Some(group) = open.pop() {
            if !free[group] {
                free[group] = true;
                open.extend(&self.before[group]);
            }
        }
        Some((groups, free))
    }
}
