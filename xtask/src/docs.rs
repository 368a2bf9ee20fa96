//! `cargo xtask docs`: the pages under `docs/` that the code prints, and the
//! README's picture. The rooms' own tests fail while a page is not what the code
//! would print.

use std::fs;
use std::process::Command;

use crate::run::lay_out_demo;
use crate::step::{Outcome, binary, build, root, shown, status};

/// A page and the question that prints it.
const PAGES: [(&str, &[&str]); 2] = [
    ("formulas.md", &["formula", "list", "--markdown"]),
    ("plant-book.md", &["tables", "--markdown"]),
];

/// Writes the generated pages and the picture anew.
pub(crate) fn docs() -> Outcome {
    // Release, since the picture takes a run of the whole demo plant.
    build("release")?;
    pages()?;
    picture()
}

/// The demo plant's strip, drawn from its own answer.
fn picture() -> Outcome {
    let book = lay_out_demo()?;
    let picture = root().join("docs").join("strip.svg");
    if picture.exists() {
        fs::remove_file(&picture)
            .map_err(|error| format!("cannot remove {}: {error}", picture.display()))?;
    }
    let mut command = Command::new(binary("release"));
    command.arg("run").arg(book).arg("--strip").arg(&picture);
    let status = status(&mut command)?;
    // Exit 1 is the answer that the rate is not met.
    match status.code() {
        Some(0 | 1) if picture.exists() => Ok(()),
        _ => Err(format!("{} ended with {status}", shown(&command))),
    }
}

fn pages() -> Outcome {
    for (name, question) in PAGES {
        let mut command = Command::new(binary("release"));
        let output = command
            .args(question)
            .output()
            .map_err(|error| format!("cannot start {}: {error}", shown(&command)))?;
        if !output.status.success() {
            return Err(format!("{} ended with {}", shown(&command), output.status));
        }
        let path = root().join("docs").join(name);
        fs::write(&path, output.stdout)
            .map_err(|error| format!("cannot write {}: {error}", path.display()))?;
        println!("wrote docs/{name}");
    }
    Ok(())
}
