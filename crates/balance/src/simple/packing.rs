//! Weights of tasks such that no load of a station weighs more than one unit:
//! what is left weighs a lower bound on the stations it needs.
//!
//! The weights are the dual prices of the pattern model of bin packing (Gilmore
//! & Gomory 1961), found by column generation. Prices are searched for in
//! floating point, then made whole, and the unit is what the heaviest load
//! weighs by an exact knapsack: the bound holds whatever the search did.

/// Whole weights by task and the unit that no station can exceed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Weights {
    pub(crate) of: Vec<u32>,
    pub(crate) unit: u32,
}

/// Tasks of one time that the same posts reach.
struct Class {
    ticks: u32,
    /// A bit for each kind of post.
    reach: u8,
    tasks: usize,
}

/// The most work that one knapsack may take, and all of them.
const MOST_CELLS: usize = 4_000_000;
const MOST_WORK: usize = 120_000_000;
const SCALE: f64 = 1_000_000.0;
/// Prices closer than this to one do not improve a pattern.
const NEAR: f64 = 1e-7;

/// The weights for tasks of these times, falling; none where times are too
/// long or too many to be priced soon.
pub(crate) fn weights(ticks: &[u32], takt: u32) -> Option<Weights> {
    let alike: Vec<(u32, u8)> = ticks.iter().map(|ticks| (*ticks, 1)).collect();
    weights_by_reach(&alike, takt)
}

/// The same where a post takes only some of the tasks: each task comes with a
/// bit for every kind of post that reaches it. Tasks in any order.
pub(crate) fn weights_by_reach(tasks: &[(u32, u8)], takt: u32) -> Option<Weights> {
    let mut sorted: Vec<usize> = (0..tasks.len()).filter(|at| tasks[*at].0 > 0).collect();
    sorted.sort_by_key(|at| (std::cmp::Reverse(tasks[*at]), *at));
    let mut classes: Vec<Class> = Vec::new();
    for (ticks, reach) in sorted.iter().map(|at| tasks[*at]) {
        match classes.last_mut() {
            Some(class) if (class.ticks, class.reach) == (ticks, reach) => class.tasks += 1,
            _ => classes.push(Class {
                ticks,
                reach,
                tasks: 1,
            }),
        }
    }
    if classes.is_empty()
        || classes.len() > 200
        || tasks.len().saturating_mul(takt as usize) > MOST_CELLS
    {
        return None;
    }
    let prices = Pricing::of(&classes, takt).run();
    let whole: Vec<u64> = prices
        .iter()
        .map(|price| (price.max(0.0) * SCALE) as u64)
        .collect();
    let unit = kinds(&classes).filter_map(|kind| heaviest(&classes, kind, takt, &whole));
    let unit = unit.max()?;
    let mut of = vec![0; tasks.len()];
    let priced = classes.iter().zip(&whole);
    let each = priced.flat_map(|(class, price)| vec![*price as u32; class.tasks]);
    for (at, price) in sorted.iter().zip(each) {
        of[*at] = price;
    }
    Some(Weights {
        of,
        unit: u32::try_from(unit).ok()?,
    })
}

/// The kinds of post that reach anything.
fn kinds(classes: &[Class]) -> impl Iterator<Item = u8> {
    let any = classes.iter().fold(0, |any, class| any | class.reach);
    (0..8)
        .map(|kind| 1 << kind)
        .filter(move |kind| any & kind != 0)
}

/// What the heaviest load of a kind of post weighs; none where nothing weighs
/// anything.
fn heaviest(classes: &[Class], kind: u8, takt: u32, whole: &[u64]) -> Option<u64> {
    let mut best = vec![0_u64; takt as usize + 1];
    let reached = classes.iter().zip(whole);
    for (class, weight) in reached.filter(|(class, _)| class.reach & kind != 0) {
        for _ in 0..class.tasks.min((takt / class.ticks) as usize) {
            for room in (class.ticks as usize..best.len()).rev() {
                best[room] = best[room].max(best[room - class.ticks as usize] + weight);
            }
        }
    }
    best.last().copied().filter(|unit| *unit > 0)
}

/// The pattern model's basis, kept as its inverse.
struct Pricing<'a> {
    classes: &'a [Class],
    takt: u32,
    inverse: Vec<Vec<f64>>,
    cost: Vec<f64>,
    used: Vec<f64>,
}

impl<'a> Pricing<'a> {
    /// From patterns of one class each.
    fn of(classes: &'a [Class], takt: u32) -> Self {
        let n = classes.len();
        let mut pricing = Self {
            classes,
            takt,
            inverse: vec![vec![0.0; n]; n],
            cost: vec![1.0; n],
            used: vec![0.0; n],
        };
        for (at, class) in classes.iter().enumerate() {
            let most = class.tasks.min((takt / class.ticks) as usize) as f64;
            pricing.inverse[at][at] = 1.0 / most;
            pricing.used[at] = class.tasks as f64 / most;
        }
        pricing
    }

