//! What can be asked, as `--help` says it.

use std::path::PathBuf;

use clap::{Args, Parser, Subcommand, ValueEnum};
use whole::improve::{ImproveSettings, ReachSettings};

use crate::outcome::Form;

/// Can this plant make its plan, and where not?
///
/// Linewright answers from one description of the plant, the plant book: a
/// folder of CSV tables or one .xlsx workbook. Exit code 0: the answer holds;
/// 1: the needed rate is not met, or the book has errors; 2: the question
/// cannot be asked so.
#[derive(Debug, Parser)]
#[command(name = "linewright", version, max_term_width = 100)]
pub(crate) struct Arguments {
    #[command(subcommand)]
    pub(crate) question: Question,
    /// Answer with one JSON object instead of text
    #[arg(long, global = true)]
    pub(crate) json: bool,
}

impl Arguments {
    /// The form the answer is wanted in.
    pub(crate) fn form(&self) -> Form {
        if self.json { Form::Json } else { Form::Text }
    }
}

/// The questions.
#[derive(Debug, Subcommand)]
pub(crate) enum Question {
    /// List everything wrong with a plant book
    Check(Book),
    /// Takt, requirement and load of every station, each with its working
    Plan(PlanArguments),
    /// Which joint where, by which robot, in what seconds; consumables, and what a robot less does
    Body(BodyArguments),
    /// Assembly work to stations, people or robots, and the moves from today
    Assembly(AssemblyArguments),
    /// Lots, die timetable and racks of the press shop, and what quicker changeovers give
    Press(PressArguments),
    /// The paint line: lengths, windows, films, robots, colour blocks, repairs, heat, solvent
    Paint(PaintArguments),
    /// In which order the week's cars are built: spacing, colours, promises, painted-body store
    Order(OrderArguments),
    /// Carts, skids and hangers: how many each loop and each supply needs, confirmed by runs
    Carts(CartsArguments),
    /// Simulate the plant: cars a week, coil to car, and what holds it back
    Run(RunArguments),
    /// What to do next: ideas of the book and found ones, ranked by cars and money
    Improve(ImproveArguments),
    /// The cheapest ideas that reach a rate together, and money against cars
    Reach(ReachArguments),
    /// What a car costs, shop by shop, a lost car, make or buy, what ideas are worth
    Cost(CostArguments),
    /// When the forecast outgrows each shop, what to decide by when, the ramp of a start
    Growth(GrowthArguments),
    /// Hold the book against a log of what really happened: proposed values, believable or not
    Learn(LearnArguments),
    /// What a day cost: made against plan, every loss in cars not made
    Day(DayArguments),
    /// Write a log of the plant's own run, whose truth is known
    Rehearse(RehearseArguments),
    /// How blanks lie on their strips, which coils to hold, what to order when
    Coils(CoilsArguments),
    /// Turn a blank drawn elsewhere (.dxf, .svg) into rows of the outlines table
    Outline(OutlineArguments),
    /// Write a plant book as a folder of CSV (OUT) or a workbook (OUT.xlsx)
    Convert {
        #[command(flatten)]
        book: Book,
        /// A new or empty folder, or a file that ends in .xlsx
        out: PathBuf,
    },
    /// Write the book of Merrow Quay, an invented plant, into a folder
    Demo {
        /// A new or empty folder
        folder: PathBuf,
    },
    /// List the formulas, explain one, or compute one
    Formula(FormulaArguments),
    /// List the tables of the plant book, or the columns of one
    Tables {
        /// The table to explain
        table: Option<String>,
        /// All tables as a page of Markdown
        #[arg(long, conflicts_with_all = ["table", "json"])]
        markdown: bool,
    },
    /// Open the page on a plant book: change it, see its answer
    Serve(ServeArguments),
    /// Write plan and answer as one printable page (.html) or a workbook (.xlsx)
    Report(ReportArguments),
    /// Copy a store, with all revisions of its books, into a new file
    Backup {
        /// The store
        store: PathBuf,
        /// A new file
        out: PathBuf,
    },
    /// Put a backup in a store's place; the old store is kept beside it
    Restore {
        /// The backup
        backup: PathBuf,
        /// The store
        store: PathBuf,
    },
    /// Make the token that other machines need to use a store's page
    Token {
        /// The store
        store: PathBuf,
    },
    /// Ask a solver one JSON question, without a plant book
    Solve {
        #[command(subcommand)]
        solver: Solver,
    },
}

