//! The order that reaches the line after repairs of paint.

use super::*;

/// Paint that sends a fifth of its cars through a repair of 20 minutes.
pub(super) fn with_repairs(mut book: Book) -> Book {
    let mut inspect = station("look", "paint", 100.0);
    inspect.first_time_ok = Some(Share(0.8));
    inspect.rework_to = Some("repair".into());
    book.stations.extend([
        inspect,
        station("repair", "paint", 1_200.0),
        station("store", "paint", 60.0),
    ]);
    for (from, to) in [("look", "store"), ("look", "repair"), ("repair", "store")] {
        book.links.push(Link {
            from: from.into(),
            to: to.into(),
            ..Link::default()
        });
    }
    book
}

#[test]
fn without_repairs_the_wanted_order_reaches_the_line() {
    let plan = plan(&plant());
    assert_eq!(plan.store.on_line, (1..=100).collect::<Vec<u32>>());
    assert_eq!(plan.store.needed.lanes, 1);
}

#[test]
fn a_repair_of_twenty_minutes_is_overtaken_by_six_cars_and_lanes_make_it_good() {
    let mut book = with_repairs(plant());
    (
        book.plant.painted_lanes.value,
        book.plant.painted_lane_places.value,
    ) = (3, 8);
    let plan = plan(&book);
    let way = &plan.store.repairs[0];
    assert_eq!((way.overtaken_by, way.way.len()), (6, 2));
    assert!((way.share - 0.2).abs() < 1e-12);
    assert!(plan.store.repaired > 5);
    assert_eq!(
        plan.store.needed.lanes, 2,
        "good cars and repaired ones keep their own order"
    );
    assert!(plan.store.arriving_off.pairs > 0);
    assert_eq!(plan.store.on_line_off.pairs, 0);
    let mut on_line = plan.store.arriving.clone();
    on_line.sort_unstable();
    assert_eq!(on_line, (1..=100).collect::<Vec<u32>>());
}

#[test]
fn a_move_by_hand_leaves_the_painted_body_store_as_it_is_since_luck_falls_on_places() {
    let book = with_repairs(plant());
    let planned = plan(&book);
    assert!(planned.store.repaired > 0);
    let ready = asked(&book, 1, |question| ByHand::new(question, planned.clone()));
    let step = HandMove {
        from: 3,
        cars: 4,
        to: 60,
    };
    let moved = ready.unwrap().build_order(&[step]).unwrap();
    let anew = asked(&book, 1, |question| {
        painted::painted(question, moved.places.len(), question.takt_s)
    });
    assert_eq!(moved.store, anew);
}
