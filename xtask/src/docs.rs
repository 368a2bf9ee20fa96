//! `cargo xtask docs`: the pages under `docs/` that the code prints. The rooms'
//! own tests fail while a page is not what the code would print.

use std::fs;
use std::process::Command;

use crate::step::{Outcome, binary, build, root, shown};

/// A page and the question that prints it.
const PAGES: [(&str, &[&str]); 2] = [
    ("formulas.md", &["formula", "list", "--markdown"]),
    ("plant-book.md", &["tables", "--markdown"]),
];

/// Writes the generated pages anew.
pub(crate) fn docs() -> Outcome {
    build("debug")?;
    for (name, question) in PAGES {
        let mut command = Command::new(binary("debug"));
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
