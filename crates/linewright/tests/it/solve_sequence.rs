//! `linewright solve sequence` as a person runs it.

use std::collections::BTreeMap;

use serde_json::Value;

use crate::support::solve;

/// Cars of each class in the order answered.
fn counted(answer: &Value) -> BTreeMap<&str, usize> {
    let mut cars = BTreeMap::new();
    for car in answer["order"].as_array().unwrap() {
        *cars.entry(car.as_str().unwrap()).or_default() += 1;
    }
    cars
}

#[test]
fn vans_with_a_towbar_are_kept_apart_and_each_van_is_built_once() {
    let output = solve(
        "sequence",
        r#"{"classes": [{"name": "plain", "count": 3, "options": []},
                        {"name": "towed", "count": 3, "options": ["towbar"]}],
            "options": [{"name": "towbar", "at_most": 1, "in_every": 2, "hard": true}]}"#,
        &[],
    );
    assert_eq!(output.code, Some(0));
    let answer = output.json();
    assert_eq!(answer["status"], "optimal");
    assert_eq!(answer["without_violation"], "found");
    assert_eq!(counted(&answer), [("plain", 3), ("towed", 3)].into());
    let order = answer["order"].as_array().unwrap();
    assert!(order.windows(2).all(|pair| pair != ["towed", "towed"]));
    assert!(answer["wall_s"].is_number());
}

#[test]
fn a_rule_that_must_hold_and_cannot_is_named_with_the_best_order_all_the_same() {
    // Two plain cars keep three towed ones apart; each of the other two stands
    // behind another.
    let output = solve(
        "sequence",
        r#"{"classes": [{"name": "plain", "count": 2, "options": []},
                        {"name": "towed", "count": 5, "options": ["towbar"]}],
            "options": [{"name": "towbar", "at_most": 1, "in_every": 2, "hard": true}]}"#,
        &[],
    );
    assert_eq!(output.code, Some(1));
    let answer = output.json();
    assert_eq!(answer["status"], "infeasible");
    assert_eq!(answer["without_violation"], "impossible");
    assert_eq!(answer["clash"][0], "towbar");
    assert_eq!(answer["violations"]["towbar"], 2);
    assert_eq!(counted(&answer), [("plain", 2), ("towed", 5)].into());
}

#[test]
fn a_malformed_question_is_refused_with_the_place_of_every_misfit() {
    let output = solve(
        "sequence",
        r#"{"classes": [{"name": "towed", "count": 5, "options": ["towbr"]}],
            "options": [{"name": "towbar", "at_most": 3, "in_every": 2}]}"#,
        &[],
    );
    assert_eq!(output.code, Some(2));
    assert!(output.out.is_empty());
    let message = output.err;
    for told in ["options[0].at_most", "classes[0].options[0]", "towbr"] {
        assert!(message.contains(told), "{told}: {message}");
    }
}

/// More cars with more options than any search ends with in a second: every
/// mix of six options.
fn crowded() -> String {
    let rules = [(1, 2), (2, 3), (1, 3), (2, 5), (1, 5), (3, 7)].iter();
    let options: Vec<String> = rules
        .enumerate()
        .map(|(n, (most, every))| {
            format!(r#"{{"name": "option {n}", "at_most": {most}, "in_every": {every}}}"#)
        })
        .collect();
    let classes: Vec<String> = (0..64)
        .map(|mix| {
            let has: Vec<String> = (0..6).map(|n| (mix >> n & 1 == 1).to_string()).collect();
            let count = 1 + mix * 7 % 5;
            let has = has.join(",");
            format!(r#"{{"name": "mix {mix}", "count": {count}, "options": [{has}]}}"#)
        })
        .collect();
    format!(
        r#"{{"classes": [{}], "options": [{}]}}"#,
        classes.join(","),
        options.join(",")
    )
}

#[test]
fn a_time_limit_is_kept_and_what_is_found_by_then_is_the_answer() {
    let question = crowded();
    let limit = 0.5;
    // On a busy machine a thread may be kept waiting: one try in a few shows
    // that it is not the search that overruns.
    let in_time = (0..6).any(|_| {
        let output = solve("sequence", &question, &["--seconds", "0.5"]);
        assert_eq!(output.code, Some(0));
        let answer = output.json();
        let cars: usize = counted(&answer).values().sum();
        assert_eq!(cars, (0..64).map(|mix| 1 + mix * 7 % 5).sum::<usize>());
        assert!(answer["total_weighted"].as_f64() >= answer["lower_bound"].as_f64());
        let took = answer["wall_s"].as_f64().unwrap();
        assert!(took > 0.8 * limit, "ended early, after {took} s");
        took < limit + 0.2
    });
    assert!(in_time, "no try ended within 0.2 s of {limit} s");
}
