//! How fast a state log is read, and in how much memory: so many rows of the
//! invented plant, made up on the fly day by day.
//!
//! ```text
//! cargo run --release -p linewright-evidence --example scan -- 20000000
//! ```
//!
//! With `--features parquet` like rows are read from a Parquet file too, which
//! lies in the folder for temporary files meanwhile.
#![allow(
    clippy::print_stdout,
    clippy::disallowed_methods,
    clippy::unwrap_used,
    clippy::expect_used,
    reason = "a measurement talks to the terminal and reads the clock"
)]

use std::io::{Read, Write as _};
use std::path::Path;
use std::sync::atomic::AtomicBool;
use std::time::Instant;

use evidence::gather::Rules;
use evidence::map::LogMap;
use evidence::read::Gatherer;
use evidence::roster::Roster;
use evidence::time::{days, show_day};

/// One day's rows over and over, each time with the next date.
struct Days {
    block: Vec<u8>,
    dates: Vec<usize>,
    day: i64,
    at: usize,
    left: u64,
    header: &'static [u8],
}

impl Read for Days {
    fn read(&mut self, to: &mut [u8]) -> std::io::Result<usize> {
        if !self.header.is_empty() {
            return self.header.read(to);
        }
        if self.at == self.block.len() {
            if self.left == 0 {
                return Ok(0);
            }
            self.left -= 1;
            self.at = 0;
            self.day += 1;
            let date = show_day(self.day);
            for place in &self.dates {
                self.block[*place..place + 10].copy_from_slice(date.as_bytes());
            }
        }
        let n = to.len().min(self.block.len() - self.at);
        to[..n].copy_from_slice(&self.block[self.at..self.at + n]);
        self.at += n;
        Ok(n)
    }
}

fn day_of(roster: &Roster) -> (Vec<u8>, u64) {
    let mut block = Vec::new();
    let mut rows = 0;
    let stamp = |s: u32| {
        format!(
            "2026-03-02T{:02}:{:02}:{:02}.{:03}Z",
            s / 3600,
            s / 60 % 60,
            s % 60,
            s % 997
        )
    };
    let products = ["Dunlin", "Curlew", "Godwit+power sliding doors"];
    let mut item = 0;
    for cycle in 0..330_u32 {
        for place in &roster.places {
            let start = 21_600 + cycle * 170;
            item += 1;
            let product = products[item % 3];
            let name = &place.name;
            for (from, to, state, cause) in [
                (start, start + 4, "starved", ""),
                (start + 4, start + 150, "working", ""),
                (
                    start + 150,
                    start + 160,
                    if item.is_multiple_of(40) {
                        "stopped"
                    } else {
                        "blocked"
                    },
                    "jam",
                ),
                (start + 160, start + 170, "blocked", ""),
            ] {
                let cause = if state == "stopped" { cause } else { "" };
                writeln!(
                    block,
                    "{name},1,{},{},{state},{cause},{product},C{item:07}",
                    stamp(from),
                    stamp(to)
                )
                .unwrap();
                rows += 1;
            }
        }
    }
    (block, rows)
}

/// Seconds that all threads of this process have computed, where the system
/// tells: on a machine with other work they say more than the clock.
fn computed() -> Option<f64> {
    let stat = std::fs::read_to_string("/proc/self/stat").ok()?;
    let after_name = stat.rsplit_once(')')?.1;
    let ticks: Vec<f64> = after_name
        .split_whitespace()
        .skip(11)
        .take(2)
        .filter_map(|ticks| ticks.parse().ok())
        .collect();
    Some(ticks.iter().sum::<f64>() / 100.0)
}

/// Says what was read since `start`.
fn told(what: &str, gatherer: Gatherer<'_>, start: (Instant, Option<f64>)) {
    let log = gatherer.finish();
    let seconds = start.0.elapsed().as_secs_f64();
    let million = log.rows as f64 / 1e6;
    if let (Some(before), Some(now)) = (start.1, computed()) {
        let each = million / (now - before).max(0.01);
        println!("{what}: {each:.2} million rows for each second of one core");
    }
    println!(
        "{what}: {} rows in {seconds:.1} s: {:.2} million rows/s on {} threads; {} defects",
        log.rows,
        million / seconds,
        rayon::current_num_threads(),
        log.defects
            .kinds
            .values()
            .map(|rows| rows.count)
            .sum::<u64>(),
    );
}

