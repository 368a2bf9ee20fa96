//! A stream of random numbers that is the same on every machine.

use units::splitmix::{self, GOLDEN, mix};

#[derive(Clone, Copy, Debug)]
pub(crate) struct Stream {
    state: u64,
}

impl Stream {
    /// The stream of one walker.
    pub(crate) const fn keyed(seed: u64, walker: u64) -> Self {
        let key = mix(seed.wrapping_add(GOLDEN));
        Self {
            state: mix(key ^ walker.wrapping_mul(0xD1B5_4A32_D192_ED03)),
        }
    }

    pub(crate) const fn bits(&mut self) -> u64 {
        splitmix::next(&mut self.state)
    }

    /// A number below `n`, which must not be 0 and fit in 32 bits.
    pub(crate) const fn below(&mut self, n: usize) -> usize {
        (((self.bits() >> 32) * n as u64) >> 32) as usize
    }
}
