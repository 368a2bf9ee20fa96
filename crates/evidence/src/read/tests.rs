#![allow(clippy::disallowed_methods, reason = "a test writes the logs it reads")]

use std::io::Cursor;
use std::sync::atomic::AtomicBool;

use super::*;
use crate::defects::Kind;
use crate::state::State;
use book::small::book;

mod leaps;
mod tables;

/// Two stations in a row, round the clock; the second has two units.
const PLANT: &str = "
    [products]
    product,cars_per_week
    van,700
    bus,300
    [stations]
    station,shop,units,cycle_s,mtbf_min,mttr_min
    weld,body,1,60,100,5
    trim,body,2,100,,
    [cycles]
    station,product,cycle_s
    weld,bus,90
    [stops]
    station,cause,mtbf_min,mttr_min
    weld,cap change,200,3
    [links]
    from,to,holds
    weld,trim,4
";

const RULES: Rules = Rules {
    merge: 0,
    short: 0,
    keep: None,
};

const HEADER: &str = "station,unit,from,to,state,cause,product,item\n";

fn roster(map: LogMap) -> Roster {
    let book = book(PLANT);
    let built = whole::network::build(&book).unwrap();
    Roster::of(&book, &built, map)
}

fn read_with(roster: &Roster, rules: Rules, text: &str) -> Log {
    let mut gatherer = Gatherer::new(roster, rules);
    gatherer
        .read(
            "states.csv",
            Cursor::new(text.as_bytes().to_vec()),
            &AtomicBool::new(false),
        )
        .unwrap();
    gatherer.finish()
}

fn read_rows(rows: &[&str]) -> Log {
    let text = format!("{HEADER}{}", rows.join("\n"));
    read_with(&roster(LogMap::default()), RULES, &text)
}

fn time(log: &Log, unit: usize, state: State) -> f64 {
    let cells = log.units[unit].cells.iter();
    cells.map(|cell| seconds(cell.time[state.at()])).sum()
}

#[test]
fn time_cycles_and_stops_are_those_of_the_rows() {
    let log = read_rows(&[
        "weld,,2026-03-02T06:00:00Z,2026-03-02T06:01:00Z,working,,van,a",
        "weld,,2026-03-02T06:01:00Z,2026-03-02T06:01:30Z,working,,van,b",
        "weld,,2026-03-02T06:01:30Z,2026-03-02T06:03:30Z,stopped,jam,van,b",
        "weld,,2026-03-02T06:03:30Z,2026-03-02T06:04:01Z,working,,van,b",
        "weld,,2026-03-02T06:04:01Z,2026-03-02T06:04:11Z,blocked,,van,b",
        "weld,,2026-03-02T06:04:11Z,2026-03-02T06:05:41Z,working,,bus,c",
        "weld,,2026-03-02T06:05:41Z,2026-03-02T06:06:00Z,starved,,,",
    ]);
    assert_eq!(log.defects.kinds.len(), 0, "{:?}", log.defects);
    assert_eq!(time(&log, 0, State::Working), 60.0 + 30.0 + 31.0 + 90.0);
    assert_eq!(time(&log, 0, State::Stopped), 120.0);
    let weld = &log.units[0];
    // The first job's begin is not in the log.
    let cycles: Vec<(u64, f64)> = weld.cycles.iter().map(|(_, m)| (m.n, m.mean)).collect();
    assert_eq!(cycles, [(1, 61.0), (1, 90.0)]);
    let cell = &weld.cells[0];
    assert_eq!((cell.jobs, cell.known, cell.stops), (3, 2, 1));
    assert_eq!(cell.planned, 150_000_000);
    let own = &weld.stops[0];
    assert_eq!(own.running.kept, [90.0]);
    assert_eq!(own.repairs.kept, [120.0]);
    assert_eq!(own.cut_running, 121.0);
}

