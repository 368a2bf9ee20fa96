//! `cargo xtask run`: the main job on the demo plant, from nothing.

use std::fs;
use std::path::Path;
use std::process::Command;

use crate::step::{Outcome, binary, build, status, succeed, target};
use crate::web;

/// Builds page and release, lays out the demo plant, prints its answer, and
/// opens the page on it until Ctrl-C.
pub(crate) fn run() -> Outcome {
    web::build()?;
    build("release")?;
    let book = lay_out_demo()?;
    println!("\nThe plant book is in {}\n", book.display());
    for question in ["check", "run"] {
        ask(question, &book)?;
        println!();
    }
    println!("Change a table in that folder with any spreadsheet and ask again:");
    println!("  {} run {}\n", binary("release").display(), book.display());
    let store = target().join("demo").join("merrow-quay.linewright");
    let mut page = Command::new(binary("release"));
    page.arg("serve")
        .arg(&book)
        .arg("--store")
        .arg(store)
        .args(["--port", "0", "--open"]);
    succeed(&mut page)
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