/// A plant book.
#[derive(Debug, Args)]
pub(crate) struct Book {
    /// A folder of CSV tables, or an .xlsx workbook
    pub(crate) book: PathBuf,
}

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
    #[arg(long, value_name = "CARS", conflicts_with = "takt")]
    pub(crate) cars: Option<f64>,
    /// Plan every line for this takt instead of its own
    #[arg(long, value_name = "SECONDS")]
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
    #[arg(long, value_name = "CARS")]
    pub(crate) cars: Option<f64>,
    /// Balance for the most cars a week, the mix kept, whose people, robots, tools and stations
    /// cost no more than this a year
    #[arg(long, value_name = "MONEY", conflicts_with = "cars")]
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

/// How `plan` answers.
#[derive(Debug, Args)]
pub(crate) struct PlanArguments {
    #[command(flatten)]
    pub(crate) book: Book,
    /// Show the working of a figure, e.g. `takt body` or a station's name
    #[arg(long, value_name = "FIGURE")]
    pub(crate) working: Option<String>,
    /// Show every station, not only the heaviest loaded of each shop
    #[arg(long)]
    pub(crate) all: bool,
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
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=1024))]
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
    #[arg(long, value_name = "CARS")]
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
    #[arg(long, default_value_t = 1, value_parser = clap::value_parser!(u32).range(1..=520))]
    pub(crate) week: u32,
    /// Seed of the search and of the luck in paint; the same seed gives the same answer
    #[arg(long, default_value_t = whole::order::DRIVING_SEED)]
    pub(crate) seed: u64,
    /// Show every place, promise and rule's cost
    #[arg(long)]
    pub(crate) all: bool,
    /// Write all tables into this new workbook
    #[arg(long, value_name = "FILE")]
    pub(crate) xlsx: Option<PathBuf>,
    /// Write the order into this new CSV file, a line a car
    #[arg(long, value_name = "FILE")]
    pub(crate) csv: Option<PathBuf>,
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
    #[arg(long, default_value_t = 1, value_parser = clap::value_parser!(u32).range(1..=10_000))]
    pub(crate) weeks: u32,
    /// Independent replications of each variant
    #[arg(long, default_value_t = 8, value_parser = clap::value_parser!(u32).range(2..=100_000))]
    pub(crate) replications: u32,
    /// Seed of the random numbers; the same seed gives the same answer
    #[arg(long, default_value_t = 1)]
    pub(crate) seed: u64,
    /// Threads to use; all cores unless told otherwise
    #[arg(long, value_parser = clap::value_parser!(u16).range(1..=1024))]
    pub(crate) threads: Option<u16>,
}

/// How `improve` ranks ideas.
#[derive(Debug, Args)]
pub(crate) struct ImproveArguments {
    #[command(flatten)]
    pub(crate) book: Book,
    /// Price the banks both ways instead: cars and days with fewer places and with more
    #[arg(long)]
    pub(crate) buffers: bool,
    /// Ideas that are run at most, the book's own first
    #[arg(long, default_value_t = 60, value_parser = clap::value_parser!(u16).range(1..=500))]
    pub(crate) ideas: u16,
    /// Runs in all at most; more tell closer ideas apart
    #[arg(long, default_value_t = ImproveSettings::USUAL.runs, value_parser = clap::value_parser!(u32).range(8..=1_000_000))]
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
    #[arg(long, default_value_t = 1, value_parser = clap::value_parser!(u32).range(1..=52))]
    pub(crate) weeks: u32,
    /// Seed of the random numbers; the same seed gives the same answer
    #[arg(long, default_value_t = 1)]
    pub(crate) seed: u64,
    /// Threads to use; all cores unless told otherwise
    #[arg(long, value_parser = clap::value_parser!(u16).range(1..=1024))]
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
    /// Cars a week to be reached
    #[arg(long, value_name = "N", value_parser = above_zero)]
    pub(crate) cars_per_week: f64,
    /// Days from coil to car to be kept by nine cars in ten
    #[arg(long, value_name = "D", value_parser = above_zero)]
    pub(crate) days: Option<f64>,
    /// Ideas considered at most, the book's own first
    #[arg(long, default_value_t = 24, value_parser = clap::value_parser!(u16).range(1..=60))]
    pub(crate) ideas: u16,
    /// Runs in all at most
    #[arg(long, default_value_t = ReachSettings::USUAL.runs, value_parser = clap::value_parser!(u32).range(50..=1_000_000))]
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
    /// Seed of that run
    #[arg(long, default_value_t = 1)]
    pub(crate) seed: u64,
    /// Write all tables into this new workbook
    #[arg(long, value_name = "FILE")]
    pub(crate) xlsx: Option<PathBuf>,
    /// Threads to use; all cores unless told otherwise
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=1024))]
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
    #[arg(long, default_value_t = 1, value_parser = clap::value_parser!(u32).range(1..=10_000))]
    pub(crate) weeks: u32,
    /// Independent replications of a run
    #[arg(long, default_value_t = 6, value_parser = clap::value_parser!(u32).range(2..=100_000))]
    pub(crate) replications: u32,
    /// Seed of the runs
    #[arg(long, default_value_t = 1)]
    pub(crate) seed: u64,
    /// Show every week of the ramp
    #[arg(long)]
    pub(crate) all: bool,
    /// Write all tables into this new workbook
    #[arg(long, value_name = "FILE")]
    pub(crate) xlsx: Option<PathBuf>,
    /// Threads to use; all cores unless told otherwise
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=1024))]
    pub(crate) threads: Option<u16>,
}

