//! How fast a state log is read, and in how much memory: so many rows of the
//! invented plant, made up on the fly day by day.
//!
//! ```text
//! cargo run --release -p linewright-evidence --example scan -- 20000000
//! ```
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
    let start = Instant::now();
    gatherer
        .read("states.csv", source, &AtomicBool::new(false))
        .expect("rows");
    let log = gatherer.finish();
    let seconds = start.elapsed().as_secs_f64();
    println!(
        "{} rows of {bytes:.0} bytes in {seconds:.1} s: {:.2} million rows/s on {} threads; {} defects",
        log.rows,
        log.rows as f64 / seconds / 1e6,
        rayon::current_num_threads(),
        log.defects
            .kinds
            .values()
            .map(|rows| rows.count)
            .sum::<u64>(),
    );
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    for line in status.lines().filter(|line| line.starts_with("VmHWM")) {
        println!("{line}");
    }
}
