//! The engine against results worked out by hand, the published reference
//! line, and itself.
//!
//! | check | source |
//! |---|---|
//! | departure times of three stations, six jobs | recursion D = max(max(above, before) + p, place free), worked by hand |
//! | 420 parts in a shift with three breaks | arithmetic: (480 - 60) min / 60 s |
//! | reference line, job for job | splitmix64 streams (Steele, Lea & Flood 2014); count confirmed with SimPy, see `checks/` |

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test fails by panicking"
)]

mod first_time;
mod lots;

use flow::model::*;
use flow::reference::ReferenceLine;
use flow::{Distribution, Halt, Plan, Settings, WarmUp, Watch, run};

fn station(name: &str, cycle: Distribution) -> Station {
    Station::new(name, cycle)
}

fn fixed(name: &str, seconds: f64) -> Station {
    station(name, Distribution::Fixed(seconds))
}

fn link(from: u32, to: u32, holds: u32) -> Link {
    Link::new(StationIdx(from), StationIdx(to), Some(holds))
}

fn outcome(network: &Network, settings: &Settings) -> flow::Outcome {
    let plan = Plan::compile(network).unwrap_or_else(|faults| panic!("{faults:?}"));
    run(&plan, settings, &Watch::none()).unwrap()
}

fn for_seconds(length_s: f64) -> Settings {
    Settings {
        length_s,
        ..Settings::new(1, 1)
    }
}

/// Jobs that station `s` has let go when the clock stands at `at`.
fn done_at(network: &Network, s: usize, at: f64) -> f64 {
    (outcome(network, &for_seconds(at)).stations[s]
        .done_per_h
        .mean
        * at
        / 3_600.0)
        .round()
}

#[test]
fn three_stations_let_six_jobs_go_when_the_recursion_says() {
    let times = [
        [2.0, 3.0, 2.0, 4.0, 1.0, 3.0],
        [4.0, 1.0, 5.0, 2.0, 3.0, 2.0],
        [1.0, 6.0, 2.0, 3.0, 2.0, 4.0],
    ];
    let no_place = [
        [2.0, 6.0, 8.0, 13.0, 15.0, 18.0],
        [6.0, 7.0, 13.0, 15.0, 18.0, 20.0],
        [7.0, 13.0, 15.0, 18.0, 20.0, 24.0],
    ];
    let one_place = [
        [2.0, 5.0, 7.0, 11.0, 12.0, 15.0],
        [6.0, 7.0, 12.0, 14.0, 17.0, 19.0],
        [7.0, 13.0, 15.0, 18.0, 20.0, 24.0],
    ];
    for (holds, expected) in [(0, no_place), (1, one_place)] {
        let mut network = Network {
            classes: (1..=6).map(|k| format!("job {k}")).collect(),
            ..Network::default()
        };
        for (s, row) in times.iter().enumerate() {
            let mut one = fixed(&format!("s{s}"), 1.0);
            one.work = Work::Cycle(Cycles {
                distributions: row.iter().map(|t| Distribution::Fixed(*t)).collect(),
                of_class: (0..6).collect(),
            });
            network.stations.push(one);
        }
        network.stations[0].release = Some(Release::Order((0..6).map(ClassIdx).collect()));
        network.links = vec![link(0, 1, holds), link(1, 2, holds)];
        for (s, row) in expected.iter().enumerate() {
            for (job, leaves) in row.iter().enumerate() {
                let before = row[..job].iter().filter(|t| **t < *leaves).count();
                #[allow(clippy::cast_precision_loss)]
                let (earlier, now) = (before as f64, (before + 1) as f64);
                assert_eq!(
                    done_at(&network, s, leaves - 1e-6),
                    earlier,
                    "places {holds} station {s} job {job}"
                );
                assert_eq!(
                    done_at(&network, s, leaves + 1e-6),
                    now,
                    "places {holds} station {s} job {job}"
                );
            }
        }
    }
}

fn shift(open: Vec<(f64, f64)>, at_close: AtClose) -> Network {
    let mut one = fixed("weld", 60.0);
    one.calendar = Some(CalendarIdx(0));
    Network {
        stations: vec![one],
        calendars: vec![Calendar {
            name: "day".into(),
            open,
            repeat_s: 86_400.0,
            at_close,
        }],
        ..Network::default()
    }
}

