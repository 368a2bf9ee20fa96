//! A rehearsed log as CSV.

use std::fmt::Write as _;
use std::io::{self, Write};

use flow::Verdict;

use super::{Rehearsal, Truth};
use crate::roster::Roster;
use crate::time::{DAY, HOUR, Micros, SECOND, show_day};

/// An instant as an ISO 8601 stamp of universal time, to the microsecond.
pub(crate) fn stamp(text: &mut String, day: &mut (i64, String), at: Micros) {
    let of = at.div_euclid(DAY);
    if day.0 != of {
        *day = (of, show_day(of));
    }
    let rest = at.rem_euclid(DAY);
    let second = rest / SECOND;
    // Writing to a `String` cannot fail.
    let _ = write!(
        text,
        "{}T{:02}:{:02}:{:02}.{:06}Z",
        day.1,
        second / 3_600,
        second / 60 % 60,
        second % 60,
        rest % SECOND
    );
}

/// A cell, quoted where it must be.
pub(crate) fn cell(text: &str) -> String {
    if text.contains([',', '"']) {
        format!("\"{}\"", text.replace('"', "\"\""))
    } else {
        text.to_owned()
    }
}

struct Stamper {
    from: (i64, String),
    to: (i64, String),
}

impl Stamper {
    fn new() -> Self {
        Self {
            from: (i64::MIN, String::new()),
            to: (i64::MIN, String::new()),
        }
    }
}

/// Writes `states.csv`; `classes` are the classes of car by number, `causes` the
/// causes of each station.
///
/// # Errors
/// When the rows cannot be written.
pub fn states_csv(
    rehearsal: &Rehearsal,
    roster: &Roster,
    classes: &[String],
    to: &mut impl Write,
) -> io::Result<()> {
    let names: Vec<String> = roster
        .places
        .iter()
        .map(|place| cell(&place.name))
        .collect();
    let products: Vec<String> = classes.iter().map(|class| cell(class)).collect();
    let mut stamper = Stamper::new();
    let mut line = String::new();
    to.write_all(b"station,unit,from,to,state,cause,product,item\n")?;
    for row in &rehearsal.rows {
        line.clear();
        let place = roster.place_of_unit[row.unit as usize] as usize;
        let found = &roster.places[place];
        let _ = write!(
            line,
            "{},{},",
            names[place],
            row.unit - found.first_unit + 1
        );
        stamp(&mut line, &mut stamper.from, row.from);
        line.push(',');
        stamp(&mut line, &mut stamper.to, row.to);
        let cause = row
            .cause
            .and_then(|cause| found.causes.get(usize::from(cause)));
        let product = row.class.and_then(|class| products.get(usize::from(class)));
        let _ = write!(
            line,
            ",{},{},{},",
            row.state.word(),
            cause.map_or_else(String::new, |cause| cell(cause)),
            product.map_or("", String::as_str)
        );
        if row.item > 0 {
            let _ = write!(line, "{}", row.item);
        }
        line.push('\n');
        to.write_all(line.as_bytes())?;
    }
    to.flush()
}

/// Writes `counts.csv`.
///
/// # Errors
/// When the rows cannot be written.
pub fn counts_csv(rehearsal: &Rehearsal, roster: &Roster, to: &mut impl Write) -> io::Result<()> {
    to.write_all(b"station,time,made,rework,scrap\n")?;
    let mut stamper = Stamper::new();
    for (place, hour, made) in &rehearsal.counts {
        let mut line = cell(&roster.places[*place as usize].name);
        line.push(',');
        stamp(&mut line, &mut stamper.to, (hour + 1) * HOUR);
        writeln!(to, "{line},{},{},{}", made.made, made.rework, made.scrap)?;
    }
    to.flush()
}

/// Writes `quality.csv`.
///
/// # Errors
/// When the rows cannot be written.
pub fn quality_csv(rehearsal: &Rehearsal, roster: &Roster, to: &mut impl Write) -> io::Result<()> {
    to.write_all(b"station,time,result,cause\n")?;
    let mut stamper = Stamper::new();
    for (place, at, verdict) in &rehearsal.rejects {
        let mut line = cell(&roster.places[*place as usize].name);
        line.push(',');
        stamp(&mut line, &mut stamper.to, *at);
        let word = if *verdict == Verdict::Scrap {
            "scrap"
        } else {
            "rework"
        };
        writeln!(to, "{line},{word},")?;
    }
    to.flush()
}

/// Writes `genealogy.csv`: cars out with the birth of their oldest part.
///
/// # Errors
/// When the rows cannot be written.
pub fn genealogy_csv(
    rehearsal: &Rehearsal,
    classes: &[String],
    to: &mut impl Write,
) -> io::Result<()> {
    to.write_all(b"item,product,began,time,made_of\n")?;
    let mut stamper = Stamper::new();
    for (n, (class, born, out)) in rehearsal.cars.iter().enumerate() {
        let product = classes.get(*class as usize).map_or("", String::as_str);
        let mut line = format!("car {},{},", n + 1, cell(product));
        stamp(&mut line, &mut stamper.from, *born);
        line.push(',');
        stamp(&mut line, &mut stamper.to, *out);
        writeln!(to, "{line},")?;
    }
    to.flush()
}

/// Writes `truth.csv`: what is true of the log, by cell of the book.
///
/// # Errors
/// When the rows cannot be written.
pub fn truth_csv(truth: &[Truth], to: &mut impl Write) -> io::Result<()> {
    to.write_all(b"table,row,column,station,value\n")?;
    for known in truth {
        writeln!(
            to,
            "{},{},{},{},{}",
            known.table,
            known.row,
            known.column,
            cell(&known.station),
            known.value
        )?;
    }
    to.flush()
}
