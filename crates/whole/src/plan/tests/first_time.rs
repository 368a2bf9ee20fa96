//! First time right by plan, by hand.

use super::{near, planned};

#[test]
fn a_car_is_right_first_time_if_every_station_of_its_way_lets_it_go_on() {
    let plan = planned(
        "[products]
        product,cars_per_week
        van,600
        bus,200
        [stations]
        station,shop,cycle_s,first_time_ok,rework_to,takes
        floor,body,10,,,
        weld,body,10,0.95,weld mend,
        weld mend,body,10,,,
        inner doors,body,10,,,
        doors,body,10,0.5,doors,
        join,body,10,,,one_of_each
        high roof,body,10,0.8,high roof,
        test,trim,10,0.9,mend,
        mend,trim,10,0.7,mend,
        [links]
        from,to,holds,products
        floor,weld,5,
        inner doors,doors,5,
        weld,weld mend,5,
        weld mend,weld,5,
        weld,join,5,
        doors,join,5,
        join,high roof,5,bus
        join,test,5,van
        high roof,test,5,
        test,mend,5,
        mend,test,5,",
    );
    let figure = |id: &str| &plan.figures[id];
    // Doors are made before they are the car's, the bays do only what was wrong.
    let van = figure("product.van.first_time_right");
    assert!(near(van.value, 0.95 * 0.9), "{van:?}");
    let bus = figure("product.bus.first_time_right");
    assert!(near(bus.value, 0.95 * 0.8 * 0.9), "{bus:?}");
    let all = figure("plant.first_time_right");
    assert!(near(all.value, 0.75 * van.value + 0.25 * bus.value));
    // One car in four passes the high roof: 1 - 0.2 / 4.
    assert!(
        all.title
            .ends_with("least at test 90.0 %, weld 95.0 %, high roof 95.0 %"),
        "{}",
        all.title
    );
    assert!(bus.title.contains("least at high roof 80.0 %"));
    assert!(all.working.source.contains("ISO 22400"));
}

#[test]
fn a_plant_without_rework_is_right_first_time() {
    let plan = planned(
        "[products]
        product,cars_per_week
        van,700
        [stations]
        station,shop,cycle_s
        fit,final,10",
    );
    let all = &plan.figures["plant.first_time_right"];
    assert!(near(all.value, 1.0) && all.title == "share of all cars right at the first try");
}
