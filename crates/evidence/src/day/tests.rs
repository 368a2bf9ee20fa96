use std::io::Cursor;
use std::sync::atomic::AtomicBool;

use flow::model::{Basis, Stop};
use flow::{Distribution, Watch};
use whole::network::Built;

use super::*;
use crate::gather::Rules;
use crate::map::LogMap;
use crate::read::{Gatherer, Log};
use crate::rehearse::{MONDAY, Settings as Rehearse, rehearse, states_csv};
use crate::roster::Roster;
use crate::time::{HOUR, seconds};
use book::Book;
use book::small::book;

/// Weld holds the line back at 100 s; the others take 60 s and have places
/// for a good half hour of work between.
const LINE: &str = "
    [products]
    product,cars_per_week
    van,6048
    [stations]
    station,shop,cycle_s
    cut,body,60
    weld,body,100
    pack,body,60
    [links]
    from,to,holds
    cut,weld,20
    weld,pack,20
";

fn stop_at(built: &mut Built, station: usize, at: i64, minutes: f64) {
    built.network.stations[station].stops.push(Stop {
        cause: "stop".into(),
        basis: Basis::Clock,
        between: Distribution::Listed(vec![seconds(at)]),
        repair: Distribution::Listed(vec![minutes * 60.0]),
        crew: None,
        in_breaks: true,
    });
}

/// The log of two weeks of a plant, for a replay of a day; the cars of that
/// day.
fn logged(text: &str, happened: &Built, date: i64) -> (Roster, Log, f64) {
    let book = book(text);
    let built = whole::network::build(&book).unwrap();
    let roster = Roster::of(&book, &built, LogMap::default());
    let never = AtomicBool::new(false);
    let settings = Rehearse {
        seed: 5,
        warm_up_weeks: 0,
        weeks: 2,
    };
    let heard = rehearse(&book, happened, &settings, &never).unwrap();
    let mut text = Vec::new();
    states_csv(&heard, &roster, &["van".to_owned()], &mut text).unwrap();
    let rules = Rules {
        merge: 0,
        short: 0,
        keep: Some(wanted(date, roster.map.zone)),
    };
    let mut gatherer = Gatherer::new(&roster, rules);
    gatherer
        .read("states.csv", Cursor::new(text), &never)
        .unwrap();
    let mut log = gatherer.finish();
    log.tables.tells_rejects = true;
    for (place, hour, made) in &heard.counts {
        let hours = &roster.hours[roster.places[*place as usize].hours];
        let turn = hours.stretch(hour * HOUR).turn;
        let counts = log.tables.counts.entry((*place, turn)).or_default();
        counts.add(*made);
    }
    log.tables.items = heard
        .cars
        .iter()
        .map(|car| (car.2, seconds(car.2 - car.1)))
        .collect();
    let of_day = |car: &&(u32, i64, i64)| (date * DAY..(date + 1) * DAY).contains(&car.2);
    let made = heard.cars.iter().filter(of_day).count() as f64;
    (roster, log, made)
}

const SETTINGS: Settings = Settings {
    seed: 1,
    replications: 3,
    apart: 6,
};

fn told(
    plant: &Book,
    built: &Built,
    (roster, log): (&Roster, &Log),
    date: i64,
) -> Result<Day, NoDay> {
    day(plant, built, roster, log, date, &SETTINGS, &Watch::none())
}

#[test]
fn a_minute_lost_away_from_the_constraint_costs_nothing() {
    let date = MONDAY + 8;
    let plant = book(LINE);
    let built = whole::network::build(&plant).unwrap();
    let mut happened = built.clone();
    let morning = 8 * DAY + 9 * HOUR;
    stop_at(&mut happened, 1, morning, 30.0);
    stop_at(&mut happened, 2, morning + 4 * HOUR, 25.0);
    let (roster, log, made) = logged(LINE, &happened, date);
    let (_, _, clean) = logged(LINE, &built, date);
    assert_eq!(clean - made, 18.0, "half an hour at 100 s");

    let found = told(&plant, &built, (&roster, &log), date).unwrap();
    assert_eq!(found.made, made);
    assert!((found.plan - 864.0).abs() < 1e-6);
    let cars = |station: &str| {
        let loss = found
            .losses
            .iter()
            .find(|loss| loss.station == station)
            .unwrap();
        (loss.minutes, loss.cars.mean)
    };
    assert_eq!(cars("weld"), (30.0, 18.0));
    assert_eq!(cars("pack"), (25.0, 0.0));
    assert_eq!(
        found.lost.mean,
        clean - made,
        "the truth that was hidden in the log"
    );
    let sum: f64 = found.losses.iter().map(|loss| loss.cars.mean).sum();
    assert!((sum - found.lost.mean).abs() < 1e-9);
    let all = found.beyond.mean + found.lost.mean + found.unexplained.mean;
    assert!(
        (all - found.shortfall).abs() < 1e-9,
        "the losses and the rest are the shortfall"
    );
    assert_eq!(found.losses[0].station, "weld");
}

