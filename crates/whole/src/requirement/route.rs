//! One product's way through the plant, backwards from the good cars.
//!
//! The network is cut at every sub-assembly's link into a merge. What remains
//! are lines with one degree of freedom each: how many jobs they release. A
//! line is solved once for one released job ([`Chain`]), then scaled to what
//! its ends and the merges it supplies ask for, consumer before supplier.

use std::collections::BTreeSet;

use serde::Serialize;

use super::chain::{Chain, Trap};

mod attempts;
#[cfg(test)]
mod tests;

/// A station as the cascade sees it.
#[derive(Clone, Debug)]
pub(crate) struct Node {
    /// Jobs that go on, for each visit.
    pub(crate) ok: f64,
    /// Jobs that go to rework, for each visit.
    pub(crate) rework: f64,
    /// Where they go.
    pub(crate) rework_to: Option<usize>,
    /// How often in a row a job may fail here; at the last it is scrap.
    pub(crate) attempts: Option<u32>,
    /// Takes one of each of its links.
    pub(crate) merge: bool,
    /// Gives one piece to each of its links.
    pub(crate) split: bool,
    /// Releases jobs.
    pub(crate) source: bool,
    /// What it could release in a given time, to divide a release among several
    /// sources of one line.
    pub(crate) pace: f64,
}

/// A link as the cascade sees it.
#[derive(Clone, Debug)]
pub(crate) struct Way {
    pub(crate) from: usize,
    pub(crate) to: usize,
    /// None: what the other links leave.
    pub(crate) share: Option<f64>,
    /// Pieces for each job of the station below, where that merges.
    pub(crate) needs: f64,
    /// The product may go this way.
    pub(crate) open: bool,
    /// It carries the jobs of `from` that were not right.
    pub(crate) rework: bool,
}

/// What one product asks of each station and each link.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Flow {
    /// Jobs worked on, repeats counted.
    pub visits: Vec<f64>,
    /// Jobs begun with fresh pieces (visits less what came back for rework).
    pub fresh: Vec<f64>,
    /// Jobs sent on.
    pub good: Vec<f64>,
    /// Jobs sent to rework.
    pub reworked: Vec<f64>,
    /// Jobs lost.
    pub scrapped: Vec<f64>,
    /// Jobs released.
    pub released: Vec<f64>,
    /// Pieces over each link.
    pub ways: Vec<f64>,
}

/// Why a product has no requirement, or an odd one.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Trouble {
    /// No station where cars end can be reached.
    NoRoute,
    /// Jobs come here and no link takes the product on.
    DeadEnd { station: usize },
    /// Jobs go round for ever.
    Trap { stations: Vec<usize> },
    /// Nothing good is left at the end; the stations that pass nothing on.
    NothingGood { stations: Vec<usize> },
    /// A merge needs pieces that nothing brings.
    NotSupplied { way: usize },
    /// Lines that supply each other in a ring.
    Ring { stations: Vec<usize> },
    /// A link brings more or fewer pieces than the merge takes.
    Uneven { way: usize, brings: f64, takes: f64 },
    /// The shares of the station's open links do not add to 1.
    Shares { station: usize, sum: f64 },
}

/// The plant as one product sees it.
pub(crate) struct Route<'a> {
    nodes: &'a [Node],
    ways: &'a [Way],
    out: Vec<Vec<usize>>,
    /// Links that bring sub-assemblies into a merge.
    brings: Vec<bool>,
    /// Stations where cars end.
    end: Vec<bool>,
    /// Jobs over each link for each visit to the station it leaves.
    weight: Vec<f64>,
    chain: Chain,
    groups: Vec<Vec<usize>>,
    /// The line each station belongs to.
    line: Vec<usize>,
    /// Share of failures that go round again, where attempts are capped.
    again: Vec<f64>,
}

const NONE: usize = usize::MAX;

/// How far a sum of shares may miss 1; what it misses is divided.
const ROUNDED: f64 = book::ROUNDED_SHARES + 1e-6;

