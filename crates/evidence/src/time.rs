//! Instants of a log: microseconds of universal time, read from what the rows
//! say and shown as the plant's clocks do.

/// Microseconds from 1970-01-01 00:00 universal time.
pub type Micros = i64;

/// One second.
pub const SECOND: Micros = 1_000_000;
/// One minute.
pub const MINUTE: Micros = 60 * SECOND;
/// One hour.
pub const HOUR: Micros = 60 * MINUTE;
/// A day of 24 hours.
pub const DAY: Micros = 24 * HOUR;
/// Seven of them.
pub const WEEK: Micros = 7 * DAY;

/// Microseconds as seconds.
pub fn seconds(t: Micros) -> f64 {
    t as f64 / 1e6
}

/// Seconds to the nearest microsecond.
pub fn micros(seconds: f64) -> Micros {
    (seconds * 1e6).round() as Micros
}

/// When the clocks are put forward and back.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Summer {
    /// Never.
    #[default]
    None,
    /// From the last Sunday of March to the last of October, at 01:00
    /// universal time (Directive 2000/84/EC).
    Eu,
    /// From the second Sunday of March to the first of November, at 02:00 on
    /// the clock (Energy Policy Act of 2005, section 110).
    Us,
}

/// The plant's clock against universal time.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Zone {
    /// Minutes ahead of universal time in winter.
    pub ahead_min: i32,
    /// Summer time.
    pub summer: Summer,
}

/// What a clock's reading means in universal time.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Meaning {
    /// One instant.
    Clear(Micros),
    /// In the hour that comes twice: the first of the two; the second is an
    /// hour later.
    Doubled(Micros),
    /// In the hour that is left out; no clock showed it.
    Missing,
}

impl Zone {
    /// Reads `+01:00`, `+01:00 eu`, `-05:00 us`, `Z`.
    pub fn parse(text: &str) -> Option<Self> {
        let mut words = text.split_whitespace();
        let ahead = words.next()?;
        let ahead_min = if ahead.eq_ignore_ascii_case("z") {
            0
        } else {
            offset(ahead.as_bytes())?
        };
        let summer = match words.next().map(str::to_ascii_lowercase).as_deref() {
            None => Summer::None,
            Some("eu") => Summer::Eu,
            Some("us") => Summer::Us,
            Some(_) => return None,
        };
        words.next().is_none().then_some(Self { ahead_min, summer })
    }

    /// Universal instants between which summer time holds in a year.
    fn summer_of(self, year: i64) -> Option<(Micros, Micros)> {
        let ahead = Micros::from(self.ahead_min) * MINUTE;
        match self.summer {
            Summer::None => None,
            Summer::Eu => Some((
                sunday_at_or_before(days(year, 3, 31)) * DAY + HOUR,
                sunday_at_or_before(days(year, 10, 31)) * DAY + HOUR,
            )),
            Summer::Us => Some((
                sunday_at_or_before(days(year, 3, 14)) * DAY + 2 * HOUR - ahead,
                sunday_at_or_before(days(year, 11, 7)) * DAY + HOUR - ahead,
            )),
        }
    }

    /// What the plant's clocks show at an instant, as microseconds of their
    /// own day count.
    pub fn local(self, at: Micros) -> Micros {
        let winter = at + Micros::from(self.ahead_min) * MINUTE;
        let (year, _, _) = date(winter.div_euclid(DAY));
        match self.summer_of(year) {
            Some((from, to)) if from <= at && at < to => winter + HOUR,
            _ => winter,
        }
    }

    /// The instant at which the plant's clocks show `local`.
    ///
    /// ```
    /// use evidence::time::{DAY, HOUR, MINUTE, Meaning, Zone};
    /// let zone = Zone::parse("+01:00 eu").expect("a zone");
    /// // 2026-10-25 02:30 comes twice in central Europe.
    /// let local = 20_751 * DAY + 2 * HOUR + 30 * MINUTE;
    /// assert_eq!(zone.meaning(local), Meaning::Doubled(local - 2 * HOUR));
    /// ```
    pub fn meaning(self, local: Micros) -> Meaning {
        let winter = local - Micros::from(self.ahead_min) * MINUTE;
        let (year, _, _) = date(local.div_euclid(DAY));
        let Some((from, to)) = self.summer_of(year) else {
            return Meaning::Clear(winter);
        };
        let summer = winter - HOUR;
        let in_summer = from <= summer && summer < to;
        let in_winter = winter < from || winter >= to;
        match (in_summer, in_winter) {
            (true, true) => Meaning::Doubled(summer),
            (true, false) => Meaning::Clear(summer),
            (false, true) => Meaning::Clear(winter),
            (false, false) => Meaning::Missing,
        }
    }

