//! Running other programs, and the folders they work in.

use std::path::{Path, PathBuf};
use std::process::{Command, ExitStatus};

/// What went wrong, as a sentence.
pub(crate) type Outcome<T = ()> = Result<T, String>;

/// The root of the checkout.
pub(crate) fn root() -> PathBuf {
    let here = Path::new(env!("CARGO_MANIFEST_DIR"));
    here.parent().unwrap_or(here).to_path_buf()
}

/// Where cargo builds to.
pub(crate) fn target() -> PathBuf {
    match std::env::var_os("CARGO_TARGET_DIR") {
        Some(folder) => root().join(folder),
        None => root().join("target"),
    }
}

/// The built command line of a profile's folder (`debug` or `release`).
pub(crate) fn binary(profile: &str) -> PathBuf {
    let name = format!("linewright{}", std::env::consts::EXE_SUFFIX);
    target().join(profile).join(name)
}

/// The seed of the cases that property tests draw.
pub(crate) const CASES: &str = "PROPTEST_RNG_SEED";

/// The cargo that runs us; the cases of property tests are the same every time,
/// unless the reader has set a seed.
pub(crate) fn cargo(arguments: &[&str]) -> Command {
    let cargo = std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into());
    let mut command = Command::new(cargo);
    command.args(arguments).current_dir(root());
    if std::env::var_os(CASES).is_none() {
        command.env(CASES, "1");
    }
    command
}

/// Runs to the end, its output going to the terminal.
pub(crate) fn status(command: &mut Command) -> Outcome<ExitStatus> {
    command
        .status()
        .map_err(|error| format!("cannot start {}: {error}", shown(command)))
}

/// Runs to the end; anything but success is an error.
pub(crate) fn succeed(command: &mut Command) -> Outcome {
    let status = status(command)?;
    if status.success() {
        Ok(())
    } else {
        Err(format!("{} ended with {status}", shown(command)))
    }
}

/// Whether a program is there and answers.
pub(crate) fn answers(command: &mut Command) -> bool {
    command.output().is_ok_and(|output| output.status.success())
}

/// A command as one would type it.
pub(crate) fn shown(command: &Command) -> String {
    let program = Path::new(command.get_program());
    let program = program.file_stem().unwrap_or(command.get_program());
    let mut words = vec![program.to_string_lossy().into_owned()];
    words.extend(
        command
            .get_args()
            .map(|argument| argument.to_string_lossy().into_owned()),
    );
    words.join(" ")
}

/// Builds the command line in a profile (`debug` or `release`).
pub(crate) fn build(profile: &str) -> Outcome {
    let mut command = cargo(&["build", "--locked", "--package", "linewright"]);
    if profile == "release" {
        command.arg("--release");
    }
    succeed(&mut command)
}