#[test]
fn slow_cycles_are_found_and_counted_in_cars() {
    let date = MONDAY + 8;
    let plant = book(LINE);
    let built = whole::network::build(&plant).unwrap();
    let slow = LINE.replace("weld,body,100", "weld,body,125");
    let happened = whole::network::build(&book(&slow)).unwrap();
    let (roster, log, made) = logged(LINE, &happened, date);
    let found = told(&plant, &built, (&roster, &log), date).unwrap();
    let weld = found
        .losses
        .iter()
        .find(|loss| loss.station == "weld")
        .unwrap();
    assert_eq!(weld.kind, LossKind::Slow);
    // 864 cars at 100 s, 691 at 125 s.
    assert!(
        (weld.cars.mean - (864.0 - made)).abs() <= 3.0,
        "{weld:?} of {}",
        864.0 - made
    );
    assert!((found.replayed.mean - made).abs() <= 2.0);
}

/// Rejects at a station of the line in its log; cars of the day without them,
/// and what the replay makes of the day.
fn with_rejects(station: usize, share: f64) -> (f64, Day) {
    let date = MONDAY + 8;
    let plant = book(LINE);
    let built = whole::network::build(&plant).unwrap();
    let mut happened = built.clone();
    happened.network.stations[station].quality.scrap = share;
    let (roster, log, made) = logged(LINE, &happened, date);
    let (_, _, clean) = logged(LINE, &built, date);
    let settings = Settings {
        replications: 10,
        ..SETTINGS
    };
    let watch = Watch::none();
    let found = day(&plant, &built, &roster, &log, date, &settings, &watch).unwrap();
    assert_eq!(found.made, made);
    (clean, found)
}

#[test]
fn rejects_count_where_they_arose_and_add_up_to_the_shortfall() {
    let (clean, found) = with_rejects(1, 0.1);
    let [loss] = found.losses.as_slice() else {
        panic!("{:?}", found.losses);
    };
    assert_eq!(
        (loss.station.as_str(), loss.kind),
        ("weld", LossKind::Reject)
    );
    // At the constraint every job lost is a car lost.
    let missing = clean - found.made;
    assert!((loss.events as f64 - missing).abs() <= 1.0);
    assert!(
        (loss.cars.mean - missing).abs() <= 6.0,
        "{loss:?}, {missing}"
    );
    assert_eq!(loss.cars.mean, found.lost.mean);
    let all = found.beyond.mean + found.lost.mean + found.unexplained.mean;
    assert!((all - found.shortfall).abs() < 1e-9);
    assert!(
        found.unexplained.mean.abs() <= 6.0,
        "{:?}",
        found.unexplained
    );
}

#[test]
fn a_reject_before_the_constraint_costs_nothing_while_it_is_fed() {
    let (_, found) = with_rejects(0, 0.1);
    assert_eq!(found.losses[0].station, "cut");
    assert!(found.losses[0].events > 50);
    assert!(found.losses[0].cars.mean.abs() <= 0.5, "{:?}", found.losses);
}

#[test]
fn a_day_is_charged_with_its_own_rejects_only() {
    // Cut loses so many that it is the constraint, and weld's stock is empty in
    // the morning of the day: taking away the day's rejects does not fill it.
    let (clean, found) = with_rejects(0, 0.45);
    let filled = found.replayed.mean + found.lost.mean;
    assert!(filled <= clean + 2.0, "{filled} of {clean}");
    assert!(found.lost.mean > 40.0, "{:?}", found.lost);
}

#[test]
fn the_last_shops_hours_add_up_to_the_cars_of_the_genealogy() {
    let date = MONDAY + 8;
    let plant = book(LINE);
    let built = whole::network::build(&plant).unwrap();
    let (roster, mut log, made) = logged(LINE, &built, date);
    let sum = |log: &Log| {
        let rows = hours::rows(&plant, &built, &roster, log, date);
        rows.iter().map(|row| row.made).sum::<u64>() as f64
    };
    // A car of which the states do not say that the station is done with it.
    log.tables.items.push((date * DAY + 5 * HOUR, 3_600.0));
    assert_eq!(sum(&log), made + 1.0);
    log.tables.items.clear();
    assert!((sum(&log) - made).abs() <= 1.0);
}

