//! Speed of a quick search on the ten stampings of Bomberger 1966, at the
//! published rates and at rates that leave next to no time, and of the parts it
//! consists of: the rotation cycle, the bound, the replay.
#![allow(
    missing_docs,
    clippy::unwrap_used,
    clippy::panic,
    clippy::print_stdout,
    reason = "a bench documents itself and ends where it fails"
)]

#[path = "../tests/support/mod.rs"]
mod support;

use std::hint::black_box;
use std::time::Duration;

use criterion::{BenchmarkId, Criterion, criterion_group, criterion_main};
use lots::{Settings, Watch, best, common_cycle, lower_bound, replay};
use support::{bomberger, checked};

fn benches(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("ten stampings");
    group
        .sample_size(10)
        .warm_up_time(Duration::from_millis(300))
        .measurement_time(Duration::from_secs(2));
    for scale in [1.0, 1.11] {
        let problem = checked(&bomberger(scale));
        let quick = Settings::quick(1);
        let found = best(&problem, &quick, &Watch::none()).unwrap();
        println!(
            "rates x {scale}: {:.2} % above the bound",
            found.gap() * 100.0
        );
        let named = |part| BenchmarkId::new(part, scale);
        group.bench_function(named("quick search"), |b| {
            b.iter(|| best(black_box(&problem), &quick, &Watch::none()));
        });
        group.bench_function(named("rotation cycle"), |b| {
            b.iter(|| common_cycle(black_box(&problem), 1));
        });
        group.bench_function(named("bound"), |b| {
            b.iter(|| lower_bound(black_box(&problem)));
        });
        group.bench_function(named("replay"), |b| {
            b.iter(|| replay(black_box(&problem), &found.schedule.timetables));
        });
    }
    group.finish();
}

criterion_group!(lots_benches, benches);
criterion_main!(lots_benches);
