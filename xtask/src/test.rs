//! `cargo xtask test`: everything that must hold before a change lands.

use std::io::{BufRead, BufReader};
use std::process::{Command, Stdio};
use std::time::Instant;

use crate::python;
use crate::run::lay_out_demo;
use crate::step::{CASES, Outcome, answers, binary, build, cargo, shown, succeed, target};
use crate::web;

/// All features that need nothing but the compiler: with these all is linted and
/// tested in one go, since a second set of features builds everything a second
/// time. What users get is built without them, and is tested in the browser and by
/// the outside checks.
const FEATURES: &str = "linewright/parquet,linewright-desk/schema";

/// Whether the outside checks in Python run.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(crate) enum Python {
    Needed,
    LeftOut,
}

/// Runs every check, also after one failed, and says at the end which did.
pub(crate) fn test(python: Python) -> Outcome {
    tools()?;
    let mut closing = Vec::new();
    let mut checks = Checks::default();
    checks.run("format", || {
        succeed(&mut cargo(&["fmt", "--all", "--check"]))
    });
    checks.run("lint", || {
        let what = ["clippy", "--workspace", "--all-targets", "--locked"];
        let strict = ["--", "-D", "warnings"];
        succeed(cargo(&what).args(["--features", FEATURES]).args(strict))
    });
    checks.run("tests", || cargo_test(&mut closing));
    checks.run("documentation", || {
        // With the features of the lint, so that nothing is looked through again.
        let mut doc = cargo(&["doc", "--workspace", "--no-deps", "--locked", "--quiet"]);
        doc.args(["--features", FEATURES]);
        succeed(doc.env("RUSTDOCFLAGS", "-D warnings"))
    });
    checks.run("page", web::check);
    checks.run("page in a browser", || {
        web::build()?;
        build("release")?;
        web::browser()
    });
    checks.run("a build without Parquet", without_parquet);
    match python {
        Python::Needed => checks.run("outside checks", outside_checks),
        Python::LeftOut => println!("\noutside checks left out, as asked"),
    }
    checks.close(&closing)
}

#[derive(Default)]
struct Checks {
    done: Vec<(&'static str, f64, Outcome)>,
}

impl Checks {
    fn run(&mut self, name: &'static str, check: impl FnOnce() -> Outcome) {
        println!("\n== {name}");
        let start = Instant::now();
        let outcome = check();
        if let Err(why) = &outcome {
            eprintln!("{why}");
        }
        self.done
            .push((name, start.elapsed().as_secs_f64(), outcome));
    }

    fn close(self, closing: &[String]) -> Outcome {
        println!("\n== summary");
        let mut failed = Vec::new();
        for (name, seconds, outcome) in &self.done {
            let word = if outcome.is_ok() { "ok" } else { "FAILED" };
            println!("{word:<7}{seconds:>7.1} s  {name}");
            if outcome.is_err() {
                failed.push(*name);
            }
        }
        println!();
        for line in closing {
            println!("{line}");
        }
        if failed.is_empty() {
            Ok(())
        } else {
            Err(format!("failed: {}", failed.join(", ")))
        }
    }
}

/// The parts of the toolchain; adds a missing one where rustup can.
fn tools() -> Outcome {
    for (part, command) in [("rustfmt", "fmt"), ("clippy", "clippy")] {
        if answers(&mut cargo(&[command, "--version"])) {
            continue;
        }
        println!("adding {part} to the toolchain");
        succeed(Command::new("rustup").args(["component", "add", part])).map_err(|why| {
            format!("{part} is missing and could not be added ({why}); install it and try again")
        })?;
    }
    Ok(())
}

/// Runs all Rust tests, their property tests with so many seeds one after the
/// other: luck that `test` leaves out, so that whether a change lands does not
/// hang on it.
pub(crate) fn laws(seeds: &str) -> Outcome {
    let seeds: u64 = seeds
        .parse()
        .map_err(|_| format!("\"{seeds}\" is no number of seeds; say for example: laws 5"))?;
    let mut failed = Vec::new();
    for seed in 2..2 + seeds {
        println!("\n== seed {seed}");
        let mut tests = cargo(&[
            "test",
            "--workspace",
            "--locked",
            "--no-fail-fast",
            "--tests",
            "--features",
            FEATURES,
        ]);
        if let Err(why) = succeed(tests.env(CASES, seed.to_string())) {
            failed.push(format!("seed {seed}: {why}"));
        }
    }
    if failed.is_empty() {
        Ok(())
    } else {
        Err(failed.join("; "))
    }
}

/// Runs the tests and keeps cargo's closing line of each suite, so that they
/// can stand at the very end as well.
fn cargo_test(closing: &mut Vec<String>) -> Outcome {
    let mut command = cargo(&["test", "--workspace", "--locked", "--no-fail-fast"]);
    command.args(["--features", FEATURES]);
    let name = shown(&command);
    let mut child = command
        .stdout(Stdio::piped())
        .spawn()
        .map_err(|error| format!("cannot start {name}: {error}"))?;
    if let Some(output) = child.stdout.take() {
        for line in BufReader::new(output).lines() {
            let line = line.map_err(|error| format!("cannot read from {name}: {error}"))?;
            println!("{line}");
            // Suites without a test of their own say nothing.
            if line.starts_with("test result:") && !line.contains(" 0 passed; 0 failed; 0 ignored")
            {
                closing.push(line);
            }
        }
    }
    let status = child
        .wait()
        .map_err(|error| format!("cannot wait for {name}: {error}"))?;
    if status.success() {
        Ok(())
    } else {
        Err(format!("{name} ended with {status}"))
    }
}

/// The release is built without a feature that the tests had: asked for it, it
/// says so before it works, and how to build one with it.
fn without_parquet() -> Outcome {
    build("release")?;
    let book = lay_out_demo()?;
    let log = target().join("demo").join("log-as-parquet");
    let mut command = Command::new(binary("release"));
    command.arg("rehearse").arg(book).arg(&log).arg("--parquet");
    let output = command
        .output()
        .map_err(|error| format!("cannot start {}: {error}", shown(&command)))?;
    let errors = String::from_utf8_lossy(&output.stderr);
    let refused = output.status.code() == Some(2) && errors.contains("--features parquet");
    if refused && !log.exists() {
        Ok(())
    } else {
        let status = output.status;
        Err(format!(
            "{} should be refused, with the way to a build that can; it ended with {status}: {errors}",
            shown(&command)
        ))
    }
}

/// Runs every `checks/check_*.py` against the built command line.
fn outside_checks() -> Outcome {
    let python = python::with_requirements()?;
    build("release")?;
    for script in python::scripts("check_")? {
        println!("{}", script.display());
        succeed(
            Command::new(&python)
                .arg(&script)
                .env("LINEWRIGHT", binary("release")),
        )?;
    }
    Ok(())
}
