//! The JSON question and its answer.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test that cannot go on stops where it stands"
)]

use balance::question::{Answer, Status, parse};
use balance::{Limits, Watch};

fn answer(text: &str) -> Answer {
    let question = parse(text).unwrap_or_else(|problems| panic!("{}", problems[0]));
    let limits = Limits {
        memory_mb: 50,
        steps: Some(1_000_000),
    };
    question.solve(&limits, &Watch::none())
}

fn problems(text: &str) -> Vec<String> {
    let problems = parse(text).unwrap_err();
    problems.iter().map(ToString::to_string).collect()
}

#[test]
fn fewest_stations_come_with_order_load_and_bound() {
    let answer = answer(
        r#"{"tasks": [{"name": "wire", "s": 6}, {"name": "seal", "s": 3.5, "after": ["wire"]},
                      {"name": "clip", "s": 5, "after": ["wire"]}], "takt_s": 10}"#,
    );
    assert_eq!(
        (answer.status, answer.count, answer.lower_bound),
        (Status::Optimal, 2, 2.0)
    );
    assert_eq!(answer.stations[0].tasks[0], "wire");
    let loads: f64 = answer.stations.iter().map(|station| station.load_s).sum();
    assert_eq!(
        (loads, answer.takt_s, answer.efficiency),
        (14.5, 10.0, 0.725)
    );
    let written = serde_json::to_value(&answer).unwrap();
    assert_eq!(written["status"], "optimal");
    assert!(written.get("why").is_none());
}

#[test]
fn least_takt_is_told_in_seconds() {
    let answer = answer(
        r#"{"tasks": [{"name": "a", "s": 0.4}, {"name": "b", "s": 0.3}, {"name": "c", "s": 0.5}],
            "objective": "takt", "stations": 2}"#,
    );
    assert_eq!(
        (answer.status, answer.takt_s, answer.lower_bound),
        (Status::Optimal, 0.7, 0.7)
    );
}

#[test]
fn two_sides_name_the_side_of_each_post() {
    let answer = answer(
        r#"{"tasks": [{"name": "l", "s": 4, "side": "left"}, {"name": "r", "s": 4, "side": "right"}],
            "takt_s": 5, "sides": 2}"#,
    );
    assert_eq!(answer.count, 1);
    let sides: Vec<&str> = answer.stations.iter().map(|station| station.side).collect();
    assert_eq!(sides, ["left", "right"]);
}

#[test]
fn rules_of_place_are_kept() {
    let answer = answer(
        r#"{"tasks": [{"name": "a", "s": 1}, {"name": "b", "s": 1}, {"name": "c", "s": 1},
                      {"name": "d", "s": 1}],
            "takt_s": 4, "fixed": {"a": 2}, "same_station": [["a", "b"]],
            "not_same_station": [["b", "c"]], "station_after": [["a", "d", 2]]}"#,
    );
    let at = |task: &str| {
        let station = answer
            .stations
            .iter()
            .find(|s| s.tasks.iter().any(|name| name == task));
        station.unwrap().station
    };
    assert_eq!((at("a"), at("b"), at("d")), (2, 2, 4));
    assert_ne!(at("c"), 2);
    assert_eq!((answer.count, answer.status), (4, Status::Optimal));
}

#[test]
fn models_are_weighed_and_each_is_limited() {
    let text = |overload: f64| {
        format!(
            r#"{{"tasks": [{{"name": "a"}}, {{"name": "b"}}], "takt_s": 100,
                "models": [{{"name": "van", "share": 0.8, "s": {{"a": 40, "b": 40}}}},
                           {{"name": "long van", "share": 0.2, "s": {{"a": 60, "b": 60}}}}],
                "overload_share": {overload}}}"#
        )
    };
    assert_eq!(answer(&text(0.2)).count, 1);
    assert_eq!(answer(&text(0.1)).count, 2);
    assert_eq!(answer(&text(0.2)).stations[0].load_s, 88.0);
}

