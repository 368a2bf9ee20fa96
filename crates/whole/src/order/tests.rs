use super::*;
use crate::findings::{RunSettings, find};
use crate::network;
use crate::sample::{SMALL_PLANT, book};

fn planned(book: &Book) -> BuildOrder {
    match order(book, 1, Effort::usual(1), &Watch::none()) {
        Ok(order) => order,
        Err(problems) => panic!("{problems:?}"),
    }
}

#[test]
fn the_week_of_the_small_plant_is_ordered_and_walked_through_its_stations() {
    let order = planned(&book(SMALL_PLANT));
    assert_eq!(order.places.len(), 500);
    assert!(order.holds);
    assert_eq!(order.days, 5);
    assert!(order.slots.is_some_and(|slots| slots >= 500));
    // a third of the cars has a sunroof, one in two may
    let sunroof = &order.rules[0];
    assert_eq!((sunroof.cars, sunroof.broken_at.len()), (150, 0));
    assert!(
        !order.store.repairs.is_empty(),
        "inspection sends cars to touch up"
    );
}

#[test]
fn the_planned_order_drives_the_flow_where_the_plant_says_so() {
    let plant = book(SMALL_PLANT);
    let levelled = network::build(&plant).unwrap();
    let driven = network::build(&by_plan(&plant)).unwrap();
    assert_ne!(levelled.order.places, driven.order.places);
    assert_eq!(driven.order.places.len(), 500, "the week, over and over");
    let order = planned(&plant);
    for (class, car) in driven.order.places.iter().zip(&order.places) {
        let class = &driven.classes[class.at()];
        assert_eq!(class.product, car.product);
        assert!(
            class
                .options
                .iter()
                .all(|option| car.options.contains(option))
        );
    }
}

#[test]
fn a_line_that_is_no_shop_names_the_shops_there_are() {
    let mut plant = book(SMALL_PLANT);
    plant.plant.order_shop.value = "final".into();
    let problems = order(&plant, 1, Effort::usual(1), &Watch::none()).unwrap_err();
    assert_eq!(problems[0].code, "plant/no-such-line");
    assert!(
        problems[0].mend.contains("assembly"),
        "{}",
        problems[0].mend
    );
    let built = network::build(&by_plan(&plant)).unwrap();
    assert!(built.notes.iter().any(|note| note.code == "plant/no-order"));
}

#[test]
fn a_misspelt_line_is_told_with_the_nearest_name_first_and_no_shop_of_presses() {
    let mut plant = book(SMALL_PLANT);
    plant.plant.order_shop.value = "asembly".into();
    let problem = order(&plant, 1, Effort::usual(1), &Watch::none())
        .unwrap_err()
        .remove(0);
    assert_eq!(problem.nearest.as_deref(), Some("assembly"));
    assert!(
        problem.mend.ends_with("one of: assembly, body, paint"),
        "{}",
        problem.mend
    );
}

/// The small plant with a sunroof that takes so long at trim.
fn sunroof_at_trim(cycle_s: u32) -> Book {
    let row = format!("trim,,sunroof,{cycle_s}");
    book(&SMALL_PLANT.replace("trim,,sunroof,430", &row))
}

#[test]
fn a_run_by_plan_tells_which_station_the_order_overruns_and_how_far() {
    // 16 h on five days for 500 cars are 576 s a car; a sunroof takes 700 s.
    let plant = sunroof_at_trim(700);
    let driven = network::build(&by_plan(&plant)).unwrap();
    let [trim] = &driven.overruns[..] else {
        panic!("{:?}", driven.overruns);
    };
    assert_eq!((trim.station.as_str(), trim.heavy_cars), ("trim", 150));
    assert!((trim.takt_s - 576.0).abs() < 1e-6, "{}", trim.takt_s);
    assert!(trim.drift_s < 124.0, "one sunroof alone passes the drift");
    assert_eq!(trim.overruns, 150);
    assert!(trim.worst_s > 123.99 && trim.worst_place >= 1, "{trim:?}");
    let levelled = network::build(&plant).unwrap();
    assert!(levelled.overruns.is_empty(), "no planned order drives it");
}

#[test]
fn where_one_car_alone_passes_the_drift_the_way_out_is_no_wider_spacing() {
    let mend = |cycle_s: u32| {
        let driven = network::build(&by_plan(&sunroof_at_trim(cycle_s))).unwrap();
        let note = driven
            .notes
            .iter()
            .find(|one| one.code == "stations/overrun");
        note.map(|note| note.mend.clone()).unwrap_or_default()
    };
    let told = mend(700);
    assert!(
        told.contains("of work off trim for cars with sunroof"),
        "{told}"
    );
    assert!(told.contains("a drift of 124 s"), "{told}");
    assert!(!told.contains("wider"), "{told}");
}

#[test]
fn a_run_says_how_far_behind_a_station_was_with_its_stops_and_which_car_was_worst() {
    let settings = RunSettings {
        replications: 2,
        weeks: 1,
        warm_up_h: Some(48.0),
        trials: 0,
        ..RunSettings::USUAL
    };
    let plant = by_plan(&sunroof_at_trim(700));
    let answer = find(&plant, &settings, &flow::Watch::none()).unwrap();
    let [trim] = &answer.overruns[..] else {
        panic!("{:?}", answer.overruns);
    };
    let seen = trim.in_run.as_ref().unwrap();
    assert_eq!(seen.replications, 2);
    // 124 s over, 89 s allowed, a spread of 70 s: two in three of 150 sunroofs
    assert!(seen.past.mean > 50.0, "{seen:?}");
    assert!(seen.worst_s.mean > trim.worst_s, "{seen:?} {trim:?}");
    assert!(seen.worst_car.contains("sunroof"), "{seen:?}");
    let without = find(&sunroof_at_trim(700), &settings, &flow::Watch::none()).unwrap();
    assert!(without.overruns.is_empty());
}
