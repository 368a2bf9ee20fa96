//! `cargo xtask bench`: speed, beside peers measured in the same run.

use std::process::Command;

use crate::python;
use crate::run::lay_out_demo;
use crate::step::{Outcome, binary, build, cargo, succeed};

/// Runs the Rust benches, then every `checks/bench_*.py`.
pub(crate) fn bench() -> Outcome {
    succeed(&mut cargo(&[
        "bench",
        "--workspace",
        "--locked",
        "--benches",
    ]))?;
    build("release")?;
    let book = lay_out_demo()?;
    let python = python::with_requirements()?;
    for script in python::scripts("bench_")? {
        println!("\n{}", script.display());
        succeed(
            Command::new(&python)
                .arg(&script)
                .env("LINEWRIGHT", binary("release"))
                .env("LINEWRIGHT_DEMO", &book),
        )?;
    }
    Ok(())
}
