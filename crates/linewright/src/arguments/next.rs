//! What may be asked of ideas, money and growth.

use std::path::PathBuf;

use clap::Args;
use whole::improve::{ImproveSettings, ReachSettings};

use super::{Book, above_zero, between};

/// How `improve` ranks ideas.
#[derive(Debug, Args)]
pub(crate) struct ImproveArguments {
    #[command(flatten)]
    pub(crate) book: Book,
    /// Price the banks both ways instead: cars and days with fewer places and with more
    #[arg(long)]
    pub(crate) buffers: bool,
    /// Ideas that are run at most, the book's own first
    #[arg(long, default_value_t = 60, value_parser = between(1_u16, 500))]
    pub(crate) ideas: u16,
    /// Runs in all at most; more tell closer ideas apart
    #[arg(long, default_value_t = ImproveSettings::USUAL.runs, value_parser = between(8_u32, 1_000_000))]
    pub(crate) runs: u32,
    #[command(flatten)]
    pub(crate) luck: Luck,
    /// Show the ideas that were not run too, with the reason
    #[arg(long)]
    pub(crate) all: bool,
}

/// The luck that variants of a plant share, and where their runs are kept.
#[derive(Debug, Args)]
pub(crate) struct Luck {
    /// Weeks measured in each run, after the warm-up
    #[arg(long, default_value_t = 1, value_parser = between(1_u32, 52))]
    pub(crate) weeks: u32,
    /// Seed of the random numbers; the same seed gives the same answer
    #[arg(long, default_value_t = 1, value_parser = between(0, u64::MAX))]
    pub(crate) seed: u64,
    /// Threads to use; all cores unless told otherwise
    #[arg(long, value_parser = between(1_u16, 1024))]
    pub(crate) threads: Option<u16>,
    /// Keep the runs in this file and go on from those that it holds
    #[arg(long, value_name = "FILE")]
    pub(crate) keep: Option<PathBuf>,
    /// Write all tables into this new workbook
    #[arg(long, value_name = "FILE")]
    pub(crate) xlsx: Option<PathBuf>,
}

/// What `reach` is to reach.
#[derive(Debug, Args)]
pub(crate) struct ReachArguments {
    #[command(flatten)]
    pub(crate) book: Book,
    /// Cars a week to be reached; with --days both, without it the rate alone
    #[arg(long, value_name = "N", value_parser = above_zero, required_unless_present = "days")]
    pub(crate) cars_per_week: Option<f64>,
    /// Days from coil to car to be kept by nine cars in ten
    #[arg(long, value_name = "D", value_parser = above_zero)]
    pub(crate) days: Option<f64>,
    /// Ideas considered at most, the book's own first
    #[arg(long, default_value_t = 24, value_parser = between(1_u16, 60))]
    pub(crate) ideas: u16,
    /// Runs in all at most
    #[arg(long, default_value_t = ReachSettings::USUAL.runs, value_parser = between(50_u32, 1_000_000))]
    pub(crate) runs: u32,
    #[command(flatten)]
    pub(crate) luck: Luck,
}

/// What `cost` shows and writes.
#[derive(Debug, Args)]
pub(crate) struct CostArguments {
    #[command(flatten)]
    pub(crate) book: Book,
    /// Show the working of a figure, e.g. `cost.body` or a part's name
    #[arg(long, value_name = "FIGURE")]
    pub(crate) working: Option<String>,
    /// Show every missing price and every part that cannot be compared
    #[arg(long)]
    pub(crate) all: bool,
    /// Run the plant for where lost minutes cost cars and what ideas give; else the plan's
    /// weakest station tells
    #[arg(long)]
    pub(crate) run: bool,
    /// What ideas give by the runs that `improve --keep FILE` kept, without further ones; with
    /// --run go on from them and keep those made
    #[arg(long, value_name = "FILE")]
    pub(crate) keep: Option<PathBuf>,
    /// Seed of that run, and of the runs kept
    #[arg(long, default_value_t = 1, value_parser = between(0, u64::MAX))]
    pub(crate) seed: u64,
    /// Write all tables into this new workbook
    #[arg(long, value_name = "FILE")]
    pub(crate) xlsx: Option<PathBuf>,
    /// Threads to use; all cores unless told otherwise
    #[arg(long, value_name = "N", value_parser = between(1_u16, 1024))]
    pub(crate) threads: Option<u16>,
}

/// What `growth` shows and writes.
#[derive(Debug, Args)]
pub(crate) struct GrowthArguments {
    #[command(flatten)]
    pub(crate) book: Book,
    /// Run the plant of every period too, as it is and with the ideas taken by then
    #[arg(long)]
    pub(crate) run: bool,
    /// Weeks measured in each replication of a run, after the warm-up
    #[arg(long, default_value_t = 1, value_parser = between(1_u32, 10_000))]
    pub(crate) weeks: u32,
    /// Independent replications of a run
    #[arg(long, default_value_t = 6, value_parser = between(2_u32, 100_000))]
    pub(crate) replications: u32,
    /// Seed of the runs
    #[arg(long, default_value_t = 1, value_parser = between(0, u64::MAX))]
    pub(crate) seed: u64,
    /// Show every week of the ramp
    #[arg(long)]
    pub(crate) all: bool,
    /// Write all tables into this new workbook
    #[arg(long, value_name = "FILE")]
    pub(crate) xlsx: Option<PathBuf>,
    /// Threads to use; all cores unless told otherwise
    #[arg(long, value_name = "N", value_parser = between(1_u16, 1024))]
    pub(crate) threads: Option<u16>,
}
