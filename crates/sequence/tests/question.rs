//! The JSON question: what it refuses, and what its answer says.
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test fails by panicking"
)]

use std::sync::atomic::{AtomicU32, Ordering};

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
fn held_cars_stand_behind_the_place_from_which_they_are_there() {
    let mut question = day();
    question["before"] = json!([]);
    question["held"] = json!([{"class": "long towed", "until": 6, "ready": 1}]);
    let told = answered(&question);
    assert_eq!(
        told["early"],
        json!([{"class": "long towed", "ready": 1, "until": 6, "early": 0}])
    );
    let order = told["order"].as_array().unwrap();
    let early = order[..6].iter().filter(|class| *class == "long towed");
    assert!(early.count() <= 1, "{order:?}");
}

#[test]
fn held_cars_that_leave_too_few_before_them_are_named() {
    let mut question = day();
    question["before"] = json!([]);
    question["held"] = json!([{"class": "long towed", "until": 8}]);
    let told = answered(&question);
    assert_eq!(told["status"], "infeasible");
    assert_eq!(told["early"][0]["early"], 1);
    assert_eq!(told["broken_musts"], 1);
    assert_eq!(told["clash"], json!(["long towed held until 8"]));
}

#[test]
fn a_promise_of_held_cars_and_a_hold_of_no_class_are_refused() {
    refused(
        |day| day["held"] = json!([{"class": "long towed", "until": 4}]),
        "before[0]",
        "0 are there before place 5",
    );
    refused(
        |day| day["held"] = json!([{"class": "bus", "until": 4}]),
        "held[0].class",
        "bus",
    );
    refused(
        |day| day["held"] = json!([{"class": "long towed"}]),
        "held[0].until",
        "",
    );
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
        "one for each of 2 options",
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
    refused(
        |day| day["slots"] = json!(8),
        "classes",
        "take 1 car out or give 9 slots",
    );
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

/// What a question is answered with, as its JSON.
fn answered(question: &Value) -> Value {
    let question = parse(&question.to_string()).unwrap();
    let answer = question.answer(&Settings::quick(question.seed), &Watch::none());
    serde_json::to_value(&answer).unwrap()
}

/// Promises that each of two rules allows by itself.
fn two_rules() -> Value {
    json!({
        "classes": [{"name": "towed", "count": 3, "options": ["towbar"]},
                    {"name": "long", "count": 3, "options": ["long body"]},
                    {"name": "plain", "count": 6}],
        "options": [{"name": "towbar", "at_most": 1, "in_every": 2, "hard": true},
                    {"name": "long body", "at_most": 1, "in_every": 3, "hard": true}],
        "before": [{"class": "towed", "position": 5, "count": 3},
                   {"class": "long", "position": 5, "count": 2},
                   {"class": "plain", "position": 12, "count": 5}]
    })
}

#[test]
fn promises_that_two_rules_forbid_together_are_named_with_both() {
    // Three with towbar in the first five leave places 2 and 4 to the long ones,
    // which stand three apart.
    let answer = answered(&two_rules());
    assert_eq!(answer["status"], "infeasible");
    assert_eq!(answer["without_violation"], "impossible");
    let named = [
        "towbar",
        "long body",
        "3 of towed within 5",
        "2 of long within 5",
    ];
    assert_eq!(answer["clash"], json!(named));
    assert_eq!(
        answer["because"][0],
        json!({"kind": "rule", "option": "towbar", "at_most": 1, "in_every": 2, "cars": 3,
               "told": "no more than 1 with \"towbar\" among any 2 in a row, 3 to be built"})
    );
    assert_eq!(
        answer["because"][3],
        json!({"kind": "promise", "class": "long", "count": 2, "within": 5,
               "told": "2 of \"long\" promised within 5 places"})
    );
    let why = answer["why"].as_str().unwrap();
    assert!(
        why.starts_with("proven that no order keeps together"),
        "{why}"
    );
}

#[test]
fn a_promise_that_yesterdays_last_car_forbids_names_it() {
    let answer = answered(&json!({
        "classes": [{"name": "towed", "count": 3, "options": ["towbar"]},
                    {"name": "plain", "count": 6}],
        "options": [{"name": "towbar", "at_most": 1, "in_every": 2, "hard": true}],
        "previous": ["towed"],
        "before": [{"class": "towed", "position": 1}]
    }));
    assert_eq!(answer["status"], "infeasible");
    let named = ["towbar", "1 of towed within 1", "previous cars"];
    assert_eq!(answer["clash"], json!(named));
    assert_eq!(answer["because"][2]["classes"], json!(["towed"]));
}

#[test]
fn a_frozen_part_that_leaves_no_room_for_a_soft_promise_is_named() {
    let answer = answered(&json!({
        "classes": [{"name": "towed", "count": 3}, {"name": "plain", "count": 6}],
        "frozen": ["plain", "plain"],
        "before": [{"class": "towed", "position": 3, "count": 2, "weight": 5}]
    }));
    assert_eq!(answer["without_violation"], "impossible");
    assert_eq!(
        answer["clash"],
        json!(["2 of towed within 3", "frozen cars"])
    );
}

#[test]
fn a_colour_with_too_few_others_between_its_blocks_is_named() {
    let answer = answered(&json!({
        "classes": [{"name": "a", "count": 4}, {"name": "b", "count": 2}],
        "colours": {"max_block": 1, "change_weight": 1, "of_class": {"a": "red", "b": "blue"}}
    }));
    assert_eq!(answer["status"], "infeasible");
    assert_eq!(answer["clash"], json!(["longest block of red"]));
    assert_eq!(answer["because"][0]["cars"], 4);
    assert_eq!(answer["because"][0]["others"], 2);
}

#[test]
fn what_is_neither_found_nor_shown_not_to_exist_is_said_to_be_not_proved() {
    let question = parse(&two_rules().to_string()).unwrap();
    let settings = Settings {
        proof_states: 0,
        ..Settings::quick(1)
    };
    let answer = question.answer(&settings, &Watch::none());
    assert_eq!(answer.without_violation, "unknown");
    assert!(answer.why.unwrap().starts_with("not proved"));
}

#[test]
fn goals_that_are_none_or_named_twice_are_refused_in_the_words_of_the_question() {
    for none in [json!([]), json!([[]])] {
        refused(
            |day| day["goals"] = none,
            "goals",
            "leave `goals` out for one weighted sum",
        );
    }
    refused(
        |day| day["goals"] = json!(["colours", "towbar", "towbar"]),
        "goals",
        "\"towbar\" twice",
    );
    refused(
        |day| day["goals"] = json!([["colours"], ["colours"]]),
        "goals",
        "\"colours\" twice",
    );
}

#[test]
fn a_rule_without_weight_says_what_it_must_break_all_the_same() {
    let answer = answered(&json!({
        "classes": [{"name": "plain", "count": 4}, {"name": "towed", "count": 2,
                     "options": ["towbar"]}],
        "options": [{"name": "towbar", "at_most": 0, "in_every": 3, "weight": 0}]
    }));
    assert_eq!(answer["without_violation"], "impossible");
    assert_eq!(answer["clash"], json!(["towbar"]));
    // Both at one end: two runs of three see a towbar, whatever stands between.
    assert_eq!(answer["rules"][0]["at_least"], 2);
    assert!(answer["rules"][0]["windows"].as_u64() >= Some(2));
    assert_eq!(
        (&answer["total_weighted"], &answer["lower_bound"]),
        (&json!(0.0), &json!(0.0))
    );
}

#[test]
fn what_is_in_no_goal_is_in_no_sum() {
    let mut question = day();
    question["classes"][1]["count"] = json!(7);
    question["options"][0]["at_most"] = json!(1);
    question["goals"] = json!([["long body"]]);
    let answer = answered(&question);
    assert_eq!(answer["status"], "optimal");
    assert_eq!(
        (&answer["total_weighted"], &answer["lower_bound"]),
        (&json!(0.0), &json!(0.0))
    );
    assert!(answer["violations"]["towbar"].as_u64() > Some(0));
}

#[test]
fn a_month_of_cars_with_many_options_is_used_evenly() {
    let options: Vec<Value> = (0..12)
        .map(|n| json!({"name": format!("option {n}")}))
        .collect();
    let class = |at: usize| {
        let has: Vec<bool> = (0..12)
            .map(|option| (at * 5 + option * 3) % 7 < 3)
            .collect();
        json!({"name": format!("class {at}"), "count": 1_000, "options": has})
    };
    let classes: Vec<Value> = (0..8).map(class).collect();
    let mut month = json!({"classes": classes, "options": options, "level": {"weight": 1}});
    let question = parse(&month.to_string()).unwrap();
    let settings = Settings {
        steps: 1_000,
        walkers: 1,
        ..Settings::quick(1)
    };
    let answer = question.answer(&settings, &Watch::none());
    let (total, level) = (answer.total_weighted, answer.level);
    assert!(
        (total - level).abs() < 0.01 * level + 100.0,
        "{total} {level}"
    );
    // A weight that no sum holds is answered with one that it does.
    month["level"]["weight"] = json!(1_000_000);
    let problems = parse(&month.to_string()).unwrap_err();
    assert!(
        problems[0]
            .to_string()
            .contains("lower the weight of level use to ")
    );
    let most = problems[0]
        .mend
        .split_whitespace()
        .find_map(|word| word.trim_end_matches(',').parse::<u32>().ok());
    month["level"]["weight"] = json!(most.unwrap());
    assert!(parse(&month.to_string()).is_ok());
}

/// A watch whose limit on time goes by as it is looked at.
fn in_time<T>(looks: u32, work: impl FnOnce(&Watch<'_>) -> T) -> T {
    let looked = AtomicU32::new(0);
    let gone = || f64::from(looked.fetch_add(1, Ordering::Relaxed)) / f64::from(looks);
    work(&Watch {
        gone: &gone,
        ..Watch::none()
    })
}

/// Cars whose rules cannot all be kept, so that a search ends by its limit
/// alone.
fn overfull() -> Value {
    let mut question = day();
    question["classes"][1]["count"] = json!(30);
    question["classes"][2]["count"] = json!(20);
    question["costs"] = json!(true);
    question
}

#[test]
fn pricing_rules_leaves_the_order_most_of_the_time() {
    let question = parse(&overfull().to_string()).unwrap();
    let settings = Settings {
        steps: 1 << 40,
        proof_states: 0,
        ..Settings::quick(1)
    };
    let answer = in_time(600, |watch| question.answer(&settings, watch));
    assert!(answer.moves > 0);
    assert_eq!(answer.costs.len(), 6);
    assert!(answer.not_priced.is_empty());
    let priced: u64 = answer.costs.iter().map(|cost| cost.moves).sum();
    assert!(answer.moves > priced, "{} {priced}", answer.moves);
    let told = answer.costs_told.unwrap();
    assert!(
        told.contains("first 60 %") && told.contains("6 of 6 changes priced"),
        "{told}"
    );
}

#[test]
fn what_there_is_no_time_to_price_is_told_as_not_priced() {
    let question = parse(&overfull().to_string()).unwrap();
    let answer = in_time(1, |watch| question.answer(&question.settings(), watch));
    assert_eq!((answer.costs.len(), answer.not_priced.len()), (0, 6));
    assert_eq!(answer.not_priced[0].told, "not priced in the time");
    assert_eq!(answer.order.len(), 54);
}

#[test]
fn a_loosened_rule_tells_its_own_breaks_by_the_old_count_and_all_goals() {
    // Four of six cars with towbar, one in three: the order breaks the rule, and
    // goes on breaking it as it was when two in three are let through.
    let answer = answered(&json!({
        "classes": [{"name": "plain", "count": 2, "options": [false]},
                    {"name": "towed", "count": 4, "options": [true]}],
        "options": [{"name": "towbar", "at_most": 1, "in_every": 3, "weight": 2}],
        "goals": [["towbar"]],
        "costs": true
    }));
    assert_eq!(answer["violations"]["towbar"], 2);
    let loosened = &answer["costs"][1];
    assert_eq!(loosened["change"], "2 in every 3");
    assert_eq!(loosened["fewer_violations"], 0);
    assert_eq!(
        (&loosened["own_before"], &loosened["own_left"]),
        (&json!(2), &json!(0))
    );
    assert!(loosened["own_after"].as_u64().unwrap() >= 2);
    assert_eq!(
        (&loosened["total_before"], &loosened["total_after"]),
        (&json!(4.0), &json!(0.0))
    );
    assert_eq!(
        (&loosened["goals_before"], &loosened["goals_after"]),
        (&json!([4.0]), &json!([0.0]))
    );
}

#[test]
fn a_late_car_is_told_beside_its_promise() {
    let answer = answered(&json!({
        "classes": [{"name": "towed", "count": 3}, {"name": "plain", "count": 6}],
        "frozen": ["plain", "plain"],
        "before": [{"class": "towed", "position": 3, "count": 2, "weight": 5},
                   {"class": "plain", "position": 2, "count": 2}]
    }));
    assert_eq!(
        answer["late"],
        json!([{"class": "towed", "count": 2, "within": 3, "late": 1},
               {"class": "plain", "count": 2, "within": 2, "late": 0}])
    );
}

#[test]
fn a_promise_for_a_place_behind_the_last_car_is_a_slip() {
    for position in [10, 25] {
        refused(
            |day| day["before"][0]["position"] = json!(position),
            "before[0].position",
            "a place among the 9 cars of the order; write 9 or less",
        );
    }
    refused(
        |day| day["before"][0]["position"] = json!(0),
        "before[0].position",
        "a place of the order",
    );
}

#[test]
fn without_cars_there_is_nothing_to_order() {
    for classes in [json!([]), json!([{"name": "short grey", "count": 0}])] {
        let problems = parse(&json!({"classes": classes}).to_string()).unwrap_err();
        assert_eq!(problems.len(), 1, "{problems:?}");
        assert_eq!(problems[0].path, "classes");
        assert_eq!(problems[0].mend, "add a class with cars");
    }
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