    /// Patterns are sought at prices between those of the basis and the best
    /// so far, which begin as the tasks' times: prices of the basis alone swing
    /// widely before they settle (smoothing after Wentges 1997).
    fn run(mut self) -> Vec<f64> {
        let mut prices = self.prices();
        let takt = f64::from(self.takt);
        let mut best: Vec<f64> = self
            .classes
            .iter()
            .map(|c| f64::from(c.ticks) / takt)
            .collect();
        let mut most = self.bound(&best, 1.0);
        let cells = self.classes.len() * self.takt as usize;
        for _ in 0..(MOST_WORK / cells).min(10 * self.classes.len() + 100) {
            let column = if let Some(at) = prices.iter().position(|price| *price < -NEAR) {
                // More of a class than asked is allowed, and free.
                let mut column = vec![0.0; prices.len()];
                column[at] = -1.0;
                (column, 0.0)
            } else {
                let between = best.iter().zip(&prices);
                let between: Vec<f64> = between.map(|(b, p)| 0.7 * b + 0.3 * p).collect();
                let (pattern, worth) = self.best_of_all(&between);
                let bound = self.bound(&between, worth);
                if bound > most {
                    (best, most) = (between, bound);
                }
                let own = |pattern: &[f64]| -> f64 {
                    pattern
                        .iter()
                        .zip(&prices)
                        .map(|(count, price)| count * price)
                        .sum()
                };
                if own(&pattern) > 1.0 + NEAR {
                    (pattern, 1.0)
                } else {
                    let (pattern, worth) = self.best_of_all(&prices);
                    let bound = self.bound(&prices, worth);
                    if bound > most {
                        best.clone_from(&prices);
                        most = bound;
                    }
                    if worth <= 1.0 + NEAR {
                        break;
                    }
                    (pattern, 1.0)
                }
            };
            if !self.enter(&column.0, column.1) {
                break;
            }
            prices = self.prices();
        }
        best
    }

    /// Posts that all tasks need at prices of which a load is worth so much.
    fn bound(&self, prices: &[f64], worth: f64) -> f64 {
        let each = prices.iter().zip(self.classes);
        let all: f64 = each
            .map(|(price, class)| price.max(0.0) * class.tasks as f64)
            .sum();
        all / worth.max(1e-9)
    }

    /// The best load of any kind of post.
    fn best_of_all(&self, prices: &[f64]) -> (Vec<f64>, f64) {
        let mut best = (vec![0.0; prices.len()], 0.0);
        for kind in kinds(self.classes) {
            let found = self.best_pattern(kind, prices);
            if found.1 > best.1 {
                best = found;
            }
        }
        best
    }

    fn prices(&self) -> Vec<f64> {
        let mut prices = vec![0.0; self.classes.len()];
        for (row, cost) in self.inverse.iter().zip(&self.cost) {
            for (price, entry) in prices.iter_mut().zip(row) {
                *price += cost * entry;
            }
        }
        prices
    }

    /// The load of a kind of post that is worth most at these prices.
    fn best_pattern(&self, kind: u8, prices: &[f64]) -> (Vec<f64>, f64) {
        let places = self.takt as usize + 1;
        let mut best = vec![0.0_f64; places];
        let mut taken: Vec<Vec<u16>> = Vec::with_capacity(self.classes.len());
        for (class, price) in self.classes.iter().zip(prices) {
            let ticks = class.ticks as usize;
            let most = if class.reach & kind == 0 {
                0
            } else {
                class.tasks.min(self.takt as usize / ticks)
            };
            let mut counts = vec![0_u16; places];
            let mut next = best.clone();
            for room in ticks..places {
                for count in 1..=most.min(room / ticks) {
                    let worth = best[room - count * ticks] + count as f64 * price;
                    if worth > next[room] + 1e-12 {
                        next[room] = worth;
                        counts[room] = count as u16;
                    }
                }
            }
            best = next;
            taken.push(counts);
        }
        let mut room = places - 1;
        let mut pattern = vec![0.0; self.classes.len()];
        for at in (0..self.classes.len()).rev() {
            let count = taken[at][room];
            pattern[at] = f64::from(count);
            room -= usize::from(count) * self.classes[at].ticks as usize;
        }
        (pattern, best[places - 1])
    }

    /// Brings a column into the basis; false where none can leave.
    fn enter(&mut self, column: &[f64], cost: f64) -> bool {
        let step: Vec<f64> = self
            .inverse
            .iter()
            .map(|row| row.iter().zip(column).map(|(a, b)| a * b).sum())
            .collect();
        let mut leaves: Option<(f64, usize)> = None;
        for (at, by) in step.iter().enumerate() {
            if *by > 1e-9 {
                let ratio = self.used[at] / by;
                if leaves.is_none_or(|(least, _)| ratio < least) {
                    leaves = Some((ratio, at));
                }
            }
        }
        let Some((ratio, out)) = leaves else {
            return false;
        };
        let pivot = step[out];
        for entry in &mut self.inverse[out] {
            *entry /= pivot;
        }
        let row = self.inverse[out].clone();
        for (at, by) in step.iter().enumerate() {
            if at == out || *by == 0.0 {
                continue;
            }
            self.used[at] -= ratio * by;
            for (entry, other) in self.inverse[at].iter_mut().zip(&row) {
                *entry -= by * other;
            }
        }
        self.used[out] = ratio;
        self.cost[out] = cost;
        true
    }
}

impl Weights {
    /// Weights that say nothing.
    pub(crate) fn none(tasks: usize) -> Self {
        Self {
            of: vec![0; tasks],
            unit: 1,
        }
    }

    /// Stations that tasks of so much weight need.
    pub(crate) fn stations(&self, weight: u64) -> u64 {
        weight.div_ceil(u64::from(self.unit))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_task_too_long_to_stand_beside_two_large_ones_needs_a_station_of_its_own() {
        // Two of the large ones fill a station but for 10; the 15 fits with
        // one of them only, which counting by thirds does not see.
        let mut ticks = vec![22; 10];
        ticks.push(15);
        let weights = weights(&ticks, 54).unwrap();
        let sum: u64 = weights.of.iter().map(|weight| u64::from(*weight)).sum();
        assert_eq!(weights.stations(sum), 6);
        assert_eq!(super::super::bound::packed(&ticks, 54), 5);
    }
}
