//! The cheapest stations for tasks in a given order, and a search over orders.
//!
//! For one order the stations are a shortest path over the places where the
//! order can be cut (Pereira, Ritt & Vasquez 2018); orders are changed at
//! random and kept where the cost does not rise.

use super::load::{changes, equipped};
use super::model::{Equipped, Mode, Shop};
use crate::line::Luck;
use crate::watch::Watch;

/// The best way through an order: where it is cut, with the kind of each part.
#[derive(Clone, Debug)]
pub(crate) struct Cuts {
    pub(crate) cost: u64,
    /// End of each part in the order, its kind.
    parts: Vec<(usize, usize)>,
    /// Of equal costs the one whose stations leave more of their time in one
    /// place is nearer to a cheaper one.
    spread: u64,
}

pub(crate) struct Orders<'a> {
    pub(crate) shop: &'a Shop,
    pub(crate) useful: &'a [Vec<(usize, Mode)>],
    pub(crate) takt: u32,
    /// The most stations; none for as many as it takes.
    pub(crate) stations: Option<usize>,
}

/// The cheapest way to a cut: cost, spread, cut before, kind of the part.
type Reached = Option<(u64, u64, usize, usize)>;

impl Orders<'_> {
    /// The quickest mode of a kind for a task, of those with a tool at hand
    /// already if there is one.
    fn mode(&self, task: usize, kind: usize, tools: &[usize]) -> Option<(usize, Mode)> {
        let of_kind = self.useful[task]
            .iter()
            .filter(|(_, mode)| mode.kind == kind);
        let at_hand = |mode: &Mode| mode.tool.is_none_or(|tool| tools.contains(&tool));
        of_kind
            .copied()
            .min_by_key(|(at, mode)| (!at_hand(mode), mode.ticks, *at))
    }

    /// The cheapest cuts of an order; none where it needs too many stations.
    pub(crate) fn cut(&self, order: &[usize]) -> Option<Cuts> {
        let n = order.len();
        let layers = self.stations.map_or(1, |most| most + 1);
        let mut reached: Vec<Vec<Reached>> = vec![vec![None; n + 1]; layers];
        reached[0][0] = Some((0, 0, 0, 0));
        for layer in 0..layers {
            for from in 0..n {
                let Some((cost, spread, ..)) = reached[layer][from] else {
                    continue;
                };
                let to_layer = if self.stations.is_some() {
                    layer + 1
                } else {
                    layer
                };
                if to_layer >= layers {
                    continue;
                }
                for kind in 0..self.shop.kinds.len() {
                    self.parts_from(order, from, kind, &mut |end, own, idle| {
                        let next = (cost + own, spread + idle * idle, from, kind);
                        let there = &mut reached[to_layer][end];
                        // Much idle time in one place is worth more.
                        let better = there.is_none_or(|(cost, spread, ..)| {
                            next.0 < cost || next.0 == cost && next.1 > spread
                        });
                        if better {
                            *there = Some(next);
                        }
                    });
                }
            }
        }
        self.back(&reached, n)
    }

    fn back(&self, reached: &[Vec<Reached>], n: usize) -> Option<Cuts> {
        let ends = (0..reached.len()).filter_map(|layer| Some((layer, reached[layer][n]?)));
        let (mut layer, (cost, spread, ..)) = ends.min_by_key(|(_, end)| end.0)?;
        let mut parts = Vec::new();
        let mut at = n;
        while at > 0 {
            let (_, _, from, kind) = reached[layer][at]?;
            parts.push((at, kind));
            at = from;
            if self.stations.is_some() {
                layer -= 1;
            }
        }
        parts.reverse();
        Some(Cuts {
            cost,
            parts,
            spread,
        })
    }

    /// Every part that one of a kind can do from a place in the order on: its
    /// end, cost and idle ticks.
    fn parts_from(
        &self,
        order: &[usize],
        from: usize,
        kind: usize,
        take: &mut dyn FnMut(usize, u64, u64),
    ) {
        let what = &self.shop.kinds[kind];
        let mut cost = what.cost_per_year + self.shop.station_per_year;
        let mut ticks = 0_u64;
        let mut tools: Vec<usize> = Vec::new();
        let (mut first, mut last, mut between) = (None, None, 0_u64);
        for (at, task) in order.iter().enumerate().skip(from) {
            let Some((_, mode)) = self.mode(*task, kind, &tools) else {
                return;
            };
            ticks += u64::from(mode.ticks);
            if let Some(tool) = mode.tool {
                between += u64::from(last.is_some_and(|last| last != tool));
                first = first.or(Some(tool));
                last = Some(tool);
                if !tools.contains(&tool) {
                    tools.push(tool);
                    cost += what.tools[tool];
                }
            }
            // Where the tools are many their changes are counted in this order,
            // which may not be the best within the station.
            let around = between + u64::from(first != last);
            let change = u64::from(what.tool_change) * around;
            let least = u64::from(what.tool_change) * tools.len().saturating_sub(1) as u64;
            if ticks + least > u64::from(self.takt) {
                return;
            }
            if ticks + change <= u64::from(self.takt) {
                take(at + 1, cost, u64::from(self.takt) - ticks - change);
            }
        }
    }

    /// The stations of cuts.
    pub(crate) fn stations(&self, order: &[usize], cuts: &Cuts) -> Vec<Equipped> {
        let mut from = 0;
        let mut stations = Vec::new();
        for (end, kind) in &cuts.parts {
            let mut tools: Vec<usize> = Vec::new();
            let mut work = Vec::new();
            for task in &order[from..*end] {
                if let Some((at, mode)) = self.mode(*task, *kind, &tools) {
                    work.push((*task, at));
                    tools.extend(mode.tool);
                }
            }
            let mut station = equipped(self.shop, *kind, &work);
            let in_order = changes(
                work.iter()
                    .filter_map(|(t, m)| self.shop.modes[*t][*m].tool),
            );
            if in_order < station.changes {
                station.ticks -= u64::from(station.changes - in_order)
                    * u64::from(self.shop.kinds[*kind].tool_change);
                station.changes = in_order;
                station.work = work;
            }
            stations.push(station);
            from = *end;
        }
        stations
    }

    /// Changes the order at random until so many changes in a row bring
    /// nothing, the cost meets `enough`, or the caller wants an end. Returns
    /// the best order with its cuts.
    pub(crate) fn improve(
        &self,
        start: &[usize],
        enough: u64,
        patience: u32,
        watch: &Watch<'_>,
    ) -> Option<(Vec<usize>, Cuts)> {
        let mut luck = Luck(start.len() as u64);
        let mut order = start.to_vec();
        let mut cuts = self.cut(&order)?;
        let mut in_vain = 0;
        while in_vain < patience && cuts.cost > enough && !watch.cancelled() {
            let mut other = order.clone();
            for _ in 0..=luck.below(3) {
                self.moved(&mut other, &mut luck);
            }
            in_vain += 1;
            let Some(next) = self.cut(&other) else {
                continue;
            };
            if (next.cost, u64::MAX - next.spread) <= (cuts.cost, u64::MAX - cuts.spread) {
                if next.cost < cuts.cost {
                    in_vain = 0;
                }
                order = other;
                cuts = next;
            }
        }
        Some((order, cuts))
    }

    /// Moves one task to another place that its order allows.
    fn moved(&self, order: &mut Vec<usize>, luck: &mut Luck) {
        let n = order.len();
        let at = luck.below(n as u64) as usize;
        let task = order[at];
        let mut first = at;
        while first > 0 && !self.shop.after[task].contains(&order[first - 1]) {
            first -= 1;
        }
        let mut last = at;
        while last + 1 < n && !self.shop.after[order[last + 1]].contains(&task) {
            last += 1;
        }
        // Mostly to a place near by: far moves upset many stations.
        if luck.below(4) > 0 {
            first = first.max(at.saturating_sub(12));
            last = last.min(at + 12);
        }
        let to = first + luck.below((last - first + 1) as u64) as usize;
        order.remove(at);
        order.insert(to, task);
    }
}
