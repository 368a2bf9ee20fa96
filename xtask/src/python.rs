//! The Python of the outside checks, in an environment of its own.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use crate::step::{Outcome, answers, root, succeed, target};

/// A Python that has what `checks/requirements.txt` lists; installs it under
/// the build folder when it is not there yet.
pub(crate) fn with_requirements() -> Outcome<PathBuf> {
    let wanted = root().join("checks").join("requirements.txt");
    let requirements = fs::read_to_string(&wanted)
        .map_err(|error| format!("cannot read {}: {error}", wanted.display()))?;
    let home = target().join("checks-python");
    let python = inside(&home);
    let stamp = home.join("installed-requirements.txt");
    if fs::read_to_string(&stamp).is_ok_and(|installed| installed == requirements)
        && answers(Command::new(&python).arg("--version"))
    {
        return Ok(python);
    }
    let system = find()?;
    println!(
        "setting up Python for the outside checks in {}",
        home.display()
    );
    succeed(
        Command::new(system)
            .args(["-m", "venv", "--clear"])
            .arg(&home),
    )?;
    succeed(
        Command::new(&python)
            .args([
                "-m",
                "pip",
                "install",
                "--quiet",
                "--disable-pip-version-check",
            ])
            .arg("--requirement")
            .arg(&wanted),
    )?;
    fs::write(&stamp, requirements)
        .map_err(|error| format!("cannot write {}: {error}", stamp.display()))?;
    Ok(python)
}

/// The scripts of `checks/` whose names start so, in the order of names.
pub(crate) fn scripts(start: &str) -> Outcome<Vec<PathBuf>> {
    let folder = root().join("checks");
    let entries = fs::read_dir(&folder)
        .map_err(|error| format!("cannot list {}: {error}", folder.display()))?;
    let mut scripts: Vec<PathBuf> = entries
        .filter_map(|entry| Some(entry.ok()?.path()))
        .filter(|path| {
            path.extension().is_some_and(|ending| ending == "py")
                && path
                    .file_name()
                    .is_some_and(|name| name.to_string_lossy().starts_with(start))
        })
        .collect();
    scripts.sort();
    Ok(scripts)
}

fn inside(home: &Path) -> PathBuf {
    if cfg!(windows) {
        home.join("Scripts").join("python.exe")
    } else {
        home.join("bin").join("python")
    }
}

fn find() -> Outcome<&'static str> {
    // 3.11 is the oldest that the pinned packages support.
    let recent = "import sys, venv; sys.exit(sys.version_info < (3, 11))";
    ["python3", "python"]
        .into_iter()
        .find(|name| answers(Command::new(name).args(["-c", recent])))
        .ok_or_else(|| {
            "the outside checks need Python 3.11 or newer with venv; install it, \
             or leave these checks out with `cargo xtask test --no-python`"
                .to_owned()
        })
}
