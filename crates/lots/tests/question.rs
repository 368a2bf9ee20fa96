//! The JSON question: what it answers, and what it refuses.
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test fails by panicking"
)]

use lots::question::{Question, Status, parse};
use lots::{Settings, Watch};
use proptest::prelude::*;
use serde_json::{Value, json};

fn item(name: &str) -> Value {
    json!({"name": name, "rate_per_day": 400, "make_per_day": 3000, "changeover_days": 0.05,
           "changeover_cost": 15, "hold_cost_per_day": 0.01, "max_cover_days": null,
           "lines": ["P1"]})
}

fn three() -> Value {
    json!({"items": [item("door"), item("roof"), item("hood")],
           "lines": [{"name": "P1", "available": 1.0}],
           "policy": ["common_cycle", "best"]})
}

fn read(question: &Value) -> Question {
    match parse(&question.to_string()) {
        Ok(question) => question,
        Err(problems) => panic!("{}", problems[0]),
    }
}

fn answer(question: &Value) -> Value {
    let question = read(question);
    let settings = Settings {
        work: 20_000_000,
        ..question.settings()
    };
    serde_json::to_value(question.answer(&settings, &Watch::none())).unwrap()
}

/// The only problem of a question.
fn refused(question: &Value) -> (String, String) {
    let problems = parse(&question.to_string()).unwrap_err();
    assert_eq!(problems.len(), 1, "{problems:?}");
    let problem = problems.into_iter().next().unwrap();
    (problem.path.clone(), problem.to_string())
}

#[test]
fn three_equal_items_on_one_line_rotate_at_the_cost_that_none_can_beat() {
    let answer = answer(&three());
    assert_eq!(answer["status"], "optimal");
    // By hand: T = sqrt(3 x 15 / (3 x 0.01 x 400 x (1 - 2/15) / 2)) days.
    let cycle = (15.0_f64 / (0.01 * 400.0 * (13.0 / 15.0) / 2.0)).sqrt();
    for policy in answer["policies"].as_array().unwrap() {
        assert!((policy["cycle_days"].as_f64().unwrap() / cycle - 1.0).abs() < 1e-6);
        assert!((policy["utilisation"]["P1"].as_f64().unwrap() - 0.4).abs() < 1e-9);
    }
    let bound = answer["lower_bound_per_day"].as_f64().unwrap();
    let cost = answer["policies"][1]["cost_per_day"].as_f64().unwrap();
    assert!(bound <= cost && cost < bound * (1.0 + 1e-8));
}

#[test]
fn the_timetable_in_the_answer_never_overlaps_and_never_runs_out() {
    let mut question = three();
    question["items"][0]["max_cover_days"] = json!(1.0);
    question["items"][1]["hold_cost_per_day"] = json!(0.1);
    let answer = answer(&question);
    let policy = &answer["policies"][1];
    let cycle = policy["cycle_days_by_line"]["P1"].as_f64().unwrap();
    let table = policy["timetable"]["P1"].as_array().unwrap();
    let field = |entry: &Value, key: &str| entry[key].as_f64().unwrap();
    for (n, entry) in table.iter().enumerate() {
        let end =
            field(entry, "start_day") + field(entry, "changeover_days") + field(entry, "run_days");
        let next = table
            .get(n + 1)
            .map_or(cycle, |next| field(next, "start_day"));
        assert!(end <= next + 1e-9);
        assert!((field(entry, "run_days") * 3000.0 - field(entry, "lot")).abs() < 1e-6);
        // The lot lasts to the start of the item's next run.
        let later = (1..=table.len())
            .map(|k| ((n + k) % table.len(), (n + k) / table.len()))
            .find(|(at, _)| table[*at]["item"] == entry["item"])
            .unwrap();
        let next_run = field(&table[later.0], "run_start_day") + later.1 as f64 * cycle;
        let gap = next_run - field(entry, "run_start_day");
        assert!((gap - field(entry, "cover_days")).abs() < 1e-9);
        assert!(entry["item"] != "door" || gap <= 1.0);
    }
}

