use std::sync::atomic::AtomicBool;

use book::Severity;

use super::*;
use crate::sample::{SMALL_PLANT, book};

/// Three stations at a takt of a minute round the clock, two minutes back.
const LOOP: &str = "
    [products]
    product,cars_per_week
    van,10080
    [stations]
    station,shop,cycle_s
    load,assembly,60
    fit,assembly,60
    unload,assembly,60
    [links]
    from,to,holds
    load,fit,0
    fit,unload,0
    [carriers]
    carrier,count,taken_at,returned_at,return_s
    cart,8,load,unload,120
";

fn answered(book: &Book) -> Carts {
    let settings = RunSettings {
        replications: 4,
        ..RUNS
    };
    match carts(book, &settings, &Watch::none()) {
        Ok(found) => found,
        Err(why) => panic!("{why}"),
    }
}

fn tried(curve: &Curve, carriers: u32) -> &CurvePoint {
    let found = curve.points.iter().find(|point| point.carriers == carriers);
    found.unwrap_or_else(|| panic!("{carriers} was not tried"))
}

#[test]
fn the_run_needs_as_many_carts_as_the_formula_on_a_line_without_luck() {
    // 3 under the stations and 2 of 120 s on the way back at 60 s: 5, and each
    // one fewer costs a fifth (Little's law on the loop)
    let found = answered(&book(LOOP));
    let (fleet, curve) = (&found.plan.loops[0], &found.curves[0]);
    assert_eq!((fleet.needed.value, curve.needed), (5.0, 5));
    assert_eq!(curve.enough, Some(5));
    let most = tried(curve, 5).cars.mean;
    assert!((most - 10_080.0).abs() < 5.0, "{most}");
    let fewer = tried(curve, 4).cars.mean;
    assert!(
        (fewer - 0.8 * most).abs() < 0.005 * most,
        "{fewer} of {most}"
    );
    assert!(curve.one_more.unwrap().mean.abs() < 1.0);
    assert!(found.holds && !curve.loses && found.stores.is_empty());
}

#[test]
fn a_fleet_too_small_loses_cars_and_says_how_many_would_do() {
    let found = answered(&book(&LOOP.replace("cart,8", "cart,3")));
    let curve = &found.curves[0];
    assert!(curve.loses && !found.holds);
    assert_eq!(curve.enough, Some(5));
    let gained = curve.against_count.unwrap();
    assert!((gained.mean - 0.4 * 10_080.0).abs() < 60.0, "{gained:?}");
    let starved = answered(&book(&LOOP.replace("cart,8", "cart,2")));
    let note = &starved.plan.notes[0];
    assert!(note.code.ends_with("fewer-than-stations"));
    assert_eq!(note.severity, Severity::Note);
}

#[test]
fn more_carts_never_make_fewer_cars_until_traffic_falls_off() {
    let curve = &answered(&book(SMALL_PLANT)).curves[0];
    for pair in curve.points.windows(2) {
        // fewer carts fall at least as far below the best, but for luck
        let (few, many) = (pair[0].below_best, pair[1].below_best);
        let slack = few.half_width.max(many.half_width);
        assert!(few.mean + slack >= many.mean, "{:?}", curve.points);
    }
}

#[test]
fn carts_that_wait_for_a_car_slow_nobody_however_thick_traffic_is() {
    // each further one on the way back costs all a twentieth; takt sends two back
    // at a time, and the others of the 20 behind the line wait aside
    let thick = LOOP
        .replace("returned_at,return_s", "returned_at,return_s,traffic_loss")
        .replace("cart,8,load,unload,120", "cart,23,load,unload,120,0.05");
    let found = answered(&book(&thick));
    let curve = &found.curves[0];
    assert!(found.plan.holds, "by number there are enough");
    assert!(!curve.loses, "{curve:?}");
    let enough = curve.enough.unwrap();
    assert!((5..=7).contains(&enough), "{enough}");
    let (many, few) = (tried(curve, 23).cars, tried(curve, enough).cars);
    // but for a car at the window's edge
    assert!(many.mean >= few.mean - 1.0, "{curve:?}");
}

#[test]
fn charging_takes_carts_out_of_the_run() {
    let charging = LOOP
        .replace(
            "returned_at,return_s",
            "returned_at,return_s,charging,battery_min,charge_min",
        )
        .replace("load,unload,120", "load,unload,120,away,60,60");
    let book = book(&charging);
    let fleet = &plan(&book).unwrap().loops[0];
    // as long at the charger as at work
    assert!((fleet.fit - 0.5).abs() < 1e-9 && fleet.needed.value == 10.0);
    let built = network::build(&book).unwrap();
    assert_eq!(built.network.fleets[0].count, 4);
}

/// A main line and a sub-plant that stops often, with a store between.
const SUB_PLANT: &str = "
    [products]
    product,cars_per_week
    van,8000
    [stations]
    station,shop,line,cycle_s,mtbf_min,mttr_min,takes
    body,assembly,main,66,,,any
    marriage,assembly,main,66,200,5,one_of_each
    pack,pack,pack,60,100,5,any
    [links]
    from,to,holds
    body,marriage,2
    pack,marriage,40
    [carriers]
    carrier,count,taken_at,returned_at,return_s
    cart,8,body,marriage,60
