//! The line whose every number is defined, so that another program can repeat
//! it: how a question asks for it, and what comes out.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test that cannot go on stops where it stands"
)]

#[path = "support/asked.rs"]
mod asked;

use asked::{accepted, refused, repeatable_line_with};

#[test]
fn the_repeatable_line_is_recognised() {
    let question = accepted(&repeatable_line_with("one", "one"));
    let line = question.repeatable.expect("a repeatable line");
    assert_eq!((line.stations, line.places), (3, 2));
    assert_eq!((line.days, line.seed, line.replications), (10.0, 4, 1));

    let plain = accepted(&repeatable_line_with("true", "false"));
    assert!(plain.repeatable.is_none());
}

#[test]
fn the_answer_counts_the_jobs_of_the_definition() {
    let question = accepted(&repeatable_line_with(
        r#""seed": 4"#,
        r#""seed": 4, "replications": 2"#,
    ));
    let (plan, settings) = question.prepare().expect("a sound line");
    let outcome = flow::run(&plan, &settings, &flow::Watch::none()).expect("it runs");
    let answer = question.answer(&outcome, true);
    // By the recursion in the definition, computed apart from the engine.
    assert_eq!(
        answer.jobs_out,
        Some(vec![
            jobs_by_recursion(3, 2, 10.0, 4, 0),
            jobs_by_recursion(3, 2, 10.0, 4, 1)
        ])
    );
    assert_eq!(answer.stations[0].name, "one");
    for station in &answer.stations {
        let shares = [
            &station.working,
            &station.starved,
            &station.blocked,
            &station.stopped,
        ];
        let sum: f64 = shares.iter().map(|share| share.mean).sum();
        assert!(
            (sum - 1.0).abs() < 1e-9,
            "{} is somewhere {sum} of its time",
            station.name
        );
    }
}

/// One number of the published splitmix64 stream.
fn splitmix(state: &mut u64) -> u64 {
    *state = state.wrapping_add(0x9E37_79B9_7F4A_7C15);
    let mut z = *state;
    z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
    z ^ (z >> 31)
}

/// Jobs out of a series line by departure times, blocking after service.
fn jobs_by_recursion(
    stations: usize,
    places: usize,
    days: f64,
    seed: u64,
    replication: u64,
) -> u64 {
    let uniform =
        |state: &mut u64| ((splitmix(state) >> 11) as f64 + 0.5) / 9_007_199_254_740_992.0;
    // The line is the same for every seed; only the stops differ.
    let mut jitter = 1;
    let cycles: Vec<f64> = (0..stations)
        .map(|_| 60.0 * (1.0 + 0.02 * (2.0 * uniform(&mut jitter) - 1.0)))
        .collect();
    let mut streams: Vec<u64> = (1..=stations as u64)
        .map(|i| {
            let mut start =
                (seed + replication).wrapping_add(i.wrapping_mul(0xD1B5_4A32_D192_ED03));
            splitmix(&mut start)
        })
        .collect();
    let mut left: Vec<f64> = streams
        .iter_mut()
        .map(|stream| -14_400.0 * libm::log(uniform(stream)))
        .collect();
    // Departures of station i stand in row i, the latest job last.
    let mut departures: Vec<Vec<f64>> = vec![Vec::new(); stations];
    let end = days * 86_400.0;
    for job in 0.. {
        let mut ready = 0.0_f64;
        for i in 0..stations {
            let mut hold = cycles[i];
            left[i] -= cycles[i];
            while left[i] < 0.0 {
                hold += -300.0 * libm::log(uniform(&mut streams[i]));
                left[i] += -14_400.0 * libm::log(uniform(&mut streams[i]));
            }
            let free = departures[i].last().copied().unwrap_or(0.0);
            let mut leave = ready.max(free) + hold;
            if i + 1 < stations && job > places {
                leave = leave.max(departures[i + 1][job - places - 1]);
            }
            departures[i].push(leave);
            ready = leave;
        }
        if ready > end {
            return job as u64;
        }
    }
    unreachable!("time passes")
}

#[test]
fn a_line_off_the_definition_cannot_be_repeatable() {
    for (piece, by, place) in [
        (r#"{"fixed": 60}"#, r#"{"fixed": 61}"#, "stations[0].cycle"),
        ("14400", "7200", "stations[0].stops"),
        (
            r#""basis": "running""#,
            r#""basis": "clock""#,
            "stations[0].stops",
        ),
        (
            r#""to": "three", "holds": 2"#,
            r#""to": "three", "holds": 3"#,
            "links[1].holds",
        ),
        (r#""to": "three""#, r#""to": "one""#, "links[1].to"),
        (r#""seed": 4"#, r#""warm_up_s": 60"#, "run.warm_up_s"),
    ] {
        let answer = refused(&repeatable_line_with(piece, by));
        assert!(answer.starts_with(place), "{by}: {answer}");
        assert!(
            answer.contains("as the repeatable line is defined"),
            "{answer}"
        );
    }
}
