use std::io::Cursor;
use std::sync::atomic::AtomicBool;

use book::raw::Workbook;

use super::*;
use crate::gather::Rules;
use crate::map::LogMap;
use crate::read::{Gatherer, Tables};
use crate::rehearse::{self, Settings, rehearse, states_csv};
use book::small::{book, workbook};

pub(super) const PLANT: &str = "
    [shifts]
    shop,shift,days,start,end,planned_stops_min
    body,early,mon-fri,06:00,14:00,30
    body,late,mon-fri,14:00,22:00,30
    [products]
    product,cars_per_week
    van,1500
    bus,500
    [crews]
    crew,count
    fitters,1
    [stations]
    station,shop,units,cycle_s,spread,mtbf_min,mttr_min,repair_spread,crew,first_time_ok,rework_to
    weld,body,1,100,0.05,120,6,1,fitters,1,
    trim,body,2,210,0.1,200,8,0.6,,0.97,touch-up
    pack,body,1,90,0,300,5,1,fitters,1,
    touch-up,body,1,300,0.3,,,,,1,
    [cycles]
    station,product,cycle_s
    weld,bus,120
    [stops]
    station,cause,mtbf_min,mttr_min,repair_spread
    weld,cap change,180,3,0.2
    [links]
    from,to,holds
    weld,trim,5
    trim,pack,5
    trim,touch-up,20
    touch-up,pack,5
";

/// What a rehearsed log says of the cells, and the truth of each.
fn learned(seed: u64, weeks: u32) -> Vec<Proposal> {
    learned_of(PLANT, seed, weeks)
}

/// The same of a plant.
fn learned_of(plant: &str, seed: u64, weeks: u32) -> Vec<Proposal> {
    learned_from(plant, plant, seed, weeks)
}

/// What a log of what happened says of a book that believes otherwise.
fn learned_from(believed: &str, happened: &str, seed: u64, weeks: u32) -> Vec<Proposal> {
    let log = rehearsed(happened, seed, weeks);
    let book = book(believed);
    let built = whole::network::build(&book).unwrap();
    let roster = Roster::of(&book, &built, LogMap::default());
    learn(&log, &roster, &book, &built)
}

/// A log of a plant's own run.
pub(super) fn rehearsed(plant: &str, seed: u64, weeks: u32) -> Log {
    let book = book(plant);
    let built = whole::network::build(&book).unwrap();
    let roster = Roster::of(&book, &built, LogMap::default());
    let settings = Settings {
        seed,
        warm_up_weeks: 1,
        weeks,
    };
    let never = AtomicBool::new(false);
    let heard = rehearse(&book, &built, &settings, &never).unwrap();
    let mut text = Vec::new();
    let classes: Vec<String> = built
        .classes
        .iter()
        .map(|class| class.name.clone())
        .collect();
    states_csv(&heard, &roster, &classes, &mut text).unwrap();
    let rules = Rules {
        merge: 0,
        short: 0,
        keep: None,
    };
    let mut gatherer = Gatherer::new(&roster, rules);
    gatherer
        .read("states.csv", Cursor::new(text), &never)
        .unwrap();
    let mut log = gatherer.finish();
    assert!(log.defects.kinds.is_empty(), "{:?}", log.defects);
    log.tables = Tables {
        tells_rejects: true,
        ..Tables::default()
    };
    for (place, hour, made) in &heard.counts {
        let hours = &roster.hours[roster.places[*place as usize].hours];
        let turn = hours.stretch(hour * crate::time::HOUR).turn;
        log.tables
            .counts
            .entry((*place, turn))
            .or_default()
            .add(*made);
    }
    log
}

#[test]
fn a_log_of_known_truth_gives_the_truth_back() {
    let (mut inside, mut all) = (0, 0);
    for seed in 1..=20 {
        for proposal in learned(seed, 2) {
            let truth = proposal.book.unwrap();
            // A cycle without spread is found to the last digit.
            if proposal.station == "pack" && proposal.column == "cycle_s" {
                assert!((proposal.found.value - truth).abs() < 1e-5);
                continue;
            }
            all += 1;
            inside += usize::from(proposal.found.holds(truth));
        }
    }
    let share = inside as f64 / all as f64;
    assert!(
        all >= 200 && (0.92..=0.98).contains(&share),
        "{inside} of {all}"
    );
}

