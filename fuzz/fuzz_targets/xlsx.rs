//! No bytes crash the workbook reader, and whatever table is read, from a
//! workbook or from text, comes back through a workbook the same.

#![no_main]

use book::raw::Workbook;
use libfuzzer_sys::fuzz_target;

fuzz_target!(|bytes: &[u8]| {
    if let Ok(workbook) = book::read_xlsx_bytes(bytes) {
        comes_back(&workbook);
    }
    if let Ok(table) = book::read_csv_bytes("stations.csv", bytes) {
        comes_back(&Workbook {
            tables: vec![table],
            ..Default::default()
        });
    }
});

fn comes_back(workbook: &Workbook) {
    // What does not fit a workbook is refused, not changed.
    let Ok(written) = book::xlsx_bytes(workbook) else {
        return;
    };
    let read = book::read_xlsx_bytes(&written).expect("our own workbook is sound");
    assert_eq!(read.tables.len(), workbook.tables.len());
    for (read, table) in read.tables.iter().zip(&workbook.tables) {
        assert_eq!(read.columns, table.columns);
        assert_eq!(read.rows, table.rows);
        assert_eq!(read.decimal_comma, table.decimal_comma);
    }
}