#[test]
fn hours_are_held_against_the_plan() {
    let date = MONDAY + 8;
    let plant = book(LINE);
    let built = whole::network::build(&plant).unwrap();
    let (roster, log, made) = logged(LINE, &built, date);
    let found = told(&plant, &built, (&roster, &log), date).unwrap();
    assert_eq!(found.hours.len(), 24);
    assert!(
        found
            .hours
            .iter()
            .all(|row| (row.plan - 36.0).abs() < 1e-9 && row.made.abs_diff(36) <= 1)
    );
    assert_eq!(
        found.hours.iter().map(|row| row.made).sum::<u64>() as f64,
        made
    );
    assert!(found.losses.is_empty() && found.lost.mean == 0.0);
    // Before and behind the constraint: blocked there, starved here.
    let waits: Vec<&str> = found.waits.iter().map(|w| w.station.as_str()).collect();
    assert_eq!(waits, ["cut", "pack", "weld"]);
    assert!(found.waits[0].blocked_min > 500.0 && found.waits[1].starved_min > 500.0);
}

#[test]
fn lost_cars_hold_the_known_truth_on_days_of_many_stops() {
    let date = MONDAY + 8;
    let plant = book(LINE);
    let built = whole::network::build(&plant).unwrap();
    let stops = |seed: u64, of_day: bool| {
        let mut happened = built.clone();
        for (n, station) in happened.network.stations.iter_mut().enumerate() {
            let mut luck = flow::stream::Stream::keyed(seed, 0, &station.name, "stops");
            let (mut between, mut repair) = (Vec::new(), Vec::new());
            let (mut at, mut end) = (3.0 * 86_400.0, 0.0);
            while at < 10.0 * 86_400.0 {
                at -= 9_000.0 * libm::log(luck.uniform());
                let length = 120.0 - 600.0 * libm::log(luck.uniform());
                let in_day = (8.0 * 86_400.0..9.0 * 86_400.0).contains(&at);
                if n < 3 && (of_day || !in_day) {
                    between.push(at - end);
                    repair.push(length);
                    end = at + length;
                }
                at += length;
            }
            station.stops.push(Stop {
                cause: "stop".into(),
                basis: Basis::Clock,
                between: Distribution::Listed(between),
                repair: Distribution::Listed(repair),
                crew: None,
                in_breaks: true,
            });
        }
        happened
    };
    for seed in 1..=6 {
        let (roster, log, made) = logged(LINE, &stops(seed, true), date);
        let (_, _, clean) = logged(LINE, &stops(seed, false), date);
        let watch = Watch::none();
        let found = day(&plant, &built, &roster, &log, date, &SETTINGS, &watch).unwrap();
        let truth = clean - made;
        assert!(truth > 20.0, "{truth}");
        let half = found.lost.half_width.max(1.0);
        assert!(
            (found.lost.mean - truth).abs() <= half,
            "{:?} for {truth}",
            found.lost
        );
        let sum: f64 = found.losses.iter().map(|loss| loss.cars.mean).sum();
        assert!((sum - found.lost.mean).abs() < 1e-9);
        assert!(
            found.unexplained.mean.abs() <= 1.0,
            "{:?}",
            found.unexplained
        );
    }
}

#[test]
fn material_that_does_not_come_from_outside_is_a_loss_of_its_own() {
    let date = MONDAY + 8;
    let plant = book(LINE);
    let built = whole::network::build(&plant).unwrap();
    let (roster, mut log, _) = logged(LINE, &built, date);
    // Cut stood an hour and a half for want of coils, and says no more.
    let morning = (date * DAY + 9 * HOUR, date * DAY + 10 * HOUR + HOUR / 2);
    for unit in &mut log.units {
        if unit.place == 0 {
            unit.kept
                .retain(|spell| spell.to <= morning.0 || spell.from >= morning.1);
            let at = unit.kept.partition_point(|spell| spell.from < morning.0);
            let spell = crate::gather::Spell {
                unit: unit.unit,
                from: morning.0,
                to: morning.1,
                state: crate::state::State::Starved,
                cause: crate::scan::NO_WORD,
                product: crate::scan::NO_WORD,
                item: 0,
            };
            unit.kept.insert(at, spell);
        }
    }
    let watch = Watch::none();
    let found = day(&plant, &built, &roster, &log, date, &SETTINGS, &watch).unwrap();
    let loss = &found.losses[0];
    assert_eq!(
        (loss.station.as_str(), loss.kind),
        ("cut", LossKind::Starved)
    );
    assert_eq!(loss.minutes, 90.0);
    // The stock before weld lasts for a third of it.
    assert!(loss.cars.mean > 20.0 && loss.cars.mean < 54.0, "{loss:?}");
}

