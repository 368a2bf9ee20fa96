//! Outlines and requests of the tests.

#![allow(dead_code, reason = "each test file uses a part")]

use strip::{Kind, Layout, Outline, Request, Vertex, Watch, Window, lay};

pub(crate) fn polygon(corners: &[(f64, f64)]) -> Outline {
    let corners: Vec<Vertex> = corners
        .iter()
        .map(|(x, y)| Vertex::corner(*x, *y))
        .collect();
    Outline::new(&corners, &[]).unwrap_or_else(|faults| panic!("{}", faults[0]))
}

pub(crate) fn disc(diameter: f64) -> Outline {
    let radius = 0.5 * diameter;
    let half = |x_mm| Vertex {
        x_mm,
        y_mm: 0.0,
        bulge: 1.0,
    };
    Outline::new(&[half(-radius), half(radius)], &[]).unwrap()
}

/// A regular polygon of circumradius 1, its first corner up.
pub(crate) fn regular(n: u32) -> Outline {
    let corners: Vec<(f64, f64)> = (0..n)
        .map(|k| {
            let angle = std::f64::consts::TAU * (f64::from(k) / f64::from(n) + 0.25);
            (libm::cos(angle), libm::sin(angle))
        })
        .collect();
    polygon(&corners)
}

pub(crate) const TRIANGLE: [(f64, f64); 3] = [(0., 0.), (400., 0.), (0., 300.)];
pub(crate) const L: [(f64, f64); 6] = [
    (0., 0.),
    (400., 0.),
    (400., 100.),
    (100., 100.),
    (100., 400.),
    (0., 400.),
];
pub(crate) const T: [(f64, f64); 8] = [
    (0., 300.),
    (150., 300.),
    (150., 0.),
    (250., 0.),
    (250., 300.),
    (400., 300.),
    (400., 400.),
    (0., 400.),
];
pub(crate) const CHEVRON: [(f64, f64); 6] = [
    (0., 0.),
    (200., 150.),
    (400., 0.),
    (400., 120.),
    (200., 270.),
    (0., 120.),
];
pub(crate) const TRAPEZOID: [(f64, f64); 4] = [(0., 0.), (600., 0.), (500., 300.), (100., 300.)];
pub(crate) const RIGHT_TRAPEZOID: [(f64, f64); 4] =
    [(0., 0.), (600., 0.), (300., 400.), (0., 400.)];
pub(crate) const PARALLELOGRAM: [(f64, f64); 4] =
    [(0., 0.), (500., 0.), (700., 300.), (200., 300.)];
pub(crate) const DOOR: [(f64, f64); 6] = [
    (0., 0.),
    (1100., 0.),
    (1180., 350.),
    (1150., 700.),
    (820., 1180.),
    (150., 700.),
];

pub(crate) fn window(from_deg: f64, to_deg: f64) -> Window {
    Window { from_deg, to_deg }
}

/// The layout of one kind; what holds of every layout is asserted.
pub(crate) fn laid(request: &Request, kind: Kind) -> Layout {
    let request = Request {
        kinds: vec![kind],
        ..request.clone()
    };
    let outcome =
        lay(&request, &Watch::none()).unwrap_or_else(|refusals| panic!("{}", refusals[0]));
    let layout = outcome
        .layouts
        .first()
        .unwrap_or_else(|| panic!("{}", outcome.without[0].why))
        .clone();
    let (web, edge) = (request.cut.clearance_mm(), request.cut.margin_mm());
    let sides = request.blank.extent().size();
    let hair = 1e-8 * sides.x.max(sides.y);
    assert!(layout.clearance_mm >= web - hair, "{layout:?}");
    assert!(layout.edge_clearance_mm >= edge - hair, "{layout:?}");
    assert!(layout.utilisation <= 1.0, "{layout:?}");
    assert!(layout.utilisation <= layout.bound, "{layout:?}");
    layout
}

pub(crate) fn utilisation(outline: &Outline, web: f64, edge: f64, kind: Kind) -> f64 {
    laid(&Request::die(outline.clone(), web, edge), kind).utilisation
}

/// The utilisation at one angle.
pub(crate) fn at_angle(outline: &Outline, web: f64, edge: f64, kind: Kind, angle: f64) -> Layout {
    let mut request = Request::die(outline.clone(), web, edge);
    request.grain = vec![window(angle, angle)];
    laid(&request, kind)
}

pub(crate) fn close(found: f64, expected: f64, tolerance: f64) {
    assert!(
        (found - expected).abs() <= tolerance,
        "found {found}, expected {expected}"
    );
}

/// A value found by brute force: less by no more than 1e-4, better is better.
pub(crate) fn reaches(found: f64, reference: f64) {
    assert!(
        found >= reference - 1e-4,
        "found {found}, reference {reference}"
    );
}
