//! Examples that handbooks and papers print, typed in with their source.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test that cannot go on stops where it stands"
)]

use balance::cell::{Cell, Job, OpenTime, plan_cell, timed};
use balance::line::{
    Dense, Line, Model, Side, balance_line, broken_rules, drift, given_station, post_ends,
    worst_run,
};
use balance::{Limits, Watch, Work, fewest_stations, least_takt};

const LIMITS: Limits = Limits {
    memory_mb: 50,
    steps: None,
};

/// Groover, Automation, Production Systems, and Computer-Integrated
/// Manufacturing, the twelve-element line (from memory): hundredths of a
/// minute; elements numbered from 1.
fn twelve_elements() -> Work {
    let after: [&[usize]; 12] = [
        &[],
        &[],
        &[1],
        &[1, 2],
        &[2],
        &[3],
        &[3],
        &[3, 4],
        &[6, 7, 8],
        &[5, 8],
        &[9, 10],
        &[11],
    ];
    Work {
        ticks: vec![20, 40, 70, 10, 30, 11, 32, 60, 27, 38, 50, 12],
        after: after
            .iter()
            .map(|befores| befores.iter().map(|before| before - 1).collect())
            .collect(),
    }
}

#[test]
fn the_twelve_element_line_takes_five_stations_at_a_service_time_of_one_minute() {
    let work = twelve_elements();
    let found = fewest_stations(&work, 100, &LIMITS, &Watch::none()).unwrap();
    // Both rules of the book give five; by sum four would do.
    assert_eq!((found.stations.len(), found.bound), (5, 5));
    assert_eq!(work.ticks.iter().sum::<u32>(), 400);
}

#[test]
fn the_handbook_s_own_assignment_of_the_twelve_elements_breaks_no_rule() {
    // Largest candidate first, as the book prints it; numbered from 1.
    let printed: [&[usize]; 5] = [&[2, 5, 1, 4], &[3, 6], &[8, 10], &[7, 9], &[11, 12]];
    let line = Line::plain(twelve_elements());
    let stations: Vec<_> = printed
        .iter()
        .map(|tasks| tasks.iter().map(|task| task - 1).collect::<Vec<_>>())
        .map(|tasks| given_station(&line, 100, &tasks))
        .collect();
    assert!(broken_rules(&line, 100, &stations).is_empty());
    let longest = stations
        .iter()
        .map(|s| post_ends(&line, s, &|t| line.work.ticks[t].into())[0]);
    assert_eq!(longest.max(), Some(100));
}

#[test]
fn five_stations_need_no_more_than_the_positional_weights_take() {
    let work = twelve_elements();
    let found = least_takt(&work, 5, &LIMITS, &Watch::none()).unwrap();
    assert!(found.proven);
    // The book's ranked positional weights leave 0.92 min at the longest.
    assert!(found.longest(&work) <= 92, "{}", found.longest(&work));
}

#[test]
fn two_heavy_cars_in_a_row_overrun_by_twice_the_excess() {
    // 200, 240 and 300 s in the mix 60 / 30 / 10 at 237.6 s: the mean of 222 s
    // is within takt, one heavy car exceeds it by 62.4 s, two by 124.8 s.
    let takt = 2_376;
    assert_eq!((6 * 2_000 + 3 * 2_400 + 3_000) / 10, 2_220);
    assert_eq!(drift(&[3_000], takt).furthest, 624);
    assert_eq!(drift(&[3_000, 3_000], takt).furthest, 1_248);
    let heavy = Dense {
        ticks: 3_000,
        at_most: 1,
        in_every: 3,
    };
    // Kept to one in three, the light cars between make up for it.
    assert_eq!(worst_run(&[heavy], 2_000, takt, 60).furthest, 624);
}

#[test]
fn a_model_above_its_overload_is_refused_though_the_mean_fits() {
    let model = |share, ticks| Model {
        share,
        ticks: vec![ticks],
    };
    let mut line = Line::plain(Work {
        ticks: vec![0],
        after: vec![vec![]],
    });
    line.models = vec![model(6, 2_000), model(3, 2_400), model(1, 3_000)];
    line.overload_per_mille = 250;
    let refused = balance_line(&line, 2_376, &LIMITS, &Watch::none()).unwrap_err();
    assert_eq!(
        refused[0].to_string(),
        "task 1 takes 3000 at its quickest, 30 more than a station may take (2970); split it, \
         let stations in parallel do it, or allow a takt of 3000"
    );
    line.overload_per_mille = 270;
    let found = balance_line(&line, 2_376, &LIMITS, &Watch::none()).unwrap();
    assert_eq!(found.stations.len(), 1);
}

