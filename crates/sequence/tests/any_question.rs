//! Laws that hold for any JSON question with a few cars.
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test fails by panicking"
)]

use proptest::prelude::*;
use proptest::strategy::ValueTree;
use proptest::test_runner::TestRunner;

use sequence::question::{Status, parse};
use sequence::{Settings, Watch};
use serde_json::{Value, json};

/// Numbers near all the edges that a question has.
fn number() -> impl Strategy<Value = u64> {
    prop_oneof![40 => 1_u64..6, 1 => Just(0), 1 => Just(20_001), 1 => Just(1 << 60)]
}

/// A value or, now and then, none.
fn now_and_then(value: impl Strategy<Value = Value>) -> impl Strategy<Value = Value> {
    prop_oneof![4 => value, 1 => Just(Value::Null)]
}

/// Mostly names that are there.
fn name(of: &'static [&'static str]) -> impl Strategy<Value = Value> {
    prop::sample::select(of).prop_map(|name| json!(name))
}

const CLASSES: &[&str] = &["a", "b", "c", "a", "b", "c", "a", "b", "c", "d"];
const GOALS: &[&str] = &["x", "y", "colours", "level", "promises"];

fn class() -> impl Strategy<Value = Value> {
    let options = prop::collection::vec(name(&["x", "y"]), 0..3);
    (prop_oneof![1 => Just(0_u64), 9 => 1_u64..4], options)
        .prop_map(|(count, options)| json!({"count": count, "options": options}))
}

fn option() -> impl Strategy<Value = Value> {
    let weight = prop_oneof![
        1 => Just(json!(0)),
        9 => Just(json!(1)),
        9 => Just(json!(2.5)),
        1 => Just(json!(-1)),
    ];
    (number(), number(), now_and_then(weight), any::<bool>()).prop_map(
        |(most, more, weight, hard)| {
            let mut option = json!({"at_most": most, "in_every": most.saturating_add(more)});
            if hard {
                option["hard"] = json!(true);
            } else if !weight.is_null() {
                option["weight"] = weight;
            }
            option
        },
    )
}

fn promise() -> impl Strategy<Value = Value> {
    let weight = prop_oneof![
        Just(Value::Null),
        (0_u64..4).prop_map(|weight| json!(weight))
    ];
    (name(CLASSES), number(), 1_u64..3, weight).prop_map(|(class, position, count, weight)| {
        let mut promise = json!({"class": class, "position": position, "count": count});
        if !weight.is_null() {
            promise["weight"] = weight;
        }
        promise
    })
}

fn hold() -> impl Strategy<Value = Value> {
    (name(CLASSES), number(), 0_u64..3)
        .prop_map(|(class, until, ready)| json!({"class": class, "until": until, "ready": ready}))
}

fn colours() -> impl Strategy<Value = Value> {
    let of_class = prop::collection::vec(name(&["red", "blue"]), 0..4);
    let weight =
        now_and_then(prop_oneof![1 => Just(0), 5 => 1..3].prop_map(|weight| json!(weight)));
    (0_u64..4, weight, of_class).prop_map(|(block, weight, of_class)| {
        let mut colours = json!({"of_class": {}});
        if block > 0 {
            colours["max_block"] = json!(block);
        }
        if !weight.is_null() {
            colours["change_weight"] = weight;
        }
        for (class, colour) in ["a", "b", "c"].iter().zip(of_class) {
            colours["of_class"][class] = colour;
        }
        colours
    })
}

fn level() -> impl Strategy<Value = Value> {
    prop_oneof![1 => Just(0), 5 => 1..3].prop_map(|weight| json!({"weight": weight}))
}

/// A list with names for its entries.
fn named(list: Vec<Value>, names: [&str; 3]) -> Vec<Value> {
    let name = |(mut value, name): (Value, &str)| {
        value["name"] = json!(name);
        value
    };
    list.into_iter().zip(names).map(name).collect()
}

/// Groups of one or two goals, or none at all.
fn goals() -> impl Strategy<Value = Value> {
    let goals = prop::sample::subsequence(GOALS, 1..=4).prop_shuffle();
    let goals = (goals, 1_usize..3).prop_map(|(goals, each)| {
        let groups = goals.chunks(each).map(<[&str]>::to_vec);
        json!(groups.collect::<Vec<_>>())
    });
    prop_oneof![2 => Just(Value::Null), 3 => goals]
}

