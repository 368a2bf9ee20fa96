use std::collections::BTreeMap;

use flow::model::{LotRule, Work};

use super::*;
use crate::findings::{RunSettings, find};
use crate::network;
use crate::sample::{SMALL_PLANT, book};

fn planned(book: &Book) -> Press {
    match press(book, &Watch::none()) {
        Ok(press) => press,
        Err(problems) => panic!("{problems:?}"),
    }
}

fn lots_of(book: &Book) -> BTreeMap<(String, String), (u32, bool)> {
    let built = network::build(book).unwrap();
    let lots = built.lots.into_iter();
    lots.map(|lot| ((lot.part, lot.line), (lot.lot.pieces, lot.lot.given)))
        .collect()
}

#[test]
fn the_cover_limit_is_what_the_target_leaves_after_the_way_and_the_safety_stocks() {
    let press = planned(&book(SMALL_PLANT));
    assert!(press.after_days > 0.0 && press.after_days < press.target_days);
    for lot in &press.lots {
        let working = &press.figures[&lot.most_days.figure].working;
        let left = working.result("left").unwrap();
        let sum: f64 = ["after", "blank_safety", "panel_safety"]
            .iter()
            .map(|symbol| {
                let input = working.inputs.iter().find(|term| term.symbol == *symbol);
                input.and_then(|term| term.value.number()).unwrap()
            })
            .sum();
        assert!((left + sum - press.target_days).abs() < 1e-9);
        assert!(lot.longest_days <= lot.most_days.value + 1e-9);
    }
}

#[test]
fn empty_lots_stay_half_a_day_until_the_plant_takes_them_from_the_timetable() {
    let mut plant = book(SMALL_PLANT);
    for part in &mut plant.parts {
        (part.lot, part.blank_lot, part.stock, part.blank_stock) = (None, None, None, None);
    }
    let usual = lots_of(&plant);
    let press = planned(&plant);
    plant.plant.lots_from_timetable.value = true;
    let driven = lots_of(&plant);
    assert_ne!(usual, driven);
    for lot in &press.lots {
        // a part's blanks and panels are made on different lines
        let row = |name: &str| {
            plant
                .press_lines
                .iter()
                .find(|row| name.starts_with(&row.press_line))
        };
        let at = row(&lot.line).map(|row| row.at);
        let mut here = driven
            .iter()
            .filter(|((part, line), _)| *part == lot.part && row(line).map(|row| row.at) == at);
        let (_, figure) = here.next().unwrap();
        assert_eq!(*figure, (lot.lot.ceil() as u32, false), "{}", lot.part);
    }
    // The rate plan speaks of the same lots.
    let plan = plan::plan(&plant).unwrap();
    for run in plan.press_lines.iter().flat_map(|line| &line.runs) {
        let lot = press
            .lots
            .iter()
            .find(|l| l.part == run.part && l.blanks == run.blanks);
        assert_eq!(run.lot.value, lot.unwrap().lot.ceil());
    }
}

#[test]
fn a_lot_that_the_book_gives_is_kept_even_then() {
    let mut plant = book(SMALL_PLANT);
    for part in &mut plant.parts {
        part.lot = Some(40);
        part.blank_lot = None;
        part.blank_stock = None;
        part.stock = Some(400);
    }
    plant.plant.lots_from_timetable.value = true;
    let press_of = |part: &str| {
        let row = plant.parts.iter().find(|row| row.part == part).unwrap();
        row.press_line.clone()
    };
    for ((part, line), (pieces, given)) in lots_of(&plant) {
        if press_of(&part) == Some(line) {
            assert_eq!((pieces, given), (40, true), "{part}");
        }
    }
}

#[test]
fn the_lines_make_the_timetables_lots_in_its_order() {
    let plant = by_timetable(&without_places(book(SMALL_PLANT)));
    let press = planned(&plant);
    let built = network::build(&plant).unwrap();
    for line in &press.lines {
        let station = built.network.stations.iter().find(|s| s.name == line.line);
        let Work::Lots(lots) = &station.unwrap().work else {
            panic!("{} makes no lots", line.line)
        };
        let LotRule::InOrder(turns) = &lots.rule else {
            panic!("{} follows no timetable", line.line)
        };
        let told: Vec<(&str, u32)> = turns
            .iter()
            .map(|turn| (lots.items[turn.item as usize].name.as_str(), turn.lot))
            .collect();
        let planned: Vec<(&str, u32)> = line
            .cycle
            .iter()
            .map(|lot| (lot.part.as_str(), lot.lot.ceil() as u32))
            .collect();
        assert_eq!(told, planned, "{}", line.line);
    }
}

