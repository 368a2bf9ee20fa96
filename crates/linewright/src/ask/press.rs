//! `linewright press`: lots, die timetable and racks of the press shop.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use book::Book;
use desk::report::{self, Date, clock};
use whole::press::{Policy, Press, PressPart, Screen, Watch};

use super::check::{refused, sound};
use crate::arguments::PressArguments;
use crate::crew;
use crate::figure::{number, percent, things};
use crate::folder;
use crate::grid::{Grid, Side};
use crate::interrupt;
use crate::outcome::{Answer, Failure, Form};

/// Plans the press shop and writes what is asked for.
pub(crate) fn press(asked: &PressArguments, form: Form) -> Result<Answer, Failure> {
    let path = &asked.book.book;
    folder::must_be_new_and_end(&asked.xlsx, "xlsx")?;
    folder::must_be_new_and_end(&asked.ics, "ics")?;
    let monday = monday(asked.monday.as_deref())?;
    let book = sound(path, form)?;
    let progress = crew::planning();
    let watch = Watch {
        cancel: interrupt::flag(),
        progress: &progress,
    };
    let planned = whole::press::press(&book, &watch);
    crew::wipe();
    let press = planned.map_err(|problems| refused(&problems, path, form))?;
    if let Some(file) = &asked.xlsx {
        folder::write(file, &report::press_xlsx(&press)?)?;
    }
    if let Some(file) = &asked.ics {
        if press.lots.is_empty() {
            let why = press
                .best
                .why
                .as_deref()
                .unwrap_or("nothing is made in lots");
            return Err(Failure::no(format!(
                "{}: no line has a timetable, so no calendar was written: {why}",
                file.display()
            )));
        }
        folder::write(file, report::ics(&press, monday).as_bytes())?;
    }
    Answer::of(form, press.holds, &press, || {
        let mut text = text(&press, &today(&book), asked.all);
        for file in asked.xlsx.iter().chain(&asked.ics) {
            let _ = write!(text, "\nWritten: {}\n", file.display());
        }
        text
    })
}

/// The Monday on which the week of the calendar begins: the one given, or the
/// coming one.
#[allow(
    clippy::disallowed_methods,
    reason = "the coming Monday is the clock's"
)]
fn monday(given: Option<&str>) -> Result<Date, Failure> {
    let Some(text) = given else {
        let since = std::time::SystemTime::now().duration_since(std::time::UNIX_EPOCH);
        let ms = since.map_or(0, |time| i64::try_from(time.as_millis()).unwrap_or(0));
        return Ok(Date::monday_after(ms));
    };
    Date::read(text)
        .filter(|date| date.is_monday())
        .ok_or_else(|| {
            Failure::usage(format!(
                "--monday: found {text}, expected the date of a Monday, such as 2026-01-05"
            ))
        })
}

/// Over the lines.
const LINES: &str = "Lines, with the timetable proposed here (load today: with the book's lots, as `plan` \
                     says)";

/// The load of each line with the book's lots, as `plan` says it.
fn today(book: &Book) -> BTreeMap<String, f64> {
    let lines = whole::plan::plan(book).map_or_else(|_| Vec::new(), |plan| plan.press_lines);
    let loads = lines.into_iter();
    loads
        .map(|line| (line.press_line, line.load.value))
        .collect()
}

fn text(press: &Press, today: &BTreeMap<String, f64>, all: bool) -> String {
    let mut text = format!("{}\n", sentence(press));
    for strong in &press.too_strong {
        let _ = writeln!(
            text,
            "\n  {} ({}): needs {} kN, {} is rated {} kN\n    {}",
            strong.part,
            strong.at,
            number(strong.force_kn, 0),
            strong.line,
            number(strong.rated_kn, 0),
            strong.mend
        );
    }
    for over in &press.overload {
        let _ = writeln!(
            text,
            "\n  {} ({}): {} hours a week are missing{}\n    {}",
            over.line,
            over.at,
            number(over.missing_h, 1),
            if over.proven { ", proven" } else { "" },
            over.mend
        );
    }
    section(&mut text, LINES, &lines(press, today));
    if !press.lots.is_empty() {
        section(&mut text, "Simple and best timetable", &policies(press));
        section(&mut text, "Lots and racks", &lots(press));
        if all {
            section(&mut text, "The week, lot by lot", &week(press));
        } else {
            let title = "The first lots of the week on each line (--all shows every one)";
            section(&mut text, title, &first_lots(press));
        }
        section(
            &mut text,
            "What half the changeover time gives",
            &halved(press),
        );
    }
    let title = if all {
        "Force and energy of each part"
    } else {
        "Force and energy: the parts nearest to their line's rating (--all shows every one)"
    };
    section(&mut text, title, &forces(press, all));
    if !press.lines.is_empty() {
        let _ = write!(text, "\n{}\n", press.caution);
    }
    if !press.notes.is_empty() {
        let notes = things(press.notes.len(), "note", "notes");
        let _ = write!(text, "\n{notes}\n");
        for note in &press.notes {
            let _ = writeln!(text, "  {note}");
        }
    }
    text
}