#[test]
fn a_log_that_does_not_tell_what_was_made_is_refused() {
    let date = MONDAY + 8;
    let plant = book(LINE);
    let built = whole::network::build(&plant).unwrap();
    let (roster, mut log, _) = logged(LINE, &built, date);
    log.tables.items.clear();
    log.units
        .iter_mut()
        .filter(|unit| unit.place == 2)
        .for_each(|unit| unit.rows = 0);
    let watch = Watch::none();
    match day(&plant, &built, &roster, &log, date, &SETTINGS, &watch) {
        Err(NoDay::Problems(problems)) => {
            assert_eq!(problems[0].code, "log/no-end-of-line");
            assert!(problems[0].expected.contains("pack"));
        }
        other => panic!("{other:?}"),
    }
}

#[test]
fn a_day_that_the_log_does_not_know_is_refused() {
    let plant = book(LINE);
    let built = whole::network::build(&plant).unwrap();
    let (roster, log, _) = logged(LINE, &built, MONDAY + 8);
    let refused = told(&plant, &built, (&roster, &log), MONDAY - 30);
    match refused {
        Err(NoDay::Problems(problems)) => {
            assert_eq!(problems[0].code, "log/no-such-day");
            assert!(problems[0].expected.contains("2026-03-02"));
        }
        other => panic!("{other:?}"),
    }
}

#[test]
fn a_replay_tells_how_far_it_is_and_ends_when_it_is_asked_to() {
    let date = MONDAY + 8;
    let plant = book(LINE);
    let built = whole::network::build(&plant).unwrap();
    let mut happened = built.clone();
    let morning = 8 * DAY + 9 * HOUR;
    stop_at(&mut happened, 1, morning, 30.0);
    stop_at(&mut happened, 2, morning + 4 * HOUR, 25.0);
    let (roster, log, _) = logged(LINE, &happened, date);
    let replayed = |cancel_at: u32| {
        let cancel = AtomicBool::new(false);
        let told = std::sync::Mutex::new(Vec::new());
        let progress = |at: flow::Progress| {
            told.lock().unwrap().push((at.done, at.of));
            if at.done == cancel_at {
                cancel.store(true, std::sync::atomic::Ordering::Relaxed);
            }
        };
        let watch = Watch {
            cancel: &cancel,
            progress: &progress,
        };
        let found = day(&plant, &built, &roster, &log, date, &SETTINGS, &watch);
        let mut told = told.into_inner().unwrap();
        told.sort_unstable();
        (found.map(|day| day.losses.len()), told)
    };
    let (found, told) = replayed(u32::MAX);
    let losses = u32::try_from(found.unwrap()).unwrap();
    // One to rank them; from either end with one more loss taken away each time.
    let of = 1 + 2 * losses * SETTINGS.replications;
    let all: Vec<(u32, u32)> = (1..=of).map(|done| (done, of)).collect();
    assert_eq!(told, all);

    let (found, told) = replayed(3);
    assert_eq!(found, Err(NoDay::Cancelled));
    assert!(
        told.len() < 3 + 2 * rayon::current_num_threads(),
        "{told:?}"
    );
}

#[test]
fn a_stop_over_midnight_costs_each_day_its_own_part() {
    let date = MONDAY + 8;
    let plant = book(LINE);
    let built = whole::network::build(&plant).unwrap();
    let mut happened = built.clone();
    // Weld stands from eleven at night to three in the morning.
    stop_at(&mut happened, 1, 7 * DAY + 23 * HOUR, 240.0);
    let (_, _, clean) = logged(LINE, &built, date);
    for (date, minutes, cars) in [(date - 1, 60.0, 36.0), (date, 180.0, 108.0)] {
        let (roster, log, made) = logged(LINE, &happened, date);
        let watch = Watch::none();
        let found = day(&plant, &built, &roster, &log, date, &SETTINGS, &watch).unwrap();
        let loss = &found.losses[0];
        assert_eq!((loss.station.as_str(), loss.events), ("weld", 1));
        assert!((loss.minutes - minutes).abs() < 2.0, "{loss:?}");
        assert!((loss.cars.mean - cars).abs() <= 1.0, "{loss:?}");
        assert!((clean - made - found.lost.mean).abs() <= 1.0);
    }
}

