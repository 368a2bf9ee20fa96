//! Shifts that can be worked.
//!
//! # Checks
//! A shift has a length and time left beside its stops; breaks lie inside it,
//! apart from each other, and add to the planned stops where both are given; two
//! shifts of a shop do not overlap.
//!
//! # Why it hurts
//! Time that does not exist, or exists twice, makes every rate wrong.
//!
//! # Example
//! Early 06:00 to 14:30 and late 14:00 to 22:00 on the same days.
//!
//! # Mended
//! Early ends at 14:00.

use crate::{
    Book, Break, Shift,
    problem::{Problem, Problems},
};

/// Minutes of a day and of a week.
const DAY: u32 = 24 * 60;
const WEEK: u32 = 7 * DAY;
/// A shift over midnight that is longer than this has its times swapped: no
/// crew works so long (common practice: 8 to 12 hours).
const LONGEST_NIGHT: u32 = 16 * 60;

pub(super) fn check(book: &Book, problems: &mut Problems) {
    for (index, shift) in book.shifts.iter().enumerate() {
        // A time that could not be read makes no length.
        if problems.in_row(shift.at) {
            continue;
        }
        let sound = length(shift, problems);
        breaks(shift, problems);
        if !sound {
            continue;
        }
        let before = book.shifts[..index]
            .iter()
            .filter(|other| other.shop == shift.shop);
        if let Some(other) = before
            .filter(|other| minutes(other) > 0)
            .find(|other| overlap(shift, other))
        {
            problems.push(
                Problem::at(shift.at, "overlap")
                    .column("start")
                    .found(format!(
                        "`{}` {} to {} over `{}` {} to {} in row {}",
                        shift.shift,
                        shift.start,
                        shift.end,
                        other.shift,
                        other.start,
                        other.end,
                        other.at.row
                    ))
                    .expected("shifts of a shop one after the other")
                    .mend("move the start or the end, or change the days of one"),
            );
        }
    }
}

/// The shift's length in minutes, over midnight where it ends before it starts.
fn minutes(shift: &Shift) -> u32 {
    let (start, end) = (shift.start.minutes, shift.end.minutes);
    match end.cmp(&start) {
        std::cmp::Ordering::Greater => end - start,
        std::cmp::Ordering::Equal => 0,
        std::cmp::Ordering::Less => end + DAY - start,
    }
}

fn length(shift: &Shift, problems: &mut Problems) -> bool {
    let length = minutes(shift);
    let found = format!("{} to {}", shift.start, shift.end);
    if length == 0 {
        problems.push(
            Problem::at(shift.at, "no-length")
                .column("end")
                .found(found)
                .expected("an end after the start; before it means on the next day")
                .mend("correct the end; for round the clock write `00:00` to `24:00`"),
        );
        return false;
    }
    if shift.end < shift.start && length > LONGEST_NIGHT {
        problems.push(
            Problem::at(shift.at, "too-long")
                .column("end")
                .found(format!(
                    "{found}, which is {} h over midnight",
                    f64::from(length) / 60.0
                ))
                .expected("an end after the start, or a shift of at most 16 h over midnight")
                .mend(format!(
                    "swap them to {} to {} if they are the wrong way round, or split the shift",
                    shift.end, shift.start
                )),
        );
        return false;
    }
    let stops: f64 = if shift.breaks.is_empty() {
        shift.planned_stops_min.0
    } else {
        shift.breaks.iter().map(|stop| stop.minutes.0).sum()
    };
    if stops >= f64::from(length) {
        problems.push(
            Problem::at(shift.at, "no-time-left")
                .column(if shift.breaks.is_empty() {
                    "planned_stops_min"
                } else {
                    "breaks"
                })
                .found(format!("{stops} min of stops in a shift of {length} min"))
                .expected("stops shorter than the shift")
                .mend(format!("bring the stops below {length} min")),
        );
    }
    true
}

fn breaks(shift: &Shift, problems: &mut Problems) {
    let length = f64::from(minutes(shift));
    let mut spans: Vec<(f64, f64, &Break)> = Vec::new();
    for stop in &shift.breaks {
        let (start, shift_start) = (stop.start.minutes % DAY, shift.start.minutes % DAY);
        let from = f64::from((start + DAY - shift_start) % DAY);
        let to = from + stop.minutes.0;
        let wrong = |what, found, mend: String| {
            Problem::at(shift.at, what)
                .column("breaks")
                .found(found)
                .mend(mend)
        };
        if length > 0.0 && to > length {
            let found = format!(
                "a break at {} of {} min outside {} to {}",
                stop.start, stop.minutes.0, shift.start, shift.end
            );
            problems.push(
                wrong("break-outside", found, "move or shorten it".into())
                    .expected("breaks inside the shift"),
            );
        } else if let Some((.., other)) = spans.iter().find(|(a, b, _)| from < *b && *a < to) {
            let found = format!("a break at {} over the one at {}", stop.start, other.start);
            problems.push(
                wrong("break-overlap", found, "move or shorten one of them".into())
                    .expected("breaks one after the other"),
            );
        }
        spans.push((from, to, stop));
    }
    let sum: f64 = shift.breaks.iter().map(|stop| stop.minutes.0).sum();
    let planned = shift.planned_stops_min.0;
    if !shift.breaks.is_empty() && planned != 0.0 && planned != sum {
        problems.push(
            Problem::at(shift.at, "stops-differ")
                .column("planned_stops_min")
                .found(format!("{planned} min beside breaks of {sum} min"))
                .expected("the sum of the breaks, or an empty cell")
                .mend(format!("write {sum} or empty the cell")),
        );
    }
}

/// Whether two shifts share time in some week.
fn overlap(one: &Shift, other: &Shift) -> bool {
    one.days.iter().any(|day| {
        other.days.iter().any(|other_day| {
            let from = day as u32 * DAY + one.start.minutes;
            let other_from = other_day as u32 * DAY + other.start.minutes;
            let after = (other_from + WEEK - from % WEEK) % WEEK;
            let before = (from + WEEK - other_from % WEEK) % WEEK;
            after < minutes(one) || before < minutes(other)
        })
    })
}
