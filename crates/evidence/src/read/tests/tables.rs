//! Counts, quality and genealogy beside a log of states.

use super::*;
use crate::read::QualityResult;

const STATES: &str = "station,from,to,state\nweld,2026-03-02T06:00Z,2026-03-02T06:10Z,working\n";

/// A log with further tables.
fn with(map: &str, tables: &[(&str, &str)]) -> Result<Log, LogError> {
    let folder = tempfile::tempdir().unwrap();
    let write = |name: &str, text: &str| std::fs::write(folder.path().join(name), text).unwrap();
    write("states.csv", STATES);
    write("log_map.csv", &format!("what,theirs,ours\n{map}"));
    for (name, text) in tables {
        write(name, text);
    }
    let files = Files::at(folder.path(), None).unwrap();
    let roster = roster(files.read_map().unwrap());
    read(&files, &roster, RULES, &AtomicBool::new(false))
}

fn made(log: &Log) -> Made {
    let mut all = Made::default();
    log.tables
        .counts
        .values()
        .for_each(|counts| all.add(*counts));
    all
}

#[test]
fn tables_may_be_separated_by_semicolons_and_tabs() {
    let counts = "station,time,made,rework,scrap\nweld,2026-03-02T07:00Z,60,2,1\n";
    let quality = "station,time,result,cause\nweld,2026-03-02T06:20Z,rework,gap\n";
    let genealogy = "item,began,time,made_of\nlot,2026-03-02T00:00Z,,\n\
                     van 1,2026-03-02T06:00Z,2026-03-03T00:00Z,lot\n";
    for separator in [",", ";", "\t"] {
        let tables = [
            ("counts.csv", counts),
            ("quality.csv", quality),
            ("genealogy.csv", genealogy),
        ];
        let tables = tables.map(|(name, text)| (name, text.replace(',', separator)));
        let tables: Vec<(&str, &str)> = tables.iter().map(|(n, t)| (*n, t.as_str())).collect();
        let log = with("", &tables).unwrap();
        assert_eq!(made(&log).good(), 57);
        assert_eq!(log.tables.rejects.len(), 1);
        assert_eq!(log.tables.items[0].1, 86_400.0);
        assert!(log.defects.kinds.is_empty(), "{:?}", log.defects);
    }
    let utf_16: String = "\u{1}\0".to_owned();
    match with("", &[("counts.csv", &utf_16)]) {
        Err(LogError::Problems(problems)) => assert_eq!(problems[0].code, "log/not-utf-8"),
        other => panic!("{other:?}"),
    }
}

#[test]
fn words_of_quality_are_those_of_the_map_and_the_usual_ones() {
    let quality = "Ort,Wann,Befund,Grund\n\
        weld,2026-03-02T06:20Z,OK,\n\
        weld,2026-03-02T06:21Z,NOK,Grat\n\
        weld,2026-03-02T06:22Z,Scrap,\n\
        weld,2026-03-02T06:23Z,fail,\n";
    let columns = "column,Ort,station\ncolumn,Wann,time\ncolumn,Befund,result\n\
                   column,Grund,cause\ncause,Grat,burr\n";
    let states = STATES.replace("station,from", "Ort,from");
    let log = with(
        &format!("{columns}result,NOK,rework\n"),
        &[("quality.csv", quality), ("states.csv", &states)],
    )
    .unwrap();
    let found = log.tables.events.values().copied().next().unwrap();
    let expected = Made {
        made: 3,
        rework: 1,
        scrap: 1,
    };
    assert_eq!(found, expected);
    assert!(log.tables.rejects.keys().any(|(_, cause)| cause == "burr"));
    let unknown = &log.defects.kinds[&Kind::UnknownResult];
    assert_eq!((unknown.count, unknown.first[0].row), (1, 5));
    assert_eq!(QualityResult::parse("nok"), None, "rework or scrap?");
}

#[test]
fn strangers_in_counts_do_not_make_a_log_another_plants() {
    let mut counts = "station,time,made\n".to_owned();
    for n in 0..60 {
        counts += &format!("other {n},2026-03-02T07:00Z,3\n");
    }
    let log = with("", &[("counts.csv", &counts)]).unwrap();
    assert_eq!(log.defects.count(Kind::UnknownStation), 60);
    assert_eq!(log.strangers, 0);
    // What is shown of a name is cut.
    let long = format!(
        "station,time,made\n{},2026-03-02T07:00Z,3\n",
        "X".repeat(100_000)
    );
    let log = with("", &[("counts.csv", &long)]).unwrap();
    let shown = &log.defects.kinds[&Kind::UnknownStation].first[0].found;
    assert_eq!(shown.len(), 80);
}

#[test]
fn counts_and_quality_events_that_disagree_are_listed_with_both_figures() {
    let counts = "station,time,made,rework,scrap\n\
        weld,2026-03-02T07:00Z,60,2,0\n\
        weld,2026-03-02T08:00Z,58,0,1\n\
        weld,2026-03-02T09:00Z,61,0,0\n";
    let quality = "station,time,result\n\
        weld,2026-03-02T06:10Z,rework\n\
        weld,2026-03-02T06:20Z,rework\n\
        weld,2026-03-02T07:30Z,rework\n\
        weld,2026-03-02T08:10Z,scrap\n";
    let roster = roster(LogMap::default());
    let log = with("", &[("counts.csv", counts), ("quality.csv", quality)]).unwrap();
    let problems = log.problems(&roster);
    let told: Vec<&str> = problems
        .iter()
        .filter(|problem| problem.code == "log/counts-differ")
        .map(|problem| problem.found.as_str())
        .collect();
    assert_eq!(
        told,
        [
            "weld from 2026-03-02 07:00:00 to 2026-03-02 08:00:00: 0 rework, 1 scrap \
             by the counts, 1 rework, 0 scrap by the quality events (the first of 2 such counts)",
            "weld from 2026-03-02 08:00:00 to 2026-03-02 09:00:00: 0 rework, 0 scrap \
             by the counts, 0 rework, 1 scrap by the quality events",
        ]
    );
    // Counts that never tell of rejects contradict nothing.
    let jobs = "station,time,made\nweld,2026-03-02T07:00Z,60\nweld,2026-03-02T08:00Z,58\n";
    let log = with("", &[("counts.csv", jobs), ("quality.csv", quality)]).unwrap();
    let problems = log.problems(&roster);
    assert!(
        problems
            .iter()
            .all(|problem| problem.code != "log/counts-differ")
    );
}

