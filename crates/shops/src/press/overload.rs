//! Lines that lack time, told with rows and ways out.

use book::{At, Book, Problem, Severity};
use lots::model::Checked;
use lots::{LineOverload, Refusal};

use super::model::{MovePart, Overload, Press};
use super::work::{Job, Work};
use crate::sheet::problem;

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
        mend: "shorten the line's changeovers, or allow longer lots: raise \
               coil_to_car_target_days, or lower start_below"
            .into(),
        ..problem("no-timetable", work.units[line].row.at, Some("change_min"))
    }
}

fn one(book: &Book, work: &Work<'_>, over: &LineOverload, proven: bool, press: &Press) -> Overload {
    let unit = &work.units[over.line.at()];
    let missing_h = over.missing * unit.hours;
    let move_parts: Vec<MovePart> = over
        .move_items
        .iter()
        .map(|item| {
            let job = &work.jobs[item.at()];
            MovePart {
                part: job.part.part.clone(),
                at: job.part.at,
                blanks: job.blanks,
                to: elsewhere(book, job, unit.row.at, press),
            }
        })
        .collect();
    let save_minutes = over
        .save_changeover_days
        .map(|days| days * unit.day_h() * 60.0);
    Overload {
        line: unit.name.clone(),
        at: unit.row.at,
        missing_h,
        proven,
        mend: mend(&move_parts, save_minutes, missing_h),
        move_parts,
        save_minutes,
    }
}

/// Other lines of the same kind; of press lines those that are strong and large
/// enough, where that is known.
fn elsewhere(book: &Book, job: &Job<'_>, own: At, press: &Press) -> Vec<String> {
    let screened = press.parts.iter().find(|part| part.part == job.part.part);
    let known = screened.filter(|part| !job.blanks && part.forming.is_some());
    let kind = book.press_lines[job.own().line].kind;
    let lines = book.press_lines.iter();
    lines
        .filter(|line| line.at != own && line.kind == kind)
        .filter(|line| known.is_none_or(|part| part.lines.contains(&line.press_line)))
        .map(|line| line.press_line.clone())
        .collect()
}

fn mend(parts: &[MovePart], save_minutes: Option<f64>, missing_h: f64) -> String {
    let names: Vec<String> = parts
        .iter()
        .map(|part| match part.to.as_slice() {
            [] => part.part.clone(),
            to => format!("{} (to {})", part.part, to.join(" or ")),
        })
        .collect();
    let mut ways = vec![format!("make {} elsewhere", names.join(", "))];
    if let Some(minutes) = save_minutes {
        ways.push(format!("save {minutes:.1} minutes on each changeover"));
    }
    ways.push(format!("work {missing_h:.1} hours a week longer"));
    ways.join(", or ")
}
