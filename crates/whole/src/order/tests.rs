use super::*;
use crate::network;
use crate::sample::{SMALL_PLANT, book};

fn planned(book: &Book) -> BuildOrder {
    match order(book, 1, 1, &Watch::none()) {
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
    let problems = order(&plant, 1, 1, &Watch::none()).unwrap_err();
    assert_eq!(problems[0].code, "plant/no-such-line");
    assert!(
        problems[0].mend.contains("assembly"),
        "{}",
        problems[0].mend
    );
    let built = network::build(&by_plan(&plant)).unwrap();
    assert!(built.notes.iter().any(|note| note.code == "plant/no-order"));
}
