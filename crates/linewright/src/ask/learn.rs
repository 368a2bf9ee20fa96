//! `linewright learn`: the book against a log.

mod choice;
mod sheet;

use std::collections::BTreeMap;
use std::fmt::Write as _;

use book::raw::Workbook;
use evidence::figures::{CauseRow, CycleRow, Figures, Grain, Of, causes, cycles, figures};
use evidence::learn::{
    self, Check, Course, Movement, NotCompared, Proposal, Verdict, Week, WeekFigure,
};
use evidence::read::Log;
use evidence::roster::Roster;
use flow::Watch;
use serde::Serialize;
use whole::findings::NoAnswer;

use super::check::no_answer;
use super::logged::{self, Plant};
use super::problems::listed;
use super::rehearse;
use crate::arguments::{By, LearnArguments};
use crate::figure::{number, percent, things};
use crate::folder;
use crate::grid::{Grid, Side};
use crate::interrupt;
use crate::outcome::{Answer, Failure, Form};

/// Causes and checks that are listed in the text.
const LISTED: usize = 15;

/// All that was learned.
#[derive(Serialize)]
struct Learned {
    rows: u64,
    stations: usize,
    holds: bool,
    proposals: Vec<Proposal>,
    checks: Vec<Check>,
    not_compared: Vec<NotCompared>,
    figures: Vec<Row>,
    causes: Vec<CauseRow>,
    cycles: Vec<CycleRow>,
    drift: Vec<Week>,
    courses: Vec<Course>,
    problems: Vec<book::Problem>,
    accepted: Option<usize>,
}

/// A group's figures.
#[derive(Serialize)]
struct Row {
    #[serde(flatten)]
    of: Of,
    #[serde(flatten)]
    figures: Figures,
}

/// Reads the log, holds the book against it, and takes over what was accepted.
pub(crate) fn learn(asked: &LearnArguments, form: Form) -> Result<Answer, Failure> {
    must_be_writable(asked)?;
    let plant = logged::plant(&asked.book.book, form)?;
    let (roster, log) = logged::log(&asked.log, &plant, form, |_| None)?;
    let proposals = learn::learn(&log, &roster, &plant.book, &plant.built);
    let accepted = match &asked.accept {
        Some(choice) => Some(take_over(&plant, &proposals, choice)?),
        None => None,
    };
    let checks = if asked.no_run {
        Vec::new()
    } else {
        let checks = believe(asked, &plant, &proposals, &log, &roster)?;
        checks.map_err(|why| no_answer(&why, &asked.book.book, form))?
    };
    let found = figures(&log, &roster, grain(asked.by));
    write(asked, &proposals, &found)?;
    if let Some(folder) = &asked.planned {
        folder::make_empty(folder)?;
        rehearse::planned(folder, &roster, log.span.unwrap_or_default())?;
    }
    if let (Some(out), Some((book, _))) = (&asked.out, &accepted) {
        folder::make_empty(out)?;
        book::write_folder(book, out).map_err(|error| Failure::usage(error.to_string()))?;
    }
    let drift = learn::drift(&log, &roster, &plant.built);
    let differs = proposals.iter().any(|p| p.verdict == Verdict::Differs);
    let learned = Learned {
        rows: log.rows,
        stations: log.stations_seen(),
        holds: !differs,
        checks,
        not_compared: if asked.no_run {
            Vec::new()
        } else {
            learn::not_compared(&plant.built, &log, &roster)
        },
        figures: found
            .into_iter()
            .map(|(of, figures)| Row { of, figures })
            .collect(),
        causes: causes(&log, &roster),
        cycles: cycles(&log, &roster),
        drift: drift.weeks,
        courses: drift.courses,
        problems: log.problems(&roster),
        proposals,
        accepted: accepted.map(|(_, cells)| cells),
    };
    Answer::of(form, learned.holds, &learned, || text(&learned, asked))
}

fn grain(by: By) -> Grain {
    Grain {
        day: matches!(by, By::Day | By::DayAndShift),
        shift: matches!(by, By::Shift | By::DayAndShift),
    }
}