#[test]
fn each_cause_of_the_book_has_its_own_clock() {
    let log = read_rows(&[
        "weld,,2026-03-02T06:00:00Z,2026-03-02T06:10:00Z,working,,,",
        "weld,,2026-03-02T06:10:00Z,2026-03-02T06:11:00Z,stopped,cap change,,",
        "weld,,2026-03-02T06:11:00Z,2026-03-02T06:21:00Z,working,,,",
        "weld,,2026-03-02T06:21:00Z,2026-03-02T06:22:00Z,stopped,jam,,",
        "weld,,2026-03-02T06:22:00Z,2026-03-02T06:24:00Z,waiting,jam,,",
        "weld,,2026-03-02T06:24:00Z,2026-03-02T06:25:00Z,stopped,jam,,",
        "weld,,2026-03-02T06:25:00Z,2026-03-02T06:26:00Z,working,,,",
    ]);
    let stops = &log.units[0].stops;
    assert_eq!(stops[0].running.kept, [1_200.0]);
    assert_eq!(
        stops[0].repairs.kept,
        [120.0],
        "waiting for help is no repair"
    );
    assert_eq!(stops[1].running.kept, [600.0]);
    assert_eq!(stops[1].cut_running, 660.0);
    let jam = log.words.iter().position(|word| word == "jam").unwrap();
    let sum = log.units[0]
        .causes
        .iter()
        .find(|(word, _)| *word as usize == jam);
    assert_eq!(sum.unwrap().1.down, 240_000_000);
}

#[test]
fn stops_within_the_merging_window_are_one() {
    let rows = [
        "weld,,2026-03-02T06:00:00Z,2026-03-02T06:10:00Z,working,,,",
        "weld,,2026-03-02T06:10:00Z,2026-03-02T06:11:00Z,stopped,jam,,",
        "weld,,2026-03-02T06:11:00Z,2026-03-02T06:11:20Z,working,,,",
        "weld,,2026-03-02T06:11:20Z,2026-03-02T06:13:20Z,stopped,jam,,",
        "weld,,2026-03-02T06:13:20Z,2026-03-02T06:23:20Z,working,,,",
    ];
    let text = format!("{HEADER}{}", rows.join("\n"));
    let merge = 60 * crate::time::SECOND;
    let log = read_with(&roster(LogMap::default()), Rules { merge, ..RULES }, &text);
    assert_eq!(log.units[0].stops[0].repairs.kept, [180.0]);
    assert_eq!(log.units[0].stops[0].running.n, 1);
}

#[test]
fn a_state_without_an_end_lasts_until_the_next() {
    let log = read_rows(&[
        "weld,,2026-03-02T06:00:00Z,,working,,,a",
        "weld,,2026-03-02T06:01:00Z,,blocked,,,",
        "weld,,2026-03-02T06:01:30Z,,working,,,b",
        "trim,1,2026-03-02T06:00:00Z,2026-03-02T06:03:00Z,working,,,a",
    ]);
    assert_eq!(
        time(&log, 0, State::Working),
        60.0 + 90.0,
        "the last until the log's end"
    );
    assert_eq!(time(&log, 0, State::Blocked), 30.0);
}

#[test]
fn defects_are_counted_listed_and_told_what_became_of_them() {
    let log = read_rows(&[
        "weld,,2026-03-02T06:00:00Z,2026-03-02T06:01:00Z,working,,,a",
        "weld,,2026-03-02T06:00:00Z,2026-03-02T06:01:00Z,working,,,a",
        "weld,,2026-03-02T06:00:30Z,2026-03-02T06:02:00Z,blocked,,,a",
        "weld,,2026-03-02T06:05:00Z,2026-03-02T06:06:00Z,working,,,b",
        "weld,,2026-03-02T06:03:00Z,2026-03-02T06:04:00Z,working,,,c",
        "weld,,2026-03-02T06:07:00Z,2026-03-02T06:06:00Z,working,,,d",
        "wold,,2026-03-02T06:07:00Z,2026-03-02T06:08:00Z,working,,,d",
        "weld,2,2026-03-02T06:07:00Z,2026-03-02T06:08:00Z,working,,,d",
        "weld,,2026-03-02T06:07:00Z,2026-03-02T06:08:00Z,dancing,,,d",
        "weld,,yesterday,2026-03-02T06:08:00Z,working,,,d",
        "weld,,2026-03-02",
        "weld,,2026-04-02T06:00:00Z,2026-04-02T06:01:00Z,working,,,e",
    ]);
    let expected = [
        (Kind::BadRow, 1),
        (Kind::BadStamp, 1),
        (Kind::UnknownStation, 1),
        (Kind::UnknownUnit, 1),
        (Kind::UnknownState, 1),
        (Kind::ClockBack, 1),
        (Kind::ClockForward, 1),
        (Kind::Duplicate, 1),
        (Kind::OutOfOrder, 1),
        (Kind::Overlap, 1),
        (Kind::Gap, 1),
    ];
    for (kind, count) in expected {
        assert_eq!(log.defects.count(kind), count, "{kind:?}");
    }
    assert_eq!(log.defects.kinds[&Kind::Overlap].seconds, 30.0);
    assert_eq!(log.defects.kinds[&Kind::Gap].seconds, 180.0);
    assert_eq!(log.rows, 12);
    assert_eq!(log.defects.left_out(), 8);
    let roster = roster(LogMap::default());
    let problems = log.problems(&roster);
    let unknown = problems
        .iter()
        .find(|p| p.code == "log/unknown-station")
        .unwrap();
    assert_eq!(
        (unknown.row, unknown.nearest.as_deref()),
        (Some(8), Some("weld"))
    );
    assert!(problems.iter().all(|p| !p.mend.is_empty()));
}