#[test]
fn a_line_that_is_there_for_part_of_the_time_makes_everything_slower() {
    let mut question = three();
    question["lines"][0]["available"] = json!(0.5);
    let answer = answer(&question);
    let policy = &answer["policies"][0];
    assert!((policy["utilisation"]["P1"].as_f64().unwrap() - 0.8).abs() < 1e-9);
    assert!(
        (policy["timetable"]["P1"][0]["changeover_days"]
            .as_f64()
            .unwrap()
            - 0.1)
            .abs()
            < 1e-9
    );
}

#[test]
fn items_spread_over_the_lines_that_can_make_them() {
    let mut question = three();
    question["lines"] = json!([{"name": "P1"}, {"name": "P2"}]);
    question["items"][2]["lines"] = json!(["P1", {"line": "P2", "make_per_day": 6000}]);
    question["items"][1]["lines"] = json!(["P2"]);
    let answer = answer(&question);
    let policy = &answer["policies"][1];
    assert_eq!(policy["items"][0]["line"], "P1");
    assert_eq!(policy["items"][1]["line"], "P2");
    assert!(!policy["timetable"]["P2"].as_array().unwrap().is_empty());
    assert!(answer["lower_bound_per_day"].as_f64() <= policy["cost_per_day"].as_f64());
}

#[test]
fn an_overloaded_line_says_its_missing_hours_and_what_would_free_it() {
    let mut question = three();
    question["hours_per_day"] = json!(20);
    question["days_per_week"] = json!(5);
    question["items"][0]["rate_per_day"] = json!(2500);
    let answer = answer(&question);
    assert_eq!(answer["status"], "infeasible");
    let line = &answer["overload"]["lines"][0];
    assert_eq!(answer["overload"]["proven"], true);
    // 2500/3000 + 2 x 400/3000 is 1.1, and a trace for changeovers once in a
    // hundred years.
    assert!((line["missing_hours_per_week"].as_f64().unwrap() - 10.0).abs() < 1e-3);
    assert_eq!(line["move_items"].as_array().unwrap().len(), 1);
    assert_eq!(line["save_changeover_min"], Value::Null);
    assert_eq!(answer["lower_bound_per_day"], Value::Null);
}

#[test]
fn an_overload_by_short_cover_says_the_minutes_to_save() {
    let mut question = three();
    for n in 0..3 {
        question["items"][n]["max_cover_days"] = json!(0.2);
    }
    let answer = answer(&question);
    let line = &answer["overload"]["lines"][0];
    // Runs take 0.4 of the time and three changeovers of 72 min every 0.2 days
    // 0.75: 0.15 too much. Each may take 57.6 min, 14.4 less.
    assert!((line["missing_hours_per_day"].as_f64().unwrap() - 3.6).abs() < 1e-9);
    assert!((line["save_changeover_min"].as_f64().unwrap() - 14.4).abs() < 1e-9);
    let eased = {
        let mut question = question.clone();
        for n in 0..3 {
            question["items"][n]["changeover_days"] = json!(57.59 / 1440.0);
        }
        self::answer(&question)
    };
    assert_ne!(eased["status"], "infeasible");
    assert!(eased["policies"][0]["cost_per_day"].is_number());
}

#[test]
fn halving_a_changeover_never_loses_and_frees_line_time() {
    let mut question = three();
    question["halved"] = json!(true);
    question["items"][0]["changeover_days"] = json!(0.4);
    question["items"][0]["changeover_cost"] = json!(0);
    let answer = answer(&question);
    let halved = answer["halved"].as_array().unwrap();
    assert_eq!(halved.len(), 4);
    assert_eq!(halved[0]["item"], Value::Null);
    for gain in halved {
        assert!(gain["saved_per_day"].as_f64().unwrap() >= -1e-6);
        assert!(gain["least_cycle_days_saved"].as_f64().unwrap() > 0.0);
    }
}

