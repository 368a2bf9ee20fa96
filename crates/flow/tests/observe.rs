//! A replication told job by job is the replication that is run.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test that cannot go on stops where it stands"
)]

use std::sync::atomic::AtomicBool;

use flow::model::*;
use flow::{Distribution, Observed, Plan, Settings, Verdict, Watch, observe};

fn station(name: &str, cycle: Distribution) -> Station {
    Station {
        stops: vec![Stop {
            cause: "jam".into(),
            basis: Basis::Running,
            between: Distribution::Exponential(3_000.0),
            repair: Distribution::Exponential(240.0),
            crew: None,
            in_breaks: false,
        }],
        ..Station::new(name, cycle)
    }
}

/// Press, trim and pack in a row, trim with two units and a day shift.
fn line(crew: bool) -> Network {
    let mut stations = vec![
        station("press", Distribution::Lognormal(60.0, 0.2)),
        station("trim", Distribution::Fixed(110.0)),
        station("pack", Distribution::Fixed(50.0)),
    ];
    stations[1].units = 2;
    stations[1].calendar = Some(CalendarIdx(0));
    stations[2].quality.first_time_ok = 0.97;
    if crew {
        stations[0].stops[0].crew = Some(CrewIdx(0));
    }
    Network {
        stations,
        links: vec![
            Link::new(StationIdx(0), StationIdx(1), Some(5)),
            Link::new(StationIdx(1), StationIdx(2), Some(3)),
        ],
        crews: vec![Crew {
            name: "fitters".into(),
            count: 1,
        }],
        calendars: vec![Calendar {
            name: "day".into(),
            open: vec![(0.0, 36_000.0)],
            repeat_s: 86_400.0,
            at_close: AtClose::Pause,
        }],
        ..Network::default()
    }
}

const LENGTH_S: f64 = 6.0 * 86_400.0;

#[test]
fn an_observed_replication_makes_the_jobs_of_the_run() {
    for crew in [false, true] {
        let plan = Plan::compile(&line(crew)).unwrap();
        let settings = Settings {
            length_s: LENGTH_S,
            ..Settings::new(7, 1)
        };
        let run = flow::run(&plan, &settings, &Watch::none()).unwrap();
        let (mut out, mut scrapped, mut stopped_s) = (0, 0, 0.0);
        let end = (LENGTH_S * 1e9) as i64;
        observe(
            &plan,
            7,
            0,
            LENGTH_S,
            &AtomicBool::new(false),
            &mut |seen| match seen {
                Observed::Out(job) => out += i32::from(job.out_ns <= end),
                Observed::Pass(pass) => {
                    scrapped += i32::from(
                        pass.ended && pass.left_ns <= end && pass.verdict == Verdict::Scrap,
                    );
                    assert!(pass.free_ns <= pass.begun_ns && pass.begun_ns <= pass.finish_ns);
                    if pass.station == 0 {
                        for down in pass.downs {
                            let up = down.up_ns.min(end);
                            stopped_s += (up - down.down_ns.min(up)) as f64 / 1e9;
                        }
                    }
                }
            },
        )
        .unwrap();
        let hours = LENGTH_S / 3_600.0;
        assert_eq!(
            out,
            (run.rate_per_h.mean * hours).round() as i32,
            "crew {crew}"
        );
        assert_eq!(scrapped, (run.scrapped_per_h.mean * hours).round() as i32);
        let share = stopped_s / LENGTH_S;
        assert!(
            (share - run.stations[0].stopped.mean).abs() < 1e-3,
            "{share}"
        );
    }
}

#[test]
fn listed_stops_happen_when_the_list_says() {
    let mut network = line(false);
    for station in &mut network.stations {
        station.stops.clear();
    }
    network.stations[0].stops.push(Stop {
        cause: "what happened".into(),
        basis: Basis::Clock,
        between: Distribution::Listed(vec![1_000.0, 500.0]),
        repair: Distribution::Listed(vec![600.0, 60.0]),
        crew: None,
        in_breaks: true,
    });
    let plan = Plan::compile(&network).unwrap();
    let mut downs = Vec::new();
    observe(
        &plan,
        1,
        0,
        LENGTH_S,
        &AtomicBool::new(false),
        &mut |seen| {
            if let Observed::Pass(pass) = seen {
                let second = |ns: i64| ns as f64 / 1e9;
                downs.extend(
                    pass.downs
                        .iter()
                        .map(|d| (second(d.down_ns), second(d.up_ns))),
                );
            }
        },
    )
    .unwrap();
    assert_eq!(downs, [(1_000.0, 1_600.0), (2_100.0, 2_160.0)]);
}
