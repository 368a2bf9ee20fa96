//! Moves a second on a day of 400 cars and on a week of 1,300, with spacing
//! rules alone and with colours and ordered goals; and the bounds by themselves.
#![allow(
    missing_docs,
    clippy::unwrap_used,
    reason = "a bench documents itself and ends where it fails"
)]

use std::hint::black_box;
use std::time::Duration;

use criterion::{BenchmarkId, Criterion, Throughput, criterion_group, criterion_main};
use sequence::model::{Class, Colours, Counted, Force, Goal, Goals, Problem, Rule};
use sequence::{Settings, Watch, best};

/// Numbers that look drawn and are always the same.
fn drawn(n: u64) -> u64 {
    let z = (n + 1).wrapping_mul(0x9E37_79B9_7F4A_7C15);
    (z ^ (z >> 29)).wrapping_mul(0xBF58_476D_1CE4_E5B9) >> 33
}

/// Cars with twelve options whose rules are nearly used up.
fn cars(count: u32, with_colours: bool) -> Problem {
    let windows = [2, 3, 3, 5, 5, 4, 6, 8, 10, 12, 15, 20];
    let most = [1, 1, 2, 1, 2, 2, 1, 1, 2, 1, 2, 1];
    let classes = count / 8;
    let class = |at: u32| Class {
        name: at.to_string(),
        count: count / classes,
        options: (0..12)
            .map(|option: u64| {
                let share = 850 * most[option as usize] / windows[option as usize];
                drawn(u64::from(at) * 12 + option) % 1_000 < share
            })
            .collect(),
        colour: with_colours.then_some(drawn(u64::from(at) + 99_999) as usize % 14),
    };
    let rules: Vec<Rule> = (0..12)
        .map(|option| Rule {
            option,
            at_most: most[option] as u32,
            in_every: windows[option] as u32,
            force: Force::Soft(1),
        })
        .collect();
    let of = |rules: std::ops::Range<usize>| rules.map(Goal::Rule).collect();
    Problem {
        classes: (0..classes).map(class).collect(),
        options: (0..12).map(|n| n.to_string()).collect(),
        rules,
        counted: Counted::Excess,
        colours: Colours {
            names: (0..14).map(|n| n.to_string()).collect(),
            max_block: with_colours.then_some(10),
            change_weight: u32::from(with_colours),
        },
        goals: if with_colours {
            Goals::Ordered(vec![of(0..5), vec![Goal::Colours], of(5..12)])
        } else {
            Goals::Weighted
        },
        ..Problem::empty()
    }
}

fn benches(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("moves");
    group
        .sample_size(10)
        .warm_up_time(Duration::from_millis(300))
        .measurement_time(Duration::from_secs(3));
    let steps = 500_000;
    for count in [400, 1_300] {
        for (name, with_colours) in [("spacing", false), ("spacing and colours", true)] {
            let checked = cars(count, with_colours).check().unwrap();
            let settings = Settings {
                seed: 1,
                steps,
                walkers: 1,
                proof_states: 0,
            };
            group.throughput(Throughput::Elements(steps));
            group.bench_function(BenchmarkId::new(name, count), |b| {
                b.iter(|| best(black_box(&checked), &settings, &Watch::none()));
            });
        }
    }
    group.finish();
}

criterion_group!(all, benches);
criterion_main!(all);
