//! The clock on the wall, and its times as text.

use std::time::{SystemTime, UNIX_EPOCH};

use units::civil;

/// Milliseconds since 1970; 0 before.
#[allow(
    clippy::disallowed_methods,
    reason = "a revision says when it was made"
)]
pub(crate) fn now_ms() -> i64 {
    let since = SystemTime::now().duration_since(UNIX_EPOCH);
    since.map_or(0, |time| i64::try_from(time.as_millis()).unwrap_or(0))
}

/// The time in UTC as RFC 3339 writes it, to the millisecond.
pub(crate) fn rfc3339(ms: i64) -> String {
    let (days, in_day) = (ms.div_euclid(86_400_000), ms.rem_euclid(86_400_000));
    let (year, month, day) = civil::date(days);
    let (hour, minute) = (in_day / 3_600_000, in_day / 60_000 % 60);
    let (second, milli) = (in_day / 1_000 % 60, in_day % 1_000);
    format!("{year:04}-{month:02}-{day:02}T{hour:02}:{minute:02}:{second:02}.{milli:03}Z")
}

#[cfg(test)]
mod tests {
    use super::rfc3339;

    /// The instants were worked out by hand from the calendar.
    #[test]
    fn instants_are_written_as_dates() {
        assert_eq!(rfc3339(0), "1970-01-01T00:00:00.000Z");
        assert_eq!(rfc3339(-1), "1969-12-31T23:59:59.999Z");
        // 30 years with the leap days of 1972 to 1996, and the one of 2000
        let leap = (30 * 365 + 7 + 31 + 28) * 86_400_000;
        assert_eq!(rfc3339(leap), "2000-02-29T00:00:00.000Z");
        assert_eq!(
            rfc3339(leap + 86_400_000 + 3_723_004),
            "2000-03-01T01:02:03.004Z"
        );
    }
}
