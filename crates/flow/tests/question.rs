//! What the JSON question accepts, what it refuses, and in which words.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test that cannot go on stops where it stands"
)]

#[path = "support/asked.rs"]
mod asked;

use asked::{accepted, refused, repeatable_line_with};
use flow::distribution::Distribution;
use flow::model::{Basis, Gives, Takes, Work};
use flow::question::parse;
use proptest::prelude::*;

/// A sound question of two stations in which one piece can be replaced.
fn two_stations_with(piece: &str, by: &str) -> String {
    let sound = r#"{"stations": [
        {"name": "saw", "cycle": {"exponential": 60}, "units": 1,
         "stops": [{"basis": "running", "between": {"exponential": 14400}, "repair": {"exponential": 300}}],
         "first_time_ok": 0.95, "rework_to": "mend", "scrap": 0.0, "takes": "any", "gives": "share"},
        {"name": "mend", "cycle": {"fixed": 90}},
        {"name": "wash", "cycle": {"fixed": 55}}],
      "links": [{"from": "saw", "to": "wash", "holds": 2, "move_s": 0, "share": 1.0},
                {"from": "saw", "to": "mend", "holds": null},
                {"from": "mend", "to": "wash", "holds": 2}],
      "arrivals": [{"station": "saw", "between": {"exponential": 75}}],
      "fleets": [{"name": "carts", "count": 30, "taken_at": "saw", "returned_at": "wash", "return_s": 120}],
      "run": {"warm_up_s": 86400, "length_s": 864000, "replications": 10, "seed": 1, "start": "empty"}}"#;
    assert!(sound.contains(piece), "the question holds no {piece}");
    sound.replacen(piece, by, 1)
}

#[test]
fn a_question_names_its_network() {
    let question = accepted(&two_stations_with("saw", "saw"));
    let saw = &question.network.stations[0];
    assert_eq!(saw.takes, Takes::Any);
    assert_eq!(saw.gives, Gives::Share);
    assert_eq!(saw.stops[0].basis, Basis::Running);
    assert_eq!(saw.quality.rework.map(|link| link.0), Some(1));
    assert!(matches!(&saw.work, Work::Cycle(cycles)
        if cycles.distributions == [Distribution::Exponential(60.0)]));
    assert_eq!(question.network.links[1].holds, None);
    assert_eq!(question.network.fleets[0].count, 30);
    assert_eq!(question.run.warm_up_s, Some(86_400.0));
    assert_eq!(question.run.seed, 1);
    assert!(question.repeatable.is_none());
}

