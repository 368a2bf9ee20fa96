use book::{Book, Carrier, Charging, Supply};
use formulas::Sourced;
use proptest::prelude::*;
use units::{Metres, Share};

use super::*;

fn near(a: f64, b: f64, within: f64) -> bool {
    (a - b).abs() <= within
}

/// A row as the schema fills it where the book says nothing.
fn carrier(name: &str) -> Carrier {
    Carrier {
        carrier: name.into(),
        count: 30,
        taken_at: "load".into(),
        returned_at: "unload".into(),
        availability: Share(1.0),
        battery_min: Minutes(480.0),
        charge_min: Minutes(80.0),
        ..Carrier::default()
    }
}

fn supply(name: &str) -> Supply {
    Supply {
        supply: name.into(),
        fleet: "supply carts".into(),
        availability: Share(0.95),
        ..Supply::default()
    }
}

/// 24 stations at a takt of 237.6 s: 880 min a day over 222.2 cars.
fn need() -> LoopNeed {
    LoopNeed {
        carrier: 0,
        jobs: Sourced::from(Count(1_000.0)),
        net: Sourced::from(Minutes(3_960.0)),
        stations: Sourced::from(Count(24.0)),
        moves: Sourced::from(Seconds(0.0)),
    }
}

fn plan(book: &Book, loops: &[LoopNeed]) -> Result<CartPlan, Vec<Problem>> {
    let cars = vec![None; book.supplies.len()];
    carts(&Question {
        book,
        loops,
        cars: &cars,
        stores: &[],
    })
}

/// The line of the check `asm-carts`: 120 m back at 40 m/min, two minutes of
/// transfer, 95 % fit.
fn moving_line() -> Book {
    let mut book = Book::default();
    book.carriers.push(Carrier {
        loop_m: Some(Metres(120.0)),
        speed_m_min: Some(40.0),
        load_s: Seconds(60.0),
        unload_s: Seconds(60.0),
        availability: Share(0.95),
        pitch_m: Some(Metres(6.5)),
        ..carrier("cart")
    });
    book
}

#[test]
fn carts_of_a_moving_line_are_those_under_its_stations_and_those_on_their_way() {
    // 24 stations of 6.5 m at 237.6 s, 3 min back and 2 min transfer, 95 %:
    // 1.64141 m/min and 27 carts (computed by Little's law)
    let plan = plan(&moving_line(), &[need()]).unwrap();
    let fleet = &plan.loops[0];
    assert!(near(fleet.speed_m_min.value, 1.641_41, 5e-6));
    assert_eq!((fleet.on_line, fleet.needed.value), (24.0, 27.0));
    assert!(near(fleet.way_back_s + fleet.travel_s, 300.0, 1e-9));
    assert!(plan.holds && fleet.starved.is_none());
    let figure = &plan.figures[&fleet.needed.figure];
    assert_eq!(figure.value, 27.0);
    assert!(figure.working.to_string().contains("availability"));
}

#[test]
fn forty_deliveries_an_hour_keep_four_supply_carts() {
    // Groover, Automation, Production Systems, and Computer-Integrated
    // Manufacturing, worked example (from memory): 110 m loaded, 80 m empty at
    // 50 m/min, 0.75 and 0.50 min, 0.95 and 0.95: 5.05 min, 202 min/h, 3.73, 4
    let mut book = Book::default();
    book.supplies.push(Supply {
        loads_per_hour: Some(40.0),
        loaded_m: Metres(110.0),
        empty_m: Some(Metres(80.0)),
        speed_m_min: 50.0,
        load_min: Minutes(0.75),
        unload_min: Minutes(0.5),
        traffic: Some(Share(0.95)),
        ..supply("parts")
    });
    let plan = plan(&book, &[]).unwrap();
    let fleet = &plan.supplies[0];
    assert!(near(fleet.runs[0].cycle_min.value, 5.05, 1e-9));
    assert!(near(fleet.workload_min, 202.0, 1e-9) && near(fleet.exact, 3.73, 5e-3));
    assert_eq!(fleet.needed.as_ref().unwrap().value, 4.0);
    assert!(fleet.crowding.is_none());
}

