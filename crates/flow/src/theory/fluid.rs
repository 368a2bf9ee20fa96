//! Two machines and a buffer with material as a fluid.

use super::linear::solve;
use super::{Refused, positive};

/// A machine that gives `speed` when up, fails and is repaired.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FluidMachine {
    /// Material per unit of time at full speed.
    pub speed: f64,
    /// Failure rate at full speed; a machine slowed by its neighbour fails in
    /// proportion to the speed it has, one that stands still does not fail.
    pub fail: f64,
    /// Repair rate.
    pub repair: f64,
}

/// Long-run figures of two fluid machines.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FluidFigures {
    /// Material per unit of time.
    pub throughput: f64,
    /// Mean content of the buffer.
    pub level: f64,
    /// Probability that the buffer is empty and the first machine down: the
    /// second has nothing.
    pub starved: f64,
    /// Probability that the buffer is full and the second machine down: the
    /// first has no place.
    pub blocked: f64,
}

/// States of the pair: which machine is up.
const PAIR: [(bool, bool); 4] = [(true, true), (true, false), (false, true), (false, false)];
/// Two machines with a buffer of `size` between them; the first is never short
/// of material, the second never blocked.
///
/// Source of the model: Wijngaard, AIIE Transactions 11 (1979); Gershwin &
/// Schick 1980 (from memory). Solved here as a linear boundary-value problem:
/// the densities of the four states obey f' = f M inside and balance with the
/// probability masses at empty and full. A short piece of the buffer is
/// described by what goes in and out at its two ends, and doubled until it is
/// the whole buffer (the star product of scattering theory); nothing grows on
/// the way, so large buffers and nearly equal speeds lose no digits.
///
/// # Errors
/// [`Refused`] when a number is not above 0.
///
/// ```
/// use flow::theory::fluid::{FluidMachine, two_machines};
/// let machine = FluidMachine { speed: 1.0, fail: 0.01, repair: 0.1 };
/// let pair = two_machines(&machine, &machine, 10.0)?;
/// assert!((pair.level - 5.0).abs() < 1e-10);
/// # Ok::<(), flow::theory::Refused>(())
/// ```
pub fn two_machines(
    first: &FluidMachine,
    second: &FluidMachine,
    size: f64,
) -> Result<FluidFigures, Refused> {
    for machine in [first, second] {
        positive("speed", machine.speed)?;
        positive("failure rate", machine.fail)?;
        positive("repair rate", machine.repair)?;
    }
    positive("buffer", size)?;
    let pair = Pair::new(*first, *second);
    let inside = pair.inside()?;
    let buffer = inside.stretch(size)?;
    let solution = pair.boundary_problem(&inside, &buffer)?;
    Ok(pair.figures(&inside, &buffer, &solution, size))
}

type Matrix = Vec<Vec<f64>>;

struct Pair {
    first: FluidMachine,
    second: FluidMachine,
    drift: [f64; 4],
}

/// The equations between the ends, for the states whose content changes.
struct Inside {
    /// Those states.
    moving: Vec<usize>,
    /// Which of them fill the buffer; the others empty it.
    rising: Vec<bool>,
    /// f' = f M over the moving states.
    m: Matrix,
    /// Density of every state from those of the moving ones.
    full: Matrix,
}

/// A piece of the buffer. Rows are densities going in: of rising states at its
/// lower end, of falling states at its upper end.
#[derive(Clone)]
struct Piece {
    length: f64,
    /// Densities going out: rising at the upper end, falling at the lower.
    out: Matrix,
    /// Probability inside, by moving state.
    area: Matrix,
    /// Probability inside times height above the lower end.
    moment: Matrix,
}

/// What goes in at the two ends of the buffer, and the masses there.
struct Solution {
    inward: Vec<f64>,
    empty: [f64; 4],
    full: [f64; 4],
}

impl Inside {
    /// Probability of all states for one unit of moving state `k`.
    fn weight(&self, k: usize) -> f64 {
        self.full[k].iter().sum()
    }

    /// The whole buffer.
    fn stretch(&self, size: f64) -> Result<Piece, Refused> {
        let change: f64 = self.m.iter().flatten().map(|x| x.abs()).sum();
        let mut doublings = 0;
        let mut length = size;
        while length * change > 0.5 {
            length *= 0.5;
            doublings += 1;
        }
        let mut piece = self.short_piece(length)?;
        for _ in 0..doublings {
            piece = self.doubled(&piece)?;
        }
        Ok(piece)
    }

