//! A book and a log of its plant, read together.

use std::path::Path;

use book::Book;
use book::raw::Workbook;
use evidence::gather::Rules;
use evidence::read::{self, Files, LogError};
use evidence::roster::Roster;
use evidence::time::{Micros, SECOND};
use whole::network::{self, Built};

use super::check::{refused, sound_workbook};
use crate::arguments::Log as Asked;
use crate::interrupt;
use crate::outcome::{Failure, Form};

/// A book that can be run.
pub(super) struct Plant {
    pub(super) workbook: Workbook,
    pub(super) book: Book,
    pub(super) built: Built,
}

/// Reads a book and builds its network.
pub(super) fn plant(path: &Path, form: Form) -> Result<Plant, Failure> {
    let (workbook, book) = sound_workbook(path, form)?;
    let built = network::build(&book).map_err(|problems| refused(&problems, path, form))?;
    Ok(Plant {
        workbook,
        book,
        built,
    })
}

/// Reads the log of a plant; `keep` is the time whose spells are wanted.
pub(super) fn log(
    asked: &Asked,
    plant: &Plant,
    form: Form,
    keep: impl FnOnce(&Roster) -> Option<(Micros, Micros)>,
) -> Result<(Roster, read::Log), Failure> {
    let read = || -> Result<(Roster, read::Log), LogError> {
        let files = Files::at(&asked.log, asked.map.as_deref())?;
        let roster = Roster::of(&plant.book, &plant.built, files.read_map()?);
        let rules = Rules {
            merge: Micros::from(asked.merge) * SECOND,
            short: Micros::from(asked.short) * SECOND,
            keep: keep(&roster),
        };
        let log = read::read(&files, &roster, rules, interrupt::flag())?;
        Ok((roster, log))
    };
    read().map_err(|why| match why {
        LogError::Problems(problems) => refused(&problems, &asked.log, form),
        LogError::Cancelled => Failure::cancelled("cancelled; nothing was answered"),
        error => Failure::usage(error.to_string()),
    })
}
