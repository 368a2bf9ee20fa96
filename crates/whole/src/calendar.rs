//! When each shop works: the book's shifts as spells of one week.
//!
//! A week begins on Monday at 00:00 and repeats. A shift that ends at or before
//! its start runs past midnight, on Sunday past the end of the week into its
//! beginning. Shifts that overlap count once.

use std::collections::BTreeSet;

use book::{AtClose, Book, Problem, Severity, Shift};
use serde::Serialize;
use units::{Hours, Minutes, Seconds};

/// Seconds of a week.
pub const WEEK: Seconds = Seconds(604_800.0);
const DAY_MIN: f64 = 1_440.0;
const WEEK_MIN: f64 = 7.0 * DAY_MIN;

/// One shop's week.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Weekly {
    /// Spells of work from Monday 00:00, sorted, apart, inside the week. A
    /// spell over the end of the week is cut in two.
    pub open: Vec<(Seconds, Seconds)>,
    /// What happens to work in hand when a spell ends.
    pub at_close: AtClose,
    /// Days on which at least one shift begins.
    pub workdays: u32,
    /// Shifts begun in a week.
    pub shifts: u32,
    /// Crews that share the week: shifts of different name.
    pub crews: u32,
    /// Planned stops and breaks taken out of the week.
    pub stopped: Seconds,
    /// Time in which two shifts overlap, counted once in `open`.
    pub overlap: Seconds,
}

impl Weekly {
    /// Working time of the week after breaks and planned stops.
    pub fn net(&self) -> Seconds {
        self.open.iter().map(|&(from, to)| to - from).sum()
    }

    /// Hours of the week in which the shop is shut or pauses: the most that
    /// overtime could take.
    pub fn idle(&self) -> Hours {
        (WEEK - self.net()).hours()
    }
}

/// The week of a shop; none when the book gives it no shift, which means that
/// it always works.
///
/// ```
/// # use book::raw::{RawRow, RawTable, Workbook};
/// # let row = |line, cells: [&str; 6]| RawRow { line, cells: cells.map(str::to_owned).to_vec() };
/// # let workbook = Workbook { tables: vec![RawTable {
/// #     name: "shifts".into(),
/// #     columns: ["shop", "shift", "days", "start", "end", "planned_stops_min"].map(str::to_owned).to_vec(),
/// #     rows: vec![row(2, ["body", "early", "mon-fri", "06:00", "14:00", "40"])],
/// #     ..RawTable::default()
/// # }], ..Workbook::default() };
/// let book = book::check(&workbook).book;
/// let week = whole::calendar::weekly_spells(&book, "body").expect("body has a shift");
/// assert_eq!(week.net().hours().0, 5.0 * (8.0 - 40.0 / 60.0));
/// assert!(whole::calendar::weekly_spells(&book, "paint").is_none());
/// ```
pub fn weekly_spells(book: &Book, shop: &str) -> Option<Weekly> {
    let rows: Vec<&Shift> = book.shifts.iter().filter(|row| row.shop == shop).collect();
    let first = rows.first()?;
    let turns: Vec<Turn> = rows.iter().map(|row| Turn::of(row)).collect();
    let names: BTreeSet<&str> = rows.iter().map(|row| row.shift.as_str()).collect();
    let whole: Vec<Spell> = turns.iter().flat_map(Turn::presence).collect();
    let net: Vec<Spell> = turns.iter().flat_map(Turn::work).collect();
    let begun: f64 = net.iter().map(|(from, to)| to - from).sum();
    let present: f64 = whole.iter().map(|(from, to)| to - from).sum();
    let open = merged(net);
    let worked: f64 = open.iter().map(|(from, to)| to - from).sum();
    let seconds = |minutes: f64| Minutes(minutes).seconds();
    Some(Weekly {
        open: open
            .iter()
            .map(|&(from, to)| (seconds(from), seconds(to)))
            .collect(),
        at_close: first.at_close,
        workdays: (0..7)
            .filter(|&d| turns.iter().any(|turn| turn.days[d]))
            .count() as u32,
        shifts: turns
            .iter()
            .map(|turn| turn.days.iter().filter(|on| **on).count() as u32)
            .sum(),
        crews: names.len() as u32,
        stopped: seconds(present - begun),
        overlap: seconds(begun - worked),
    })
}

/// A shift's length from start to end.
pub fn length(row: &Shift) -> Minutes {
    Minutes(Turn::of(row).length)
}

/// What cannot be right in the shifts: stops that leave no time to work, breaks
/// outside their shift, shifts of one shop that treat work in hand differently.
pub fn problems(book: &Book) -> Vec<Problem> {
    let mut problems = Vec::new();
    for row in &book.shifts {
        let turn = Turn::of(row);
        if turn.work().is_empty() {
            problems.push(no_time_left(row, &turn));
        }
        let outside = |stop: &Spell| stop.0 + stop.1 > turn.length;
        if !row.breaks.is_empty() && turn.stops.iter().any(outside) {
            problems.push(break_outside(row));
        }
        let first = book.shifts.iter().find(|other| other.shop == row.shop);
        if let Some(first) = first.filter(|first| first.at_close != row.at_close) {
            problems.push(closes_otherwise(row, first));
        }
    }
    problems
}

