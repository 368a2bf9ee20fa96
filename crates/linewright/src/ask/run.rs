//! `linewright run`: the plant simulated, and what that says of the plan.

use std::fmt::Write as _;
use std::path::Path;

use flow::Watch;
use flow::statistics::Interval;
use serde::Serialize;
use whole::findings::{self, Bridge, NoAnswer, RunSettings, Suspect, Verdict};

use super::check::{no_answer, refused, sound};
use super::problems::listed;
use desk::report::strip;

use crate::arguments::RunArguments;
use crate::crew::{self, Crew};
use crate::figure::{number, percent, things};
use crate::folder;
use crate::grid::{Grid, Side};
use crate::interrupt;
use crate::outcome::{Answer, Failure, Form};

/// The findings with the plain yes or no that the exit code gives.
#[derive(Serialize)]
struct Found<'f> {
    holds: bool,
    #[serde(flatten)]
    findings: &'f findings::Answer,
}

/// Runs the plant and words the findings.
pub(crate) fn run(asked: &RunArguments, form: Form) -> Result<Answer, Failure> {
    folder::must_be_new_and_end(&asked.strip, "svg")?;
    let path = &asked.book.book;
    let mut plant = sound(path, form)?;
    if asked.timetable_lots {
        plant = timetabled(&plant).map_err(|problems| refused(&problems, path, form))?;
    }
    if asked.planned_order {
        plant = whole::order::by_plan(&plant);
    }
    let settings = RunSettings {
        replications: asked.replications,
        weeks: asked.weeks,
        seed: asked.seed,
        trials: asked.trials.into(),
        ..RunSettings::USUAL
    };
    let crew = crew::of(asked.threads)?;
    let found = match asked.precise {
        None => find(&crew, &plant, &settings),
        Some(cars) => find_precisely(&crew, &plant, &settings, cars),
    };
    let found = found.map_err(|why| no_answer(&why, path, form))?;
    if let Some(file) = &asked.strip {
        draw(file, &plant, &found)?;
    }
    let holds = found.verdict == Verdict::Met;
    let json = Found {
        holds,
        findings: &found,
    };
    Answer::of(form, holds, &json, || text(&found))
}

/// The plant with its press lines on their timetable; what stands against one,
/// if there is none.
fn timetabled(book: &book::Book) -> Result<book::Book, Vec<book::Problem>> {
    let progress = crew::planning();
    let watch = whole::press::Watch {
        cancel: interrupt::flag(),
        progress: &progress,
    };
    let press = whole::press::press(book, &watch)?;
    crew::wipe();
    if press.lots.is_empty() {
        return Err(press.notes);
    }
    Ok(whole::press::by_timetable(book))
}

/// Draws the strip: what a shop makes alone is the plan's, what it makes in the
/// flow the run's.
fn draw(file: &Path, book: &book::Book, found: &findings::Answer) -> Result<(), Failure> {
    let plan = whole::plan::plan(book)
        .map_err(|problems| Failure::no(format!("no strip: {}", listed(&problems))))?;
    let drawing = strip::svg(&desk::report::strip_of(&plan, found));
    folder::write(file, drawing.as_bytes())
}

/// The findings, with progress shown and Ctrl-C heard.
pub(crate) fn find(
    crew: &Crew,
    book: &book::Book,
    settings: &RunSettings,
) -> Result<findings::Answer, NoAnswer> {
    let found = crew.work(|| {
        let progress = crew::progress();
        let watch = Watch {
            cancel: interrupt::flag(),
            progress: &progress,
        };
        findings::find(book, settings, &watch)
    });
    crew::wipe();
    found
}

/// Adds replications until the interval is narrow enough; the trials, which
/// cost as much again, wait for the last round.
fn find_precisely(
    crew: &Crew,
    book: &book::Book,
    settings: &RunSettings,
    cars: f64,
) -> Result<findings::Answer, NoAnswer> {
    const MOST: u32 = 10_000;
    let mut round = RunSettings {
        trials: 0,
        ..*settings
    };
    loop {
        let found = find(crew, book, &round)?;
        let width = found.made.half_width;
        if width <= cars || round.replications >= MOST {
            let last = RunSettings {
                trials: settings.trials,
                ..round
            };
            return find(crew, book, &last);
        }
        // Half-widths shrink with the square root of the replications; a tenth
        // more saves most second rounds.
        let factor = (width / cars) * (width / cars) * 1.1;
        let wanted = (f64::from(round.replications) * factor).ceil();
        round.replications = wanted.min(f64::from(MOST)) as u32;
    }
}

