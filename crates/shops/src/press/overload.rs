//! Lines that lack time, told with rows and ways out.

use std::collections::BTreeMap;

use book::{At, Book, Problem, Severity};
use lots::model::Checked;
use lots::{LineOverload, Refusal};

use super::model::{MovePart, Overload, Press};
use super::work::{Job, WEEK_DAYS, Work};
use crate::sheet::problem;

const WEEK_H: f64 = 168.0;

/// The overloads of a refusal; each becomes a note too. A refusal that is none
/// becomes a note on the line that comes out worst.
pub(super) fn told(
    book: &Book,
    work: &Work<'_>,
    checked: &Checked,
    refusal: &Refusal,
    press: &mut Press,
) -> Vec<Overload> {
    let Refusal::Overloaded(overload) = refusal else {
        press.notes.push(unfound(work, checked, refusal));
        return Vec::new();
    };
    let told: Vec<Overload> = overload
        .lines
        .iter()
        .map(|line| one(book, work, line, overload.proven, press))
        .collect();
    for over in &told {
        press.notes.push(Problem {
            severity: Severity::Note,
            found: format!("`{}` lacks {:.1} hours a week", over.line, over.missing_h),
            expected: "runs and changeovers within its hours".into(),
            mend: over.mend.clone(),
            ..problem("overloaded", over.at, Some("change_min"))
        });
    }
    told
}

fn unfound(work: &Work<'_>, checked: &Checked, refusal: &Refusal) -> Problem {
    let line = match refusal {
        Refusal::NotFound { line, .. } | Refusal::RotationTooLong { line, .. } => line.at(),
        _ => 0,
    };
    Problem {
        severity: Severity::Note,
        found: refusal.worded(checked.problem()),
        expected: "a timetable within the longest lots that the target allows".into(),
        mend: "shorten the line's changeovers, or allow longer lots: more places (stock and \
               blank_stock of its parts), a longer coil_to_car_target_days, or a lower \
               start_below"
            .into(),
        ..problem("no-timetable", work.units[line].row.at, Some("change_min"))
    }
}

fn one(book: &Book, work: &Work<'_>, over: &LineOverload, proven: bool, press: &Press) -> Overload {
    let unit = &work.units[over.line.at()];
    let missing_h = over.missing * unit.hours;
    let jobs: Vec<&Job<'_>> = over
        .move_items
        .iter()
        .map(|item| &work.jobs[item.at()])
        .collect();
    let able: Vec<Vec<usize>> = jobs
        .iter()
        .map(|job| elsewhere(book, job, unit.row.at, press))
        .collect();
    let room = room_for(work, &jobs, &able);
    let move_parts: Vec<MovePart> = jobs
        .iter()
        .zip(room)
        .map(|(job, line)| MovePart {
            part: job.part.part.clone(),
            at: job.part.at,
            blanks: job.blanks,
            to: line
                .map(|line| book.press_lines[line].press_line.clone())
                .into_iter()
                .collect(),
        })
        .collect();
    // Rounded up, so that what is read off is enough.
    let save_minutes = over
        .save_changeover_days
        .map(|days| (days * unit.day_h() * 600.0).ceil() / 10.0);
    Overload {
        line: unit.name.clone(),
        at: unit.row.at,
        missing_h,
        proven,
        mend: mend(&move_parts, save_minutes, missing_h, unit.hours),
        move_parts,
        save_minutes,
    }
}

/// Lines of a refusal, by their place among the units.
pub(super) fn lines(refusal: &Refusal) -> Vec<usize> {
    match refusal {
        Refusal::Overloaded(overload) => overload.lines.iter().map(|over| over.line.at()).collect(),
        Refusal::NotFound { line, .. } | Refusal::RotationTooLong { line, .. } => vec![line.at()],
        Refusal::Faulty(_) | Refusal::Unsound(_) => Vec::new(),
    }
}

/// A refusal in hours of a week.
pub(super) fn why(work: &Work<'_>, checked: &Checked, refusal: &Refusal) -> String {
    let Refusal::Overloaded(overload) = refusal else {
        return refusal.worded(checked.problem());
    };
    let each = overload.lines.iter().map(|over| {
        let unit = &work.units[over.line.at()];
        let hours = over.missing * unit.hours;
        format!(
            "{} lacks {hours:.1} of {:.1} hours a week",
            unit.name, unit.hours
        )
    });
    each.collect::<Vec<_>>().join(", ")
}