    fn short_piece(&self, length: f64) -> Result<Piece, Refused> {
        let n = self.moving.len();
        let [advance, area, moment] = integrals(&self.m, length);
        // Densities at the lower end for each unit of what goes in.
        let mut lower = unit(n);
        for (input, row) in lower.iter_mut().enumerate() {
            // Falling at the lower end so that they arrive as given above.
            let falling: Vec<usize> = (0..n).filter(|&k| !self.rising[k]).collect();
            let equations = falling
                .iter()
                .map(|&to| {
                    let mut eq: Vec<f64> = falling.iter().map(|&from| advance[from][to]).collect();
                    eq.push(if self.rising[input] {
                        -advance[input][to]
                    } else {
                        one_if(input == to)
                    });
                    eq
                })
                .collect();
            for (&k, value) in falling.iter().zip(solve(equations)?) {
                row[k] = value;
            }
        }
        let upper = product(&lower, &advance);
        let out = (0..n)
            .map(|input| {
                (0..n)
                    .map(|k| {
                        if self.rising[k] {
                            upper[input][k]
                        } else {
                            lower[input][k]
                        }
                    })
                    .collect()
            })
            .collect();
        Ok(Piece {
            length,
            out,
            area: product(&lower, &area),
            moment: product(&lower, &moment),
        })
    }

    /// Two like pieces on top of each other.
    fn doubled(&self, piece: &Piece) -> Result<Piece, Refused> {
        let n = self.moving.len();
        let mut twice = Piece {
            length: 2.0 * piece.length,
            out: Vec::new(),
            area: Vec::new(),
            moment: Vec::new(),
        };
        for input in 0..n {
            let middle = self.middle(piece, input)?;
            // Each piece is fed by the middle at one end, by `input` at the other.
            let fed = |rising_from_middle: bool| -> Vec<f64> {
                (0..n)
                    .map(|k| {
                        if self.rising[k] == rising_from_middle {
                            middle[k]
                        } else {
                            one_if(k == input)
                        }
                    })
                    .collect()
            };
            let (lower, upper) = (fed(false), fed(true));
            let out_below = times(&lower, &piece.out);
            let out_above = times(&upper, &piece.out);
            let out = (0..n).map(|k| {
                if self.rising[k] {
                    out_above[k]
                } else {
                    out_below[k]
                }
            });
            twice.out.push(out.collect());
            let area_above = times(&upper, &piece.area);
            twice
                .area
                .push(sum(&times(&lower, &piece.area), &area_above, 1.0));
            let moments = sum(
                &times(&lower, &piece.moment),
                &times(&upper, &piece.moment),
                1.0,
            );
            twice.moment.push(sum(&moments, &area_above, piece.length));
        }
        Ok(twice)
    }

    /// Densities where two like pieces meet, for one unit of `input` from
    /// outside: rising ones come out of the lower piece, falling ones out of
    /// the upper, and what the middle feeds is reflected.
    fn middle(&self, piece: &Piece, input: usize) -> Result<Vec<f64>, Refused> {
        let n = self.moving.len();
        let equations = (0..n)
            .map(|to| {
                let mut row: Vec<f64> = (0..n)
                    .map(|from| {
                        let reflected = self.rising[from] != self.rising[to];
                        one_if(from == to) - if reflected { piece.out[from][to] } else { 0.0 }
                    })
                    .collect();
                row.push(if self.rising[input] == self.rising[to] {
                    piece.out[input][to]
                } else {
                    0.0
                });
                row
            })
            .collect();
        solve(equations)
    }
}

impl Pair {
    fn new(first: FluidMachine, second: FluidMachine) -> Self {
        let drift = PAIR.map(|(a, b)| {
            f64::from(u8::from(a)) * first.speed - f64::from(u8::from(b)) * second.speed
        });
        Self {
            first,
            second,
            drift,
        }
    }

    /// Rates between the states when the machines work at these shares of
    /// their speed.
    fn rates(&self, share: impl Fn(bool, bool) -> (f64, f64)) -> Matrix {
        let mut t = vec![vec![0.0; 4]; 4];
        for (from, &(a, b)) in PAIR.iter().enumerate() {
            let (share_a, share_b) = share(a, b);
            let change_a = if a {
                self.first.fail * share_a
            } else {
                self.first.repair
            };
            let change_b = if b {
                self.second.fail * share_b
            } else {
                self.second.repair
            };
            for (to, &pair) in PAIR.iter().enumerate() {
                if pair == (!a, b) {
                    t[from][to] += change_a;
                } else if pair == (a, !b) {
                    t[from][to] += change_b;
                }
            }
            t[from][from] = -(change_a + change_b);
        }
        t
    }

