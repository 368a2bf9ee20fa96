//! Where the warm-up ends.

use super::interval::mean;

/// Where a series is cut, and what is left.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Truncation {
    /// Observations to drop from the start.
    pub at: usize,
    /// Mean of the observations kept in whole batches.
    pub mean: f64,
    /// The minimum lies at the last cut allowed: the run is too short to tell,
    /// make it longer.
    pub at_limit: bool,
}

/// MSER-5: the cut that minimises the marginal standard error of the mean of
/// batches of five, at most half of them dropped.
///
/// Source: White, Simulation 69 (1997) 323; White, Cobb & Spratt, Winter
/// Simulation Conference 2000 (both from memory). None for fewer than two
/// whole batches.
///
/// ```
/// let mut series = vec![9.0; 50];
/// series.extend((0..200).map(|k| f64::from(k % 3)));
/// let cut = flow::statistics::mser5(&series).unwrap();
/// assert_eq!(cut.at, 50);
/// assert!(!cut.at_limit);
/// ```
pub fn mser5(series: &[f64]) -> Option<Truncation> {
    mser(series, 5)
}

/// As [`mser5`] with batches of `size`.
pub fn mser(series: &[f64], size: usize) -> Option<Truncation> {
    if size == 0 {
        return None;
    }
    let batches: Vec<f64> = series.chunks_exact(size).map(mean).collect();
    if batches.len() < 2 {
        return None;
    }
    let limit = batches.len() / 2;
    let mut best: Option<(f64, usize)> = None;
    // From the end backwards, so that sums of the kept part only grow.
    let mut kept = Tail::default();
    for (cut, &batch) in batches.iter().enumerate().rev() {
        kept.push(batch);
        if cut > limit {
            continue;
        }
        let error = kept.squares / (kept.count * kept.count);
        // Of equal cuts the earlier one, which keeps more.
        if best.is_none_or(|(least, _)| error <= least) {
            best = Some((error, cut));
        }
    }
    let (_, cut) = best?;
    Some(Truncation {
        at: cut * size,
        mean: mean(batches.get(cut..)?),
        at_limit: cut == limit,
    })
}

/// Running count, mean and sum of squared deviations (Welford 1962, from
/// memory): differences of large sums would lose the small errors sought.
#[derive(Default)]
struct Tail {
    count: f64,
    mean: f64,
    squares: f64,
}

impl Tail {
    fn push(&mut self, x: f64) {
        self.count += 1.0;
        let off = x - self.mean;
        self.mean += off / self.count;
        self.squares += off * (x - self.mean);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_steady_series_keeps_everything() {
        let series: Vec<f64> = (0..200).map(|k| f64::from(k % 5)).collect();
        let cut = mser5(&series).unwrap();
        assert_eq!((cut.at, cut.mean), (0, 2.0));
    }

    #[test]
    fn a_run_that_never_settles_is_told() {
        let series: Vec<f64> = (0..400).map(f64::from).collect();
        assert!(mser5(&series).unwrap().at_limit);
    }

    #[test]
    fn a_series_of_less_than_two_batches_gives_nothing() {
        assert_eq!(mser5(&[1.0; 9]), None);
        assert_eq!(mser(&[1.0; 9], 0), None);
    }
}
