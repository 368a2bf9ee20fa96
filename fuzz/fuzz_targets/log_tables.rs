//! Whatever stands in counts, quality events or a genealogy is taken row by row, left
//! out and counted, or refused by its header; no more is not right than was made.
//! The first byte chooses the table.

#![no_main]

use evidence::defects::Defects;
use evidence::read::{Table, Tables};
use libfuzzer_sys::fuzz_target;
use linewright_fuzz::{RULES, refused, roster};

fuzz_target!(|bytes: &[u8]| {
    let Some((first, bytes)) = bytes.split_first() else {
        return;
    };
    let (table, file) = [
        (Table::Counts, "counts.csv"),
        (Table::Quality, "quality.csv"),
        (Table::Genealogy, "genealogy.csv"),
    ][usize::from(first % 3)];
    let mut tables = Tables::default();
    let mut defects = Defects::default();
    if let Err(problems) = tables.read(table, file, bytes, roster(), &RULES, &mut defects) {
        return refused(&problems);
    }
    let lines = bytes.iter().filter(|byte| **byte == b'\n').count() as u64;
    assert!(defects.left_out() <= lines + 1);
    for made in tables.counts.values().chain(tables.events.values()) {
        assert!(made.rework <= made.made && made.scrap <= made.made);
    }
    assert!(tables.items.iter().all(|(_, age_s)| *age_s >= 0.0));
    assert!(tables.items.windows(2).all(|pair| pair[0].0 <= pair[1].0));
});