#[test]
fn the_hour_that_comes_twice_is_read_in_order_and_listed() {
    let map = LogMap {
        zone: crate::time::Zone::parse("+01:00 eu").unwrap(),
        ..LogMap::default()
    };
    let rows = [
        "weld,,2026-10-25 01:50:00,2026-10-25 02:40:00,working,,,a",
        "weld,,2026-10-25 02:40:00,2026-10-25 02:20:00,working,,,b",
        "weld,,2026-10-25 02:20:00,2026-10-25 03:10:00,blocked,,,b",
        "weld,,2026-03-29 02:10:00,2026-03-29 03:10:00,blocked,,,b",
    ];
    let text = format!("{HEADER}{}", rows.join("\n"));
    let log = read_with(&roster(map), RULES, &text);
    assert_eq!(log.defects.count(Kind::DoubledHour), 3);
    assert_eq!(log.defects.count(Kind::MissingHour), 1);
    assert_eq!(time(&log, 0, State::Working), 50.0 * 60.0 + 40.0 * 60.0);
    assert_eq!(time(&log, 0, State::Blocked), 50.0 * 60.0);
    assert_eq!(log.defects.count(Kind::OutOfOrder), 0);
}

#[test]
fn another_logs_words_and_quotes_are_read() {
    let text = "Maschine;Beginn;Ende;Zustand\n\"weld\";2026-03-02T06:00Z;2026-03-02T06:10Z;RUN\n\"we\"\"ld\";2026-03-02T06:10Z;2026-03-02T06:20Z;RUN\n";
    let map = "what,theirs,ours\ncolumn,Maschine,station\ncolumn,Beginn,from\ncolumn,Ende,to\ncolumn,Zustand,state\nstate,RUN,working\n";
    let map = LogMap::read("log_map.csv", map.as_bytes()).unwrap();
    let log = read_with(&roster(map), RULES, text);
    assert_eq!(time(&log, 0, State::Working), 600.0);
    assert_eq!(log.defects.count(Kind::UnknownStation), 1);
}

#[test]
fn a_log_of_nothing_or_of_another_plant_is_refused_with_the_way_out() {
    let roster = roster(LogMap::default());
    let refused = |text: &str| {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("states.csv");
        std::fs::write(&path, text).unwrap();
        let files = Files::at(&path, None).unwrap();
        match read(&files, &roster, RULES, &AtomicBool::new(false)) {
            Err(LogError::Problems(problems)) => problems[0].clone(),
            other => panic!("{other:?}"),
        }
    };
    assert_eq!(refused(HEADER).code, "log/empty");
    assert_eq!(refused("").code, "log/missing-column");
    let other = "station,from,to,state\nstamping 4,2026-03-02T06:00Z,2026-03-02T06:10Z,working\n";
    let problem = refused(other);
    assert_eq!(problem.code, "log/another-plant");
    assert!(
        problem.found.starts_with("0 of 1 names match"),
        "{}",
        problem.found
    );
    let stateless = "station,from,to,state\nweld,2026-03-02T06:00Z,2026-03-02T06:10Z,RUN\n";
    assert_eq!(refused(stateless).code, "log/unknown-state");
    assert!(Files::at(tempfile::tempdir().unwrap().path(), None).is_err());
}

