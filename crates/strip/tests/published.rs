//! Layouts against closed forms and against a brute-force reference.
//!
//! | check | source |
//! |---|---|
//! | circles in rows, n pi/4 / (1 + (n-1) sqrt(3)/2) | geometry |
//! | triangle 1/2 at every angle, its opposed pair 1 | geometry: a chord through a corner splits it |
//! | L, chevron, right triangle, trapezoid with webs | geometry, formula beside each |
//! | regular polygons | geometry: sides of the difference body lie along its corners' directions |
//! | pentagon (5 - sqrt(5))/3 | Kuperberg & Kuperberg, Discrete & Computational Geometry 5 (1990) 389-397 |
//! | reference outlines | computed by a sweep of all angles at 0.25 degrees with event angles and refinement, by the Minkowski sum (Nye, J. Manufacturing Systems 19(4) 2000, 239-248) |
//! | ellipse pi/4 | geometry: conjugate diameters |

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test fails by panicking"
)]

mod support;

use std::f64::consts::PI;

use strip::{Cut, Kind, Partner, Request};
use support::*;

#[test]
fn circles_fill_rows_by_the_closed_form() {
    let root = 3.0_f64.sqrt();
    for (n, kind) in [
        (1.0, Kind::Single),
        (2.0, Kind::TwoRow),
        (3.0, Kind::ThreeRow),
    ] {
        let expected = n * PI / 4.0 / (1.0 + (n - 1.0) * root / 2.0);
        close(utilisation(&disc(200.0), 0.0, 0.0, kind), expected, 1e-6);
        // Discs of 200 mm, webs of 3, margins of 4.
        let layout = laid(&Request::die(disc(200.0), 3.0, 4.0), kind);
        let width = 200.0 + (n - 1.0) * 203.0 * root / 2.0 + 8.0;
        close(layout.pitch_mm, 203.0, 1e-4);
        close(layout.width_mm, width, 1e-3);
        close(layout.utilisation, n * PI * 1e4 / (203.0 * width), 1e-6);
    }
    // A disc turned half round is the same disc.
    let pair = utilisation(&disc(200.0), 3.0, 4.0, Kind::OpposedPair);
    close(pair, 0.806446, 1e-6);
}

#[test]
fn a_triangle_uses_half_at_every_angle_and_all_as_a_pair() {
    let triangle = polygon(&TRIANGLE);
    for angle in [0.0, 7.0, 33.3, 90.0, 126.87, 179.0] {
        let layout = at_angle(&triangle, 0.0, 0.0, Kind::Single, angle);
        close(layout.utilisation, 0.5, 1e-6);
    }
    close(utilisation(&triangle, 0.0, 0.0, Kind::Single), 0.5, 1e-6);
    close(
        utilisation(&triangle, 0.0, 0.0, Kind::OpposedPair),
        1.0,
        1e-6,
    );
}

#[test]
fn regular_polygons_reach_their_closed_forms() {
    let five = 5.0_f64.sqrt();
    for (n, expected) in [(3, 0.5), (5, (5.0 - five) / 4.0), (6, 0.75)] {
        let outline = regular(n);
        close(
            utilisation(&outline, 0.0, 0.0, Kind::Single),
            expected,
            1e-6,
        );
        for angle in [0.0, 11.0, 47.5] {
            let layout = at_angle(&outline, 0.0, 0.0, Kind::Single, angle);
            close(layout.utilisation, expected, 1e-6);
        }
    }
    // Computed to five digits.
    close(
        utilisation(&regular(7), 0.0, 0.0, Kind::Single),
        0.73825,
        1e-5,
    );
    let pair = utilisation(&regular(5), 0.0, 0.0, Kind::OpposedPair);
    reaches(pair, 0.854102);
    assert!(pair <= (5.0 - five) / 3.0);
}