    /// The instant of a clock's reading; the first of two, and the end of a
    /// gap for one that never was.
    pub fn instant(self, local: Micros) -> Micros {
        match self.meaning(local) {
            Meaning::Clear(at) | Meaning::Doubled(at) => at,
            Meaning::Missing => local - Micros::from(self.ahead_min) * MINUTE,
        }
    }

    /// An instant as the plant's clocks show it: `2026-03-02 06:00:00`.
    pub fn show(self, at: Micros) -> String {
        let local = self.local(at);
        let (year, month, day) = date(local.div_euclid(DAY));
        let second = local.rem_euclid(DAY) / SECOND;
        format!(
            "{year:04}-{month:02}-{day:02} {:02}:{:02}:{:02}",
            second / 3_600,
            second / 60 % 60,
            second % 60
        )
    }
}

fn sunday_at_or_before(day: i64) -> i64 {
    // Day 0 was a Thursday.
    day - (day + 4).rem_euclid(7)
}

pub use units::civil::{date, days};

/// A date as `2026-03-02`.
pub fn show_day(day: i64) -> String {
    let (year, month, day) = date(day);
    format!("{year:04}-{month:02}-{day:02}")
}

/// Reads `2026-03-02` as its day.
pub fn parse_day(text: &str) -> Option<i64> {
    let bytes = text.trim().as_bytes();
    (bytes.len() == 10).then(|| day_of(bytes)).flatten()
}

fn day_of(date: &[u8]) -> Option<i64> {
    if date[4] != b'-' || date[7] != b'-' {
        return None;
    }
    let year = number(&date[..4])?;
    let (month, day) = (number(&date[5..7])?, number(&date[8..10])?);
    let long = [31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31];
    let leap = year % 4 == 0 && (year % 100 != 0 || year % 400 == 0);
    let most = *long.get(usize::try_from(month - 1).ok()?)? + i64::from(month == 2 && leap);
    ((1..=most).contains(&day)).then(|| days(year, month, day))
}

#[inline]
fn number(digits: &[u8]) -> Option<i64> {
    let mut value = 0;
    for byte in digits {
        let digit = byte.wrapping_sub(b'0');
        if digit > 9 {
            return None;
        }
        value = value * 10 + i64::from(digit);
    }
    Some(value)
}

/// `+01:00`, `+0100` or `+01` as minutes.
fn offset(text: &[u8]) -> Option<i32> {
    let sign = match text.first()? {
        b'+' => 1,
        b'-' => -1,
        _ => return None,
    };
    let (hours, minutes) = match &text[1..] {
        [h1, h2] => (number(&[*h1, *h2])?, 0),
        [h1, h2, b':', m1, m2] | [h1, h2, m1, m2] => (number(&[*h1, *h2])?, number(&[*m1, *m2])?),
        _ => return None,
    };
    let legal = hours <= 18 && minutes < 60;
    let minutes = i32::try_from(hours * 60 + minutes).ok()?;
    legal.then_some(sign * minutes)
}

/// Reads stamps one after the other; remembers the last date, which most rows
/// share.
#[derive(Clone, Debug)]
pub struct Stamps {
    zone: Zone,
    last: [u8; 10],
    day: i64,
    /// Universal minus clock on that day, where it is the same all day.
    shift: Option<Micros>,
}

impl Stamps {
    /// For a log whose stamps without an offset are clock time of the zone.
    pub fn new(zone: Zone) -> Self {
        Self {
            zone,
            last: [0; 10],
            day: 0,
            shift: None,
        }
    }

    fn turn_to(&mut self, day: i64) {
        self.day = day;
        let start = day * DAY;
        let (first, last) = (self.zone.meaning(start), self.zone.meaning(start + DAY - 1));
        self.shift = match (first, last) {
            (Meaning::Clear(a), Meaning::Clear(b)) if b - a == DAY - 1 => Some(a - start),
            _ => None,
        };
    }

    /// What a reading of the plant's clock means, as [`Zone::meaning`].
    #[cfg(feature = "parquet")]
    #[inline]
    pub(crate) fn clock(&mut self, local: Micros) -> Meaning {
        let day = local.div_euclid(DAY);
        if day != self.day {
            self.last = [0; 10];
            self.turn_to(day);
        }
        match self.shift {
            Some(shift) => Meaning::Clear(local + shift),
            None => self.zone.meaning(local),
        }
    }

