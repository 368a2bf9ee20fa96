//! Speed of a layout: all kinds, all angles, on one core, for a blank of sixty
//! points, for one of arcs, and for two parts on one strip.
#![allow(
    missing_docs,
    clippy::unwrap_used,
    reason = "a bench documents itself and ends where it fails"
)]

use std::hint::black_box;
use std::time::Duration;

use criterion::{Criterion, criterion_group, criterion_main};
use strip::{Kind, Outline, Partner, Request, Vertex, Watch, lay};

/// A blank with bays all round, of no symmetry; every third edge is an arc if asked.
fn blank(points: u32, arcs: bool) -> Outline {
    let vertices: Vec<Vertex> = (0..points)
        .map(|k| {
            let angle = std::f64::consts::TAU * f64::from(k) / f64::from(points);
            let radius = 300.0
                + 60.0 * libm::sin(3.0 * angle)
                + 40.0 * libm::sin(5.0 * angle + 1.0)
                + 25.0 * libm::cos(11.0 * angle);
            Vertex {
                x_mm: 1.6 * radius * libm::cos(angle),
                y_mm: radius * libm::sin(angle),
                bulge: if arcs && k % 3 == 0 { 0.15 } else { 0.0 },
            }
        })
        .collect();
    Outline::new(&vertices, &[]).unwrap()
}

fn layouts(c: &mut Criterion) {
    let mut group = c.benchmark_group("strip");
    group
        .sample_size(10)
        .measurement_time(Duration::from_secs(3));
    for (name, outline) in [
        ("60 points, all layouts", blank(60, false)),
        ("60 points with arcs, all layouts", blank(60, true)),
        ("12 points, all layouts", blank(12, false)),
    ] {
        let request = Request::die(outline, 6.0, 8.0);
        group.bench_function(name, |b| {
            b.iter(|| lay(black_box(&request), &Watch::none()).unwrap());
        });
    }
    let mut mixed = Request::die(blank(30, false), 6.0, 8.0);
    mixed.kinds = vec![Kind::MixedPair];
    mixed.partner = Some(Partner {
        outline: blank(16, false).scaled(0.5),
        grain: Vec::new(),
        ratio: (1, 1),
    });
    group.bench_function("two parts, all turns", |b| {
        b.iter(|| lay(black_box(&mixed), &Watch::none()).unwrap());
    });
    group.finish();
}

criterion_group!(benches, layouts);
criterion_main!(benches);