fn problem(row: &Shift, what: &str, column: &str) -> Problem {
    Problem {
        code: format!("shifts/{what}"),
        severity: Severity::Error,
        table: row.at.table.name().to_owned(),
        row: Some(row.at.row),
        column: Some(column.to_owned()),
        found: String::new(),
        expected: String::new(),
        mend: String::new(),
        nearest: None,
    }
}

fn no_time_left(row: &Shift, turn: &Turn) -> Problem {
    Problem {
        found: format!(
            "{} of stops in a shift of {} min",
            row.planned_stops_min, turn.length
        ),
        expected: "stops shorter than the shift".to_owned(),
        mend: format!(
            "take the stops of `{}` below {} min",
            row.shift, turn.length
        ),
        ..problem(row, "no-time-left", "planned_stops_min")
    }
}

fn break_outside(row: &Shift) -> Problem {
    Problem {
        found: format!(
            "a break that is not over when `{}` ends at {}",
            row.shift, row.end
        ),
        expected: format!("breaks between {} and {}", row.start, row.end),
        mend: "move the break into the shift or take it out".to_owned(),
        ..problem(row, "break-outside", "breaks")
    }
}

fn closes_otherwise(row: &Shift, first: &Shift) -> Problem {
    Problem {
        found: row.at_close.word().to_owned(),
        expected: format!("`{}` as in row {}", first.at_close.word(), first.at.row),
        mend: format!("treat work in hand alike in all shifts of `{}`", row.shop),
        ..problem(row, "closes-otherwise", "at_close")
    }
}

/// The shops in the order from coil to car: as `shifts` names them first, then
/// shops that only stations or press lines name.
pub fn shops(book: &Book) -> Vec<String> {
    let mut seen = BTreeSet::new();
    let named = book
        .shifts
        .iter()
        .map(|row| &row.shop)
        .chain(book.stations.iter().map(|row| &row.shop))
        .chain(book.press_lines.iter().map(|row| &row.shop));
    named
        .filter(|shop| seen.insert(shop.as_str()))
        .cloned()
        .collect()
}

/// From, to, in minutes of the week; may begin before it or end after it.
type Spell = (f64, f64);

/// A row of shifts in minutes.
#[derive(Clone, Debug)]
struct Turn {
    days: [bool; 7],
    /// Minutes from midnight.
    start: f64,
    length: f64,
    /// Stops within the shift: minutes after its start, length; in order.
    stops: Vec<Spell>,
}

impl Turn {
    fn of(row: &Shift) -> Self {
        let start = f64::from(row.start.minutes);
        let end = f64::from(row.end.minutes);
        let length = if end > start {
            end - start
        } else {
            end + DAY_MIN - start
        };
        let planned = row.planned_stops_min.0;
        let mut stops: Vec<Spell> = row
            .breaks
            .iter()
            .map(|stop| {
                // A break before the start by the clock is after midnight.
                let after = f64::from(stop.start.minutes) - start;
                (
                    if after < 0.0 { after + DAY_MIN } else { after },
                    stop.minutes.0,
                )
            })
            .collect();
        if stops.is_empty() && planned > 0.0 {
            stops.push(((length - planned) / 2.0, planned));
        }
        stops.sort_by(|a, b| a.0.total_cmp(&b.0));
        Self {
            days: row.days.works,
            start,
            length,
            stops,
        }
    }

    /// Times on each day when the people are there.
    fn presence(&self) -> Vec<Spell> {
        self.on_each_day(&[(0.0, self.length)])
    }

    /// Times on each day when they work.
    fn work(&self) -> Vec<Spell> {
        let mut spells = Vec::new();
        let mut from = 0.0_f64;
        for &(stop, length) in &self.stops {
            let stop = stop.clamp(0.0, self.length);
            if stop > from {
                spells.push((from, stop));
            }
            from = from.max(stop + length);
        }
        if from < self.length {
            spells.push((from, self.length));
        }
        self.on_each_day(&spells)
    }

    fn on_each_day(&self, spells: &[Spell]) -> Vec<Spell> {
        let days = (0..7).filter(|&day| self.days[day]);
        days.flat_map(|day| {
            let midnight = day as f64 * DAY_MIN + self.start;
            spells
                .iter()
                .map(move |&(from, to)| (midnight + from, midnight + to))
        })
        .collect()
    }
}

/// Wraps spells into the week, sorts them, and joins what touches.
fn merged(spells: Vec<Spell>) -> Vec<Spell> {
    let mut inside = Vec::with_capacity(spells.len() + 1);
    for (from, to) in spells {
        if to <= WEEK_MIN {
            inside.push((from, to));
        } else if from >= WEEK_MIN {
            inside.push((from - WEEK_MIN, to - WEEK_MIN));
        } else {
            inside.push((from, WEEK_MIN));
            inside.push((0.0, to - WEEK_MIN));
        }
    }
    inside.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut joined: Vec<Spell> = Vec::with_capacity(inside.len());
    for (from, to) in inside {
        match joined.last_mut() {
            Some(last) if from <= last.1 => last.1 = last.1.max(to),
            _ => joined.push((from, to)),
        }
    }
    joined
}

