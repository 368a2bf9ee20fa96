//! `linewright improve`: ideas ranked, or banks priced both ways.

use std::fmt::Write as _;
use std::path::Path;
use std::time::Instant;

use desk::report;
use flow::Watch;
use flow::statistics::Interval;
use serde_json::json;
use shops::coil::Shelf;
use whole::improve::buffers::{BankSettings, Banks, PricedBank, Trimmed};
use whole::improve::{AsItIs, Improve, ImproveSettings, Memory, RankedIdea, Unrun, buffers};

use super::check::{no_answer, read};
use crate::arguments::{ImproveArguments, Luck};
use crate::crew;
use crate::figure::{number, percent, things};
use crate::folder;
use crate::grid::{Grid, Side};
use crate::interrupt;
use crate::outcome::{Answer, Failure, Form};

/// Ranks the ideas, or prices the banks.
#[allow(
    clippy::disallowed_methods,
    reason = "how long more runs would take is the clock's"
)]
pub(crate) fn improve(asked: &ImproveArguments, form: Form) -> Result<Answer, Failure> {
    let start = Instant::now();
    let path = &asked.book.book;
    folder::must_be_new_and_end(&asked.luck.xlsx, "xlsx")?;
    let workbook = read(path)?;
    if asked.buffers {
        let settings = BankSettings {
            seed: asked.luck.seed,
            weeks: asked.luck.weeks,
            ..BankSettings::USUAL
        };
        let found = ask(&asked.luck, |memory, watch| {
            buffers::banks(&workbook, &settings, memory, watch)
        })?;
        let found = found.map_err(|why| no_answer(&why, path, form))?;
        if let Some(file) = &asked.luck.xlsx {
            folder::write(file, &report::banks_xlsx(&found)?)?;
        }
        return Answer::of(form, true, &found, || banks(&found));
    }
    let settings = ImproveSettings {
        seed: asked.luck.seed,
        weeks: asked.luck.weeks,
        runs: asked.runs,
        ideas: asked.ideas.into(),
        ..ImproveSettings::USUAL
    };
    let found = seek(&asked.luck, |memory, watch| {
        whole::improve::improve(&workbook, &settings, &Shelf::new(), memory, watch)
    })?;
    let found = found.map_err(|why| no_answer(&why, path, form))?;
    if let Some(file) = &asked.luck.xlsx {
        folder::write(file, &report::improve_xlsx(&found)?)?;
    }
    // Runs that were kept took no time now, and would tell a time too short.
    let run_s = match &asked.luck.keep {
        Some(_) => 0.0,
        None => start.elapsed().as_secs_f64() / f64::from(found.runs.max(1)),
    };
    Answer::of(form, true, &found, || text(&found, run_s, asked.all))
}