fn text(found: &findings::Answer) -> String {
    let mut text = capital(&found.sentence);
    if !text.ends_with('.') {
        text.push('.');
    }
    text.push('\n');
    let run = &found.run;
    // Writing to a `String` cannot fail.
    let _ = writeln!(
        text,
        "{} of {} after {} h of warm-up, seed {}; ± is the {} interval.",
        things(run.replications as usize, "replication", "replications"),
        things(run.weeks as usize, "week", "weeks"),
        number(run.warm_up_h, 1),
        run.seed,
        percent(run.level, 0)
    );
    // A plant that stands still makes no cars to speak of, and those it made
    // before say nothing of their time.
    if found.deadlock.is_none() {
        section(&mut text, "Cars a week", &products(found));
        coil_to_car(&mut text, found);
        first_time_right(&mut text, found);
    }
    section(
        &mut text,
        "In the plant, by stage from coil to car; days on the way that takes longest",
        &stages(found),
    );
    if !found.constraint.is_empty() {
        section(&mut text, "What holds the plant back", &suspects(found));
        explain(&mut text, &found.constraint);
    }
    if let Some(bridge) = &found.bridge {
        let title = format!(
            "From needed to made, as {} sees it (cars a week)",
            bridge.station
        );
        section(&mut text, &title, &parts(bridge));
    }
    let title = "Stations that the planned order overruns: from the plan, walked car by car with mean \
                 times and no stops";
    section(&mut text, title, &overruns(found));
    let title = "The same stations in the run, with its stops and waits, a week";
    section(&mut text, title, &overruns_in_run(found));
    for note in &found.notes {
        let _ = writeln!(text, "\n{note}");
    }
    text
}

fn overruns(found: &findings::Answer) -> Grid {
    let mut grid = Grid::new([
        ("station", Side::Left),
        ("drift, s", Side::Right),
        ("heavy cars", Side::Right),
        ("past it", Side::Right),
        ("worst, s", Side::Right),
        ("at place", Side::Right),
        ("on the line", Side::Right),
        ("worst, s", Side::Right),
        ("at place", Side::Right),
    ]);
    let whole = |count: u32| number(f64::from(count), 0);
    for row in &found.overruns {
        grid.row([
            row.station.clone(),
            number(row.drift_s, 0),
            whole(row.heavy_cars),
            whole(row.overruns),
            number(row.worst_s, 0),
            whole(row.worst_place),
            whole(row.overruns_on_line),
            number(row.worst_on_line_s, 0),
            whole(row.worst_place_on_line),
        ]);
    }
    grid
}

fn overruns_in_run(found: &findings::Answer) -> Grid {
    let mut grid = Grid::new([
        ("station", Side::Left),
        ("cars past the drift", Side::Right),
        ("begun past it", Side::Right),
        ("behind when a car comes, s", Side::Right),
        ("worst, s", Side::Right),
        ("worst car", Side::Left),
    ]);
    for row in &found.overruns {
        let Some(seen) = &row.in_run else { continue };
        grid.row([
            row.station.clone(),
            interval(seen.past, 1),
            interval(seen.begun_past, 1),
            interval(seen.behind_s, 1),
            interval(seen.worst_s, 0),
            seen.worst_car.clone(),
        ]);
    }
    grid
}

fn capital(sentence: &str) -> String {
    let mut letters = sentence.chars();
    match letters.next() {
        Some(first) => first.to_uppercase().chain(letters).collect(),
        None => String::new(),
    }
}

fn section(text: &mut String, title: &str, grid: &Grid) {
    if !grid.is_empty() {
        let _ = write!(text, "\n{title}\n\n{grid}");
    }
}

/// A mean with its interval.
fn interval(seen: Interval, decimals: usize) -> String {
    if seen.half_width.is_finite() {
        format!(
            "{} ± {}",
            number(seen.mean, decimals),
            number(seen.half_width, decimals)
        )
    } else {
        number(seen.mean, decimals)
    }
}

fn word(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Met => "met",
        Verdict::Open => "not shown",
        Verdict::Missed => "NOT MET",
    }
}

fn products(found: &findings::Answer) -> Grid {
    let mut grid = Grid::new([
        ("product", Side::Left),
        ("needed", Side::Right),
        ("made", Side::Right),
        ("", Side::Left),
    ]);
    for product in &found.products {
        grid.row([
            product.product.clone(),
            number(product.needed, 0),
            interval(product.made, 1),
            word(product.verdict).to_owned(),
        ]);
    }
    grid.row([
        "all".to_owned(),
        number(found.needed, 0),
        interval(found.made, 1),
        word(found.verdict).to_owned(),
    ]);
    grid
}

