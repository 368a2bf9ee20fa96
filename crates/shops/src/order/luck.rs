//! Luck that belongs to a name, the same on every machine.

use units::splitmix;

/// A number of a name: FNV-1a (Fowler, Noll & Vo, IETF draft, 64 bits).
pub(super) fn of_name(name: &str) -> u64 {
    let step = |hash: u64, byte: u8| (hash ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3);
    name.bytes().fold(0xcbf2_9ce4_8422_2325, step)
}

/// A number scattered over all ([`units::splitmix`]).
pub(super) fn mixed(number: u64) -> u64 {
    splitmix::mix(number.wrapping_mul(splitmix::GOLDEN))
}

/// The same as a share from 0 to 1.
pub(super) fn share(number: u64) -> f64 {
    // 53 bits are what an f64 holds
    (mixed(number) >> 11) as f64 / (1_u64 << 53) as f64
}