#[test]
fn work_of_one_side_that_waits_for_the_other_costs_a_station() {
    // By sum one pair of stations would do at 6: left 6, right 6. The right
    // waits for the left, which waits for the right.
    let mut line = Line::plain(Work {
        ticks: vec![3, 3, 3, 3],
        after: vec![vec![], vec![0], vec![1], vec![2]],
    });
    line.sides = vec![Side::Left, Side::Right, Side::Left, Side::Right];
    let found = balance_line(&line, 6, &LIMITS, &Watch::none()).unwrap();
    assert_eq!((found.stations.len(), found.proven), (2, true));
    assert!(broken_rules(&line, 6, &found.stations).is_empty());
}

/// A robot that sets seats and glass: 38, 38, 23, 26, 20 and 24 s of work at a
/// cycle of 237.6 s and 12 s a tool change (arithmetic on illustrative values).
fn seats_and_glass(cars: u32) -> Cell {
    let job = |ticks, tool, after| Job {
        ticks,
        tool: Some(tool),
        after,
    };
    Cell {
        jobs: vec![
            job(380, 0, vec![]),
            job(380, 0, vec![]),
            job(230, 1, vec![]),
            job(260, 2, vec![2]),
            job(200, 1, vec![]),
            job(240, 2, vec![4]),
        ],
        change: 120,
        open_times: vec![],
        stop: 0,
        cars,
    }
}

#[test]
fn glass_by_glass_the_robot_changes_four_times_and_takes_217_seconds() {
    let cell = seats_and_glass(1);
    let order: Vec<(usize, u32)> = (0..6).map(|job| (job, 0)).collect();
    let steps = timed(&cell, &order);
    assert_eq!(steps.iter().filter(|step| step.changed).count(), 4);
    assert_eq!(steps.last().unwrap().end, 2_170);
}

#[test]
fn both_beads_before_both_glasses_save_two_changes() {
    let plan = plan_cell(&seats_and_glass(1), 1_000_000, &Watch::none()).unwrap();
    // Three changes with that back to the seats.
    assert_eq!((plan.changes, plan.ticks, plan.proven), (3, 2_050, true));
    assert_eq!(plan.spare(2_376, 1), 326);
}

#[test]
fn two_cars_at_a_time_share_the_changes() {
    let plan = plan_cell(&seats_and_glass(2), 1_000_000, &Watch::none()).unwrap();
    assert_eq!((plan.changes, plan.ticks), (3, 2 * 1_690 + 360));
}

#[test]
fn open_time_less_the_way_from_bead_to_set_is_the_stop_that_can_be_borne() {
    // 16.8 s of bead, 10 s of transfer, 20 s to search and set within 8 min
    // of open time (arithmetic): 46.8 s, which leaves 433.2 s.
    let job = |ticks, tool, after| Job {
        ticks,
        tool: Some(tool),
        after,
    };
    let mut cell = Cell {
        jobs: vec![job(168, 0, vec![]), job(200, 1, vec![0])],
        change: 100,
        open_times: vec![OpenTime {
            from: 0,
            to: 1,
            ticks: 4_800,
        }],
        stop: 4_332,
        cars: 1,
    };
    let plan = plan_cell(&cell, 1_000, &Watch::none()).unwrap();
    assert_eq!((plan.kept[0].path, plan.kept[0].margin), (468, 4_332));
    cell.stop += 1;
    let refused = plan_cell(&cell, 1_000, &Watch::none()).unwrap_err();
    let told = refused[0].to_string();
    assert!(
        told.contains("takes 468 and a stop of the line 4333, 1 more than the 4800"),
        "{told}"
    );
}

#[test]
fn the_car_line_takes_1250_workers_on_500_stations() {
    // Groover, Automation, Production Systems, and Computer-Integrated
    // Manufacturing, manual assembly lines, problem of a car plant (from memory;
    // values computed): 240,000 cars in 50 weeks of 10 shifts of 8 h are 60 an
    // hour; at 95 % uptime and 0.15 min to reposition 0.8 min are left for work.
    // 15.5 h of work at a balance of 93 % take 1,250 workers, at 2.5 a station 500
    // stations: the work divided so that each worker has 93 % of the 0.8 min.
    let service_ms = 48_000_u32;
    let each_ms = service_ms * 93 / 100;
    let workers = 15.5 * 3_600_000.0 / f64::from(each_ms);
    assert!((workers - 1_250.0).abs() < 1e-9);
    let line = |workers: usize| {
        Line::plain(Work {
            ticks: vec![each_ms; workers],
            after: vec![Vec::new(); workers],
        })
    };
    let balanced = |line: &Line| balance_line(line, service_ms, &LIMITS, &Watch::none()).unwrap();
    let alone = balanced(&line(1_250));
    assert_eq!((alone.stations.len(), alone.bound), (1_250, 1_250));
    // Five people are two stations of 2.5; a tenth of the line shows it.
    let mut tenth = line(125);
    tenth.people = 5;
    let pairs = balanced(&tenth);
    assert_eq!((2 * pairs.stations.len(), pairs.proven), (50, true));
}
