//! Outlines out of drawings, layouts into drawings, questions and answers.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test fails by panicking"
)]

mod support;

use std::f64::consts::PI;

use proptest::prelude::*;
use strip::read::dxf::{Manner, outline as read_dxf};
use strip::read::{Unit, svg};
use strip::{Kind, Outline, Request, Vertex, Watch, draw, lay, question};
use support::*;

/// A drawing of these entities in millimetres; each entity is its groups.
fn drawing(entities: &[&str]) -> String {
    let mut text =
        "0\nSECTION\n2\nHEADER\n9\n$INSUNITS\n70\n4\n0\nENDSEC\n0\nSECTION\n2\nENTITIES\n"
            .to_owned();
    for entity in entities {
        for word in entity.split_whitespace() {
            text.push_str(word);
            text.push('\n');
        }
    }
    text + "0\nENDSEC\n0\nEOF\n"
}

fn area(entities: &[&str]) -> f64 {
    read_dxf(&drawing(entities), &Manner::USUAL)
        .unwrap_or_else(|problems| panic!("{}", problems[0]))
        .outline
        .area_mm2()
}

const SQUARE: &str = "0 LWPOLYLINE 90 4 70 1 10 0 20 0 10 100 20 0 10 100 20 100 10 0 20 100";

#[test]
fn polylines_old_and_new_are_read_with_their_bulges() {
    close(area(&[SQUARE]), 1e4, 1e-9);
    // Half a disc: a bulge of 1 from (100, 0) round to (0, 0).
    close(
        area(&["0 LWPOLYLINE 90 2 70 1 10 0 20 0 10 100 20 0 42 1"]),
        PI * 2500.0 / 2.0,
        1e-6,
    );
    let old = "0 POLYLINE 66 1 70 1 0 VERTEX 10 0 20 0 0 VERTEX 10 100 20 0 42 1 0 SEQEND";
    close(area(&[old]), PI * 2500.0 / 2.0, 1e-6);
}

#[test]
fn lines_and_arcs_are_joined_whichever_way_they_run() {
    let stadium = [
        "0 LINE 10 0 20 0 11 200 21 0",
        "0 ARC 10 200 20 50 40 50 50 270 51 90",
        "0 LINE 10 0 20 100 11 200 21 100",
        "0 ARC 10 0 20 50 40 50 50 90 51 270",
        "0 CIRCLE 10 100 20 50 40 20",
    ];
    close(
        area(&stadium),
        200.0 * 100.0 + PI * 2500.0 - PI * 400.0,
        1e-6,
    );
}

#[test]
fn splines_and_ellipses_come_within_their_tolerance() {
    // A cubic spline of one span over a base of 200: the Bezier of these points.
    let cap = [
        "0 SPLINE 71 3 40 0 40 0 40 0 40 0 40 1 40 1 40 1 40 1 10 0 20 0 10 66.66666667 20 133.33333333 10 133.33333333 20 133.33333333 10 200 20 0",
        "0 LINE 10 200 20 0 11 0 21 0",
    ];
    close(area(&cap), 200.0 * 100.0 * 2.0 / 3.0, 1.0);
    close(
        area(&["0 ELLIPSE 10 5 20 5 11 0 21 300 40 0.4"]),
        PI * 300.0 * 120.0,
        5.0,
    );
}

#[test]
fn units_scale_and_their_absence_is_told() {
    let inches = drawing(&[SQUARE]).replace("$INSUNITS\n70\n4", "$INSUNITS\n70\n1");
    let read = read_dxf(&inches, &Manner::USUAL).unwrap();
    assert_eq!(read.unit, Unit::Inch);
    close(read.outline.area_mm2(), 2540.0 * 2540.0, 1e-3);
    let none = drawing(&[SQUARE]).replace("$INSUNITS\n70\n4", "$INSUNITS\n70\n0");
    let told = read_dxf(&none, &Manner::USUAL).unwrap_err();
    assert_eq!(
        told[0].to_string(),
        "$INSUNITS: the drawing does not say its unit; say it, or save the drawing with its unit"
    );
    let manner = Manner {
        unit: Some(Unit::Centimetre),
        ..Manner::USUAL
    };
    close(
        read_dxf(&none, &manner).unwrap().outline.area_mm2(),
        1e6,
        1e-3,
    );
}

#[test]
fn layers_are_kept_apart_and_what_draws_no_edge_is_named() {
    let text = drawing(&[
        "0 LWPOLYLINE 8 BLANK 90 4 70 1 10 0 20 0 10 100 20 0 10 100 20 100 10 0 20 100",
        "0 LINE 8 FRAME 10 -50 20 -50 11 900 21 -50",
        "0 MTEXT 8 BLANK 10 0 20 0",
    ]);
    let open = read_dxf(&text, &Manner::USUAL).unwrap_err();
    assert_eq!(
        open[0].to_string(),
        "LINE at line 40: an open outline: it begins at (-50, -50) and ends at (900, -50); draw the missing edge, or join the ends"
    );
    let manner = Manner {
        layer: Some("BLANK"),
        ..Manner::USUAL
    };
    let read = read_dxf(&text, &manner).unwrap();
    close(read.outline.area_mm2(), 1e4, 1e-9);
    assert_eq!(read.passed_over, [("MTEXT".to_owned(), 1)]);
}

