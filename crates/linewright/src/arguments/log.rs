//! What may be asked of a log.

use std::path::PathBuf;

use clap::{Args, ValueEnum};

use super::{Book, between};

/// A log and how its rows are judged.
#[derive(Debug, Args)]
pub(crate) struct Log {
    /// A state log (.csv, or .parquet in a build with that feature), or a folder with states.csv
    /// and what goes with it
    pub(crate) log: PathBuf,
    /// How the log's own columns and words are read; `log_map.csv` beside the log unless told
    #[arg(long, value_name = "FILE")]
    pub(crate) map: Option<PathBuf>,
    /// Stops of one cause with less work than this between them are one stop, seconds
    #[arg(long, value_name = "S", default_value_t = 0, value_parser = between(0_u32, 86_400))]
    pub(crate) merge: u32,
    /// Stops shorter than this are short ones, seconds
    #[arg(long, value_name = "S", default_value_t = 120, value_parser = between(0_u32, 86_400))]
    pub(crate) short: u32,
}

/// How finely figures are told.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum By {
    /// All of the log in one.
    Total,
    /// Day by day.
    Day,
    /// Shift by shift, all days together.
    Shift,
    /// Every shift of every day.
    DayAndShift,
}

/// How `learn` answers.
#[derive(Debug, Args)]
pub(crate) struct LearnArguments {
    #[command(flatten)]
    pub(crate) book: Book,
    #[command(flatten)]
    pub(crate) log: Log,
    /// Show every cell, not only those that differ
    #[arg(long)]
    pub(crate) all: bool,
    /// Leave out the run that tells whether the model is believable
    #[arg(long)]
    pub(crate) no_run: bool,
    /// Write the ISO 22400-2 figures of every station, line and shop into this new CSV file
    #[arg(long, value_name = "FILE")]
    pub(crate) figures: Option<PathBuf>,
    /// How finely the figures are told
    #[arg(long, value_enum, default_value_t = By::Total)]
    pub(crate) by: By,
    /// Write planned.csv and hours.csv, what the book plans, into this new or empty folder: for
    /// questions in SQL
    #[arg(long, value_name = "FOLDER")]
    pub(crate) planned: Option<PathBuf>,
    /// Write all proposals into this new CSV file; say yes in `accept` where one is believed
    #[arg(long, value_name = "FILE")]
    pub(crate) write: Option<PathBuf>,
    /// Take over the rows of such a file whose `accept` says yes
    #[arg(long, value_name = "FILE", requires = "out")]
    pub(crate) accept: Option<PathBuf>,
    /// The new or empty folder for the book with what was accepted
    #[arg(long, value_name = "FOLDER", requires = "accept")]
    pub(crate) out: Option<PathBuf>,
    /// Seed of the random numbers
    #[arg(long, default_value_t = 1, value_parser = between(0, u64::MAX))]
    pub(crate) seed: u64,
}

/// How `day` answers.
#[derive(Debug, Args)]
pub(crate) struct DayArguments {
    #[command(flatten)]
    pub(crate) book: Book,
    #[command(flatten)]
    pub(crate) log: Log,
    /// The day, such as 2026-03-10; the last whole day of the log unless told
    #[arg(long, value_name = "DATE")]
    pub(crate) day: Option<String>,
    /// Losses that are told apart
    #[arg(long, value_name = "N", default_value_t = 8, value_parser = between(1_u8, 60))]
    pub(crate) losses: u8,
    /// Replays with other luck before the day
    #[arg(long, default_value_t = 10, value_parser = between(2_u32, 1_000))]
    pub(crate) replications: u32,
    /// Write the morning report, one page of A4, into this new HTML file
    #[arg(long, value_name = "FILE")]
    pub(crate) html: Option<PathBuf>,
    /// Seed of the random numbers
    #[arg(long, default_value_t = 1, value_parser = between(0, u64::MAX))]
    pub(crate) seed: u64,
    /// Threads to use; all cores unless told otherwise
    #[arg(long, value_parser = between(1_u16, 1024))]
    pub(crate) threads: Option<u16>,
}

/// How `rehearse` answers.
#[derive(Debug, Args)]
pub(crate) struct RehearseArguments {
    #[command(flatten)]
    pub(crate) book: Book,
    /// A new or empty folder for the log
    pub(crate) out: PathBuf,
    /// Weeks logged
    #[arg(long, default_value_t = 2, value_parser = between(1_u32, 104))]
    pub(crate) weeks: u32,
    /// Weeks run before, so that the plant is full
    #[arg(long, value_name = "WEEKS", default_value_t = 2, value_parser = between(0_u32, 26))]
    pub(crate) warm_up: u32,
    /// Write the tables as Parquet instead of CSV; needs a build with the feature `parquet`
    #[arg(long)]
    pub(crate) parquet: bool,
    /// Seed of the random numbers; the same seed gives the same log
    #[arg(long, default_value_t = 1, value_parser = between(0, u64::MAX))]
    pub(crate) seed: u64,
}
