//! The round trip on the invented plant: logs of known truth in, and how many
//! of the 95 % intervals of time between stops, time to repair, cycle and
//! first-time-OK hold the truth.
//!
//! ```text
//! cargo run -p linewright-evidence --example round_trip -- 20 2
//! ```
#![allow(
    clippy::print_stdout,
    clippy::unwrap_used,
    clippy::expect_used,
    reason = "a measurement talks to the terminal"
)]

use std::collections::BTreeMap;
use std::io::Cursor;
use std::path::Path;
use std::sync::atomic::AtomicBool;

use evidence::gather::Rules;
use evidence::learn::learn;
use evidence::map::LogMap;
use evidence::read::Gatherer;
use evidence::rehearse::{Settings, rehearse, states_csv};
use evidence::roster::Roster;

#[expect(clippy::too_many_lines, reason = "one story, told from top to bottom")]
fn main() {
    let number = |n: usize, usual: u32| {
        std::env::args()
            .nth(n)
            .map_or(usual, |text| text.parse().expect("a number"))
    };
    let (seeds, weeks) = (number(1, 20), number(2, 2));
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../demo/merrow-quay");
    let book = book::check(&book::read_path(&folder).expect("the demo's book")).book;
    let built = whole::network::build(&book).expect("a network");
    let roster = Roster::of(&book, &built, LogMap::default());
    let classes: Vec<String> = built
        .classes
        .iter()
        .map(|class| class.name.clone())
        .collect();
    let never = AtomicBool::new(false);
    let mut tally: BTreeMap<String, (u32, u32)> = BTreeMap::new();
    for seed in 1..=u64::from(seeds) {
        let settings = Settings {
            seed,
            warm_up_weeks: 1,
            weeks,
        };
        let heard = rehearse(&book, &built, &settings, &never).expect("a run");
        let mut text = Vec::new();
        states_csv(&heard, &roster, &classes, &mut text).expect("memory");
        let rules = Rules {
            merge: 0,
            short: 0,
            keep: None,
        };
        let mut gatherer = Gatherer::new(&roster, rules);
        gatherer
            .read("states.csv", Cursor::new(text), &never)
            .expect("a log");
        let mut log = gatherer.finish();
        assert!(log.defects.kinds.is_empty(), "{:?}", log.defects);
        log.tables.tells_rejects = true;
        for (place, hour, made) in &heard.counts {
            let hours = &roster.hours[roster.places[*place as usize].hours];
            let turn = hours.stretch(hour * evidence::time::HOUR).turn;
            log.tables
                .counts
                .entry((*place, turn))
                .or_default()
                .add(*made);
        }
        for proposal in learn(&log, &roster, &book, &built) {
            let truth = proposal
                .book
                .expect("every cell of a rehearsal has a value");
            // A cycle without spread, and a share of all, are no estimates.
            if !proposal.found.value.is_finite() || proposal.found.high - proposal.found.low < 1e-5
            {
                continue;
            }
            let sums = tally.entry(proposal.column.clone()).or_default();
            sums.0 += u32::from(proposal.found.holds(truth));
            sums.1 += 1;
        }
        println!("seed {seed}: {} rows", log.rows);
    }
    let (mut inside, mut all) = (0, 0);
    for (column, (held, seen)) in &tally {
        println!(
            "{column:<16}{held:>7} of {seen:>7}  {:>6.2} %",
            100.0 * f64::from(*held) / f64::from(*seen)
        );
        inside += held;
        all += seen;
    }
    println!(
        "{:<16}{inside:>7} of {all:>7}  {:>6.2} %",
        "all",
        100.0 * f64::from(inside) / f64::from(all)
    );
}
