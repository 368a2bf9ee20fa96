//! `linewright rehearse`: a log of the plant's own run.

use std::fs::File;
use std::io::BufWriter;
use std::path::Path;

use evidence::map::LogMap;
use evidence::planned::{hours_csv, planned_csv};
use evidence::rehearse::{self, Rehearsal, Settings};
use evidence::roster::Roster;
use evidence::time::Micros;
use flow::Halt;
use serde_json::json;

use super::logged;
use crate::arguments::RehearseArguments;
use crate::figure::{number, things};
use crate::folder;
use crate::interrupt;
use crate::outcome::{Answer, Failure, Form};

/// Runs the plant and writes what a log would say of it.
pub(crate) fn rehearse(asked: &RehearseArguments, form: Form) -> Result<Answer, Failure> {
    let plant = logged::plant(&asked.book.book, form)?;
    if asked.parquet && !cfg!(feature = "parquet") {
        return Err(Failure::usage(
            "--parquet: this build cannot write Parquet; leave it out for CSV, or build with: \
             cargo build --release -p linewright --features parquet",
        ));
    }
    folder::make_empty(&asked.out)?;
    let settings = Settings {
        seed: asked.seed,
        warm_up_weeks: asked.warm_up,
        weeks: asked.weeks,
    };
    let heard = rehearse::rehearse(&plant.book, &plant.built, &settings, interrupt::flag());
    let heard = heard.map_err(|halt| match halt {
        Halt::Cancelled => Failure::cancelled("cancelled; nothing was written"),
        Halt::Settings(what) => Failure::no(what),
    })?;
    let roster = Roster::of(&plant.book, &plant.built, LogMap::default());
    let classes: Vec<String> = plant
        .built
        .classes
        .iter()
        .map(|class| class.name.clone())
        .collect();
    let truth = rehearse::truth(&plant.book, &plant.built);
    let folder = asked.out.as_path();
    if asked.parquet {
        columns(folder, &heard, &roster, &classes)?;
    } else {
        lines(folder, &heard, &roster, &classes)?;
    }
    write(folder, "truth.csv", |to| rehearse::truth_csv(&truth, to))?;
    planned(folder, &roster, heard.span)?;
    let json = json!({
        "log": folder,
        "weeks": asked.weeks,
        "seed": asked.seed,
        "rows": heard.rows.len(),
        "cars": heard.cars.len(),
        "rejects": heard.rejects.len(),
        "truth": truth.len(),
    });
    Answer::of(form, true, &json, || {
        format!(
            "The log of {} is in {}: {} rows of states, {} cars out, {} jobs not right.\n\
             What is true of it, {} cells of the book, is in truth.csv.\n",
            things(asked.weeks as usize, "week", "weeks"),
            folder.display(),
            number(heard.rows.len() as f64, 0),
            number(heard.cars.len() as f64, 0),
            number(heard.rejects.len() as f64, 0),
            number(truth.len() as f64, 0),
        )
    })
}

/// The tables of the log as CSV.
fn lines(
    folder: &Path,
    heard: &Rehearsal,
    roster: &Roster,
    classes: &[String],
) -> Result<(), Failure> {
    write(folder, "states.csv", |to| {
        rehearse::states_csv(heard, roster, classes, to)
    })?;
    write(folder, "counts.csv", |to| {
        rehearse::counts_csv(heard, roster, to)
    })?;
    write(folder, "quality.csv", |to| {
        rehearse::quality_csv(heard, roster, to)
    })?;
    write(folder, "genealogy.csv", |to| {
        rehearse::genealogy_csv(heard, classes, to)
    })
}

/// The same as Parquet.
#[cfg(feature = "parquet")]
fn columns(
    folder: &Path,
    heard: &Rehearsal,
    roster: &Roster,
    classes: &[String],
) -> Result<(), Failure> {
    use rehearse::parquet;
    write(folder, "states.parquet", |to| {
        parquet::states_parquet(heard, roster, classes, to)
    })?;
    write(folder, "counts.parquet", |to| {
        parquet::counts_parquet(heard, roster, to)
    })?;
    write(folder, "quality.parquet", |to| {
        parquet::quality_parquet(heard, roster, to)
    })?;
    write(folder, "genealogy.parquet", |to| {
        parquet::genealogy_parquet(heard, classes, to)
    })
}

/// Without the feature the question was refused before.
#[cfg(not(feature = "parquet"))]
fn columns(_: &Path, _: &Rehearsal, _: &Roster, _: &[String]) -> Result<(), Failure> {
    Ok(())
}

/// What the book plans, as tables beside a log.
pub(super) fn planned(
    folder: &Path,
    roster: &Roster,
    span: (Micros, Micros),
) -> Result<(), Failure> {
    write(folder, "planned.csv", |to| planned_csv(roster, to))?;
    write(folder, "hours.csv", |to| hours_csv(roster, span, to))
}

fn write(
    folder: &Path,
    name: &str,
    rows: impl FnOnce(&mut BufWriter<File>) -> std::io::Result<()>,
) -> Result<(), Failure> {
    let path = folder.join(name);
    let file = folder::create(&path)?;
    rows(&mut BufWriter::with_capacity(1 << 20, file))
        .map_err(|error| Failure::file("write", &path, error))
}