/// Hours a week that a line has left beside the work that the book gives it.
fn spare_h(work: &Work<'_>, position: usize) -> f64 {
    let all = work.units.iter().chain(&work.idle);
    let units = all.filter(|unit| unit.position == position);
    let hours: f64 = units.map(|unit| unit.hours).sum();
    let own = work.jobs.iter().filter(|job| job.own().line == position);
    hours - own.map(|job| load_h(work, job, position)).sum::<f64>()
}

/// Hours a week that a job takes on a line, its changeovers counted.
fn load_h(work: &Work<'_>, job: &Job<'_>, position: usize) -> f64 {
    let mut units = work.units.iter().chain(&work.idle);
    let Some(unit) = units.find(|unit| unit.position == position) else {
        return f64::INFINITY;
    };
    let changes = WEEK_DAYS / job.longest_days(unit.hours);
    job.on_row(position).run_h + changes * unit.changeover_min.value / 60.0
}

/// Of the lines that could take each part, the one with room left for it; a
/// part for which there is none keeps no line.
fn room_for(work: &Work<'_>, jobs: &[&Job<'_>], able: &[Vec<usize>]) -> Vec<Option<usize>> {
    let mut spare: BTreeMap<usize, f64> = able
        .iter()
        .flatten()
        .map(|line| (*line, spare_h(work, *line)))
        .collect();
    let each = jobs.iter().zip(able);
    each.map(|(job, able)| {
        let fits = |line: &&usize| load_h(work, job, **line) <= spare[*line];
        let line = *able
            .iter()
            .filter(fits)
            .max_by(|a, b| spare[*a].total_cmp(&spare[*b]))?;
        *spare.get_mut(&line)? -= load_h(work, job, line);
        Some(line)
    })
    .collect()
}

/// Other lines of the same kind; of press lines those that are strong and large
/// enough, where that is known.
fn elsewhere(book: &Book, job: &Job<'_>, own: At, press: &Press) -> Vec<usize> {
    let screened = press.parts.iter().find(|part| part.part == job.part.part);
    let known = screened.filter(|part| !job.blanks && part.forming.is_some());
    let kind = book.press_lines[job.own().line].kind;
    let lines = book.press_lines.iter().enumerate();
    lines
        .filter(|(_, line)| line.at != own && line.kind == kind)
        .filter(|(_, line)| known.is_none_or(|part| part.lines.contains(&line.press_line)))
        .map(|(at, _)| at)
        .collect()
}

fn mend(parts: &[MovePart], save_minutes: Option<f64>, missing_h: f64, hours: f64) -> String {
    let mut ways = Vec::new();
    let named = |part: &MovePart| match part.to.first() {
        Some(to) => format!("{} to {to}", part.part),
        None => part.part.clone(),
    };
    let (room, none): (Vec<&MovePart>, Vec<&MovePart>) =
        parts.iter().partition(|part| !part.to.is_empty());
    let list = |parts: &[&MovePart]| {
        let names: Vec<String> = parts.iter().map(|part| named(part)).collect();
        names.join(", ")
    };
    match (room.as_slice(), none.as_slice()) {
        ([], []) => {}
        (room, []) => ways.push(format!("move {}", list(room))),
        ([], none) => ways.push(format!(
            "make {} elsewhere: no other line here has room, so buy them or add a line",
            list(none)
        )),
        (room, none) => ways.push(format!(
            "move {}, and buy or add a line for {}",
            list(room),
            list(none)
        )),
    }
    if let Some(minutes) = save_minutes {
        ways.push(format!("save {minutes:.1} minutes on each changeover"));
    }
    let left = WEEK_H - hours;
    let wanted = (missing_h * 10.0).ceil() / 10.0;
    if wanted <= left {
        ways.push(format!("work {wanted:.1} hours a week longer"));
    } else {
        ways.push(format!(
            "more hours alone do not free it: the week has {left:.1} left and it lacks {wanted:.1}"
        ));
    }
    ways.join(", or ")
}
