//! Ranges of angles, half a turn round: a blank turned half round has its
//! grain as before.

use std::f64::consts::PI;

use crate::layout::Window;

/// Ranges in radians, each no longer than half a turn.
pub(crate) type Ranges = Vec<(f64, f64)>;

/// Any angle.
pub(crate) fn any() -> Ranges {
    vec![(0.0, PI)]
}

/// The windows as ranges; any angle where none is given.
pub(crate) fn of(windows: &[Window]) -> Ranges {
    if windows.is_empty() || windows.iter().any(|w| w.to_deg - w.from_deg >= 180.0) {
        return any();
    }
    windows
        .iter()
        .map(|window| (window.from_deg.to_radians(), window.to_deg.to_radians()))
        .collect()
}

/// The ranges of a blank that is turned over: what was a turn to the left is
/// one to the right.
pub(crate) fn mirrored(ranges: &Ranges) -> Ranges {
    if is_any(ranges) {
        return any();
    }
    ranges.iter().map(|(from, to)| (-to, -from)).collect()
}

/// The ranges shifted by an angle.
pub(crate) fn shifted(ranges: &Ranges, by: f64) -> Ranges {
    if is_any(ranges) {
        return any();
    }
    ranges
        .iter()
        .map(|(from, to)| (from + by, to + by))
        .collect()
}

/// Angles in both.
pub(crate) fn shared(one: &Ranges, two: &Ranges) -> Ranges {
    if is_any(one) {
        return two.clone();
    }
    if is_any(two) {
        return one.clone();
    }
    let mut ranges = Vec::new();
    for (from, to) in one {
        for (low, high) in two {
            let first = ((from - high) / PI).ceil();
            for k in [first, first + 1.0] {
                let (low, high) = (low + k * PI, high + k * PI);
                let (low, high) = (from.max(low), to.min(high));
                // A window of one angle meets itself, rounding or not.
                if low <= high + 1e-12 {
                    ranges.push((low.min(high), high));
                }
            }
        }
    }
    ranges
}

pub(crate) fn is_any(ranges: &Ranges) -> bool {
    ranges.iter().any(|(from, to)| to - from >= PI)
}

/// The angles that are equal to these up to half turns and lie in the ranges,
/// and the ends of the ranges.
pub(crate) fn within(angles: impl Iterator<Item = f64>, ranges: &Ranges) -> Vec<f64> {
    let mut inside = Vec::new();
    for angle in angles {
        for (from, to) in ranges {
            let mut turned = angle + ((from - angle) / PI - 1e-9).ceil() * PI;
            while turned <= to + 1e-9 {
                inside.push(turned.clamp(*from, *to));
                turned += PI;
            }
        }
    }
    inside.extend(ranges.iter().flat_map(|(from, to)| [*from, *to]));
    inside.sort_unstable_by(f64::total_cmp);
    inside.dedup();
    inside
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_window_over_zero_meets_one_below_half_a_turn() {
        let one = vec![(-0.2, 0.2)];
        let two = vec![(PI - 0.1, PI + 0.5)];
        let both = shared(&one, &two);
        assert_eq!(both.len(), 1);
        assert!((both[0].0 + 0.1).abs() < 1e-12 && (both[0].1 - 0.2).abs() < 1e-12);
        assert!(shared(&one, &vec![(1.0, 1.5)]).is_empty());
    }

    #[test]
    fn an_angle_is_found_in_a_window_half_a_turn_away() {
        let found = within([PI + 0.1].into_iter(), &vec![(-0.2, 0.2)]);
        assert_eq!(found.len(), 3);
        assert!((found[1] - 0.1).abs() < 1e-12);
    }
}
