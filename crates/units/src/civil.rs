//! Days of the Gregorian calendar as numbers, and back.
//!
//! H. Hinnant, "chrono-Compatible Low-Level Date Algorithms" (2013),
//! `days_from_civil` and `civil_from_days`: years begin in March, so that the leap
//! day ends one, and 400 years make 146,097 days. The calendar is carried on
//! before its own first day (proleptic), and year 0 is the year before year 1.

/// Days of 400 years.
const CYCLE: i64 = 146_097;
/// From the first of March of year 0 to 1970-01-01.
const TO_1970: i64 = 719_468;

/// Days from 1970-01-01 to a date.
///
/// ```
/// assert_eq!(units::civil::days(2000, 3, 1), 11_017);
/// assert_eq!(units::civil::days(1969, 12, 31), -1);
/// ```
#[inline]
pub const fn days(year: i64, month: i64, day: i64) -> i64 {
    let (year, march_month) = if month <= 2 {
        (year - 1, month + 9)
    } else {
        (year, month - 3)
    };
    let (cycle, of_cycle) = (year.div_euclid(400), year.rem_euclid(400));
    let day_of_year = (153 * march_month + 2) / 5 + day - 1;
    cycle * CYCLE + of_cycle * 365 + of_cycle / 4 - of_cycle / 100 + day_of_year - TO_1970
}

/// Year, month and day of the month so many days after 1970-01-01.
///
/// ```
/// assert_eq!(units::civil::date(11_016), (2000, 2, 29));
/// ```
#[inline]
pub const fn date(days: i64) -> (i64, i64, i64) {
    let shifted = days + TO_1970;
    let (cycle, day) = (shifted.div_euclid(CYCLE), shifted.rem_euclid(CYCLE));
    let of_cycle = (day - day / 1_460 + day / 36_524 - day / 146_096) / 365;
    let day_of_year = day - (365 * of_cycle + of_cycle / 4 - of_cycle / 100);
    let march_month = (5 * day_of_year + 2) / 153;
    let day = day_of_year - (153 * march_month + 2) / 5 + 1;
    if march_month < 10 {
        (of_cycle + cycle * 400, march_month + 3, day)
    } else {
        (of_cycle + cycle * 400 + 1, march_month - 9, day)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The rule of the calendar itself: a leap year in four, none in a hundred, one
    /// in four hundred.
    fn month_days(year: i64, month: i64) -> i64 {
        match month {
            4 | 6 | 9 | 11 => 30,
            2 if year % 4 == 0 && (year % 100 != 0 || year % 400 == 0) => 29,
            2 => 28,
            _ => 31,
        }
    }

    #[test]
    fn every_day_of_four_hundred_years_has_its_number_and_its_date() {
        let first = days(1_800, 1, 1);
        let mut number = first;
        for year in 1_800..2_200 {
            for month in 1..=12 {
                for day in 1..=month_days(year, month) {
                    assert_eq!(days(year, month, day), number, "{year}-{month}-{day}");
                    assert_eq!(date(number), (year, month, day), "day {number}");
                    number += 1;
                }
            }
        }
        assert_eq!(number - first, CYCLE);
        assert_eq!(days(1_970, 1, 1), 0);
    }

    #[test]
    fn the_calendar_goes_on_before_its_first_year() {
        for cycle in -6..6 {
            for day in [0, 58, 59, 60, 365, 36_524, CYCLE - 1] {
                let number = cycle * CYCLE + day;
                let (year, month, of_month) = date(number);
                assert_eq!(days(year, month, of_month), number);
                let (base, ..) = date(day);
                assert_eq!(year, base + 400 * cycle);
            }
        }
    }
}
