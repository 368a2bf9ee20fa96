use flow::Plan;
use flow::distribution::Distribution;
use flow::model::{Basis, Link, Release, Station, Takes, Work};
use proptest::prelude::*;
use units::Quantity;

use super::*;
use crate::sample::{SMALL_PLANT, book};

fn built(text: &str) -> Built {
    build(&book(text)).unwrap_or_else(|problems| panic!("{problems:#?}"))
}

fn refused(text: &str) -> Vec<String> {
    let problems = build(&book(text)).expect_err("the book cannot be run");
    problems.into_iter().map(|problem| problem.code).collect()
}

fn station<'b>(built: &'b Built, name: &str) -> &'b Station {
    let found = built.network.stations.iter().find(|s| s.name == name);
    found.unwrap_or_else(|| panic!("no station {name}"))
}

fn links<'b>(built: &'b Built, from: &str, to: &str) -> Vec<&'b Link> {
    let name = |s: StationIdx| built.network.stations[s.at()].name.as_str();
    let links = built.network.links.iter();
    links
        .filter(|l| name(l.from) == from && name(l.to) == to)
        .collect()
}

fn names(built: &Built, classes: &[flow::model::ClassIdx]) -> Vec<String> {
    classes
        .iter()
        .map(|c| built.classes[c.at()].name.clone())
        .collect()
}

#[test]
fn the_small_plant_compiles() {
    let built = built(SMALL_PLANT);
    if let Err(faults) = Plan::compile(&built.network) {
        panic!("{faults:#?}");
    }
}

#[test]
fn a_station_that_does_its_own_rework_needs_no_link_for_it() {
    let text = SMALL_PLANT.replace(
        "primer,paint,1,300,0,600,10,0,,1,,",
        "primer,paint,1,300,0,600,10,0,,0.9,primer,",
    );
    let built = built(&text);
    let primer = station(&built, "primer");
    let rework = primer.quality.rework.expect("a way back to itself");
    let link = &built.network.links[rework.at()];
    assert_eq!((link.from, link.holds), (link.to, None));
    assert!(Plan::compile(&built.network).is_ok());
}

#[test]
fn options_that_change_no_cycle_make_no_classes() {
    let built = built(SMALL_PLANT);
    let names: Vec<&str> = built
        .classes
        .iter()
        .map(|class| class.name.as_str())
        .collect();
    assert_eq!(
        names,
        [
            "short",
            "short+sunroof",
            "long",
            "long+sunroof",
            "long+towbar",
            "long+sunroof+towbar",
            "pickup",
            "pickup+sunroof"
        ]
    );
    let both = &built.classes[5];
    assert!((both.share.get() - 0.3 * 0.3 * 0.5).abs() < 1e-12);
    let sum: f64 = built.classes.iter().map(|class| class.share.get()).sum();
    assert!((sum - 1.0).abs() < 1e-12);
}

#[test]
fn the_release_order_keeps_the_product_mix() {
    let built = built(SMALL_PLANT);
    let places = built.order.places.len() as f64;
    for (product, share) in [("short", 0.6), ("long", 0.3), ("pickup", 0.1)] {
        let of_it = |c: &&flow::model::ClassIdx| built.classes[c.at()].product == product;
        let made = built.order.places.iter().filter(of_it).count() as f64 / places;
        assert!((made - share).abs() <= 1e-3, "{product}: {made}");
    }
    assert_eq!(built.order.spacing_broken, 0);
}

#[test]
fn the_row_that_says_most_about_the_car_gives_its_cycle() {
    let built = built(SMALL_PLANT);
    let Work::Cycle(cycles) = &station(&built, "trim").work else {
        panic!("trim works in cycles");
    };
    let mean = |name: &str| {
        let class = built
            .classes
            .iter()
            .position(|c| c.name == name)
            .expect("class");
        match cycles.distributions[usize::from(cycles.of_class[class])] {
            Distribution::Lognormal(mean, variation) => {
                assert_eq!(variation, 0.1);
                mean
            }
            ref other => panic!("{other:?}"),
        }
    };
    assert_eq!(mean("short"), 390.0);
    assert_eq!(mean("long"), 410.0);
    assert_eq!(mean("long+sunroof"), 430.0);
    assert_eq!(mean("pickup+sunroof"), 430.0);
}