#[test]
fn least_cost_names_kind_tools_and_changes() {
    let answer = answer(
        r#"{"tasks": [{"name": "bead", "modes": [{"by": "person", "s": 50},
                                                 {"by": "robot", "tool": "gun", "s": 20}]},
                      {"name": "set", "after": ["bead"],
                       "modes": [{"by": "person", "s": 50},
                                 {"by": "robot", "tool": "cup", "s": 15}]}],
            "takt_s": 60, "objective": "cost",
            "by": [{"name": "person", "cost_per_year": 60000},
                   {"name": "robot", "cost_per_year": 70000, "tool_change_s": 10,
                    "max_per_station": 1,
                    "tools": [{"name": "gun", "cost_per_year": 5000},
                              {"name": "cup", "cost_per_year": 4000}]}]}"#,
    );
    assert_eq!(
        (answer.status, answer.cost_per_year),
        (Status::Optimal, Some(79_000))
    );
    let robot = &answer.stations[0];
    assert_eq!(
        (robot.by.as_str(), robot.tool_changes, robot.load_s),
        ("robot", 2, 55.0)
    );
    assert_eq!(robot.tools, ["gun", "cup"]);
}

#[test]
fn a_task_longer_than_takt_is_sound_but_infeasible_and_says_why() {
    let answer = answer(r#"{"tasks": [{"name": "roof", "s": 12}], "takt_s": 10}"#);
    assert_eq!(answer.status, Status::Infeasible);
    assert_eq!(
        answer.why,
        [
            "\"roof\" takes 12 at its quickest, 2 more than a station may take (10); split it, let \
          stations in parallel do it, or allow a takt of 12"
        ]
    );
}

#[test]
fn every_misfit_is_named_at_once_with_its_way_out() {
    let told = problems(
        r#"{"tasks": [{"name": "a", "s": 1, "after": ["bb"], "side": "left"},
                      {"name": "b", "s": -1}, {"name": "b", "s": 1}],
            "takt_s": 10, "objektive": "takt"}"#,
    );
    assert_eq!(told.len(), 5, "{told:#?}");
    assert!(
        told[0].starts_with("objektive: found an unknown key"),
        "{}",
        told[0]
    );
    assert!(
        told.iter().any(|t| t.contains("did you mean \"b\"?")),
        "{told:#?}"
    );
    assert!(
        told.iter()
            .any(|t| t.starts_with("tasks[2].name: found \"b\" a second time"))
    );
    assert!(told.iter().any(|t| t.contains("write \"sides\": 2")));
}

#[test]
fn a_circle_is_a_misfit_with_its_tasks() {
    let told = problems(
        r#"{"tasks": [{"name": "a", "s": 1, "after": ["b"]}, {"name": "b", "s": 1, "after": ["a"]}],
            "takt_s": 10}"#,
    );
    assert_eq!(told.len(), 1);
    assert!(
        told[0].contains("circle: \"") && told[0].contains("drop one of these"),
        "{}",
        told[0]
    );
}

const BY_COST: &str = r#""tasks": [
    {"name": "drill", "modes": [{"by": "person", "s": 50}, {"by": "robot", "s": 20}]},
    {"name": "screw", "after": ["drill"], "modes": [{"by": "person", "s": 50}, {"by": "robot", "s": 20}]}],
    "by": [{"name": "person", "cost_per_year": 60000}, {"name": "robot", "cost_per_year": 75000}]"#;

#[test]
fn a_budget_buys_a_takt_and_the_bound_is_in_seconds() {
    let answer = answer(&format!(
        r#"{{{BY_COST}, "objective": "takt", "budget_per_year": 80000}}"#
    ));
    // One robot does both in 40 s; two people would take 120,000.
    assert_eq!((answer.takt_s, answer.lower_bound), (40.0, 40.0));
    assert_eq!(
        (answer.cost_per_year, answer.status),
        (Some(75_000), Status::Optimal)
    );
}

