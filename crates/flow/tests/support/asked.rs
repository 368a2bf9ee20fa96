//! Questions as texts, and how they are taken.

use flow::question::{Question, parse};

/// The question of a text that is sound.
pub(crate) fn accepted(text: &str) -> Question {
    parse(text).unwrap_or_else(|problems| panic!("{}", problems[0]))
}

/// The first misfit of a refused question, as a person reads it.
pub(crate) fn refused(text: &str) -> String {
    match parse(text) {
        Ok(_) => panic!("accepted: {text}"),
        Err(problems) => problems[0].to_string(),
    }
}

/// The reference line as a question; one piece can be replaced.
pub(crate) fn repeatable_line_with(piece: &str, by: &str) -> String {
    let station = |name: &str| {
        format!(
            r#"{{"name": "{name}", "cycle": {{"fixed": 60}}, "stops": [{{"basis": "running",
                "between": {{"exponential": 14400}}, "repair": {{"exponential": 300}}}}]}}"#
        )
    };
    let sound = format!(
        r#"{{"stations": [{}, {}, {}],
            "links": [{{"from": "one", "to": "two", "holds": 2}}, {{"from": "two", "to": "three", "holds": 2}}],
            "run": {{"length_s": 864000, "seed": 4, "repeatable": {{"splitmix": true}}}}}}"#,
        station("one"),
        station("two"),
        station("three")
    );
    assert!(sound.contains(piece), "the question holds no {piece}");
    sound.replacen(piece, by, 1)
}
