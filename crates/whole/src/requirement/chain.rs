//! The absorbing chain: how often a station is visited for each job that
//! enters, when jobs go back for rework, are scrapped or leave.
//!
//! Visits solve `v = e + Qᵀ v`, with `e` the entries and `Q[i][j]` the jobs
//! sent to `j` for each visit to `i` (Kemeny and Snell, *Finite Markov
//! Chains*, 1960, ch. 3: the fundamental matrix `N = (I − Q)⁻¹`, from memory).
//! A plant is almost a tree with small loops, so the matrix is never formed
//! whole: strongly connected groups are solved one by one in the order of the
//! flow, each by elimination with pivoting. 350 stations with twenty loops
//! cost microseconds instead of the 350³ of the dense inverse.

/// Jobs sent on for each visit.
#[derive(Clone, Debug, Default)]
pub(crate) struct Chain {
    /// For each station where its jobs go and how many for each visit.
    pub(crate) ways: Vec<Vec<(usize, f64)>>,
}

/// Stations that send everything they get to each other: what enters never
/// leaves.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Trap {
    /// The stations of the loop, in index order.
    pub(crate) stations: Vec<usize>,
}

impl Chain {
    /// The groups of stations that can reach each other, in the order of the
    /// flow (a group comes after all that feed it).
    pub(crate) fn groups(&self) -> Vec<Vec<usize>> {
        let mut groups = Tarjan::of(self).groups;
        groups.reverse();
        groups
    }

    /// Expected visits to each station for the given entries.
    ///
    /// # Errors
    /// [`Trap`] when jobs enter a loop that nothing leaves.
    pub(crate) fn visits(&self, groups: &[Vec<usize>], entry: &[f64]) -> Result<Vec<f64>, Trap> {
        let mut visits = entry.to_vec();
        for group in groups {
            if group.iter().all(|&i| visits[i] == 0.0) {
                continue;
            }
            self.settle(group, &mut visits)?;
            for &from in group {
                for &(to, jobs) in &self.ways[from] {
                    if !group.contains(&to) {
                        visits[to] += visits[from] * jobs;
                    }
                }
            }
        }
        Ok(visits)
    }

    /// Turns the entries of one group into its visits.
    fn settle(&self, group: &[usize], visits: &mut [f64]) -> Result<(), Trap> {
        let looped = self.ways[group[0]].iter().any(|&(to, _)| to == group[0]);
        if group.len() == 1 && !looped {
            return Ok(());
        }
        let trap = || Trap {
            stations: {
                let mut stations = group.to_vec();
                stations.sort_unstable();
                stations
            },
        };
        let n = group.len();
        let mut matrix = vec![vec![0.0; n + 1]; n];
        let mut leak = 0.0;
        for (column, &from) in group.iter().enumerate() {
            matrix[column][column] += 1.0;
            matrix[column][n] = visits[from];
            let mut inside = 0.0;
            for &(to, jobs) in &self.ways[from] {
                if let Some(row) = group.iter().position(|&i| i == to) {
                    matrix[row][column] -= jobs;
                    inside += jobs;
                }
            }
            leak += (1.0 - inside).max(0.0);
        }
        if leak <= 1e-12 {
            return Err(trap());
        }
        let solved = eliminate(matrix).ok_or_else(trap)?;
        for (&station, &value) in group.iter().zip(&solved) {
            // A loop that makes more pieces than it gets (a split that feeds
            // itself) has no steady state; the algebra shows it as negative.
            if !(value.is_finite() && value >= -1e-9) {
                return Err(trap());
            }
            visits[station] = value.max(0.0);
        }
        Ok(())
    }
}

/// Solves the augmented system by Gaussian elimination with partial pivoting;
/// none when it is singular.
fn eliminate(mut a: Vec<Vec<f64>>) -> Option<Vec<f64>> {
    let n = a.len();
    for step in 0..n {
        let pivot = (step..n).max_by(|&i, &j| a[i][step].abs().total_cmp(&a[j][step].abs()))?;
        if a[pivot][step].abs() < 1e-14 {
            return None;
        }
        a.swap(step, pivot);
        let (upper, lower) = a.split_at_mut(step + 1);
        let top = &upper[step];
        for row in lower {
            let factor = row[step] / top[step];
            if factor != 0.0 {
                for (cell, above) in row[step..].iter_mut().zip(&top[step..]) {
                    *cell -= factor * above;
                }
            }
        }
    }
    let mut x = vec![0.0; n];
    for step in (0..n).rev() {
        let known: f64 = (step + 1..n).map(|j| a[step][j] * x[j]).sum();
        x[step] = (a[step][n] - known) / a[step][step];
    }
    Some(x)
}

/// Tarjan's strongly connected groups (SIAM J. Comput. 1, 1972, 146–160),
/// without recursion so that a line of any length fits the stack.
struct Tarjan {
    order: Vec<usize>,
    low: Vec<usize>,
    on_stack: Vec<bool>,
    stack: Vec<usize>,
    next: usize,
    groups: Vec<Vec<usize>>,
}