#[test]
#[expect(clippy::too_many_lines, reason = "a table of refusals")]
fn what_makes_no_sense_is_refused_with_its_place_and_a_way_out() {
    for (pointer, value, path, words) in [
        (
            "/items/0/rate_per_day",
            json!(0),
            "items[0].rate_per_day",
            "raise it to",
        ),
        (
            "/items/1/make_per_day",
            json!(-5),
            "items[1].make_per_day",
            "raise it to",
        ),
        (
            "/items/2/changeover_days",
            json!(-0.1),
            "items[2].changeover_days",
            "0 or more",
        ),
        (
            "/items/0/max_cover_days",
            json!(0),
            "items[0].max_cover_days",
            "raise it to",
        ),
        (
            "/items/0/lines",
            json!(["P2"]),
            "items[0].lines[0]",
            "did you mean \"P1\"?",
        ),
        ("/items/0/lines", json!([]), "items[0].lines", "name a line"),
        (
            "/items/0/lines",
            json!(["P1", "P1"]),
            "items[0].lines",
            "leave one out",
        ),
        (
            "/items/1/name",
            json!("door"),
            "items[1].name",
            "items[0] too",
        ),
        (
            "/lines/0/available",
            json!(1.5),
            "lines[0].available",
            "lower it to 1",
        ),
        (
            "/policy/0",
            json!("commoncycle"),
            "policy[0]",
            "did you mean \"common_cycle\"?",
        ),
        (
            "/items/0/hold_cost_per_day",
            json!(0),
            "items[0].hold_cost_per_day",
            "max_cover_days",
        ),
        ("/lines", json!([]), "lines", "add one"),
    ] {
        let mut question = three();
        *question.pointer_mut(pointer).unwrap() = value;
        let problems = parse(&question.to_string()).unwrap_err();
        let found = problems.iter().find(|problem| problem.path == path);
        let found = found.unwrap_or_else(|| panic!("{pointer}: {problems:?}"));
        assert!(found.to_string().contains(words), "{found}");
    }
    let mut question = three();
    question["items"][0]["max_cover_day"] = json!(3);
    let (path, words) = refused(&question);
    assert_eq!(path, "items[0].max_cover_day");
    assert!(words.contains("did you mean `max_cover_days`?"), "{words}");
}

#[test]
fn the_words_of_a_status_are_those_of_the_other_solvers() {
    for (status, word) in [
        (Status::Optimal, "optimal"),
        (Status::Infeasible, "infeasible"),
    ] {
        assert_eq!(serde_json::to_value(status).unwrap(), word);
    }
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn no_text_makes_the_reader_fail(text in ".{0,200}") {
        if let Err(problems) = parse(&text) {
            prop_assert!(!problems.is_empty());
        }
    }

    #[test]
    fn numbers_from_one_end_of_their_ranges_to_the_other_give_an_answer(
        rate in -9.0..12.0_f64, make in -9.0..12.0_f64, days in -9.0..4.5_f64,
        cost in -9.0..12.0_f64, hold in -12.0..12.0_f64, cover in -6.0..4.5_f64,
        stock in proptest::option::of(-9.0..15.0_f64),
    ) {
        let mut question = three();
        let ten = |power: f64| json!(libm::pow(10.0, power));
        question["items"][0] = json!({"name": "door", "rate_per_day": ten(rate),
            "make_per_day": ten(make), "changeover_days": ten(days), "changeover_cost": ten(cost),
            "hold_cost_per_day": ten(hold), "max_cover_days": ten(cover),
            "max_stock": stock.map(ten)});
        let question = read(&question);
        let settings = Settings { seed: 1, work: 200_000 };
        let answer = question.answer(&settings, &Watch::none());
        for policy in &answer.policies {
            if let Some(cost) = policy.cost_per_day {
                let bound = answer.lower_bound_per_day.unwrap();
                prop_assert!(bound <= cost * (1.0 + 1e-9), "{} {}", bound, cost);
            } else {
                prop_assert!(policy.why.is_some());
                prop_assert!(!policy.why.as_ref().unwrap().contains("replayed"), "{:?}", policy.why);
            }
        }
    }
}
