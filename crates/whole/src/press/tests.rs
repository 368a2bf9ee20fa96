use std::collections::BTreeMap;

use super::*;
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
fn the_variant_with_the_timetables_lots_differs_in_lots_alone() {
    let plant = book(SMALL_PLANT);
    let press = planned(&plant);
    let variant = with_lots(&plant, &press);
    let mut back = variant.clone();
    for (part, row) in back.parts.iter_mut().zip(&plant.parts) {
        (part.lot, part.blank_lot) = (row.lot, row.blank_lot);
    }
    assert_eq!(back, plant);
    for lot in press.lots.iter().filter(|lot| !lot.blanks) {
        let part = variant
            .parts
            .iter()
            .find(|part| part.part == lot.part)
            .unwrap();
        assert_eq!(f64::from(part.lot.unwrap()), lot.lot.ceil());
    }
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