#[test]
fn stops_keep_their_spread_their_clock_and_their_crew() {
    let built = built(SMALL_PLANT);
    let framing = station(&built, "framing");
    assert_eq!(framing.stops.len(), 2);
    assert_eq!(
        framing.stops[0].between,
        Distribution::Exponential(240.0 * 60.0)
    );
    assert_eq!(framing.stops[0].repair, Distribution::Lognormal(360.0, 0.5));
    assert_eq!(
        built.network.crews[framing.stops[0].crew.expect("crew").at()].name,
        "fitters"
    );
    assert_eq!(framing.stops[1].basis, Basis::Clock);
    assert_eq!(framing.stops[1].repair, Distribution::Exponential(1_200.0));
    assert_eq!(
        station(&built, "primer").stops[0].repair,
        Distribution::Fixed(600.0)
    );
    assert!(station(&built, "trim").stops[0].crew.is_none());
}

#[test]
fn the_way_to_rework_is_the_rework_link() {
    let built = built(SMALL_PLANT);
    let quality = &station(&built, "inspection").quality;
    let link = &built.network.links[quality.rework.expect("rework").at()];
    assert_eq!(built.network.stations[link.to.at()].name, "touch up");
    assert_eq!(
        (quality.first_time_ok, quality.scrap, quality.attempts),
        (0.9, 0.01, Some(3))
    );
    let rework = built.links.iter().filter(|l| l.way == Way::Rework).count();
    assert_eq!(rework, 1);
}

#[test]
fn every_source_releases_what_its_cars_need() {
    let built = built(SMALL_PLANT);
    let released = |name: &str| match &station(&built, name).release {
        Some(Release::Order(order)) => order.clone(),
        other => panic!("{other:?}"),
    };
    assert_eq!(released("underbody"), built.order.places);
    // two doors a car, one behind the other
    let doors = released("door line");
    assert_eq!(doors.len(), 2 * built.order.places.len());
    assert!(
        doors
            .chunks(2)
            .zip(&built.order.places)
            .all(|(pair, car)| pair == [*car, *car])
    );
    for fed in ["framing", "touch up", "trim", "blanker", "big press 1"] {
        assert!(station(&built, fed).release.is_none(), "{fed}");
    }
}

#[test]
fn a_sub_plant_for_one_product_releases_only_its_cars() {
    let text = SMALL_PLANT.replace("door line,doors on,6,30,,pickup,2", "");
    let built = built(&text);
    let Some(Release::Order(order)) = &station(&built, "door line").release else {
        panic!("the door line releases");
    };
    assert!(
        order
            .iter()
            .all(|c| built.classes[c.at()].product != "pickup")
    );
    let door_links = links(&built, "door line", "doors on");
    assert_eq!(door_links.len(), 1);
    assert!(
        names(&built, &door_links[0].needed_for)
            .iter()
            .all(|n| !n.starts_with("pickup"))
    );
}

#[test]
fn a_merge_takes_the_first_link_as_the_car() {
    let built = built(SMALL_PLANT);
    assert_eq!(station(&built, "doors on").takes, Takes::OneOfEach);
    assert!(links(&built, "trim", "doors on")[0].needed_for.is_empty());
    let doors = links(&built, "door line", "doors on");
    assert_eq!(doors[0].needs, 2);
    assert_eq!(
        names(&built, &doors[1].needed_for),
        ["pickup", "pickup+sunroof"]
    );
}

#[test]
fn carriers_out_of_use_and_their_handling_count() {
    let fleet = &built(SMALL_PLANT).network.fleets[0];
    // 9 carts at 95 % availability; 60 m at 30 m/min, 30 s handling
    assert_eq!((fleet.count, fleet.return_s), (8, 150.0));
}

