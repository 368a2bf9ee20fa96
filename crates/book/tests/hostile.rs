//! Files that mean harm, or are merely broken: each ends in a plain problem
//! within two seconds and under 500 MB, never in a crash.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    reason = "a test may fail by panicking"
)]

use std::{
    fmt::Write as _,
    io::{Cursor, Write as _},
    sync::{
        Mutex, MutexGuard, PoisonError,
        atomic::{AtomicU64, Ordering},
    },
    time::Duration,
};

use book::raw::Workbook;
use proptest::prelude::*;
use zip::{ZipWriter, write::SimpleFileOptions};

const TYPES: &str = r#"<?xml version="1.0" encoding="UTF-8"?><Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types"><Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/><Override PartName="/xl/workbook.xml" ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.sheet.main+xml"/></Types>"#;
const ROOT: &str = r#"<?xml version="1.0"?><Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="rId1" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/officeDocument" Target="xl/workbook.xml"/></Relationships>"#;
const BOOK: &str = r#"<?xml version="1.0"?><workbook xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main" xmlns:r="http://schemas.openxmlformats.org/officeDocument/2006/relationships"><sheets><sheet name="stations" sheetId="1" r:id="rId1"/></sheets></workbook>"#;
const RELS: &str = r#"<?xml version="1.0"?><Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="rId1" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/worksheet" Target="worksheets/sheet1.xml"/><Relationship Id="rId2" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/sharedStrings" Target="sharedStrings.xml"/></Relationships>"#;
const SHEET: &str = r#"<?xml version="1.0"?><worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetData>"#;
const SHEET_END: &str = "</sheetData></worksheet>";
const TEXTS: &str = r#"<?xml version="1.0"?><sst xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main">"#;

/// A workbook of one sheet, its parts written as they are.
fn workbook(sheet: &[&str], texts: &[&str]) -> Vec<u8> {
    let mut zip = ZipWriter::new(Cursor::new(Vec::new()));
    let parts: [(&str, &[&str]); 6] = [
        ("[Content_Types].xml", &[TYPES]),
        ("_rels/.rels", &[ROOT]),
        ("xl/workbook.xml", &[BOOK]),
        ("xl/_rels/workbook.xml.rels", &[RELS]),
        ("xl/worksheets/sheet1.xml", sheet),
        ("xl/sharedStrings.xml", texts),
    ];
    for (name, pieces) in parts.iter().filter(|(_, pieces)| !pieces.is_empty()) {
        zip.start_file(*name, SimpleFileOptions::default()).unwrap();
        for piece in *pieces {
            zip.write_all(piece.as_bytes()).unwrap();
        }
    }
    zip.finish().unwrap().into_inner()
}

/// Two seconds as delivered; a build without optimisation is slower.
const LIMIT: Duration = Duration::from_secs(if cfg!(debug_assertions) { 10 } else { 2 });

/// The codes of the problems, and that it took neither long nor much.
#[allow(
    clippy::disallowed_methods,
    reason = "the test measures time and memory"
)]
fn codes(bytes: &[u8]) -> Vec<String> {
    let start = std::time::Instant::now();
    let problems = match book::read_xlsx_bytes(bytes) {
        Ok(Workbook { problems, .. }) => problems,
        Err(error) => vec![error.problem()],
    };
    let took = start.elapsed();
    assert!(took < LIMIT, "took {took:?}");
    assert_memory();
    for problem in &problems {
        assert!(
            !problem.found.is_empty() && !problem.mend.is_empty(),
            "{problem}"
        );
    }
    problems.into_iter().map(|problem| problem.code).collect()
}

/// Held by a test while it runs, since memory is counted for the whole process:
/// what a test needs can be seen only while no other needs anything. What those
/// before it left behind is taken off.
#[allow(clippy::disallowed_methods, reason = "the test measures memory")]
fn alone() -> MutexGuard<'static, ()> {
    static TURN: Mutex<()> = Mutex::new(());
    let turn = TURN.lock().unwrap_or_else(PoisonError::into_inner);
    // Linux forgets the peak so far; elsewhere nothing is measured.
    let _ = std::fs::write("/proc/self/clear_refs", "5");
    LEFT_BEHIND.store(memory_kb("VmRSS:").unwrap_or(0), Ordering::Relaxed);
    turn
}

static LEFT_BEHIND: AtomicU64 = AtomicU64::new(0);

/// What the system tells of this process's memory, if it does.
#[allow(clippy::disallowed_methods, reason = "the test measures memory")]
fn memory_kb(what: &str) -> Option<u64> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find(|line| line.starts_with(what))?;
    line.split_whitespace().nth(1)?.parse().ok()
}

/// That the test has not needed more than 500 MB so far.
fn assert_memory() {
    if let Some(peak) = memory_kb("VmHWM:") {
        let needed = peak.saturating_sub(LEFT_BEHIND.load(Ordering::Relaxed));
        assert!(needed < 500_000, "{needed} kB");
    }
}

