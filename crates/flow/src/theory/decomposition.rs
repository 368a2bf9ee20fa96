//! Long slotted lines from their two-machine pieces: an approximation.
//!
//! **Known error** (measured against exact chains and long simulations):
//! within 0.1 % for three or four machines, +1.8 % for ten, +4 % for twenty,
//! +8.5 % for a hundred (repair 0.1, fail 0.01, storage 10), and +3 to +7 %
//! where repairs have mixed lengths: too high on every line of five machines
//! or more. It ranks buffers and cross-checks a simulation; it is not the
//! answer.

use super::Refused;
use super::slotted::{SlottedFigures, SlottedLine};

/// Result of a decomposition.
#[derive(Clone, Debug, PartialEq)]
pub struct Decomposed {
    /// Parts out per slot, approximate.
    pub rate: f64,
    /// Mean content of each storage, approximate.
    pub content: Vec<f64>,
    /// Rounds needed.
    pub rounds: usize,
}

const ROUNDS: usize = 2000;

/// The pseudo-machines around one storage.
#[derive(Clone, Copy, Debug)]
struct Piece {
    /// Repair and failure probability of what stands above.
    above: (f64, f64),
    /// And of what stands below.
    below: (f64, f64),
    storage: u16,
}

impl Piece {
    fn figures(&self) -> Result<SlottedFigures, Refused> {
        let ((r1, p1), (r2, p2)) = (self.above, self.below);
        SlottedLine::two(r1, p1, r2, p2, self.storage).figures()
    }
}

/// Splits a slotted line into one two-machine line per storage and adjusts
/// their machines until all agree on the rate.
///
/// Source: Gershwin, Operations Research 35 (1987) 291, with the algorithm of
/// Dallery, David & Xie, IIE Transactions 20 (1988) 280 (from memory). Storages
/// must be 2 or more. See the module for its known error.
///
/// # Errors
/// [`Refused`] as for [`SlottedLine::figures`], or when the rounds run out.
///
/// ```
/// use flow::theory::{decomposition::decompose, slotted::SlottedLine};
/// let line = SlottedLine { repair: vec![0.1; 20], fail: vec![0.01; 20], storage: vec![10; 19] };
/// assert!(decompose(&line)?.rate < 0.75);
/// # Ok::<(), flow::theory::Refused>(())
/// ```
pub fn decompose(line: &SlottedLine) -> Result<Decomposed, Refused> {
    let machines = line.repair.len();
    super::fits("failure probabilities", line.fail.len(), machines)?;
    super::fits("storages", line.storage.len() + 1, machines)?;
    let machine = |i: usize| (line.repair[i], line.fail[i]);
    let mut pieces: Vec<Piece> = (0..machines.saturating_sub(1))
        .map(|i| Piece {
            above: machine(i),
            below: machine(i + 1),
            storage: line.storage[i],
        })
        .collect();
    let alone = |i: usize| (line.repair[i] + line.fail[i]) / line.repair[i];
    for rounds in 1..=ROUNDS {
        for i in 1..pieces.len() {
            let seen = pieces[i - 1].figures()?;
            let (r, p) = pieces[i - 1].below;
            let lost = 1.0 / seen.rate + alone(i) - 2.0 - p / r;
            let starved = seen.starved[1] / (lost * seen.rate);
            let back = starved * pieces[i - 1].above.0 + (1.0 - starved) * line.repair[i];
            pieces[i].above = (back, lost * back);
        }
        for i in (0..pieces.len().saturating_sub(1)).rev() {
            let seen = pieces[i + 1].figures()?;
            let (r, p) = pieces[i + 1].above;
            let lost = 1.0 / seen.rate + alone(i + 1) - 2.0 - p / r;
            let blocked = seen.blocked[0] / (lost * seen.rate);
            let back = blocked * pieces[i + 1].below.0 + (1.0 - blocked) * line.repair[i + 1];
            pieces[i].below = (back, lost * back);
        }
        let seen: Vec<SlottedFigures> = pieces
            .iter()
            .map(Piece::figures)
            .collect::<Result<_, _>>()?;
        let least = seen.iter().map(|s| s.rate).fold(f64::INFINITY, f64::min);
        let most = seen.iter().map(|s| s.rate).fold(0.0, f64::max);
        if most - least <= 1e-9 * most {
            return Ok(Decomposed {
                rate: least,
                content: seen.iter().map(|s| s.content[0]).collect(),
                rounds,
            });
        }
    }
    Err(Refused::NotSettled { rounds: ROUNDS })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn two_machines_need_no_approximation() {
        let pair = SlottedLine::two(0.1, 0.01, 0.14, 0.02, 10);
        let exact = pair.figures().unwrap().rate;
        assert!((decompose(&pair).unwrap().rate - exact).abs() < 1e-12);
    }

    #[test]
    fn three_machines_come_within_a_tenth_of_a_percent() {
        let line = SlottedLine {
            repair: vec![0.1, 0.2, 0.15],
            fail: vec![0.01, 0.05, 0.02],
            storage: vec![6, 8],
        };
        let exact = line.figures().unwrap().rate;
        let found = decompose(&line).unwrap().rate;
        assert!((found / exact - 1.0).abs() < 1e-3, "{found} {exact}");
        // The value of an independent implementation of the same algorithm.
        assert!((found - 0.727_969).abs() < 1e-6, "{found}");
    }
}
