//! The shortest pitch at which rows of blanks, each forbidden to the others
//! along known intervals, fit beside each other.

use crate::across::Intervals;

/// A pitch with the shift of the second row that it needs.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Fit {
    pub(crate) pitch: f64,
    pub(crate) shift: f64,
}

/// Whether a pitch lies in none of a row's own forbidden intervals. If it is
/// clear, so is every multiple: a connected blank with a chord of length n p in
/// some direction has one of length p (universal chord theorem, Hopf 1937).
pub(crate) fn own_clear(own: &[(f64, f64)], pitch: f64) -> bool {
    let slack = 1e-12 * pitch;
    own.iter()
        .all(|(from, to)| pitch <= from + slack || pitch >= to - slack)
}

/// Whether the points `shift + k pitch` avoid all intervals.
pub(crate) fn clear(cross: &[(f64, f64)], shift: f64, pitch: f64) -> bool {
    let slack = 1e-12 * pitch.max(shift.abs());
    cross.iter().all(|(from, to)| {
        let first = shift + ((from + slack - shift) / pitch).ceil() * pitch;
        first >= to - slack
    })
}

/// The least pitch of one row alone: where the feed leaves its intervals.
pub(crate) fn alone(own: &[(f64, f64)]) -> f64 {
    own.iter()
        .find(|(from, to)| *from <= 0.0 && *to > 0.0)
        .map_or(0.0, |(_, to)| *to)
}

/// Pitches that one interval may span; a blank a thousand times as long as wide
/// is a wire.
pub(crate) const MOST_BETWEEN: f64 = 1000.0;

/// The least pitch, and a shift of the second row, at which `own` lets each row
/// follow itself and `cross` lets the rows stand beside each other. `least` is
/// a pitch known to be too short or just enough.
///
/// A pitch can only be the least if a row's own interval ends there, or if the
/// second row is squeezed: it touches the right end of one interval and, some
/// pitches before, the left end of the same or an earlier one.
pub(crate) fn least(own: &[(f64, f64)], cross: &Intervals, least: f64) -> Option<Fit> {
    let mut best: Option<Fit> = None;
    let mut consider = |pitch: f64, shift: f64| {
        let enough = pitch > 0.0 && pitch.is_finite() && pitch >= least * (1.0 - 1e-12);
        if enough
            && best.is_none_or(|best| pitch < best.pitch)
            && own_clear(own, pitch)
            && clear(cross, shift, pitch)
        {
            best = Some(Fit { pitch, shift });
        }
    };
    let ends = own.iter().map(|(_, to)| *to).chain([least]);
    for pitch in ends.filter(|end| *end > 0.0) {
        if cross.is_empty() {
            consider(pitch, 0.0);
        }
        for (_, to) in cross {
            consider(pitch, *to);
        }
    }
    for (i, (_, to)) in cross.iter().enumerate() {
        for (from, _) in &cross[..=i] {
            let between = to - from;
            let mut k = 1.0;
            while k < MOST_BETWEEN && between / k >= least {
                consider(between / k, *to);
                k += 1.0;
            }
        }
    }
    best
}

/// The same for three rows of one blank, each offset from the one below by the
/// same way across: `cross` between neighbours, `double` between first and
/// third. Gives the shifts of the second and third row.
pub(crate) fn three_rows(
    own: &[(f64, f64)],
    cross: &Intervals,
    double: &Intervals,
    least_pitch: f64,
) -> Option<(Fit, f64)> {
    let two = least(own, cross, least_pitch)?;
    let widest = |set: &Intervals| match (set.first(), set.last()) {
        (Some(first), Some(last)) => last.1 - first.0,
        _ => 0.0,
    };
    // Beside each other without any nesting all fits.
    let roomy = own
        .iter()
        .map(|(_, to)| *to)
        .fold(least_pitch, f64::max)
        .max(widest(cross))
        .max(widest(double));
    let mut pitches = vec![two.pitch];
    let squeezes = double
        .iter()
        .flat_map(|(_, to)| double.iter().map(move |(from, _)| to - from))
        .chain(own.iter().map(|(_, to)| *to))
        .chain([roomy]);
    pitches.extend(squeezes.filter(|pitch| *pitch > two.pitch && *pitch <= roomy));
    pitches.sort_unstable_by(f64::total_cmp);
    for pitch in pitches {
        if !own_clear(own, pitch) {
            continue;
        }
        let shifts = touching(cross, pitch);
        for second in &shifts {
            // Back again first, which puts the third row straight over the first.
            for step in shifts.iter().rev() {
                let third = second + step;
                if clear(double, third, pitch) {
                    let fit = Fit {
                        pitch,
                        shift: *second,
                    };
                    return Some((fit, third));
                }
            }
            for third in touching(double, pitch) {
                if clear(cross, third - second, pitch) {
                    let fit = Fit {
                        pitch,
                        shift: *second,
                    };
                    return Some((fit, third));
                }
            }
        }
    }
    None
}