#[test]
fn thirty_deliveries_an_hour_at_a_metre_a_second_keep_four() {
    // class problem after Groover (computed): 200 m loaded, 150 m empty at
    // 1 m/s, 24 s each, 0.95 and 0.90: 6.633 min, 3.879, 4
    let mut book = Book::default();
    book.supplies.push(Supply {
        loads_per_hour: Some(30.0),
        loaded_m: Metres(200.0),
        empty_m: Some(Metres(150.0)),
        speed_m_min: 60.0,
        load_min: Minutes(0.4),
        unload_min: Minutes(0.4),
        traffic: Some(Share(0.9)),
        ..supply("parts")
    });
    let plan = plan(&book, &[]).unwrap();
    let fleet = &plan.supplies[0];
    assert!(near(fleet.runs[0].cycle_min.value, 6.633_33, 5e-6));
    assert!(near(fleet.exact, 3.879, 5e-4));
    assert_eq!(fleet.needed.as_ref().unwrap().value, 4.0);
}

fn crowded(loads: f64) -> SupplyFleet {
    let mut book = Book::default();
    book.supplies.push(Supply {
        loads_per_hour: Some(loads),
        loaded_m: Metres(110.0),
        empty_m: Some(Metres(80.0)),
        speed_m_min: 50.0,
        load_min: Minutes(0.75),
        unload_min: Minutes(0.5),
        traffic_loss: Share(0.05),
        carts: Some(10),
        ..supply("parts")
    });
    plan(&book, &[]).unwrap().supplies.remove(0)
}

#[test]
fn traffic_that_falls_by_a_twentieth_a_cart_does_most_with_ten() {
    // 1 - 0.05 (n - 1) peaks at 10, with the work of 5.5 carts (arithmetic)
    let few = crowded(40.0);
    let crowding = few.crowding.as_ref().unwrap();
    assert_eq!(
        few.needed.as_ref().unwrap().value,
        5.0,
        "3.54 carts of work"
    );
    assert_eq!(crowding.most_at, 10);
    assert!(near(crowding.most, 5.5, 1e-9) && near(crowding.traffic, 0.8, 1e-9));
    let many = crowded(80.0);
    assert!(many.needed.is_none() && many.over);
    let mend = many.mend.unwrap();
    assert!(
        mend.contains("7.09") && mend.contains("10 do most"),
        "{mend}"
    );
}

#[test]
fn runs_that_share_a_fleet_share_its_carts() {
    let mut book = Book::default();
    for name in ["seats", "glass"] {
        book.supplies.push(Supply {
            loads_per_hour: Some(10.0),
            loaded_m: Metres(100.0),
            speed_m_min: 50.0,
            load_min: Minutes(1.0),
            unload_min: Minutes(1.0),
            availability: Share(1.0),
            traffic: Some(Share(1.0)),
            ..supply(name)
        });
    }
    let fleets = plan(&book, &[]).unwrap().supplies;
    // 6 min each, twice ten an hour: two carts, not one and one and none
    assert_eq!((fleets.len(), fleets[0].runs.len()), (1, 2));
    assert_eq!(fleets[0].needed.as_ref().unwrap().value, 2.0);
}

#[test]
fn charging_as_it_stands_takes_fewer_carts_than_charging_away() {
    let needed = |charging: Charging, charge_min: f64| {
        let mut book = moving_line();
        book.carriers[0].charging = charging;
        book.carriers[0].charge_min = Minutes(charge_min);
        book.carriers[0].load_s = Seconds(600.0);
        plan(&book, &[need()]).unwrap().loops.remove(0)
    };
    let none = needed(Charging::None, 80.0);
    let swap = needed(Charging::Swap, 8.0);
    let standing = needed(Charging::Opportunity, 80.0);
    let away = needed(Charging::Away, 80.0);
    assert!(none.exact < swap.exact && standing.exact < away.exact);
    // away: 80 min for every 480 at work
    assert!(near(away.charging_share, 80.0 / 560.0, 1e-9));
    assert!(near(away.fit, 0.95 * 480.0 / 560.0, 1e-9));
}

