//! Orders the published instances of a data folder and prints, for each, the
//! best found beside what is known, moves a second and the seconds it took.
//!
//! `cargo run --release -p linewright-sequence --example orders -- FOLDER SET [SECONDS] [NAME] [WALKERS] [SEED]`
//!
//! SET is `classic` or `challenge`; NAME takes only the instances whose file
//! name holds it.
#![allow(
    clippy::print_stdout,
    clippy::disallowed_methods,
    reason = "a runner at the rim: it reads files, measures and prints"
)]

#[path = "../../tests/support/mod.rs"]
mod support;

use std::error::Error;
use std::path::PathBuf;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

use sequence::{Settings, Watch, best};
use serde_json::Value;

fn main() -> Result<(), Box<dyn Error>> {
    let words: Vec<String> = std::env::args().skip(1).collect();
    let word = |n: usize| words.get(n).map_or("", String::as_str);
    let folder = PathBuf::from(word(0));
    let seconds: f64 = word(2).parse().unwrap_or(10.0);
    let walkers: u32 = word(4).parse().unwrap_or(2);
    let seed: u64 = word(5).parse().unwrap_or(1);
    let steps: u64 = word(6).parse().unwrap_or(u64::MAX / 64);
    let index: Value = serde_json::from_str(&std::fs::read_to_string(folder.join("index.json"))?)?;
    for instance in index["instances"].as_array().ok_or("no instances")? {
        let file = instance["file"].as_str().unwrap_or("");
        if !file.contains(word(3)) {
            continue;
        }
        let path = folder.join(file);
        let problem = match word(1) {
            "classic" if file.contains("csplib") => support::classic(&path),
            "challenge" if file.contains("roadef") => support::challenge(&path),
            _ => continue,
        };
        let problem = problem.ok_or("cannot read the instance")?;
        let checked = problem.check().map_err(|faults| faults[0].to_string())?;
        let settings = Settings {
            seed,
            steps,
            walkers,
            proof_states: 300_000,
        };
        let cancel = AtomicBool::new(false);
        let done = AtomicBool::new(false);
        let start = Instant::now();
        let (solution, took) = std::thread::scope(|scope| {
            scope.spawn(|| {
                while !done.load(Ordering::Relaxed) {
                    if start.elapsed() >= Duration::from_secs_f64(seconds) {
                        cancel.store(true, Ordering::Relaxed);
                    }
                    std::thread::sleep(Duration::from_millis(2));
                }
            });
            let watch = Watch {
                cancel: &cancel,
                progress: &|_| {},
            };
            let solution = best(&checked, &settings, &watch);
            done.store(true, Ordering::Relaxed);
            (solution, start.elapsed().as_secs_f64())
        });
        println!(
            "{file:<50} cost {:?} mark {} bound {:?} known {} {:?} {:.1} M moves/s {took:.1} s",
            solution.tally.cost.0,
            support::mark(&solution.tally.cost),
            solution.bound.cost.0,
            instance["best_violated_windows"],
            solution.clean,
            solution.steps as f64 / took / 1e6,
        );
    }
    Ok(())
}
