//! The same log as CSV and as Parquet says the same.
#![allow(clippy::disallowed_methods, reason = "a test writes the logs it reads")]

use std::path::Path;
use std::sync::Arc;
use std::sync::atomic::AtomicBool;

use arrow_array::{ArrayRef, Float64Array, RecordBatch, StringArray, TimestampMillisecondArray};
use arrow_schema::{Field, Schema};
use parquet::arrow::ArrowWriter;
use parquet::file::properties::WriterProperties;

use crate::defects::{Defects, Kind};
use crate::figures::{Grain, causes, cycles, figures};
use crate::gather::Rules;
use crate::map::LogMap;
use crate::read::{Files, Log, LogError, read};
use crate::rehearse::{self, Rehearsal, Settings, rehearse};
use crate::roster::Roster;
use book::small::book;
use crate::time::{MINUTE, Zone, days};

const PLANT: &str = "
    [shifts]
    shop,shift,days,start,end,planned_stops_min
    body,early,mon-fri,06:00,14:00,30
    [products]
    product,cars_per_week
    van,700
    bus,300
    [stations]
    station,shop,units,cycle_s,mtbf_min,mttr_min,first_time_ok,rework_to
    weld,body,1,60,100,5,1,
    trim,body,2,100,,,0.9,touch-up
    touch-up,body,1,300,,,1,
    [cycles]
    station,product,cycle_s
    weld,bus,90
    [stops]
    station,cause,mtbf_min,mttr_min
    weld,cap change,200,3
    [links]
    from,to,holds
    weld,trim,4
    trim,touch-up,20
";

const RULES: Rules = Rules {
    merge: 30 * crate::time::SECOND,
    short: 2 * MINUTE,
    keep: None,
};

struct Plant {
    book: book::Book,
    built: whole::network::Built,
}

impl Plant {
    fn new() -> Self {
        let book = book(PLANT);
        let built = whole::network::build(&book).unwrap();
        Self { book, built }
    }

    fn roster(&self, map: LogMap) -> Roster {
        Roster::of(&self.book, &self.built, map)
    }

    fn rehearsed(&self) -> (Rehearsal, Vec<String>) {
        let settings = Settings {
            seed: 7,
            warm_up_weeks: 1,
            weeks: 2,
        };
        let never = AtomicBool::new(false);
        let heard = rehearse(&self.book, &self.built, &settings, &never).unwrap();
        let classes = self.built.classes.iter().map(|class| class.name.clone());
        (heard, classes.collect())
    }
}

fn read_at(path: &Path, roster: &Roster) -> Result<Log, LogError> {
    let files = Files::at(path, None).unwrap();
    read(&files, roster, RULES, &AtomicBool::new(false))
}

fn create(path: &Path) -> std::fs::File {
    std::fs::File::create(path).unwrap()
}

/// Writes columns with few rows a row group.
fn write(path: &Path, columns: Vec<(&str, ArrayRef)>) {
    let fields: Vec<Field> = columns
        .iter()
        .map(|(name, array)| Field::new(*name, array.data_type().clone(), true))
        .collect();
    let arrays = columns.into_iter().map(|(_, array)| array).collect();
    let batch = RecordBatch::try_new(Arc::new(Schema::new(fields)), arrays).unwrap();
    let properties = WriterProperties::builder()
        .set_max_row_group_row_count(Some(3))
        .build();
    let mut writer = ArrowWriter::try_new(create(path), batch.schema(), Some(properties)).unwrap();
    writer.write(&batch).unwrap();
    writer.close().unwrap();
}

/// Rows of text as columns of text; an empty cell is none.
fn write_texts(path: &Path, header: &str, rows: &[&str]) {
    let columns = header.split(',').enumerate().map(|(n, name)| {
        let cell = |row: &&'static str| row.split(',').nth(n).filter(|cell| !cell.is_empty());
        let rows: Vec<&'static str> = rows.iter().map(|row| &*String::from(*row).leak()).collect();
        let texts: StringArray = rows.iter().map(cell).collect();
        (name, Arc::new(texts) as ArrayRef)
    });
    write(path, columns.collect());
}

/// How many of each kind and how long; rows are counted from another line.
fn counted(defects: &Defects) -> Vec<(Kind, u64, f64)> {
    let kinds = defects.kinds.iter();
    kinds
        .map(|(kind, rows)| (*kind, rows.count, rows.seconds))
        .collect()
}