/// Refuses what could not be written in the end, before the log is read.
fn must_be_writable(asked: &LearnArguments) -> Result<(), Failure> {
    folder::must_be_new_and_end(&asked.write, "csv")?;
    folder::must_be_new_and_end(&asked.figures, "csv")?;
    folder::must_be_empty(&asked.planned)?;
    folder::must_be_empty(&asked.out)?;
    for (one, first, other, second) in [
        (&asked.write, "--write", &asked.figures, "--figures"),
        (&asked.planned, "--planned", &asked.out, "--out"),
    ] {
        if let Some(place) = one.as_ref().filter(|_| one == other) {
            return Err(Failure::usage(format!(
                "{first} and {second} both name {}, nothing was written; name two places",
                place.display()
            )));
        }
    }
    Ok(())
}

/// Writes the tables that were asked for; nothing before all is found, so that a
/// question that fails can be put again as it stands.
fn write(
    asked: &LearnArguments,
    proposals: &[Proposal],
    found: &BTreeMap<Of, Figures>,
) -> Result<(), Failure> {
    if let Some(file) = &asked.write {
        folder::write(file, choice::csv(proposals).as_bytes())?;
    }
    if let Some(file) = &asked.figures {
        folder::write(file, sheet::csv(found).as_bytes())?;
    }
    Ok(())
}

/// The book with the accepted values; how many they are.
fn take_over(
    plant: &Plant,
    proposals: &[Proposal],
    choice: &std::path::Path,
) -> Result<(Workbook, usize), Failure> {
    let chosen = choice::chosen(choice, proposals)?;
    let book = learn::accept(&plant.workbook, chosen.iter().copied()).map_err(Failure::no)?;
    let problems = book::check(&book).problems;
    if problems.iter().any(super::problems::is_error) {
        let why = listed(&problems);
        return Err(Failure::no(format!(
            "nothing was written; the book would not hold:{why}"
        )));
    }
    let cells = chosen.len();
    Ok((book, cells))
}

/// The plant run with the values that differ mended, against the log.
fn believe(
    asked: &LearnArguments,
    plant: &Plant,
    proposals: &[Proposal],
    log: &Log,
    roster: &Roster,
) -> Result<Result<Vec<Check>, NoAnswer>, Failure> {
    let differ = proposals.iter().filter(|p| p.verdict == Verdict::Differs);
    let mended = learn::accept(&plant.workbook, differ).map_err(Failure::no)?;
    let mended = book::check(&mended).book;
    let progress = crate::crew::progress();
    let watch = Watch {
        cancel: interrupt::flag(),
        progress: &progress,
    };
    let checks = learn::believe(&mended, &plant.built, log, roster, asked.seed, &watch);
    crate::crew::wipe();
    Ok(checks)
}

/// How many values agree, in a sentence or two.
fn counted(learned: &Learned) -> String {
    let count = |verdict| {
        learned
            .proposals
            .iter()
            .filter(|p| p.verdict == verdict)
            .count()
    };
    let (agree, differ, open) = (
        count(Verdict::Agrees),
        count(Verdict::Differs),
        count(Verdict::Open),
    );
    let mut text = format!(
        "{} rows of {}: {} of the book lie in their 95 % interval, {} do not, {} are open.\n",
        number(learned.rows as f64, 0),
        things(learned.stations, "station", "stations"),
        things(agree, "value", "values"),
        differ,
        open
    );
    if agree + differ > 0 {
        let _ = writeln!(
            text,
            "Of values that are right, one in twenty lies outside by chance: {} here.",
            number((agree + differ) as f64 / 20.0, 0)
        );
    }
    text
}

