use std::io::Cursor;
use std::sync::atomic::AtomicBool;

use book::Book;
use book::small::book;

use super::super::tests::{PLANT, rehearsed};
use super::super::{Movement, WeekFigure};
use super::*;
use crate::gather::Rules;
use crate::map::LogMap;
use crate::read::Gatherer;

fn plant() -> (Book, Built, Roster) {
    let book = book(PLANT);
    let built = whole::network::build(&book).unwrap();
    let roster = Roster::of(&book, &built, LogMap::default());
    (book, built, roster)
}

/// Rows of states, read.
fn gathered(text: String, roster: &Roster) -> Log {
    let rules = Rules {
        merge: 0,
        short: 0,
        keep: None,
    };
    let mut gatherer = Gatherer::new(roster, rules);
    let rows = Cursor::new(text.into_bytes());
    gatherer
        .read("states.csv", rows, &AtomicBool::new(false))
        .unwrap();
    gatherer.finish()
}

/// A week's figures that the book speaks of, with what it says.
fn told(drift: &Drift, week: &Week) -> Vec<(WeekFigure, Span, f64)> {
    let of = |figure, span: Option<Span>| {
        let mut courses = drift.courses.iter();
        let own = |course: &&Course| course.station == week.station && course.figure == figure;
        let book = courses.find(own).and_then(|course| course.book);
        span.zip(book).map(|(span, book)| (figure, span, book))
    };
    [
        of(WeekFigure::MtbfMin, week.spans.mtbf_min),
        of(WeekFigure::RepairMin, week.spans.repair_min),
        of(WeekFigure::CycleRatio, week.spans.cycle_ratio),
        of(WeekFigure::FirstTimeOk, week.spans.first_time_ok),
    ]
    .into_iter()
    .flatten()
    .collect()
}

#[test]
fn weeks_of_a_plant_that_stays_the_same_hold_the_truth_and_do_not_move() {
    let (_, built, roster) = plant();
    let (mut inside, mut all, mut moved, mut courses) = (0, 0, 0, 0);
    for seed in 1..=5 {
        let drift = drift(&rehearsed(PLANT, seed, 6), &roster, &built);
        assert_eq!(drift.weeks.len(), 4 * 6);
        for week in &drift.weeks {
            for (figure, span, book) in told(&drift, week) {
                let sure = span.high - span.low < 1e-5 || book >= 1.0 && span.value >= 1.0;
                if figure == WeekFigure::FirstTimeOk && sure || week.station == "pack" && sure {
                    continue;
                }
                all += 1;
                inside += usize::from(span.holds(book));
            }
        }
        let moves =
            |course: &&Course| !matches!(course.movement, Movement::Steady | Movement::Open);
        courses += drift.courses.len();
        moved += drift.courses.iter().filter(moves).count();
    }
    let share = inside as f64 / all as f64;
    assert!(
        all >= 200 && (0.92..=0.98).contains(&share),
        "{inside} of {all}"
    );
    assert!(
        courses >= 60 && moved * 20 <= courses,
        "{moved} of {courses}"
    );
}

#[test]
fn a_station_that_slows_week_by_week_is_said_to_and_one_that_does_not_is_steady() {
    let (_, built, roster) = plant();
    let mut text = "station,from,to,state,product,item\n".to_owned();
    // Mondays of four weeks; a cycle of 90 s that takes 3 s more each week,
    // and one of 210 s that stays.
    for (week, monday) in [2, 9, 16, 23].into_iter().enumerate() {
        for day in monday..monday + 5 {
            for (station, cycle) in [("pack", 90 + 3 * week), ("trim", 210)] {
                for job in 0..40 {
                    let from = 7 * 3_600 + job * 300;
                    let to = from + cycle + job % 3;
                    let stamp = |s: usize| {
                        let (h, m, s) = (s / 3_600, s / 60 % 60, s % 60);
                        format!("2026-03-{day:02}T{h:02}:{m:02}:{s:02}")
                    };
                    let (from, to) = (stamp(from), stamp(to));
                    text += &format!("{station},{from},{to},working,van,{station} {day} {job}\n");
                }
            }
        }
    }
    let drift = drift(&gathered(text, &roster), &roster, &built);
    let movement = |station: &str| {
        let mut courses = drift.courses.iter();
        let own =
            |course: &&Course| course.station == station && course.figure == WeekFigure::CycleRatio;
        courses.find(own).map(|course| course.movement)
    };
    assert_eq!(movement("pack"), Some(Movement::Rises));
    assert_eq!(movement("trim"), Some(Movement::Steady));
    let never_stopped = drift.weeks[0].spans.mtbf_min.unwrap();
    assert!(never_stopped.value.is_infinite() && never_stopped.low > 0.0);
}