/// Asks on the threads wanted, with the runs kept before and after.
pub(super) fn ask<T: Send>(
    luck: &Luck,
    question: impl FnOnce(&Memory, &Watch<'_>) -> T + Send,
) -> Result<T, Failure> {
    on_kept(luck, |memory| {
        let progress = crew::trying();
        let watch = Watch {
            cancel: interrupt::flag(),
            progress: &progress,
        };
        question(memory, &watch)
    })
}

/// The same of a search that tells its best so far.
pub(super) fn seek<T: Send>(
    luck: &Luck,
    question: impl FnOnce(&Memory, &shops::Watch<'_>) -> T + Send,
) -> Result<T, Failure> {
    on_kept(luck, |memory| {
        let progress = crew::planning();
        let watch = shops::Watch {
            cancel: interrupt::flag(),
            progress: &progress,
        };
        question(memory, &watch)
    })
}

/// Works with the runs that are kept, and keeps those that were made.
fn on_kept<T: Send>(luck: &Luck, work: impl FnOnce(&Memory) -> T + Send) -> Result<T, Failure> {
    let memory = kept(luck.keep.as_deref())?;
    let found = crew::of(luck.threads)?.work(|| work(&memory));
    crew::wipe();
    keep(luck.keep.as_deref(), &memory)?;
    Ok(found)
}

/// Keeps the runs for the next question, where that was asked for.
pub(super) fn keep(file: Option<&Path>, memory: &Memory) -> Result<(), Failure> {
    let Some(file) = file else { return Ok(()) };
    let runs = memory.to_json();
    let runs = runs.map_err(|error| Failure::file("write", file, error))?;
    let text = json!({ "engine": desk::ENGINE, "runs": runs }).to_string();
    folder::write_anew(file, text.as_bytes())
}

/// The runs of an earlier question, where they are this program's.
#[allow(clippy::disallowed_methods, reason = "the runs are kept in a file")]
pub(super) fn kept(file: Option<&Path>) -> Result<Memory, Failure> {
    let Some(file) = file.filter(|file| file.exists()) else {
        return Ok(Memory::default());
    };
    let text = std::fs::read_to_string(file);
    let text = text.map_err(|error| Failure::file("read", file, error))?;
    let no_runs = || {
        Failure::usage(format!(
            "{} holds no runs; name a file that --keep wrote, or a new one",
            file.display()
        ))
    };
    let kept: serde_json::Value = serde_json::from_str(&text).map_err(|_| no_runs())?;
    if kept["engine"] != desk::ENGINE {
        return if kept["engine"].is_string() {
            // runs of another version are not these
            Ok(Memory::default())
        } else {
            Err(no_runs())
        };
    }
    Memory::from_json(kept["runs"].as_str().unwrap_or_default()).map_err(|_| no_runs())
}

/// A difference: signed, with its interval.
pub(super) fn gain(of: Interval, decimals: usize) -> String {
    let sign = if of.mean > 0.0 { "+" } else { "" };
    format!(
        "{sign}{} ± {}",
        number(of.mean, decimals),
        number(of.half_width, decimals)
    )
}

pub(super) fn plus_minus(of: Interval, decimals: usize) -> String {
    format!(
        "{} ± {}",
        number(of.mean, decimals),
        number(of.half_width, decimals)
    )
}

/// Where the plant stands, in a sentence.
pub(super) fn as_it_is(plant: &AsItIs) -> String {
    let held = plant
        .constraint
        .as_ref()
        .map_or_else(String::new, |(name, share)| {
            format!(
                "; {name} holds it back most ({} of the critical path)",
                percent(*share, 0)
            )
        });
    format!(
        "{} makes {} cars a week of {} needed, {} days from coil to car{held}.\n",
        plant.plant,
        plus_minus(plant.made, 0),
        number(plant.needed, 0),
        number(plant.days.mean, 1),
    )
}

/// How many more runs would tell the first two apart, and how long they would take.
fn further(found: &Improve, run_s: f64) -> String {
    let (Some(further), [first, second, ..]) = (found.further, found.ideas.as_slice()) else {
        return String::new();
    };
    let minutes = (f64::from(further) * run_s / 60.0).max(1.0);
    let time = if run_s > 0.0 {
        format!(
            ", about {} here",
            things(minutes.round() as usize, "minute", "minutes")
        )
    } else {
        String::new()
    };
    format!(
        "By the spread seen so far some {} more runs{time} would tell `{}` and `{}` apart: --runs {} (an \
         estimate).\n",
        number(f64::from(further), 0),
        first.idea.name,
        second.idea.name,
        found.runs + further
    )
}

/// Which idea is first, how sure that is, and what would make it surer.
fn leader(found: &Improve, run_s: f64) -> String {
    let Some(first) = found.ideas.first() else {
        return String::new();
    };
    let mut text = String::new();
    let _ = writeln!(
        text,
        "First of {}: {}, {} cars a week{}. That no other is better by more than {} cars has a \
             probability of at least {}{}{}.",
        things(found.ideas.len(), "idea", "ideas"),
        first.idea.name,
        gain(first.cars, 1),
        if first.shown {
            ""
        } else {
            " (no difference shown)"
        },
        number(found.indifferent, 1),
        percent(found.first_is_good, 0),
        alike(found),
        if found.reached {
            ""
        } else {
            "; more --runs would tell more"
        },
    );
    text.push_str(&further(found, run_s));
    text
}

fn text(found: &Improve, run_s: f64, all: bool) -> String {
    let mut text = as_it_is(&found.as_it_is);
    text.push_str(&leader(found, run_s));
    if found.sure > 1 {
        let _ = writeln!(
            text,
            "The first {} places are certain in the same sense.",
            found.sure
        );
    }
    if found.stopped {
        text.push_str(
            "Stopped before the end: this is the best so far; --keep a file to go on from here.\n",
        );
    }
    let _ = writeln!(
        text,
        "{} of {} after {} h of warm-up, seed {}; ± is the {} interval of the difference with the same\n\
         luck; ideas of one rank are not shown to differ from the first of them.",
        things(found.runs as usize, "run", "runs"),
        things(found.settings.weeks as usize, "week", "weeks"),
        number(found.as_it_is.run.warm_up_h, 0),
        found.settings.seed,
        percent(found.settings.level, 0),
    );
    text.push_str(&car(found));
    section(&mut text, "Ideas, the best first", &ranking(found));
    section(&mut text, "No car more, but money", &savings(found));
    if all {
        section(&mut text, "Not run", &unrun(found));
    } else {
        let _ = write!(
            text,
            "\n{} not run (--all lists them).\n",
            things(found.unrun.len(), "idea was", "ideas were")
        );
    }
    for note in &found.notes {
        let _ = write!(text, "\n{note}\n");
    }
    text
}

/// What a car more brings, and where that comes from.
fn car(found: &Improve) -> String {
    let Some(car) = &found.car else {
        return "What a car more is worth is not shown: the plant table has no margin_per_car, and not every \
                product has a price or nothing in the book says what one more car costs.\n"
            .to_owned();
    };
    let from = match (car.given, car.missing) {
        (true, _) => "as margin_per_car of the plant table says".to_owned(),
        (false, 0) => {
            "its price less what one more costs (`cost --working lost.car` takes it apart)"
                .to_owned()
        }
        (false, missing) => format!(
            "its price less what one more costs, too much while {} (`cost` lists them)",
            things(missing as usize, "price is missing", "prices are missing")
        ),
    };
    format!(
        "A car more brings {} {}: {from}. Worth counts every car more as sold.\n",
        found.as_it_is.currency,
        number(car.value, 0)
    )
}

fn savings(found: &Improve) -> Grid {
    let mut grid = Grid::new([("saves a year", Side::Right), ("what", Side::Left)]);
    for saving in &found.savings {
        grid.row([number(saving.a_year, 0), saving.name.clone()]);
    }
    grid
}

/// How many others are not told apart from the first.
fn alike(found: &Improve) -> String {
    let others = found
        .ideas
        .iter()
        .skip(1)
        .filter(|idea| idea.rank == 1)
        .count();
    if found.reached || others == 0 {
        return String::new();
    }
    format!(
        "; {} not told apart from it",
        things(others, "other is", "others are")
    )
}

fn section(text: &mut String, title: &str, grid: &Grid) {
    if !grid.is_empty() {
        let _ = write!(text, "\n{title}\n\n{grid}");
    }
}

fn ranking(found: &Improve) -> Grid {
    let mut grid = Grid::new([
        ("rank", Side::Right),
        ("cars a week", Side::Right),
        ("days", Side::Right),
        ("a year", Side::Right),
        ("cost per car gained", Side::Right),
        ("worth a year", Side::Right),
        ("runs", Side::Right),
        ("idea", Side::Left),
    ]);
    for idea in &found.ideas {
        grid.row(row(idea));
    }
    grid
}

fn row(idea: &RankedIdea) -> [String; 8] {
    let money = |value: Option<f64>| value.map_or_else(|| "-".to_owned(), |value| number(value, 0));
    let shown = match (idea.locked, idea.shown) {
        (true, _) => " (the plant locks itself up)",
        (_, true) => "",
        (_, false) => " (no difference shown)",
    };
    [
        idea.rank.to_string(),
        gain(idea.cars, 1),
        if idea.days_shown {
            gain(idea.days, 2)
        } else {
            "-".to_owned()
        },
        money(idea.yearly),
        money(idea.per_car),
        idea.worth
            .filter(|_| idea.shown)
            .map_or_else(|| "-".to_owned(), |worth| gain(worth, 0)),
        idea.runs.to_string(),
        format!("{}{shown}", idea.idea.name),
    ]
}

fn unrun(found: &Improve) -> Grid {
    let mut grid = Grid::new([("idea", Side::Left), ("why", Side::Left)]);
    for idea in &found.unrun {
        grid.row([idea.idea.name.clone(), why(&idea.why)]);
    }
    grid
}

/// Why an idea was not run, in words.
pub(super) fn why(why: &Unrun) -> String {
    match why {
        Unrun::Stands => "changes nothing: the cells hold this already".to_owned(),
        Unrun::Unseen => "changes nothing that the run of the plant sees".to_owned(),
        Unrun::Same { other } => format!("does what `{other}` does"),
        Unrun::Little { promise } => {
            format!(
                "the critical path promises {} cars a week at most",
                number(*promise, 1)
            )
        }
        Unrun::Many { promise } => {
            format!(
                "promises {} cars a week at most; --ideas runs more",
                number(*promise, 1)
            )
        }
        Unrun::Worse { cars, days } => format!(
            "does harm, alone or beside others: {} cars a week, {} days",
            gain(*cars, 1),
            gain(*days, 2)
        ),
        Unrun::Refused { problems } => problems
            .iter()
            .map(ToString::to_string)
            .collect::<Vec<_>>()
            .join("; "),
    }
}

fn banks(found: &Banks) -> String {
    let mut text = as_it_is(&found.as_it_is);
    let _ = writeln!(
        text,
        "{} of {} priced both ways in {} pairs of runs each, those that hold most and those near the\n\
         critical path; ± is the {} interval, a dash where no difference is shown.",
        found.banks.len(),
        things(found.of, "bank", "banks"),
        found.settings.runs,
        percent(found.settings.level, 0),
    );
    let mut grid = Grid::new([
        ("places", Side::Right),
        ("holds", Side::Right),
        ("half: cars", Side::Right),
        ("days", Side::Right),
        ("half more: cars", Side::Right),
        ("days", Side::Right),
        ("from, to", Side::Left),
    ]);
    for bank in &found.banks {
        grid.row(bank_row(bank));
    }
    section(
        &mut text,
        "Banks, those whose places are worth most cars first",
        &grid,
    );
    text.push_str(
        "\nPlaces on the way through an oven or a cooler are process time; whoever owns the process\n\
         decides whether they can go.\n",
    );
    for (title, trimmed) in [
        ("Fewest places that lose no cars", &found.fewest),
        ("The same places, better split", &found.split),
    ] {
        if let Some(trimmed) = trimmed {
            trim(&mut text, title, trimmed);
        }
    }
    text
}

fn bank_row(bank: &PricedBank) -> [String; 7] {
    let cell = |shown: bool, of: Interval, decimals: usize| {
        if shown {
            gain(of, decimals)
        } else {
            "-".to_owned()
        }
    };
    [
        bank.places.to_string(),
        number(bank.content, 1),
        cell(bank.fewer.cars_shown, bank.fewer.cars, 1),
        cell(bank.fewer.days_shown, bank.fewer.days, 2),
        cell(bank.more.cars_shown, bank.more.cars, 1),
        cell(bank.more.days_shown, bank.more.days, 2),
        format!("{}, {}", bank.from, bank.to),
    ]
}

fn trim(text: &mut String, title: &str, trimmed: &Trimmed) {
    let mut grid = Grid::new([("places", Side::Right), ("link", Side::Left)]);
    for (row, places) in &trimmed.places {
        grid.row([places.to_string(), row.clone()]);
    }
    let title = format!(
        "{title}: {:+} places, {} cars a week, {} days",
        trimmed.more,
        gain(trimmed.cars, 1),
        gain(trimmed.days, 2)
    );
    section(text, &title, &grid);
}