#[test]
fn a_sound_workbook_is_read() {
    let _alone = alone();
    let sheet = r#"<row r="1"><c r="A1" t="s"><v>0</v></c></row>"#;
    let bytes = workbook(
        &[SHEET, sheet, SHEET_END],
        &[TEXTS, "<si><t>station</t></si></sst>"],
    );
    assert_eq!(codes(&bytes), [""; 0]);
    assert_eq!(
        book::read_xlsx_bytes(&bytes).unwrap().tables[0].columns,
        ["station"]
    );
}

#[test]
fn a_stray_cell_far_out_is_named_and_the_table_stays() {
    let _alone = alone();
    let sheet = r#"<row r="1"><c r="A1" t="inlineStr"><is><t>station</t></is></c></row><row r="2"><c r="A2"><v>7</v></c></row><row r="1048576"><c r="XFD1048576"><v>1</v></c></row>"#;
    let bytes = workbook(&[SHEET, sheet, SHEET_END], &[]);
    assert_eq!(codes(&bytes), ["stations/stray-cell"]);
    let read = book::read_xlsx_bytes(&bytes).unwrap();
    assert_eq!(read.tables[0].rows.len(), 1);
    assert!(
        read.problems[0]
            .to_string()
            .contains("empty cell XFD1048576")
    );
}

#[test]
fn a_table_of_a_million_rows_is_refused_as_a_workbook() {
    let _alone = alone();
    let mut rows = String::new();
    for row in 1..=1_000_000 {
        write!(
            rows,
            r#"<row r="{row}"><c r="A{row}"><v>{row}</v></c><c r="B{row}"><v>1</v></c></row>"#
        )
        .unwrap();
    }
    let bytes = workbook(&[SHEET, &rows, SHEET_END], &[]);
    drop(rows);
    assert_eq!(codes(&bytes), ["stations/too-many-rows"]);
}

#[test]
#[allow(clippy::disallowed_methods, reason = "the test measures time")]
fn a_table_of_a_million_rows_is_refused_as_csv() {
    let _alone = alone();
    let mut text = String::from("station,shop\n");
    for row in 1..=1_000_000 {
        writeln!(text, "s{row},Body").unwrap();
    }
    let start = std::time::Instant::now();
    let error = book::read_csv_bytes("stations.csv", text.as_bytes()).unwrap_err();
    let took = start.elapsed();
    assert!(took < LIMIT, "took {took:?}");
    assert_eq!(error.problem().code, "stations/too-many-rows");
    assert_memory();
}

#[test]
fn csv_with_cells_or_rows_too_long_is_refused() {
    let _alone = alone();
    let check = |text: String, code: &str| {
        let error = book::read_csv_bytes("stations.csv", text.as_bytes()).unwrap_err();
        assert_eq!(error.problem().code, code);
    };
    check(
        "a,b\n".to_owned() + &"x".repeat(32_768),
        "stations/cell-too-long",
    );
    check(
        "a".to_owned() + &",b".repeat(256),
        "stations/too-many-columns",
    );
    check(
        "a,b\n".to_owned() + &",".repeat(30_000_000) + "x",
        "stations/too-many-columns",
    );
    let wide = ",x".repeat(250) + "\n";
    check(
        "a".to_owned() + &wide.repeat(20_000),
        "stations/book-too-big",
    );
    assert_memory();
}

/// As many rows, cells and bytes as a book may have.
#[test]
fn a_book_as_large_as_allowed_stays_in_memory() {
    let _alone = alone();
    let mut text = String::from("a") + &",b".repeat(18) + "\n";
    for row in 0..199_999_u64 {
        for column in 0..19_u64 {
            let comma = if column == 0 { "" } else { "," };
            let number = (row * 19 + column).wrapping_mul(0x9E37_79B9_7F4A_7C15) >> 14;
            write!(text, "{comma}{number:014}").unwrap();
        }
        text.push('\n');
    }
    let table = book::read_csv_bytes("stations.csv", text.as_bytes()).unwrap();
    assert_eq!(table.rows.len(), 199_999);
    assert_memory();
}

#[test]
fn a_bomb_does_not_go_off() {
    let _alone = alone();
    let spaces = " ".repeat(1 << 20);
    let filling = vec![spaces.as_str(); 300];
    let mut pieces = vec![SHEET];
    pieces.extend(&filling);
    pieces.push(SHEET_END);
    let bytes = workbook(&pieces, &[]);
    assert!(bytes.len() < 2 << 20);
    assert_eq!(codes(&bytes), ["workbook/unpacks-too-big"]);

    // The same with a size in the package's directory that is a lie.
    let size = u32::try_from(SHEET.len() + SHEET_END.len() + (300 << 20)).unwrap();
    let mut liar = bytes;
    let mut at = 0;
    while let Some(found) = liar[at..]
        .windows(4)
        .position(|window| window == size.to_le_bytes())
    {
        at += found;
        liar[at..at + 4].copy_from_slice(&1_000_u32.to_le_bytes());
    }
    assert!(at > 0);
    let code = &codes(&liar)[0];
    assert!(
        code == "workbook/unpacks-too-big" || code == "workbook/broken-xlsx",
        "{code}"
    );
}