/// How long, how often and with which luck `run` simulates.
#[derive(Debug, Args)]
pub(crate) struct RunArguments {
    #[command(flatten)]
    pub(crate) book: Book,
    /// Weeks measured in each replication, after the warm-up
    #[arg(long, default_value_t = 4, value_parser = clap::value_parser!(u32).range(1..=10_000))]
    pub(crate) weeks: u32,
    /// Independent replications
    #[arg(long, default_value_t = 10, value_parser = clap::value_parser!(u32).range(2..=100_000))]
    pub(crate) replications: u32,
    /// Seed of the random numbers; the same seed gives the same answer
    #[arg(long, default_value_t = 1)]
    pub(crate) seed: u64,
    /// Go on until the 95 % interval is this many cars a week to each side
    #[arg(long, value_name = "CARS", value_parser = above_zero)]
    pub(crate) precise: Option<f64>,
    /// How many suspects are put to trial, each by two or three further runs
    #[arg(long, value_name = "N", default_value_t = 3, value_parser = clap::value_parser!(u8).range(..=20))]
    pub(crate) trials: u8,
    /// Threads to use; all cores unless told otherwise
    #[arg(long, value_parser = clap::value_parser!(u16).range(1..=1024))]
    pub(crate) threads: Option<u16>,
    /// Give every part the lots of the press shop's timetable, whatever the book says
    #[arg(long)]
    pub(crate) timetable_lots: bool,
    /// Release cars in the planned build order of the first week, whatever the book says
    #[arg(long)]
    pub(crate) planned_order: bool,
    /// Draw the plant as a strip from coil to car into this new SVG file
    #[arg(long, value_name = "FILE")]
    pub(crate) strip: Option<PathBuf>,
}

/// A log and how its rows are judged.
#[derive(Debug, Args)]
pub(crate) struct Log {
    /// A state log (.csv), or a folder with states.csv and what goes with it
    pub(crate) log: PathBuf,
    /// How the log's own columns and words are read; `log_map.csv` beside the log unless told
    #[arg(long, value_name = "FILE")]
    pub(crate) map: Option<PathBuf>,
    /// Stops of one cause with less work than this between them are one stop, seconds
    #[arg(long, value_name = "S", default_value_t = 0, value_parser = clap::value_parser!(u32).range(..=86_400))]
    pub(crate) merge: u32,
    /// Stops shorter than this are short ones, seconds
    #[arg(long, value_name = "S", default_value_t = 120, value_parser = clap::value_parser!(u32).range(..=86_400))]
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
    /// Write all proposals into this new CSV file, to choose from
    #[arg(long, value_name = "FILE")]
    pub(crate) write: Option<PathBuf>,
    /// Take over the rows of such a file whose `accept` says yes
    #[arg(long, value_name = "FILE", requires = "out")]
    pub(crate) accept: Option<PathBuf>,
    /// The new or empty folder for the book with what was accepted
    #[arg(long, value_name = "FOLDER", requires = "accept")]
    pub(crate) out: Option<PathBuf>,
    /// Seed of the random numbers
    #[arg(long, default_value_t = 1)]
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
    #[arg(long, value_name = "N", default_value_t = 8, value_parser = clap::value_parser!(u8).range(1..=60))]
    pub(crate) losses: u8,
    /// Replays with other luck before the day
    #[arg(long, default_value_t = 10, value_parser = clap::value_parser!(u32).range(2..=1_000))]
    pub(crate) replications: u32,
    /// Write the morning report, one page of A4, into this new HTML file
    #[arg(long, value_name = "FILE")]
    pub(crate) html: Option<PathBuf>,
    /// Seed of the random numbers
    #[arg(long, default_value_t = 1)]
    pub(crate) seed: u64,
    /// Threads to use; all cores unless told otherwise
    #[arg(long, value_parser = clap::value_parser!(u16).range(1..=1024))]
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
    #[arg(long, default_value_t = 2, value_parser = clap::value_parser!(u32).range(1..=104))]
    pub(crate) weeks: u32,
    /// Weeks run before, so that the plant is full
    #[arg(long, value_name = "WEEKS", default_value_t = 2, value_parser = clap::value_parser!(u32).range(..=26))]
    pub(crate) warm_up: u32,
    /// Seed of the random numbers; the same seed gives the same log
    #[arg(long, default_value_t = 1)]
    pub(crate) seed: u64,
}

