//! A stream of random numbers that is the same on every machine.

use units::splitmix::{self, GOLDEN, mix};

#[derive(Clone, Copy, Debug)]
pub(crate) struct Stream {
    state: u64,
}

impl Stream {
    /// The stream of one walk of one line.
    pub(crate) const fn keyed(seed: u64, line: u64, walk: u64) -> Self {
        let key = mix(seed.wrapping_add(GOLDEN));
        let key = mix(key ^ line.wrapping_mul(0xD1B5_4A32_D192_ED03));
        Self {
            state: mix(key ^ walk.wrapping_mul(0x8CB9_2BA7_2F3D_8DD7)),
        }
    }

    fn bits(&mut self) -> u64 {
        splitmix::next(&mut self.state)
    }

    /// The next number, above 0 and below 1.
    pub(crate) fn uniform(&mut self) -> f64 {
        splitmix::open_unit(self.bits())
    }

    /// A number below `n`, which must not be 0.
    pub(crate) fn below(&mut self, n: usize) -> usize {
        ((u128::from(self.bits()) * n as u128) >> 64) as usize
    }
}