#[cfg(feature = "parquet")]
mod columns {
    use super::*;
    use evidence::rehearse::LogRow;
    use evidence::rehearse::parquet::States;
    use evidence::state::State;
    use evidence::time::{DAY, SECOND};

    /// Writes so many rows of the same days into a Parquet file and reads it.
    pub(super) fn measure(roster: &Roster, rules: Rules, wanted: u64) {
        let path = std::env::temp_dir().join(format!("states-{}.parquet", std::process::id()));
        let classes = ["Dunlin", "Curlew", "Godwit+power sliding doors"].map(str::to_owned);
        let file = std::fs::File::create(&path).expect("a file");
        let mut states = States::new(roster, &classes, file).expect("a file");
        let (mut written, mut day) = (0, days(2024, 1, 1));
        while written < wanted {
            let rows = rows(roster, day, u32::try_from(written / 4).unwrap_or(0));
            states.write(&rows).expect("rows");
            written += rows.len() as u64;
            day += 1;
        }
        states.close().expect("a file");
        let bytes = std::fs::metadata(&path).map_or(0, |about| about.len());
        let mut gatherer = Gatherer::new(roster, rules);
        let start = (Instant::now(), computed());
        let read = gatherer.read_parquet("states.parquet", &path, &AtomicBool::new(false));
        std::fs::remove_file(&path).expect("the file written above");
        read.expect("rows");
        let each = bytes as f64 / written as f64;
        told(&format!("Parquet, {each:.1} bytes a row"), gatherer, start);
    }

    /// A day's rows; parts of a second that no packing finds an order in.
    fn rows(roster: &Roster, day: i64, items: u32) -> Vec<LogRow> {
        let mut rows = Vec::new();
        let mut item = items;
        for cycle in 0..330_i64 {
            for place in &roster.places {
                item += 1;
                let unit = i64::from(place.first_unit);
                let at = |s: i64| {
                    let s = 21_600 + cycle * 170 + s;
                    let part = (s * 7_919 + unit * 104_729 + day * 611_953) % 1_000_003;
                    day * DAY + s * SECOND + part * part % 999_983
                };
                let third = if item.is_multiple_of(40) && !place.causes.is_empty() {
                    State::Stopped
                } else {
                    State::Blocked
                };
                for (from, to, state) in [
                    (0, 4, State::Starved),
                    (4, 150, State::Working),
                    (150, 160, third),
                    (160, 170, State::Blocked),
                ] {
                    rows.push(LogRow {
                        from: at(from),
                        to: at(to),
                        unit: place.first_unit,
                        cause: (state == State::Stopped).then_some(0),
                        class: u16::try_from(item % 3).ok(),
                        state,
                        item,
                    });
                }
            }
        }
        rows
    }
}

fn main() {
    let wanted: u64 = std::env::args()
        .nth(1)
        .map_or(10_000_000, |n| n.parse().expect("a number of rows"));
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../demo/merrow-quay");
    let book = book::check(&book::read_path(&folder).expect("the demo's book")).book;
    let built = whole::network::build(&book).expect("a network");
    let roster = Roster::of(&book, &built, LogMap::default());
    let (block, rows) = day_of(&roster);
    let dates: Vec<usize> = memchr::memmem::find_iter(&block, "2026-03-02").collect();
    let bytes = block.len() as f64 / rows as f64;
    let repeats = wanted.div_ceil(rows);
    let source = Days {
        at: block.len(),
        block,
        dates,
        day: days(2024, 1, 1),
        left: repeats,
        header: b"station,unit,from,to,state,cause,product,item\n",
    };
    let rules = Rules {
        merge: 0,
        short: 0,
        keep: None,
    };
    let mut gatherer = Gatherer::new(&roster, rules);
    let start = (Instant::now(), computed());
    gatherer
        .read("states.csv", source, &AtomicBool::new(false))
        .expect("rows");
    told(&format!("CSV, {bytes:.0} bytes a row"), gatherer, start);
    #[cfg(feature = "parquet")]
    columns::measure(&roster, rules, wanted);
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    for line in status.lines().filter(|line| line.starts_with("VmHWM")) {
        println!("{line}");
    }
}