#[test]
fn what_is_no_drawing_is_told_with_its_line() {
    let told = |text: &str| read_dxf(text, &Manner::USUAL).unwrap_err()[0].to_string();
    assert_eq!(
        told("name,x\n1,2\n"),
        "line 1: found \"name,x\" where a group code belongs; save the drawing anew as DXF"
    );
    assert_eq!(
        told(&drawing(&["0 CIRCLE 10 0 20 0 40 -3"])),
        "CIRCLE at line 16: its radius is -3; give it a radius above 0"
    );
    assert_eq!(
        told(&drawing(&["0 LINE 10 0 20 zero 11 1 21 1"])),
        "line 20: found \"zero\" where a number belongs; save the drawing anew as DXF"
    );
    assert_eq!(
        told("\0\0\0"),
        "a binary file; save the drawing as text DXF"
    );
    // Mirrored onto the back of the plane, an entity's first axis turns round.
    close(
        area(&["0 LWPOLYLINE 90 4 70 1 230 -1 10 0 20 0 10 100 20 0 10 100 20 100 10 0 20 100"]),
        1e4,
        1e-9,
    );
}

#[test]
fn outlines_that_cannot_be_cut_are_told_with_their_place() {
    let told = |corners: &[(f64, f64)], holes: &[Vec<Vertex>]| {
        let corners: Vec<Vertex> = corners
            .iter()
            .map(|(x, y)| Vertex::corner(*x, *y))
            .collect();
        Outline::new(&corners, holes).unwrap_err()[0].to_string()
    };
    let ring = |x: f64, radius: f64| {
        [x - radius, x + radius]
            .map(|x_mm| Vertex {
                x_mm,
                y_mm: 0.0,
                bulge: 1.0,
            })
            .to_vec()
    };
    assert_eq!(
        told(&[(0., 0.), (5., 5.)], &[]),
        "outer path: 2 different points enclose nothing; give three, or two joined by an arc"
    );
    let plate = [(-100., -100.), (100., -100.), (100., 100.), (-100., 100.)];
    assert_eq!(
        told(&plate, &[ring(300., 20.)]),
        "hole 1: the hole lies outside the blank, at (280, 0); move it inside or leave it out"
    );
    assert_eq!(
        told(&plate, &[ring(90., 20.)]),
        "hole 1: edge 1 meets the outer path at (100, -17.321); move the hole into the metal"
    );
    assert_eq!(
        told(&plate, &[ring(0., 50.), ring(0., 10.)]),
        "hole 2: the hole lies within hole 1, where no metal is; leave it out"
    );
    let metres = plate.map(|(x, y)| (x * 1e3, y * 1e3));
    assert!(told(&metres, &[]).contains("is the drawing in another unit?"));
}

fn l_layout() -> (Outline, strip::Layout) {
    let hole = vec![
        Vertex {
            x_mm: 30.0,
            y_mm: 50.0,
            bulge: 1.0,
        },
        Vertex {
            x_mm: 70.0,
            y_mm: 50.0,
            bulge: 1.0,
        },
    ];
    let corners = L.map(|(x, y)| Vertex::corner(x, y));
    let outline = Outline::new(&corners, &[hole]).unwrap();
    let layout = laid(&Request::die(outline.clone(), 6.0, 8.0), Kind::OpposedPair);
    (outline, layout)
}

#[test]
fn a_layout_drawn_as_dxf_is_read_again_as_the_same_blank() {
    let (outline, layout) = l_layout();
    let text = draw::dxf(&layout, &[&outline]);
    assert_eq!(text.matches("POLYLINE").count(), 4);
    // One blank with its hole, alone.
    let mut single = layout.clone();
    single.placements.truncate(1);
    let text = draw::dxf(&single, &[&outline]).replace("HOLE_1", "BLANK_1");
    let manner = Manner {
        layer: Some("BLANK_1"),
        ..Manner::USUAL
    };
    let again = read_dxf(&text, &manner).unwrap().outline;
    close(again.area_mm2(), outline.area_mm2(), 1e-6);
    close(again.cut_length_mm(), outline.cut_length_mm(), 1e-6);
}