#[test]
fn a_rehearsed_log_says_the_same_as_csv_and_as_parquet() {
    let plant = Plant::new();
    let roster = plant.roster(LogMap::default());
    let (heard, classes) = plant.rehearsed();
    let folder = tempfile::tempdir().unwrap();
    let (csv, columns) = (folder.path().join("csv"), folder.path().join("parquet"));
    std::fs::create_dir(&csv).unwrap();
    std::fs::create_dir(&columns).unwrap();
    let to = |name: &str| create(&csv.join(name));
    rehearse::states_csv(&heard, &roster, &classes, &mut to("states.csv")).unwrap();
    rehearse::counts_csv(&heard, &roster, &mut to("counts.csv")).unwrap();
    rehearse::quality_csv(&heard, &roster, &mut to("quality.csv")).unwrap();
    rehearse::genealogy_csv(&heard, &classes, &mut to("genealogy.csv")).unwrap();
    let to = |name: &str| create(&columns.join(name));
    use rehearse::parquet as write;
    write::states_parquet(&heard, &roster, &classes, to("states.parquet")).unwrap();
    write::counts_parquet(&heard, &roster, to("counts.parquet")).unwrap();
    write::quality_parquet(&heard, &roster, to("quality.parquet")).unwrap();
    write::genealogy_parquet(&heard, &classes, to("genealogy.parquet")).unwrap();

    let one = read_at(&csv, &roster).unwrap();
    let other = read_at(&columns, &roster).unwrap();
    assert!(one.rows > 5_000 && one.rows == other.rows);
    assert_eq!(one.span, other.span);
    assert!(one.defects.kinds.is_empty() && other.defects.kinds.is_empty());
    let fine = Grain {
        day: true,
        shift: true,
    };
    assert_eq!(figures(&one, &roster, fine), figures(&other, &roster, fine));
    assert_eq!(causes(&one, &roster), causes(&other, &roster));
    assert_eq!(cycles(&one, &roster), cycles(&other, &roster));
    assert_eq!(one.tables.items, other.tables.items);
    assert!(!one.tables.items.is_empty());
    assert_eq!(one.tables.rejects, other.tables.rejects);
    let learned = |log: &Log| crate::learn::learn(log, &roster, &plant.book, &plant.built);
    assert_eq!(learned(&one), learned(&other));
}

#[test]
fn what_is_wrong_with_a_log_is_counted_the_same() {
    let plant = Plant::new();
    let map = LogMap {
        zone: Zone::parse("+01:00 eu").unwrap(),
        ..LogMap::default()
    };
    let roster = plant.roster(map);
    let header = "station,unit,from,to,state,cause,product,item";
    let rows = [
        "weld,,2026-03-02T06:00:00Z,2026-03-02T06:01:00Z,working,,van,a",
        "weld,,2026-03-02T06:00:00Z,2026-03-02T06:01:00Z,working,,van,a",
        "weld,,2026-03-02T06:00:30Z,2026-03-02T06:02:00Z,blocked,,van,a",
        "weld,,2026-03-02T06:05:00Z,2026-03-02T06:06:00Z,working,,lorry,b",
        "weld,,2026-03-02T06:03:00Z,2026-03-02T06:04:00Z,working,,,c",
        "weld,,2026-03-02T06:07:00Z,2026-03-02T06:06:00Z,working,,,d",
        "wold,,2026-03-02T06:07:00Z,2026-03-02T06:08:00Z,working,,,d",
        "weld,2,2026-03-02T06:07:00Z,2026-03-02T06:08:00Z,working,,,d",
        "weld,,2026-03-02T06:07:00Z,2026-03-02T06:08:00Z,dancing,,,d",
        "weld,,yesterday,2026-03-02T06:08:00Z,working,,,d",
        "weld,,2026-03-02T06:09:00Z,soon,working,,,d",
        ",,2026-03-02T06:09:00Z,,working,,,d",
        "weld,,2026-03-02T06:10:00Z,2026-03-02T06:12:00Z,stopped,jam,,",
        "weld,,2026-03-29 02:10:00,2026-03-29 03:10:00,blocked,,,b",
        "weld,,2026-10-25 01:50:00,2026-10-25 02:40:00,working,,,a",
        "weld,,2026-10-25 02:40:00,2026-10-25 02:20:00,working,,,b",
        "weld,,2026-10-25 02:20:00,,blocked,,,b",
    ];
    let folder = tempfile::tempdir().unwrap();
    let (csv, columns) = (folder.path().join("a.csv"), folder.path().join("a.parquet"));
    std::fs::write(&csv, format!("{header}\n{}\n", rows.join("\n"))).unwrap();
    write_texts(&columns, header, &rows);
    let one = read_at(&csv, &roster).unwrap();
    let other = read_at(&columns, &roster).unwrap();
    assert_eq!(counted(&one.defects), counted(&other.defects));
    assert_eq!(one.defects.words, other.defects.words);
    assert_eq!((one.rows, one.span), (other.rows, other.span));
    assert_eq!(
        figures(&one, &roster, Grain::ALL),
        figures(&other, &roster, Grain::ALL)
    );
    for kind in [
        Kind::BadStamp,
        Kind::UnknownStation,
        Kind::UnknownUnit,
        Kind::UnknownState,
        Kind::UnknownProduct,
        Kind::ClockBack,
        Kind::ClockForward,
        Kind::MissingHour,
        Kind::DoubledHour,
        Kind::Duplicate,
        Kind::OutOfOrder,
        Kind::Overlap,
    ] {
        assert!(other.defects.count(kind) > 0, "{kind:?}");
    }
    let place = &other.defects.kinds[&Kind::UnknownUnit].first[0];
    assert_eq!((place.row, place.found.as_str()), (8, "2"));
}

