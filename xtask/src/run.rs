//! `cargo xtask run`: the main job on the demo plant, from nothing.

use std::fs;
use std::path::Path;
use std::process::Command;

use crate::step::{Outcome, binary, build, status, succeed, target};

/// Builds the release, lays out the demo plant and asks it all the questions.
pub(crate) fn run() -> Outcome {
    build("release")?;
    let book = lay_out_demo()?;
    println!("\nThe plant book is in {}\n", book.display());
    for question in ["check", "plan", "run"] {
        ask(question, &book)?;
        println!();
    }
    println!("Change a table in that folder with any spreadsheet and ask again:");
    println!("  {} run {}", binary("release").display(), book.display());
    Ok(())
}

/// Writes the demo plant into a folder of the build, fresh each time.
pub(crate) fn lay_out_demo() -> Outcome<std::path::PathBuf> {
    let book = target().join("demo").join("merrow-quay");
    if book.exists() {
        fs::remove_dir_all(&book)
            .map_err(|error| format!("cannot clear {}: {error}", book.display()))?;
    }
    succeed(Command::new(binary("release")).arg("demo").arg(&book))?;
    Ok(book)
}

/// Asks one question; the answer "no" (exit 1) is an answer.
fn ask(question: &str, book: &Path) -> Outcome {
    println!("linewright {question} merrow-quay");
    let mut command = Command::new(binary("release"));
    let status = status(command.arg(question).arg(book))?;
    match status.code() {
        Some(0 | 1) => Ok(()),
        _ => Err(format!("linewright {question} ended with {status}")),
    }
}