#[test]
fn counts_twice_and_counts_that_are_none_are_listed() {
    let most = u64::MAX;
    let counts = format!(
        "station,time,made,rework,scrap\n\
         weld,2026-03-02T07:00Z,60,2,1\n\
         weld,2026-03-02T07:00Z,60,2,1\n\
         weld,2026-03-02T08:00Z,60,{most},1\n\
         weld,2026-03-02T09:00Z\n\
         weld,2026-03-02T09:00Z,1,000,0,0\n"
    );
    let log = with("", &[("counts.csv", &counts)]).unwrap();
    assert_eq!(made(&log).made, 60);
    for (kind, count) in [
        (Kind::Duplicate, 1),
        (Kind::BadNumber, 1),
        (Kind::BadRow, 2),
    ] {
        assert_eq!(log.defects.count(kind), count, "{kind:?}");
    }
    // Of two products, as a further column says.
    let products = "station,product,time,made\n\
        weld,van,2026-03-02T07:00Z,60\nweld,bus,2026-03-02T07:00Z,60\n";
    let log = with("", &[("counts.csv", products)]).unwrap();
    assert_eq!(made(&log).made, 120);
}

#[test]
fn lots_and_parts_are_no_cars() {
    let mut genealogy = "item,product,began,time,made_of\n\
        coil 1,,2026-03-01T06:00Z,2026-03-02T06:00Z,\n"
        .to_owned();
    for n in 0..50 {
        genealogy += &format!("lot {n},,2026-03-02T06:00Z,2026-03-02T10:00Z,coil 1\n");
    }
    for n in 0..10 {
        genealogy += &format!("car {n},van,2026-03-02T08:00Z,2026-03-02T12:00Z,lot {n}\n");
    }
    let log = with("", &[("genealogy.csv", &genealogy)]).unwrap();
    assert_eq!(log.tables.items.len(), 10, "forty lots lie in stock");
    assert_eq!(log.tables.items[0].1, 30.0 * 3_600.0, "as old as the coil");
    // Where no row says what is a product, what is part of nothing else.
    let silent = genealogy.replace(",van,", ",,");
    let log = with("", &[("genealogy.csv", &silent)]).unwrap();
    assert_eq!(log.tables.items.len(), 50);
}

#[test]
fn a_genealogy_is_taken_once_and_in_the_order_of_time() {
    let genealogy = "item,product,began,time,made_of\n\
        lot,,2026-03-02T04:00Z,,\n\
        car 1,van,2026-03-02T06:00Z,2026-03-02T12:00Z,lot\n\
        car 1,van,2026-03-02T06:00Z,2026-03-02T12:00Z,lot\n\
        car 1,van,2026-03-02T06:00Z,2026-03-02T13:00Z,lot\n\
        car 2,van,2026-03-02T14:00Z,2026-03-02T12:00Z,lot\n\
        car 3,tram,2026-03-02T06:00Z,2026-03-02T12:00Z,lot 99\n\
        car 4,van,2026-03-02T06:00Z,2026-03-02T12:00Z,lot\n\
        car 4,van,2026-03-02T06:00Z,2026-03-02T12:00Z,door\n\
        door,,2026-03-02T03:00Z,,\n";
    let log = with("", &[("genealogy.csv", genealogy)]).unwrap();
    let ages: Vec<f64> = log.tables.items.iter().map(|item| item.1).collect();
    assert_eq!(ages, [8.0 * 3_600.0, 9.0 * 3_600.0]);
    for (kind, count, row) in [
        (Kind::Duplicate, 2, 4),
        (Kind::ClockBack, 1, 6),
        (Kind::UnknownProduct, 1, 7),
        (Kind::UnknownItem, 1, 7),
    ] {
        let rows = &log.defects.kinds[&kind];
        assert_eq!((rows.count, rows.first[0].row), (count, row), "{kind:?}");
    }
}

#[test]
fn files_of_states_are_read_in_the_order_of_their_numbers() {
    let folder = tempfile::tempdir().unwrap();
    for (name, hour) in [("states-2.csv", 6), ("states-10.csv", 7)] {
        let rows = format!(
            "station,from,to,state\nweld,2026-03-02T0{hour}:00Z,2026-03-02T0{hour}:30Z,working\n"
        );
        std::fs::write(folder.path().join(name), rows).unwrap();
    }
    let files = Files::at(folder.path(), None).unwrap();
    assert_eq!(files.first(), "states-2.csv");
    let roster = roster(LogMap::default());
    let log = read(&files, &roster, RULES, &AtomicBool::new(false)).unwrap();
    assert_eq!(time(&log, 0, State::Working), 3_600.0);
    let gap = &log.defects.kinds[&Kind::Gap].first[0];
    assert_eq!((gap.file.as_str(), gap.row), ("states-10.csv", 2));
}