fn refused(change: impl Fn(&mut Carrier)) -> Problem {
    let mut book = moving_line();
    book.carriers[0].at.row = 7;
    change(&mut book.carriers[0]);
    let mut problems = plan(&book, &[need()]).unwrap_err();
    assert_eq!(problems.len(), 1, "{problems:?}");
    assert_eq!(problems[0].row, Some(7));
    problems.remove(0)
}

#[test]
fn a_loop_shorter_than_its_line_is_told_how_long_it_must_be() {
    let problem = refused(|row| row.line_m = Some(Metres(100.0)));
    assert!(problem.code.ends_with("loop-shorter-than-line"));
    assert_eq!(problem.column.as_deref(), Some("line_m"));
    assert!(problem.found.contains("100 m") && problem.expected.contains("156.0 m"));
    assert!(problem.mend.contains("4.17"), "{}", problem.mend);
}

#[test]
fn a_battery_that_does_not_last_a_round_is_refused() {
    let problem = refused(|row| {
        row.charging = Charging::Away;
        row.battery_min = Minutes(60.0);
    });
    assert!(problem.code.ends_with("battery-too-short"));
    assert!(problem.found.contains("60 min"), "{}", problem.found);
}

#[test]
fn charging_that_takes_all_the_time_is_refused() {
    let problem = refused(|row| {
        row.charging = Charging::Away;
        row.charge_min = Minutes(9_000.0);
    });
    assert!(problem.code.ends_with("charging-all-the-time"));
    assert!(problem.found.contains("95 %"), "{}", problem.found);
}

#[test]
fn a_way_back_too_crowded_for_any_number_is_refused_with_the_traffic_that_would_do() {
    let problem = refused(|row| {
        row.loop_m = Some(Metres(2_000.0));
        row.traffic_loss = Share(0.05);
    });
    assert!(problem.code.ends_with("too-crowded"));
    assert!(problem.mend.contains("0.0"), "{}", problem.mend);
}

#[test]
fn fewer_carts_than_stations_starve_the_line_and_say_so() {
    let mut book = moving_line();
    book.carriers[0].count = 20;
    let plan = plan(&book, &[need()]).unwrap();
    let why = plan.loops[0].starved.as_ref().unwrap();
    assert!(
        why.contains("19 of 20") && why.contains("24 places"),
        "{why}"
    );
    assert!(!plan.holds && plan.notes[0].mend.contains("27"));
}

proptest! {
    #[test]
    fn a_longer_way_back_or_thicker_traffic_never_needs_fewer_carts(
        back in 10.0..600.0f64, more in 0.0..300.0f64, loss in 0.0..0.05f64,
    ) {
        let needed = |back: f64, loss: f64| {
            let mut book = moving_line();
            book.carriers[0].loop_m = Some(Metres(back));
            book.carriers[0].traffic_loss = Share(loss);
            plan(&book, &[need()]).map_or(f64::INFINITY, |plan| plan.loops[0].needed.value)
        };
        prop_assert!(needed(back + more, loss) >= needed(back, loss));
        prop_assert!(needed(back, loss) >= needed(back, 0.0));
    }

    #[test]
    fn as_many_as_needed_bring_back_a_cart_every_takt(
        back in 10.0..600.0f64, loss in 0.0..0.05f64, fit in 0.7..1.0f64,
    ) {
        let mut book = moving_line();
        book.carriers[0].loop_m = Some(Metres(back));
        book.carriers[0].traffic_loss = Share(loss);
        book.carriers[0].availability = Share(fit);
        if let Ok(plan) = plan(&book, &[need()]) {
            let fleet = &plan.loops[0];
            let serving = fleet.needed.value * fleet.fit;
            let behind = serving - fleet.on_line - fleet.on_move;
            let traffic = 1.0 - loss * (behind - 1.0).max(0.0);
            prop_assert!(behind * traffic * fleet.takt_s.value >= fleet.way_back_s * (1.0 - 1e-6));
        }
    }
}
