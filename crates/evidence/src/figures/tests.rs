use std::io::Cursor;
use std::sync::atomic::AtomicBool;

use super::*;
use crate::gather::Rules;
use crate::map::LogMap;
use crate::read::Gatherer;
use book::small::book;

/// OEE 0.72 and NEE 0.777273: 440 min planned, 352 producing, 28 of setting up,
/// 1.1 min an item, 300 made, 288 good (ISO 22400-2:2014 formulas; arithmetic).
#[test]
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
    log.tables.has_counts = true;
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
