//! Why there is no answer.

use std::fmt;
use std::path::PathBuf;

/// Why there is no answer, and the way out.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Fault {
    /// A folder that cannot be read, and why.
    Folder(PathBuf, String),
    /// No plant in this folder.
    NoPlant(PathBuf),
    /// A plant's folder that lacks a file which comes from its book.
    NotPlanned(PathBuf, &'static str),
    /// What the engine says of the files or the question.
    Engine(String),
    /// Cancelled before the answer was there.
    Cancelled,
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Folder(folder, why) => write!(f, "cannot read {}: {why}", folder.display()),
            Self::NoPlant(folder) => write!(
                f,
                "{}: no states*.parquet in it or in a folder of it; give a folder with a folder \
                 for each plant, as `linewright rehearse --parquet` writes one",
                folder.display()
            ),
            Self::NotPlanned(folder, file) => write!(
                f,
                "{}: no {file} beside the states; write it by `linewright learn BOOK LOG \
                 --planned FOLDER` and put it there",
                folder.display()
            ),
            Self::Engine(what) => f.write_str(what),
            Self::Cancelled => f.write_str("cancelled; nothing was answered"),
        }
    }
}

impl std::error::Error for Fault {}