/// What `serve` opens, and for whom.
#[derive(Debug, Args)]
pub(crate) struct ServeArguments {
    /// The first book of a new store: a folder of CSV tables, or an .xlsx workbook
    pub(crate) book: Option<PathBuf>,
    /// The file that keeps all revisions; made if there is none
    #[arg(long, value_name = "FILE", default_value = "plant.linewright")]
    pub(crate) store: PathBuf,
    /// Where to listen; any address but this machine's own needs a token
    #[arg(long, value_name = "ADDRESS", default_value = "127.0.0.1")]
    pub(crate) address: std::net::IpAddr,
    /// Port to listen on; 0 takes a free one
    #[arg(long, default_value_t = 4280)]
    pub(crate) port: u16,
    /// A name under which other machines ask, such as `plant.example`
    #[arg(long = "host", value_name = "NAME")]
    pub(crate) hosts: Vec<String>,
    /// Open the page in the browser
    #[arg(long)]
    pub(crate) open: bool,
}

/// What `report` writes.
#[derive(Debug, Args)]
pub(crate) struct ReportArguments {
    #[command(flatten)]
    pub(crate) book: Book,
    /// A new file that ends in .html or .xlsx
    #[arg(long, value_name = "FILE")]
    pub(crate) out: PathBuf,
    /// Independent replications
    #[arg(long, default_value_t = 10, value_parser = clap::value_parser!(u32).range(2..=100_000))]
    pub(crate) replications: u32,
    /// Weeks measured in each replication, after the warm-up
    #[arg(long, default_value_t = 4, value_parser = clap::value_parser!(u32).range(1..=10_000))]
    pub(crate) weeks: u32,
    /// Seed of the random numbers
    #[arg(long, default_value_t = 1)]
    pub(crate) seed: u64,
}

/// A formula and its symbols.
#[derive(Debug, Args)]
pub(crate) struct FormulaArguments {
    /// `list`, or the name of a formula
    #[arg(default_value = "list")]
    pub(crate) name: String,
    /// Values with units: `net_time=880min demand=200`; lists with semicolons
    #[arg(value_name = "SYMBOL=VALUE", allow_negative_numbers = true)]
    pub(crate) pairs: Vec<String>,
    /// The whole sheet as a page of Markdown
    #[arg(long, conflicts_with_all = ["pairs", "json"])]
    pub(crate) markdown: bool,
}

/// The solvers that can be asked.
#[derive(Debug, Subcommand)]
pub(crate) enum Solver {
    /// Flow of jobs through stations and buffers
    Flow(SolveArguments),
    /// Blanks on a coil's strip: the layouts that waste least, with a bound
    Strip(SolveArguments),
    /// Lots on lines with changeovers: cycles, repeating timetables and a bound
    Lots(SolveArguments),
    /// Work to stations: fewest stations, least takt or least cost, with a bound
    Balance(SolveArguments),
    /// The order in which cars are built: spacing rules, colours, level use, with a bound
    Sequence(SolveArguments),
    /// Times as distributions: three families, cut-off times, intervals, goodness of fit
    Fit(SolveArguments),
}

/// A question in a file and how to answer it.
#[derive(Debug, Args)]
pub(crate) struct SolveArguments {
    /// The JSON question; `-` reads standard input
    pub(crate) file: PathBuf,
    /// Write the answer to this file instead of standard output
    #[arg(long, value_name = "FILE")]
    pub(crate) out: Option<PathBuf>,
    /// Stop after so many seconds with the best answer so far
    #[arg(long, value_name = "N", value_parser = above_zero)]
    pub(crate) seconds: Option<f64>,
    /// Threads to use; all cores unless told otherwise
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=1024))]
    pub(crate) threads: Option<u16>,
    /// Seed instead of the question's own
    #[arg(long, value_name = "N")]
    pub(crate) seed: Option<u64>,
}

fn above_zero(text: &str) -> Result<f64, String> {
    match text.parse::<f64>() {
        Ok(number) if number > 0.0 && number <= 1e6 => Ok(number),
        _ => Err("a number above 0 and up to 1000000 is expected".to_owned()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_command_line_is_sound() {
        use clap::CommandFactory as _;
        Arguments::command().debug_assert();
    }
}
