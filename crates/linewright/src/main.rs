//! The command line: reads a book or a question, calls a floor below, prints.
//!
//! *Never:* engineering. Every figure printed here was computed below, and is
//! the same figure that `--json` gives.

mod arguments;
mod ask;
mod crew;
mod csv;
mod demo;
mod figure;
mod folder;
mod grid;
mod interrupt;
mod outcome;
mod screen;

use std::process::ExitCode;

fn main() -> ExitCode {
    match ask::ask(&arguments::Arguments::given()) {
        Ok(answer) => screen::answer(&answer),
        Err(failure) => screen::failure(&failure),
    }
}