impl<'a> Route<'a> {
    /// Cuts the network into lines for the product whose open links are marked.
    pub(crate) fn new(nodes: &'a [Node], ways: &'a [Way]) -> Result<Self, Vec<Trouble>> {
        let mut out = vec![Vec::new(); nodes.len()];
        let mut main = vec![NONE; nodes.len()];
        let mut end = vec![true; nodes.len()];
        let mut brings = vec![false; ways.len()];
        for (w, way) in ways.iter().enumerate() {
            if way.rework {
                continue;
            }
            end[way.from] = false;
            if !way.open {
                continue;
            }
            out[way.from].push(w);
            if nodes[way.to].merge {
                // The first link brings the car, unless it is released here.
                brings[w] = main[way.to] != NONE || nodes[way.to].source;
                if main[way.to] == NONE {
                    main[way.to] = w;
                }
            }
        }
        let mut route = Self {
            nodes,
            ways,
            out,
            brings,
            end,
            weight: vec![0.0; ways.len()],
            chain: Chain::default(),
            groups: Vec::new(),
            line: Vec::new(),
            again: nodes.iter().map(attempts::first_guess).collect(),
        };
        route.weigh()?;
        route.connect();
        route
            .cap_attempts()
            .map_err(|trap| vec![route.trouble_of(trap)])?;
        route.divide_into_lines();
        Ok(route)
    }

    /// Jobs over each link for each visit, from the shares.
    fn weigh(&mut self) -> Result<(), Vec<Trouble>> {
        let mut troubles = Vec::new();
        for (station, out) in self.out.iter().enumerate() {
            let ok = self.nodes[station].ok;
            if self.nodes[station].split {
                for &w in out {
                    self.weight[w] = ok;
                }
                continue;
            }
            let named: f64 = out.iter().filter_map(|&w| self.ways[w].share).sum();
            let rest = out
                .iter()
                .filter(|&&w| self.ways[w].share.is_none())
                .count();
            // The book's check lets a sum pass that misses 1 by rounding only.
            let left = 1.0 - named;
            let over = left < -ROUNDED;
            let under = rest == 0 && left > ROUNDED;
            if !out.is_empty() && (over || under) {
                troubles.push(Trouble::Shares {
                    station,
                    sum: named,
                });
                continue;
            }
            let usual = left.max(0.0) / rest.max(1) as f64;
            let sum = if rest == 0 { named } else { named.max(1.0) };
            for &w in out {
                self.weight[w] = ok * self.ways[w].share.unwrap_or(usual) / sum;
            }
        }
        if troubles.is_empty() {
            Ok(())
        } else {
            Err(troubles)
        }
    }

    /// Builds the chain from weights, rework and the attempt caps known so far.
    fn connect(&mut self) {
        let mut to = vec![Vec::new(); self.nodes.len()];
        for (w, way) in self.ways.iter().enumerate() {
            if way.open && !way.rework && !self.brings[w] && self.weight[w] > 0.0 {
                let pieces = if self.nodes[way.to].merge {
                    way.needs
                } else {
                    1.0
                };
                to[way.from].push((way.to, self.weight[w] / pieces));
            }
        }
        for (station, node) in self.nodes.iter().enumerate() {
            let back = node.rework * self.again[station];
            if let Some(target) = node.rework_to.filter(|_| back > 0.0) {
                to[station].push((target, back));
            }
        }
        self.chain = Chain { ways: to };
        self.groups = self.chain.groups();
    }

    /// Numbers the lines: stations joined by links that are not cut. All lines
    /// with an end count as one, since together they owe the good cars.
    fn divide_into_lines(&mut self) {
        let n = self.nodes.len();
        let uncut = (0..self.ways.len())
            .filter(|&w| self.ways[w].open && !self.ways[w].rework && !self.brings[w])
            .map(|w| (self.ways[w].from, self.ways[w].to));
        let back = (0..n).filter_map(|s| self.nodes[s].rework_to.map(|target| (s, target)));
        let mut beside = vec![Vec::new(); n];
        for (from, to) in uncut.chain(back) {
            beside[from].push(to);
            beside[to].push(from);
        }
        self.line = vec![NONE; n];
        let ends: Vec<usize> = (0..n).filter(|&i| self.end[i]).collect();
        self.flood(&beside, &ends, 0);
        let mut next = 1;
        for start in 0..n {
            if self.line[start] == NONE {
                self.flood(&beside, &[start], next);
                next += 1;
            }
        }
    }

    fn flood(&mut self, beside: &[Vec<usize>], starts: &[usize], number: usize) {
        let mut todo = starts.to_vec();
        while let Some(at) = todo.pop() {
            if self.line[at] == NONE {
                self.line[at] = number;
                todo.extend(&beside[at]);
            }
        }
    }

    /// The line a station belongs to.
    pub(crate) fn line_of(&self, station: usize) -> usize {
        self.line[station]
    }

    fn lines(&self) -> usize {
        self.line.iter().max().map_or(0, |most| most + 1)
    }

    fn trouble_of(&self, trap: Trap) -> Trouble {
        Trouble::Trap {
            stations: trap.stations,
        }
    }