#[test]
fn parts_run_from_coil_to_the_station_that_joins_them() {
    let built = built(SMALL_PLANT);
    let lines = ["blanker", "big press 1", "big press 2"];
    for line in lines {
        assert!(matches!(station(&built, line).work, Work::Lots(_)));
    }
    // the heaviest parts share the two like presses
    let Work::Lots(press) = &station(&built, "big press 1").work else {
        panic!("lots")
    };
    assert_eq!(press.items.len() + lots_of(&built, "big press 2").len(), 3);
    assert_eq!(press.changeover, Distribution::Fixed(540.0));

    let inner = item(&built, "big press", "inner");
    assert_eq!(
        (inner.lot, inner.start_below, inner.at_start),
        (300, 120, 300),
        "half of the places is less than a lot"
    );
    assert!(!inner.born_here && inner.from.is_some());
    // 10 strokes a minute, 2 pieces a stroke
    assert_eq!(inner.cycle, Distribution::Fixed(3.0));
    // 500 cars, 2 a car, over the 80 h of the body shop
    assert!((inner.drawn_per_hour - 12.5).abs() < 1e-9);
    let panels = &built.network.links[inner.to.at()];
    assert_eq!((panels.holds, panels.needs), (Some(500), 2));

    let floor = item(&built, "big press", "floor");
    assert!(floor.born_here && floor.from.is_none());
    let roof = item(&built, "big press", "roof");
    assert_eq!((&roof.cycle, roof.scrap), (&Distribution::Fixed(7.5), 0.02));
    let blanks = item(&built, "blanker", "roof");
    // as many blanks as panels begun
    assert!((blanks.drawn_per_hour - 450.0 / 0.98 / 80.0).abs() < 1e-9);
    assert_eq!(blanks.scrap, 0.0);
    assert_eq!(Some(blanks.to), roof.from);
    assert!(blanks.born_here);
    // a part that is only cut goes straight to its station
    let bracket = item(&built, "blanker", "bracket");
    let to = built.network.links[bracket.to.at()].to;
    assert_eq!(built.network.stations[to.at()].name, "underbody");
    assert_eq!(station(&built, "underbody").takes, Takes::OneOfEach);
}

fn lots_of<'b>(built: &'b Built, line: &str) -> &'b [flow::model::LotItem] {
    match &station(built, line).work {
        Work::Lots(lots) => &lots.items,
        Work::Cycle(_) => &[],
    }
}

fn item<'b>(built: &'b Built, line: &str, part: &str) -> &'b flow::model::LotItem {
    let lines = built
        .network
        .stations
        .iter()
        .filter(|s| s.name.starts_with(line));
    let mut items = lines.flat_map(|s| lots_of(built, &s.name));
    items
        .find(|i| i.name == part)
        .unwrap_or_else(|| panic!("{part} on {line}"))
}

#[test]
fn usual_lots_are_half_a_day_of_full_racks() {
    let built = built(SMALL_PLANT);
    let roof = built
        .lots
        .iter()
        .find(|l| l.part == "roof" && l.line != "blanker")
        .expect("roof");
    // 450 cars of two products over 5 days are 90 a day; racks of 20
    assert_eq!(
        roof.lot,
        LotFigure {
            pieces: 60,
            given: false
        }
    );
    assert_eq!(
        roof.start_below,
        LotFigure {
            pieces: 23,
            given: false
        }
    );
    assert_eq!(
        roof.stock,
        LotFigure {
            pieces: 83,
            given: false
        }
    );
    let inner = built
        .lots
        .iter()
        .find(|l| l.part == "inner" && l.line != "blanker")
        .expect("inner");
    assert_eq!(
        inner.lot,
        LotFigure {
            pieces: 300,
            given: true
        }
    );
}

#[test]
fn every_piece_of_the_network_names_its_row() {
    let built = built(SMALL_PLANT);
    let book = book(SMALL_PLANT);
    assert_eq!(built.stations.len(), built.network.stations.len());
    assert_eq!(built.links.len(), built.network.links.len());
    assert_eq!(built.open_s_per_week.len(), built.network.stations.len());
    assert_eq!(built.fleets, [book.carriers[0].at]);
    for (origin, station) in built.stations.iter().zip(&built.network.stations) {
        assert_eq!(origin.name, station.name);
        assert!(built.stages[origin.stage].shop == origin.shop);
    }
    for link in &built.network.links {
        assert!(link.from.at() < built.network.stations.len());
        assert!(link.to.at() < built.network.stations.len());
    }
    let stages: Vec<&str> = built.stages.iter().map(|s| s.name.as_str()).collect();
    assert_eq!(stages, ["press", "body", "doors", "paint", "assembly"]);
    let in_stages: usize = built.stages.iter().map(|s| s.stations.len()).sum();
    assert_eq!(in_stages, built.stations.len());
}