/// Questions of which many are refused and many are not.
fn questions() -> impl Strategy<Value = Value> {
    let cars = |most| prop::collection::vec(name(&["a", "b", "c"]), 0..most);
    let lists = (
        prop::collection::vec(class(), 3),
        prop::collection::vec(option(), 2),
        prop::collection::vec(promise(), 0..3),
        prop::collection::vec(hold(), 0..2),
        cars(3),
        prop_oneof![3 => cars(1), 1 => cars(3)],
    );
    let judged = (now_and_then(colours()), now_and_then(level()), goals());
    (lists, judged, any::<bool>(), any::<bool>()).prop_map(|(lists, judged, past_end, costs)| {
        let (classes, options, before, held, previous, frozen) = lists;
        let mut question = json!({
            "classes": named(classes, ["a", "b", "c"]),
            "options": named(options, ["x", "y", "z"]),
            "before": before, "held": held,
            "previous": previous, "frozen": frozen,
            "past_end": past_end, "costs": costs
        });
        // Otherwise most would name an option that no car has.
        question["classes"][0]["options"] = json!(["x", "y"]);
        let (colours, level, goals) = judged;
        for (key, value) in [("colours", colours), ("level", level), ("goals", goals)] {
            if !value.is_null() {
                question[key] = value;
            }
        }
        question
    })
}

#[test]
fn enough_of_the_questions_tried_here_are_answered() {
    let mut runner = TestRunner::deterministic();
    let questions = (0..300).map(|_| questions().new_tree(&mut runner).unwrap().current());
    let answered = questions.filter(|question| parse(&question.to_string()).is_ok());
    let answered = answered.count();
    assert!((75..270).contains(&answered), "{answered} of 300");
}

fn names_in(goals: &Value) -> Vec<String> {
    let groups = goals.as_array().into_iter().flatten();
    let goals = groups.flat_map(|group| group.as_array().into_iter().flatten());
    goals
        .map(|goal| goal.as_str().unwrap().to_owned())
        .collect()
}

/// All that a question gives a weight, by the names that goals have.
fn weighed(question: &Value) -> Vec<String> {
    let above_nothing = |weight: &Value| weight.as_f64().is_some_and(|weight| weight > 0.0);
    let mut names = Vec::new();
    for option in question["options"].as_array().unwrap() {
        let hard = option["hard"] == json!(true);
        if !hard && (option["weight"].is_null() || above_nothing(&option["weight"])) {
            names.push(option["name"].as_str().unwrap().to_owned());
        }
    }
    let mut promises = question["before"].as_array().unwrap().iter();
    for (name, weighs) in [
        (
            "colours",
            above_nothing(&question["colours"]["change_weight"]),
        ),
        ("level", above_nothing(&question["level"]["weight"])),
        (
            "promises",
            promises.any(|promise| above_nothing(&promise["weight"])),
        ),
    ] {
        names.extend(weighs.then(|| name.to_owned()));
    }
    names
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    #[test]
    fn any_small_question_is_refused_with_reasons_or_answered_whole(question in questions()) {
        let settings = Settings { steps: 2_000, proof_states: 20_000, ..Settings::quick(1) };
        let read = match parse(&question.to_string()) {
            Ok(read) => read,
            Err(problems) => {
                prop_assert!(!problems.is_empty());
                for problem in problems {
                    prop_assert!(!problem.mend.is_empty() && !problem.expected.is_empty());
                }
                return Ok(());
            }
        };
        let answer = read.answer(&settings, &Watch::none());
        let classes = question["classes"].as_array().unwrap();
        for order in [&answer.order, &answer.clean_order] {
            for class in classes.iter().filter(|_| !order.is_empty()) {
                let built = order.iter().filter(|name| class["name"] == json!(name)).count();
                prop_assert_eq!(json!(built), class["count"].clone());
            }
        }
        prop_assert!(answer.lower_bound <= answer.total_weighted + 1e-9 || !answer.goals.is_empty());
        prop_assert_eq!(answer.status == Status::Infeasible && answer.broken_musts == 0
            && answer.without_violation == "found", false);
        if let Some(least) = answer.least_level {
            prop_assert!(least.level <= answer.level + 1e-9);
            prop_assert!(answer.goal_chasing.unwrap().level + 1e-9 >= least.level);
        }
        let again = read.answer(&settings, &Watch::none());
        prop_assert_eq!(answer.order, again.order, "the same question has one answer");
    }

    #[test]
    fn what_is_weighed_is_a_goal_or_named_as_not_minded(question in questions()) {
        let Ok(read) = parse(&question.to_string()) else { return Ok(()) };
        let settings = Settings { steps: 100, proof_states: 0, ..Settings::quick(1) };
        let answer = read.answer(&settings, &Watch::none());
        let goals = names_in(&question["goals"]);
        prop_assert!(answer.not_minded.iter().all(|name| !goals.contains(name)));
        for name in weighed(&question) {
            let is_goal = question["goals"].is_null() || goals.contains(&name);
            prop_assert_eq!(!is_goal, answer.not_minded.contains(&name), "{}", name);
        }
        prop_assert_eq!(answer.not_minded.is_empty(), answer.not_minded_told.is_none());
    }
}
