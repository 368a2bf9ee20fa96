//! What may be asked of many plants.

use std::path::PathBuf;

use clap::Args;

use super::between;

/// How `plants` answers.
#[derive(Debug, Args)]
pub(crate) struct PlantsArguments {
    /// A folder with a folder for each plant: states*.parquet, planned.csv, hours.csv and, where
    /// there is one, counts.parquet; or such a folder itself
    pub(crate) folder: PathBuf,
    /// `figures` (ISO 22400-2), `stops`, `cycles`, or a file that ends in .sql
    #[arg(default_value = "figures")]
    pub(crate) question: String,
    /// Write the whole answer into this new CSV file
    #[arg(long, value_name = "FILE")]
    pub(crate) csv: Option<PathBuf>,
    /// Show at most so many rows; 0 shows all
    #[arg(long, value_name = "N", default_value_t = 40, value_parser = between(0, usize::MAX))]
    pub(crate) rows: usize,
    /// Threads to use; all cores unless told otherwise
    #[arg(long, value_parser = between(1_u16, 1024))]
    pub(crate) threads: Option<u16>,
}
