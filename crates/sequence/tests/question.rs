//! The JSON question: what it refuses, and what its answer says.
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test fails by panicking"
)]

use sequence::question::{Status, parse};
use sequence::{Settings, Watch};
use serde_json::{Value, json};

/// Vans of a small day at a plant.
fn day() -> Value {
    json!({
        "classes": [
            {"name": "short grey", "count": 4, "options": [false, false]},
            {"name": "short towed", "count": 3, "options": [true, false]},
            {"name": "long towed", "count": 2, "options": ["towbar", "long body"]}
        ],
        "options": [
            {"name": "towbar", "at_most": 2, "in_every": 3, "weight": 1},
            {"name": "long body", "at_most": 1, "in_every": 3, "weight": 2.5}
        ],
        "colours": {"max_block": 4, "change_weight": 0.5,
                    "of_class": {"short grey": "grey", "short towed": "white", "long towed": "white"}},
        "level": {"weight": 0},
        "before": [{"class": "long towed", "position": 2}]
    })
}

#[track_caller]
fn refused(change: impl FnOnce(&mut Value), path: &str, told: &str) {
    let mut question = day();
    change(&mut question);
    let problems = parse(&question.to_string()).unwrap_err();
    let problem = problems.iter().find(|problem| problem.path == path);
    let problem = problem.unwrap_or_else(|| panic!("{problems:?}"));
    assert!(problem.to_string().contains(told), "{problem}");
}

#[test]
fn a_day_is_ordered_with_its_proof() {
    let question = parse(&day().to_string()).unwrap();
    let answer = question.answer(&Settings::quick(question.seed), &Watch::none());
    assert_eq!(answer.status, Status::Optimal);
    assert_eq!(answer.order.len(), 9);
    assert_eq!(answer.without_violation, "found");
    assert_eq!(answer.broken_musts, 0);
    assert_eq!(answer.lower_bound, answer.total_weighted);
    assert!(answer.order[..2].contains(&"long towed".to_owned()));
    let told = serde_json::to_value(&answer).unwrap();
    assert_eq!(told["violations"], json!({"towbar": 0, "long body": 0}));
    assert_eq!(told["extra"], json!({"towbar": 0, "long body": 0}));
    let changes = answer.colour_changes as f64;
    assert_eq!(answer.total_weighted, 0.5 * changes);
}

#[test]
fn cars_without_colours_have_no_blocks() {
    let mut question = day();
    question["colours"] = json!({"max_block": 2, "change_weight": 0, "of_class": {}});
    let question = parse(&question.to_string()).unwrap();
    let answer = question.answer(&Settings::quick(1), &Watch::none());
    assert_eq!((answer.over_block, answer.colour_changes), (0, 0));
    assert_eq!(answer.status, Status::Optimal);
    assert_eq!(answer.without_violation, "found");
}

#[test]
fn an_order_without_violation_may_be_proven_not_to_exist() {
    let mut question = day();
    question["classes"][1]["count"] = json!(7);
    question["options"][0]["at_most"] = json!(1);
    let question = parse(&question.to_string()).unwrap();
    let answer = question.answer(&Settings::quick(1), &Watch::none());
    assert_eq!(answer.without_violation, "impossible");
    assert_eq!(answer.clash, ["towbar"]);
    assert!(answer.total_weighted >= answer.lower_bound && answer.lower_bound > 0.0);
    assert_eq!(answer.order.len(), 13);
}

#[test]
fn a_hard_rule_that_cannot_hold_makes_the_day_infeasible() {
    let mut question = day();
    question["options"][0] = json!({"name": "towbar", "at_most": 1, "in_every": 3, "hard": true});
    let question = parse(&question.to_string()).unwrap();
    let answer = question.answer(&Settings::quick(1), &Watch::none());
    assert_eq!(answer.status, Status::Infeasible);
    assert!(answer.broken_musts > 0);
    assert_eq!(answer.clash, ["towbar"]);
    assert_eq!(answer.order.len(), 9);
}

#[test]
fn ordered_goals_are_told_group_by_group() {
    let mut question = day();
    question["goals"] = json!([["long body"], "colours", ["towbar"]]);
    question["costs"] = json!(true);
    let question = parse(&question.to_string()).unwrap();
    let answer = question.answer(&Settings::quick(1), &Watch::none());
    assert_eq!(answer.goals.len(), 3);
    assert_eq!(answer.goals[0].value, 0.0);
    let whole = answer.costs.iter().filter(|cost| cost.change == "dropped");
    assert_eq!(whole.count(), 4);
}

#[test]
fn yesterdays_last_cars_and_the_frozen_part_stay_where_they_are() {
    let mut question = day();
    question["previous"] = json!(["long towed", "short towed"]);
    question["frozen"] = json!(["short grey"]);
    let question = parse(&question.to_string()).unwrap();
    let answer = question.answer(&Settings::quick(1), &Watch::none());
    assert_eq!(answer.order[0], "short grey");
    assert_eq!(answer.order.len(), 9);
}

#[test]
fn an_option_that_no_class_has_is_refused() {
    refused(
        |day| {
            let options = day["options"].as_array_mut().unwrap();
            options.push(json!({"name": "sunroof", "at_most": 1, "in_every": 2}));
            for class in day["classes"].as_array_mut().unwrap() {
                class["options"] = json!(["towbar", "long body"]);
            }
        },
        "options[2]",
        "\"sunroof\", which no class with cars has",
    );
}

#[test]
fn counts_that_do_not_match_are_refused() {
    refused(|day| day["cars"] = json!(10), "cars", "expected 9, the sum");
    refused(
        |day| day["classes"][0]["options"] = json!([true]),
        "classes[0].options",
        "one for each of the 2 options",
    );
    refused(
        |day| day["frozen"] = json!(["long towed", "long towed", "long towed"]),
        "frozen",
        "no more than the 2 ordered",
    );
}

#[test]
fn a_rule_that_lets_more_through_than_it_looks_at_is_refused() {
    refused(
        |day| day["options"][0]["at_most"] = json!(4),
        "options[0].at_most",
        "the other way round",
    );
}

#[test]
fn more_cars_than_slots_are_refused() {
    refused(|day| day["slots"] = json!(8), "classes", "take 1 cars out");
}

#[test]
fn a_promise_that_cannot_be_kept_says_what_clashes() {
    refused(
        |day| {
            day["before"] = json!([
                {"class": "long towed", "position": 2, "count": 2},
                {"class": "short grey", "position": 2, "count": 1}
            ]);
        },
        "before[0]",
        "3 cars promised for 2 open places: 1 of \"short grey\"",
    );
    refused(
        |day| {
            day["before"][0]["count"] = json!(2);
            day["options"][1] =
                json!({"name": "long body", "at_most": 1, "in_every": 3, "hard": true});
        },
        "before[0]",
        "2 cars with \"long body\" within 2 places: 2 of \"long towed\"",
    );
}

#[test]
fn misspelt_names_get_the_nearest_one() {
    refused(
        |day| day["before"][0]["class"] = json!("long towd"),
        "before[0].class",
        "did you mean \"long towed\"?",
    );
    refused(
        |day| day["goals"] = json!([["towbr"]]),
        "goals[0][0]",
        "did you mean \"towbar\"?",
    );
    refused(
        |day| day["colours"]["of_class"] = json!({"short gray": "grey"}),
        "colours.of_class.short gray",
        "did you mean \"short grey\"?",
    );
    refused(
        |day| day["colour"] = json!({}),
        "colour",
        "did you mean `colours`?",
    );
}
