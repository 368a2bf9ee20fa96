//! No bytes crash the reader of `log_map.csv`: it is refused with its reasons, or
//! every word that it tells is read as what it says.

#![no_main]

use evidence::map::{COLUMNS, LogMap};
use libfuzzer_sys::fuzz_target;
use linewright_fuzz::refused;

fuzz_target!(|bytes: &[u8]| {
    match LogMap::read("log_map.csv", bytes) {
        Err(problems) => refused(&problems),
        Ok(map) => {
            for (theirs, ours) in &map.columns {
                assert!(COLUMNS.contains(&ours.as_str()));
                assert_eq!(map.column(theirs), ours);
            }
            for (theirs, ours) in &map.states {
                assert_eq!(map.state(theirs), Some(*ours));
            }
            for (theirs, ours) in &map.results {
                assert_eq!(map.result(theirs), Some(*ours));
            }
        }
    }
});