fn text(learned: &Learned, asked: &LearnArguments) -> String {
    let mut text = counted(learned);
    let shown: Vec<&Proposal> = learned
        .proposals
        .iter()
        .filter(|p| asked.all || p.verdict == Verdict::Differs)
        .collect();
    if !shown.is_empty() {
        let _ = write!(text, "\nThe book against the log\n\n{}", proposed(&shown));
    }
    text += &joints(&learned.proposals);
    if !asked.no_run {
        text += &believable(&learned.checks, &learned.not_compared);
    }
    let _ = write!(
        text,
        "\nShops (ISO 22400-2)\n\n{}",
        sheet::shops(&learned.figures)
    );
    let far = sheet::cycles(&learned.cycles, LISTED);
    if !far.is_empty() {
        let _ = write!(text, "\nCycles furthest from planned\n\n{far}");
    }
    let drifted = sheet::drifted(&learned.drift, LISTED);
    if !drifted.is_empty() {
        let _ = write!(
            text,
            "\nCycles that moved from week to week, of planned\n\n{drifted}"
        );
    }
    if !learned.causes.is_empty() {
        let _ = write!(text, "\nMost time down\n\n{}", down(&learned.causes));
    }
    let moving = moving(&learned.courses);
    if !moving.is_empty() {
        let _ = write!(text, "\nFigures that move over the weeks\n\n{moving}");
    }
    if let Some(accepted) = learned.accepted {
        let _ = writeln!(
            text,
            "\n{} taken over.",
            things(accepted, "value was", "values were")
        );
    }
    text += &way_on(learned, asked);
    text + &listed(&learned.problems)
}

/// How values get from the log into the book.
fn way_on(learned: &Learned, asked: &LearnArguments) -> String {
    if let Some(file) = &asked.write {
        let file = file.display();
        return format!(
            "\nAll proposals are in {file}. Say yes in its column accept where you believe one, \
             then ask again with --accept {file} --out FOLDER for the book with these values.\n"
        );
    }
    if learned.holds || asked.accept.is_some() {
        return String::new();
    }
    "\nTo take values over, ask again with --write FILE.csv and say in that file which you believe.\n"
        .to_owned()
}

/// Beyond this many minutes, nineteen years, a limit of two or three stops says
/// only that there is none.
const NO_LIMIT: f64 = 1e7;

/// A value with as many digits as it is worth.
fn figure(value: f64) -> String {
    if !value.is_finite() || value.abs() >= NO_LIMIT {
        return "-".to_owned();
    }
    let decimals = match value.abs() {
        x if x >= 1_000.0 => 0,
        x if x >= 100.0 => 1,
        x if x >= 1.0 => 2,
        _ => 4,
    };
    number(value, decimals)
}

fn proposed(proposals: &[&Proposal]) -> Grid {
    let mut grid = Grid::new([
        ("cell", Side::Left),
        ("station", Side::Left),
        ("column", Side::Left),
        ("book", Side::Right),
        ("found", Side::Right),
        ("from", Side::Right),
        ("to", Side::Right),
        ("seen", Side::Right),
        ("", Side::Left),
    ]);
    for p in proposals {
        let station = match &p.cause {
            Some(cause) => format!("{} ({cause})", p.station),
            None => p.station.clone(),
        };
        let word = match p.verdict {
            Verdict::Agrees => "agrees".to_owned(),
            Verdict::Differs => "DIFFERS".to_owned(),
            Verdict::Open if p.row == 0 && p.evidence >= learn::FEW => "joints differ".to_owned(),
            Verdict::Open => p.why.clone().unwrap_or_default(),
        };
        grid.row([
            if p.row == 0 {
                "-".to_owned()
            } else {
                format!("{} {}", p.table, p.row)
            },
            station,
            p.column.clone(),
            p.book.map_or_else(|| "-".to_owned(), figure),
            figure(p.found.value),
            figure(p.found.low),
            figure(p.found.high),
            number(p.evidence as f64, 0),
            word,
        ]);
    }
    grid
}

/// Stops that joints make of which the joints say otherwise: no cell holds them.
fn joints(proposals: &[Proposal]) -> String {
    let made = || proposals.iter().filter(|p| p.row == 0);
    let outside: Vec<&Proposal> = made()
        .filter(|p| p.verdict == Verdict::Open && p.evidence >= learn::FEW)
        .filter(|p| p.book.is_some_and(|book| !p.found.holds(book)))
        .collect();
    if made().count() == 0 {
        return String::new();
    }
    let mut text = format!(
        "\nStops that joints make, such as cap changes: {} of {} lie outside their interval. No \
         cell of the book says them; they follow from join_figures, unless stops has a row for the \
         station and cause.\n",
        outside.len(),
        things(made().count(), "figure", "figures")
    );
    if !outside.is_empty() {
        let _ = write!(text, "\n{}", proposed(&outside));
    }
    text
}