#[test]
fn a_timestamp_without_a_zone_is_a_reading_of_the_plants_clock() {
    let plant = Plant::new();
    let map = "what,theirs,ours\ncolumn,machine,station\ncolumn,since,from\nzone,,+01:00 eu\n";
    let roster = plant.roster(LogMap::read("log_map.csv", map.as_bytes()).unwrap());
    let day = days(2026, 10, 25) * 86_400_000;
    let at = |minutes: i64| Some(day + minutes * 60_000);
    let since: TimestampMillisecondArray = [at(110), at(160), at(140), None].into_iter().collect();
    let machine: StringArray = [Some("weld"); 4].into_iter().collect();
    let state: StringArray = [
        Some("working"),
        Some("blocked"),
        Some("working"),
        Some("off"),
    ]
    .into_iter()
    .collect();
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("states.parquet");
    write(
        &path,
        vec![
            ("machine", Arc::new(machine)),
            ("since", Arc::new(since)),
            ("state", Arc::new(state)),
        ],
    );
    let log = read_at(&path, &roster).unwrap();
    assert_eq!(log.defects.count(Kind::DoubledHour), 2);
    assert_eq!(
        log.defects.count(Kind::BadStamp),
        1,
        "a row without a begin"
    );
    // 01:50 to 02:40 in summer, and on to 02:20 in winter, 40 minutes later.
    let (from, to) = log.span.unwrap();
    assert_eq!(to - from, 90 * MINUTE);
}

#[test]
fn what_cannot_be_read_is_named_with_the_way_out() {
    let plant = Plant::new();
    let roster = plant.roster(LogMap::default());
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("states.parquet");
    let refused = || match read_at(&path, &roster) {
        Err(LogError::Problems(problems)) => problems[0].clone(),
        other => panic!("{other:?}"),
    };
    let header = "station,from,state";
    write_texts(&path, header, &[]);
    assert_eq!(refused().code, "log/empty");
    write_texts(
        &path,
        "station,begin,state",
        &["weld,2026-03-02T06:00Z,working"],
    );
    assert_eq!(refused().code, "log/missing-column");
    write_texts(&path, header, &["stamping 4,2026-03-02T06:00Z,working"]);
    assert_eq!(refused().code, "log/another-plant");
    write_texts(&path, header, &["weld,2026-03-02T06:00Z,RUN"]);
    assert_eq!(refused().code, "log/unknown-state");
    let words = |word: &'static str| {
        let array: StringArray = [Some(word)].into_iter().collect();
        Arc::new(array) as ArrayRef
    };
    let hours: Float64Array = [Some(6.5)].into_iter().collect();
    write(
        &path,
        vec![
            ("station", words("weld")),
            ("from", Arc::new(hours)),
            ("state", words("working")),
        ],
    );
    let problem = refused();
    assert_eq!(
        (problem.code.as_str(), problem.column.as_deref()),
        ("log/column-kind", Some("from"))
    );
    let whole = std::fs::read(&path).unwrap();
    std::fs::write(&path, &whole[..whole.len() / 2]).unwrap();
    assert_eq!(refused().code, "log/unreadable");
    std::fs::write(folder.path().join("states.csv"), "station,from,state\n").unwrap();
    match Files::at(folder.path(), None) {
        Err(LogError::Problems(problems)) => assert_eq!(problems[0].code, "log/table-twice"),
        other => panic!("{other:?}"),
    }
}