#[test]
fn a_shift_with_three_breaks_makes_420_parts_when_work_pauses() {
    let open = vec![
        (0.0, 7_200.0),
        (8_100.0, 14_400.0),
        (16_200.0, 21_600.0),
        (22_500.0, 28_800.0),
    ];
    let made = done_at(&shift(open, AtClose::Pause), 0, 28_800.0);
    assert_eq!(made, 420.0);
}

#[test]
fn what_happens_at_the_end_of_a_spell_is_worth_a_part() {
    // A spell of 30.5 cycles and one of 29.5: 60 cycles of open time.
    let open = vec![(0.0, 1_830.0), (3_600.0, 5_370.0)];
    assert_eq!(
        done_at(&shift(open.clone(), AtClose::Pause), 0, 5_370.0),
        60.0
    );
    // 31 in the first; 29.5 more cycles begin 30, the last ends at 5,400 s.
    assert_eq!(
        done_at(&shift(open.clone(), AtClose::FinishFirst), 0, 5_400.0),
        61.0
    );
    assert_eq!(done_at(&shift(open, AtClose::NoStart), 0, 5_400.0), 59.0);
}

#[test]
fn the_reference_line_counts_the_published_jobs() {
    let cases = [
        (100, 2, 1.0, 1, 1_048.0),
        (100, 2, 1.0, 2, 1_006.0),
        (100, 2, 1.0, 3, 973.0),
        (100, 0, 1.0, 1, 760.0),
        (100, 10, 1.0, 1, 1_096.0),
        (10, 2, 10.0, 1, 12_775.0),
        (5, 1, 10.0, 1, 13_054.0),
        (100, 2, 30.0, 1, 34_067.0),
    ];
    for (stations, places, days, seed, jobs) in cases {
        let line = ReferenceLine {
            stations,
            places,
            days,
            seed,
            replications: 1,
            jitter: true,
        };
        let (plan, settings) = flow::reference::plan(&line).unwrap();
        for (elasticities, banks) in [(false, false), (true, false), (false, true)] {
            let settings = Settings {
                elasticities,
                banks,
                ..settings.clone()
            };
            let made = run(&plan, &settings, &Watch::none()).unwrap();
            assert_eq!(
                (made.rate_per_h.mean * days * 24.0).round(),
                jobs,
                "{line:?}"
            );
        }
    }
}

#[test]
fn the_reference_line_lets_its_first_jobs_go_at_the_published_times() {
    // Seed 1, 100 stations, 2 places: seconds from the start.
    let times = [
        7_278.539_532_535_187,
        7_875.070_186_537_057,
        8_742.002_462_388_5,
        8_803.136_913_685_41,
    ];
    for (k, leaves) in (0_u32..).zip(times) {
        for (at, jobs) in [(leaves - 1e-6, k), (leaves + 1e-6, k + 1)] {
            let line = ReferenceLine {
                stations: 100,
                places: 2,
                days: at / 86_400.0,
                seed: 1,
                replications: 1,
                jitter: true,
            };
            let (plan, settings) = flow::reference::plan(&line).unwrap();
            let made = run(&plan, &settings, &Watch::none()).unwrap();
            assert_eq!(
                (made.rate_per_h.mean * at / 3_600.0).round(),
                f64::from(jobs)
            );
        }
    }
}

#[test]
fn carriers_limit_the_line_to_their_number_over_the_loop() {
    // Two stations of 60 s, 60 s back: one cart a 180 s loop, three fill it.
    let loop_of = |count| Network {
        stations: vec![fixed("load", 60.0), fixed("unload", 60.0)],
        links: vec![link(0, 1, 5)],
        fleets: vec![Fleet {
            name: "carts".into(),
            count,
            taken_at: StationIdx(0),
            returned_at: StationIdx(1),
            return_s: 60.0,
        }],
        ..Network::default()
    };
    let rate = |count| {
        outcome(
            &loop_of(count),
            &Settings {
                warm_up: WarmUp::Fixed(3_600.0),
                ..for_seconds(180_000.0)
            },
        )
        .rate_per_h
        .mean
    };
    assert!((rate(1) - 20.0).abs() < 0.03);
    assert!((rate(2) - 40.0).abs() < 0.03);
    assert!((rate(3) - 60.0).abs() < 0.03);
    assert!((rate(9) - 60.0).abs() < 0.03);
    let one = outcome(&loop_of(1), &for_seconds(180_000.0));
    assert!(
        (one.stations[0].carrier_wait.mean - 2.0 / 3.0).abs() < 1e-3,
        "{:?}",
        one.stations[0]
    );
}

