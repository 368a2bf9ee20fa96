//! Goals of a JSON question: each weighs something, and what is in none is told.
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test fails by panicking"
)]

use sequence::question::parse;
use sequence::{Settings, Watch};
use serde_json::{Value, json};

/// Four vans with a towbar, in red, and three without, in blue.
fn week() -> Value {
    json!({
        "classes": [{"name": "A", "count": 4, "options": ["towbar"]},
                    {"name": "B", "count": 3}],
        "options": [{"name": "towbar", "at_most": 1, "in_every": 2}],
        "colours": {"max_block": 2, "of_class": {"A": "red", "B": "blue"}}
    })
}

fn with(change: impl FnOnce(&mut Value)) -> Value {
    let mut week = week();
    change(&mut week);
    week
}

/// What a question is answered with, as its JSON.
fn answered(question: &Value) -> Value {
    let question = parse(&question.to_string()).unwrap();
    let answer = question.answer(&Settings::quick(question.seed), &Watch::none());
    serde_json::to_value(&answer).unwrap()
}

#[track_caller]
fn refused(question: &Value, path: &str, told: &str) {
    let problems = parse(&question.to_string()).unwrap_err();
    let problem = problems.iter().find(|problem| problem.path == path);
    let problem = problem.unwrap_or_else(|| panic!("{problems:?}"));
    assert!(problem.to_string().contains(told), "{problem}");
}

#[test]
fn colours_that_come_first_are_minded_without_a_weight() {
    let answer = answered(&with(|week| {
        week["goals"] = json!([["colours"], ["towbar"]]);
    }));
    // AABBAAB: blocks of two at the most, and seven cars.
    assert_eq!(answer["colour_changes"], 3);
    assert_eq!(answer["goals"][0], json!({"value": 3.0, "at_least": 3.0}));
}

#[test]
fn level_use_that_comes_first_is_minded_without_a_weight() {
    let answer = answered(&with(|week| week["goals"] = json!([["level"], ["towbar"]])));
    assert!(answer["level"].as_f64() > Some(0.0));
    assert_eq!(answer["goals"][0]["value"], answer["level"]);
}

#[test]
fn a_weight_of_nothing_beside_its_goal_is_refused_with_the_way_out() {
    refused(
        &with(|week| {
            week["colours"]["change_weight"] = json!(0);
            week["goals"] = json!([["colours"], ["towbar"]]);
        }),
        "colours.change_weight",
        "leave `change_weight` out, which is 1 here, or take \"colours\" out of `goals`",
    );
    refused(
        &with(|week| {
            week["level"] = json!({"weight": 0});
            week["goals"] = json!([["level"]]);
        }),
        "level.weight",
        "leave `weight` out",
    );
    refused(
        &with(|week| {
            week["options"][0]["weight"] = json!(0);
            week["goals"] = json!([["towbar"]]);
        }),
        "options[0].weight",
        "`goals` names \"towbar\"",
    );
}

#[test]
fn a_goal_that_nothing_can_be_gained_in_is_refused() {
    refused(
        &with(|week| {
            week["colours"] = json!({});
            week["goals"] = json!(["colours"]);
        }),
        "goals",
        "no class has a colour",
    );
    refused(
        &with(|week| {
            week["level"] = json!({"parts": []});
            week["goals"] = json!(["level"]);
        }),
        "goals",
        "write what cars use in `level.parts`",
    );
    refused(
        &with(|week| {
            week["before"] = json!([{"class": "A", "position": 2}]);
            week["goals"] = json!(["promises", "towbar"]);
        }),
        "goals",
        "give a promise a `weight` above 0",
    );
    refused(
        &with(|week| {
            week["options"][0] = json!({"name": "towbar"});
            week["goals"] = json!(["towbar"]);
        }),
        "goals[0]",
        "give it `at_most` and `in_every`",
    );
}

#[test]
fn what_goals_leave_out_is_named_beside_the_best_order() {
    let answer = answered(&with(|week| {
        week["before"] = json!([{"class": "A", "position": 2, "count": 2, "weight": 5}]);
        week["colours"]["change_weight"] = json!(1);
        week["goals"] = json!([["promises"]]);
    }));
    assert_eq!(answer["status"], "optimal");
    assert_eq!(answer["not_minded"], json!(["towbar", "colours"]));
    let told = answer["not_minded_told"].as_str().unwrap();
    assert!(told.contains("\"towbar\", \"colours\""), "{told}");
}

#[test]
fn where_all_that_weighs_is_a_goal_nothing_is_left_out() {
    let answer = answered(&with(|week| {
        week["goals"] = json!([["towbar"], ["colours"]]);
        week["options"][0] = json!({"name": "towbar", "at_most": 1, "in_every": 2, "hard": true});
    }));
    assert_eq!(answer["not_minded"], Value::Null);
    assert_eq!(answer["not_minded_told"], Value::Null);
}

#[test]
fn an_order_without_violation_is_looked_for_though_colours_come_first() {
    let answer = answered(&with(|week| {
        week["goals"] = json!([["colours"], ["towbar"]]);
    }));
    assert_eq!(answer["status"], "optimal");
    assert_eq!(answer["violations"]["towbar"], 2);
    assert_eq!(answer["without_violation"], "possible");
    let alternating = json!(["A", "B", "A", "B", "A", "B", "A"]);
    assert_eq!(answer["clean_order"], alternating);
    let why = answer["why"].as_str().unwrap();
    assert!(
        why.ends_with("but the goals put \"colours\" first"),
        "{why}"
    );
}