fn section(text: &mut String, title: &str, grid: &Grid) {
    if !grid.is_empty() {
        let _ = write!(text, "\n{title}\n\n{grid}");
    }
}

fn sentence(press: &Press) -> String {
    let plant = &press.plant;
    match (press.best.oldest_days, press.best.cost_per_year) {
        (Some(oldest), Some(cost)) => {
            let gap = press.gap.map_or_else(String::new, |gap| {
                format!(", at most {} above the least there can be", percent(gap, 1))
            });
            let cut = if press.complete {
                ""
            } else {
                "; the search was cut short"
            };
            let strong = match press.too_strong.len() {
                0 => String::new(),
                1 => ", but a part is too strong for its line".to_owned(),
                parts => format!(", but {parts} parts are too strong for their lines"),
            };
            format!(
                "{plant}: the lines keep up{strong}, and no blank or panel is older than {} days when it \
                 is used, safety stock included; changeovers and keeping cost {} {} a year{gap}{cut}.",
                number(oldest, 2),
                number(cost, 0),
                press.currency
            )
        }
        _ => format!(
            "{plant}: {}: {}.",
            if press.lots.is_empty() {
                "the lines have no timetable"
            } else {
                "not every line has a timetable"
            },
            press
                .best
                .why
                .as_deref()
                .unwrap_or("nothing is made in lots")
        ),
    }
}

fn lines(press: &Press, today: &BTreeMap<String, f64>) -> Grid {
    let mut grid = Grid::new([
        ("line", Side::Left),
        ("parts", Side::Right),
        ("h a week", Side::Right),
        ("running", Side::Right),
        ("changing", Side::Right),
        ("load", Side::Right),
        ("load today", Side::Right),
        ("change, min", Side::Right),
        ("changes a week", Side::Right),
        ("cycle, days", Side::Right),
        ("shortest, days", Side::Right),
    ]);
    for line in &press.lines {
        grid.row([
            line.line.clone(),
            number(line.parts as f64, 0),
            number(line.hours, 1),
            percent(line.running, 1),
            percent(line.changing, 1),
            percent(line.load, 1),
            today
                .get(&line.line)
                .map_or_else(dash, |load| percent(*load, 1)),
            number(line.changeover_min.value, 1),
            number(line.changeovers_per_week, 0),
            if line.cycle.is_empty() {
                dash()
            } else {
                number(line.cycle_days, 2)
            },
            line.least_cycle_days
                .map_or_else(dash, |days| number(days, 2)),
        ]);
    }
    grid
}

fn dash() -> String {
    "-".to_owned()
}

fn policies(press: &Press) -> Grid {
    let mut grid = Grid::new([
        ("timetable", Side::Left),
        ("cost a year", Side::Right),
        ("cycle, days", Side::Right),
        ("oldest, days", Side::Right),
        ("racks", Side::Right),
        ("why not", Side::Left),
    ]);
    let mut row = |name: &str, policy: &Policy| {
        let shown = |value: Option<f64>, decimals| value.map_or_else(dash, |v| number(v, decimals));
        grid.row([
            name.to_owned(),
            shown(policy.cost_per_year, 0),
            shown(policy.cycle_days, 2),
            shown(policy.oldest_days, 2),
            shown(policy.racks, 0),
            policy.why.clone().unwrap_or_default(),
        ]);
    };
    row("every part once a cycle", &press.common_cycle);
    row("best found", &press.best);
    if let Some(bound) = press.lower_bound_per_year {
        grid.row([
            "no timetable costs less than".to_owned(),
            number(bound, 0),
            String::new(),
            String::new(),
            String::new(),
            String::new(),
        ]);
    }
    grid
}

fn made(blanks: bool) -> &'static str {
    if blanks { "blanks" } else { "panels" }
}