    fn inside(&self) -> Result<Inside, Refused> {
        let t = self.rates(|_, _| (1.0, 1.0));
        let (still, moving): (Vec<usize>, Vec<usize>) = (0..4).partition(|&s| self.drift[s] == 0.0);
        // Still states are in balance at every level: f_still T = -f_moving T.
        let mut full = vec![vec![0.0; 4]; moving.len()];
        for (k, &from) in moving.iter().enumerate() {
            full[k][from] = 1.0;
            let equations = still
                .iter()
                .map(|&to| {
                    let mut row: Vec<f64> = still.iter().map(|&s| t[s][to]).collect();
                    row.push(-t[from][to]);
                    row
                })
                .collect();
            for (&s, value) in still.iter().zip(solve(equations)?) {
                full[k][s] = value;
            }
        }
        let m = full
            .iter()
            .map(|density| {
                moving
                    .iter()
                    .map(|&to| (0..4).map(|s| density[s] * t[s][to]).sum::<f64>() / self.drift[to])
                    .collect()
            })
            .collect();
        let rising = moving.iter().map(|&s| self.drift[s] > 0.0).collect();
        Ok(Inside {
            moving,
            rising,
            m,
            full,
        })
    }

    /// Rates while the buffer stays empty: the second machine gets only what
    /// the first gives.
    fn rates_empty(&self) -> Matrix {
        let slowed = (self.first.speed / self.second.speed).min(1.0);
        self.rates(|a, _| (1.0, if a { slowed } else { 0.0 }))
    }

    /// Rates while the buffer stays full.
    fn rates_full(&self) -> Matrix {
        let slowed = (self.second.speed / self.first.speed).min(1.0);
        self.rates(|_, b| (if b { slowed } else { 0.0 }, 1.0))
    }

    /// States in which an empty buffer stays empty. (Both down is not among
    /// them: a starved machine does not fail.)
    fn stays_empty(&self) -> Vec<usize> {
        let both = (self.drift[0] <= 0.0).then_some(0);
        both.into_iter().chain([2]).collect()
    }

    fn stays_full(&self) -> Vec<usize> {
        let both = (self.drift[0] >= 0.0).then_some(0);
        both.into_iter().chain([1]).collect()
    }

    fn boundary_problem(&self, inside: &Inside, buffer: &Piece) -> Result<Solution, Refused> {
        let moving = inside.moving.len();
        let (empty, full) = (self.stays_empty(), self.stays_full());
        let unknowns = moving + empty.len() + full.len();
        let mut rows: Matrix = Vec::new();
        // At the ends, flow out of the masses is carried by the densities.
        let ends = [
            (self.rates_empty(), &empty, moving, true),
            (self.rates_full(), &full, moving + empty.len(), false),
        ];
        for (rates, masses, offset, lower) in ends {
            for (to, &drift) in self.drift.iter().enumerate() {
                let mut row = vec![0.0; unknowns + 1];
                for (k, &from) in masses.iter().enumerate() {
                    row[offset + k] = rates[from][to];
                }
                if let Some(k) = inside.moving.iter().position(|&s| s == to) {
                    let flow = if lower { -drift } else { drift };
                    for (input, (x, out)) in row.iter_mut().zip(&buffer.out).enumerate() {
                        *x = flow
                            * if inside.rising[k] == lower {
                                one_if(input == k)
                            } else {
                                out[k]
                            };
                    }
                }
                if row.iter().any(|&x| x != 0.0) {
                    rows.push(row);
                }
            }
        }
        // The balances hold one redundancy; the sum of all is 1 instead.
        rows.pop();
        let mut total: Vec<f64> = buffer
            .area
            .iter()
            .map(|area| (0..moving).map(|k| area[k] * inside.weight(k)).sum())
            .collect();
        total.resize(unknowns + 1, 1.0);
        rows.push(total);
        super::fits("equations", rows.len(), unknowns)?;
        let x = solve(rows)?;
        let mut solution = Solution {
            inward: x[..moving].to_vec(),
            empty: [0.0; 4],
            full: [0.0; 4],
        };
        for (k, &s) in empty.iter().enumerate() {
            solution.empty[s] = x[moving + k];
        }
        for (k, &s) in full.iter().enumerate() {
            solution.full[s] = x[moving + empty.len() + k];
        }
        Ok(solution)
    }