    /// Visits of one line for one released job, divided among its sources.
    fn unit(&self, line: usize) -> Result<Option<Unit>, Trouble> {
        let can = |s: usize| self.line[s] == line && self.nodes[s].source && self.carries(s);
        let pace: f64 = (0..self.nodes.len())
            .filter(|&s| can(s))
            .map(|s| self.nodes[s].pace)
            .sum();
        if pace <= 0.0 {
            return Ok(None);
        }
        let released: Vec<f64> = (0..self.nodes.len())
            .map(|s| {
                if can(s) {
                    self.nodes[s].pace / pace
                } else {
                    0.0
                }
            })
            .collect();
        let visits = self
            .chain
            .visits(&self.groups, &released)
            .map_err(|trap| self.trouble_of(trap))?;
        Ok(Some(Unit { released, visits }))
    }

    /// The product can pass this station.
    fn carries(&self, station: usize) -> bool {
        self.end[station] || !self.out[station].is_empty()
    }

    /// Jobs that go to rework from each station, summed at where they go.
    fn back(&self, visits: &[f64]) -> Vec<f64> {
        let mut back = vec![0.0; self.nodes.len()];
        for (s, node) in self.nodes.iter().enumerate() {
            if let Some(target) = node.rework_to {
                back[target] += visits[s] * node.rework * self.again[s];
            }
        }
        back
    }

    /// Solves for this many good cars a week.
    pub(crate) fn solve(&self, cars: f64) -> Result<(Flow, Vec<Trouble>), Vec<Trouble>> {
        let n = self.nodes.len();
        let mut flow = Flow {
            visits: vec![0.0; n],
            released: vec![0.0; n],
            ..Flow::default()
        };
        let mut notes = Vec::new();
        let order = self.supply_order().map_err(|trouble| vec![trouble])?;
        for line in order {
            let asked = self.asked(line, cars, &flow);
            if !asked.iter().any(|&(_, pieces)| pieces > 0.0) {
                continue;
            }
            let unit = match self.unit(line) {
                Ok(Some(unit)) => unit,
                Ok(None) => return Err(vec![self.unsupplied(&asked)]),
                Err(trouble) => return Err(vec![trouble]),
            };
            let scale = self.scale(&unit, &asked, &mut notes)?;
            for s in 0..n {
                flow.visits[s] += unit.visits[s] * scale;
                flow.released[s] += unit.released[s] * scale;
            }
            self.own_supply(line, &flow.visits, &mut notes);
        }
        self.dead_ends(&flow.visits)?;
        self.complete(&mut flow);
        Ok((flow, notes))
    }

    /// Lines in the order consumer before supplier.
    fn supply_order(&self) -> Result<Vec<usize>, Trouble> {
        let mut feeds: BTreeSet<(usize, usize)> = BTreeSet::new();
        for (w, way) in self.ways.iter().enumerate() {
            let (supplier, consumer) = (self.line[way.from], self.line[way.to]);
            if self.brings[w] && supplier != consumer {
                feeds.insert((consumer, supplier));
            }
        }
        let mut waits = vec![0usize; self.lines()];
        for &(_, supplier) in &feeds {
            waits[supplier] += 1;
        }
        let mut order: Vec<usize> = (0..waits.len()).filter(|&l| waits[l] == 0).collect();
        let mut done = 0;
        while done < order.len() {
            let consumer = order[done];
            done += 1;
            for &(_, supplier) in feeds.range((consumer, 0)..(consumer + 1, 0)) {
                waits[supplier] -= 1;
                if waits[supplier] == 0 {
                    order.push(supplier);
                }
            }
        }
        if order.len() == waits.len() {
            return Ok(order);
        }
        let ring = |s: &usize| waits[self.line[*s]] > 0;
        Err(Trouble::Ring {
            stations: (0..self.nodes.len()).filter(ring).collect(),
        })
    }

    /// What a line must deliver: good cars (no link) and pieces by link.
    fn asked(&self, line: usize, cars: f64, flow: &Flow) -> Vec<(Option<usize>, f64)> {
        let mut asked = Vec::new();
        if line == 0 {
            asked.push((None, cars));
        }
        let back = self.back(&flow.visits);
        for (w, way) in self.ways.iter().enumerate() {
            if self.brings[w] && self.line[way.from] == line && self.line[way.to] != line {
                let jobs = flow.visits[way.to] - back[way.to];
                asked.push((Some(w), jobs * way.needs));
            }
        }
        asked
    }