fn lots(press: &Press) -> Grid {
    let mut grid = Grid::new([
        ("line", Side::Left),
        ("part", Side::Left),
        ("", Side::Left),
        ("an hour", Side::Right),
        ("lot", Side::Right),
        ("every, days", Side::Right),
        ("at most", Side::Right),
        ("oldest", Side::Right),
        ("racks", Side::Right),
    ]);
    for line in &press.lines {
        for lot in press.lots.iter().filter(|lot| lot.line == line.line) {
            let racks = lot.racks.as_ref().map(|racks| number(racks.value, 0));
            grid.row([
                lot.line.clone(),
                lot.part.clone(),
                made(lot.blanks).to_owned(),
                number(lot.rate_per_hour.value, 0),
                number(lot.lot, 0),
                number(lot.every_days, 2),
                number(lot.most_days.value, 2),
                number(lot.oldest_days, 2),
                racks.unwrap_or_default(),
            ]);
        }
    }
    grid
}

/// Lots of each line that are shown unless all are wanted.
const SHOWN: usize = 5;

fn first_lots(press: &Press) -> Grid {
    let mut grid = Grid::new([("line", Side::Left), ("from", Side::Left)]);
    for line in &press.lines {
        let lots = line
            .week
            .iter()
            .take(SHOWN)
            .map(|lot| format!("{} {} {}", clock(lot.start_h), number(lot.lot, 0), lot.part));
        grid.row([line.line.clone(), lots.collect::<Vec<_>>().join("; ")]);
    }
    grid
}

fn week(press: &Press) -> Grid {
    let mut grid = Grid::new([
        ("line", Side::Left),
        ("changeover", Side::Left),
        ("run", Side::Left),
        ("end", Side::Left),
        ("lot", Side::Right),
        ("", Side::Left),
        ("part", Side::Left),
    ]);
    for line in &press.lines {
        for lot in &line.week {
            grid.row([
                line.line.clone(),
                clock(lot.start_h),
                clock(lot.run_h),
                clock(lot.end_h),
                number(lot.lot, 0),
                made(lot.blanks).to_owned(),
                lot.part.clone(),
            ]);
        }
    }
    grid
}

fn halved(press: &Press) -> Grid {
    let mut grid = Grid::new([
        ("line", Side::Left),
        ("lots kept: h a week", Side::Right),
        ("saved a year", Side::Right),
        ("or lots halved: days", Side::Right),
        ("racks", Side::Right),
        ("saved a year", Side::Right),
    ]);
    for half in &press.halved {
        grid.row([
            half.line.clone().unwrap_or_else(|| "all lines".to_owned()),
            number(half.hours_per_week, 1),
            number(half.saved_per_year, 0),
            number(half.days, 2),
            number(half.racks, 0),
            number(half.halved_lots_saved_per_year, 0),
        ]);
    }
    grid
}

fn forces(press: &Press, all: bool) -> Grid {
    let mut grid = Grid::new([
        ("part", Side::Left),
        ("step", Side::Left),
        ("line", Side::Left),
        ("kN", Side::Right),
        ("of rating", Side::Right),
        ("kJ", Side::Right),
        ("of energy", Side::Right),
        ("lines allowed", Side::Left),
    ]);
    let used = |screen: &Screen| {
        let force = screen.force_used.as_ref().map_or(0.0, |used| used.value);
        force.max(screen.energy_used.unwrap_or(0.0))
    };
    let mut steps: Vec<(&PressPart, &str, &Screen)> = Vec::new();
    for part in &press.parts {
        let blanking = part
            .blanking
            .iter()
            .map(|screen| (part, "blanking", screen));
        steps.extend(blanking.chain(part.forming.iter().map(|screen| (part, "forming", screen))));
    }
    if !all {
        steps.sort_by(|a, b| used(b.2).total_cmp(&used(a.2)));
        steps.truncate(SHOWN);
    }
    for (part, step, screen) in steps {
        let share = |share: Option<f64>| share.map_or_else(dash, |share| percent(share, 1));
        let energy = screen.energy_kj.as_ref();
        grid.row([
            part.part.clone(),
            step.to_owned(),
            screen.line.clone(),
            number(screen.force_kn.value, 0),
            share(screen.force_used.as_ref().map(|used| used.value)),
            energy.map_or_else(dash, |energy| number(energy.value, 1)),
            share(screen.energy_used),
            part.lines.join(", "),
        ]);
    }
    grid
}