#[test]
fn every_kind_of_distribution_is_understood() {
    let cases = [
        (r#"{"fixed": 60}"#, Distribution::Fixed(60.0)),
        (r#"{"exponential": 300}"#, Distribution::Exponential(300.0)),
        (r#"{"uniform": [1, 2]}"#, Distribution::Uniform(1.0, 2.0)),
        (
            r#"{"triangular": [1, 2, 4]}"#,
            Distribution::Triangular(1.0, 2.0, 4.0),
        ),
        (r#"{"erlang": [3, 90]}"#, Distribution::Erlang(3, 90.0)),
        (
            r#"{"lognormal": [60, 0.2]}"#,
            Distribution::Lognormal(60.0, 0.2),
        ),
        (
            r#"{"weibull": [1.5, 80]}"#,
            Distribution::Weibull(1.5, 80.0),
        ),
        (
            r#"{"empirical": [55, 60, 71.5]}"#,
            Distribution::Empirical(vec![55.0, 60.0, 71.5]),
        ),
    ];
    for (text, wanted) in cases {
        let question = accepted(&two_stations_with(r#"{"fixed": 55}"#, text));
        let Work::Cycle(cycles) = &question.network.stations[2].work else {
            panic!("a question has no lots");
        };
        assert_eq!(cycles.distributions, [wanted]);
    }
}

/// Piece of the sound question, what is written instead, what is answered.
const MISFITS: [(&str, &str, &str); 30] = [
    (
        r#""basis": "running""#,
        r#""basis": "runing""#,
        r#"stations[0].stops[0].basis: found "runing", expected one of "running", "clock"; did you mean "running"?"#,
    ),
    (
        r#""units": 1"#,
        r#""unit": 1"#,
        "stations[0].unit: found an unknown key `unit`, expected one of `name`, `cycle`, `units`, `stops`, `first_time_ok`, `rework_to`, `scrap`, `takes`, `loads`, `gives`; did you mean `units`?",
    ),
    (
        r#""units": 1"#,
        r#""units": 0"#,
        "stations[0].units: found 0, expected a whole number from 1 to 10000; raise it to 1 or more",
    ),
    (
        r#""units": 1"#,
        r#""units": 1.5"#,
        "stations[0].units: found 1.5, expected a whole number from 1 to 10000 without a fraction; round it to 2",
    ),
    (
        r#""units": 1"#,
        r#""units": "1""#,
        r#"stations[0].units: found "1", expected a whole number from 1 to 10000; write a number"#,
    ),
    (
        r#"{"exponential": 60}"#,
        r#"{"exponential": 1e300}"#,
        "stations[0].cycle.exponential: found 1e300, expected seconds from 0 to 1000000000; lower it to 1000000000 or less",
    ),
    (
        r#"{"exponential": 60}"#,
        r#"{"exponential": -60}"#,
        "stations[0].cycle.exponential: found -60, expected seconds from 0 to 1000000000; raise it to 0 or more",
    ),
    (
        r#"{"exponential": 60}"#,
        r#"{"exponential": NaN}"#,
        "stations[0].cycle.exponential: found `NaN}, \"units\": 1,`, expected JSON; expected value at line 2 column 50",
    ),
    (
        r#"{"exponential": 60}"#,
        r#"{"exponential": 1e999}"#,
        "stations[0].cycle.exponential: found `9}, \"units\": 1,`, expected JSON; number out of range at line 2 column 54",
    ),
    (
        r#"{"exponential": 60}"#,
        r#"{"fixed": 60, "exponential": 60}"#,
        "stations[0].cycle: found `fixed` and `exponential`, expected one distribution; leave `exponential` out",
    ),
    (
        r#"{"exponential": 60}"#,
        r#"{}"#,
        r#"stations[0].cycle: found {}, expected one distribution; write {"fixed": 60}"#,
    ),
    (
        r#"{"exponential": 60}"#,
        r#"60"#,
        "stations[0].cycle: found 60, expected an object with keys `fixed`, `exponential`, `uniform`, `triangular`, `erlang`, `lognormal`, `weibull`, `empirical`; write it as {...}",
    ),
    (
        r#"{"exponential": 60}"#,
        r#"{"uniform": [9, 3]}"#,
        "stations[0].cycle.uniform[1]: found 3, expected no less than the 9 before it; put the numbers in rising order",
    ),
    (
        r#"{"exponential": 60}"#,
        r#"{"triangular": [9, 3]}"#,
        "stations[0].cycle.triangular: found 2 numbers, expected 3 numbers: seconds, seconds, seconds; write 3 numbers",
    ),
    (
        r#"{"exponential": 60}"#,
        r#"{"empirical": []}"#,
        "stations[0].cycle.empirical: found [], expected at least one time; write [60]",
    ),
    (
        r#"{"exponential": 60}"#,
        r#"{"erlang": [2.5, 60]}"#,
        "stations[0].cycle.erlang[0]: found 2.5, expected a whole number of phases; round it to 3",
    ),
    (
        r#""between": {"exponential": 14400}"#,
        r#""between": {"exponential": 0}"#,
        "stations[0].stops[0].between.exponential: found 0, expected seconds from 0.000001 to 1000000000; raise it to 0.000001 or more",
    ),
    (
        r#""first_time_ok": 0.95"#,
        r#""first_time_ok": 95"#,
        "stations[0].first_time_ok: found 95, expected a share from 0 to 1; lower it to 1 or less",
    ),
    (
        r#""rework_to": "mend""#,
        r#""rework_to": "ment""#,
        r#"stations[0].rework_to: found "ment", expected the name of a station; did you mean "mend"?"#,
    ),
    (
        r#""name": "wash""#,
        r#""name": "saw""#,
        r#"stations[2].name: found "saw", the name of stations[0] too, expected a name of its own; write "saw 2""#,
    ),
    (
        r#""name": "wash""#,
        r#""name": """#,
        r#"stations[2].name: found "", expected a name in quotes; write a name"#,
    ),
    (
        r#""holds": 2, "move_s": 0"#,
        r#""move_s": 0"#,
        "links[0].holds: found nothing, expected the key `holds`; add `holds`",
    ),
    (
        r#""share": 1.0"#,
        r#""share": 0.8"#,
        "links[0].share: found shares of the links from this station that add to 0.8, expected shares that add to 1; change 0.8 to 1",
    ),
    (
        r#""count": 30"#,
        r#""count": 0"#,
        "fleets[0].count: found 0, expected a whole number from 1 to 1000000; raise it to 1 or more",
    ),
    (
        r#""station": "saw", "between""#,
        r#""station": "saws", "between""#,
        r#"arrivals[0].station: found "saws", expected the name of a station; did you mean "saw"?"#,
    ),
    (
        r#""length_s": 864000, "#,
        "",
        "run.length_s: found nothing, expected the key `length_s`; add `length_s`",
    ),
    (
        r#""seed": 1"#,
        r#""seed": -1"#,
        "run.seed: found -1, expected a seed from 0 to 1.844674407370955e19; raise it to 0 or more",
    ),
    (
        r#""seed": 1"#,
        r#""seed": 1, "seed": 2"#,
        "run.seed: found this key twice, again in line 12, expected each key once; leave one out",
    ),
    (
        r#""start": "empty""#,
        r#""start": "full""#,
        r#"run.start: found "full", expected one of "empty"; write "empty", the usual"#,
    ),
    (
        r#""takes": "any""#,
        r#""takes": "any", "loads": "as_they_come""#,
        "stations[0].loads: found \"as_they_come\" at a station that takes \"any\", expected \"as_they_come\" only beside `takes` \"one_of_each\"; leave `loads` out or write `takes` \"one_of_each\"",
    ),
];

#[test]
fn what_does_not_fit_is_named_with_its_path_and_its_way_out() {
    let mut wrong = Vec::new();
    for (piece, by, wanted) in MISFITS {
        let answer = refused(&two_stations_with(piece, by));
        if answer != wanted {
            wrong.push(format!("{by}\n  answered {answer}\n  wanted   {wanted}"));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn texts_that_are_no_question_are_refused() {
    for (text, start) in [
        ("", "the question: found the end of the line"),
        ("[]", "the question: found [], expected an object"),
        ("{", "the question: found"),
        ("{} {}", "the question: found `{}`"),
        ("null", "the question: found null"),
        ("{}", "stations: found nothing, expected the key `stations`"),
        (
            r#"{"stations": [], "run": {"length_s": 1}}"#,
            "stations: found no station",
        ),
        (
            r#"{"stations": [{"name": "saw", "cycle": {"fixed": 0}}], "run": {"length_s": 1}}"#,
            "stations[0].cycle: found a cycle of zero at a station that is never short",
        ),
    ] {
        let answer = refused(text);
        assert!(answer.starts_with(start), "{text}: {answer}");
    }
    let deep = "[".repeat(100_000);
    assert!(refused(&deep).contains("recursion limit"));
}

#[test]
fn what_the_engine_finds_is_named_by_path_too() {
    let question = accepted(
        r#"{"stations": [{"name": "a", "cycle": {"fixed": 1}},
                         {"name": "b", "cycle": {"fixed": 1}}, {"name": "c", "cycle": {"fixed": 1}}],
            "links": [{"from": "b", "to": "c", "holds": 1}, {"from": "c", "to": "b", "holds": 1}],
            "run": {"length_s": 100}}"#,
    );
    let problems = question.prepare().expect_err("a loop that no job reaches");
    assert_eq!(problems[0].path, "stations[1]");
    assert_eq!(problems[0].found, "no job that could reach it");
}

#[test]
fn all_misfits_are_listed_at_once() {
    let text = two_stations_with(r#""units": 1"#, r#""units": 0, "colour": "red""#)
        .replace(r#""count": 30"#, r#""count": 0"#)
        .replace(r#""seed": 1"#, r#""seed": 0.5"#);
    let problems = parse(&text).expect_err("four slips");
    let paths: Vec<&str> = problems.iter().map(|p| p.path.as_str()).collect();
    assert_eq!(
        paths,
        [
            "stations[0].colour",
            "stations[0].units",
            "fleets[0].count",
            "run.seed"
        ]
    );
}

#[test]
fn shares_left_out_divide_the_rest() {
    let question = accepted(
        r#"{"stations": [{"name": "a", "cycle": {"fixed": 1}}, {"name": "b", "cycle": {"fixed": 1}},
                         {"name": "c", "cycle": {"fixed": 1}}, {"name": "d", "cycle": {"fixed": 1}}],
            "links": [{"from": "a", "to": "b", "holds": 1, "share": 0.5},
                      {"from": "a", "to": "c", "holds": 1}, {"from": "a", "to": "d", "holds": 1}],
            "run": {"length_s": 100}}"#,
    );
    let shares: Vec<f64> = question.network.links.iter().map(|l| l.share).collect();
    assert_eq!(shares, [0.5, 0.25, 0.25]);
}

#[test]
fn rework_without_a_link_goes_by_a_way_with_room_for_all() {
    let question = accepted(
        r#"{"stations": [{"name": "a", "cycle": {"fixed": 1}, "first_time_ok": 0.9, "rework_to": "b"},
                         {"name": "b", "cycle": {"fixed": 1}}, {"name": "c", "cycle": {"fixed": 1}}],
            "links": [{"from": "a", "to": "c", "holds": 1}, {"from": "b", "to": "c", "holds": 1}],
            "run": {"length_s": 100}}"#,
    );
    let rework = question.network.stations[0].quality.rework.expect("a way");
    let way = &question.network.links[rework.at()];
    assert_eq!((way.from.0, way.to.0, way.holds), (0, 1, None));
}

/// Any JSON, with the keys and words of a question more likely than others.
fn any_json() -> impl Strategy<Value = serde_json::Value> {
    let word = prop::sample::select(vec![
        "stations",
        "links",
        "run",
        "name",
        "cycle",
        "fixed",
        "erlang",
        "from",
        "to",
        "holds",
        "share",
        "length_s",
        "fleets",
        "count",
        "taken_at",
        "returned_at",
        "arrivals",
        "between",
        "station",
        "stops",
        "repair",
        "basis",
        "clock",
        "a",
        "b",
        "repeatable",
        "splitmix",
        "rework_to",
        "takes",
        "one_of_each",
        "empirical",
        "triangular",
    ])
    .prop_map(str::to_owned);
    let leaf = prop_oneof![
        Just(serde_json::Value::Null),
        any::<bool>().prop_map(Into::into),
        any::<f64>().prop_map(Into::into),
        any::<i64>().prop_map(Into::into),
        (0_u8..3).prop_map(Into::into),
        word.clone().prop_map(Into::into),
        ".{0,8}".prop_map(Into::into),
    ];
    leaf.prop_recursive(6, 64, 8, move |inner| {
        prop_oneof![
            prop::collection::vec(inner.clone(), 0..6).prop_map(Into::into),
            prop::collection::vec((word.clone(), inner), 0..6)
                .prop_map(|entries| serde_json::Value::Object(entries.into_iter().collect())),
        ]
    })
}

/// Every place of a value, as a list of steps to it.
fn places(value: &serde_json::Value, here: &str, found: &mut Vec<String>) {
    found.push(here.to_owned());
    match value {
        serde_json::Value::Object(entries) => {
            for (key, inner) in entries {
                places(inner, &format!("{here}/{key}"), found);
            }
        }
        serde_json::Value::Array(items) => {
            for (n, inner) in items.iter().enumerate() {
                places(inner, &format!("{here}/{n}"), found);
            }
        }
        _ => {}
    }
}

proptest! {
    #[test]
    fn no_text_makes_the_reader_fail(text in ".{0,200}") {
        if let Err(problems) = parse(&text) {
            prop_assert!(!problems.is_empty());
        }
    }

    #[test]
    fn no_json_makes_the_reader_fail(value in any_json()) {
        if let Err(problems) = parse(&value.to_string()) {
            prop_assert!(!problems.is_empty());
        }
    }

    #[test]
    fn no_value_at_any_place_makes_the_reader_fail(
        repeatable in any::<bool>(), at in any::<prop::sample::Index>(), value in any_json(),
    ) {
        let sound = if repeatable {
            repeatable_line_with("one", "one")
        } else {
            two_stations_with("saw", "saw")
        };
        let mut question: serde_json::Value = serde_json::from_str(&sound).unwrap();
        let mut found = Vec::new();
        places(&question, "", &mut found);
        *question.pointer_mut(&found[at.index(found.len())]).unwrap() = value;
        if let Err(problems) = parse(&question.to_string()) {
            prop_assert!(!problems.is_empty());
        }
    }
}
