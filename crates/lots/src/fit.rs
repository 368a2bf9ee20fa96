//! Whether the items fit on the lines by time alone: depth first, the largest
//! loads first.

use crate::model::{Checked, Job};

/// Whether the items fit on the lines.
pub(crate) enum Fit {
    /// These ways do.
    Found(Vec<usize>),
    /// No ways do.
    Proven,
    /// The search was cut short.
    Unknown,
}

/// Nodes of the search for a spread that fits.
const MOST_NODES: u32 = 400_000;

struct Fitting<'a> {
    checked: &'a Checked,
    order: Vec<usize>,
    /// Sum of the least loads of the items from a position on.
    rest: Vec<f64>,
    room: Vec<f64>,
    way: Vec<usize>,
    nodes: u32,
}

/// Looks for any spread of the items that fits, all of them if need be.
pub(crate) fn fit(checked: &Checked) -> Fit {
    let least = |item: usize| {
        let loads = checked.ways(item).iter().map(Job::least_load);
        loads.fold(f64::INFINITY, f64::min)
    };
    let mut order: Vec<usize> = (0..checked.item_count()).collect();
    order.sort_by(|a, b| least(*b).total_cmp(&least(*a)));
    let mut rest = vec![0.0; order.len() + 1];
    for at in (0..order.len()).rev() {
        rest[at] = rest[at + 1] + least(order[at]);
    }
    let mut fitting = Fitting {
        checked,
        order,
        rest,
        room: vec![1.0; checked.line_count()],
        way: vec![0; checked.item_count()],
        nodes: 0,
    };
    if fitting.place(0) {
        Fit::Found(fitting.way)
    } else if fitting.nodes < MOST_NODES {
        Fit::Proven
    } else {
        Fit::Unknown
    }
}

impl Fitting<'_> {
    fn place(&mut self, at: usize) -> bool {
        let Some(&item) = self.order.get(at) else {
            return true;
        };
        self.nodes += 1;
        let room: f64 = self.room.iter().sum();
        // A trace above the room may be rounding.
        if self.rest[at] > room + 1e-12 || self.nodes >= MOST_NODES {
            return false;
        }
        for way in 0..self.checked.ways(item).len() {
            let line = self.checked.line_of(item, way);
            let load = self.checked.ways(item)[way].least_load();
            if load <= self.room[line] {
                self.room[line] -= load;
                self.way[item] = way;
                if self.place(at + 1) {
                    return true;
                }
                self.room[line] += load;
            }
        }
        false
    }
}
