//! Sets of tasks as bits, of a size known when the program is built.

/// Up to `64 * W` tasks.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(crate) struct Set<const W: usize>([u64; W]);

impl<const W: usize> Set<W> {
    pub(crate) const EMPTY: Self = Self([0; W]);

    #[inline]
    pub(crate) fn with(mut self, task: usize) -> Self {
        self.put(task);
        self
    }

    #[inline]
    pub(crate) fn put(&mut self, task: usize) {
        self.0[task >> 6] |= 1 << (task & 63);
    }

    #[inline]
    pub(crate) fn take(&mut self, task: usize) {
        self.0[task >> 6] &= !(1 << (task & 63));
    }

    #[inline]
    pub(crate) fn has(&self, task: usize) -> bool {
        self.0[task >> 6] >> (task & 63) & 1 == 1
    }

    /// Whether all of these are in `other`.
    #[inline]
    pub(crate) fn within(&self, other: &Self) -> bool {
        self.0
            .iter()
            .zip(&other.0)
            .fold(0, |out, (a, b)| out | (a & !b))
            == 0
    }

    #[inline]
    pub(crate) fn and(&self, other: &Self) -> Self {
        Self(std::array::from_fn(|w| self.0[w] & other.0[w]))
    }

    #[inline]
    pub(crate) fn or(&self, other: &Self) -> Self {
        Self(std::array::from_fn(|w| self.0[w] | other.0[w]))
    }

    #[inline]
    pub(crate) fn less(&self, other: &Self) -> Self {
        Self(std::array::from_fn(|w| self.0[w] & !other.0[w]))
    }

    #[inline]
    pub(crate) fn is_empty(&self) -> bool {
        self.0.iter().all(|word| *word == 0)
    }

    #[inline]
    pub(crate) fn len(&self) -> usize {
        self.0.iter().map(|word| word.count_ones() as usize).sum()
    }

    /// The tasks in ascending order.
    #[inline]
    pub(crate) fn iter(&self) -> impl Iterator<Item = usize> + '_ {
        self.0.iter().enumerate().flat_map(|(w, word)| {
            let mut left = *word;
            std::iter::from_fn(move || {
                if left == 0 {
                    return None;
                }
                let bit = left.trailing_zeros() as usize;
                left &= left - 1;
                Some((w << 6) | bit)
            })
        })
    }

    /// A well mixed number of the set.
    #[inline]
    pub(crate) fn hash(&self) -> u64 {
        let mut mixed: u64 = 0x9e37_79b9_7f4a_7c15;
        for word in &self.0 {
            mixed = (mixed ^ word).wrapping_mul(0xff51_afd7_ed55_8ccd);
            mixed ^= mixed >> 32;
        }
        mixed
    }
}
