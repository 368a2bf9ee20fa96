//! What the shops may be asked.

use std::path::PathBuf;

use clap::Args;

use super::{Book, a_number, above_zero, between};

/// How `body` answers.
#[derive(Debug, Args)]
pub(crate) struct BodyArguments {
    #[command(flatten)]
    pub(crate) book: Book,
    /// Show every group, every method with its reasons, every robot's joints and every limit
    #[arg(long)]
    pub(crate) all: bool,
    /// Show one group's methods with the rule, limit and value that refuse each
    #[arg(long, value_name = "JOIN")]
    pub(crate) join: Option<String>,
    /// Show the time chart of one station
    #[arg(long, value_name = "STATION")]
    pub(crate) station: Option<String>,
    /// Plan for so many cars a week instead of the book's, the mix kept
    #[arg(long, value_name = "CARS", conflicts_with = "takt", value_parser = a_number)]
    pub(crate) cars: Option<f64>,
    /// Plan every line for this takt instead of its own
    #[arg(long, value_name = "SECONDS", value_parser = a_number)]
    pub(crate) takt: Option<f64>,
    /// Make the robots' yearly cost least instead of their number
    #[arg(long)]
    pub(crate) cost: bool,
    /// Write all tables with the joints of every robot into this new workbook
    #[arg(long, value_name = "FILE")]
    pub(crate) xlsx: Option<PathBuf>,
}

/// How `assembly` answers.
#[derive(Debug, Args)]
pub(crate) struct AssemblyArguments {
    #[command(flatten)]
    pub(crate) book: Book,
    /// Show every task's choice and every station's work
    #[arg(long)]
    pub(crate) all: bool,
    /// Balance for so many cars a week instead of the book's, the mix kept
    #[arg(long, value_name = "CARS", value_parser = a_number)]
    pub(crate) cars: Option<f64>,
    /// Balance for the most cars a week, the mix kept, whose people, robots, tools and stations
    /// cost no more than this a year
    #[arg(long, value_name = "MONEY", conflicts_with = "cars", value_parser = a_number)]
    pub(crate) budget: Option<f64>,
    /// Write all tables with every station's work list into this new workbook
    #[arg(long, value_name = "FILE")]
    pub(crate) xlsx: Option<PathBuf>,
    /// Write every station's work list into this new HTML file, a printed page each
    #[arg(long, value_name = "FILE")]
    pub(crate) html: Option<PathBuf>,
    /// Whose work that file lists
    #[arg(long, value_name = "BALANCE", requires = "html", default_value = "today",
          value_parser = ["today", "moves", "fewest"])]
    pub(crate) of: String,
    /// Draw each robot's work against time into this new or empty folder
    #[arg(long, value_name = "FOLDER")]
    pub(crate) svg: Option<PathBuf>,
}

/// How `coils` answers, and what it writes.
#[derive(Debug, Args)]
pub(crate) struct CoilsArguments {
    #[command(flatten)]
    pub(crate) book: Book,
    /// Show the working of a figure, e.g. `reorder` or a part's name
    #[arg(long, value_name = "FIGURE")]
    pub(crate) working: Option<String>,
    /// Draw each part's strip as SVG into this new or empty folder
    #[arg(long, value_name = "DIR")]
    pub(crate) svg: Option<PathBuf>,
    /// Draw each part's strip as DXF into this new or empty folder
    #[arg(long, value_name = "DIR")]
    pub(crate) dxf: Option<PathBuf>,
    /// Write strips, coils and orders by week into this new .xlsx file
    #[arg(long, value_name = "FILE")]
    pub(crate) xlsx: Option<PathBuf>,
    /// Threads to use; all cores unless told otherwise
    #[arg(long, value_name = "N", value_parser = between(1_u16, 1024))]
    pub(crate) threads: Option<u16>,
}

/// How `outline` reads a drawing.
#[derive(Debug, Args)]
pub(crate) struct OutlineArguments {
    /// A DXF drawing, an SVG file, or bare path data in a file that ends in .svg
    pub(crate) file: PathBuf,
    /// The name that parts give as their outline
    #[arg(long, value_name = "NAME")]
    pub(crate) name: String,
    /// The unit of a drawing that names none
    #[arg(long, value_name = "UNIT")]
    pub(crate) unit: Option<DrawnIn>,
    /// Read this layer of a DXF drawing only
    #[arg(long, value_name = "LAYER")]
    pub(crate) layer: Option<String>,
    /// Follow curves that are no arcs within so many mm
    #[arg(long, value_name = "MM", default_value_t = 0.005, value_parser = above_zero)]
    pub(crate) tolerance: f64,
    /// Join ends of a DXF drawing that come so near, mm
    #[arg(long, value_name = "MM", default_value_t = 0.01, value_parser = above_zero)]
    pub(crate) join: f64,
    /// Write the rows into this new CSV file instead of showing them
    #[arg(long, value_name = "FILE")]
    pub(crate) out: Option<PathBuf>,
}

