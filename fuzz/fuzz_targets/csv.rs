//! Whatever is read as CSV is written and read again the same.

#![no_main]

use libfuzzer_sys::fuzz_target;

fuzz_target!(|bytes: &[u8]| {
    let Ok(table) = book::read_csv_bytes("stations.csv", bytes) else {
        return;
    };
    if table.columns.is_empty() {
        return;
    }
    let text = book::csv_text(&table);
    let again = book::read_csv_bytes("stations.csv", text.as_bytes());
    assert_eq!(again.ok(), Some(table.clone()));
    // The checks take any table.
    let _ = book::check(&book::raw::Workbook {
        tables: vec![table],
        ..Default::default()
    });
});
