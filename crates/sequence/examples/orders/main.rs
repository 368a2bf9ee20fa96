//! Orders the published instances of a data folder, each for so many seconds,
//! and prints a table: the best known, the best found, the bound, how far the
//! two are apart, moves a second, the seconds it took.
//!
//! `cargo run --release -p linewright-sequence --example orders -- FOLDER SET [SECONDS] [NAME] [WALKERS] [SEED] [STEPS]`
//!
//! SET is `classic`, `challenge` or `all`; NAME takes only the instances whose
//! file name holds it, `-` takes all. All of both sets in 60 s each:
//!
//! `cargo run --release -p linewright-sequence --example orders -- FOLDER all 60`
//!
//! For the classic sets the figure is runs of cars that exceed a rule, for the
//! challenge its mark: a million for a unit of the first goal, a thousand for
//! one of the second, one for one of the third.
#![allow(
    clippy::print_stdout,
    clippy::disallowed_methods,
    reason = "a runner at the rim: it reads files, measures and prints"
)]

#[path = "../../tests/support/mod.rs"]
mod support;

use std::error::Error;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

use sequence::model::{Checked, Problem};
use sequence::{Settings, Solution, Watch, best};
use serde_json::Value;

/// Best marks of the ROADEF challenge 2005, sets A and B, from memory of its
/// published results; instances that are not here are held against the bound
/// alone. The 63 changes of 064_38_2_RAF_EP_ENP_ch1 need blocks that begin anew
/// with the day; here a block goes on from the day before, which is stricter:
/// 64 are proven to be the least.
const MARKS: [(&str, i64); 21] = [
    ("022_3_4_EP_RAF_ENP", 31_001),
    ("022_3_4_RAF_EP_ENP", 11_039_001),
    ("022_EP_ENP_RAF_S22_J1", 3_109),
    ("022_EP_RAF_ENP_S22_J1", 19_144),
    ("024_38_3_EP_ENP_RAF", 4_000_306),
    ("024_38_3_EP_RAF_ENP", 4_249_083),
    ("024_38_5_EP_ENP_RAF", 4_034_309),
    ("024_38_5_EP_RAF_ENP", 4_280_079),
    ("024_V2_EP_ENP_RAF_S22_J1", 1_074_850_071),
    ("024_V2_EP_RAF_ENP_S22_J1", 1_074_299_068),
    ("024_V2_RAF_EP_ENP_S22_J1", 134_023_158),
    ("025_38_1_EP_ENP_RAF", 99_720),
    ("025_38_1_EP_RAF_ENP", 229_295),
    ("039_38_4_EP_RAF_ch1", 13_129_000),
    ("039_38_4_RAF_EP_ch1", 68_155_000),
    ("048_39_1_EP_ENP_RAF", 61_290),
    ("048_39_1_EP_RAF_ENP", 174_612),
    ("064_38_2_EP_RAF_ENP_ch1", 112_759),
    ("064_38_2_EP_RAF_ENP_ch2", 34_051),
    ("064_38_2_RAF_EP_ENP_ch1", 63_423_782),
    ("064_38_2_RAF_EP_ENP_ch2", 27_367_052),
];

/// What one line of the table is about.
struct Instance {
    name: String,
    problem: Problem,
    is_challenge: bool,
    known: Option<i64>,
}

impl Instance {
    /// The figure that the set is judged by.
    fn figure(&self, solution: &Solution) -> i64 {
        if self.is_challenge {
            support::mark(&solution.tally.cost)
        } else {
            solution.tally.windows.iter().sum::<u64>() as i64
        }
    }

    fn bound(&self, solution: &Solution) -> i64 {
        if self.is_challenge {
            support::mark(&solution.bound.cost)
        } else {
            solution.bound.cost.0[1]
        }
    }
}