#[test]
fn the_smaller_tables_are_read_beside_the_states() {
    let roster = roster(LogMap::default());
    let folder = tempfile::tempdir().unwrap();
    let write = |name: &str, text: &str| std::fs::write(folder.path().join(name), text).unwrap();
    write(
        "states.csv",
        "station,from,to,state\nweld,2026-03-02T06:00Z,2026-03-02T06:10Z,working\n",
    );
    write(
        "counts.csv",
        "station,time,made,rework,scrap\nweld,2026-03-02T07:00Z,60,2,1\nweld,2026-03-02T08:00Z,50,60,1\nweld,2026-03-02T08:00Z,x,,\n",
    );
    write(
        "quality.csv",
        "station,time,result,cause\nweld,2026-03-02T06:20Z,rework,gap\nweld,2026-03-02T06:40Z,scrap,crack\nweld,2026-03-02T06:45Z,odd,\n",
    );
    write(
        "genealogy.csv",
        "item,began,time,made_of\ncoil 1,2026-03-01T00:00Z,,\ndoor 1,2026-03-02T00:00Z,,coil 1\nvan 1,2026-03-02T06:00Z,2026-03-03T00:00Z,door 1; roof 1\n",
    );
    let files = Files::at(folder.path(), None).unwrap();
    let log = read(&files, &roster, RULES, &AtomicBool::new(false)).unwrap();
    let made: Vec<Made> = log.output().made.values().copied().collect();
    assert_eq!(
        made,
        [Made {
            made: 60,
            rework: 2,
            scrap: 1
        }]
    );
    assert_eq!(made[0].good(), 57);
    assert_eq!(log.tables.rejects.len(), 2);
    assert_eq!(log.defects.count(Kind::BadNumber), 2);
    assert_eq!(log.defects.count(Kind::UnknownResult), 1);
    assert_eq!(log.tables.items.len(), 1);
    assert_eq!(log.tables.items[0].1, 2.0 * 86_400.0);
    assert_eq!(log.defects.count(Kind::UnknownItem), 1, "the roof");
}

#[test]
fn an_event_log_is_read_in_place_of_a_state_log() {
    let roster = roster(LogMap::default());
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("day.xes");
    let event = |time: &str, what: &str| {
        format!(
            "<event><string key='concept:name' value='trim'/><date key='time:timestamp' value='{time}'/>\
             <string key='lifecycle:transition' value='{what}'/></event>"
        )
    };
    let trace = [
        event("2026-03-02T06:00:00Z", "start"),
        event("2026-03-02T06:01:00Z", "complete"),
        event("2026-03-02T06:02:00Z", "complete"),
    ];
    let text = format!(
        "<log><trace><string key='concept:name' value='van 1'/>{}</trace></log>",
        trace.concat()
    );
    std::fs::write(&path, text).unwrap();
    let files = Files::at(&path, None).unwrap();
    let log = read(&files, &roster, RULES, &AtomicBool::new(false)).unwrap();
    assert_eq!(time(&log, 1, State::Working), 60.0);
    assert_eq!(log.tables.items, [(log.tables.items[0].0, 120.0)]);
    let odd = &log.defects.kinds[&Kind::UnpairedEvent];
    assert_eq!(odd.count, 1, "an end without a beginning");
    assert_eq!(odd.first[0].row, 3, "the file's third event");
}

