//! The project's chores: `cargo xtask run`, `cargo xtask test`, `cargo xtask
//! bench`. Only the standard library, so that it builds in seconds on a fresh
//! checkout and runs where there is no shell.
#![allow(
    clippy::print_stdout,
    clippy::print_stderr,
    clippy::disallowed_methods,
    reason = "a chore talks to the terminal, the disk and other programs"
)]

mod bench;
mod docs;
mod python;
mod run;
mod step;
mod test;
mod web;

use std::process::ExitCode;

const USAGE: &str = "\
usage: cargo xtask <chore>

  run                 build Linewright, print the demo plant's answer, open its page
  test [--no-python]  everything that must hold before a change lands
  laws SEEDS          all Rust tests with so many seeds of their random cases
  bench               speed: our benches, then the peers beside them
  docs                write the generated pages under docs/ anew
";

fn main() -> ExitCode {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let words: Vec<&str> = arguments.iter().map(String::as_str).collect();
    let outcome = match words.as_slice() {
        ["run"] => run::run(),
        ["test"] => test::test(test::Python::Needed),
        ["test", "--no-python"] => test::test(test::Python::LeftOut),
        ["laws", seeds] => test::laws(seeds),
        ["bench"] => bench::bench(),
        ["docs"] => docs::docs(),
        ["help" | "--help" | "-h"] => {
            print!("{USAGE}");
            Ok(())
        }
        _ => {
            eprint!("{USAGE}");
            return ExitCode::from(2);
        }
    };
    match outcome {
        Ok(()) => ExitCode::SUCCESS,
        Err(why) => {
            eprintln!("xtask: {why}");
            ExitCode::FAILURE
        }
    }
}
