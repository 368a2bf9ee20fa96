//! `linewright coils` and `solve strip` as a person runs them.

use serde_json::Value;

use crate::support::{DEMO, linewright, solve, written};

#[test]
fn the_coils_of_merrow_quay_are_planned_drawn_and_written() {
    let folder = tempfile::tempdir().unwrap();
    let (svg, dxf) = (folder.path().join("svg"), folder.path().join("dxf"));
    let xlsx = folder.path().join("coils.xlsx");
    let output = linewright()
        .args(["coils", DEMO, "--json", "--svg"])
        .arg(&svg)
        .arg("--dxf")
        .arg(&dxf)
        .arg("--xlsx")
        .arg(&xlsx)
        .output()
        .unwrap();
    assert_eq!(output.status.code(), Some(0));
    let coil: Value = serde_json::from_slice(&output.stdout).unwrap();
    let parts = coil["parts"].as_array().unwrap();
    assert_eq!(parts.len(), 62);
    for part in parts {
        let best = &part["layouts"][0];
        let name = &part["part"];
        let number = |value: &Value| value.as_f64().unwrap();
        // Measured on the finished strip: web and margin are kept.
        assert!(
            number(&best["clearance_mm"]) >= number(&part["clearance_mm"]) - 1e-6,
            "{name}"
        );
        assert!(
            number(&best["edge_clearance_mm"]) >= number(&part["margin_mm"]) - 1e-6,
            "{name}"
        );
        assert!(
            number(&best["utilisation"]) <= number(&best["bound"]) + 1e-9,
            "{name}"
        );
    }
    let holding = &coil["holding"];
    assert!(holding["gap"].as_f64().unwrap() < 1e-6);
    assert!(holding["chosen"].as_array().unwrap().len() <= 24);
    assert!(holding["then"]["all"].as_f64() <= holding["now"]["all"].as_f64());
    assert_eq!(
        coil["orders"]["coils"][0]["weeks"]
            .as_array()
            .unwrap()
            .len(),
        13
    );
    assert!(written(&svg.join("roof front.svg")).starts_with("<svg"));
    assert!(written(&dxf.join("roof front.dxf")).contains("POLYLINE"));
    assert!(xlsx.exists());
}

#[test]
fn a_figure_of_the_coil_plan_shows_its_working() {
    let output = linewright()
        .args(["coils", DEMO, "--working", "coil.6016-T4 1.2x1540.reorder"])
        .output()
        .unwrap();
    let shown = String::from_utf8(output.stdout).unwrap();
    assert!(
        shown.contains("reorder_point = daily_use * lead_time + safety"),
        "{shown}"
    );
    assert!(shown.contains("coils, row 6, lead_time_days"), "{shown}");
}

#[test]
fn a_strip_question_is_answered_with_its_bound() {
    let output = solve(
        "strip",
        r#"{"outline": [[0,0],[400,0],[0,300]], "web_mm": 0, "edge_mm": 0,
            "layouts": ["single", "opposed_pair"]}"#,
        &[],
    );
    assert_eq!(output.code, Some(0));
    let answer = output.json();
    assert_ne!(answer["status"], "infeasible");
    // Any triangle: half of the strip alone, all of it as an opposed pair (geometry).
    let used = |n: usize| answer["layouts"][n]["utilisation"].as_f64().unwrap();
    assert!((used(0) - 0.5).abs() < 1e-6 && (used(1) - 1.0).abs() < 1e-6);
    assert!(answer["wall_s"].is_number());
}

#[test]
fn a_strip_too_narrow_is_a_sound_question_without_an_answer() {
    let output = solve(
        "strip",
        r#"{"outline": [[0,0],[400,0],[400,300],[0,300]], "web_mm": 6, "edge_mm": 8,
            "layouts": ["single"], "widths_mm": [200]}"#,
        &[],
    );
    assert_eq!(output.code, Some(1));
    let answer = output.json();
    assert_eq!(answer["status"], "infeasible");
    assert!(
        answer["without"][0]["why"]
            .as_str()
            .unwrap()
            .contains("316 mm")
    );
}

#[test]
fn a_misspelt_key_of_a_strip_question_is_named() {
    let output = solve(
        "strip",
        r#"{"outlin": [[0,0],[400,0],[0,300]], "web_mm": 6, "edge_mm": 8}"#,
        &[],
    );
    assert_eq!(output.code, Some(2));
    let message = output.err;
    assert!(message.contains("outlin"), "{message}");
}

#[test]
fn a_time_limit_of_a_strip_question_is_kept_and_the_answer_holds() {
    // A ragged blank, with far more effort than the time allows.
    let corners: Vec<String> = (0..48)
        .map(|n| {
            let (sin, cos) = (f64::from(n) * std::f64::consts::TAU / 48.0).sin_cos();
            let radius = 220.0 + 8.0 * f64::from(n * 37 % 11);
            format!("[{}, {}]", radius * cos, radius * sin)
        })
        .collect();
    let question = format!(
        r#"{{"outline": [{}], "web_mm": 6, "edge_mm": 8, "effort": 10000000}}"#,
        corners.join(",")
    );
    let output = solve("strip", &question, &["--seconds", "2"]);
    assert_eq!(output.code, Some(0));
    let answer = output.json();
    // A machine busy with other tests may keep a thread waiting for a moment.
    assert!(answer["wall_s"].as_f64().unwrap() < 3.0);
    assert!(answer["best"]["utilisation"].as_f64() <= answer["best"]["bound"].as_f64());
}
