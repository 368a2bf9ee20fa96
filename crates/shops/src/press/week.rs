//! A line's cycle laid over its shifts: the clock on the wall, where the
//! timetable counts working time.

use super::model::{PressLineLots, WeekLot};
use super::work::Unit;

/// The lots that begin within one week, from Monday 00:00, the cycle starting
/// with the week's first working hour.
pub(super) fn laid(unit: &Unit<'_>, line: &PressLineLots) -> Vec<WeekLot> {
    let cycle_h = line.cycle_days * unit.day_h();
    if cycle_h <= 0.0 {
        return Vec::new();
    }
    let wall = Wall(unit.open);
    let mut week = Vec::new();
    for round in 0.. {
        let begun = f64::from(round) * cycle_h;
        if begun >= unit.hours {
            break;
        }
        for lot in &line.cycle {
            let start = begun + lot.start_day * unit.day_h();
            if start >= unit.hours {
                break;
            }
            let run = start + lot.changeover_days * unit.day_h();
            let end = run + lot.run_days * unit.day_h();
            week.push(WeekLot {
                part: lot.part.clone(),
                blanks: lot.blanks,
                lot: lot.lot,
                start_h: wall.begin(start),
                run_h: wall.begin(run),
                end_h: wall.end(end),
            });
        }
    }
    week
}

/// Working hours on the clock of the week; what is left over goes on in the
/// next week.
struct Wall<'a>(&'a [(f64, f64)]);

/// Hours of a week.
const WEEK_H: f64 = 168.0;
/// Working time less than this is rounding: a millionth of an hour.
const NO_TIME_H: f64 = 1e-6;

impl Wall<'_> {
    /// When something begins after so many working hours: never at the very end
    /// of a spell.
    fn begin(&self, worked: f64) -> f64 {
        self.after(worked + NO_TIME_H) - NO_TIME_H
    }

    /// When something ends after so many working hours: never at the very
    /// start of a spell.
    fn end(&self, worked: f64) -> f64 {
        self.after((worked - NO_TIME_H).max(0.0)) + NO_TIME_H
    }

    fn after(&self, worked: f64) -> f64 {
        let hours: f64 = self.0.iter().map(|(from, to)| to - from).sum();
        if hours <= 0.0 {
            return worked;
        }
        let weeks = (worked / hours).floor();
        let mut left = worked - weeks * hours;
        for &(from, to) in self.0 {
            if left < to - from {
                return weeks * WEEK_H + from + left;
            }
            left -= to - from;
        }
        let last = self.0.last().map_or(0.0, |(_, to)| *to);
        weeks * WEEK_H + last
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Two spells of two hours, 6 to 8 and 10 to 12 on Monday.
    const MORNING: [(f64, f64); 2] = [(6.0, 8.0), (10.0, 12.0)];

    #[test]
    fn a_run_over_the_break_ends_after_it() {
        let wall = Wall(&MORNING);
        assert!((wall.begin(1.0) - 7.0).abs() < 1e-5);
        assert!((wall.end(3.0) - 11.0).abs() < 1e-5);
    }

    #[test]
    fn what_ends_with_the_spell_does_not_wait_for_the_next() {
        let wall = Wall(&MORNING);
        assert!((wall.end(2.0) - 8.0).abs() < 1e-5);
        assert!((wall.begin(2.0) - 10.0).abs() < 1e-5);
        assert!(
            (wall.begin(4.0) - (168.0 + 6.0)).abs() < 1e-5,
            "next Monday"
        );
    }
}