#[test]
fn every_cell_that_a_log_can_speak_of_has_its_place_in_the_book() {
    let found = learned(3, 2);
    let cells: Vec<String> = found
        .iter()
        .map(|p| {
            format!(
                "{} {} {} {}",
                p.table,
                p.row,
                p.column,
                p.cause.as_deref().unwrap_or("")
            )
        })
        .collect();
    for cell in [
        "stations 2 cycle_s ",
        "cycles 2 cycle_s ",
        "stations 2 mtbf_min ",
        "stops 2 mttr_min cap change",
        "stations 3 first_time_ok ",
        "stations 3 spread ",
    ] {
        assert!(cells.iter().any(|c| c == cell), "{cell} in {cells:?}");
    }
    let weld = found
        .iter()
        .find(|p| p.column == "mtbf_min" && p.station == "weld")
        .unwrap();
    assert!(weld.iso.unwrap() < weld.found.value * 1.05 && weld.evidence > 20);
    assert_eq!(weld.family, Some(Family::Exponential));
    let spread = |station: &str| {
        let mut all = found.iter().filter(|p| p.column == "spread");
        all.find(|p| p.station == station).map(|p| p.found.value)
    };
    assert!((spread("trim").unwrap() - 0.1).abs() < 0.01);
    // Two products of 100 s and 120 s do not spread each other's cycles.
    assert!((spread("weld").unwrap() - 0.05).abs() < 0.01);
    assert_eq!(spread("pack"), None, "a fixed cycle has none");
}

#[test]
fn the_truth_of_a_rehearsal_is_the_books_own() {
    let book = book(PLANT);
    let built = whole::network::build(&book).unwrap();
    let truth = rehearse::truth(&book, &built);
    let of = |table: &str, row: u32, column: &str| {
        let found = truth
            .iter()
            .find(|t| t.table == table && t.row == row && t.column == column);
        found.map(|t| t.value)
    };
    assert_eq!(of("stations", 2, "mtbf_min"), Some(120.0));
    assert_eq!(of("stops", 2, "mttr_min"), Some(3.0));
    assert_eq!(of("cycles", 2, "cycle_s"), Some(120.0));
    assert_eq!(of("stations", 3, "first_time_ok"), Some(0.97));
}

#[test]
fn accepted_values_go_into_their_cells_and_nothing_else_changes() {
    let before: Workbook = workbook(PLANT);
    let found = learned(3, 2);
    let weld = found
        .iter()
        .find(|p| p.column == "mtbf_min" && p.station == "weld")
        .unwrap();
    let after = accept(&before, [weld]).unwrap();
    let changed: Vec<(String, String)> = before
        .tables
        .iter()
        .zip(&after.tables)
        .flat_map(|(a, b)| a.rows.iter().zip(&b.rows))
        .flat_map(|(a, b)| a.cells.iter().cloned().zip(b.cells.iter().cloned()))
        .filter(|(a, b)| a != b)
        .collect();
    assert_eq!(changed.len(), 1);
    assert_eq!(changed[0].0, "120");
    let missing = Proposal {
        row: 99,
        ..weld.clone()
    };
    assert!(accept(&before, [&missing]).unwrap_err().contains("row 99"));
    let endless = Proposal {
        found: Span::exact(f64::INFINITY),
        ..weld.clone()
    };
    assert!(accept(&before, [&endless]).is_err());
}

#[test]
fn figures_are_rounded_to_four() {
    for (value, text) in [
        (0.0, "0"),
        (123.456, "123.5"),
        (0.971_234, "0.9712"),
        (60.0, "60"),
        (1_234.5, "1234"),
    ] {
        assert_eq!(rounded(value), text);
    }
}

#[test]
fn every_cell_of_the_invented_plant_is_spoken_of_once_stops_of_its_joints_not_as_its_own() {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../../demo/merrow-quay");
    let book = book::check(&book::read_path(&folder).unwrap()).book;
    let built = whole::network::build(&book).unwrap();
    let mut seen = std::collections::BTreeSet::new();
    for cell in cells(&book, &built) {
        let place = (cell.at.to_string(), cell.column);
        assert!(seen.insert(place.clone()), "{place:?} of {}", cell.station);
    }
    assert!(seen.len() > 1_000);
}

