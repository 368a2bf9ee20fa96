//! What can be asked, as `--help` says it.

mod log;
mod next;
mod plants;
mod shops;

use std::path::PathBuf;

use clap::{Args, Command, CommandFactory as _, FromArgMatches as _, Parser, Subcommand};

use crate::outcome::Form;

pub(crate) use log::{By, DayArguments, LearnArguments, Log, RehearseArguments};
pub(crate) use next::{CostArguments, GrowthArguments, ImproveArguments, Luck, ReachArguments};
pub(crate) use plants::PlantsArguments;
pub(crate) use shops::{
    AssemblyArguments, BodyArguments, CartsArguments, CoilsArguments, DrawnIn, OrderArguments,
    OutlineArguments, PaintArguments, PressArguments,
};

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
    /// Those that the program was called with. A number below 0 is read as one,
    /// so that its own range refuses it and not the look of an option.
    pub(crate) fn given() -> Self {
        let matches = Self::commands().get_matches();
        Self::from_arg_matches(&matches).unwrap_or_else(|error| error.exit())
    }

    fn commands() -> Command {
        let numbers = |command: Command| {
            command.mut_args(|argument| {
                let takes_value = argument.get_action().takes_values();
                argument.allow_negative_numbers(takes_value)
            })
        };
        Self::command().mut_subcommands(numbers)
    }

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
    /// The figures of many plants, or of years, in SQL over Parquet logs
    Plants(PlantsArguments),
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
    /// Copy a store, with all revisions of its books and the logs sent to it, while others work
    ///
    /// The backup is a store like any other: OUT is its file, and the folder OUT.logs beside it
    /// has the files of its logs. `restore` puts both in a store's place. By hand: stop the
    /// program, move the store's file, its -wal and -shm and its .logs folder away, copy OUT to the
    /// store's name and OUT.logs to the same name with .logs behind it.
    Backup {
        /// The store
        store: PathBuf,
        /// A new file
        out: PathBuf,
        /// Leave the files of the logs out, which may be large; the list of logs, how their
        /// words are read and the notes of their days are kept all the same
        #[arg(long)]
        without_logs: bool,
    },
    /// Put a backup in a store's place, its logs with it; the old store is kept beside it
    ///
    /// Files of logs that the backup was made without are taken from the old store.
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

/// How long, how often and with which luck `run` simulates.
#[derive(Debug, Args)]
pub(crate) struct RunArguments {
    #[command(flatten)]
    pub(crate) book: Book,
    /// Weeks measured in each replication, after the warm-up
    #[arg(long, default_value_t = 4, value_parser = between(1_u32, 10_000))]
    pub(crate) weeks: u32,
    /// Independent replications
    #[arg(long, default_value_t = 10, value_parser = between(2_u32, 100_000))]
    pub(crate) replications: u32,
    /// Seed of the random numbers; the same seed gives the same answer
    #[arg(long, default_value_t = 1, value_parser = between(0, u64::MAX))]
    pub(crate) seed: u64,
    /// Go on until the 95 % interval is this many cars a week to each side
    #[arg(long, value_name = "CARS", value_parser = above_zero)]
    pub(crate) precise: Option<f64>,
    /// How many suspects are put to trial, each by two or three further runs
    #[arg(long, value_name = "N", default_value_t = 3, value_parser = between(0_u8, 20))]
    pub(crate) trials: u8,
    /// Threads to use; all cores unless told otherwise
    #[arg(long, value_parser = between(1_u16, 1024))]
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
    #[arg(long, default_value_t = 4280, value_parser = between(0, u16::MAX))]
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
    #[arg(long, default_value_t = 10, value_parser = between(2_u32, 100_000))]
    pub(crate) replications: u32,
    /// Weeks measured in each replication, after the warm-up
    #[arg(long, default_value_t = 4, value_parser = between(1_u32, 10_000))]
    pub(crate) weeks: u32,
    /// Seed of the random numbers
    #[arg(long, default_value_t = 1, value_parser = between(0, u64::MAX))]
    pub(crate) seed: u64,
    /// Plan the first week's build order as well and add it to the page
    #[arg(long)]
    pub(crate) order: bool,
    /// By what to tell what ideas give, where a car has a price
    #[arg(long, value_name = "BY", value_enum, default_value_t = Ideas::Plan)]
    pub(crate) ideas: Ideas,
    /// The runs that `improve --keep FILE` kept; with `--ideas runs` go on from them and keep
    /// those made
    #[arg(long, value_name = "FILE")]
    pub(crate) keep: Option<PathBuf>,
}

/// By what the report tells what ideas give.
#[derive(Clone, Copy, Debug, PartialEq, Eq, clap::ValueEnum)]
pub(crate) enum Ideas {
    /// Runs of the plant with and without each, made where they are missing
    Runs,
    /// The ranking whose runs --keep FILE holds, without further ones
    Kept,
    /// The plan's weakest station
    Plan,
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
    /// Write the answer to this new .json file instead of standard output
    #[arg(long, value_name = "FILE")]
    pub(crate) out: Option<PathBuf>,
    /// Stop after so many seconds with the best answer so far
    #[arg(long, value_name = "N", value_parser = above_zero)]
    pub(crate) seconds: Option<f64>,
    /// Threads to use; all cores unless told otherwise
    #[arg(long, value_name = "N", value_parser = between(1_u16, 1024))]
    pub(crate) threads: Option<u16>,
    /// Seed instead of the question's own
    #[arg(long, value_name = "N", value_parser = between(0, u64::MAX))]
    pub(crate) seed: Option<u64>,
}

/// Reads a whole number from the least to the most allowed.
fn between<T>(least: T, most: T) -> impl Fn(&str) -> Result<T, String> + Clone
where
    T: std::str::FromStr + PartialOrd + std::fmt::Display + Copy + Send + Sync + 'static,
{
    move |text| match text.parse::<T>() {
        Ok(number) if number >= least && number <= most => Ok(number),
        _ => Err(format!("a whole number from {least} to {most} is expected")),
    }
}

/// Reads a number; the question says which it takes.
fn a_number(text: &str) -> Result<f64, String> {
    let number = text.parse::<f64>();
    number.map_err(|_| "a number is expected, such as 1400 or 52.5".to_owned())
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
    fn a_number_that_is_none_is_answered_with_the_range() {
        let whole = between(2_u32, 100_000);
        assert_eq!(whole("2"), Ok(2));
        for text in ["x", "1", "-3", "2.5", "100001", ""] {
            let said = whole(text).unwrap_err();
            assert_eq!(
                said, "a whole number from 2 to 100000 is expected",
                "{text}"
            );
        }
    }

    #[test]
    fn the_command_line_is_sound() {
        Arguments::commands().debug_assert();
    }

    #[test]
    fn a_number_below_nothing_is_refused_by_its_range_and_not_as_an_option() {
        for (name, words) in [
            ("--seconds", "above 0"),
            ("--seed", "a whole number from 0"),
        ] {
            let asked = ["linewright", "order", "book", name, "-1"];
            let refused = Arguments::commands().try_get_matches_from(asked);
            let told = refused.unwrap_err().to_string();
            assert!(told.contains(words) && !told.contains("-- -1"), "{told}");
        }
    }
}