#[test]
fn stocks_begin_where_the_timetable_has_them_so_that_lots_come_due_one_by_one() {
    let plant = by_timetable(&without_places(book(SMALL_PLANT)));
    let press = planned(&plant);
    let built = network::build(&plant).unwrap();
    for line in &press.lines {
        let station = built.network.stations.iter().find(|s| s.name == line.line);
        let Work::Lots(lots) = &station.unwrap().work else {
            panic!("{} makes no lots", line.line)
        };
        let mut first: Vec<(&str, f64, f64)> = Vec::new();
        for lot in &line.cycle {
            if first.iter().all(|(part, ..)| *part != lot.part) {
                let item = lots
                    .items
                    .iter()
                    .find(|item| item.name == lot.part)
                    .unwrap();
                let above = f64::from(item.at_start) - f64::from(item.start_below);
                let used = built
                    .lots
                    .iter()
                    .find(|l| l.part == lot.part && l.line == line.line);
                let days = above.max(0.0) / used.unwrap().used_per_week * 7.0;
                first.push((&lot.part, lot.start_day, days));
            }
        }
        // The later a part's first lot, the longer its stock lasts at the start.
        for pair in first.windows(2) {
            let rounding = 7.0 * 2.0 / 500.0;
            assert!(
                pair[0].2 <= pair[1].2 + rounding,
                "{}: {first:?}",
                line.line
            );
        }
    }
}

#[test]
fn a_part_goes_to_another_line_that_its_dies_fit_where_its_own_lacks_hours() {
    let mut plant = without_places(book(SMALL_PLANT));
    let mut other = plant.press_lines[1].clone();
    other.press_line = "old press".into();
    other.units = 1;
    other.at.row += 1;
    plant.press_lines.push(other);
    // 500 roofs at 7.8 an hour and 1,000 inners at 72 an hour are 78 hours and
    // the stops, without a changeover, of 80.
    plant.press_lines[1].units = 1;
    plant.parts[0].products.clear();
    plant.parts[0].strokes_per_min = Some(0.13);
    plant.parts[1].strokes_per_min = Some(0.6);
    let alone = planned(&plant);
    assert!(!alone.overload.is_empty(), "the press lacks hours");
    for part in &mut plant.parts {
        part.press_lines_too = vec!["old press".into()];
    }
    let plant = by_timetable(&plant);
    let shared = planned(&plant);
    assert!(shared.holds, "{:?}", shared.notes);
    let moved: Vec<&PartLots> = shared.lots.iter().filter(|lot| !lot.own_line).collect();
    assert!(!moved.is_empty());
    assert!(
        shared
            .notes
            .iter()
            .any(|note| note.code == "parts/other-line")
    );
    let built = network::build(&plant).unwrap();
    for lot in moved {
        assert_eq!(lot.line, "old press");
        let there = |l: &&network::LotPlan| l.part == lot.part && l.line == "old press";
        assert!(built.lots.iter().any(|l| there(&l)), "{}", lot.part);
    }
    let plan = plan::plan(&plant).unwrap();
    let line = |name: &str| {
        plan.press_lines
            .iter()
            .find(|line| line.press_line == name)
            .unwrap()
    };
    assert!(!line("old press").runs.is_empty(), "the plan says so too");
}

#[test]
fn a_car_waits_for_its_oldest_panel_so_longer_lots_make_it_older() {
    // Lots of the roof and the inner cover a tenth of a day, then a whole day,
    // and their stocks start lots as early in both.
    let made = |days: f64| {
        let mut plant = without_places(book(SMALL_PLANT));
        for part in &mut plant.parts {
            let daily = 100.0 * f64::from(part.per_car);
            if part.press_line.is_some() {
                part.lot = Some((days * daily) as u32);
                part.start_below = Some(30 * part.per_car);
            }
        }
        let settings = RunSettings {
            replications: 4,
            weeks: 4,
            trials: 0,
            ..RunSettings::USUAL
        };
        find(&plant, &settings, &flow::Watch::none()).unwrap()
    };
    let (short, long) = (made(0.1), made(1.0));
    let grown = long.coil_to_car.p50.mean - short.coil_to_car.p50.mean;
    // The mean panel of a lot of a whole day is 0.45 working days older than
    // one of a tenth, the oldest of a car's panels at most 0.9; a week has
    // five working days of seven.
    assert!(grown > 0.2, "{grown}");
    assert!(grown < 0.9 * 7.0 / 5.0 + 0.2, "{grown}");
}

/// The plant with no lots and places given.
fn without_places(mut plant: Book) -> Book {
    for part in &mut plant.parts {
        (part.lot, part.blank_lot) = (None, None);
        (part.stock, part.blank_stock) = (None, None);
    }
    plant
}

#[test]
fn the_variant_by_timetable_differs_in_lots_alone() {
    let plant = book(SMALL_PLANT);
    let mut back = by_timetable(&plant);
    assert!(back.plant.lots_from_timetable.value);
    assert!(
        back.parts
            .iter()
            .all(|p| p.lot.is_none() && p.blank_lot.is_none())
    );
    back.plant.lots_from_timetable = plant.plant.lots_from_timetable.clone();
    for (part, row) in back.parts.iter_mut().zip(&plant.parts) {
        (part.lot, part.blank_lot) = (row.lot, row.blank_lot);
    }
    assert_eq!(back, plant);
}

#[test]
fn a_target_too_short_for_any_lot_is_refused_with_the_target_that_would_do() {
    let mut plant = book(SMALL_PLANT);
    plant.plant.coil_to_car_target_days.value = Days(0.1);
    let problems = press(&plant, &Watch::none()).unwrap_err();
    assert!(
        problems.iter().all(|p| p.code == "parts/no-cover-left"),
        "{problems:?}"
    );
    assert!(
        problems[0]
            .expected
            .contains("coil_to_car_target_days above")
    );
}
