//! A book and a log of its plant, read together.

use std::path::Path;

use book::raw::Workbook;
use book::{Book, Problem};
use evidence::gather::Rules;
use evidence::read::{self, Files, LogError};
use evidence::roster::Roster;
use evidence::time::{Micros, SECOND};
use whole::network::{self, Built};

use super::check;
use super::problems::is_error;
use crate::arguments::Log as Asked;
use crate::interrupt;
use crate::outcome::Failure;

/// A book that can be run.
pub(super) struct Plant {
    pub(super) workbook: Workbook,
    pub(super) book: Book,
    pub(super) built: Built,
}

/// Reads a book and builds its network.
pub(super) fn plant(path: &Path) -> Result<Result<Plant, Vec<Problem>>, Failure> {
    let workbook = check::read(path)?;
    let checked = book::check(&workbook);
    if checked.problems.iter().any(is_error) {
        return Ok(Err(checked.problems));
    }
    Ok(network::build(&checked.book).map(|built| Plant {
        workbook,
        book: checked.book,
        built,
    }))
}

/// Reads the log of a plant; `keep` is the time whose spells are wanted.
pub(super) fn log(
    asked: &Asked,
    plant: &Plant,
    keep: impl FnOnce(&Roster) -> Option<(Micros, Micros)>,
) -> Result<Result<(Roster, read::Log), Vec<Problem>>, Failure> {
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
    match read() {
        Ok(found) => Ok(Ok(found)),
        Err(LogError::Problems(problems)) => Ok(Err(problems)),
        Err(LogError::Cancelled) => Err(Failure::cancelled("cancelled; nothing was answered")),
        Err(error) => Err(Failure::usage(error.to_string())),
    }
}