const NEW: usize = usize::MAX;

impl Tarjan {
    fn of(chain: &Chain) -> Self {
        let n = chain.ways.len();
        let mut search = Self {
            order: vec![NEW; n],
            low: vec![NEW; n],
            on_stack: vec![false; n],
            stack: Vec::new(),
            next: 0,
            groups: Vec::new(),
        };
        for start in 0..n {
            if search.order[start] == NEW {
                search.walk(chain, start);
            }
        }
        search
    }

    fn enter(&mut self, i: usize) {
        self.order[i] = self.next;
        self.low[i] = self.next;
        self.next += 1;
        self.stack.push(i);
        self.on_stack[i] = true;
    }

    fn walk(&mut self, chain: &Chain, start: usize) {
        self.enter(start);
        let mut path = vec![(start, 0)];
        while let Some(&mut (at, ref mut tried)) = path.last_mut() {
            if let Some(&(to, _)) = chain.ways[at].get(*tried) {
                *tried += 1;
                if self.order[to] == NEW {
                    self.enter(to);
                    path.push((to, 0));
                } else if self.on_stack[to] {
                    self.low[at] = self.low[at].min(self.order[to]);
                }
                continue;
            }
            path.pop();
            if let Some(&(parent, _)) = path.last() {
                self.low[parent] = self.low[parent].min(self.low[at]);
            }
            if self.low[at] == self.order[at] {
                self.close(at);
            }
        }
    }

    /// Takes the finished group with root `at` off the stack.
    fn close(&mut self, at: usize) {
        let mut group = Vec::new();
        while let Some(i) = self.stack.pop() {
            self.on_stack[i] = false;
            group.push(i);
            if i == at {
                break;
            }
        }
        group.reverse();
        self.groups.push(group);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn visits(ways: Vec<Vec<(usize, f64)>>, entry: &[f64]) -> Result<Vec<f64>, Trap> {
        let chain = Chain { ways };
        chain.visits(&chain.groups(), entry)
    }

    #[test]
    fn a_straight_line_passes_every_job_on() {
        let line = vec![vec![(1, 1.0)], vec![(2, 0.9)], vec![]];
        assert_eq!(
            visits(line, &[100.0, 0.0, 0.0]),
            Ok(vec![100.0, 100.0, 90.0])
        );
    }

    #[test]
    fn a_station_that_repeats_a_tenth_works_a_ninth_more() {
        let looped = vec![vec![(0, 0.1), (1, 0.9)], vec![]];
        let got = visits(looped, &[90.0, 0.0]).unwrap();
        assert!((got[0] - 100.0).abs() < 1e-12 && (got[1] - 90.0).abs() < 1e-12);
    }

    #[test]
    fn a_loop_that_nothing_leaves_is_named_with_all_its_stations() {
        let closed = vec![vec![(1, 1.0)], vec![(2, 1.0)], vec![(1, 1.0)]];
        assert_eq!(
            visits(closed, &[1.0, 0.0, 0.0]),
            Err(Trap {
                stations: vec![1, 2]
            })
        );
    }

    #[test]
    fn a_closed_loop_that_no_job_enters_does_no_harm() {
        let beside = vec![vec![], vec![(2, 1.0)], vec![(1, 1.0)]];
        assert_eq!(visits(beside, &[5.0, 0.0, 0.0]), Ok(vec![5.0, 0.0, 0.0]));
    }

    #[test]
    fn a_line_of_a_hundred_thousand_stations_fits_the_stack() {
        let n = 100_000;
        let ways = (0..n)
            .map(|i| {
                if i + 1 < n {
                    vec![(i + 1, 1.0)]
                } else {
                    vec![]
                }
            })
            .collect();
        let mut entry = vec![0.0; n];
        entry[0] = 7.0;
        assert_eq!(visits(ways, &entry).unwrap()[n - 1], 7.0);
    }

    proptest! {
        // Jobs are neither made nor lost: what enters leaves somewhere.
        #[test]
        fn what_enters_a_chain_leaves_it(
            shares in prop::collection::vec((0usize..8, 0usize..8, 0.0..0.45f64, 0.0..0.45f64), 8),
            entry in prop::collection::vec(0.0..10.0f64, 8),
        ) {
            let ways: Vec<_> = shares.iter().map(|&(a, b, p, q)| vec![(a, p), (b, q)]).collect();
            let got = visits(ways, &entry).unwrap();
            let leaves: f64 = shares.iter().zip(&got).map(|(&(_, _, p, q), v)| v * (1.0 - p - q)).sum();
            let enters: f64 = entry.iter().sum();
            prop_assert!((leaves - enters).abs() < 1e-9 * (1.0 + enters));
        }
    }
}