#[test]
fn where_colours_come_first_and_cars_are_many_it_is_said_that_nothing_was_looked_for() {
    let question = with(|week| {
        for (at, cars) in [(0, 60), (1, 70)] {
            week["classes"][at]["count"] = json!(cars);
        }
        week["goals"] = json!([["colours"], ["towbar"]]);
    });
    let question = parse(&question.to_string()).unwrap();
    let settings = Settings {
        steps: 1_000,
        proof_states: 10,
        ..Settings::quick(1)
    };
    let answer = question.answer(&settings, &Watch::none());
    assert_eq!(answer.without_violation, "unknown");
    assert_eq!(
        answer.why.unwrap(),
        "not looked for: the goals put \"colours\" first"
    );
}

#[test]
fn violations_that_are_cheaper_than_changes_of_colour_are_said_to_be_weighed() {
    let answer = answered(&with(|week| week["colours"]["change_weight"] = json!(9)));
    assert_eq!(answer["without_violation"], "possible");
    let why = answer["why"].as_str().unwrap();
    assert!(why.ends_with("are weighed against \"colours\""), "{why}");
}

#[test]
fn a_handful_of_cars_is_counted_out_before_anything_is_tried() {
    // A hard rule that alternates the cars: six changes of colour, proven.
    let answer = answered(&with(|week| {
        week["options"][0]["hard"] = json!(true);
        week["goals"] = json!([["towbar"], ["colours"]]);
    }));
    assert_eq!(
        (&answer["status"], &answer["moves"]),
        (&json!("optimal"), &json!(0))
    );
    assert_eq!(answer["goals"][1], json!({"value": 6.0, "at_least": 6.0}));
    // Three promised in the first three places, and a rule that forbids it.
    let answer = answered(&json!({
        "classes": [{"name": "A", "count": 3, "options": ["x"]}, {"name": "B", "count": 6}],
        "options": [{"name": "x", "at_most": 1, "in_every": 3, "hard": true}],
        "before": [{"class": "A", "position": 7, "count": 3},
                   {"class": "B", "position": 3, "count": 3}]
    }));
    assert_eq!(
        (&answer["status"], &answer["moves"]),
        (&json!("infeasible"), &json!(0))
    );
    assert_eq!(answer["clash"], json!(["x", "3 of B within 3"]));
    // Five red cars in blocks of two, with one other between them.
    let answer = answered(&json!({
        "classes": [{"name": "A", "count": 5}, {"name": "B", "count": 1}],
        "colours": {"max_block": 2, "change_weight": 1, "of_class": {"A": "red", "B": "blue"}}
    }));
    assert_eq!(
        (&answer["moves"], &answer["broken_musts"]),
        (&json!(0), &json!(1))
    );
    assert_eq!(answer["clash"], json!(["longest block of red"]));
    let why = answer["why"].as_str().unwrap();
    assert!(why.ends_with("5 to be built beside 1 other"), "{why}");
}

#[test]
fn what_a_rule_costs_a_handful_of_cars_is_counted_out_too() {
    let answer = answered(&with(|week| {
        week["goals"] = json!([["colours"], ["towbar"]]);
        week["costs"] = json!(true);
    }));
    let moves = answer["costs"].as_array().unwrap().iter();
    let moves: Vec<u64> = moves.map(|cost| cost["moves"].as_u64().unwrap()).collect();
    assert_eq!(moves, [0, 0, 0]);
}

#[test]
fn level_use_is_held_against_goal_chasing_and_the_least_there_is() {
    // Y. Monden's products A, B, C with parts of our own.
    let monden = json!({
        "classes": [{"name": "A", "count": 2}, {"name": "B", "count": 3}, {"name": "C", "count": 5}],
        "level": {"weight": 1, "parts": [
            {"name": "a1", "per_car": {"A": 1, "C": 1}}, {"name": "a2", "per_car": {"A": 1, "B": 1}},
            {"name": "a3", "per_car": {"B": 1, "C": 1}}, {"name": "a4", "per_car": {"A": 1}}]}
    });
    let answer = answered(&monden);
    let chased = answer["goal_chasing"]["order"].as_array().unwrap();
    assert_eq!(chased.len(), 10);
    let least = answer["least_level"]["level"].as_f64();
    assert!(answer["goal_chasing"]["level"].as_f64() >= least);
    assert_eq!(answer["least_level"]["proven"], true);
    assert_eq!(answer["level"].as_f64(), least);

    let mut frozen = monden.clone();
    frozen["frozen"] = json!(["A", "A"]);
    let answer = answered(&frozen);
    let chased = answer["goal_chasing"]["order"].as_array().unwrap();
    assert_eq!(chased[..2], [json!("A"), json!("A")]);
    assert!(answer["least_level"]["level"].as_f64() > least);

    let answer = answered(&week());
    assert_eq!(
        answer["goal_chasing"],
        Value::Null,
        "level use is not weighed"
    );
}
