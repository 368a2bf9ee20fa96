//! Attempt caps: a job that fails at a station too often in a row is scrap.

use super::{NONE, Node, Route};
use crate::requirement::chain::{Chain, Trap};

/// A share of failures that go round to begin with, and the right one where
/// only one attempt is allowed.
pub(super) fn first_guess(node: &Node) -> f64 {
    match node.attempts {
        Some(cap) => 1.0 - 1.0 / f64::from(cap.max(1)),
        None => 1.0,
    }
}

impl Route<'_> {
    /// Finds the share of failures that go round again where attempts are
    /// capped.
    ///
    /// A job that failed at `s` fails at its next try there with probability
    /// `q`, so the failures in a row are geometric, cut at `a`:
    /// `(1 − q^a)/(1 − q)` on average, of which `q^(a−1)` is the last one. A
    /// job that passes starts anew, as in the run. Exact when each loop has one
    /// capped station; loops that share stations settle by repetition.
    pub(super) fn cap_attempts(&mut self) -> Result<(), Trap> {
        let capped: Vec<usize> = (0..self.nodes.len())
            .filter(|&s| self.nodes[s].attempts.is_some() && self.nodes[s].rework_to.is_some())
            .filter(|&s| self.nodes[s].rework > 0.0)
            .collect();
        let mut loop_of = vec![NONE; self.nodes.len()];
        for (number, group) in self.groups.iter().enumerate() {
            for &station in group {
                loop_of[station] = number;
            }
        }
        for _ in 0..200 {
            let mut moved = 0.0_f64;
            for &s in &capped {
                let again = self.share_again(s, loop_of[s])?;
                moved = moved.max((again - self.again[s]).abs());
                self.again[s] = again;
                self.reweigh(s);
            }
            if moved < 1e-13 {
                break;
            }
        }
        Ok(())
    }

    /// Puts a new share of failures that go round into the chain, where
    /// [`Self::connect`] put it last. The share never falls to nothing here, so
    /// the loops stay what they are.
    fn reweigh(&mut self, s: usize) {
        let back = self.nodes[s].rework * self.again[s];
        let target = self.nodes[s].rework_to;
        if let Some(way) = self.chain.ways[s]
            .last_mut()
            .filter(|way| Some(way.0) == target)
        {
            way.1 = back;
        }
    }

    fn share_again(&self, s: usize, group: usize) -> Result<f64, Trap> {
        let node = &self.nodes[s];
        let (Some(target), Some(cap)) = (node.rework_to, node.attempts) else {
            return Ok(1.0);
        };
        if cap <= 1 {
            return Ok(0.0);
        }
        let q = self.fails_again(s, target, &self.groups[group])?;
        let a = f64::from(cap);
        if q > 1.0 - 1e-9 {
            return Ok(1.0 - 1.0 / a);
        }
        let last = libm::pow(q, a - 1.0) * (1.0 - q) / (1.0 - libm::pow(q, a));
        Ok(1.0 - last)
    }

    /// How likely a job sent to rework comes back to `s` and fails there once
    /// more. Only stations in the same loop can bring it back, so the rest of
    /// the plant is left out.
    fn fails_again(&self, s: usize, target: usize, group: &[usize]) -> Result<f64, Trap> {
        let place = |station: usize| group.iter().position(|&i| i == station);
        let (Some(at), Some(start)) = (place(s), place(target)) else {
            return Ok(0.0);
        };
        // At `s` the walk ends: what happens there is the next attempt.
        let inside = |i: usize| match i == s {
            true => Vec::new(),
            false => {
                let ways = self.chain.ways[i].iter();
                ways.filter_map(|&(to, jobs)| Some((place(to)?, jobs)))
                    .collect()
            }
        };
        let around = Chain {
            ways: group.iter().map(|&i| inside(i)).collect(),
        };
        let mut entry = vec![0.0; group.len()];
        entry[start] = 1.0;
        let visits = around.visits(&around.groups(), &entry);
        let visits = visits.map_err(|trap| Trap {
            stations: trap.stations.iter().map(|&i| group[i]).collect(),
        })?;
        Ok((visits[at] * self.nodes[s].rework).min(1.0))
    }
}