    /// Reads an ISO 8601 stamp: `2026-03-02T06:00:00.250+01:00`; a space for
    /// the `T`, seconds, fraction and offset may be missing.
    #[inline]
    pub fn read(&mut self, text: &[u8]) -> Option<Meaning> {
        if text.len() < 16 || (text[10] != b'T' && text[10] != b' ') || text[13] != b':' {
            return None;
        }
        if text[..10] != self.last {
            let day = day_of(&text[..10])?;
            self.last.copy_from_slice(&text[..10]);
            self.turn_to(day);
        }
        let (hour, minute) = (number(&text[11..13])?, number(&text[14..16])?);
        let mut at = 16;
        let mut second = 0;
        let mut fraction = 0;
        if text.get(at) == Some(&b':') {
            second = number(text.get(17..19)?)?;
            at = 19;
            if matches!(text.get(at), Some(b'.' | b',')) {
                at += 1;
                let mut unit = 100_000;
                while let Some(digit) = text
                    .get(at)
                    .map(|b| b.wrapping_sub(b'0'))
                    .filter(|d| *d < 10)
                {
                    fraction += i64::from(digit) * unit;
                    unit /= 10;
                    at += 1;
                }
            }
        }
        if hour > 23 || minute > 59 || second > 60 {
            return None;
        }
        let clock = self.day * DAY + ((hour * 60 + minute) * 60 + second) * SECOND + fraction;
        match &text[at..] {
            [] => Some(match self.shift {
                Some(shift) => Meaning::Clear(clock + shift),
                None => self.zone.meaning(clock),
            }),
            [b'Z' | b'z'] => Some(Meaning::Clear(clock)),
            rest => Some(Meaning::Clear(clock - Micros::from(offset(rest)?) * MINUTE)),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn read(text: &str, zone: &str) -> Option<Meaning> {
        Stamps::new(Zone::parse(zone).unwrap()).read(text.as_bytes())
    }

    #[test]
    fn a_stamp_with_an_offset_means_the_same_everywhere() {
        let noon = Some(Meaning::Clear(days(2026, 3, 2) * DAY + 12 * HOUR));
        for text in [
            "2026-03-02T12:00:00Z",
            "2026-03-02 13:00:00.000+01:00",
            "2026-03-02T07:00-0500",
            "2026-03-02T12:00:00,000000z",
        ] {
            assert_eq!(read(text, "+01:00 eu"), noon, "{text}");
        }
        for wrong in [
            "",
            "2026-13-02T12:00:00Z",
            "2026-02-29T12:00",
            "2026-03-02T24:00",
            "02.03.2026 12:00:00",
        ] {
            assert_eq!(read(wrong, "Z"), None, "{wrong}");
        }
    }

    #[test]
    fn the_hour_in_spring_is_missing_and_the_one_in_autumn_comes_twice() {
        // EU 2026: 29 March and 25 October; US 2026: 8 March and 1 November
        // (the acts named at `Summer`).
        assert_eq!(
            read("2026-03-29T02:30:00", "+01:00 eu"),
            Some(Meaning::Missing)
        );
        assert!(matches!(
            read("2026-10-25T02:30:00", "+01:00 eu"),
            Some(Meaning::Doubled(_))
        ));
        assert_eq!(
            read("2026-03-08T02:30:00", "-05:00 us"),
            Some(Meaning::Missing)
        );
        assert!(matches!(
            read("2026-11-01T01:30:00", "-05:00 us"),
            Some(Meaning::Doubled(_))
        ));
        assert!(matches!(
            read("2026-10-25T02:30:00", "+01:00"),
            Some(Meaning::Clear(_))
        ));
    }

    proptest! {
        #[test]
        fn a_clock_read_back_shows_the_same(at in 0_i64..4_000_000_000, eu in any::<bool>()) {
            let zone = Zone { ahead_min: 60, summer: if eu { Summer::Eu } else { Summer::None } };
            let at = at * SECOND;
            let local = zone.local(at);
            match zone.meaning(local) {
                Meaning::Clear(back) => prop_assert_eq!(back, at),
                Meaning::Doubled(first) => prop_assert!(first == at || first + HOUR == at),
                Meaning::Missing => prop_assert!(false, "a shown hour exists"),
            }
        }

        #[test]
        fn dates_and_days_agree(day in -100_000_i64..100_000) {
            let (y, m, d) = date(day);
            prop_assert_eq!(days(y, m, d), day);
        }
    }
}
