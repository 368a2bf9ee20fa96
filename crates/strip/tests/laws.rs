//! Laws that hold for any blank.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test fails by panicking"
)]

mod support;

use std::sync::atomic::{AtomicBool, Ordering};

use proptest::prelude::*;
use strip::{Cut, Kind, Outline, Partner, Request, Vertex, Watch, lay};
use support::*;

/// Blanks with corners round a centre, edges straight or round.
fn blank() -> impl Strategy<Value = Vec<Vertex>> {
    let corner = (
        0.15_f64..0.85,
        120.0_f64..400.0,
        prop_oneof![2 => Just(0.0), 1 => -0.4_f64..0.4],
    );
    proptest::collection::vec(corner, 3..12).prop_filter_map("it crosses itself", |corners| {
        let n = corners.len() as f64;
        let vertices: Vec<Vertex> = corners
            .into_iter()
            .enumerate()
            .map(|(k, (share, radius, bulge))| {
                let angle = std::f64::consts::TAU * (k as f64 + share) / n;
                Vertex {
                    x_mm: radius * libm::cos(angle),
                    y_mm: radius * libm::sin(angle),
                    bulge,
                }
            })
            .collect();
        // A web must be narrower than the blank.
        let outline = Outline::new(&vertices, &[]).ok()?;
        (outline.area_mm2() > 20_000.0).then_some(vertices)
    })
}

fn convex() -> impl Strategy<Value = Vec<(f64, f64)>> {
    // Corners on an ellipse, each in its own sector, are convex.
    (3_usize..10, 0.4_f64..1.0, 0.0_f64..6.3).prop_flat_map(|(n, flat, turn)| {
        proptest::collection::vec(0.1_f64..0.9, n).prop_map(move |shares| {
            let n = shares.len() as f64;
            shares
                .into_iter()
                .enumerate()
                .map(|(k, share)| {
                    let angle = turn + std::f64::consts::TAU * (k as f64 + share) / n;
                    (300.0 * libm::cos(angle), 300.0 * flat * libm::sin(angle))
                })
                .collect()
        })
    })
}

const KINDS: [Kind; 4] = [
    Kind::Single,
    Kind::OpposedPair,
    Kind::TwoRow,
    Kind::ThreeRow,
];

fn outline(vertices: &[Vertex]) -> Outline {
    Outline::new(vertices, &[]).unwrap()
}

fn turned(vertices: &[Vertex], angle: f64) -> Vec<Vertex> {
    let (sin, cos) = (libm::sin(angle), libm::cos(angle));
    vertices
        .iter()
        .map(|v| Vertex {
            x_mm: v.x_mm * cos - v.y_mm * sin + 17.0,
            y_mm: v.x_mm * sin + v.y_mm * cos - 5.0,
            bulge: v.bulge,
        })
        .collect()
}