/// A frame and a respot station whose cycles and stops their joints make; two of
/// the figures behind them stand in the book.
const JOINED: &str = "
    [shifts]
    shop,shift,days,start,end
    body,day,mon-fri,06:00,22:00
    [products]
    product,cars_per_week
    van,1000
    [materials]
    material,density_kg_m3
    soft,2700
    [parts]
    part,material,gauge_mm,source
    floor,soft,1.5,bought
    member,soft,2,bought
    [stations]
    station,shop,line,cycle_s,mtbf_min,mttr_min,robots,robots_beside,robots_most
    frame,body,floor,,,,9,1,2
    respot,body,floor,,300,6,9,,6
    [links]
    from,to,holds
    frame,respot,3
    [join_figures]
    method,figure,value,source
    rivet,refill_rivets,900,bowl
    rivet,refill_s,80,bowl
    [joins]
    join,assembly,method,count,stack,station,geometry
    hold,floor,rivet,20,floor;member,frame,yes
    rest,floor,rivet,200,floor;member,respot,
";

#[test]
fn stops_that_joints_make_are_fitted_and_held_against_what_the_joints_say() {
    let found = learned_of(JOINED, 5, 2);
    let of_joints: Vec<&Proposal> = found.iter().filter(|p| p.row == 0).collect();
    let refill = |station: &str, column: &str| {
        let mut all = of_joints.iter();
        let is = |p: &&&Proposal| {
            p.station == station && p.column == column && p.cause.as_deref() == Some("rivet refill")
        };
        all.find(is).copied().unwrap()
    };
    let takes = refill("respot", "mttr_min");
    assert!((takes.book.unwrap() - 80.0 / 60.0).abs() < 1e-9);
    assert!(takes.fit.is_some() && takes.table == "stops");
    assert!(refill("respot", "mtbf_min").fit.is_some());
    for p in &of_joints {
        assert_ne!(p.verdict, Verdict::Differs, "no cell holds it: {p:?}");
        if p.verdict == Verdict::Open {
            assert!(p.why.is_some());
        }
    }
    // The figure behind them is one for all stations.
    let figure = |word: &str| {
        let mut all = found.iter().filter(|p| p.table == "join_figures");
        let wanted = format!("rivet refill: {word}");
        all.find(|p| p.cause.as_deref() == Some(&wanted)).unwrap()
    };
    for (word, value, row) in [("refill_rivets", 900.0, 2), ("refill_s", 80.0, 3)] {
        let p = figure(word);
        assert_eq!((p.row, p.column.as_str()), (row, "value"));
        assert_eq!((p.station.as_str(), p.book), ("rivet", Some(value)));
        assert!(p.found.holds(value), "{p:?}");
        assert!(p.found.high < 1.5 * value && p.evidence > 50, "{p:?}");
    }
}

#[test]
fn what_joints_say_wrongly_is_proposed_where_the_book_has_a_cell() {
    // What happened is a plant of 900 rivets a refill; its book says 1,800 and
    // nothing of how long a refill takes.
    let believed = JOINED
        .replace("refill_rivets,900", "refill_rivets,1800")
        .replace("rivet,refill_s,80,bowl\n", "");
    let found = learned_from(&believed, JOINED, 5, 2);
    let mut figures = found.iter().filter(|p| p.table == "join_figures");
    let rivets = figures.next().unwrap();
    assert_eq!(rivets.verdict, Verdict::Differs);
    assert!(rivets.found.holds(900.0), "{rivets:?}");
    assert!(
        figures.next().is_none(),
        "the book has no cell for the time"
    );
    let before = workbook(&believed);
    let after = accept(&before, [rivets]).unwrap();
    let cell = &after.table("join_figures").unwrap().rows[0].cells[2];
    let value: f64 = cell.parse().unwrap();
    assert!((800.0..1_000.0).contains(&value), "{cell}");
    // What stands in no cell is taken over nowhere.
    let made = found.iter().find(|p| p.row == 0).unwrap();
    assert!(accept(&before, [made]).is_err());
}

#[test]
fn every_cause_that_joints_of_the_invented_plant_make_has_its_figures() {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../../demo/merrow-quay");
    let book = book::check(&book::read_path(&folder).unwrap()).book;
    let built = whole::network::build(&book).unwrap();
    let stops = joint_stops(&book, &built);
    let causes: std::collections::BTreeSet<&str> = stops
        .iter()
        .filter_map(|cell| cell.cause.as_deref())
        .collect();
    assert!(causes.len() >= 4, "{causes:?}");
    let unknown = |cause: &&&str| !joints::known(cause);
    let unknown: Vec<_> = causes.iter().filter(unknown).collect();
    assert!(unknown.is_empty(), "{unknown:?}");
}