#[test]
fn the_picture_names_what_it_shows_and_rests_on_no_colour() {
    let (outline, layout) = l_layout();
    let picture = draw::svg(&layout, &[&outline], "bracket <left> & right");
    for shown in [
        "bracket &lt;left&gt; &amp; right",
        "url(#scrap)",
        ">feed<",
        "scrap (hatched)",
        ">A1<",
        ">A2<",
        "pitch ",
    ] {
        assert!(picture.contains(shown), "{shown} in {picture}");
    }
    // Two pitches of two blanks.
    assert_eq!(picture.matches("class=\"blank").count(), 4);
}

#[test]
fn an_answer_holds_what_was_asked_for() {
    let text = r#"{"outline": [[0,0],[400,0],[0,300]], "holes": [], "web_mm": 6, "edge_mm": 8,
        "layouts": ["single", "opposed_pair", "two_row"], "grain": {"from_deg": 0, "to_deg": 180},
        "widths_mm": null, "max_pitch_mm": null, "mirror_allowed": false}"#;
    let question = question::parse(text).unwrap();
    let outcome = question.lay(&Watch::none()).unwrap();
    let answer = question::Answer::of(&question, &outcome);
    assert_eq!(answer.layouts.len(), 3);
    let best = answer.best.unwrap();
    assert_eq!(best.layout, "opposed_pair");
    assert_eq!(best.blanks_per_pitch, 2);
    assert_eq!(best.placements.len(), 2);
    let area = 2.0 * 60_000.0;
    close(
        best.utilisation,
        area / (best.pitch_mm * best.width_mm),
        1e-12,
    );
    assert_eq!(
        question::Status::Feasible as u8,
        question::Status::Feasible as u8
    );
}

#[test]
fn a_question_that_does_not_fit_is_told_all_at_once() {
    let text = r#"{"outline": [[0,0],[400,0],[0,"x"]], "web": 6, "edge_mm": -8,
        "layouts": ["singel"], "grain": {"from_deg": 20, "to_deg": 10}, "kerf_mm": 0.2}"#;
    let problems = question::parse(text).unwrap_err();
    let told: Vec<String> = problems
        .iter()
        .map(|p| format!("{}: {}", p.path, p.mend))
        .collect();
    assert_eq!(
        told,
        [
            "web: leave it out",
            "outline[2][1]: write a number",
            "web_mm: add `web_mm`",
            "edge_mm: raise it to 0 or more",
            "layouts[0]: did you mean \"single\"?",
            "grain: write from 10 to 20, or add 180 to `to_deg`",
        ]
    );
}

#[test]
fn path_data_and_points_ask_the_same() {
    let points = r#"{"outline": [[0,0],[400,0],[400,100],[100,100],[100,400],[0,400]], "web_mm": 6, "edge_mm": 6, "layouts": ["single"]}"#;
    let path = r#"{"outline": "M0 0H400V-100H100V-400H0Z", "web_mm": 6, "edge_mm": 6, "layouts": ["single"]}"#;
    let answers = [points, path].map(|text| {
        let question = question::parse(text).unwrap();
        lay(&question.request, &Watch::none()).unwrap().layouts[0].utilisation
    });
    close(answers[0], answers[1], 1e-9);
    assert!(svg::outline("M0 0H400", 1.0, 0.01).is_err());
}

/// Words that drawings are made of, in any order.
fn scrambled(
    words: &'static [&'static str],
    between: &'static str,
) -> impl Strategy<Value = String> {
    let word = prop_oneof![
        4 => proptest::sample::select(words).prop_map(str::to_owned),
        1 => (-500.0_f64..500.0).prop_map(|x| format!("{x:.2}")),
        1 => "[ -~]{0,4}",
    ];
    proptest::collection::vec(word, 0..80).prop_map(move |words| words.join(between))
}

proptest! {
    #[test]
    fn no_text_crashes_the_readers(text in scrambled(
        &["0", "LINE", "ARC", "SPLINE", "LWPOLYLINE", "POLYLINE", "VERTEX", "SEQEND", "CIRCLE",
          "ELLIPSE", "ENTITIES", "2", "10", "20", "11", "21", "40", "41", "42", "50", "51", "70",
          "71", "1", "100", "9", "$INSUNITS", "1e400", "nan"], "\n"),
    ) {
        let manner = Manner { unit: Some(Unit::Millimetre), ..Manner::USUAL };
        if let Err(problems) = read_dxf(&text, &manner) {
            prop_assert!(!problems.is_empty());
        }
    }

    #[test]
    fn no_path_data_crashes_the_reader(text in scrambled(
        &["M", "m", "L", "l", "H", "v", "C", "s", "Q", "t", "A", "a", "Z", "0", "1", "-1", "1e300",
          "100", ".5", ","], " "),
    ) {
        match svg::outline(&text, 1.0, svg::TOLERANCE_MM) {
            Ok(outline) => prop_assert!(outline.area_mm2() > 0.0),
            Err(problems) => prop_assert!(!problems.is_empty()),
        }
    }
}
