//! Markov chains: states found by exploring, steady state by elimination.
//!
//! The elimination is that of Grassmann, Taksar and Heyman, Oper. Res. 33
//! (1985) 1107 (from memory): it subtracts nothing, so every probability is
//! right to nearly the last digit even where rates differ by six orders of
//! magnitude. States are numbered after Cuthill and McKee so that the matrix
//! is a band; n states with band w cost about n w^2 operations.

use super::Refused;
use std::collections::{BTreeMap, VecDeque};

/// Most states explored.
pub const MOST_STATES: usize = 100_000;
/// Most numbers in the band matrix (400 MB).
const MOST_ENTRIES: usize = 50_000_000;

/// A chain in continuous time (rates) or discrete time (probabilities); the
/// moves from a state to itself do not matter for the steady state.
#[derive(Clone, Debug)]
pub struct Chain<S> {
    states: Vec<S>,
    moves: Vec<Vec<(usize, f64)>>,
}

/// The states that are visited for ever, each with its long-run probability.
#[derive(Clone, Debug)]
pub struct Steady<S> {
    /// Each state with its probability.
    pub states: Vec<(S, f64)>,
}

impl<S: Ord + Clone> Chain<S> {
    /// Explores from `start`; `next` pushes the moves of a state with their
    /// rates or probabilities. Moves at rate 0 are left out.
    ///
    /// # Errors
    /// [`Refused::TooLarge`] beyond [`MOST_STATES`].
    ///
    /// ```
    /// use flow::theory::chain::Chain;
    /// // Up at rate 1, down at rate 2, at most three jobs.
    /// let queue = Chain::explore(0_u32, |&n, moves| {
    ///     if n < 3 { moves.push((n + 1, 1.0)); }
    ///     if n > 0 { moves.push((n - 1, 2.0)); }
    /// })?;
    /// let steady = queue.steady()?;
    /// assert!((steady.mean(|&n| f64::from(n)) - 11.0 / 15.0).abs() < 1e-15);
    /// # Ok::<(), flow::theory::Refused>(())
    /// ```
    pub fn explore(
        start: S,
        mut next: impl FnMut(&S, &mut Vec<(S, f64)>),
    ) -> Result<Self, Refused> {
        let mut number = BTreeMap::from([(start.clone(), 0)]);
        let mut states = vec![start];
        let mut moves = Vec::new();
        let mut found = Vec::new();
        while moves.len() < states.len() {
            found.clear();
            next(&states[moves.len()], &mut found);
            let mut out: BTreeMap<usize, f64> = BTreeMap::new();
            for (state, rate) in found.drain(..).filter(|(_, rate)| *rate > 0.0) {
                let fresh = states.len();
                let to = *number.entry(state).or_insert_with_key(|state| {
                    states.push(state.clone());
                    fresh
                });
                *out.entry(to).or_insert(0.0) += rate;
            }
            if states.len() > MOST_STATES {
                return Err(Refused::TooLarge { limit: MOST_STATES });
            }
            out.remove(&moves.len());
            moves.push(out.into_iter().collect());
        }
        Ok(Self { states, moves })
    }

    /// The states found.
    pub fn states(&self) -> &[S] {
        &self.states
    }

    /// The long-run probability of every state that is visited for ever.
    ///
    /// # Errors
    /// [`Refused::NotErgodic`] when there is more than one set of states that
    /// is never left; [`Refused::TooLarge`] when the band would not fit.
    pub fn steady(&self) -> Result<Steady<S>, Refused> {
        let order = self.closed_class()?;
        let mut place = vec![usize::MAX; self.states.len()];
        for (k, &state) in order.iter().enumerate() {
            place[state] = k;
        }
        let band = order
            .iter()
            .flat_map(|&from| self.moves[from].iter().map(move |&(to, _)| (from, to)))
            .map(|(from, to)| place[from].abs_diff(place[to]))
            .max()
            .unwrap_or(0);
        let mut matrix = Band::new(order.len(), band)?;
        for &from in &order {
            for &(to, rate) in &self.moves[from] {
                matrix.row_mut(place[from])[band + place[to] - place[from]] = rate;
            }
        }
        let probabilities = matrix.steady()?;
        Ok(Steady {
            states: order
                .iter()
                .map(|&state| self.states[state].clone())
                .zip(probabilities)
                .collect(),
        })
    }

    /// The one set of states that is never left, in Cuthill-McKee order.
    fn closed_class(&self) -> Result<Vec<usize>, Refused> {
        let n = self.states.len();
        let mut back = vec![Vec::new(); n];
        for (from, moves) in self.moves.iter().enumerate() {
            for &(to, _) in moves {
                back[to].push(from);
            }
        }
        // Walking backwards, the root that finishes last can reach, forwards,
        // only states that lead back to it: it belongs to a set never left.
        let mut seen = vec![false; n];
        let mut root = 0;
        for state in 0..n {
            if !seen[state] {
                root = state;
                reach(state, &mut seen, |k| &back[k]);
            }
        }
        // Every state must lead there, or there are two such sets.
        let mut leads = vec![false; n];
        reach(root, &mut leads, |k| &back[k]);
        if leads.contains(&false) {
            return Err(Refused::NotErgodic);
        }
        let forward: Vec<Vec<usize>> = self
            .moves
            .iter()
            .map(|moves| moves.iter().map(|&(to, _)| to).collect())
            .collect();
        let mut inside = vec![false; n];
        reach(root, &mut inside, |k| &forward[k]);
        Ok(cuthill_mckee(root, &inside, &forward, &back))
    }
}