#[test]
fn a_merge_takes_as_many_pieces_as_a_job_needs() {
    // Doors every 25 s, two a car: the bodies' 40 s do not matter.
    let mut network = Network {
        stations: vec![
            fixed("body", 40.0),
            fixed("doors", 25.0),
            fixed("hang", 10.0),
        ],
        links: vec![link(0, 2, 2), link(1, 2, 4)],
        ..Network::default()
    };
    network.stations[2].takes = Takes::OneOfEach;
    network.links[1].needs = 2;
    let result = outcome(
        &network,
        &Settings {
            warm_up: WarmUp::Fixed(3_600.0),
            ..for_seconds(360_000.0)
        },
    );
    assert!(
        (result.rate_per_h.mean - 72.0).abs() < 0.02,
        "{}",
        result.rate_per_h.mean
    );
    assert!((result.stations[0].blocked.mean - 0.2).abs() < 1e-3);
}

#[test]
fn a_split_gives_a_piece_to_each_way() {
    let mut network = Network {
        stations: vec![
            fixed("cut", 30.0),
            fixed("left", 20.0),
            fixed("right", 40.0),
        ],
        links: vec![link(0, 1, 1), link(0, 2, 1)],
        ..Network::default()
    };
    network.stations[0].gives = Gives::OneToEach;
    let result = outcome(
        &network,
        &Settings {
            warm_up: WarmUp::Fixed(3_600.0),
            ..for_seconds(360_000.0)
        },
    );
    // The slow way holds the cut back; both ways make one piece a cut.
    assert!((result.stations[1].done_per_h.mean - 90.0).abs() < 0.05);
    assert!((result.stations[2].done_per_h.mean - 90.0).abs() < 0.05);
    for holds in [0, 1] {
        network.links.iter_mut().for_each(|l| l.holds = Some(holds));
        let again = outcome(&network, &for_seconds(360_000.0));
        assert!(
            (again.stations[0].done_per_h.mean - 90.0).abs() < 0.05,
            "places {holds}"
        );
    }
}

#[test]
fn a_full_rework_loop_is_reported_with_its_stations() {
    let mut network = Network {
        stations: vec![
            fixed("load", 10.0),
            fixed("paint", 10.0),
            fixed("inspect", 10.0),
            fixed("repair", 10.0),
        ],
        links: vec![link(0, 1, 1), link(1, 2, 1), link(2, 3, 1), link(3, 1, 1)],
        ..Network::default()
    };
    network.stations[2].quality = Quality {
        first_time_ok: 0.01,
        rework: Some(LinkIdx(2)),
        scrap: 0.0,
        attempts: None,
    };
    let result = outcome(&network, &for_seconds(864_000.0));
    let stuck = result.stuck.expect("the loop fills and stands");
    assert_eq!(stuck.stations, [0, 1, 2, 3].map(|s: usize| s)[..].to_vec());
    assert_eq!(stuck.replications, 1);
    assert!(stuck.since_s < 86_400.0);
}

#[test]
fn from_an_instant_on_other_shares_are_right() {
    let network = Network {
        stations: vec![fixed("weld", 10.0)],
        ..Network::default()
    };
    let mut plan = Plan::compile(&network).unwrap();
    // Half of the jobs of the second half are lost: a quarter of all.
    plan.quality_from(0, 432_000.0, 1.0, 0.5);
    plan.quality_from(7, 0.0, 0.0, 1.0);
    let settings = Settings {
        warm_up: WarmUp::Fixed(0.0),
        ..for_seconds(864_000.0)
    };
    let result = run(&plan, &settings, &Watch::none()).unwrap();
    assert!(
        (result.rate_per_h.mean - 270.0).abs() < 2.0,
        "{}",
        result.rate_per_h.mean
    );
    assert!((result.scrapped_per_h.mean - 90.0).abs() < 2.0);
}

#[test]
fn a_job_that_fails_too_often_is_scrap() {
    let mut network = Network {
        stations: vec![fixed("weld", 10.0), fixed("repair", 10.0)],
        links: vec![link(0, 1, 100), link(1, 0, 100)],
        arrivals: vec![Arrival {
            station: StationIdx(0),
            between: Distribution::Fixed(60.0),
            batch: 1,
            mix: vec![],
        }],
        ..Network::default()
    };
    network.stations[0].quality = Quality {
        first_time_ok: 0.5,
        rework: Some(LinkIdx(0)),
        scrap: 0.0,
        attempts: Some(3),
    };
    let result = outcome(&network, &for_seconds(8_640_000.0));
    // Three attempts at one half: 7/8 good.
    assert!(
        (result.rate_per_h.mean - 52.5).abs() < 0.3,
        "{}",
        result.rate_per_h.mean
    );
    assert!((result.scrapped_per_h.mean - 7.5).abs() < 0.3);
}

