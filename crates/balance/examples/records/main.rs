//! Solves the published instances of a data folder and prints, for each, the
//! best found, the bound, what is known, and the seconds it took.
//!
//! `cargo run --release -p linewright-balance --example records -- FOLDER SET [SECONDS] [EVERY] [NAME]`
//!
//! SET is `classic`, `takt`, `sides`, `workers`, `n=20`, `n=50`, `n=100` or `n=1000`. EVERY takes
//! each so-manieth instance only, NAME those whose file name holds it. SECONDS
//! are on the wall, or of processor where written `20cpu`.
#![allow(
    clippy::print_stdout,
    clippy::disallowed_methods,
    reason = "a runner at the rim: it reads files, measures and prints"
)]

mod files;
mod timed;

use std::error::Error;
use std::path::{Path, PathBuf};
use std::sync::atomic::AtomicBool;

use balance::cost::least_cost;
use balance::line::{balance_line, broken_rules};
use balance::{Balance, Limits, Watch, Work, fewest_stations, least_takt};
use serde_json::Value;

use timed::{Limit, timed};

const LIMITS: Limits = Limits {
    memory_mb: 2_000,
    steps: None,
};

/// One line of the table.
struct Row {
    name: String,
    best: Option<u64>,
    bound: u64,
    known: Known,
    seconds: f64,
    cpu_s: f64,
}

/// What is published: the optimum lies between these.
#[derive(Clone, Copy)]
struct Known {
    least: Option<u64>,
    most: Option<u64>,
}

struct Asked {
    folder: PathBuf,
    set: String,
    limit: Limit,
    every: usize,
    name: String,
}

fn main() -> Result<(), Box<dyn Error>> {
    let mut words = std::env::args().skip(1);
    let asked = Asked {
        folder: words.next().ok_or("name the data folder")?.into(),
        set: words.next().ok_or("name the set")?,
        limit: words
            .next()
            .map_or(Ok(Limit::Wall(10.0)), |text| text.parse())?,
        every: words.next().map_or(Ok(1), |text| text.parse())?,
        name: words.next().unwrap_or_default(),
    };
    let index: Value =
        serde_json::from_str(&std::fs::read_to_string(asked.folder.join("index.json"))?)?;
    let instances = index["instances"].as_array().ok_or("no instances")?;
    let rows = match asked.set.as_str() {
        "classic" => classic(&asked, instances)?,
        "takt" => takts(&asked, instances)?,
        "sides" => two_sided(&asked, instances)?,
        "workers" => workers(&asked, instances)?,
        size => generated(&asked, instances, size)?,
    };
    sum_up(&rows);
    Ok(())
}

fn classic(asked: &Asked, instances: &[Value]) -> Result<Vec<Row>, Box<dyn Error>> {
    let mut rows = Vec::new();
    let mut at = 0;
    for instance in instances {
        if instance["kind"] != "SALBP-1/2 graph" {
            continue;
        }
        let file = instance["file"].as_str().ok_or("no file")?;
        let work = files::graph(&asked.folder.join(file))?;
        for pair in instance["salbp1"].as_array().ok_or("no pairs")? {
            at += 1;
            let takt = pair["c"].as_u64().ok_or("no c")? as u32;
            let name = format!("{} {takt}", Path::new(file).display());
            if at % asked.every != 0 || !name.contains(&asked.name) {
                continue;
            }
            let known = Known {
                least: pair["optimum"].as_u64(),
                most: pair["optimum"].as_u64(),
            };
            rows.push(stations(&name, &work, takt, known, asked.limit));
        }
    }
    Ok(rows)
}

