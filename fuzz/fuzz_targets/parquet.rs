//! No bytes crash the reader of Parquet logs: a file is refused with its reasons, or
//! its rows are kept, left out and counted. Bytes in threes are a place and what
//! stands there instead in a sound file; bytes that begin like a file are one.

#![no_main]

use std::path::PathBuf;
use std::sync::atomic::AtomicBool;
use std::sync::{Arc, OnceLock};

use arrow_array::{ArrayRef, RecordBatch, StringArray, TimestampMillisecondArray, UInt64Array};
use evidence::read::{Files, LogError, gathered};
use libfuzzer_sys::fuzz_target;
use linewright_fuzz::{RULES, refused, roster};
use parquet::arrow::ArrowWriter;

/// A sound log of three rows.
fn sound() -> &'static [u8] {
    static FILE: OnceLock<Vec<u8>> = OnceLock::new();
    FILE.get_or_init(|| {
        let times = [1_772_434_800_000_i64, 1_772_434_860_000, 1_772_434_920_000];
        let words = |words: [&str; 3]| Arc::new(StringArray::from(words.to_vec())) as ArrayRef;
        let columns = vec![
            ("station", words(["weld", "trim", "weld"])),
            ("time", words(["2026-03-02T08:00:00Z"; 3])),
            (
                "from",
                Arc::new(TimestampMillisecondArray::from(times.to_vec())) as ArrayRef,
            ),
            ("state", words(["working", "stopped", "starved"])),
            (
                "made",
                Arc::new(UInt64Array::from(vec![1, 2, 3])) as ArrayRef,
            ),
        ];
        let batch = RecordBatch::try_from_iter(columns).expect("columns of one length");
        let mut file = Vec::new();
        let mut writer = ArrowWriter::try_new(&mut file, batch.schema(), None).expect("a writer");
        writer.write(&batch).expect("rows");
        writer.close().expect("a file");
        file
    })
}

/// Where this process lays its file: the reader wants one.
fn path() -> &'static PathBuf {
    static PATH: OnceLock<PathBuf> = OnceLock::new();
    PATH.get_or_init(|| {
        let name = format!("linewright-fuzz-{}.parquet", std::process::id());
        std::env::temp_dir().join(name)
    })
}

fuzz_target!(|bytes: &[u8]| {
    let mut file = sound().to_vec();
    if bytes.starts_with(b"PAR1") {
        file = bytes.to_vec();
    } else {
        for edit in bytes.chunks_exact(3) {
            let at = usize::from(edit[0]) | usize::from(edit[1]) << 8;
            let at = at % file.len();
            file[at] = edit[2];
        }
    }
    std::fs::write(path(), &file).expect("a place for the file");
    let files = Files {
        states: vec![path().clone()],
        counts: Some(path().clone()),
        ..Files::default()
    };
    match gathered(&files, roster(), RULES, &AtomicBool::new(false)) {
        Ok(log) => assert!(log.defects.left_out() <= 2 * log.rows),
        Err(LogError::Problems(problems)) => refused(&problems),
        Err(LogError::File { .. } | LogError::Cancelled) => {}
    }
});