#[cfg(test)]
mod tests {
    use super::*;
    use book::{Break, ClockTime, Weekdays};
    use proptest::prelude::*;

    const MON_FRI: [bool; 7] = [true, true, true, true, true, false, false];

    fn shift(name: &str, days: [bool; 7], start: u32, end: u32) -> Shift {
        Shift {
            shop: "body".into(),
            shift: name.into(),
            days: Weekdays { works: days },
            start: ClockTime { minutes: start },
            end: ClockTime { minutes: end },
            ..Shift::default()
        }
    }

    fn week(shifts: Vec<Shift>) -> Weekly {
        let book = Book {
            shifts,
            ..Book::default()
        };
        weekly_spells(&book, "body").unwrap()
    }

    fn hour(h: f64) -> Seconds {
        Seconds(h * 3_600.0)
    }

    #[test]
    fn two_shifts_of_eight_hours_with_forty_minutes_of_breaks_work_880_minutes_a_day() {
        let late = Shift {
            planned_stops_min: Minutes(40.0),
            ..shift("late", MON_FRI, 840, 1_320)
        };
        let early = Shift {
            planned_stops_min: Minutes(40.0),
            ..shift("early", MON_FRI, 360, 840)
        };
        let week = week(vec![early, late]);
        assert_eq!(week.net().minutes(), Minutes(5.0 * 880.0));
        assert_eq!((week.workdays, week.shifts, week.crews), (5, 10, 2));
        // The stop lies in the middle of the shift, and the change of shift is no gap.
        assert_eq!(week.open[0], (hour(6.0), Seconds(580.0 * 60.0)));
        assert_eq!(
            week.open[1],
            (Seconds(620.0 * 60.0), Seconds(1_060.0 * 60.0))
        );
    }

    #[test]
    fn a_sunday_night_shift_runs_into_monday() {
        let sunday = [false, false, false, false, false, false, true];
        let week = week(vec![shift("night", sunday, 22 * 60, 6 * 60)]);
        assert_eq!(
            week.open,
            [(hour(0.0), hour(6.0)), (hour(166.0), hour(168.0))]
        );
        assert_eq!((week.workdays, week.shifts), (1, 1));
    }

    #[test]
    fn a_break_after_midnight_belongs_to_the_night_shift() {
        let night = Shift {
            breaks: vec![Break {
                start: ClockTime { minutes: 120 },
                minutes: Minutes(30.0),
            }],
            ..shift(
                "night",
                [true, false, false, false, false, false, false],
                22 * 60,
                6 * 60,
            )
        };
        let week = week(vec![night]);
        assert_eq!(
            week.open,
            [(hour(22.0), hour(26.0)), (hour(26.5), hour(30.0))]
        );
        assert_eq!(week.stopped, Seconds(1_800.0));
    }

    #[test]
    fn hours_in_which_two_shifts_overlap_count_once() {
        let week = week(vec![
            shift("early", MON_FRI, 360, 860),
            shift("late", MON_FRI, 840, 1_320),
        ]);
        assert_eq!(week.net(), hour(5.0 * 16.0));
        assert_eq!(week.overlap, Seconds(5.0 * 20.0 * 60.0));
    }

    #[test]
    fn a_shop_with_no_shift_has_no_calendar() {
        assert!(weekly_spells(&Book::default(), "body").is_none());
    }

    #[test]
    fn stops_longer_than_the_shift_are_named_with_their_row() {
        let row = Shift {
            planned_stops_min: Minutes(500.0),
            ..shift("early", MON_FRI, 360, 840)
        };
        let outside = Shift {
            breaks: vec![Break {
                start: ClockTime { minutes: 850 },
                minutes: Minutes(15.0),
            }],
            at_close: AtClose::Finish,
            ..shift("other", MON_FRI, 360, 840)
        };
        let book = Book {
            shifts: vec![row, outside],
            ..Book::default()
        };
        let codes: Vec<String> = problems(&book).into_iter().map(|p| p.code).collect();
        assert_eq!(
            codes,
            [
                "shifts/no-time-left",
                "shifts/break-outside",
                "shifts/closes-otherwise"
            ]
        );
    }

    fn any_shift() -> impl Strategy<Value = Shift> {
        (
            prop::array::uniform7(any::<bool>()),
            0u32..=1_440,
            0u32..=1_440,
            0.0..90.0f64,
        )
            .prop_map(|(days, start, end, stops)| Shift {
                planned_stops_min: Minutes(stops),
                ..shift("any", days, start, end)
            })
    }

    proptest! {
        #[test]
        fn spells_are_sorted_apart_and_inside_the_week(shifts in prop::collection::vec(any_shift(), 1..6)) {
            let week = week(shifts);
            let mut last = Seconds(-1.0);
            for &(from, to) in &week.open {
                prop_assert!(from > last && to > from && to <= WEEK);
                last = to;
            }
            prop_assert!(week.net() <= WEEK);
        }
    }
}