fn main() -> Result<(), Box<dyn Error>> {
    let words: Vec<String> = std::env::args().skip(1).collect();
    let word = |n: usize| words.get(n).map_or("", String::as_str);
    let seconds: f64 = word(2).parse().unwrap_or(10.0);
    let settings = Settings {
        seed: word(5).parse().unwrap_or(1),
        steps: word(6).parse().unwrap_or(u64::MAX / 64),
        walkers: word(4).parse().unwrap_or(4),
        proof_states: 300_000,
    };
    let instances = instances(&PathBuf::from(word(0)), word(1), word(3))?;
    println!(
        "{:<34} {:>12} {:>12} {:>12} {:>8} {:>10} {:>8}",
        "instance", "known", "ours", "bound", "gap", "M moves/s", "seconds"
    );
    let (mut met, mut near) = (0, 0);
    for instance in &instances {
        let checked = instance.problem.check();
        let checked = checked.map_err(|faults| faults[0].to_string())?;
        let (solution, took) = ordered(&checked, &settings, seconds);
        let (ours, bound) = (instance.figure(&solution), instance.bound(&solution));
        let against = instance.known.unwrap_or(bound);
        met += usize::from(ours <= against);
        near += usize::from(ours * 100 <= against * 105);
        println!(
            "{:<34} {:>12} {ours:>12} {bound:>12} {:>8} {:>10.2} {took:>8.1}",
            instance.name,
            instance
                .known
                .map_or("-".to_owned(), |known| known.to_string()),
            gap(ours, against),
            solution.steps as f64 / took / 1e6,
        );
    }
    println!(
        "{} instances: {met} at what is known, or at the bound where nothing is; {near} within 5 % of it",
        instances.len()
    );
    Ok(())
}

/// How much more it is, in per cent; in units where nothing is known to be left.
fn gap(ours: i64, against: i64) -> String {
    if ours <= against {
        "0".to_owned()
    } else if against == 0 {
        format!("+{ours}")
    } else {
        format!("{:.2} %", 100.0 * (ours - against) as f64 / against as f64)
    }
}

fn instances(folder: &Path, set: &str, name: &str) -> Result<Vec<Instance>, Box<dyn Error>> {
    let index = std::fs::read_to_string(folder.join("index.json"))?;
    let index: Value = serde_json::from_str(&index)?;
    let mut found = Vec::new();
    for row in index["instances"].as_array().ok_or("no instances")? {
        let file = row["file"].as_str().unwrap_or("");
        let held_back = row["split"].as_str().is_some_and(|split| split != "dev");
        if held_back || !(name.is_empty() || name == "-" || file.contains(name)) {
            continue;
        }
        let path = folder.join(file);
        let is_challenge = file.contains("roadef");
        let problem = match set {
            "classic" | "all" if file.contains("csplib") => support::classic(&path),
            "challenge" | "all" if is_challenge => support::challenge(&path),
            _ => continue,
        };
        let stem = path.file_stem().and_then(|stem| stem.to_str());
        let name = stem.unwrap_or(file).to_owned();
        let mark = MARKS.iter().find(|(of, _)| *of == name);
        let known = row["best_violated_windows"].as_i64();
        found.push(Instance {
            known: known.or(mark.map(|(_, mark)| *mark)),
            problem: problem.ok_or_else(|| format!("cannot read {file}"))?,
            is_challenge,
            name,
        });
    }
    Ok(found)
}

/// The best order that a time limit leaves room for, and the seconds it took.
fn ordered(checked: &Checked, settings: &Settings, seconds: f64) -> (Solution, f64) {
    let (cancel, done) = (AtomicBool::new(false), AtomicBool::new(false));
    let start = Instant::now();
    std::thread::scope(|scope| {
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
            gone: &|| start.elapsed().as_secs_f64() / seconds,
        };
        let solution = best(checked, settings, &watch);
        done.store(true, Ordering::Relaxed);
        (solution, start.elapsed().as_secs_f64())
    })
}
