use flow::Watch;
use units::PerWeek;

use super::*;
use crate::findings::RunSettings;
use crate::findings::measure;
use crate::network;
use crate::plan::plan;
use crate::sample::book;

/// One booth, an inspection, a bay for spots and one for whole bodies.
const PAINTED: &str = "
    [products]
    product,cars_per_week
    van,700
    [coats]
    coat,step,kind,stations,process_s,temperature_c,heat_up_min,least_min,most_min,film_um,transfer_efficiency,solids_share,area_m2,flow_ml_min,ok_share
    base,1,spray,booth,420,24,,,,15,0.7,0.24,33,260,0.9
    cure,2,oven,,1800,145,10,15,40,,,,,,
    look,3,inspect,look,300,,,,,,,,,,0.95
    [repairs]
    repair,share,ok_share,fails_to,back_to,time_min,station
    spot,0.8,0.95,again,,35,spot
    again,0.2,1,,base,20,again
    [stations]
    station,shop,units,cycle_s,first_time_ok,rework_to,source
    body,body,1,600,,,yes
    booth,paint,1,,,,
    look,paint,1,,,sort,
    sort,paint,1,20,,,
    spot,paint,2,,0.95,again,
    again,paint,2,,,,
    store,paint,1,60,,,
    trim,assembly,1,500,,,
    [links]
    from,to,holds,move_s,share
    body,booth,3,20,
    booth,look,6,1800,
    look,store,4,10,
    look,sort,50,10,
    sort,spot,50,10,0.8
    sort,again,50,10,0.2
    spot,store,5,10,
    spot,again,50,10,
    again,booth,50,10,
    store,trim,30,60,
";

#[test]
fn stations_take_cycle_robots_and_first_time_ok_from_the_coats() {
    let book = book(PAINTED);
    let paint = paint(&book).unwrap();
    let worked = work::of(&book).unwrap();
    let row = |name: &str| {
        let rows = &worked.book.stations;
        rows.iter().find(|row| row.station == name).unwrap()
    };
    assert!((row("look").ok().0 - 0.9 * 0.95).abs() < 1e-12);
    assert_eq!(row("spot").cycle().0, 35.0 * 60.0);
    let booth = &paint.stations[0];
    assert_eq!(row("booth").cycle().0, booth.cycle_s.value);
    assert_eq!(Some(row("booth").robots), booth.robots);
    assert!(row("booth").robots > 0 && row("booth").robots == paint.robots);
    // the plan shows where the cycle comes from
    let rate = plan(&book).unwrap();
    let figure = &rate.figures["station.booth.work"];
    assert!(figure.title.contains("base"), "{}", figure.title);
}

#[test]
fn a_measured_cell_wins() {
    let measured = PAINTED
        .replace("booth,paint,1,,,,", "booth,paint,1,555,,,")
        .replace("look,paint,1,,,sort,", "look,paint,1,,0.8,sort,");
    let book = book(&measured);
    let worked = work::of(&book).unwrap();
    let booth = &worked.book.stations[1];
    assert_eq!((booth.cycle().0, booth.robots), (555.0, 0));
    let paint = paint(&book).unwrap();
    assert!(paint.repairs.measured && paint.repairs.first_time_ok.value == 0.8);
}

#[test]
fn chain_and_requirement_see_the_same_repairs() {
    let paint = paint(&book(PAINTED)).unwrap();
    assert!(
        paint
            .notes
            .iter()
            .all(|note| note.code != "repairs/routed-apart")
    );
    let apart = PAINTED.replace("again,0.2,1", "again,0.1,1");
    let paint = super::paint(&book(&apart)).unwrap();
    let note = paint
        .notes
        .iter()
        .find(|n| n.code == "repairs/routed-apart");
    assert!(
        note.is_some_and(|note| note.row == Some(3)),
        "{:?}",
        paint.notes
    );
}

/// The run of the plant, which knows nothing of chains.
#[test]
fn the_flow_loads_booth_and_bays_as_the_plan_says() {
    let book = book(PAINTED);
    let paint = paint(&book).unwrap();
    let built = network::build(&book).unwrap();
    let settings = RunSettings {
        replications: 24,
        weeks: 4,
        warm_up_h: Some(48.0),
        trials: 0,
        ..RunSettings::USUAL
    };
    let (_, run) = measure::outcome(&built, &settings, false, &Watch::none())
        .ok()
        .unwrap();
    let rate = |name: &str| {
        let station = run.stations.iter().find(|row| row.name == name).unwrap();
        (station.done_per_h.mean, station.working.mean)
    };
    let good = rate("trim").0;
    let near = |a: f64, b: f64, within: f64| assert!((a - b).abs() < within, "{a}, not {b}");
    near(rate("booth").0 / good, paint.steps[0].passes, 0.01);
    near(rate("spot").0 / good, paint.repairs.ways[0].visits, 0.01);
    near(rate("again").0 / good, paint.repairs.ways[1].visits, 0.005);
    // the run is at the rate of its bottleneck, loads go with it
    let faster = good * 168.0 / 700.0;
    near(rate("spot").1 / faster, paint.repairs.ways[0].load, 0.02);
}

#[test]
fn another_rate_changes_speeds_and_robots() {
    let book = book(PAINTED);
    let (slow, fast) = (
        paint_at(&book, Some(PerWeek(350.0))).unwrap(),
        paint_at(&book, Some(PerWeek(1400.0))).unwrap(),
    );
    assert!(fast.steps[0].speed_m_min > 3.9 * slow.steps[0].speed_m_min);
    assert!(fast.robots > slow.robots);
}

#[test]
fn a_book_without_coats_says_what_to_give() {
    let bare = book(crate::sample::SMALL_PLANT);
    let problems = paint(&bare).unwrap_err();
    assert_eq!(problems[0].code, "coats/none");
    assert!(screens(&bare).is_empty());
}

#[test]
fn what_is_broken_is_a_note_of_the_check() {
    let short = PAINTED.replace("cure,2,oven,,1800", "cure,2,oven,,1200");
    let found = screens(&book(&short));
    let note = found
        .iter()
        .find(|p| p.code == "coats/oven-too-short")
        .unwrap();
    assert_eq!(note.severity, Severity::Note);
}