/// Marks all that can be reached from `start`.
fn reach<'a>(start: usize, seen: &mut [bool], next: impl Fn(usize) -> &'a Vec<usize>) {
    let mut stack = vec![start];
    seen[start] = true;
    while let Some(state) = stack.pop() {
        for &other in next(state) {
            if !seen[other] {
                seen[other] = true;
                stack.push(other);
            }
        }
    }
}

/// Breadth first over moves in either direction, few neighbours first.
fn cuthill_mckee(
    root: usize,
    inside: &[bool],
    forward: &[Vec<usize>],
    back: &[Vec<usize>],
) -> Vec<usize> {
    let degree = |k: usize| forward[k].len() + back[k].len();
    // Once from anywhere to find a state at the rim, once from there.
    let mut order = vec![root];
    for _ in 0..2 {
        let start = order.last().copied().unwrap_or(root);
        let mut waiting = VecDeque::from([start]);
        let mut seen = vec![false; inside.len()];
        seen[start] = true;
        order.clear();
        while let Some(state) = waiting.pop_front() {
            order.push(state);
            let mut near: Vec<usize> = forward[state]
                .iter()
                .chain(&back[state])
                .copied()
                .filter(|&k| inside[k] && !seen[k])
                .collect();
            near.sort_unstable_by_key(|&k| (degree(k), k));
            near.dedup();
            for k in near {
                seen[k] = true;
                waiting.push_back(k);
            }
        }
    }
    order
}

/// A square matrix with entries near the diagonal only.
struct Band {
    n: usize,
    width: usize,
    entries: Vec<f64>,
}

impl Band {
    fn new(n: usize, width: usize) -> Result<Self, Refused> {
        let size = n.saturating_mul(2 * width + 1);
        if size > MOST_ENTRIES {
            return Err(Refused::TooLarge {
                limit: MOST_ENTRIES,
            });
        }
        Ok(Self {
            n,
            width,
            entries: vec![0.0; size],
        })
    }

    /// Row `k`; the diagonal stands at `width`.
    fn row_mut(&mut self, k: usize) -> &mut [f64] {
        let length = 2 * self.width + 1;
        &mut self.entries[k * length..(k + 1) * length]
    }

    /// Eliminates from the last state to the first, then fills in.
    fn steady(mut self) -> Result<Vec<f64>, Refused> {
        let w = self.width;
        let length = 2 * w + 1;
        for k in (1..self.n).rev() {
            let first = k.saturating_sub(w);
            let (above, below) = self.entries.split_at_mut(k * length);
            // Entries of row k for columns first..k.
            let row = &below[w + first - k..w];
            let out: f64 = row.iter().sum();
            if out <= 0.0 {
                return Err(Refused::NotErgodic);
            }
            for i in first..k {
                let start = i * length + w;
                let into = above[start + k - i] / out;
                above[start + k - i] = into;
                if into != 0.0 {
                    // Columns first..k of row i.
                    let target = &mut above[start + first - i..start + k - i];
                    for (a, r) in target.iter_mut().zip(row) {
                        *a += into * r;
                    }
                }
            }
        }
        let mut p = vec![0.0; self.n];
        p[0] = 1.0;
        for k in 1..self.n {
            p[k] = (k.saturating_sub(w)..k)
                .map(|i| p[i] * self.entries[i * length + w + k - i])
                .sum();
        }
        let total: f64 = p.iter().sum();
        Ok(p.into_iter().map(|x| x / total).collect())
    }
}

impl<S> Steady<S> {
    /// Long-run mean of `figure` over the states.
    pub fn mean(&self, figure: impl Fn(&S) -> f64) -> f64 {
        self.states.iter().map(|(s, p)| p * figure(s)).sum()
    }

    /// Long-run share of the time in states that fit.
    pub fn share(&self, fits: impl Fn(&S) -> bool) -> f64 {
        self.mean(|s| f64::from(u8::from(fits(s))))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn states_that_are_never_seen_again_get_no_probability() {
        // 0 leads to 1, which swaps with 2 for ever.
        let chain = Chain::explore(0_u8, |&s, moves| match s {
            0 => moves.push((1, 1.0)),
            1 => moves.push((2, 3.0)),
            _ => moves.push((1, 1.0)),
        })
        .unwrap();
        let steady = chain.steady().unwrap();
        assert_eq!(steady.states.len(), 2);
        assert_eq!(steady.share(|&s| s == 2), 0.75);
    }

    #[test]
    fn two_ends_without_return_are_refused() {
        let chain = Chain::explore(0_u8, |&s, moves| {
            if s == 0 {
                moves.push((1, 1.0));
                moves.push((2, 1.0));
            }
        })
        .unwrap();
        assert_eq!(chain.steady().unwrap_err(), Refused::NotErgodic);
    }

    #[test]
    fn rare_states_keep_their_digits() {
        // Ten steps up at 1e-6 against 1: the top has probability about 1e-60.
        let chain = Chain::explore(0_u8, |&s, moves| {
            if s < 10 {
                moves.push((s + 1, 1e-6));
            }
            if s > 0 {
                moves.push((s - 1, 1.0));
            }
        })
        .unwrap();
        let top = chain.steady().unwrap().share(|&s| s == 10);
        assert!((top / (1e-60 * (1.0 - 1e-6)) - 1.0).abs() < 1e-13);
    }

    #[test]
    fn a_chain_without_end_is_stopped() {
        let endless = Chain::explore(0_u64, |&s, moves| moves.push((s + 1, 1.0)));
        assert_eq!(
            endless.unwrap_err(),
            Refused::TooLarge { limit: MOST_STATES }
        );
    }
}
