//! A stream of random numbers that is the same on every machine.
//!
//! splitmix64 (Steele, Lea & Flood 2014, "Fast splittable pseudorandom number
//! generators"): a counter through a mixer.

const GOLDEN: u64 = 0x9E37_79B9_7F4A_7C15;

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
        self.state = self.state.wrapping_add(GOLDEN);
        mix(self.state)
    }

    /// A number below `n`, which must not be 0 and fit in 32 bits.
    pub(crate) const fn below(&mut self, n: usize) -> usize {
        (((self.bits() >> 32) * n as u64) >> 32) as usize
    }
}

const fn mix(mut z: u64) -> u64 {
    z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
    z ^ (z >> 31)
}
