//! Random streams, one per station and purpose.
//!
//! The n-th draw of a stream depends on nothing but its key and n
//! ([`units::splitmix`]). Keys are made from the seed, the replication, the
//! station's name and the purpose; a station that draws more or less than before
//! leaves every other stream alone.

use units::splitmix::{self, GOLDEN, mix};

/// A stream of uniform numbers.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Stream {
    state: u64,
}

impl Stream {
    /// A stream that starts at this state, as the published definition does.
    pub const fn from_state(state: u64) -> Self {
        Self { state }
    }

    /// The stream of `purpose` at `name`.
    ///
    /// ```
    /// use flow::stream::Stream;
    /// let mut a = Stream::keyed(1, 0, "framing 10", "cycle");
    /// let mut b = Stream::keyed(1, 0, "framing 10", "cycle");
    /// assert_eq!(a.uniform(), b.uniform());
    /// ```
    pub fn keyed(seed: u64, replication: u32, name: &str, purpose: &str) -> Self {
        let mut key = mix(seed.wrapping_add(GOLDEN));
        key = mix(key ^ u64::from(replication).wrapping_mul(0xD1B5_4A32_D192_ED03));
        for part in [name, purpose] {
            // FNV-1a over the text, then mixed: names differ in few bits.
            let mut hash: u64 = 0xCBF2_9CE4_8422_2325;
            for byte in part.bytes() {
                hash = (hash ^ u64::from(byte)).wrapping_mul(0x0000_0100_0000_01B3);
            }
            key = mix(key.wrapping_add(GOLDEN) ^ mix(hash));
        }
        Self { state: key }
    }

    /// How often this has been asked: the stream of a list counts instead of
    /// drawing.
    pub(crate) fn counted(&mut self) -> u64 {
        let count = self.state;
        self.state += 1;
        count
    }

    /// The next 64 bits.
    #[inline]
    pub fn bits(&mut self) -> u64 {
        splitmix::next(&mut self.state)
    }

    /// The next number, above 0 and below 1.
    #[inline]
    pub fn uniform(&mut self) -> f64 {
        splitmix::open_unit(self.bits())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn purposes_and_replications_do_not_share_a_stream() {
        let first = |r, n, p| Stream::keyed(1, r, n, p).bits();
        let a = first(0, "a", "cycle");
        assert_ne!(a, first(1, "a", "cycle"));
        assert_ne!(a, first(0, "b", "cycle"));
        assert_ne!(a, first(0, "a", "repair"));
        assert_ne!(first(0, "ab", "c"), first(0, "a", "bc"));
    }
}