#[test]
fn a_log_says_what_of_it_cannot_be_held_against_a_run() {
    let plant = book(PLANT);
    let built = whole::network::build(&plant).unwrap();
    let roster = Roster::of(&plant, &built, LogMap::default());
    let log = |rows: &str| {
        let rules = Rules {
            merge: 0,
            short: 0,
            keep: None,
        };
        let mut gatherer = Gatherer::new(&roster, rules);
        let text = format!("station,from,to,state\n{rows}");
        let never = AtomicBool::new(false);
        gatherer
            .read("states.csv", Cursor::new(text.into_bytes()), &never)
            .unwrap();
        gatherer.finish()
    };
    let short = log("weld,2026-03-02T06:00Z,2026-03-02T06:10Z,working\n");
    let found = not_compared(&built, &short, &roster);
    assert_eq!(found.len(), 1);
    assert_eq!(found[0].figures, "all figures");
    assert!(
        found[0].needs.contains("at least 0.5 weeks"),
        "{}",
        found[0].needs
    );
    let checks = believe(&plant, &built, &short, &roster, 1, &flow::Watch::none());
    assert_eq!(checks.unwrap(), []);

    let one = log("weld,2026-03-02T06:00Z,2026-03-06T22:00Z,working\n");
    let told: Vec<(String, String)> = not_compared(&built, &one, &roster)
        .into_iter()
        .map(|none| (none.figures, none.needs))
        .collect();
    assert_eq!(told.len(), 3, "{told:?}");
    assert!(told[0].0 == "cars a week" && told[0].1.contains("rows of pack"));
    assert!(told[1].1.contains("genealogy"));
    assert_eq!(told[2].0, "states of 3 stations");
    assert_eq!(told[2].1, "rows of trim, pack, touch-up");
}

#[test]
fn cars_on_their_way_are_counted_from_the_genealogy() {
    use crate::time::{DAY, HOUR};
    let plant = book(PLANT);
    let built = whole::network::build(&plant).unwrap();
    let roster = Roster::of(&plant, &built, LogMap::default());
    let rules = Rules {
        merge: 0,
        short: 0,
        keep: None,
    };
    let mut log = Gatherer::new(&roster, rules).finish();
    // A car out every hour, each two days on its way; only those that left have
    // a row.
    log.span = Some((0, 14 * DAY));
    log.tables.items = (1..=14 * 24).map(|n| (n * HOUR, 2.0 * 86_400.0)).collect();
    let found = believe::on_their_way(&log, 168.0);
    assert!((found - 48.0).abs() < 1e-9, "{found}");
    // Too short a log to see all of any hour: 168 cars a week for two days.
    log.span = Some((0, 2 * DAY));
    assert!((believe::on_their_way(&log, 168.0) - 48.0).abs() < 1e-9);
}

/// One shift on five days; the last station tests and sends one in ten to the
/// bay beside it.
const MENDED: &str = "
    [shifts]
    shop,shift,days,start,end,planned_stops_min
    trim,early,mon-fri,06:00,14:00,30
    [products]
    product,cars_per_week
    van,120
    [stations]
    station,shop,cycle_s,spread,first_time_ok,rework_to
    dress,trim,1000,0.1,,
    test,trim,850,0.1,0.9,mend
    mend,trim,2400,0.1,,
    [links]
    from,to,holds
    dress,test,4
    test,mend,5
    mend,test,2
";

#[test]
fn a_week_of_one_shift_is_a_week_though_the_last_station_has_a_mend_bay() {
    let plant = book(MENDED);
    let built = whole::network::build(&plant).unwrap();
    let roster = Roster::of(&plant, &built, LogMap::default());
    let log = rehearsed(MENDED, 3, 2);
    let checks = believe(&plant, &built, &log, &roster, 1, &flow::Watch::none()).unwrap();
    let rate = checks.iter().find(|check| check.what == "cars a week");
    let rate = rate.unwrap();
    assert!(rate.inside, "{rate:?}");
    assert!((rate.log - rate.model.value).abs() < 0.05 * rate.log);
}

#[test]
fn without_a_last_shop_the_hours_of_all_shops_together_count() {
    use crate::time::{HOUR, WEEK, Zone};
    let hours = |shop: &str| {
        let plant = book(
            "[shifts]
             shop,shift,days,start,end
             weld,early,mon-fri,06:00,14:00
             trim,day,mon-fri,08:00,16:00
             [products]
             product,cars_per_week
             van,120
             [stations]
             station,shop,cycle_s
             fit,trim,100",
        );
        crate::hours::ShopHours::of(&plant, shop, Zone::default())
    };
    let both = [hours("weld"), hours("trim")];
    let open = believe::any_open(&both, 0, WEEK);
    assert_eq!(open, 5 * 10 * HOUR, "06:00 to 16:00 on five days");
}