#[test]
fn a_constraint_a_little_slow_all_day_is_a_loss() {
    let date = MONDAY + 8;
    let plant = book(LINE);
    let built = whole::network::build(&plant).unwrap();
    // What really works at 107 s, by a book that says 100.
    let slow = LINE.replace("weld,body,100", "weld,body,107");
    let truth = whole::network::build(&book(&slow)).unwrap();
    let (roster, log, made) = logged(LINE, &truth, date);
    let (_, _, clean) = logged(LINE, &built, date);
    let watch = Watch::none();
    let found = day(&plant, &built, &roster, &log, date, &SETTINGS, &watch).unwrap();
    let loss = &found.losses[0];
    assert_eq!((loss.station.as_str(), loss.kind), ("weld", LossKind::Slow));
    assert!(
        (loss.cars.mean - (clean - made)).abs() <= 2.0,
        "{loss:?} for {}",
        clean - made
    );
    assert!(
        found.unexplained.mean.abs() <= 2.0,
        "{:?}",
        found.unexplained
    );
}

#[test]
fn hours_are_those_of_the_plants_clock_also_where_it_is_half_an_hour_off_or_set_back() {
    let plant = book(LINE);
    let built = whole::network::build(&plant).unwrap();
    let of = |zone: &str, date: i64| {
        let (mut roster, log, _) = logged(LINE, &built, date);
        roster.map.zone = crate::time::Zone::parse(zone).unwrap();
        let hours: Vec<HourRow> = hours::rows(&plant, &built, &roster, &log, date);
        hours.iter().map(|row| row.plan).collect::<Vec<f64>>()
    };
    let plain = of("+05:30", MONDAY + 8);
    assert!(plain.len() == 24 && plain.iter().all(|plan| (plan - 36.0).abs() < 1e-6));
    // 2026-03-29 and 2026-10-25: 23 hours and 25.
    for (date, hours) in [
        (crate::time::days(2026, 3, 29), 23.0),
        (crate::time::days(2026, 10, 25), 25.0),
    ] {
        let all: f64 = of("+01:00 eu", date).iter().sum();
        // Planned cars follow open time; a week of that is 168 hours.
        assert!((all / 36.0 - hours).abs() < 0.3, "{date}: {all}");
    }
}

/// A last station that tests each car and sends one in ten to the bay beside
/// it, from which it comes back.
const MENDED: &str = "
    [products]
    product,cars_per_week
    van,5040
    [stations]
    station,shop,cycle_s,first_time_ok,rework_to
    dress,trim,100,,
    test,trim,80,0.9,mend
    mend,trim,200,,
    [links]
    from,to,holds
    dress,test,20
    test,mend,5
    mend,test,5
";

#[test]
fn cars_leave_a_last_station_though_some_go_to_the_mend_bay_and_come_back() {
    let date = MONDAY + 8;
    let plant = book(MENDED);
    let built = whole::network::build(&plant).unwrap();
    assert_eq!(last_shop(&built), Ok("trim"));
    assert_eq!(ends(&built), [1]);
    assert_eq!(hours::exits(&built, "trim"), [1]);
    let (roster, log, made) = logged(MENDED, &built, date);
    let watch = Watch::none();
    let found = day(&plant, &built, &roster, &log, date, &SETTINGS, &watch).unwrap();
    assert_eq!(found.plan, 720.0, "a seventh of the week");
    assert_eq!(found.made, made);
    let by_hour: u64 = found.hours.iter().map(|row| row.made).sum();
    let known = days(&plant, &built, &roster, &log).unwrap();
    assert!(known.iter().all(|line| line.plan > 0.0));
    // Those sent to the bay are rejects of the hours only where the log keeps them.
    assert!(by_hour as f64 >= made, "{by_hour} jobs and {made} cars");
}

#[test]
fn a_plant_that_no_car_leaves_has_no_day() {
    let date = MONDAY + 8;
    let plant = book(LINE);
    let built = whole::network::build(&plant).unwrap();
    let (roster, log, _) = logged(LINE, &built, date);
    let mut round = built.clone();
    // As if a link led from the last station back to the first.
    round.network.links.push(round.network.links[0].clone());
    round.links.push(round.links[0].clone());
    if let Some(link) = round.network.links.last_mut() {
        link.from = flow::model::StationIdx(2);
    }
    let watch = Watch::none();
    let refused = day(&plant, &round, &roster, &log, date, &SETTINGS, &watch);
    let Err(NoDay::Problems(problems)) = refused else {
        panic!("{refused:?}");
    };
    assert_eq!(problems[0].code, "log/no-end-of-line");
    assert!(days(&plant, &round, &roster, &log).is_err());
}
