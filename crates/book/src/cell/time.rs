//! Times of day, days of the week, breaks.

use serde::Serialize;
use units::Minutes;

use super::{Cell, Misfit, items};
use crate::schema::{Column, Kind, Usual};

/// Minutes of a day.
const DAY: u32 = 24 * 60;

/// A time of day, to the minute.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Serialize)]
pub struct ClockTime {
    /// Minutes since midnight, 0 to 1,440 (`24:00`).
    pub minutes: u32,
}

impl std::fmt::Display for ClockTime {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{:02}:{:02}", self.minutes / 60, self.minutes % 60)
    }
}

impl ClockTime {
    fn parse(text: &str) -> Option<Self> {
        let mut parts = text.split(':');
        let hours = two_digits(parts.next()?)?;
        let minutes = two_digits(parts.next()?)?;
        let seconds = parts.next().map_or(Some(0), two_digits)?;
        let total = hours * 60 + minutes;
        let legal = minutes < 60 && seconds == 0 && total <= DAY && parts.next().is_none();
        legal.then_some(Self { minutes: total })
    }
}

fn two_digits(text: &str) -> Option<u32> {
    let legal = (1..=2).contains(&text.len()) && text.bytes().all(|byte| byte.is_ascii_digit());
    legal.then(|| text.parse().ok()).flatten()
}

impl Cell for ClockTime {
    const KIND: Kind = Kind::Clock;

    fn read(text: &str, _: &Column, _: bool) -> Result<Self, Misfit> {
        Self::parse(text).ok_or_else(|| {
            Misfit::new(
                "not-a-time",
                "a time of day from `00:00` to `24:00`",
                "write hours and minutes, such as `06:00`",
            )
        })
    }
}

/// Days of the week.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Weekdays {
    /// Monday first.
    pub works: [bool; 7],
}

const NAMES: [&str; 7] = ["mon", "tue", "wed", "thu", "fri", "sat", "sun"];

impl Weekdays {
    /// How many days.
    pub fn count(self) -> usize {
        self.iter().count()
    }

    /// The days, 0 for Monday to 6 for Sunday.
    pub fn iter(self) -> impl Iterator<Item = usize> {
        (0..7).filter(move |day| self.works[*day])
    }

    fn parse(text: &str) -> Option<Self> {
        let lower = text.to_lowercase();
        if lower == "all" {
            return Some(Self { works: [true; 7] });
        }
        let mut works = [false; 7];
        for item in items(&lower) {
            let (from, to) = item.split_once('-').unwrap_or((item, item));
            let (mut day, last) = (day_of(from)?, day_of(to)?);
            works[day] = true;
            // `sat-mon` runs over the week's end.
            while day != last {
                day = (day + 1) % 7;
                works[day] = true;
            }
        }
        works.contains(&true).then_some(Self { works })
    }
}

impl std::fmt::Display for Weekdays {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let names: Vec<_> = self.iter().map(|day| NAMES[day]).collect();
        f.write_str(&names.join(";"))
    }
}

fn day_of(text: &str) -> Option<usize> {
    NAMES.iter().position(|name| *name == text.trim())
}

impl Cell for Weekdays {
    const KIND: Kind = Kind::Weekdays;

    fn read(text: &str, _: &Column, _: bool) -> Result<Self, Misfit> {
        Self::parse(text).ok_or_else(|| {
            Misfit::new(
                "not-days",
                "days such as `mon-fri`, `mon;wed;sat` or `all`",
                "write mon, tue, wed, thu, fri, sat, sun, with `-` or `;` between",
            )
        })
    }
}

/// A stop of a shift by the clock.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
pub struct Break {
    /// When it begins.
    pub start: ClockTime,
    /// How long it lasts.
    pub minutes: Minutes,
}

impl Break {
    fn parse(text: &str) -> Option<Self> {
        let (start, length) = text.split_once('+')?;
        let start = ClockTime::parse(start.trim())?;
        let length = length.trim();
        let legal = (1..=4).contains(&length.len()) && length.bytes().all(|b| b.is_ascii_digit());
        let minutes: u32 = legal.then(|| length.parse().ok()).flatten()?;
        (minutes > 0).then(|| Self {
            start,
            minutes: Minutes(f64::from(minutes)),
        })
    }
}

impl Cell for Vec<Break> {
    const KIND: Kind = Kind::Breaks;
    const EMPTY: Usual = Usual::None;

    fn read(text: &str, _: &Column, _: bool) -> Result<Self, Misfit> {
        items(text)
            .map(Break::parse)
            .collect::<Option<Self>>()
            .ok_or_else(|| {
                Misfit::new(
                    "not-breaks",
                    "breaks such as `09:00+15;12:00+30`",
                    "write each break as its start, `+`, and its minutes",
                )
            })
    }
}