fn coil_to_car(text: &mut String, found: &findings::Answer) {
    let time = &found.coil_to_car;
    let _ = writeln!(
        text,
        "\nCoil to car: half of the cars within {} days, nine in ten within {} (one in ten within {});\n\
         the target of {} days for nine in ten is {}.",
        interval(time.p50, 2),
        interval(time.p90, 2),
        interval(time.p10, 2),
        number(time.target_days, 1),
        word(time.verdict)
    );
}

/// The share of cars right at the first try, and where it is lost.
fn first_time_right(text: &mut String, found: &findings::Answer) {
    let right = &found.first_time_right;
    let _ = write!(
        text,
        "\nFirst time right: {} of the cars pass every check on their way at the first try",
        share_interval(right.made)
    );
    if let Some(planned) = right.planned {
        let _ = write!(text, ", {} by plan", percent(planned, 1));
    }
    let _ = match right.target.zip(right.verdict) {
        Some((target, verdict)) => writeln!(
            text,
            ";\nthe target of {} is {}.",
            percent(target, 1),
            word(verdict)
        ),
        None => writeln!(text, ";\nthe book sets no first_time_target."),
    };
    if let Some(differs) = &right.differs {
        let _ = writeln!(text, "{}.", capital(differs));
    }
    let mut grid = Grid::new([
        ("check", Side::Left),
        ("first to stop, of all cars", Side::Right),
        ("of the loss", Side::Right),
        ("first time right without it", Side::Right),
    ]);
    for loss in &right.losses {
        grid.row([
            loss.station.clone(),
            share_interval(loss.lost),
            percent(loss.of_loss, 1),
            percent(loss.if_right, 1),
        ]);
    }
    section(text, "Where first time right is lost", &grid);
}

/// A share with its interval.
fn share_interval(seen: Interval) -> String {
    if seen.half_width.is_finite() {
        let mean = number(100.0 * seen.mean, 1);
        format!("{mean} ± {}", percent(seen.half_width, 1))
    } else {
        percent(seen.mean, 1)
    }
}

fn stages(found: &findings::Answer) -> Grid {
    let mut grid = Grid::new([
        ("stage", Side::Left),
        ("shop", Side::Left),
        ("cars or pieces", Side::Right),
        ("days", Side::Right),
        ("by plan at most", Side::Right),
    ]);
    let days = |seen: Option<Interval>| seen.map_or_else(String::new, |days| interval(days, 2));
    let planned = |days: Option<f64>| days.map_or_else(String::new, |days| number(days, 2));
    for stage in &found.stages {
        grid.row([
            stage.stage.clone(),
            stage.shop.clone(),
            interval(stage.jobs, 1),
            days(stage.days),
            planned(stage.planned_days),
        ]);
    }
    grid.row([
        "all".to_owned(),
        String::new(),
        interval(found.jobs, 1),
        days(found.coil_to_car.by_stage),
        planned(found.coil_to_car.planned_days),
    ]);
    grid
}

fn suspects(found: &findings::Answer) -> Grid {
    let mut grid = Grid::new([
        ("station", Side::Left),
        ("critical path", Side::Right),
        ("working", Side::Right),
        ("starved", Side::Right),
        ("blocked", Side::Right),
        ("stopped", Side::Right),
        ("changing", Side::Right),
    ]);
    for suspect in &found.constraint {
        let Some(states) = found.stations.get(suspect.station) else {
            continue;
        };
        grid.row([
            suspect.name.clone(),
            percent(suspect.path.total(), 1),
            percent(states.working.mean, 1),
            percent(states.starved.mean, 1),
            percent(states.blocked.mean, 1),
            percent(states.stopped.mean, 1),
            percent(states.changeover.mean, 1),
        ]);
    }
    grid
}

fn explain(text: &mut String, suspects: &[Suspect]) {
    for suspect in suspects {
        if suspect.trials.is_empty() {
            continue;
        }
        let _ = writeln!(text, "\n  {}: {}", suspect.name, suspect.explanation);
        for trial in &suspect.trials {
            let _ = writeln!(text, "    {}", trial.finding);
        }
    }
}

fn parts(bridge: &Bridge) -> Grid {
    let mut grid = Grid::new([("", Side::Left), ("cars a week", Side::Right)]);
    grid.row(["needed".to_owned(), number(bridge.needed, 0)]);
    for part in &bridge.parts {
        let sign = if part.cars.mean > 0.0 { "+" } else { "" };
        grid.row([
            part.words.clone(),
            format!("{sign}{}", interval(part.cars, 1)),
        ]);
    }
    grid.row(["made".to_owned(), interval(bridge.made, 1)]);
    grid
}
