//! Symmetric matrices kept from the first entry of each row to the diagonal,
//! and their Cholesky factor, which has the same envelope.

use super::rows::{Row, Shape};

#[derive(Default)]
pub(crate) struct Envelope {
    /// First column of each row.
    first: Vec<usize>,
    /// Where each row begins, less its first column: entry `(i, j)` is at
    /// `base[i] + j`.
    base: Vec<isize>,
    entries: Vec<f64>,
    /// Multiply-adds of one factorisation.
    pub(crate) work: u64,
}

impl Envelope {
    /// Finds the envelope of the cost and the rows.
    pub(crate) fn lay_out(&mut self, size: usize, shape: &Shape, rows: &[Row]) {
        self.first.clear();
        self.first.extend(0..size);
        for row in rows {
            let least = row.terms.iter().map(|term| term.0).min().unwrap_or(0) as usize;
            for (unknown, _) in row.terms {
                let first = &mut self.first[unknown as usize];
                *first = least.min(*first);
            }
        }
        // The cycle's length, and the excess, meet every start.
        for first in &mut self.first[shape.n - 1..] {
            *first = 0;
        }
        self.base.clear();
        let (mut length, mut work) = (0_usize, 0_u64);
        for (i, first) in self.first.iter().enumerate() {
            self.base.push(length as isize - *first as isize);
            let wide = i - first + 1;
            length += wide;
            work += (wide * wide / 2 + 8 * wide) as u64;
        }
        self.work = work;
        self.entries.clear();
        self.entries.resize(length, 0.0);
    }

    pub(crate) fn clear(&mut self) {
        self.entries.fill(0.0);
    }

    fn place(&self, i: usize, j: usize) -> usize {
        (self.base[i] + j as isize) as usize
    }

    /// Adds to the entry of two unknowns.
    pub(crate) fn add(&mut self, a: u32, b: u32, by: f64) {
        let (i, j) = if a >= b { (a, b) } else { (b, a) };
        let at = self.place(i as usize, j as usize);
        self.entries[at] += by;
    }

    /// Turns the matrix into its factor.
    pub(crate) fn factorise(&mut self) {
        let size = self.first.len();
        for i in 0..size {
            let first_i = self.first[i];
            let row_i = self.place(i, first_i);
            for j in first_i..i {
                let from = first_i.max(self.first[j]);
                let (a, b) = (self.place(i, from), self.place(j, from));
                let sum = dot(
                    &self.entries[a..a + j - from],
                    &self.entries[b..b + j - from],
                );
                let diagonal = self.entries[self.place(j, j)];
                let at = self.place(i, j);
                self.entries[at] = (self.entries[at] - sum) * diagonal;
            }
            let at = self.place(i, i);
            let own = &self.entries[row_i..at];
            let left = self.entries[at] - dot(own, own);
            // A pivot lost to rounding belongs to a direction that nothing
            // fixes; a huge pivot leaves it where it is.
            self.entries[at] = if left > 1e-30 {
                1.0 / left.sqrt()
            } else {
                1e-20
            };
        }
    }

    /// Solves for a right side, in place. The diagonal holds reciprocals.
    pub(crate) fn solve(&self, x: &mut [f64]) {
        let size = self.first.len();
        for i in 0..size {
            let first = self.first[i];
            let (from, to) = (self.place(i, first), self.place(i, i));
            let sum = dot(&self.entries[from..to], &x[first..i]);
            x[i] = (x[i] - sum) * self.entries[to];
        }
        for i in (0..size).rev() {
            let first = self.first[i];
            let (from, to) = (self.place(i, first), self.place(i, i));
            let value = x[i] * self.entries[to];
            x[i] = value;
            for (x, entry) in x[first..i].iter_mut().zip(&self.entries[from..to]) {
                *x -= value * entry;
            }
        }
    }
}

/// Four sums side by side, in an order that does not depend on the machine.
fn dot(a: &[f64], b: &[f64]) -> f64 {
    let mut sums = [0.0; 4];
    let (a4, a_rest) = a.as_chunks::<4>();
    let (b4, b_rest) = b.as_chunks::<4>();
    for (x, y) in a4.iter().zip(b4) {
        for k in 0..4 {
            sums[k] += x[k] * y[k];
        }
    }
    let mut sum = (sums[0] + sums[2]) + (sums[1] + sums[3]);
    for (x, y) in a_rest.iter().zip(b_rest) {
        sum += x * y;
    }
    sum
}