    fn unsupplied(&self, asked: &[(Option<usize>, f64)]) -> Trouble {
        let first = asked.iter().find(|(_, pieces)| *pieces > 0.0);
        if let Some(&(Some(way), _)) = first {
            return Trouble::NotSupplied { way };
        }
        let mut ways = self.ways.iter().filter(|way| way.open && !way.rework);
        match ways.find(|way| !self.carries(way.to)) {
            Some(way) => Trouble::DeadEnd { station: way.to },
            None => Trouble::NoRoute,
        }
    }

    /// How many jobs a line must release; notes links that then bring too much.
    fn scale(
        &self,
        unit: &Unit,
        asked: &[(Option<usize>, f64)],
        notes: &mut Vec<Trouble>,
    ) -> Result<f64, Vec<Trouble>> {
        let yield_of = |way: Option<usize>| match way {
            Some(w) => unit.visits[self.ways[w].from] * self.weight[w],
            None => self.ends().map(|s| unit.visits[s] * self.nodes[s].ok).sum(),
        };
        let mut scale = 0.0_f64;
        for &(way, pieces) in asked {
            let each: f64 = yield_of(way);
            if pieces > 0.0 && each <= 1e-15 {
                return Err(vec![self.nothing_comes(unit, way)]);
            }
            if pieces > 0.0 {
                scale = scale.max(pieces / each);
            }
        }
        for &(way, takes) in asked {
            let brings = yield_of(way) * scale;
            if let Some(way) = way
                && brings > takes * (1.0 + 1e-6)
            {
                notes.push(Trouble::Uneven { way, brings, takes });
            }
        }
        Ok(scale)
    }

    /// Why a line with sources delivers nothing by this way.
    fn nothing_comes(&self, unit: &Unit, way: Option<usize>) -> Trouble {
        let blocked: Vec<usize> = (0..self.nodes.len())
            .filter(|&s| unit.visits[s] > 0.0 && self.nodes[s].ok <= 0.0)
            .collect();
        if !blocked.is_empty() {
            return Trouble::NothingGood { stations: blocked };
        }
        let stuck = (0..self.nodes.len()).find(|&s| unit.visits[s] > 0.0 && !self.carries(s));
        match (stuck, way) {
            (Some(station), _) => Trouble::DeadEnd { station },
            (None, Some(way)) => Trouble::NotSupplied { way },
            (None, None) => Trouble::NoRoute,
        }
    }

    fn ends(&self) -> impl Iterator<Item = usize> + '_ {
        (0..self.nodes.len()).filter(|&s| self.end[s])
    }

    /// A line that splits and merges with itself: does the branch bring what
    /// the merge takes?
    fn own_supply(&self, line: usize, visits: &[f64], notes: &mut Vec<Trouble>) {
        let back = self.back(visits);
        for (w, way) in self.ways.iter().enumerate() {
            if self.brings[w] && self.line[way.from] == line && self.line[way.to] == line {
                let brings = visits[way.from] * self.weight[w];
                let takes = (visits[way.to] - back[way.to]) * way.needs;
                if (brings - takes).abs() > 1e-6 * takes.max(brings) {
                    notes.push(Trouble::Uneven {
                        way: w,
                        brings,
                        takes,
                    });
                }
            }
        }
    }

    fn dead_ends(&self, visits: &[f64]) -> Result<(), Vec<Trouble>> {
        let stuck: Vec<Trouble> = (0..self.nodes.len())
            .filter(|&s| visits[s] > 0.0 && self.nodes[s].ok > 0.0 && !self.carries(s))
            .map(|station| Trouble::DeadEnd { station })
            .collect();
        if stuck.is_empty() { Ok(()) } else { Err(stuck) }
    }

    /// Fills in what follows from the visits.
    fn complete(&self, flow: &mut Flow) {
        let back = self.back(&flow.visits);
        for (s, node) in self.nodes.iter().enumerate() {
            let visits = flow.visits[s];
            let reworked = node
                .rework_to
                .map_or(0.0, |_| visits * node.rework * self.again[s]);
            flow.fresh.push((visits - back[s]).max(0.0));
            flow.good.push(visits * node.ok);
            flow.reworked.push(reworked);
            flow.scrapped
                .push((visits * (1.0 - node.ok) - reworked).max(0.0));
        }
        for (w, way) in self.ways.iter().enumerate() {
            let pieces = if way.rework {
                flow.reworked[way.from]
            } else if way.open {
                flow.visits[way.from] * self.weight[w]
            } else {
                0.0
            };
            flow.ways.push(pieces);
        }
    }
}

/// One line's answer to one released job.
struct Unit {
    released: Vec<f64>,
    visits: Vec<f64>,
}