/// A drawing's unit.
#[derive(Clone, Copy, Debug, clap::ValueEnum)]
pub(crate) enum DrawnIn {
    /// Millimetres
    Mm,
    /// Centimetres
    Cm,
    /// Metres
    M,
    /// Inches of 25.4 mm
    In,
    /// Feet of 12 inches
    Ft,
}

/// What `press` shows and writes.
#[derive(Debug, Args)]
pub(crate) struct PressArguments {
    #[command(flatten)]
    pub(crate) book: Book,
    /// Show every lot of the week and every part's force
    #[arg(long)]
    pub(crate) all: bool,
    /// Write all tables into this new workbook
    #[arg(long, value_name = "FILE")]
    pub(crate) xlsx: Option<PathBuf>,
    /// Write the die timetable of a week into this new iCalendar file
    #[arg(long, value_name = "FILE")]
    pub(crate) ics: Option<PathBuf>,
    /// The Monday on which that week begins, such as 2026-01-05; usually the coming one
    #[arg(long, value_name = "DATE", requires = "ics")]
    pub(crate) monday: Option<String>,
}

/// How `paint` answers.
#[derive(Debug, Args)]
pub(crate) struct PaintArguments {
    #[command(flatten)]
    pub(crate) book: Book,
    /// Show what stops do in each oven too
    #[arg(long)]
    pub(crate) all: bool,
    /// Plan for so many cars a week instead of the book's, the mix kept
    #[arg(long, value_name = "CARS", value_parser = a_number)]
    pub(crate) cars: Option<f64>,
    /// Write all tables into this new workbook
    #[arg(long, value_name = "FILE")]
    pub(crate) xlsx: Option<PathBuf>,
    /// Draw the line to scale into this new SVG file
    #[arg(long, value_name = "FILE")]
    pub(crate) svg: Option<PathBuf>,
}

/// Which week `order` plans, and what it shows and writes.
#[derive(Debug, Args)]
pub(crate) struct OrderArguments {
    #[command(flatten)]
    pub(crate) book: Book,
    /// The week of the build plan
    #[arg(long, default_value_t = 1, value_parser = between(1_u32, 520))]
    pub(crate) week: u32,
    /// Seed of the search and of the luck in paint; the same seed gives the same answer
    #[arg(long, default_value_t = whole::order::DRIVING_SEED, value_parser = between(0, u64::MAX))]
    pub(crate) seed: u64,
    /// Search so many times the usual moves; the same seed and effort give the same answer
    #[arg(long, value_name = "N", default_value_t = 1, value_parser = between(1, whole::order::Effort::MOST))]
    pub(crate) effort: u32,
    /// Stop after so many seconds with the best order so far; without, the same seed always gives
    /// the same order
    #[arg(long, value_name = "N", value_parser = above_zero)]
    pub(crate) seconds: Option<f64>,
    /// Show every place, promise and rule's cost
    #[arg(long)]
    pub(crate) all: bool,
    /// Write all tables into this new workbook
    #[arg(long, value_name = "FILE")]
    pub(crate) xlsx: Option<PathBuf>,
    /// Write the order into this new CSV file, a line a car
    #[arg(long, value_name = "FILE")]
    pub(crate) csv: Option<PathBuf>,
    /// Write the order as a page for paper into this new HTML file
    #[arg(long, value_name = "FILE")]
    pub(crate) html: Option<PathBuf>,
}

/// How `carts` runs the plant with more and fewer carts.
#[derive(Debug, Args)]
pub(crate) struct CartsArguments {
    #[command(flatten)]
    pub(crate) book: Book,
    /// The formulas alone, without runs
    #[arg(long)]
    pub(crate) formula: bool,
    /// Show every number tried
    #[arg(long)]
    pub(crate) all: bool,
    /// Weeks measured in each replication, after the warm-up
    #[arg(long, default_value_t = 1, value_parser = between(1_u32, 10_000))]
    pub(crate) weeks: u32,
    /// Independent replications of each variant
    #[arg(long, default_value_t = 8, value_parser = between(2_u32, 100_000))]
    pub(crate) replications: u32,
    /// Seed of the random numbers; the same seed gives the same answer
    #[arg(long, default_value_t = 1, value_parser = between(0, u64::MAX))]
    pub(crate) seed: u64,
    /// Threads to use; all cores unless told otherwise
    #[arg(long, value_parser = between(1_u16, 1024))]
    pub(crate) threads: Option<u16>,
}