#[test]
fn every_number_of_stations_on_the_frontier_has_a_bound_of_its_own() {
    // Two people are dearer than one robot here, and cheaper with a dear robot.
    let text = format!(r#"{{{BY_COST}, "objective": "frontier", "takt_s": 60}}"#);
    let answer = answer(&text.replace("75000", "130000"));
    let points: Vec<_> = answer
        .frontier
        .iter()
        .map(|point| (point.stations, point.cost_per_year, point.lower_bound))
        .collect();
    assert_eq!(points, [(1, 130_000, 130_000), (2, 120_000, 120_000)]);
    assert_eq!((answer.cost_per_year, answer.count), (Some(120_000), 2));
}

#[test]
fn a_question_of_cost_takes_sides_models_people_and_rules_of_place() {
    let text = r#"{"tasks": [
        {"name": "wire left", "side": "left", "modes": [{"by": "person", "s": 50}]},
        {"name": "wire right", "side": "right", "modes": [{"by": "person", "s": 40}]},
        {"name": "bead", "after": ["wire left"],
         "modes": [{"by": "person", "s": 55}, {"by": "robot", "tool": "gun", "s": 20}]},
        {"name": "set", "after": ["bead"],
         "modes": [{"by": "person", "s": 50}, {"by": "robot", "tool": "cup", "s": 15}]},
        {"name": "hook", "modes": [{"by": "person", "s": 30}]}],
      "by": [{"name": "person", "cost_per_year": 60000},
             {"name": "robot", "cost_per_year": 70000, "tool_change_s": 10,
              "tools": [{"name": "gun", "cost_per_year": 5000}, {"name": "cup", "cost_per_year": 4000}]}],
      "models": [{"name": "van", "share": 0.75, "without": ["hook"]}, {"name": "with hook", "share": 0.25}],
      "sides": 2, "overload_share": 0.2, "not_same_station": [["wire right", "hook"]],
      "station_cost_per_year": 1000, "takt_s": 60, "objective": "OBJECTIVE"}"#;
    let by_cost = answer(&text.replace("OBJECTIVE", "cost"));
    // Two people wire, a robot does bead and set in 55 s, and somebody the hook:
    // with people alone there would be five posts.
    let robot = by_cost
        .stations
        .iter()
        .find(|post| post.by == "robot")
        .unwrap();
    assert_eq!(
        (robot.tasks.len(), robot.tool_changes, robot.load_s),
        (2, 2, 55.0)
    );
    assert_eq!(by_cost.cost_per_year, Some(3 * 60_000 + 79_000 + 3_000));
    assert!(by_cost.lower_bound <= 262_000.0 && by_cost.lower_bound >= 150_000.0);
    let of = |name: &str| {
        let mut posts = by_cost.stations.iter();
        posts
            .find(|post| post.tasks.iter().any(|task| task == name))
            .unwrap()
    };
    assert_eq!(
        (of("wire left").side, of("wire right").side),
        ("left", "right")
    );
    assert_ne!(of("hook").station, of("wire right").station);
    // People alone do it on two stations, dearer.
    let frontier = answer(&text.replace("OBJECTIVE", "frontier"));
    assert!(
        frontier
            .frontier
            .iter()
            .all(|point| point.lower_bound <= point.cost_per_year)
    );
    let told = problems(
        &text
            .replace("\"tool_change_s\": 10,", "")
            .replace("OBJECTIVE", "cost"),
    );
    assert!(told[0].contains("\"alone\": \"yes\""), "{told:?}");
}

#[test]
fn a_budget_is_asked_for_on_two_sides_and_only_with_takt() {
    let answer = answer(
        &format!(r#"{{{BY_COST}, "objective": "takt", "budget_per_year": 80000, "sides": 2}}"#)
            .replace("\"robot\", \"cost", "\"robot\", \"alone\": \"yes\", \"cost"),
    );
    assert_eq!((answer.takt_s, answer.cost_per_year), (40.0, Some(75_000)));
    let told = problems(&format!(
        r#"{{{BY_COST}, "objective": "cost", "takt_s": 60, "budget_per_year": 9}}"#
    ));
    assert!(
        told[0].contains("write \"objective\": \"takt\""),
        "{told:?}"
    );
}
