//! What the book plans, as tables beside a log: for whoever asks the log in SQL
//! and has no book at hand.
//!
//! `planned.csv` has a row for each station and product with the planned cycle
//! (an empty product means every product), `hours.csv` a row for each stretch
//! of a shop's time with its shift and whether it is planned working time. No
//! stretch runs over midnight of universal time, so that a query can look one
//! up by its day.

use std::io::{self, Write};

use crate::rehearse::{cell, stamp};
use crate::roster::Roster;
use crate::time::{DAY, Micros, show_day};

/// Writes `planned.csv`.
///
/// # Errors
/// When the rows cannot be written.
pub fn planned_csv(roster: &Roster, to: &mut impl Write) -> io::Result<()> {
    to.write_all(b"station,shop,line,units,product,cycle_s\n")?;
    let classes = roster.class_names();
    for place in &roster.places {
        let head = format!(
            "{},{},{},{}",
            cell(&place.name),
            cell(&place.shop),
            cell(&place.line),
            place.units
        );
        match place.cycles.as_slice() {
            [] => writeln!(to, "{head},,")?,
            [cycle] => writeln!(to, "{head},,{cycle}")?,
            many => {
                for (class, cycle) in classes.iter().zip(many) {
                    writeln!(to, "{head},{},{cycle}", cell(class))?;
                }
            }
        }
    }
    to.flush()
}

/// Writes `hours.csv` for the days of a span.
///
/// # Errors
/// When the rows cannot be written.
pub fn hours_csv(
    roster: &Roster,
    (from, to): (Micros, Micros),
    out: &mut impl Write,
) -> io::Result<()> {
    out.write_all(b"shop,from,to,day,shift,open\n")?;
    // A shift that began on the day before has its part too.
    let (first, last) = (from.div_euclid(DAY) * DAY, (to.div_euclid(DAY) + 1) * DAY);
    for hours in &roster.hours {
        let mut at = first;
        while at < last {
            let stretch = hours.stretch(at);
            let end = stretch.to.min((at.div_euclid(DAY) + 1) * DAY);
            let mut line = cell(&hours.shop);
            line.push(',');
            stamp(&mut line, &mut (i64::MIN, String::new()), at);
            line.push(',');
            stamp(&mut line, &mut (i64::MIN, String::new()), end);
            writeln!(
                out,
                "{line},{},{},{}",
                show_day(stretch.turn.day),
                cell(hours.shift(stretch.turn)),
                stretch.open
            )?;
            at = end;
        }
    }
    out.flush()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::map::LogMap;
    use book::small::book;
    use crate::time::{HOUR, days};

    fn roster() -> Roster {
        let book = book(
            "[shifts]
             shop,shift,days,start,end,planned_stops_min
             body,night,mon-fri,22:00,06:00,0
             [products]
             product,cars_per_week
             van,100
             bus,100
             [stations]
             station,shop,line,units,cycle_s
             weld,body,frame,1,60
             trim,body,frame,2,100
             [cycles]
             station,product,cycle_s
             weld,bus,90
             [links]
             from,to,holds
             weld,trim,4",
        );
        let built = whole::network::build(&book).unwrap();
        Roster::of(&book, &built, LogMap::default())
    }

    fn text(write: impl FnOnce(&mut Vec<u8>) -> io::Result<()>) -> String {
        let mut bytes = Vec::new();
        write(&mut bytes).unwrap();
        String::from_utf8(bytes).unwrap()
    }

    #[test]
    fn a_station_has_a_planned_cycle_for_each_product_that_differs() {
        let rows = text(|to| planned_csv(&roster(), to));
        let rows: Vec<&str> = rows.lines().skip(1).collect();
        assert_eq!(rows.len(), 3, "{rows:?}");
        assert!(rows.contains(&"weld,body,frame,1,bus,90"));
        assert!(rows.contains(&"trim,body,frame,2,,100"));
    }

    #[test]
    fn a_night_shift_is_parted_at_midnight_and_keeps_its_day() {
        let monday = days(2026, 3, 2) * DAY;
        let span = (monday + 22 * HOUR, monday + 30 * HOUR);
        let rows = text(|to| hours_csv(&roster(), span, to));
        let open: Vec<&str> = rows.lines().filter(|row| row.ends_with("true")).collect();
        assert_eq!(
            open[..2],
            [
                "body,2026-03-02T22:00:00.000000Z,2026-03-03T00:00:00.000000Z,2026-03-02,night,true",
                "body,2026-03-03T00:00:00.000000Z,2026-03-03T06:00:00.000000Z,2026-03-02,night,true",
            ]
        );
    }
}
