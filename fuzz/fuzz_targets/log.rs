//! Whatever stands in a state log is counted as rows kept, rows left out, or
//! refused by its header; never a crash, and no time out of nothing.

#![no_main]

use std::sync::atomic::AtomicBool;

use evidence::read::Gatherer;
use libfuzzer_sys::fuzz_target;
use linewright_fuzz::{RULES, roster};

fuzz_target!(|bytes: &[u8]| {
    let mut gatherer = Gatherer::new(roster(), RULES);
    if gatherer
        .read("states.csv", bytes, &AtomicBool::new(false))
        .is_err()
    {
        return;
    }
    let log = gatherer.finish();
    for unit in &log.units {
        let Some((from, to)) = unit.span else {
            continue;
        };
        let told: i64 = unit.cells.iter().flat_map(|cell| cell.time).sum();
        assert!(told >= 0 && told <= to - from);
    }
    let left_out = log.defects.left_out();
    assert!(left_out <= log.rows);
});