#[test]
fn a_units_last_job_counts_when_its_complete_stands_in_the_log() {
    let roster = roster(LogMap::default());
    let folder = tempfile::tempdir().unwrap();
    let steps = [
        ("start", "06:00"),
        ("complete", "06:02"),
        ("start", "06:03"),
        ("complete", "06:05"),
    ];
    let xes = |steps: &[(&str, &str)]| {
        let events: Vec<String> = steps
            .iter()
            .zip(["van 1", "van 1", "van 2", "van 2"])
            .map(|((what, time), van)| {
                format!(
                    "<trace><string key='concept:name' value='{van}'/><event>\
                     <string key='concept:name' value='weld'/>\
                     <date key='time:timestamp' value='2026-03-02T{time}:00Z'/>\
                     <string key='lifecycle:transition' value='{what}'/></event></trace>"
                )
            })
            .collect();
        format!("<log>{}</log>", events.concat())
    };
    let ocel = |steps: &[(&str, &str)]| {
        let events: Vec<String> = steps
            .iter()
            .zip(["van 1", "van 1", "van 2", "van 2"])
            .map(|((what, time), van)| {
                format!(
                    r#"{{"type": "weld", "time": "2026-03-02T{time}:00Z",
                        "attributes": [{{"name": "lifecycle", "value": "{what}"}}],
                        "relationships": [{{"objectId": "{van}"}}]}}"#
                )
            })
            .collect();
        format!(r#"{{"events": [{}]}}"#, events.join(", "))
    };
    let mut jobs = Vec::new();
    for (file, text) in [
        ("day.xes", xes(&steps)),
        ("day.json", ocel(&steps)),
        // The last one is still worked on as the log ends.
        ("cut.xes", xes(&steps[..3])),
        ("cut.json", ocel(&steps[..3])),
    ] {
        let path = folder.path().join(file);
        std::fs::write(&path, text).unwrap();
        let files = Files::at(&path, None).unwrap();
        let log = read(&files, &roster, RULES, &AtomicBool::new(false)).unwrap();
        let done: u32 = log.units[0].cells.iter().map(|cell| cell.jobs).sum();
        jobs.push((
            done,
            log.units[0]
                .cycles
                .iter()
                .map(|(_, cycles)| cycles.n)
                .sum::<u64>(),
        ));
    }
    // Of the first the cycle is not known: the log begins in it.
    assert_eq!(jobs, [(2, 1), (2, 1), (1, 0), (1, 0)]);
}

#[test]
fn ends_alone_are_refused_with_what_is_needed() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("day.xes");
    let event = "<event><string key='concept:name' value='weld'/>\
         <date key='time:timestamp' value='2026-03-02T06:00:00Z'/>";
    for (lifecycle, found) in [
        (
            "<string key='lifecycle:transition' value='complete'/>",
            "2 `complete`",
        ),
        ("", "2 without a lifecycle"),
    ] {
        let event = format!("{event}{lifecycle}</event>");
        std::fs::write(&path, format!("<log><trace>{event}{event}</trace></log>")).unwrap();
        let files = Files::at(&path, None).unwrap();
        match read(
            &files,
            &roster(LogMap::default()),
            RULES,
            &AtomicBool::new(false),
        ) {
            Err(LogError::Problems(problems)) => {
                assert_eq!(problems[0].code, "log/no-lifecycle");
                assert!(problems[0].found.ends_with(found), "{}", problems[0].found);
                assert!(problems[0].expected.contains("`start`"));
            }
            other => panic!("{other:?}"),
        }
    }
}

#[cfg(not(feature = "parquet"))]
#[test]
fn a_parquet_file_is_refused_by_a_build_without_the_feature() {
    let roster = roster(LogMap::default());
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("states.parquet");
    std::fs::write(&path, b"PAR1").unwrap();
    let files = Files::at(folder.path(), None).unwrap();
    match read(&files, &roster, RULES, &AtomicBool::new(false)) {
        Err(LogError::Problems(problems)) => {
            assert_eq!(problems[0].code, "log/no-parquet");
            assert!(problems[0].mend.contains("--features parquet"));
        }
        other => panic!("{other:?}"),
    }
}

#[test]
fn a_job_that_waits_half_way_is_one_job_and_counts_where_it_was_last_worked_on() {
    let log = read_rows(&[
        "trim,1,2026-03-02T06:00:00Z,2026-03-02T06:00:30Z,working,,van,a",
        "trim,1,2026-03-02T06:00:30Z,2026-03-02T06:01:00Z,starved,,,",
        "trim,1,2026-03-02T06:01:00Z,2026-03-02T06:02:10Z,working,,van,a",
        "trim,1,2026-03-02T06:02:10Z,2026-03-02T06:03:50Z,working,,van,b",
        "trim,1,2026-03-02T06:03:50Z,2026-03-03T06:00:00Z,off,,,",
        "trim,1,2026-03-03T06:00:00Z,2026-03-03T06:01:40Z,working,,van,c",
        "trim,1,2026-03-03T06:01:40Z,2026-03-03T06:02:00Z,blocked,,van,c",
    ]);
    let trim = &log.units[1];
    let jobs: Vec<u32> = trim.cells.iter().map(|cell| cell.jobs).collect();
    assert_eq!(jobs, [2, 1], "two on the first day, one on the second");
    let monday = crate::time::days(2026, 3, 2) * 24;
    assert_eq!(trim.hours, [(monday + 6, 2), (monday + 30, 1)]);
    // Of the first job the begin of the log is the begin: only b and c count.
    assert_eq!((trim.cycles[0].1.n, trim.cycles[0].1.mean), (2, 100.0));
}

