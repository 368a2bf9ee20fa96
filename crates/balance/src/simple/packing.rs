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

/// Tasks of one time.
struct Class {
    ticks: u32,
    tasks: usize,
}

/// The most work that one knapsack may take, and all of them.
const MOST_CELLS: usize = 4_000_000;
const MOST_WORK: usize = 60_000_000;
const SCALE: f64 = 1_000_000.0;
/// Prices closer than this to one do not improve a pattern.
const NEAR: f64 = 1e-7;

/// The weights for tasks of these times, falling; none where times are too
/// long or too many to be priced soon.
pub(crate) fn weights(ticks: &[u32], takt: u32) -> Option<Weights> {
    let mut classes: Vec<Class> = Vec::new();
    for task in ticks.iter().filter(|task| **task > 0) {
        match classes.last_mut() {
            Some(class) if class.ticks == *task => class.tasks += 1,
            _ => classes.push(Class {
                ticks: *task,
                tasks: 1,
            }),
        }
    }
    if classes.is_empty()
        || classes.len() > 200
        || ticks.len().saturating_mul(takt as usize) > MOST_CELLS
    {
        return None;
    }
    let prices = Pricing::of(&classes, takt).run();
    let whole: Vec<u64> = prices
        .iter()
        .map(|price| (price.max(0.0) * SCALE) as u64)
        .collect();
    let unit = heaviest(&classes, takt, &whole)?;
    let mut of = Vec::with_capacity(ticks.len());
    let mut class = 0;
    for task in ticks {
        while classes.get(class).is_some_and(|c| c.ticks > *task) {
            class += 1;
        }
        of.push(whole.get(class).map_or(0, |price| *price as u32));
    }
    Some(Weights {
        of,
        unit: u32::try_from(unit).ok()?,
    })
}

/// What the heaviest load weighs; none where nothing weighs anything.
fn heaviest(classes: &[Class], takt: u32, whole: &[u64]) -> Option<u64> {
    let mut best = vec![0_u64; takt as usize + 1];
    for (class, weight) in classes.iter().zip(whole) {
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

    fn run(mut self) -> Vec<f64> {
        let mut prices = self.prices();
        let cells = self.classes.len() * self.takt as usize;
        for _ in 0..(MOST_WORK / cells).min(10 * self.classes.len() + 100) {
            let column = if let Some(at) = prices.iter().position(|price| *price < -NEAR) {
                // More of a class than asked is allowed, and free.
                let mut column = vec![0.0; prices.len()];
                column[at] = -1.0;
                (column, 0.0)
            } else {
                let (pattern, worth) = self.best_pattern(&prices);
                if worth <= 1.0 + NEAR {
                    break;
                }
                (pattern, 1.0)
            };
            if !self.enter(&column.0, column.1) {
                break;
            }
            prices = self.prices();
        }
        prices
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

    /// The load worth most at these prices.
    fn best_pattern(&self, prices: &[f64]) -> (Vec<f64>, f64) {
        let places = self.takt as usize + 1;
        let mut best = vec![0.0_f64; places];
        let mut taken: Vec<Vec<u16>> = Vec::with_capacity(self.classes.len());
        for (class, price) in self.classes.iter().zip(prices) {
            let ticks = class.ticks as usize;
            let most = class.tasks.min(self.takt as usize / ticks);
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