    fn figures(
        &self,
        inside: &Inside,
        buffer: &Piece,
        solution: &Solution,
        size: f64,
    ) -> FluidFigures {
        let area = times(&solution.inward, &buffer.area);
        let moment = times(&solution.inward, &buffer.moment);
        let mut second_runs = solution.full[0];
        let mut level = size * solution.full.iter().sum::<f64>();
        for (k, full) in inside.full.iter().enumerate() {
            second_runs += area[k] * (full[0] + full[2]);
            level += moment[k] * inside.weight(k);
        }
        // Full with both up, the second sets the pace; empty, the first does.
        let at_empty = self.first.speed.min(self.second.speed) * solution.empty[0];
        FluidFigures {
            throughput: self.second.speed * second_runs + at_empty,
            level,
            starved: solution.empty[2],
            blocked: solution.full[1],
        }
    }
}

/// Row vector times matrix.
fn times(row: &[f64], matrix: &Matrix) -> Vec<f64> {
    (0..row.len())
        .map(|to| row.iter().zip(matrix).map(|(x, line)| x * line[to]).sum())
        .collect()
}

fn unit(n: usize) -> Matrix {
    (0..n)
        .map(|i| (0..n).map(|j| one_if(i == j)).collect())
        .collect()
}

fn one_if(holds: bool) -> f64 {
    f64::from(u8::from(holds))
}

/// a + factor b.
fn sum(a: &[f64], b: &[f64], factor: f64) -> Vec<f64> {
    a.iter().zip(b).map(|(x, y)| x + factor * y).collect()
}

fn product(a: &Matrix, b: &Matrix) -> Matrix {
    a.iter().map(|row| times(row, b)).collect()
}

/// exp(M h), the integral of exp(M x) and of x exp(M x) over 0 to h, by their
/// series; h is short enough (norm of M h at most 1) that thirty terms are
/// exact.
fn integrals(m: &Matrix, h: f64) -> [Matrix; 3] {
    let n = m.len();
    let mut term = unit(n);
    let mut sums = [0, 1, 2].map(|_| vec![vec![0.0; n]; n]);
    for k in 0..30 {
        // term = (M h)^k / k!; the integrals of x^k are h^(k+1)/(k+1) and so on.
        let weights = [1.0, h / f64::from(k + 1), h * h / f64::from(k + 2)];
        for (sum, weight) in sums.iter_mut().zip(weights) {
            for (s, t) in sum.iter_mut().flatten().zip(term.iter().flatten()) {
                *s += weight * t;
            }
        }
        term = product(&term, m);
        let scale = h / f64::from(k + 1);
        term.iter_mut().flatten().for_each(|t| *t *= scale);
    }
    sums
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn machine() -> impl Strategy<Value = FluidMachine> {
        (0.5..2.0_f64, 0.002..0.1_f64, 0.02..0.5_f64).prop_map(|(speed, fail, repair)| {
            FluidMachine {
                speed,
                fail,
                repair,
            }
        })
    }

    fn alone(m: &FluidMachine) -> f64 {
        m.speed * m.repair / (m.repair + m.fail)
    }

    proptest! {
        #[test]
        fn reversing_keeps_the_rate_and_mirrors_the_level(a in machine(), b in machine(), size in 0.5..40.0_f64) {
            let there = two_machines(&a, &b, size).unwrap();
            let back = two_machines(&b, &a, size).unwrap();
            prop_assert!((there.throughput - back.throughput).abs() < 1e-9, "{there:?} {back:?}");
            prop_assert!((there.level + back.level - size).abs() < 1e-7 * size);
        }

        #[test]
        fn a_larger_buffer_gives_more_and_never_more_than_the_slower(a in machine(), b in machine(), size in 0.5..40.0_f64) {
            let less = two_machines(&a, &b, size).unwrap().throughput;
            let more = two_machines(&a, &b, size * 1.3).unwrap().throughput;
            prop_assert!(more >= less - 1e-11);
            prop_assert!(more <= alone(&a).min(alone(&b)) + 1e-11);
        }
    }

    #[test]
    fn without_buffer_the_pair_is_in_step() {
        let m = FluidMachine {
            speed: 1.0,
            fail: 0.01,
            repair: 0.1,
        };
        let pair = two_machines(&m, &m, 1e-9).unwrap();
        assert!((pair.throughput - 1.0 / 1.2).abs() < 1e-8);
    }
}