#[test]
fn a_cancelled_run_says_so() {
    let cancel = std::sync::atomic::AtomicBool::new(true);
    let plan = Plan::compile(&lots::press()).unwrap();
    let watch = Watch {
        cancel: &cancel,
        progress: &|_| {},
    };
    assert_eq!(
        run(&plan, &for_seconds(1e6), &watch).err(),
        Some(Halt::Cancelled)
    );
}

#[test]
fn a_cancelled_run_ends_while_it_runs() {
    let cancel = std::sync::atomic::AtomicBool::new(false);
    let plan = Plan::compile(&lots::press()).unwrap();
    let watch = Watch {
        cancel: &cancel,
        progress: &|_| cancel.store(true, std::sync::atomic::Ordering::Relaxed),
    };
    let settings = Settings {
        replications: 1_000,
        ..for_seconds(3e5)
    };
    assert_eq!(run(&plan, &settings, &watch).err(), Some(Halt::Cancelled));
}

#[test]
fn the_warm_up_is_found_and_the_window_stays_as_long_as_asked() {
    let mut network = Network::default();
    for i in 0..20 {
        network
            .stations
            .push(station(&format!("s{i}"), Distribution::Exponential(60.0)));
        if i > 0 {
            network.links.push(link(i - 1, i, 10));
        }
    }
    let settings = Settings {
        warm_up: WarmUp::Found {
            at_most_s: 432_000.0,
            step_s: 43_200.0,
        },
        length_s: 864_000.0,
        slabs: 20,
        ..Settings::new(1, 5)
    };
    let result = outcome(&network, &settings);
    assert_eq!(result.warm_up_found, Some(true));
    assert_eq!(result.length_s, 864_000.0);
    assert_eq!(result.over_time.len(), 20);
    assert_eq!(result.over_time[0].from_s, result.warm_up_s);
    let slabs: f64 = result.over_time.iter().map(|s| s.rate_per_h).sum::<f64>() / 20.0;
    assert!((slabs - result.rate_per_h.mean).abs() < 1e-9);
}

#[test]
fn a_queue_that_grows_for_ever_is_still_counted() {
    // An arrival every 5 s, one job a minute: 10 days pile up 158,400 jobs.
    let network = Network {
        stations: vec![fixed("weld", 60.0)],
        arrivals: vec![Arrival {
            station: StationIdx(0),
            between: Distribution::Fixed(5.0),
            batch: 1,
            mix: vec![],
        }],
        ..Network::default()
    };
    let result = outcome(&network, &for_seconds(864_000.0));
    assert!((result.stations[0].queue_mean.mean / 79_200.0 - 1.0).abs() < 1e-3);
    assert!((result.jobs_in_plant.mean / result.stations[0].queue_mean.mean - 1.0).abs() < 1e-3);
}

#[test]
fn a_job_that_comes_back_from_rework_keeps_its_cart() {
    // Half of the jobs go round again through the station that gives carts: with
    // one cart lost a round the line would stand after a few jobs.
    let mut network = Network {
        stations: vec![
            fixed("weld", 10.0),
            fixed("repair", 10.0),
            fixed("unload", 10.0),
        ],
        links: vec![link(0, 1, 2), link(1, 0, 2), link(0, 2, 2)],
        arrivals: vec![Arrival {
            station: StationIdx(0),
            between: Distribution::Fixed(60.0),
            batch: 1,
            mix: vec![],
        }],
        fleets: vec![Fleet {
            name: "carts".into(),
            count: 4,
            taken_at: StationIdx(0),
            returned_at: StationIdx(2),
            return_s: 5.0,
        }],
        ..Network::default()
    };
    network.stations[0].quality = Quality {
        first_time_ok: 0.5,
        rework: Some(LinkIdx(0)),
        scrap: 0.0,
        attempts: None,
    };
    let result = outcome(&network, &for_seconds(864_000.0));
    assert!(
        (result.rate_per_h.mean - 60.0).abs() < 0.1,
        "{}",
        result.rate_per_h.mean
    );
}