fn takts(asked: &Asked, instances: &[Value]) -> Result<Vec<Row>, Box<dyn Error>> {
    let mut rows = Vec::new();
    for instance in instances {
        let file = instance["file"].as_str().unwrap_or("");
        let Some(pairs) = instance["salbp2_own_cpsat"].as_array() else {
            continue;
        };
        let work = files::graph(&asked.folder.join(file))?;
        for pair in pairs {
            let stations = pair["m"].as_u64().ok_or("no m")? as u32;
            let name = format!("{file} m={stations}");
            if !name.contains(&asked.name) {
                continue;
            }
            let known = Known {
                least: pair["bound"].as_u64(),
                most: pair["best_c"].as_u64(),
            };
            let found = |cancel: &AtomicBool| {
                let watch = Watch {
                    cancel,
                    progress: &|_| {},
                };
                least_takt(&work, stations, &LIMITS, &watch)
            };
            let (found, seconds, cpu_s) = timed(asked.limit, found);
            let found = found.map_err(|faults| faults[0].to_string())?;
            let takt = found.longest(&work);
            let holds = fits(&work, takt as u32, &found).is_some_and(|m| m <= stations.into());
            rows.push(told(Row {
                name,
                best: holds.then_some(takt),
                bound: found.bound,
                known,
                seconds,
                cpu_s,
            }));
        }
    }
    Ok(rows)
}

fn two_sided(asked: &Asked, instances: &[Value]) -> Result<Vec<Row>, Box<dyn Error>> {
    let mut rows = Vec::new();
    for instance in instances {
        let file = instance["file"].as_str().unwrap_or("");
        let Some(pairs) = instance["talbp1_own_cpsat"].as_array() else {
            continue;
        };
        let line = files::two_sided(&asked.folder.join(file))?;
        for pair in pairs {
            let takt = pair["c"].as_u64().ok_or("no c")? as u32;
            let name = format!("{file} {takt}");
            if !name.contains(&asked.name) {
                continue;
            }
            let found = |cancel: &AtomicBool| {
                let watch = Watch {
                    cancel,
                    progress: &|_| {},
                };
                balance_line(&line, takt, &LIMITS, &watch)
            };
            let (found, seconds, cpu_s) = timed(asked.limit, found);
            let found = found.map_err(|faults| faults[0].to_string())?;
            let broken = broken_rules(&line, takt, &found.stations);
            let proven = pair["mated_proven"].as_bool() == Some(true);
            let mated = pair["mated_found"].as_u64();
            rows.push(told(Row {
                name,
                best: broken.is_empty().then_some(found.stations.len() as u64),
                bound: found.bound,
                known: Known {
                    least: if proven {
                        mated
                    } else {
                        pair["lb_mated"].as_u64()
                    },
                    most: mated,
                },
                seconds,
                cpu_s,
            }));
        }
    }
    Ok(rows)
}

/// At the takt known for workers that each have one station: so many are enough.
fn workers(asked: &Asked, instances: &[Value]) -> Result<Vec<Row>, Box<dyn Error>> {
    let mut rows = Vec::new();
    let of_set = instances.iter().filter(|instance| {
        let kind = instance["kind"].as_str().unwrap_or("");
        kind.starts_with("ALWABP") && instance["ub"].is_u64()
    });
    for instance in of_set.step_by(asked.every) {
        let file = instance["file"].as_str().ok_or("no file")?;
        if !file.contains(&asked.name) {
            continue;
        }
        let shop = files::workers(&asked.folder.join(file))?;
        let takt = instance["ub"].as_u64().ok_or("no ub")? as u32;
        let (found, seconds, cpu_s) = timed(asked.limit, |cancel| {
            let watch = Watch {
                cancel,
                progress: &|_| {},
            };
            least_cost(&shop, takt, &LIMITS, &watch)
        });
        let found = found.map_err(|faults| faults[0].to_string())?;
        rows.push(told(Row {
            name: file.to_owned(),
            best: Some(found.cost_per_year),
            bound: found.bound,
            known: Known {
                least: None,
                most: instance["workers"].as_u64(),
            },
            seconds,
            cpu_s,
        }));
    }
    Ok(rows)
}

