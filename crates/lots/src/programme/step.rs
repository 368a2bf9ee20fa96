//! One step of the interior point method.

use super::rows::Shape;
use super::{CHARGE, Programme};

/// Where the method stands.
pub(crate) struct Seen {
    /// Cost, the charge for excess included, in units of the shape.
    pub(crate) cost: f64,
    /// Sum of slack times dual: the gap to the optimum once the rest is 0.
    pub(crate) gap: f64,
    /// Largest miss of a row.
    pub(crate) infeasible: f64,
    /// Largest miss of a dual equation.
    pub(crate) unfit: f64,
}

impl Programme {
    /// Residuals and gradient at the present point.
    pub(crate) fn look(&mut self, shape: &Shape) -> Seen {
        self.gradient(shape);
        let mut cost = shape.cost(&self.z);
        if shape.capped {
            cost += CHARGE * self.z[shape.n];
        }
        let (mut gap, mut infeasible) = (0.0, 0.0_f64);
        self.right.copy_from_slice(&self.gradient);
        for (at, row) in self.rows.iter().enumerate() {
            let miss = row.value(&self.z) - self.slack[at];
            self.residual[at] = miss;
            infeasible = infeasible.max(miss.abs());
            gap += self.slack[at] * self.dual[at];
            for (unknown, by) in row.terms {
                self.right[unknown as usize] -= by * self.dual[at];
            }
        }
        let unfit = self.right.iter().fold(0.0_f64, |most, r| most.max(r.abs()));
        Seen {
            cost,
            gap,
            infeasible,
            unfit,
        }
    }

    fn gradient(&mut self, shape: &Shape) {
        self.gradient.fill(0.0);
        let cycle = self.z[shape.n - 1];
        let mut by_cycle = -shape.fixed / (cycle * cycle);
        for at in 0..shape.n {
            let gap = shape.gap_at(&self.z, at);
            let carry = shape.lots[at].carry;
            let slope = 2.0 * carry * gap / cycle;
            for (unknown, by) in shape.gap(at) {
                if let Some(unknown) = unknown {
                    self.gradient[unknown as usize] += slope * by;
                }
            }
            by_cycle -= carry * gap * gap / (cycle * cycle);
        }
        self.gradient[shape.n - 1] += by_cycle;
        if shape.capped {
            self.gradient[shape.n] += CHARGE;
        }
    }

    /// Curvature of the cost plus the rows weighed by dual over slack.
    fn assemble(&mut self, shape: &Shape) {
        self.matrix.clear();
        let last = shape.cycle();
        let cycle = self.z[shape.n - 1];
        self.matrix
            .add(last, last, 2.0 * shape.fixed / (cycle * cycle * cycle));
        for at in 0..shape.n {
            let lot = shape.lots[at];
            if lot.next == at {
                // A single lot spans the cycle: its cost is linear in it.
                continue;
            }
            let share = shape.gap_at(&self.z, at) / cycle;
            let weight = 2.0 * lot.carry / cycle;
            let [less, plus, (_, wraps)] = shape.gap(at);
            let terms = [less, plus, (Some(last), wraps - share)];
            for (n, (a, by_a)) in terms.iter().enumerate() {
                let Some(a) = a else { continue };
                for (b, by_b) in &terms[..=n] {
                    if let Some(b) = b {
                        self.matrix.add(*a, *b, weight * by_a * by_b);
                    }
                }
            }
        }
        for (at, row) in self.rows.iter().enumerate() {
            let weight = self.dual[at] / self.slack[at];
            for (n, (a, by_a)) in row.terms.iter().enumerate() {
                for (b, by_b) in &row.terms[..=n] {
                    let product = weight * by_a * by_b;
                    if product != 0.0 {
                        self.matrix.add(*a, *b, product);
                    }
                }
            }
        }
        // A trace of curvature for directions that nothing fixes.
        for unknown in 0..shape.unknowns as u32 {
            self.matrix.add(unknown, unknown, 1e-13);
        }
    }

    /// Predictor and corrector; false when no further step is possible.
    pub(crate) fn advance(&mut self, shape: &Shape, gap: f64) -> bool {
        let m = self.rows.len() as f64;
        let mu = gap / m;
        self.assemble(shape);
        self.matrix.factorise();
        self.spent += self.matrix.work + 60 * shape.n as u64 + 2_000;
        for at in 0..self.rows.len() {
            self.centre[at] = -self.slack[at] * self.dual[at];
        }
        self.direction();
        let (primal, dual) = self.longest();
        let step = primal.min(dual).min(1.0);
        let mut ahead = 0.0;
        for at in 0..self.rows.len() {
            ahead += (self.slack[at] + step * self.d_slack[at])
                * (self.dual[at] + step * self.d_dual[at]);
        }
        let ratio = (ahead / m / mu).clamp(0.0, 1.0);
        let target = ratio * ratio * ratio * mu;
        for at in 0..self.rows.len() {
            self.centre[at] =
                target - self.slack[at] * self.dual[at] - self.d_slack[at] * self.d_dual[at];
        }
        self.direction();
        let (primal, dual) = self.longest();
        let step = (0.995 * primal.min(dual)).min(1.0);
        if !step.is_finite() || step < 1e-10 {
            return false;
        }
        self.walk(step, shape);
        true
    }

    /// The Newton direction towards `centre`, with the factor at hand.
    fn direction(&mut self) {
        for (d, r) in self.dz.iter_mut().zip(&self.right) {
            *d = -r;
        }
        for (at, row) in self.rows.iter().enumerate() {
            let pull = (self.centre[at] - self.dual[at] * self.residual[at]) / self.slack[at];
            for (unknown, by) in row.terms {
                self.dz[unknown as usize] += by * pull;
            }
        }
        self.matrix.solve(&mut self.dz);
        for (at, row) in self.rows.iter().enumerate() {
            let d_slack = row.product(&self.dz) + self.residual[at];
            self.d_slack[at] = d_slack;
            self.d_dual[at] = (self.centre[at] - self.dual[at] * d_slack) / self.slack[at];
        }
    }

    /// Longest steps that keep slacks and duals above 0.
    fn longest(&self) -> (f64, f64) {
        let longest = |values: &[f64], steps: &[f64]| {
            let pairs = values.iter().zip(steps);
            pairs.fold(
                1e3,
                |most: f64, (v, d)| if *d < 0.0 { most.min(-v / d) } else { most },
            )
        };
        (
            longest(&self.slack, &self.d_slack),
            longest(&self.dual, &self.d_dual),
        )
    }

    fn walk(&mut self, step: f64, shape: &Shape) {
        // The cost is no quadratic in the cycle: do not shrink it at one go.
        let cycle = self.z[shape.n - 1];
        let by = self.dz[shape.n - 1];
        let step = if by < -0.7 * cycle / step {
            0.7 * cycle / -by
        } else {
            step
        };
        for (z, d) in self.z.iter_mut().zip(&self.dz) {
            *z += step * d;
        }
        for at in 0..self.rows.len() {
            self.slack[at] += step * self.d_slack[at];
            self.dual[at] += step * self.d_dual[at];
        }
    }
}
