//! splitmix64: numbers that look like luck and are the same on every machine.
//!
//! G. L. Steele, D. Lea and C. H. Flood, "Fast splittable pseudorandom number
//! generators", OOPSLA 2014: a counter that goes on by the golden ratio, through a
//! mixer. A stream is one word of state, and its n-th number depends on nothing
//! but the word it began with and n. Who makes a stream chooses that word: each
//! solver has a key of its own, of seed and purpose.

/// The step of the counter: 2^64 over the golden ratio, odd.
pub const GOLDEN: u64 = 0x9E37_79B9_7F4A_7C15;

/// The mixer: every bit of the word moves about half of those of the result.
#[inline]
pub const fn mix(mut z: u64) -> u64 {
    z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
    z ^ (z >> 31)
}

/// Takes the state one step on and gives the next 64 bits.
///
/// ```
/// let mut state = 1_234_567;
/// assert_eq!(units::splitmix::next(&mut state), 6_457_827_717_110_365_317);
/// ```
#[inline]
pub const fn next(state: &mut u64) -> u64 {
    *state = state.wrapping_add(GOLDEN);
    mix(*state)
}

/// Bits as a number above 0 and below 1: the middles of 2^53 equal parts, as an
/// f64 holds them. The highest middle alone has no f64 of its own and would round
/// up to 1; it is the last number below 1 instead.
///
/// ```
/// assert_eq!(units::splitmix::open_unit(1 << 63), 0.5);
/// assert!(units::splitmix::open_unit(0) > 0.0);
/// assert!(units::splitmix::open_unit(u64::MAX) < 1.0);
/// ```
#[inline]
pub const fn open_unit(bits: u64) -> f64 {
    let middle = ((bits >> 11) as f64 + 0.5) * (1.0 / 9_007_199_254_740_992.0);
    if middle < 1.0 {
        middle
    } else {
        1.0 - f64::EPSILON / 2.0
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The first five numbers from the state 1234567, as Rosetta Code publishes them
    /// ("Pseudo-random numbers/Splitmix64").
    const FROM_1234567: [u64; 5] = [
        6_457_827_717_110_365_317,
        3_203_168_211_198_807_973,
        9_817_491_932_198_370_423,
        4_593_380_528_125_082_431,
        16_408_922_859_458_223_821,
    ];

    #[test]
    fn the_published_numbers_come_out() {
        let mut state = 1_234_567;
        assert_eq!(FROM_1234567.map(|_| next(&mut state)), FROM_1234567);
    }

    #[test]
    fn luck_is_never_nothing_and_never_all() {
        assert!(open_unit(0) > 0.0);
        let (highest, next) = (open_unit(u64::MAX), open_unit(u64::MAX - (1 << 11)));
        assert!(highest < 1.0);
        assert!(next <= highest, "{next} {highest}");
    }
}