/// A pitch that no three such rows go below, from intervals that are surely
/// forbidden.
///
/// Let the second row be kept from [-a, b] of the first, so the third from the
/// same of the second, and the third from [-c, d] of the first. Round the pitch
/// the rows follow each other either as first, second, third, which takes
/// max(2 b, d) + c, or as first, third, second, which takes 2 a + d at least.
pub(crate) fn three_rows_bound(
    own: &[(f64, f64)],
    cross: &Intervals,
    double: &Intervals,
    least_pitch: f64,
) -> Option<f64> {
    let two = least(own, cross, least_pitch)?.pitch;
    let longest = |set: &Intervals| {
        set.iter()
            .copied()
            .fold(None, |longest: Option<(f64, f64)>, next| match longest {
                Some(longest) if longest.1 - longest.0 >= next.1 - next.0 => Some(longest),
                _ => Some(next),
            })
    };
    let (Some(one), Some(far)) = (longest(cross), longest(double)) else {
        return Some(two);
    };
    let (a, b, c, d) = (-one.0, one.1, -far.0, far.1);
    let three = ((2.0 * b).max(d) + c).min(2.0 * a + d).max(d + c);
    Some(two.max(three))
}

/// Clear shifts that touch an interval's end.
pub(crate) fn touching(cross: &Intervals, pitch: f64) -> Vec<f64> {
    if cross.is_empty() {
        return vec![0.0, 0.5 * pitch];
    }
    cross
        .iter()
        .map(|(_, to)| *to)
        .chain(cross.iter().map(|(from, _)| *from))
        .filter(|shift| clear(cross, *shift, pitch))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_second_row_needs_the_longer_of_its_own_and_the_shared_interval() {
        let own = vec![(-4.0, 4.0)];
        let fit = least(&own, &vec![(-3.0, 5.0)], 4.0).unwrap();
        assert_eq!(fit.pitch, 8.0);
        assert_eq!(fit.shift, 5.0);
        assert_eq!(least(&own, &vec![(-1.0, 1.0)], 4.0).unwrap().pitch, 4.0);
        assert_eq!(least(&own, &Vec::new(), 4.0).unwrap().pitch, 4.0);
    }

    #[test]
    fn a_second_row_slips_into_a_pocket_if_the_pitch_lets_it() {
        let own = vec![(-4.0, 4.0)];
        // In the middle of the pocket the neighbours come 5 to each side.
        let fit = least(&own, &vec![(-5.0, -1.0), (1.0, 5.0)], 4.0).unwrap();
        assert_eq!(fit.pitch, 5.0);
        // With the pocket shifted the pitch must grow until 5.5 - 4.5 k falls clear.
        let fit = least(&own, &vec![(-5.0, 0.0), (0.5, 3.0)], 4.0).unwrap();
        assert!(clear(&[(-5.0, 0.0), (0.5, 3.0)], fit.shift, fit.pitch));
    }

    #[test]
    fn a_pitch_may_not_fall_into_a_later_interval_of_the_row_itself() {
        let own = vec![(-9.0, -7.0), (-4.0, 4.0), (7.0, 9.0)];
        let fit = least(&own, &vec![(-4.0, 4.0)], 4.0).unwrap();
        assert_eq!(fit.pitch, 9.0);
    }
}
