//! `linewright solve flow`: a line without a book.

use serde_json::Value;
use tempfile::TempDir;

use crate::support::{Told, solve, written};

fn flow(question: &str, more: &[&str]) -> Told {
    solve("flow", question, more)
}

const SAW_AND_WASH: &str = r#"{"stations": [{"name": "saw", "cycle": {"exponential": 60}},
                                            {"name": "wash", "cycle": {"exponential": 60}}],
    "links": [{"from": "saw", "to": "wash", "holds": 0}],
    "run": {"warm_up_s": 86400, "length_s": 864000, "replications": 10, "seed": 1}}"#;

#[test]
fn a_question_is_answered_with_one_json_object() {
    let output = flow(SAW_AND_WASH, &[]);
    assert_eq!(output.code, Some(0));
    let said: Value = output.json();
    assert_eq!(said["status"], "done");
    // Two exponential stations of one rate hand to hand make 2/3 of it
    // (G. C. Hunt, Operations Research 4, 1956): 40 an hour.
    let (mean, half) = (
        said["rate_per_h"]["mean"].as_f64().unwrap(),
        said["rate_per_h"]["half_width_95"].as_f64().unwrap(),
    );
    // Half as wide again makes the 95 % interval one of more than 99 % for ten
    // replications (Student's t, 9 degrees of freedom: 2.26 and 3.25).
    assert!((mean - 40.0).abs() < 1.5 * half, "{mean} ± {half}");
    for key in ["p10", "p50", "p90", "mean", "half_width_95"] {
        assert!(said["time_in_plant_s"][key].is_number(), "{key}");
    }
    for station in said["stations"].as_array().unwrap() {
        let share = |state: &str| station[state]["mean"].as_f64().unwrap();
        let sum = share("working") + share("starved") + share("blocked") + share("stopped");
        assert!((sum - 1.0).abs() < 1e-9, "{station}");
        assert!(station["queue_mean"].is_number());
    }
    assert!(said["moves"].as_u64().unwrap() > 100_000);
    assert!(said["wall_s"].as_f64().unwrap() > 0.0);
    assert!(said["jobs_in_plant"]["mean"].is_number());
}

#[test]
fn a_malformed_question_names_path_value_and_expectation() {
    for (from, to, wanted) in [
        (
            r#""holds": 0"#,
            r#""holds": -1"#,
            "links[0].holds: found -1, expected places from 0",
        ),
        (
            r#""holds": 0"#,
            r#""room": 0"#,
            "links[0].room: found an unknown key `room`",
        ),
        (
            r#""to": "wash""#,
            r#""to": "wahs""#,
            "did you mean \"wash\"?",
        ),
        (
            r#""length_s": 864000"#,
            r#""length_s": 1e300"#,
            "run.length_s: found 1e300",
        ),
        (r#""links""#, r#""Links""#, "did you mean `links`?"),
    ] {
        let output = flow(&SAW_AND_WASH.replacen(from, to, 1), &[]);
        assert_eq!(output.code, Some(2), "{to}");
        assert!(output.out.is_empty(), "{to}");
        let said = output.err;
        assert!(said.contains(wanted), "{to}: {said}");
    }
}

#[test]
fn the_same_question_has_the_same_answer_on_any_number_of_threads() {
    let answer = |threads: &str| {
        let output = flow(SAW_AND_WASH, &["--threads", threads]);
        let mut said: Value = output.json();
        said.as_object_mut().unwrap().remove("wall_s");
        said
    };
    assert_eq!(answer("1"), answer("3"));
}

#[test]
fn a_seed_on_the_command_line_goes_before_the_question_s_own() {
    let rate = |arguments: &[&str]| {
        let said: Value = flow(SAW_AND_WASH, arguments).json();
        (
            said["run"]["seed"].clone(),
            said["rate_per_h"]["mean"].clone(),
        )
    };
    assert_eq!(rate(&[]), rate(&["--seed", "1"]));
    assert_ne!(rate(&[]).1, rate(&["--seed", "2"]).1);
}

#[test]
fn a_time_limit_gives_what_was_done_until_then() {
    let long = SAW_AND_WASH.replacen("864000", "864000000", 1).replacen(
        "\"replications\": 10",
        "\"replications\": 1000",
        1,
    );
    let output = flow(&long, &["--seconds", "1"]);
    assert_eq!(output.code, Some(0), "{}", output.err);
    let said: Value = output.json();
    assert_eq!(said["status"], "feasible");
    // Some slack for a loaded machine; alone it keeps to 0.1 s.
    assert!(said["wall_s"].as_f64().unwrap() < 2.0, "{said}");
}

#[test]
fn an_answer_goes_to_a_file_when_asked() {
    let folder = TempDir::new().unwrap();
    let file = folder.path().join("answer.json");
    let output = flow(SAW_AND_WASH, &["--out", file.to_str().unwrap()]);
    assert_eq!(output.code, Some(0));
    assert!(output.out.is_empty());
    let said: Value = serde_json::from_str(&written(&file)).unwrap();
    assert_eq!(said["status"], "done");
    let nowhere = folder.path().join("no").join("answer.json");
    let output = flow(SAW_AND_WASH, &["--out", nowhere.to_str().unwrap()]);
    assert_eq!(output.code, Some(2));
}

#[test]
fn the_reference_line_gives_exactly_34_067_jobs() {
    let station = |i: u32| {
        format!(
            r#"{{"name": "station {i}", "cycle": {{"fixed": 60}}, "stops": [{{"basis": "running",
                "between": {{"exponential": 14400}}, "repair": {{"exponential": 300}}}}]}}"#
        )
    };
    let link = |i: u32| {
        format!(
            r#"{{"from": "station {i}", "to": "station {}", "holds": 2}}"#,
            i + 1
        )
    };
    let stations: Vec<String> = (1..=100).map(station).collect();
    let links: Vec<String> = (1..100).map(link).collect();
    let question = format!(
        r#"{{"stations": [{}], "links": [{}], "run": {{"repeatable": {{"splitmix": true}}}}}}"#,
        stations.join(","),
        links.join(",")
    );
    let said: Value = flow(&question, &[]).json();
    // Laid down by the line's definition for seed 1 over 30 days: every engine
    // that follows it counts the same jobs.
    assert_eq!(said["jobs_out"][0], 34_067);
}

#[test]
fn a_loop_that_fills_up_is_an_answer_of_its_own() {
    // Every second job goes round once more, and the loop has two places.
    let question = r#"{"stations": [
        {"name": "join", "cycle": {"fixed": 10}},
        {"name": "look", "cycle": {"fixed": 10}, "first_time_ok": 0.5, "rework_to": "mend"},
        {"name": "mend", "cycle": {"fixed": 30}}],
      "links": [{"from": "join", "to": "look", "holds": 0}, {"from": "look", "to": "mend", "holds": 0},
                {"from": "mend", "to": "join", "holds": 0}],
      "arrivals": [{"station": "join", "between": {"fixed": 15}}],
      "run": {"warm_up_s": 0, "length_s": 86400, "replications": 2}}"#;
    let output = flow(question, &[]);
    assert_eq!(output.code, Some(1), "{}", output.err);
    let said: Value = output.json();
    assert_eq!(said["status"], "infeasible");
    let stuck = said["stuck"]["stations"].as_array().unwrap();
    assert!(stuck.iter().any(|name| name == "mend"), "{said}");
    assert!(
        said["stuck"]["mend"]
            .as_str()
            .unwrap()
            .starts_with("raise links["),
        "{said}"
    );
}