/// Whether the model is believable, and what cannot be told of it.
fn believable(checks: &[Check], not_compared: &[NotCompared]) -> String {
    let mut text = "\nIs the model believable? ".to_owned();
    if checks.is_empty() {
        text += "Nothing of this log can be held against a run of it.\n";
    } else {
        let inside = checks.iter().filter(|check| check.inside).count();
        let _ = writeln!(
            text,
            "Run with the mended values, {} of {} lie where one further run would.",
            number(inside as f64, 0),
            things(checks.len(), "figure", "figures"),
        );
        let shown = |check: &Check| check.station.is_none() || !check.inside;
        if checks.iter().any(shown) {
            let _ = write!(text, "\n{}", checked(checks));
        }
    }
    if !not_compared.is_empty() {
        text += "\nNot compared:\n";
    }
    for none in not_compared {
        let _ = writeln!(text, "  {}: needs {}", none.figures, none.needs);
    }
    text
}

fn checked(checks: &[Check]) -> Grid {
    let mut grid = Grid::new([
        ("figure", Side::Left),
        ("log", Side::Right),
        ("model", Side::Right),
        ("from", Side::Right),
        ("to", Side::Right),
        ("", Side::Left),
    ]);
    let plant = checks.iter().filter(|check| check.station.is_none());
    let outside = checks
        .iter()
        .filter(|check| check.station.is_some() && !check.inside);
    for check in plant.chain(outside.take(LISTED)) {
        let what = match &check.station {
            Some(station) => format!("{station}, {}", check.what),
            None => check.what.clone(),
        };
        grid.row([
            what,
            figure(check.log),
            figure(check.model.value),
            figure(check.model.low),
            figure(check.model.high),
            if check.inside { "inside" } else { "OUTSIDE" }.to_owned(),
        ]);
    }
    grid
}

/// Figures of stations that weeks set apart by more than chance, the surest
/// first.
fn moving(courses: &[Course]) -> Grid {
    let mut grid = Grid::new([
        ("station", Side::Left),
        ("figure", Side::Left),
        ("", Side::Left),
        ("p", Side::Right),
    ]);
    let word = |course: &Course| match course.movement {
        Movement::Rises => Some("rises"),
        Movement::Falls => Some("falls"),
        Movement::Jumps => Some("jumps"),
        Movement::Steady | Movement::Open => None,
    };
    let mut moving: Vec<(&Course, &str, f64)> = courses
        .iter()
        .filter_map(|course| Some((course, word(course)?, course.p?)))
        .collect();
    moving.sort_by(|a, b| a.2.total_cmp(&b.2));
    for (course, word, p) in moving.into_iter().take(LISTED) {
        let figure = match course.figure {
            WeekFigure::MtbfMin => "mtbf_min",
            WeekFigure::RepairMin => "mttr_min",
            WeekFigure::CycleRatio => "worked over planned",
            WeekFigure::FirstTimeOk => "first_time_ok",
        };
        grid.row([
            course.station.clone(),
            figure.to_owned(),
            word.to_owned(),
            number(p, 4),
        ]);
    }
    grid
}

fn down(causes: &[CauseRow]) -> Grid {
    let mut grid = Grid::new([
        ("station", Side::Left),
        ("cause", Side::Left),
        ("stops", Side::Right),
        ("hours down", Side::Right),
        ("share", Side::Right),
        ("running", Side::Right),
    ]);
    for row in causes.iter().take(LISTED) {
        grid.row([
            row.station.clone(),
            row.cause.clone(),
            number(row.stops as f64, 0),
            number(row.down_s / 3_600.0, 1),
            percent(row.share, 1),
            percent(row.running_share, 1),
        ]);
    }
    grid
}