#[test]
fn an_l_stands_in_the_next_at_45_degrees() {
    let l = polygon(&L);
    // U = 1 - s / (2 a): leg 400, leg width 100.
    close(utilisation(&l, 0.0, 0.0, Kind::Single), 0.875, 1e-6);
    let layout = at_angle(&l, 0.0, 0.0, Kind::Single, 45.0);
    let root = 2.0_f64.sqrt();
    let flat = at_angle(&l, 0.0, 0.0, Kind::Single, 0.0);
    close(flat.utilisation, 0.4375, 1e-6);
    assert!(layout.utilisation <= 0.875 + 1e-9);
    // pitch (s + w) sqrt(2), width a sqrt(2) + 2 e.
    let best = laid(&Request::die(l.clone(), 6.0, 6.0), Kind::Single);
    close(best.pitch_mm, 106.0 * root, 1e-4);
    close(best.width_mm, 400.0 * root + 12.0, 1e-4);
    close(best.utilisation, 0.8083245, 1e-6);
    // The grain takes half of it: within 10 degrees of 0 or 90.
    let mut request = Request::die(l, 6.0, 6.0);
    request.grain = vec![window(-10.0, 10.0), window(80.0, 100.0)];
    reaches(laid(&request, Kind::Single).utilisation, 0.41848);
}

#[test]
fn chevrons_stand_in_each_other() {
    let chevron = polygon(&CHEVRON);
    close(utilisation(&chevron, 0.0, 0.0, Kind::Single), 1.0, 1e-6);
    let layout = laid(&Request::die(chevron, 6.0, 6.0), Kind::Single);
    // 120 + web * 250/200 along the arm.
    close(layout.pitch_mm, 127.5, 1e-4);
    close(layout.width_mm, 412.0, 1e-4);
    close(layout.utilisation, 0.9137636, 1e-6);
}

#[test]
fn webs_count_from_the_start_and_move_the_best_angle() {
    // A right triangle of 400 by 300: pitch 406 and width 319.5 at 0 degrees,
    // 306 and 422 at 90; the pair frozen before webs has 416 and 312.
    let triangle = polygon(&TRIANGLE);
    let flat = at_angle(&triangle, 6.0, 6.0, Kind::OpposedPair, 0.0);
    close(flat.utilisation, 0.9250908, 1e-6);
    let upright = at_angle(&triangle, 6.0, 6.0, Kind::OpposedPair, 90.0);
    close(upright.utilisation, 0.9292817, 1e-6);
    close(upright.pitch_mm, 306.0, 1e-3);
    close(upright.width_mm, 422.0, 1e-3);
    reaches(
        utilisation(&triangle, 6.0, 6.0, Kind::OpposedPair),
        0.9292817,
    );
    // A trapezoid of 600/400 by 300.
    let trapezoid = polygon(&TRAPEZOID);
    let flat = at_angle(&trapezoid, 6.0, 6.0, Kind::OpposedPair, 0.0);
    close(flat.utilisation, 0.9495278, 1e-6);
    close(flat.pitch_mm, 1012.6491, 1e-3);
    let best = laid(&Request::die(trapezoid, 6.0, 6.0), Kind::OpposedPair);
    reaches(best.utilisation, 0.96214);
    // 71.56505 degrees, or the other slanting side at 180 less that.
    let lean = best.angle_deg.min(180.0 - best.angle_deg);
    close(lean, 71.56505, 1e-4);
    close(best.pitch_mm, 322.5523, 1e-3);
    close(best.width_mm, 966.6833, 1e-3);
}

#[test]
fn a_door_with_webs_reaches_the_reference() {
    let door = polygon(&DOOR);
    let single = laid(&Request::die(door.clone(), 8.0, 8.0), Kind::Single);
    reaches(single.utilisation, 0.74679);
    close(single.pitch_mm, 1113.18, 0.01);
    close(single.width_mm, 1196.0, 0.01);
    let pair = laid(&Request::die(door.clone(), 8.0, 8.0), Kind::OpposedPair);
    reaches(pair.utilisation, 0.96405);
    close(pair.pitch_mm, 1113.182, 0.01);
    close(pair.width_mm, 1852.926, 0.01);
    let mut request = Request::die(door, 8.0, 8.0);
    request.grain = vec![window(80.0, 100.0)];
    reaches(laid(&request, Kind::Single).utilisation, 0.73767);
}

/// Area, best single row, worst single row, best opposed pair.
type Reference<'a> = (&'a [(f64, f64)], f64, f64, f64, f64);

