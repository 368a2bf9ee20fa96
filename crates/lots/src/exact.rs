//! Comparing products of an f64 and an integer without rounding.
//!
//! Every f64 is a whole number times a power of two, so that whether a run of
//! whole ticks is long enough can be decided exactly.

/// Whether `a x m <= b x n`, exactly. Both f64 must be finite and 0 or more.
pub(crate) fn at_most(a: f64, m: u64, b: f64, n: u64) -> bool {
    let (left, left_power) = product(a, m);
    let (right, right_power) = product(b, n);
    if left == 0 || right == 0 {
        return left == 0;
    }
    // The position of the highest bit decides unless both agree in it; then
    // the shift to a common power fits, for both are below 2^117.
    let top = |value: u128, power: i32| 128 - value.leading_zeros() as i32 + power;
    let (left_top, right_top) = (top(left, left_power), top(right, right_power));
    if left_top != right_top {
        return left_top < right_top;
    }
    let left = left << left.leading_zeros();
    let right = right << right.leading_zeros();
    left <= right
}

/// The product as a whole number times 2 to a power.
fn product(a: f64, m: u64) -> (u128, i32) {
    let bits = a.to_bits();
    let exponent = ((bits >> 52) & 0x7ff) as i32;
    let fraction = bits & ((1 << 52) - 1);
    let (mantissa, power) = if exponent == 0 {
        (fraction, -1074)
    } else {
        (fraction | (1 << 52), exponent - 1075)
    };
    (u128::from(mantissa) * u128::from(m), power)
}

#[cfg(test)]
mod tests {
    use super::at_most;

    #[test]
    fn a_unit_in_the_last_place_is_seen() {
        // 0.1 is 3602879701896397 / 2^55 and 0.3 is 5404319552844595 / 2^54.
        let by_hand = 3_602_879_701_896_397_u128 * 3 <= 2 * 5_404_319_552_844_595_u128;
        assert_eq!(at_most(0.1, 3, 0.3, 1), by_hand);
        assert!(at_most(400.0, 3, 1200.0, 1));
        assert!(!at_most(400.0_f64.next_up(), 3, 1200.0, 1));
        assert!(at_most(400.0, 3, 1200.0_f64.next_up(), 1));
        assert!(at_most(0.0, 9, 0.0, 1));
        assert!(!at_most(1e-300, 1, 0.0, 1));
        assert!(at_most(1e-300, u64::MAX, 1e300, 1));
    }
}