";

#[test]
fn a_sub_plant_s_store_needs_places_for_its_stops_and_no_more() {
    let found = answered(&book(SUB_PLANT));
    let store = &found.stores[0];
    assert_eq!(
        (store.line.as_str(), store.to.as_str()),
        ("pack", "marriage")
    );
    // a stop of 5 min on average is worth some five cars
    assert!((2..40).contains(&store.least), "{store:?}");
    assert!(!store.loses);
    // 8,000 minutes of work bring 80 stops of 5 min, the longest of which lasts
    // 5 (1 + 1/2 + ... + 1/80) = 24.8 min: 20 cars at a takt of 75.6 s.
    let planned = &found.plan.stores[0];
    assert_eq!((planned.needed.value, planned.places), (20.0, Some(40)));
    assert!(
        (planned.longest_stop_min - 24.8).abs() < 0.05,
        "{planned:?}"
    );
    assert_eq!(store.planned, Some(20));
    let gain = store.at_planned.unwrap();
    assert!(gain.mean + gain.half_width >= 0.0, "{gain:?}");
    assert!(store.least <= 20, "{store:?}");
    let one = store.points.first().unwrap();
    assert!(one.places == 1 && one.shown, "{store:?}");
    let small = answered(&book(&SUB_PLANT.replace("marriage,40", "marriage,1")));
    assert!(small.stores[0].loses && small.stores[0].least > 1);
    assert!(!small.holds);
}

#[test]
fn the_same_book_gives_the_same_curve_on_any_number_of_threads() {
    let book = book(SMALL_PLANT);
    let on = |threads: usize| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads);
        pool.build().unwrap().install(|| answered(&book))
    };
    assert_eq!(on(1), on(3));
}

#[test]
fn cancelled_runs_answer_nothing_and_progress_counts_variants() {
    let stop = AtomicBool::new(true);
    let watch = Watch {
        cancel: &stop,
        progress: &|_| {},
    };
    let refused = carts(&book(LOOP), &RUNS, &watch).unwrap_err();
    assert!(matches!(refused, NoAnswer::Cancelled));
    let seen = AtomicU32::new(0);
    let calm = AtomicBool::new(false);
    let watch = Watch {
        cancel: &calm,
        progress: &|progress: Progress| {
            assert!(progress.done <= progress.of);
            seen.fetch_max(progress.done, Ordering::Relaxed);
        },
    };
    carts(&book(LOOP), &RUNS, &watch).unwrap();
    assert!(seen.load(Ordering::Relaxed) >= 3);
}

#[test]
fn the_rate_plan_and_the_carts_plan_need_the_same_fleet() {
    let book = book(SMALL_PLANT);
    let rate = plan::plan(&book).unwrap();
    let own = plan(&book).unwrap();
    assert_eq!(rate.carriers[0].needed.value, own.loops[0].needed.value);
    let id = &own.loops[0].needed.figure;
    assert_eq!(rate.figures[id].value, own.figures[id].value);
}

#[test]
fn a_supply_by_cars_brings_a_load_every_so_many_of_its_station() {
    let text = format!(
        "{SMALL_PLANT}
        [supplies]
        supply,station,cars_per_load,loaded_m
        seats,trim,5,100"
    );
    let found = plan(&book(&text)).unwrap();
    // 500 cars in the 80 h of assembly, five a load
    let run = &found.supplies[0].runs[0];
    assert!(
        (run.loads_per_hour - 500.0 / 80.0 / 5.0).abs() < 0.02,
        "{run:?}"
    );
}

#[test]
fn the_handbook_s_supply_carts_are_what_the_run_needs_too() {
    // Groover, worked example (from memory): 40 loads an hour of 5.05 min with
    // 0.95 and 0.95 keep 3.73 carts, so 4; three bring 3 / 3.73 of the loads
    let text = format!(
        "{LOOP}
        [supplies]
        supply,loads_per_hour,loaded_m,empty_m,availability,charging_share,traffic,carts
        parts,40,110,80,0.95,0,0.95,5"
    );
    let found = answered(&book(&text));
    let curve = &found.supply_curves[0];
    assert_eq!((curve.needed, curve.enough), (Some(4), Some(4)));
    let brought = |carts: usize| curve.points[carts - 1].loads_per_hour;
    assert!((brought(3).mean - 40.0 * 3.0 / 3.730_38).abs() < 0.2);
    let four = brought(4);
    assert!(
        (four.mean - 40.0).abs() < four.half_width.max(0.8),
        "{four:?}"
    );
    for pair in curve.points.windows(2) {
        let (few, many) = (pair[0].loads_per_hour, pair[1].loads_per_hour);
        assert!(
            few.mean <= many.mean + many.half_width,
            "{:?}",
            curve.points
        );
        assert!(pair[0].wait_min.mean >= pair[1].wait_min.mean - 1e-9);
    }
}