#[test]
fn a_count_of_texts_that_is_a_lie_asks_for_no_memory() {
    let _alone = alone();
    for count in ["99999999999", "18446744073709551615", "500000000"] {
        let texts = TEXTS.replace("<sst ", &format!("<sst uniqueCount=\"{count}\" "));
        let bytes = workbook(&[SHEET, SHEET_END], &[&texts, "<si><t>a</t></si></sst>"]);
        assert_eq!(codes(&bytes), ["workbook/odd-part"]);
    }
}

#[test]
fn one_long_text_used_again_and_again_is_refused() {
    let _alone = alone();
    let text = format!("<si><t>{}</t></si></sst>", "x".repeat(30_000));
    let mut rows = String::new();
    for row in 1..=20_000 {
        write!(
            rows,
            r#"<row r="{row}"><c r="A{row}" t="s"><v>0</v></c></row>"#
        )
        .unwrap();
    }
    let bytes = workbook(&[SHEET, &rows, SHEET_END], &[TEXTS, &text]);
    assert_eq!(codes(&bytes), ["stations/book-too-big"]);
}

#[test]
fn many_texts_and_one_huge_text_are_refused() {
    let _alone = alone();
    let texts = "<si/>".repeat(1_000_001);
    assert_eq!(
        codes(&workbook(&[SHEET, SHEET_END], &[TEXTS, &texts, "</sst>"])),
        ["workbook/odd-part"]
    );
    // Figures that do not repeat, so that the packing gives nothing away.
    let mut huge = String::new();
    for number in 0..300_000_u64 {
        write!(huge, "{}", number.wrapping_mul(0x9E37_79B9_7F4A_7C15)).unwrap();
    }
    let cell = format!(r#"<row r="1"><c r="A1" t="str"><v>{huge}</v></c></row>"#);
    assert_eq!(
        codes(&workbook(&[SHEET, &cell, SHEET_END], &[])),
        ["workbook/odd-part"]
    );
}

#[test]
fn what_is_no_workbook_is_said_so() {
    let _alone = alone();
    let check = |bytes: &[u8], code: &str| assert_eq!(codes(bytes), [code]);
    check(b"", "workbook/not-xlsx");
    check(b"station,shop\nweld,Body\n", "workbook/not-xlsx");
    check(b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR", "workbook/not-xlsx");
    check(b"\xD0\xCF\x11\xE0\xA1\xB1\x1A\xE1", "workbook/not-xlsx");
    check(b"PK\x03\x04", "workbook/broken-xlsx");
    let mut zip = ZipWriter::new(Cursor::new(Vec::new()));
    zip.start_file("word/document.xml", SimpleFileOptions::default())
        .unwrap();
    check(&zip.finish().unwrap().into_inner(), "workbook/not-xlsx");
    let mut zip = ZipWriter::new(Cursor::new(Vec::new()));
    zip.start_file("xl/workbook.xml", SimpleFileOptions::default())
        .unwrap();
    zip.write_all(b"no xml at all").unwrap();
    check(&zip.finish().unwrap().into_inner(), "workbook/broken-xlsx");
}

#[test]
fn a_sheet_of_broken_cells_ends_in_a_problem() {
    let _alone = alone();
    for cells in [
        r#"<row r="1"><c r="A1"><v>1</c></row>"#,
        r#"<row r="x"><c r="?"><v>1</v></c></row>"#,
        r#"<row r="1"><c r="AAAAAAAAAAAA1"><v>1</v></c></row>"#,
        r#"<row r="99999999999"><c><v>1</v></c></row>"#,
        r#"<row r="1"><c r="A1" t="s"><v>7</v></c></row>"#,
        r#"<row r="1"><c r="A1" t="e"><v>#ODD!</v></c></row>"#,
        "<row><c><v>1",
    ] {
        let bytes = workbook(&[SHEET, cells, SHEET_END], &[TEXTS, "</sst>"]);
        assert!(!codes(&bytes).is_empty(), "{cells}");
    }
}

fn sound() -> Vec<u8> {
    let text = b"station,shop,cycle_s\nweld,Body,240\nhang,Body,250.5\n";
    let table = book::read_csv_bytes("stations.csv", text).unwrap();
    book::xlsx_bytes(&Workbook {
        tables: vec![table],
        ..Workbook::default()
    })
    .unwrap()
}

#[test]
fn a_file_cut_off_anywhere_is_a_problem() {
    let _alone = alone();
    let bytes = sound();
    for length in (0..bytes.len()).step_by(41) {
        assert!(
            book::read_xlsx_bytes(&bytes[..length]).is_err(),
            "cut at {length}"
        );
    }
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn a_file_with_flipped_bytes_never_crashes(flips in proptest::collection::vec((any::<prop::sample::Index>(), any::<u8>()), 1..8)) {
        let _alone = alone();
        let mut bytes = sound();
        for (at, byte) in flips {
            let at = at.index(bytes.len());
            bytes[at] = byte;
        }
        let _ = book::read_xlsx_bytes(&bytes);
    }
}
