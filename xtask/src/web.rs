//! The page: its packages, its checks, its build, its tests in a browser.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::time::SystemTime;

use crate::step::{Outcome, answers, binary, root, succeed};

/// Installs the page's packages if the lock has changed since.
pub(crate) fn packages() -> Outcome {
    let web = folder();
    let lock = web.join("package-lock.json");
    let installed = web.join("node_modules").join(".package-lock.json");
    if modified(&installed) > modified(&lock) {
        return Ok(());
    }
    if !answers(npm(&["--version"]).current_dir(root())) {
        return Err(
            "the page needs Node.js 20.19 or newer with npm; install it and try again".to_owned(),
        );
    }
    println!("installing the page's packages");
    succeed(&mut npm(&["ci", "--no-audit", "--no-fund"]))
}

/// Builds the page if its sources are newer than what is built.
pub(crate) fn build() -> Outcome {
    packages()?;
    let web = folder();
    let built = modified(&web.join("dist").join("index.html"));
    let sources = [
        "src",
        "index.html",
        "vite.config.ts",
        "package-lock.json",
        "public",
    ];
    let newest = sources
        .iter()
        .map(|source| newest(&web.join(source)))
        .max()
        .flatten();
    if built > newest {
        return Ok(());
    }
    succeed(&mut npm(&["run", "--silent", "build"]))
}

/// Form and types of the page, and its tests without a browser.
pub(crate) fn check() -> Outcome {
    packages()?;
    succeed(&mut npm(&["run", "--silent", "format"]))?;
    succeed(&mut npm(&["run", "--silent", "check"]))?;
    succeed(&mut npm(&["run", "--silent", "test"]))
}

/// The page in a browser, against the release binary.
pub(crate) fn browser() -> Outcome {
    let mut tests = npm(&["run", "--silent", "browser"]);
    succeed(tests.env("LINEWRIGHT_BIN", binary("release")))
}

fn folder() -> PathBuf {
    root().join("web")
}

fn npm(arguments: &[&str]) -> Command {
    let mut command = Command::new(if cfg!(windows) { "npm.cmd" } else { "npm" });
    command.args(arguments).current_dir(folder());
    command
}

fn modified(file: &Path) -> Option<SystemTime> {
    fs::metadata(file).and_then(|facts| facts.modified()).ok()
}

/// When the newest file in a folder, or the file itself, was changed.
fn newest(place: &Path) -> Option<SystemTime> {
    let Ok(entries) = fs::read_dir(place) else {
        return modified(place);
    };
    entries
        .filter_map(|entry| newest(&entry.ok()?.path()))
        .max()
}
