//! Stations that make lots: a press and the stocks around it.

use super::*;

pub(crate) fn press() -> Network {
    // Two items, 10 s a piece, 600 s to change, drawn every 60 s each.
    let item = |name: &str, to: u32| LotItem {
        name: name.into(),
        class: ClassIdx(0),
        from: None,
        to: LinkIdx(to),
        cycle: Distribution::Fixed(10.0),
        scrap: 0.0,
        lot: 100,
        start_below: 60,
        drawn_per_hour: 60.0,
        at_start: 60,
        born_here: true,
    };
    let mut press = fixed("press", 1.0);
    press.work = Work::Lots(Lots {
        items: vec![item("roof", 0), item("door", 1)],
        changeover: Distribution::Fixed(600.0),
        rule: LotRule::LeastCover,
    });
    let mut weld = fixed("weld", 60.0);
    weld.takes = Takes::OneOfEach;
    Network {
        stations: vec![press, weld],
        links: vec![link(0, 1, 160), link(0, 1, 160)],
        ..Network::default()
    }
}

#[test]
fn a_press_that_changes_dies_keeps_both_stocks_alive() {
    let result = outcome(
        &press(),
        &Settings {
            warm_up: WarmUp::Fixed(86_400.0),
            ..for_seconds(864_000.0)
        },
    );
    assert!(
        (result.rate_per_h.mean - 60.0).abs() < 0.01,
        "{}",
        result.rate_per_h.mean
    );
    // Every 100 cars both items: 2 lots of 1,000 s and 2 changes of 600 s in 6,000 s.
    let press = &result.stations[0];
    assert!((press.working.mean - 1.0 / 3.0).abs() < 0.01, "{press:?}");
    assert!((press.changeover.mean - 0.2).abs() < 0.01, "{press:?}");
    // A panel waits at most for the stock before it: 160 places at 60 s.
    assert!(result.time_in_plant_s.p90.mean < 160.0 * 60.0 + 1_200.0);
    assert!(result.time_in_plant_s.p10.mean > 600.0);
}

#[test]
fn a_press_on_a_timetable_makes_its_lots_in_their_order_and_sizes() {
    // Roofs twice a cycle in lots of 40 and 60, doors once in a lot of 100. The
    // die stays in between the two lots of roofs: in 6,000 s two changes of 600 s
    // and 200 pieces of 10 s.
    let mut network = press();
    let Work::Lots(lots) = &mut network.stations[0].work else {
        unreachable!()
    };
    let turn = |item, lot| Turn { item, lot };
    lots.rule = LotRule::InOrder(vec![turn(0, 40), turn(1, 100), turn(0, 60)]);
    let result = outcome(
        &network,
        &Settings {
            warm_up: WarmUp::Fixed(86_400.0),
            ..for_seconds(864_000.0)
        },
    );
    assert!((result.rate_per_h.mean - 60.0).abs() < 0.01, "{result:?}");
    let press = &result.stations[0];
    assert!((press.working.mean - 1.0 / 3.0).abs() < 0.01, "{press:?}");
    assert!((press.changeover.mean - 0.2).abs() < 0.01, "{press:?}");
}

#[test]
fn a_timetable_without_a_turn_for_an_item_is_refused_by_name() {
    let mut network = press();
    let Work::Lots(lots) = &mut network.stations[0].work else {
        unreachable!()
    };
    lots.rule = LotRule::InOrder(vec![Turn { item: 0, lot: 40 }, Turn { item: 7, lot: 0 }]);
    let faults = Plan::compile(&network).expect_err("no turn for the door");
    let told: Vec<String> = faults.iter().map(|fault| format!("{fault:?}")).collect();
    let told = told.join("\n");
    for part in ["door", "item 7 of 2", "a lot of 0"] {
        assert!(told.contains(part), "{part} in {told}");
    }
}

#[test]
fn material_that_comes_late_starves_the_press_and_not_for_ever() {
    let mut network = press();
    network.stations.push(fixed("shear", 31.0));
    network.links.push(link(2, 0, 200));
    network.links.push(link(2, 0, 200));
    network.links[2].share = 0.5;
    network.links[3].share = 0.5;
    let Work::Lots(lots) = &mut network.stations[0].work else {
        unreachable!()
    };
    lots.items[0].from = Some(LinkIdx(2));
    lots.items[1].from = Some(LinkIdx(3));
    let result = outcome(
        &network,
        &Settings {
            warm_up: WarmUp::Fixed(86_400.0),
            ..for_seconds(864_000.0)
        },
    );
    // The shear makes 3600/31 blanks an hour, two a car.
    assert!(
        (result.rate_per_h.mean / (1_800.0 / 31.0) - 1.0).abs() < 0.03,
        "{}",
        result.rate_per_h.mean
    );
}

#[test]
fn blanks_above_their_start_level_and_below_a_lot_do_not_stop_the_press() {
    // 50 blanks lie ready, more than the 10 at which the shear starts and fewer
    // than the press's lot of 100: the press has to call for more.
    let mut network = press();
    let blank = |name: &str, to: u32| LotItem {
        name: name.into(),
        class: ClassIdx(0),
        from: None,
        to: LinkIdx(to),
        cycle: Distribution::Fixed(5.0),
        scrap: 0.0,
        lot: 120,
        start_below: 10,
        drawn_per_hour: 60.0,
        at_start: 50,
        born_here: true,
    };
    let mut shear = fixed("shear", 1.0);
    shear.work = Work::Lots(Lots {
        items: vec![blank("roof", 2), blank("door", 3)],
        changeover: Distribution::Fixed(60.0),
        rule: LotRule::LeastCover,
    });
    network.stations.push(shear);
    network.links.push(link(2, 0, 150));
    network.links.push(link(2, 0, 150));
    let Work::Lots(lots) = &mut network.stations[0].work else {
        unreachable!()
    };
    lots.items[0].from = Some(LinkIdx(2));
    lots.items[1].from = Some(LinkIdx(3));
    // Two doors a car, and an odd one in stock that is not enough for a car.
    lots.items[1].at_start = 1;
    lots.items[1].drawn_per_hour = 120.0;
    network.links[1].needs = 2;
    let result = outcome(
        &network,
        &Settings {
            warm_up: WarmUp::Fixed(86_400.0),
            ..for_seconds(864_000.0)
        },
    );
    assert!(result.stuck.is_none(), "{:?}", result.stuck);
    assert!(result.rate_per_h.mean > 45.0, "{}", result.rate_per_h.mean);
}
