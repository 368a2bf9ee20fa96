#![allow(clippy::disallowed_methods, reason = "a test writes the logs it reads")]

use std::io::Cursor;
use std::sync::atomic::AtomicBool;

use super::*;
use crate::gather::Rules;
use crate::map::LogMap;
use crate::read::Gatherer;
use book::small::book;
use proptest::prelude::*;

/// OEE 0.72 and NEE 0.777273: 440 min planned, 352 producing, 28 of setting up,
/// 1.1 min an item, 300 made, 288 good (ISO 22400-2:2014 formulas; arithmetic).
#[test]
#[expect(clippy::too_many_lines, reason = "a table of figures")]
fn the_standards_ratios_come_out_of_a_log() {
    let book = book(
        "[shifts]
         shop,shift,days,start,end
         press,day,mon-fri,06:00,13:20
         [products]
         product,cars_per_week
         van,1000
         [stations]
         station,shop,line,cycle_s
         press,press,one,66",
    );
    let built = whole::network::build(&book).unwrap();
    let roster = Roster::of(&book, &built, LogMap::default());
    let mut text = "station,from,to,state,cause,product,item\n".to_owned();
    let clock = |s: u64| {
        format!(
            "2026-03-02T{:02}:{:02}:{:02}Z",
            6 + s / 3_600,
            s / 60 % 60,
            s % 60
        )
    };
    let mut at = 0;
    let mut row = |state: &str, length: u64, item: usize| {
        text += &format!(
            "press,{},{},{state},,van,{item}\n",
            clock(at),
            clock(at + length)
        );
        at += length;
    };
    row("setup", 28 * 60, 0);
    // 352 min over 300 items is 70.4 s: 299 of 70 and the rest in the last.
    for item in 1..300 {
        row("working", 70, item);
    }
    row("working", 352 * 60 - 299 * 70, 300);
    row("stopped", 40 * 60, 300);
    row("starved", 20 * 60, 0);
    let rules = Rules {
        merge: 0,
        short: 0,
        keep: None,
    };
    let mut gatherer = Gatherer::new(&roster, rules);
    gatherer
        .read(
            "states.csv",
            Cursor::new(text.into_bytes()),
            &AtomicBool::new(false),
        )
        .unwrap();
    let mut log = gatherer.finish();
    assert!(log.defects.kinds.is_empty(), "{:?}", log.defects);
    let turn = log.units[0].cells[0].turn;
    log.tables.tells_rejects = true;
    log.tables.counts.insert(
        (0, turn),
        Made {
            made: 300,
            rework: 8,
            scrap: 4,
        },
    );

    let all = figures(
        &log,
        &roster,
        Grain {
            day: true,
            shift: true,
        },
    );
    assert_eq!(all.len(), 4, "station, line, shop, plant");
    for (of, found) in &all {
        assert_eq!((of.day.as_str(), of.shift.as_str()), ("2026-03-02", "day"));
        let r = &found.ratios;
        let close = |found: Option<f64>, published: f64| {
            assert!(
                (found.unwrap() - published).abs() < 1e-6,
                "{of:?}: {found:?} against {published}"
            );
        };
        close(r.availability, 0.8);
        close(r.effectiveness, 0.9375);
        close(r.quality_ratio, 0.96);
        close(r.oee, 0.72);
        close(r.nee, 0.777_273);
        close(r.setup_ratio, 0.073_684_2);
        close(r.technical_efficiency, 0.897_959);
        close(r.scrap_ratio, 0.013_333_3);
        close(r.rework_ratio, 0.026_666_7);
        close(r.first_pass_yield, 0.96);
        if of.shop.is_empty() {
            assert_eq!(
                r.fall_off, None,
                "a plant makes more than one kind of thing"
            );
        } else {
            close(r.fall_off, 4.0 / 300.0);
        }
        let (time, oee) = found.identity_gaps();
        assert!(time.abs() < 1e-6 && oee.abs() < 1e-12);
        assert_eq!(
            found.pbt_s,
            440.0 * 60.0,
            "planned busy time is that of the calendar"
        );
    }
    let rows = causes(&log, &roster);
    assert_eq!((rows.len(), rows[0].stops, rows[0].down_s), (1, 1, 2_400.0));
    assert_eq!(rows[0].running_share, 1.0);
    let cycles = cycles(&log, &roster);
    assert_eq!(cycles[0].planned_s, Some(66.0));
}

/// Three stations; the last is never named in a state log.
const PLANT: &str = "
    [shifts]
    shop,shift,days,start,end
    body,early,mon-fri,06:00,14:00
    body,late,mon-fri,14:00,22:00
    [products]
    product,cars_per_week
    van,1000
    [stations]
    station,shop,cycle_s
    weld,body,60
    trim,body,60
    pack,body,60
    [links]
    from,to,holds
    weld,trim,5
    trim,pack,5
";

/// Rows of a table from what was drawn: a station, a minute of two weeks that
/// begin on Monday 2026-03-02, and two numbers.
fn drawn() -> impl Strategy<Value = Vec<(usize, i64, u64, u64)>> {
    let row = (0..3_usize, 0..14 * 1_440_i64, 0..60_u64, 0..4_u64);
    proptest::collection::vec(row, 0..40)
}

