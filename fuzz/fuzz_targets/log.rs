//! Whatever stands in a state log is counted as rows kept, rows left out, or
//! refused by its header; never a crash, and no time out of nothing.

#![no_main]

use std::sync::OnceLock;
use std::sync::atomic::AtomicBool;

use book::raw::{RawRow, RawTable, Workbook};
use evidence::gather::Rules;
use evidence::map::LogMap;
use evidence::read::Gatherer;
use evidence::roster::Roster;
use evidence::time::Zone;
use libfuzzer_sys::fuzz_target;

/// Two stations in a row.
fn roster() -> &'static Roster {
    static ROSTER: OnceLock<Roster> = OnceLock::new();
    ROSTER.get_or_init(|| {
        let table = |name: &str, columns: &[&str], rows: &[&[&str]]| RawTable {
            name: name.into(),
            columns: columns.iter().map(|c| (*c).to_owned()).collect(),
            rows: rows
                .iter()
                .zip(2..)
                .map(|(cells, line)| RawRow {
                    line,
                    cells: cells.iter().map(|c| (*c).to_owned()).collect(),
                })
                .collect(),
            ..RawTable::default()
        };
        let workbook = Workbook {
            tables: vec![
                table("products", &["product", "cars_per_week"], &[&["van", "700"]]),
                table(
                    "stations",
                    &["station", "shop", "units", "cycle_s"],
                    &[&["weld", "body", "1", "60"], &["trim", "body", "2", "100"]],
                ),
                table("links", &["from", "to"], &[&["weld", "trim"]]),
            ],
            ..Workbook::default()
        };
        let book = book::check(&workbook).book;
        let built = whole::network::build(&book).expect("a network");
        let zone = Zone::parse("+01:00 eu").expect("a zone");
        Roster::of(&book, &built, LogMap { zone, ..LogMap::default() })
    })
}

fuzz_target!(|bytes: &[u8]| {
    let rules = Rules {
        merge: 60_000_000,
        short: 120_000_000,
        keep: Some((1_772_000_000_000_000, 1_773_000_000_000_000)),
    };
    let mut gatherer = Gatherer::new(roster(), rules);
    if gatherer.read("states.csv", bytes, &AtomicBool::new(false)).is_err() {
        return;
    }
    let log = gatherer.finish();
    for unit in &log.units {
        let Some((from, to)) = unit.span else { continue };
        let told: i64 = unit.cells.iter().flat_map(|cell| cell.time).sum();
        assert!(told >= 0 && told <= to - from);
    }
    let left_out = log.defects.left_out();
    assert!(left_out <= log.rows);
});
