use std::sync::atomic::AtomicBool;

use super::*;
use crate::sample::{SMALL_PLANT, book};

fn planned(book: &Book) -> Assembly {
    match assembly(book, &Watch::none()) {
        Ok(plan) => plan,
        Err(problems) => panic!("{problems:?}"),
    }
}

fn with_tasks() -> Book {
    book(&format!(
        "{SMALL_PLANT}
        [tasks]
        task,shop,hand_s,after,station
        lay carpet,assembly,200,,trim
        fit belts,assembly,150,lay carpet,trim
        hang doors,assembly,300,,doors on"
    ))
}

#[test]
fn a_line_s_takt_is_that_of_the_rate_plan_at_its_stations() {
    let book = with_tasks();
    let plan = planned(&book);
    let rate = plan::plan(&book).unwrap();
    let shop = rate
        .shops
        .iter()
        .find(|shop| shop.shop == "assembly")
        .unwrap();
    let trim = rate
        .stations
        .iter()
        .find(|row| row.station == "trim")
        .unwrap();
    let takt = shop.net_time_h.value * 3_600.0 / trim.jobs.value;
    assert!((plan.lines[0].takt_s.value - takt).abs() < 1e-6);
    assert!(plan.holds && plan.lines[0].proven);
    assert!(plan.lines[0].again.as_ref().unwrap().moves.is_empty());
}

#[test]
fn more_cars_never_need_fewer_stations_and_say_what_moves() {
    let mut book = with_tasks();
    let few = planned(&book).lines[0].stations.len();
    for product in &mut book.products {
        product.cars_per_week.0 *= 0.6;
    }
    let fewer = planned(&book).lines[0].stations.len();
    assert!(fewer <= few, "{fewer} {few}");
}

#[test]
fn a_measured_cycle_far_from_its_tasks_and_a_task_that_nobody_can_do_are_told_before_any_balance() {
    let mut book = with_tasks();
    let row = book
        .stations
        .iter_mut()
        .find(|row| row.station == "trim")
        .unwrap();
    row.cycle_s = Some(units::Seconds(1_000.0));
    // The small plant's own `doors on` is measured at 360 s for 300 s of tasks.
    let notes = screens(&book);
    assert_eq!(notes.len(), 2, "{notes:?}");
    assert!(
        notes
            .iter()
            .all(|note| note.code == "stations/measured-apart")
    );
    assert!(
        notes[0].found.contains("1000 s at `trim`"),
        "{}",
        notes[0].found
    );
    book.tasks[0].hand_s = None;
    assert!(screens(&book).iter().any(|p| p.code == "tasks/no-time"));
}

#[test]
fn rules_of_place_that_contradict_are_told_by_the_check_with_row_and_way_out() {
    let mut book = with_tasks();
    assert!(!screens(&book).iter().any(|p| p.severity == Severity::Error));
    book.tasks[0].same_station = vec!["fit belts".into()];
    book.tasks[1].other_station = vec!["lay carpet".into()];
    let found = screens(&book);
    let told = found.iter().find(|p| p.code == "tasks/zones-contradict");
    let told = told.unwrap();
    assert_eq!(told.row, Some(book.tasks[1].at.row));
    assert_eq!(told.column.as_deref(), Some("other_station"));
    assert!(told.mend.contains("take `lay carpet` out"), "{}", told.mend);
}

#[test]
fn whoever_asks_for_a_budget_hears_of_every_line_and_a_cancel_ends_it_soon() {
    let book = with_tasks();
    let own = planned(&book).cost_per_year;
    let looks = |cancel: bool| {
        let seen = std::sync::Mutex::new(Vec::new());
        let told = |at: &Looking| seen.lock().unwrap().push(at.clone());
        let found = within_budget(&book, own, &AtomicBool::new(cancel), &told).unwrap();
        (found, seen.into_inner().unwrap())
    };
    let (found, seen) = looks(false);
    assert!(found.cost_per_year <= own);
    assert!(seen.windows(2).all(|two| two[0].done <= two[1].done));
    assert!(seen.iter().all(|at| at.done <= at.of));
    let last = seen.last().unwrap();
    assert_eq!(last.seen[0].cars, found.asked.cars);
    assert!(last.done as usize > last.seen.len());
    let (_, seen) = looks(true);
    assert!(seen.last().unwrap().seen.len() < 4, "{seen:?}");
}
