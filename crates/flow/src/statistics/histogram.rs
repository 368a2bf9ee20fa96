//! Streaming histogram of times with bounded memory.
//!
//! Buckets grow with the value: every power of two is cut into the same number
//! of even parts, so that a bucket is found by counting leading zeros and one
//! shift. The idea is that of high-dynamic-range histograms (from memory); the
//! layout here is our own.

/// Parts per power of two, as a power of two.
const BITS: u32 = 8;
/// Values below this have a bucket each.
const EXACT: u64 = 1 << BITS;

/// Largest relative error of [`Histogram::quantile`]: half a bucket.
pub const RELATIVE_ERROR: f64 = 1.0 / (2 * EXACT) as f64;

/// Counts of times in nanoseconds, in buckets of 0.4 % width.
///
/// Memory is bounded: at most 14 336 counters (115 kB), and only as many as
/// the longest time seen needs. Merging is exact and the order of adding does
/// not matter, so the result is the same for any number of threads.
///
/// ```
/// use flow::statistics::{Histogram, RELATIVE_ERROR};
/// let mut times = Histogram::new();
/// for minutes in 1..=100_i64 {
///     times.add(minutes * 60_000_000_000);
/// }
/// let median = times.quantile(0.5).unwrap();
/// assert!((median / 3000.0e9 - 1.0).abs() <= RELATIVE_ERROR);
/// assert_eq!(times.mean(), Some(3030.0e9));
/// ```
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Histogram {
    counts: Vec<u64>,
    count: u64,
    sum: u128,
    least: Option<u64>,
    most: u64,
}

impl Histogram {
    /// An empty histogram.
    pub fn new() -> Self {
        Self::default()
    }

    /// Adds one time in nanoseconds; a negative one counts as 0.
    #[inline]
    pub fn add(&mut self, nanoseconds: i64) {
        self.add_n(nanoseconds, 1);
    }

    /// Adds `n` equal times in nanoseconds; negative ones count as 0.
    #[inline]
    pub fn add_n(&mut self, nanoseconds: i64, n: u64) {
        let value = nanoseconds.max(0) as u64;
        let bucket = bucket_of(value);
        match self.counts.get_mut(bucket) {
            Some(count) => *count += n,
            None => self.grow(bucket, n),
        }
        self.count += n;
        self.sum += u128::from(value) * u128::from(n);
        if n > 0 {
            self.least = Some(self.least.map_or(value, |least| least.min(value)));
            self.most = self.most.max(value);
        }
    }

    /// Kept out of the fast path: happens at most once a bucket.
    #[cold]
    #[inline(never)]
    fn grow(&mut self, bucket: usize, n: u64) {
        // To the end of this power of two, so that growing stays rare.
        let room = (bucket | (EXACT as usize - 1)) + 1;
        self.counts.resize(room, 0);
        if let Some(count) = self.counts.get_mut(bucket) {
            *count += n;
        }
    }

    /// Adds all that `other` has counted.
    pub fn merge(&mut self, other: &Self) {
        if self.counts.len() < other.counts.len() {
            self.counts.resize(other.counts.len(), 0);
        }
        for (mine, theirs) in self.counts.iter_mut().zip(&other.counts) {
            *mine += theirs;
        }
        self.count += other.count;
        self.sum += other.sum;
        self.most = self.most.max(other.most);
        self.least = match (self.least, other.least) {
            (Some(a), Some(b)) => Some(a.min(b)),
            (a, b) => a.or(b),
        };
    }

    /// How many times were added.
    pub fn count(&self) -> u64 {
        self.count
    }

    /// Mean in nanoseconds, exact but for the last rounding; none when empty.
    pub fn mean(&self) -> Option<f64> {
        (self.count > 0).then(|| self.sum as f64 / self.count as f64)
    }

    /// Least and greatest time in nanoseconds, exact; none when empty.
    pub fn range(&self) -> Option<(u64, u64)> {
        self.least.map(|least| (least, self.most))
    }

    /// The time in nanoseconds that a share `p` of all times does not exceed,
    /// within [`RELATIVE_ERROR`]: the smallest value with at least `p * count`
    /// times at or below it. None when empty or `p` is outside 0 to 1.
    pub fn quantile(&self, p: f64) -> Option<f64> {
        let least = self.least?;
        if !(0.0..=1.0).contains(&p) {
            return None;
        }
        let rank = ((p * self.count as f64).ceil() as u64).clamp(1, self.count);
        let mut seen = 0;
        for (bucket, count) in self.counts.iter().enumerate() {
            seen += count;
            if seen >= rank {
                let middle = middle_of(bucket);
                return Some(middle.clamp(least as f64, self.most as f64));
            }
        }
        Some(self.most as f64)
    }
}

#[inline]
fn bucket_of(value: u64) -> usize {
    // Setting the lowest exact bit makes small values share the formula:
    // below EXACT the shift is 0 and the bucket is the value itself.
    let shift = 63 - BITS - (value | EXACT).leading_zeros();
    let part = (value >> shift) as usize;
    ((shift as usize) << BITS) + part
}

fn middle_of(bucket: usize) -> f64 {
    let exact = EXACT as usize;
    if bucket < 2 * exact {
        return bucket as f64;
    }
    let shift = (bucket >> BITS) as u32 - 1;
    let part = (bucket - ((shift as usize) << BITS)) as u64;
    // Buckets hold whole numbers: the last one is one short of the next start.
    let first = part << shift;
    let last = first + ((1u64 << shift) - 1);
    first as f64 + (last - first) as f64 * 0.5
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn buckets_follow_on_without_gap_or_overlap() {
        let mut last = bucket_of(0);
        assert_eq!(last, 0);
        for value in 1..200_000u64 {
            let bucket = bucket_of(value);
            assert!(bucket == last || bucket == last + 1, "{value}");
            last = bucket;
        }
        assert_eq!(bucket_of(i64::MAX as u64), 14_335);
    }

    #[test]
    fn an_empty_histogram_knows_nothing() {
        let empty = Histogram::new();
        assert_eq!(empty.quantile(0.5), None);
        assert_eq!(empty.mean(), None);
        assert_eq!(empty.range(), None);
        assert_eq!(empty.count(), 0);
    }

    proptest! {
        #[test]
        fn the_middle_lies_within_the_stated_error(value in 0..i64::MAX) {
            let middle = middle_of(bucket_of(value as u64));
            let off = (middle - value as f64).abs();
            prop_assert!(off <= RELATIVE_ERROR * value as f64);
        }

        #[test]
        fn quantiles_agree_with_sorting(mut times in prop::collection::vec(0..10_i64.pow(15), 1..300), p in 0.0..=1.0_f64) {
            let mut histogram = Histogram::new();
            for &time in &times {
                histogram.add(time);
            }
            times.sort_unstable();
            let rank = ((p * times.len() as f64).ceil() as usize).clamp(1, times.len());
            let exact = times[rank - 1] as f64;
            let found = histogram.quantile(p).unwrap();
            prop_assert!((found - exact).abs() <= RELATIVE_ERROR * exact, "{found} {exact}");
        }

        #[test]
        fn merging_equals_adding_to_one(a in prop::collection::vec(0..10_i64.pow(12), 0..50), b in prop::collection::vec(0..10_i64.pow(15), 0..50)) {
            let mut left = Histogram::new();
            let mut right = Histogram::new();
            let mut both = Histogram::new();
            for &time in &a { left.add(time); both.add(time); }
            for &time in &b { right.add(time); both.add(time); }
            left.merge(&right);
            prop_assert_eq!(left, both);
        }
    }
}
