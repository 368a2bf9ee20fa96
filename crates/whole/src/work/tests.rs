use book::Severity;

use super::*;
use crate::network;
use crate::plan;
use crate::sample::book;

/// Two stations of a line whose second has no cycle of its own.
const LINE: &str = "
    [shifts]
    shop,shift,days,start,end
    assembly,day,mon-fri,06:00,22:00
    [products]
    product,cars_per_week
    short,600
    long,400
    [options]
    option,product,share
    hook,,0.25
    [stations]
    station,shop,line,cycle_s,heads
    hang,assembly,trim,200,2
    fit,assembly,trim,,
    [links]
    from,to,holds
    hang,fit,3
    [tasks]
    task,shop,line,product,option,hand_s,after,station
    lay carpet,assembly,trim,,,100,,fit
    fit belts,assembly,trim,,,50,lay carpet,fit
    long rail,assembly,trim,long,,40,,fit
    fit hook,assembly,trim,,hook,30,,fit
";

fn near(a: f64, b: f64) -> bool {
    (a - b).abs() < 1e-6
}

fn cycles(book: &Book, station: &str) -> Vec<(String, f64)> {
    let worked = of(book).unwrap();
    let rows = worked
        .book
        .cycles
        .iter()
        .filter(|row| row.station == station);
    rows.map(|row| {
        let car = [&row.product, &row.option];
        let car: Vec<&str> = car.into_iter().filter_map(|own| own.as_deref()).collect();
        (car.join("+"), row.cycle_s.0)
    })
    .collect()
}

#[test]
fn a_station_without_a_cycle_takes_as_long_as_the_tasks_that_name_it() {
    let book = book(LINE);
    let plan = plan::plan(&book).unwrap();
    let fit = plan
        .stations
        .iter()
        .find(|row| row.station == "fit")
        .unwrap();
    // 150 s for all, 40 s for the long ones' 0.4, 30 s for the hook's 0.25
    assert!(
        near(fit.cycle_s.value, 150.0 + 16.0 + 7.5),
        "{}",
        fit.cycle_s.value
    );
    let hang = plan.stations.iter().find(|row| row.station == "hang");
    assert!(
        near(hang.unwrap().cycle_s.value, 200.0),
        "measured ones stand"
    );
}

#[test]
fn products_and_options_have_cycles_of_their_own_as_in_the_table() {
    let found = cycles(&book(LINE), "fit");
    let expected = [
        ("short", 150.0),
        ("short+hook", 180.0),
        ("long", 190.0),
        ("long+hook", 220.0),
    ];
    for (car, seconds) in expected {
        let own = found.iter().find(|(name, _)| name == car);
        assert!(near(own.unwrap().1, seconds), "{car} of {found:?}");
    }
}

#[test]
fn an_option_that_hardly_matters_makes_no_class_of_cars() {
    // 5 s of 150 s is a thirtieth
    let found = cycles(&book(&LINE.replace("hook,30", "hook,5")), "fit");
    assert!(
        found.iter().all(|(car, _)| !car.contains("hook")),
        "{found:?}"
    );
    assert!(near(found[0].1, 151.25), "its share of the seconds stays");
}

#[test]
fn a_measured_cycle_of_a_product_or_option_wins() {
    let text = LINE.replace(
        "[links]",
        "[cycles]\n station,product,option,cycle_s\n fit,,hook,171\n fit,long,,199\n [links]",
    );
    let found = cycles(&book(&text), "fit");
    let names: Vec<&str> = found.iter().map(|(car, _)| car.as_str()).collect();
    assert_eq!(
        names,
        ["hook", "long", "short"],
        "only the short car's is added"
    );
}

#[test]
fn the_people_are_those_of_the_posts_unless_the_book_has_them() {
    let people = |text: &str| {
        let book = book(text);
        let plan = plan::plan(&book).unwrap();
        plan.shops[0].positions.as_ref().unwrap().value
    };
    assert!(near(people(LINE), 3.0), "two at hang and one at fit");
    assert!(near(people(&LINE.replace("trim,,\n", "trim,,4\n")), 6.0));
}