fn at(minute: i64) -> String {
    let day = crate::time::days(2026, 3, 2) + minute.div_euclid(1_440);
    let of_day = minute.rem_euclid(1_440);
    format!("{}T{:02}:{:02}Z", show_day(day), of_day / 60, of_day % 60)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]
    #[test]
    fn no_count_is_dropped_whatever_states_were_seen(
        states in proptest::collection::vec((0..2_usize, 0..14 * 1_440_i64, 1..300_i64), 1..20),
        counts in drawn(),
        events in drawn(),
    ) {
        let book = book(PLANT);
        let built = whole::network::build(&book).unwrap();
        let roster = Roster::of(&book, &built, LogMap::default());
        let stations = ["weld", "trim", "pack"];
        let folder = tempfile::tempdir().unwrap();
        let write = |name: &str, text: String| std::fs::write(folder.path().join(name), text).unwrap();
        let mut rows = states;
        rows.sort_by_key(|row| row.1);
        let rows = rows.iter().zip(1..).map(|((station, from, minutes), item)| {
            let (name, to) = (stations[*station], at(from + minutes));
            format!("{name},{},{to},working,van,{item}\n", at(*from))
        });
        write("states.csv", "station,from,to,state,product,item\n".to_owned() + &rows.collect::<String>());
        let rows = counts.iter().map(|(station, time, good, wrong)| {
            let (name, made) = (stations[*station], good + 2 * wrong);
            format!("{name},{},{made},{wrong},{wrong}\n", at(*time))
        });
        write("counts.csv", "station,time,made,rework,scrap\n".to_owned() + &rows.collect::<String>());
        let word = |wrong: u64| ["ok", "ok", "rework", "scrap"][usize::try_from(wrong).unwrap()];
        let rows = events.iter().map(|(station, time, _, wrong)| {
            format!("{},{},{}\n", stations[*station], at(*time), word(*wrong))
        });
        write("quality.csv", "station,time,result\n".to_owned() + &rows.collect::<String>());
        let files = crate::read::Files::at(folder.path(), None).unwrap();
        let rules = Rules { merge: 0, short: 0, keep: None };
        let log = crate::read::gathered(&files, &roster, rules, &AtomicBool::new(false)).unwrap();

        // What the tables say of each station.
        for (n, station) in stations.iter().enumerate() {
            let told: Vec<_> = counts.iter().filter(|row| row.0 == n).collect();
            let of_events = |wanted: &str| events.iter().filter(|row| row.0 == n && word(row.3) == wanted).count() as u64;
            let mut wrong: u64 = told.iter().map(|row| row.3).sum();
            let (mut rework, mut scrap) = (wrong, wrong);
            if wrong == 0 {
                (rework, scrap) = (of_events("rework"), of_events("scrap"));
                wrong = rework.max(scrap);
            }
            let all = figures(&log, &roster, Grain::ALL);
            let found = all.iter().find(|(of, _)| of.station == *station).map(|(_, found)| found.clone());
            let found = found.unwrap_or_default();
            prop_assert_eq!((found.rework, found.scrap), (rework, scrap));
            if told.is_empty() {
                prop_assert!(found.made >= wrong);
            } else {
                let made: u64 = told.iter().map(|row| row.2 + 2 * row.3).sum();
                prop_assert_eq!(found.made, made);
            }
        }
        // Finer grains have the same sums at every level.
        let sums = |grain: Grain| {
            let mut sums: BTreeMap<(String, String), [u64; 5]> = BTreeMap::new();
            let mut time: BTreeMap<(String, String), f64> = BTreeMap::new();
            for (of, found) in figures(&log, &roster, grain) {
                assert!(found.identity_gaps().0.abs() < 1e-6 && found.identity_gaps().1.abs() < 1e-9);
                let key = (of.shop, of.station);
                let counts = [found.made, found.good, found.rework, found.scrap, found.first_made];
                let sum = sums.entry(key.clone()).or_default();
                sum.iter_mut().zip(counts).for_each(|(sum, n)| *sum += n);
                *time.entry(key).or_default() += found.pbt_s + found.apt_s + found.planned_run_s;
            }
            (sums, time)
        };
        let whole = sums(Grain::ALL);
        for (day, shift) in [(true, false), (false, true), (true, true)] {
            let parts = sums(Grain { day, shift });
            for (key, counts) in &whole.0 {
                prop_assert_eq!(&counts[..4], &parts.0[key][..4], "{:?}", key);
                prop_assert!((whole.1[key] - parts.1[key]).abs() < 1e-6);
            }
        }
    }
}

#[test]
fn a_job_counted_in_a_shift_without_any_state_has_its_planned_time_too() {
    let book = book(PLANT);
    let built = whole::network::build(&book).unwrap();
    let roster = Roster::of(&book, &built, LogMap::default());
    let mut log = Gatherer::new(
        &roster,
        Rules {
            merge: 0,
            short: 0,
            keep: None,
        },
    )
    .finish();
    let day = crate::time::days(2026, 3, 3);
    let turn = roster.hours[0]
        .stretch(day * crate::time::DAY + 7 * crate::time::HOUR)
        .turn;
    let made = Made {
        made: 10,
        rework: 1,
        scrap: 0,
    };
    log.tables.counts.insert((1, turn), made);
    let grain = Grain {
        day: true,
        shift: true,
    };
    let all = figures(&log, &roster, grain);
    let (of, found) = all.iter().find(|(of, _)| of.station == "trim").unwrap();
    assert_eq!(
        (of.day.as_str(), of.shift.as_str()),
        ("2026-03-03", "early")
    );
    assert_eq!((found.made, found.good, found.rework), (10, 9, 1));
    assert_eq!((found.planned_run_s, found.planned_good_s), (600.0, 540.0));
    assert_eq!(found.ratios.quality_ratio, Some(0.9));
    assert_eq!(found.ratios.oee, None, "no time, no share of it");
}
