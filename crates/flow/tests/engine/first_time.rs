//! First time right: which jobs count as passed at the first try.
//!
//! The law held here is arithmetic, known to the quality trade as rolled
//! throughput yield (common practice): the share of jobs that pass every step of
//! a way at the first try is the product of the steps' shares.

use super::*;

/// A station whose jobs pass with a share; what fails goes by this link.
fn checked(name: &str, passes: f64, rework: Option<u32>) -> Station {
    Station {
        quality: Quality {
            first_time_ok: passes,
            rework: rework.map(LinkIdx),
            ..Quality::PERFECT
        },
        ..fixed(name, 60.0)
    }
}

fn network(stations: Vec<Station>, links: Vec<Link>) -> Network {
    Network {
        stations,
        links,
        ..Network::default()
    }
}

/// Twenty replications of some three thousand jobs.
fn seen(network: &Network) -> flow::Outcome {
    let settings = Settings {
        length_s: 2.0e5,
        warm_up: WarmUp::Fixed(3_600.0),
        ..Settings::new(7, 20)
    };
    outcome(network, &settings)
}

/// Within the interval in which the true figure lies in 999 of 1,000 runs.
fn is_about(seen: &flow::Estimate, value: f64) {
    let interval = seen.interval(0.999);
    assert!(interval.holds(value), "{interval:?} does not hold {value}");
}

const PASSES: [f64; 3] = [0.9, 0.97, 0.85];
const ALL: f64 = 0.9 * 0.97 * 0.85;

/// Stations in a row, each sending what fails to itself, to a bench of its own
/// or, without a way back, to the scrap.
fn row(back: impl Fn(usize, &mut Vec<Station>, &mut Vec<Link>) -> Option<u32>) -> Network {
    let mut stations: Vec<Station> = PASSES.iter().map(|_| fixed("", 60.0)).collect();
    let mut links = vec![link(0, 1, 20), link(1, 2, 20)];
    for (at, passes) in PASSES.into_iter().enumerate() {
        let way = back(at, &mut stations, &mut links);
        stations[at] = checked(&format!("step {at}"), passes, way);
    }
    network(stations, links)
}

#[test]
fn what_fails_and_is_lost_leaves_the_product_of_the_steps() {
    is_about(&seen(&row(|_, _, _| None)).first_time_right, ALL);
}

#[test]
fn what_fails_and_is_done_again_at_the_station_leaves_the_product_of_the_steps() {
    let line = row(|at, _, links| {
        links.push(link(at as u32, at as u32, 50));
        Some(links.len() as u32 - 1)
    });
    is_about(&seen(&line).first_time_right, ALL);
}

#[test]
fn a_bench_that_fails_its_repairs_too_takes_no_job_twice() {
    let mut line = row(|at, stations, links| {
        let (bench, from) = (stations.len() as u32, links.len() as u32);
        stations.push(checked(&format!("bench {at}"), 0.5, Some(from + 2)));
        links.push(link(at as u32, bench, 200));
        links.push(link(bench, at as u32, 200));
        links.push(link(bench, bench, 200));
        Some(from)
    });
    // what the first bench sends back would leave the first step without a source
    let feed = line.stations.len() as u32;
    line.stations.push(fixed("feed", 60.0));
    line.links.push(link(feed, 0, 5));
    let seen = seen(&line);
    is_about(&seen.first_time_right, ALL);
    let benches = seen.stations.iter().filter(|s| s.name.starts_with("bench"));
    assert!(benches.clone().all(|s| s.failed_first.mean == 0.0));
    assert!(benches.clone().all(|s| s.reworked.mean > 0.4));
}

#[test]
fn each_check_is_told_what_it_was_the_first_to_find() {
    let seen = seen(&row(|_, _, _| None));
    let [first, second, third] = PASSES;
    let by_station: Vec<_> = seen.stations.iter().map(|s| &s.failed_first).collect();
    is_about(by_station[0], 1.0 - first);
    is_about(by_station[1], first * (1.0 - second));
    is_about(by_station[2], first * second * (1.0 - third));
    let lost: f64 = by_station.iter().map(|e| e.mean).sum();
    assert!((1.0 - seen.first_time_right.mean - lost).abs() < 0.002);
}

/// A body from one station and a door from another, hung at a third.
fn doors(body: Station, door: Station, more: Vec<Link>) -> Network {
    let mut hang = checked("hang", 0.95, None);
    hang.takes = Takes::OneOfEach;
    let mut links = vec![link(0, 2, 10), link(1, 2, 10)];
    links.extend(more);
    network(vec![body, door, hang], links)
}

#[test]
fn a_part_lost_or_repaired_before_it_is_built_in_takes_nothing_from_the_car() {
    let scrapped = doors(
        checked("body", 0.9, None),
        checked("door", 0.6, None),
        Vec::new(),
    );
    let seen_scrapped = seen(&scrapped);
    is_about(&seen_scrapped.first_time_right, 0.9 * 0.95);
    assert!(seen_scrapped.stations[1].scrapped.mean > 0.3);
    assert_eq!(seen_scrapped.stations[1].failed_first.mean, 0.0);
    let repaired = doors(
        fixed("body", 60.0),
        checked("door", 0.6, Some(2)),
        vec![link(1, 1, 10)],
    );
    is_about(&seen(&repaired).first_time_right, 0.95);
}

#[test]
fn the_pieces_of_a_job_that_failed_have_failed_with_it() {
    let mut cut = checked("cut", 0.8, Some(2));
    cut.gives = Gives::OneToEach;
    let halves = network(
        vec![cut, fixed("left", 60.0), fixed("right", 60.0)],
        vec![link(0, 1, 5), link(0, 2, 5), link(0, 0, 5)],
    );
    is_about(&seen(&halves).first_time_right, 0.8);
}

#[test]
fn what_failed_in_the_warm_up_is_left_out() {
    let line = network(vec![checked("test", 0.5, None)], Vec::new());
    let mut plan = Plan::compile(&line).unwrap();
    let settings = Settings {
        length_s: 36_000.0,
        warm_up: WarmUp::Fixed(3_600.0),
        ..Settings::new(7, 3)
    };
    plan.quality_from(0, 3_600.0, 1.0, 0.0);
    let seen = run(&plan, &settings, &Watch::none()).unwrap();
    assert_eq!(seen.first_time_right.each, vec![1.0; 3]);
    assert_eq!(seen.stations[0].failed_first.each, vec![0.0; 3]);
}

#[test]
fn a_plain_line_whose_replications_go_side_by_side_is_all_right() {
    let line = network(
        vec![fixed("one", 50.0), fixed("two", 60.0)],
        vec![link(0, 1, 3)],
    );
    assert_eq!(seen(&line).first_time_right.mean, 1.0);
}