const REFERENCES: [Reference<'_>; 6] = [
    (&PARALLELOGRAM, 150_000.0, 1.0, 0.5, 1.0),
    (&TRAPEZOID, 150_000.0, 0.833333, 0.5, 1.0),
    (&RIGHT_TRAPEZOID, 180_000.0, 0.75, 0.5, 1.0),
    (&T, 70_000.0, 0.56, 0.35, 0.8),
    (&CHEVRON, 48_000.0, 1.0, 0.3636, 1.0),
    (&DOOR, 994_250.0, 0.76252, 0.5866, 0.983574),
];

#[test]
fn outlines_without_webs_reach_the_reference() {
    for (corners, area, single, worst, pair) in REFERENCES {
        let outline = polygon(corners);
        close(outline.area_mm2(), area, 1e-6);
        reaches(utilisation(&outline, 0.0, 0.0, Kind::Single), single);
        reaches(utilisation(&outline, 0.0, 0.0, Kind::OpposedPair), pair);
        // The worst angle of a single row, to the step of the sweep.
        let least = (0..720)
            .map(|k| at_angle(&outline, 0.0, 0.0, Kind::Single, f64::from(k) * 0.25).utilisation)
            .fold(1.0, f64::min);
        close(least, worst, 2e-3);
    }
    reaches(utilisation(&regular(5), 0.0, 0.0, Kind::Single), 0.690983);
    reaches(utilisation(&regular(6), 0.0, 0.0, Kind::Single), 0.75);
    reaches(
        utilisation(&regular(6), 0.0, 0.0, Kind::OpposedPair),
        0.857143,
    );
}

#[test]
fn an_ellipse_uses_a_quarter_of_pi_at_every_angle() {
    let data = "M-300 0A300 120 0 0 1 300 0A300 120 0 0 1 -300 0Z";
    let ellipse = strip::read::svg::outline(data, 1.0, 1e-4).unwrap();
    close(ellipse.area_mm2(), PI * 300.0 * 120.0, 0.1);
    for angle in [0.0, 13.0, 45.0, 71.0, 90.0, 160.0] {
        let layout = at_angle(&ellipse, 0.0, 0.0, Kind::Single, angle);
        close(layout.utilisation, PI / 4.0, 2e-6);
    }
}

#[test]
fn a_tongue_goes_into_the_slot_that_fits_it_exactly() {
    // A plate of 300 by 200 with a tongue of 40 by 60 on its right and the slot
    // for it on its left: nothing is wasted but above and below the tongue.
    let tongue = polygon(&[
        (0., 0.),
        (300., 0.),
        (300., 80.),
        (340., 80.),
        (340., 140.),
        (300., 140.),
        (300., 200.),
        (0., 200.),
        (0., 140.),
        (40., 140.),
        (40., 80.),
        (0., 80.),
    ]);
    let layout = laid(&Request::die(tongue, 0.0, 0.0), Kind::Single);
    close(layout.pitch_mm, 300.0, 1e-5);
    close(layout.utilisation, 1.0, 1e-6);
}

#[test]
fn two_plates_share_a_strip_without_waste() {
    let plate = |x: f64, y: f64| polygon(&[(0., 0.), (x, 0.), (x, y), (0., y)]);
    let mut request = Request::die(plate(300.0, 200.0), 0.0, 0.0);
    for (small, ratio) in [
        (plate(100.0, 200.0), (1, 1)),
        (plate(100.0, 100.0), (1, 2)),
        (plate(300.0, 100.0), (2, 1)),
    ] {
        request.partner = Some(Partner {
            outline: small,
            grain: Vec::new(),
            ratio,
        });
        let layout = laid(&request, Kind::MixedPair);
        close(layout.utilisation, 1.0, 1e-6);
    }
    // Trapezoids of two lengths, one after the other upside down, are cut off.
    request.blank = polygon(&TRAPEZOID);
    request.cut = Cut::CutOff;
    request.partner = Some(Partner {
        outline: polygon(&[(0., 0.), (400., 0.), (300., 300.), (100., 300.)]),
        grain: Vec::new(),
        ratio: (1, 1),
    });
    let layout = laid(&request, Kind::MixedPair);
    close(layout.pitch_mm, 800.0, 1e-4);
    close(layout.utilisation, 1.0, 1e-6);
}