fn generated(asked: &Asked, instances: &[Value], size: &str) -> Result<Vec<Row>, Box<dyn Error>> {
    let mut rows = Vec::new();
    let mut at = 0;
    for instance in instances {
        let file = instance["file"].as_str().unwrap_or("");
        if instance["kind"] != "SALBP-1" || !file.contains(&format!("{size}_")) {
            continue;
        }
        at += 1;
        if at % asked.every != 0 || !file.contains(&asked.name) {
            continue;
        }
        let (work, takt) = files::generated(&asked.folder.join(file))?;
        let known = Known {
            least: instance["lb"].as_u64(),
            most: instance["ub"].as_u64(),
        };
        rows.push(stations(file, &work, takt, known, asked.limit));
    }
    Ok(rows)
}

fn stations(name: &str, work: &Work, takt: u32, known: Known, limit: Limit) -> Row {
    let (found, seconds, cpu_s) = timed(limit, |cancel| {
        let watch = Watch {
            cancel,
            progress: &|_| {},
        };
        fewest_stations(work, takt, &LIMITS, &watch)
    });
    let (best, bound) = match &found {
        Ok(found) => (fits(work, takt, found), found.bound),
        Err(faults) => {
            println!("{name}: {}", faults[0]);
            (None, 0)
        }
    };
    told(Row {
        name: name.to_owned(),
        best,
        bound,
        known,
        seconds,
        cpu_s,
    })
}

/// The stations used, where the balance keeps every rule.
fn fits(work: &Work, takt: u32, found: &Balance) -> Option<u64> {
    let mut at = vec![usize::MAX; work.ticks.len()];
    for (station, tasks) in found.stations.iter().enumerate() {
        let load: u32 = tasks.iter().map(|task| work.ticks[*task]).sum();
        if load > takt {
            return None;
        }
        for task in tasks {
            at[*task] = station;
        }
    }
    let keeps = work.after.iter().enumerate().all(|(task, befores)| {
        at[task] != usize::MAX && befores.iter().all(|before| at[*before] <= at[task])
    });
    keeps.then_some(found.stations.len() as u64)
}

fn told(row: Row) -> Row {
    let shown = |number: Option<u64>| number.map_or("-".to_owned(), |n| n.to_string());
    println!(
        "{:<44} best {:>6} bound {:>6} known {:>6}..{:<6} {:>7.2} s {:>7.2} cpu{}{}",
        row.name,
        shown(row.best),
        row.bound,
        shown(row.known.least),
        shown(row.known.most),
        row.seconds,
        row.cpu_s,
        if row.best == Some(row.bound) {
            ""
        } else {
            "  open"
        },
        if row.is_wrong() { "  WRONG" } else { "" },
    );
    row
}

impl Row {
    fn is_wrong(&self) -> bool {
        let Some(best) = self.best else { return true };
        best < self.bound
            || self.known.least.is_some_and(|least| best < least)
            || self.known.most.is_some_and(|most| self.bound > most)
    }
}

fn sum_up(rows: &[Row]) {
    let proven = rows
        .iter()
        .filter(|row| row.best == Some(row.bound))
        .count();
    let above = rows
        .iter()
        .filter(|row| match (row.best, row.known.most) {
            (Some(best), Some(most)) => best > most,
            (None, _) => true,
            _ => false,
        })
        .count();
    let wrong = rows.iter().filter(|row| row.is_wrong()).count();
    let seconds: f64 = rows.iter().map(|row| row.seconds).sum();
    let cpu_s: f64 = rows.iter().map(|row| row.cpu_s).sum();
    let longest = rows.iter().map(|row| row.seconds).fold(0.0, f64::max);
    println!(
        "{} instances, {proven} proven, {above} above the known best, {wrong} wrong, \
         {seconds:.1} s ({cpu_s:.1} cpu), longest {longest:.2} s",
        rows.len()
    );
}
