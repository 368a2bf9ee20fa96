//! The demo plant: its book read and checked, the rate plan, the network, and
//! one replication of one week.
#![allow(
    missing_docs,
    clippy::unwrap_used,
    reason = "a bench documents itself and ends where it fails"
)]

use std::hint::black_box;
use std::path::Path;
use std::time::Duration;

use criterion::{Criterion, Throughput, criterion_group, criterion_main};
use flow::{Plan, Settings, WarmUp, Watch, run};

const WEEK_S: f64 = 7.0 * 86_400.0;

fn benches(criterion: &mut Criterion) {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../demo/merrow-quay");
    let book = book::check(&book::read_path(&folder).unwrap()).book;
    let mut group = criterion.benchmark_group("merrow quay");
    group
        .sample_size(10)
        .warm_up_time(Duration::from_millis(300))
        .measurement_time(Duration::from_secs(4));
    group.bench_function("read and check", |b| {
        b.iter(|| book::check(&book::read_path(black_box(&folder)).unwrap()));
    });
    group.bench_function("rate plan", |b| {
        b.iter(|| whole::plan::plan(black_box(&book)));
    });
    group.bench_function("network", |b| {
        b.iter(|| whole::network::build(black_box(&book)));
    });
    let built = whole::network::build(&book).unwrap();
    group.bench_function("compile", |b| {
        b.iter(|| Plan::compile(black_box(&built.network)));
    });

    let plan = Plan::compile(&built.network).unwrap();
    // The week is the plant's second: an empty one makes half of its moves.
    let settings = Settings {
        warm_up: WarmUp::Fixed(WEEK_S),
        length_s: WEEK_S,
        elasticities: true,
        banks: true,
        ..Settings::new(1, 1)
    };
    let outcome = run(&plan, &settings, &Watch::none()).unwrap();
    group.throughput(Throughput::Elements(outcome.moves));
    group.bench_function("one replication of one week after one of warm-up", |b| {
        b.iter(|| run(black_box(&plan), &settings, &Watch::none()));
    });
    group.finish();
}

criterion_group!(whole_benches, benches);
criterion_main!(whole_benches);
