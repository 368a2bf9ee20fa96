use super::*;
use crate::sample::book;
use crate::{network, plan};

/// A frame and a respot station whose cycles are left to their joints, and one that
/// is measured. 80 h a week for 1,000 cars: takt 288 s.
const LINE: &str = "
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
    station,shop,line,cycle_s,robots,robots_beside,robots_most
    frame,body,floor,,9,1,2
    respot,body,floor,,9,,6
    measured,body,floor,200,5,,2
    [links]
    from,to,holds
    frame,respot,3
    respot,measured,3
    [joins]
    join,assembly,method,count,stack,station,geometry
    hold,floor,rivet,20,floor;member,frame,yes
    rest,floor,rivet,200,floor;member,respot,
    last,floor,rivet,30,floor;member,measured,
";

fn body_of(book: &Book, asked: Asked) -> Body {
    body(book, asked, &Watch::none()).unwrap()
}

#[test]
fn cycles_and_robots_of_the_plan_are_those_of_the_joints() {
    let book = book(LINE);
    let made = body_of(&book, Asked::PLAIN);
    let plan = plan::plan(&book).unwrap();
    let cycle = |name: &str| {
        let row = plan.stations.iter().find(|row| row.station == name);
        row.unwrap().cycle_s.value
    };
    for (at, name) in ["frame", "respot"].into_iter().enumerate() {
        assert!((cycle(name) - made.stations[at].cycle_s).abs() < 1e-9);
    }
    // A measured cycle wins, with the robots of the joints all the same.
    assert!((cycle("measured") - 200.0).abs() < 1e-9);
    let robots: u32 = made.robots + 1;
    assert_eq!(plan.shops[0].robots, robots);
    // The figure of a cycle names the joints' rows.
    let figure = &plan.figures["station.respot.work"];
    assert!(figure.title.contains("rest"), "{}", figure.title);
}

#[test]
fn stops_for_refills_reach_the_run_where_the_cycle_is_the_joints() {
    let book = book(LINE);
    let built = network::build(&book).unwrap();
    let stops = |name: &str| {
        let station = built.network.stations.iter().find(|row| row.name == name);
        station.unwrap().stops.len()
    };
    assert!(stops("respot") > 0);
    assert_eq!(stops("measured"), 0);
}

#[test]
fn takt_and_joints_change_the_number_of_robots() {
    let plain = body_of(&book(LINE), Asked::PLAIN);
    assert!(plain.holds);
    let quicker = body_of(
        &book(LINE),
        Asked {
            takt: Some(Seconds(144.0)),
            ..Asked::PLAIN
        },
    );
    assert!(quicker.robots > plain.robots);
    let more_cars = body_of(
        &book(LINE),
        Asked {
            rate: Some(PerWeek(2_000.0)),
            ..Asked::PLAIN
        },
    );
    assert_eq!(more_cars.robots, quicker.robots);
    let fewer_joints = body_of(&book(&LINE.replace("rivet,200", "rivet,60")), Asked::PLAIN);
    assert!(fewer_joints.robots < plain.robots);
}

#[test]
fn joints_without_a_robot_stop_a_plan_that_needs_their_cycle() {
    let problems = plan::plan(&book(&LINE.replace("rivet,200", "rivet,2000"))).unwrap_err();
    let stuck = problems
        .iter()
        .find(|p| p.code == "joins/without-robot")
        .unwrap();
    assert!(
        stuck.found.contains("`rest`") && stuck.mend.contains("robots_most"),
        "{stuck:?}"
    );
}

#[test]
fn a_book_whose_stations_are_all_measured_keeps_its_robots() {
    let measured = LINE
        .replace("frame,body,floor,,9,1,2", "frame,body,floor,150,9,1,2")
        .replace("respot,body,floor,,9,,6", "respot,body,floor,150,9,,6");
    assert_eq!(plan::plan(&book(&measured)).unwrap().shops[0].robots, 23);
}