#[test]
fn building_twice_gives_the_same_network() {
    let (one, two) = (built(SMALL_PLANT), built(SMALL_PLANT));
    assert_eq!(format!("{one:?}"), format!("{two:?}"));
}

#[test]
fn open_links_share_the_rest() {
    let built = built(
        "[products]
         product,cars_per_week
         van,10
         [stations]
         station,shop,cycle_s
         a,body,60
         b,body,60
         c,body,60
         d,body,60
         [links]
         from,to,share
         a,b,0.4
         a,c,
         a,d,",
    );
    let share = |to: &str| links(&built, "a", to)[0].share;
    assert_eq!(share("b"), 0.4);
    assert!((share("c") - 0.3).abs() < 1e-12 && (share("d") - 0.3).abs() < 1e-12);
}

#[test]
fn rework_into_a_joining_station_is_refused_with_its_row() {
    let text = SMALL_PLANT
        .replace(
            "primer,paint,1,300,0,600,10,0,,1,,",
            "primer,paint,1,300,0,600,10,0,,0.9,framing,",
        )
        .replace("[carriers]", "primer,framing,2,10,,,\n[carriers]");
    assert!(refused(&text).contains(&"links/rework-into-merge".to_owned()));
}

#[test]
fn parts_and_two_ways_for_the_car_are_refused() {
    let text = SMALL_PLANT
        .replace("touch up,inspection,2,30,,,", "touch up,trim,2,30,,,")
        .replace("rack,to", "rack,to\n clip,big press,,60,,1,1,,0,,,,1,trim");
    assert_eq!(refused(&text), ["stations/unclear-merge"]);
}

#[test]
fn a_product_without_a_way_is_named() {
    let mut book = book(SMALL_PLANT);
    book.links[1].products = vec!["short".into(), "long".into()];
    let problems = build(&book).expect_err("pickup has no way");
    let codes: Vec<&str> = problems.iter().map(|p| p.code.as_str()).collect();
    assert!(codes.contains(&"products/no-route"), "{problems:#?}");
    assert!(
        problems.iter().all(|p| p.found.contains("pickup")),
        "{problems:#?}"
    );
}

#[test]
fn a_plant_with_nothing_to_make_is_refused() {
    let mut book = book(SMALL_PLANT);
    for row in &mut book.products {
        row.cars_per_week = units::PerWeek(0.0);
    }
    let problems = build(&book).expect_err("nothing to make");
    assert_eq!(problems[0].code, "products/nothing-to-make");
}

#[test]
fn options_without_end_are_refused() {
    let mut book = book(SMALL_PLANT);
    for i in 0..12 {
        let name = format!("o{i}");
        book.options.push(book::OptionRow {
            option: name.clone(),
            share: units::Share(0.5),
            ..book::OptionRow::default()
        });
        book.cycles.push(book::Cycle {
            station: "trim".into(),
            option: Some(name),
            cycle_s: units::Seconds(400.0),
            ..book::Cycle::default()
        });
    }
    let problems = build(&book).expect_err("12 options double the classes 12 times");
    assert_eq!(problems[0].code, "options/too-many-classes");
}

proptest! {
    #[test]
    fn shares_of_classes_add_to_one(
        cars in prop::collection::vec(1.0..1000.0f64, 1..4),
        options in prop::collection::vec(0.0..=1.0f64, 0..5)
    ) {
        let mut text = String::from("[products]\nproduct,cars_per_week\n");
        for (i, cars) in cars.iter().enumerate() {
            text.push_str(&format!("p{i},{cars}\n"));
        }
        text.push_str("[options]\noption,share\n");
        for (i, share) in options.iter().enumerate() {
            text.push_str(&format!("o{i},{share}\n"));
        }
        text.push_str("[stations]\nstation,shop,cycle_s\na,body,60\n[cycles]\nstation,option,cycle_s\n");
        for i in 0..options.len() {
            text.push_str(&format!("a,o{i},{}\n", 61 + i));
        }
        let built = built(&text);
        let sum: f64 = built.classes.iter().map(|class| class.share.get()).sum();
        prop_assert!((sum - 1.0).abs() < 1e-9);
        prop_assert!(built.classes.iter().all(|class| class.share.get() > 0.0));
        prop_assert!(Plan::compile(&built.network).is_ok());
    }
}
