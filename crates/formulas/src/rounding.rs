//! Whole numbers and shown digits.

/// How far above a whole number still counts as that number: 1250 workers
/// that come out as 1250.0000000002 are 1250.
const SLACK: f64 = 1e-9;

/// Whether a load is more than there is to carry it: work over time, needed over
/// present, taken over rated.
///
/// A load of 1 is carried, and so is one that only the last bits of a division
/// lift above it. Every place that calls something overloaded asks here, so that a
/// list, a note and a red row of one plant never disagree; it forgives as much as
/// [`whole_up`], so that what is not over never needs one more.
///
/// ```
/// use formulas::over;
///
/// assert!(!over(0.1 + 0.2 + 0.7));
/// assert!(over(1.000_001));
/// ```
pub fn over(load: f64) -> bool {
    load > 1.0 + SLACK
}

/// The next whole number up, forgiving the last bits of a division.
///
/// ```
/// assert_eq!(formulas::whole_up(1_250.000_000_000_2), 1_250.0);
/// assert_eq!(formulas::whole_up(3.73), 4.0);
/// ```
pub fn whole_up(exact: f64) -> f64 {
    (exact - SLACK * exact.abs().max(1.0)).ceil()
}

/// The next whole number down, forgiving the last bits of a division.
pub(crate) fn whole_down(exact: f64) -> f64 {
    (exact + SLACK * exact.abs().max(1.0)).floor()
}

/// Six significant digits, never fewer than the whole number has.
pub(crate) fn show(number: f64) -> String {
    if number == 0.0 || !number.is_finite() {
        return format!("{}", number + 0.0);
    }
    let magnitude = libm::floor(libm::log10(number.abs()));
    if !(-5.0..15.0).contains(&magnitude) {
        return format!("{number:e}");
    }
    let digits = (5.0 - magnitude).max(0.0) as usize;
    let text = format!("{number:.digits$}");
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_show_what_a_reader_can_use() {
        assert_eq!(show(264.0), "264");
        assert_eq!(show(15.151_515_15), "15.1515");
        assert_eq!(show(1_234_567.8), "1234568");
        assert_eq!(show(0.000_012), "0.000012");
        assert_eq!(show(-0.0), "0");
        assert_eq!(show(1e300), "1e300");
    }

    #[test]
    fn what_is_not_overloaded_needs_no_further_unit() {
        for units in 1..=40 {
            let units = f64::from(units);
            for beyond in [-1e-6, 0.0, 1e-13, 0.9e-9, 1.1e-9, 1e-6] {
                let work = units * (1.0 + beyond);
                assert_eq!(
                    over(work / units),
                    whole_up(work) > units,
                    "{units} {beyond}"
                );
            }
        }
    }

    #[test]
    fn a_whole_number_survives_the_last_bits_of_a_division() {
        assert_eq!(whole_up(1_250.000_000_000_2), 1_250.0);
        assert_eq!(whole_up(3.73), 4.0);
        assert_eq!(whole_down(48.999_999_999_99), 49.0);
        assert_eq!(whole_down(18.43), 18.0);
    }
}
