//! Timetables as iCalendar text (RFC 5545), in the plant's own local time.

use std::fmt::Write as _;

use units::civil;
use whole::press::Press;

/// A date of the Gregorian calendar, counted in days since 1970.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Date(i64);

impl Date {
    /// Reads `2026-01-05`.
    ///
    /// ```
    /// use desk::report::Date;
    /// let monday = Date::read("2026-01-05").ok_or("a date")?;
    /// assert!(monday.is_monday());
    /// assert_eq!(monday.to_string(), "2026-01-05");
    /// assert!(Date::read("2026-02-30").is_none());
    /// # Ok::<(), &str>(())
    /// ```
    pub fn read(text: &str) -> Option<Self> {
        let mut parts = text.split('-');
        let mut number = |digits: usize| -> Option<i64> {
            let part = parts.next()?;
            let plain = part.len() == digits && part.bytes().all(|b| b.is_ascii_digit());
            part.parse().ok().filter(|_| plain)
        };
        let (year, month, day) = (number(4)?, number(2)?, number(2)?);
        if parts.next().is_some() || !(1..=12).contains(&month) {
            return None;
        }
        let date = Self::of(year, month, day);
        (date.parts() == (year, month, day)).then_some(date)
    }

    /// The first Monday after an instant in milliseconds since 1970.
    pub fn monday_after(ms: i64) -> Self {
        let today = ms.div_euclid(86_400_000);
        // 1970-01-01 was a Thursday: day 4 was a Monday.
        Self(today + 7 - (today - 4).rem_euclid(7))
    }

    /// Whether it is a Monday.
    pub const fn is_monday(self) -> bool {
        (self.0 - 4).rem_euclid(7) == 0
    }

    const fn of(year: i64, month: i64, day: i64) -> Self {
        Self(civil::days(year, month, day))
    }

    const fn parts(self) -> (i64, i64, i64) {
        civil::date(self.0)
    }

    /// The date and time so many seconds after its midnight, in basic form.
    fn at(self, seconds: i64) -> String {
        let (year, month, day) = Self(self.0 + seconds.div_euclid(86_400)).parts();
        let second = seconds.rem_euclid(86_400);
        let (hour, minute) = (second / 3_600, second / 60 % 60);
        format!(
            "{year:04}{month:02}{day:02}T{hour:02}{minute:02}{:02}",
            second % 60
        )
    }
}

impl std::fmt::Display for Date {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let (year, month, day) = self.parts();
        write!(f, "{year:04}-{month:02}-{day:02}")
    }
}

/// The die timetable of the week that begins on `monday`: an event for each
/// lot, from its changeover to the end of its run. Times are local times of no
/// zone, as the shifts of the book are.
pub fn ics(press: &Press, monday: Date) -> String {
    let mut text = String::new();
    for line in ["BEGIN:VCALENDAR", "VERSION:2.0"] {
        push(&mut text, line);
    }
    push(&mut text, "PRODID:-//Linewright//die timetable//EN");
    push(
        &mut text,
        &format!("X-WR-CALNAME:{}", escaped(&press.plant)),
    );
    for line in &press.lines {
        for (n, lot) in line.week.iter().enumerate() {
            let seconds = |hours: f64| (hours * 3_600.0).round() as i64;
            let what = if lot.blanks { "blanks" } else { "panels" };
            push(&mut text, "BEGIN:VEVENT");
            let key = format!("{}-{}-{n}@{}", slug(&line.line), monday, slug(&press.plant));
            push(&mut text, &format!("UID:{key}"));
            push(&mut text, &format!("DTSTAMP:{}Z", monday.at(0)));
            push(
                &mut text,
                &format!("DTSTART:{}", monday.at(seconds(lot.start_h))),
            );
            push(
                &mut text,
                &format!("DTEND:{}", monday.at(seconds(lot.end_h))),
            );
            let pieces = lot.lot.round();
            let summary = format!("{}: {pieces} {what} of {}", line.line, lot.part);
            push(&mut text, &format!("SUMMARY:{}", escaped(&summary)));
            let minutes = line.changeover_min.value;
            let about = format!("changeover and first-off approval {minutes:.0} min, then the run");
            push(&mut text, &format!("DESCRIPTION:{}", escaped(&about)));
            push(&mut text, &format!("CATEGORIES:{}", escaped(&line.line)));
            push(&mut text, "END:VEVENT");
        }
    }
    push(&mut text, "END:VCALENDAR");
    text
}

/// Longest line in octets, its end not counted (RFC 5545, 3.1).
const LONGEST: usize = 75;

/// Adds a line, folded where it is too long.
fn push(text: &mut String, line: &str) {
    let mut width = 0;
    for letter in line.chars() {
        if width + letter.len_utf8() > LONGEST {
            text.push_str("\r\n ");
            width = 1;
        }
        text.push(letter);
        width += letter.len_utf8();
    }
    text.push_str("\r\n");
}

/// Text as a value takes it (RFC 5545, 3.3.11).
fn escaped(text: &str) -> String {
    let mut safe = String::with_capacity(text.len());
    for letter in text.chars() {
        match letter {
            '\\' | ';' | ',' => safe.extend(['\\', letter]),
            '\n' => safe.push_str("\\n"),
            other if other.is_control() => {}
            other => safe.push(other),
        }
    }
    safe
}

/// A name as part of an identifier: what is no plain letter or digit goes in
/// by its number, so that two names never become one.
fn slug(text: &str) -> String {
    let mut plain = String::new();
    for letter in text.chars() {
        match letter {
            'a'..='z' | 'A'..='Z' | '0'..='9' => plain.push(letter),
            ' ' => plain.push('.'),
            // Writing to a `String` cannot fail.
            other => {
                let _ = write!(plain, "_{:x}", u32::from(other));
            }
        }
    }
    plain
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_calendar_counts_leap_days() {
        let next = |text: &str| Date(Date::read(text).unwrap().0 + 1).to_string();
        assert_eq!(next("2024-02-28"), "2024-02-29");
        assert_eq!(next("2100-02-28"), "2100-03-01");
        assert_eq!(Date::read("1970-01-01").unwrap(), Date(0));
        assert!(Date::read("2026-13-01").is_none() && Date::read("26-1-1").is_none());
    }

    #[test]
    fn the_week_begins_on_the_coming_monday() {
        // 1970-01-01 was a Thursday.
        assert_eq!(Date::monday_after(0).to_string(), "1970-01-05");
        let monday = 4 * 86_400_000;
        assert_eq!(Date::monday_after(monday).to_string(), "1970-01-12");
        assert!(Date::monday_after(monday).is_monday());
    }

    #[test]
    fn hours_past_midnight_fall_on_the_next_day() {
        let monday = Date::read("2026-01-05").unwrap();
        assert_eq!(monday.at(30 * 3_600 + 61), "20260106T060101");
    }

    #[test]
    fn long_lines_are_folded_between_letters() {
        let mut text = String::new();
        push(&mut text, &"ü".repeat(100));
        for line in text.trim_end().split("\r\n") {
            assert!(line.len() <= LONGEST, "{line}");
        }
        assert_eq!(text.replace("\r\n ", "").trim_end(), "ü".repeat(100));
    }

    #[test]
    fn commas_and_semicolons_are_escaped() {
        assert_eq!(escaped("a, b; c\\d\ne"), "a\\, b\\; c\\\\d\\ne");
        assert_ne!(slug("line 1"), slug("line-1"));
    }
}