#[test]
fn merged_stops_are_one_in_every_table() {
    let rows = [
        "weld,,2026-03-02T06:00:00Z,2026-03-02T06:10:00Z,working,,,",
        "weld,,2026-03-02T06:10:00Z,2026-03-02T06:10:40Z,stopped,jam,,",
        "weld,,2026-03-02T06:10:40Z,2026-03-02T06:10:50Z,working,,,",
        "weld,,2026-03-02T06:10:50Z,2026-03-02T06:12:30Z,stopped,jam,,",
        "weld,,2026-03-02T06:12:30Z,2026-03-02T06:12:35Z,working,,,",
        "weld,,2026-03-02T06:12:35Z,2026-03-02T06:13:00Z,stopped,door,,",
        "weld,,2026-03-02T06:13:00Z,2026-03-02T06:30:00Z,working,,,",
    ];
    let text = format!("{HEADER}{}", rows.join("\n"));
    let told = |merge_s: i64| {
        let rules = Rules {
            merge: merge_s * crate::time::SECOND,
            short: 120 * crate::time::SECOND,
            keep: None,
        };
        let log = read_with(&roster(LogMap::default()), rules, &text);
        let weld = &log.units[0];
        let cell = weld.cells[0];
        let stops = weld.causes.iter().map(|(_, sum)| sum.stops).collect();
        let repairs = weld.stops[0].repairs.kept.clone();
        (cell.stops, cell.short, stops, repairs)
    };
    assert_eq!(told(0), (3, 3, vec![2, 1], vec![40.0, 100.0, 25.0]));
    // The jam is one of 140 s, and no short one; the door is another cause.
    assert_eq!(told(60), (2, 1, vec![1, 1], vec![140.0, 25.0]));
}

#[test]
fn rejects_alone_do_not_say_that_everything_was_bad() {
    let roster = roster(LogMap::default());
    let folder = tempfile::tempdir().unwrap();
    let write = |name: &str, text: &str| std::fs::write(folder.path().join(name), text).unwrap();
    let jobs = (0..50).map(|n| {
        let at = |minute: i64| format!("2026-03-02T{:02}:{:02}Z", 6 + minute / 60, minute % 60);
        format!("weld,{},{},working,van,{n}\n", at(n), at(n + 1))
    });
    let jobs: String = jobs.collect();
    write(
        "states.csv",
        &format!(
            "station,from,to,state,product,item\n{jobs}weld,2026-03-02T06:50Z,2026-03-02T06:55Z,starved,,\n"
        ),
    );
    write(
        "quality.csv",
        "station,time,result,cause\nweld,2026-03-02T06:20Z,rework,gap\n",
    );
    let read_folder = || {
        let files = Files::at(folder.path(), None).unwrap();
        let log = read(&files, &roster, RULES, &AtomicBool::new(false)).unwrap();
        let output = log.output();
        let made = output.made.values().copied().collect::<Vec<Made>>();
        let notes = log.problems(&roster);
        let untold = notes.iter().any(|note| note.code == "log/quality-untold");
        assert_eq!(untold, output.judged.is_empty(), "{notes:?}");
        (made, output.judged.len())
    };
    let made = |made, rework| Made {
        made,
        rework,
        scrap: 0,
    };
    assert_eq!(read_folder(), (vec![made(50, 1)], 1));
    // Counts that say nothing of rework leave it to the events.
    write(
        "counts.csv",
        "station,time,made\nweld,2026-03-02T07:00Z,60\n",
    );
    assert_eq!(read_folder(), (vec![made(60, 1)], 1));
    // Without either nothing is known of what was not right.
    std::fs::remove_file(folder.path().join("quality.csv")).unwrap();
    assert_eq!(read_folder(), (vec![made(60, 0)], 0));
}