#[test]
fn the_working_names_the_tasks_that_the_cycle_comes_from() {
    let plan = plan::plan(&book(LINE)).unwrap();
    let work = &plan.figures["station.fit.work"];
    assert!(near(work.value, 173.5), "{}", work.value);
    for task in ["lay carpet", "fit belts", "long rail", "fit hook"] {
        assert!(work.title.contains(task), "{}", work.title);
    }
    let cells = format!("{:?}", work.working);
    assert!(
        cells.contains("tasks") && cells.contains("hand_s"),
        "{cells}"
    );
    // products and options lead the mean to the cells of their tasks
    let mean = format!("{:?}", plan.figures["station.fit.cycle"].working);
    assert!(mean.contains("hand_s"), "{mean}");
}

#[test]
fn a_task_moved_or_with_other_seconds_changes_plan_and_run() {
    let seen = |text: &str| {
        let book = book(text);
        let plan = plan::plan(&book).unwrap();
        let built = network::build(&book).unwrap();
        let load = |name: &str| {
            let row = plan.stations.iter().find(|row| row.station == name);
            row.unwrap().load.value
        };
        let run = format!("{:?}", built.network.stations[1].work);
        (load("fit"), run)
    };
    let before = seen(LINE);
    let longer = seen(&LINE.replace(
        "fit belts,assembly,trim,,,50",
        "fit belts,assembly,trim,,,80",
    ));
    assert!(longer.0 > before.0 && longer.1 != before.1);
    let moved = seen(&LINE.replace("50,lay carpet,fit", "50,lay carpet,hang"));
    assert!(moved.0 < before.0 && moved.1 != before.1);
}

#[test]
fn where_no_task_has_a_station_the_balance_fills_the_empty_rows_in_order() {
    // 230 s a car of takt 288 s, 92 % of it for work: 200 s and 150 s need two
    let text = LINE
        .replace("hang,assembly,trim,200,2", "hang,assembly,trim,,")
        .replace(
            "long rail,assembly,trim,long,,40,,fit",
            "long rail,assembly,trim,,,200,,",
        )
        .replace("fit hook,assembly,trim,,hook,30,,fit", "")
        .replace(",fit\n", ",\n")
        .replace("hang,\n", "hang,fit,3\n");
    let book = book(&text);
    assert!(book.tasks.iter().all(|task| task.station.is_none()));
    let worked = of(&book).unwrap();
    let cycles: Vec<f64> = worked
        .book
        .stations
        .iter()
        .map(|row| row.cycle().0)
        .collect();
    assert!(near(cycles.iter().sum(), 350.0), "{cycles:?}");
    assert!(cycles.iter().all(|cycle| *cycle > 0.0 && *cycle <= 264.96));
    // one station fewer than the balance needs is told, with how many more
    let short = Book {
        stations: vec![book.stations[0].clone()],
        links: Vec::new(),
        ..book
    };
    let problems = of(&short).err().unwrap();
    assert!(
        problems[0].code.ends_with("too-few-stations"),
        "{problems:?}"
    );
    assert!(problems[0].mend.contains("add 1"), "{}", problems[0].mend);
}

#[test]
fn a_station_that_waits_for_tasks_it_does_not_have_is_noted() {
    let text = LINE.replace(
        "fit,assembly,trim,,\n",
        "fit,assembly,trim,,\n    look,assembly,trim,,\n",
    );
    let text = text.replace("hang,fit,3", "hang,fit,3\n    fit,look,3");
    let worked_notes = of(&book(&text)).unwrap().notes;
    assert!(
        worked_notes[0].code.ends_with("no-work"),
        "{worked_notes:?}"
    );
    assert_eq!(worked_notes[0].severity, Severity::Note);
}
