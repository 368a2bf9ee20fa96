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
    /// The stream of one walk of one line.
    pub(crate) const fn keyed(seed: u64, line: u64, walk: u64) -> Self {
        let key = mix(seed.wrapping_add(GOLDEN));
        let key = mix(key ^ line.wrapping_mul(0xD1B5_4A32_D192_ED03));
        Self {
            state: mix(key ^ walk.wrapping_mul(0x8CB9_2BA7_2F3D_8DD7)),
        }
    }

    fn bits(&mut self) -> u64 {
        self.state = self.state.wrapping_add(GOLDEN);
        mix(self.state)
    }

    /// The next number, above 0 and below 1.
    pub(crate) fn uniform(&mut self) -> f64 {
        ((self.bits() >> 11) as f64 + 0.5) * (1.0 / 9_007_199_254_740_992.0)
    }

    /// A number below `n`, which must not be 0.
    pub(crate) fn below(&mut self, n: usize) -> usize {
        ((u128::from(self.bits()) * n as u128) >> 64) as usize
    }
}

const fn mix(mut z: u64) -> u64 {
    z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
    z ^ (z >> 31)
}
