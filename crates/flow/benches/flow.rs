//! Speed of the engine in station completions a second, on one core: the
//! reference line, a line whose cycles are drawn, and a plant of merges, rework
//! and a fleet, each with and without critical path and banks.
#![allow(
    missing_docs,
    clippy::unwrap_used,
    reason = "a bench documents itself and ends where it fails"
)]

use std::hint::black_box;
use std::time::Duration;

use criterion::{BenchmarkId, Criterion, Throughput, criterion_group, criterion_main};
use flow::model::{
    Basis, Fleet, Link, LinkIdx, Network, Quality, Station, StationIdx, Stop, Takes,
};
use flow::reference::{ReferenceLine, plan};
use flow::{Distribution, Plan, Settings, Watch, run};

const DAY_S: f64 = 86_400.0;

fn station(name: String, cycle: Distribution) -> Station {
    Station {
        stops: vec![Stop {
            cause: "stop".to_owned(),
            basis: Basis::Running,
            between: Distribution::Exponential(14_400.0),
            repair: Distribution::Exponential(300.0),
            crew: None,
            in_breaks: true,
        }],
        ..Station::new(name, cycle)
    }
}

fn link(from: u32, to: u32, holds: u32) -> Link {
    Link::new(StationIdx(from), StationIdx(to), Some(holds))
}

/// A hundred stations in series with exponential cycles.
fn drawn_line() -> Network {
    Network {
        stations: (0..100)
            .map(|i| station(format!("station {i}"), Distribution::Exponential(60.0)))
            .collect(),
        links: (1..100).map(|i| link(i - 1, i, 4)).collect(),
        ..Network::default()
    }
}

/// Twenty cells in a row. In each a station takes a job and two parts that
/// feeders make, and an inspection sends one job in ten to repair and back.
/// Two hundred carts go with the jobs from the first cell to the last.
fn plant() -> Network {
    const CELLS: u32 = 20;
    let mut network = Network::default();
    for cell in 0..CELLS {
        let [left, right, join, inspect, repair] = [0, 1, 2, 3, 4].map(|i| 5 * cell + i);
        for (name, mean) in [
            ("left", 50.0),
            ("right", 52.0),
            ("join", 55.0),
            ("inspect", 45.0),
            ("repair", 200.0),
        ] {
            let cycle = Distribution::Lognormal(mean, 0.1);
            network
                .stations
                .push(station(format!("{name} {cell}"), cycle));
        }
        if cell > 0 {
            network.links.push(link(inspect - 5, join, 6));
        }
        network.links.push(link(left, join, 3));
        network.links.push(link(right, join, 3));
        network.links.push(link(join, inspect, 2));
        let rework = network.links.len() as u32;
        network.links.push(link(inspect, repair, 8));
        let back = Link::new(StationIdx(repair), StationIdx(inspect), None);
        network.links.push(back);
        network.stations[join as usize].takes = Takes::OneOfEach;
        network.stations[inspect as usize].quality = Quality {
            first_time_ok: 0.9,
            rework: Some(LinkIdx(rework)),
            ..Quality::PERFECT
        };
    }
    network.fleets = vec![Fleet {
        name: "carts".to_owned(),
        count: 200,
        taken_at: StationIdx(2),
        returned_at: StationIdx(5 * (CELLS - 1) + 3),
        return_s: 300.0,
    }];
    network
}

fn benches(criterion: &mut Criterion) {
    let line = ReferenceLine {
        stations: 100,
        places: 2,
        days: 3.0,
        seed: 1,
        replications: 1,
        jitter: true,
    };
    let (reference, reference_settings) = plan(&line).unwrap();
    let settings = Settings {
        length_s: 3.0 * DAY_S,
        ..Settings::new(1, 1)
    };
    let cases = [
        ("reference line", reference, reference_settings),
        (
            "exponential line",
            Plan::compile(&drawn_line()).unwrap(),
            settings.clone(),
        ),
        (
            "merges, rework, fleet",
            Plan::compile(&plant()).unwrap(),
            settings,
        ),
    ];
    for (name, plan, settings) in &cases {
        let mut group = criterion.benchmark_group(*name);
        group
            .sample_size(10)
            .warm_up_time(Duration::from_millis(300))
            .measurement_time(Duration::from_secs(1));
        for (measures, elasticities, banks) in [
            ("plain", false, false),
            ("banks", false, true),
            ("path", true, false),
            ("path and banks", true, true),
        ] {
            let settings = Settings {
                elasticities,
                banks,
                ..settings.clone()
            };
            let outcome = run(plan, &settings, &Watch::none()).unwrap();
            assert_eq!(outcome.stuck.map(|stuck| stuck.stations), None, "{name}");
            group.throughput(Throughput::Elements(outcome.moves));
            group.bench_with_input(BenchmarkId::from_parameter(measures), &settings, |b, s| {
                b.iter(|| run(black_box(plan), s, &Watch::none()));
            });
        }
        group.finish();
    }
}

criterion_group!(flow_benches, benches);
criterion_main!(flow_benches);
