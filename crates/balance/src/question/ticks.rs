//! Seconds as whole ticks, of the coarsest grain that loses nothing.

/// Ticks in a second: the least power of ten, up to a million, in which all of
/// these seconds are whole; none where that is not fine enough.
pub(super) fn per_second(seconds: &[f64]) -> Option<u32> {
    (0..=6)
        .map(|power| 10_u32.pow(power))
        .find(|scale| seconds.iter().all(|s| is_whole(s * f64::from(*scale))))
}

/// A decimal such as 0.1 is not exact in binary, so nearly whole is whole.
fn is_whole(number: f64) -> bool {
    (number - number.round()).abs() <= 1e-6
}

/// Whole ticks; what does not fit is as long as can be told.
pub(super) fn ticks(seconds: f64, per_second: u32) -> u32 {
    (seconds * f64::from(per_second)).round() as u32
}