fn small(request: Request) -> Request {
    Request {
        effort: 2_000,
        ..request
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    #[test]
    fn every_layout_keeps_web_and_margin_and_stays_below_its_bound(
        vertices in blank(), web in 0.5_f64..12.0, edge in 0.0_f64..15.0,
    ) {
        // `laid` asserts what is measured anew.
        let request = small(Request::die(outline(&vertices), web, edge));
        for kind in KINDS {
            laid(&request, kind);
        }
    }

    #[test]
    fn a_convex_blank_uses_from_half_to_all_at_any_angle(corners in convex(), angle in 0.0_f64..180.0) {
        let outline = polygon(&corners);
        let used = at_angle(&outline, 0.0, 0.0, Kind::Single, angle).utilisation;
        prop_assert!((0.5 - 1e-6..=1.0).contains(&used), "{used}");
    }

    #[test]
    fn the_way_of_drawing_does_not_matter(vertices in blank(), web in 1.0_f64..10.0, angle in 0.0_f64..6.2) {
        let used = |vertices: &[Vertex], kind| laid(&small(Request::die(outline(vertices), web, 8.0)), kind);
        // Turned, begun elsewhere, turned over.
        let other = turned(&vertices, angle);
        let mut begun = vertices.clone();
        begun.rotate_left(1);
        let over = outline(&vertices).mirrored().vertices().remove(0);
        for kind in [Kind::Single, Kind::OpposedPair] {
            let first = used(&vertices, kind);
            for changed in [&other, &begun, &over] {
                let second = used(changed, kind);
                // Each is within its own gap of the best.
                let gap = (first.bound - first.utilisation).max(second.bound - second.utilisation) + 1e-6;
                prop_assert!((first.utilisation - second.utilisation).abs() <= gap,
                    "{} and {}", first.utilisation, second.utilisation);
            }
        }
    }

    #[test]
    fn points_in_the_middle_of_edges_add_nothing(corners in convex(), share in 0.1_f64..0.9) {
        let mut more = Vec::new();
        for k in 0..corners.len() {
            let (a, b) = (corners[k], corners[(k + 1) % corners.len()]);
            more.push(a);
            more.push((a.0 + share * (b.0 - a.0), a.1 + share * (b.1 - a.1)));
        }
        let few = utilisation(&polygon(&corners), 4.0, 4.0, Kind::Single);
        let many = utilisation(&polygon(&more), 4.0, 4.0, Kind::Single);
        prop_assert!((few - many).abs() <= 1e-6, "{few} and {many}");
    }

    #[test]
    fn a_wider_web_or_margin_never_uses_more(vertices in blank(), web in 0.5_f64..8.0, more in 0.5_f64..6.0) {
        for kind in [Kind::Single, Kind::OpposedPair] {
            let narrow = laid(&small(Request::die(outline(&vertices), web, 5.0)), kind);
            let wide = laid(&small(Request::die(outline(&vertices), web + more, 5.0)), kind);
            let margin = laid(&small(Request::die(outline(&vertices), web, 5.0 + more)), kind);
            prop_assert!(wide.utilisation <= narrow.bound + 1e-9);
            prop_assert!(margin.utilisation <= narrow.bound + 1e-9);
        }
    }

    #[test]
    fn no_layout_of_a_kind_at_one_angle_beats_the_bound_over_all(vertices in blank(), web in 0.5_f64..8.0, angle in 0.0_f64..180.0) {
        let request = small(Request::die(outline(&vertices), web, 5.0));
        for kind in KINDS {
            let best = laid(&request, kind);
            let mut fixed = request.clone();
            fixed.grain = vec![window(angle, angle)];
            fixed.kinds = vec![kind];
            // At one angle alone an outline may be too sharp for a proof; that is told.
            let outcome = lay(&fixed, &Watch::none()).map_err(|refused| TestCaseError::fail(refused[0].to_string()))?;
            let Some(one) = outcome.layouts.first() else {
                prop_assert!(!outcome.without.is_empty());
                continue;
            };
            prop_assert!(one.utilisation <= best.bound + 1e-9, "{} above {}", one.utilisation, best.bound);
        }
    }
}

proptest! {
    // Every turn of one part against the other is looked at.
    #![proptest_config(ProptestConfig::with_cases(4))]

    #[test]
    fn two_parts_on_one_strip_keep_their_distance(
        one in convex(), two in convex(), web in 1.0_f64..8.0, ratio in prop_oneof![Just((1, 1)), Just((2, 1)), Just((1, 2))],
    ) {
        let mut request = Request::die(polygon(&one), web, 5.0);
        request.effort = 400;
        request.partner = Some(Partner { outline: polygon(&two).scaled(0.6), grain: Vec::new(), ratio });
        let layout = laid(&request, Kind::MixedPair);
        let counted = |part| layout.placements.iter().filter(|p| p.part == part).count();
        prop_assert_eq!((counted(0) as u32, counted(1) as u32), ratio);
    }
}

#[test]
fn the_narrowest_width_that_can_be_had_is_taken() {
    let mut request = Request::die(polygon(&DOOR), 8.0, 8.0);
    request.widths_mm = Some(vec![1900.0, 1250.0, 1500.0]);
    let single = laid(&request, Kind::Single);
    assert_eq!(single.width_mm, 1250.0);
    assert!(single.needed_width_mm <= 1250.0 + 1e-6);
    let pair = laid(&request, Kind::OpposedPair);
    assert_eq!(pair.width_mm, 1900.0);
}

#[test]
fn a_strip_too_narrow_is_told_with_the_least_width() {
    let mut request = Request::die(polygon(&DOOR), 8.0, 8.0);
    request.kinds = vec![Kind::Single];
    request.widths_mm = Some(vec![800.0, 1000.0]);
    let outcome = lay(&request, &Watch::none()).unwrap();
    assert!(outcome.layouts.is_empty());
    assert_eq!(
        outcome.without[0].why,
        "the widest strip is 1000 mm and the least width that fits is 1096.472 mm: hold a strip \
         of that width or more"
    );
    request.widths_mm = Some(vec![1200.0]);
    request.max_pitch_mm = Some(900.0);
    let outcome = lay(&request, &Watch::none()).unwrap();
    assert!(
        outcome.without[0]
            .why
            .starts_with("the longest pitch is 900 mm"),
        "{}",
        outcome.without[0].why
    );
}

#[test]
fn what_makes_no_sense_is_refused_with_the_way_out() {
    let mut request = Request::die(polygon(&TRIANGLE), 260.0, -1.0);
    request.grain = vec![window(20.0, 10.0)];
    request.widths_mm = Some(Vec::new());
    request.kinds = vec![Kind::MixedPair];
    let refusals = lay(&request, &Watch::none()).unwrap_err();
    let places: Vec<&str> = refusals.iter().map(|refusal| refusal.place).collect();
    assert_eq!(
        places,
        ["edge_mm", "web_mm", "widths_mm", "grain", "partner"]
    );
    assert_eq!(
        refusals[1].to_string(),
        "web_mm: found 260 mm between blanks, expected less than the blank is wide; \
         lower it to 240 mm or less, or check the drawing's unit"
    );
}

#[test]
fn trapezoids_are_cut_off_without_any_scrap() {
    let mut request = Request::die(polygon(&TRAPEZOID), 0.0, 0.0);
    request.cut = Cut::CutOff;
    let pair = laid(&request, Kind::OpposedPair);
    close(pair.pitch_mm, 1000.0, 1e-5);
    close(pair.width_mm, 300.0, 1e-6);
    close(pair.utilisation, 1.0, 1e-9);
    // One way round leaves the wedges between.
    close(
        laid(&request, Kind::Single).utilisation,
        250.0 * 2.0 / 600.0,
        1e-9,
    );
    request.blank = polygon(&TRIANGLE);
    request.kinds = vec![Kind::OpposedPair];
    let outcome = lay(&request, &Watch::none()).unwrap();
    assert!(
        outcome.without[0].why.contains("two straight sides"),
        "{}",
        outcome.without[0].why
    );
    request.blank = polygon(&TRAPEZOID);
    request.grain = vec![window(80.0, 100.0)];
    let outcome = lay(&request, &Watch::none()).unwrap();
    assert!(
        outcome.without[0].why.contains("let it reach 0 degrees"),
        "{}",
        outcome.without[0].why
    );
}

#[test]
fn a_laser_leaves_less_metal_and_takes_its_kerf() {
    let mut request = Request::die(
        polygon(&[(0., 0.), (300., 0.), (300., 200.), (0., 200.)]),
        0.0,
        0.0,
    );
    request.grain = vec![window(0.0, 0.0)];
    request.cut = Cut::Laser {
        web_mm: 2.0,
        edge_mm: 3.0,
        kerf_mm: 0.2,
    };
    let layout = laid(&request, Kind::Single);
    close(layout.pitch_mm, 302.4, 1e-6);
    close(layout.width_mm, 206.4, 1e-6);
    // Without a web one cut parts two blanks.
    request.cut = Cut::Laser {
        web_mm: 0.0,
        edge_mm: 3.0,
        kerf_mm: 0.2,
    };
    close(laid(&request, Kind::Single).pitch_mm, 300.2, 1e-6);
}

#[test]
fn turning_blanks_over_opens_the_other_half_of_the_window() {
    // The grain leaves 30 to 40 degrees; turned over, an L may stand at -40 to -30.
    let skewed = polygon(&[(0., 0.), (500., 0.), (700., 300.), (200., 300.)]);
    let mut request = Request::die(skewed, 5.0, 5.0);
    request.grain = vec![window(30.0, 40.0)];
    let drawn = laid(&request, Kind::OpposedPair);
    request.mirror_allowed = true;
    let either = laid(&request, Kind::OpposedPair);
    assert!(either.utilisation >= drawn.utilisation - 1e-9);
}

#[test]
fn a_cancelled_search_answers_with_what_it_has() {
    let mut request = Request::die(polygon(&DOOR), 8.0, 8.0);
    request.kinds = KINDS.to_vec();
    let cancel = AtomicBool::new(false);
    let told = |_| cancel.store(true, Ordering::Relaxed);
    let watch = Watch {
        cancel: &cancel,
        progress: &told,
    };
    let outcome = lay(&request, &watch).unwrap();
    assert!(outcome.cancelled);
    for layout in &outcome.layouts {
        assert!(layout.utilisation <= layout.bound);
    }
}

#[test]
fn a_search_stopped_before_it_began_lays_the_boxes_round_the_blanks() {
    let cancel = AtomicBool::new(true);
    let watch = Watch {
        cancel: &cancel,
        progress: &|_| {},
    };
    let mut request = Request::die(polygon(&DOOR), 8.0, 8.0);
    request.kinds = KINDS.to_vec();
    let outcome = lay(&request, &watch).unwrap();
    assert!(outcome.cancelled);
    let [layout] = outcome.layouts.as_slice() else {
        panic!("one row of boxes: {:?}", outcome.layouts)
    };
    assert_eq!(layout.kind, Kind::Single);
    assert!(layout.clearance_mm >= 8.0 - 1e-6 && layout.edge_clearance_mm >= 8.0 - 1e-6);
    let searched = laid(&request, Kind::Single);
    assert!(layout.utilisation <= searched.utilisation && searched.utilisation <= layout.bound);
    // Neither pitch nor width may go beyond what was asked.
    request.max_pitch_mm = Some(0.9 * layout.pitch_mm.min(layout.width_mm));
    assert!(lay(&request, &watch).unwrap().layouts.is_empty());
}

#[test]
fn the_best_layout_so_far_is_told_and_the_last_told_is_the_best() {
    let told = std::sync::Mutex::new(Vec::new());
    let cancel = AtomicBool::new(false);
    let watch = Watch {
        cancel: &cancel,
        progress: &|at: strip::Progress| told.lock().unwrap().push(at),
    };
    let outcome = lay(&Request::die(polygon(&T), 5.0, 5.0), &watch).unwrap();
    let told = told.into_inner().unwrap();
    let best: Vec<strip::Best> = told.iter().filter_map(|at| at.best).collect();
    assert!(
        best.windows(2)
            .all(|pair| pair[0].utilisation <= pair[1].utilisation)
    );
    let (last, layout) = (best.last().unwrap(), outcome.best().unwrap());
    assert!((last.utilisation - layout.utilisation).abs() < 1e-9);
    assert_eq!(last.kind, layout.kind);
    assert!(
        best.len() > outcome.layouts.len(),
        "it is told within a kind too"
    );
    let so_far = told.last().unwrap().so_far().unwrap();
    assert!(
        so_far.what.starts_with("% of the strip lost, "),
        "{so_far:?}"
    );
    assert!((so_far.value - 100.0 * (1.0 - layout.utilisation)).abs() < 1e-6);
}

#[test]
fn progress_only_grows() {
    let shares = std::sync::Mutex::new(Vec::new());
    let told = |progress: strip::Progress| shares.lock().unwrap().push(progress.share);
    let cancel = AtomicBool::new(false);
    lay(
        &Request::die(polygon(&T), 5.0, 5.0),
        &Watch {
            cancel: &cancel,
            progress: &told,
        },
    )
    .unwrap();
    let shares = shares.into_inner().unwrap();
    assert!(
        shares.windows(2).all(|pair| pair[0] <= pair[1]),
        "{shares:?}"
    );
    assert_eq!(shares.last(), Some(&1.0));
}
