//! Very small questions to the solvers of strips, lots, balance and sequence, each
//! run to its answer in a few steps: no answer is better than the bound that stands
//! beside it. The first byte chooses the solver; the others make the question.

#![no_main]

use std::sync::atomic::AtomicBool;

use libfuzzer_sys::fuzz_target;
use linewright_fuzz::{Draws, reasons};

/// What rounding may do to a figure beside its bound.
const ROUNDING: f64 = 1e-6;

fuzz_target!(|bytes: &[u8]| {
    let mut draws = Draws(bytes);
    match draws.below(4) {
        0 => strips(&mut draws),
        1 => lots_of_few(&mut draws),
        2 => stations(&mut draws),
        _ => order(&mut draws),
    }
});

fn strips(draws: &mut Draws<'_>) {
    let corners = 3 + draws.below(4);
    let outline = draws.list(corners, |draws, _| {
        format!(
            "[{}, {}]",
            10 * u16::from(draws.below(40)),
            10 * u16::from(draws.below(40))
        )
    });
    let (web, edge) = (draws.below(12), draws.below(12));
    let width = 100 + 5 * u32::from(draws.below(200));
    let text = format!(
        r#"{{"outline": {outline}, "web_mm": {web}, "edge_mm": {edge}, "effort": 200,
            "widths_mm": [{width}], "mirror_allowed": {}}}"#,
        draws.flip()
    );
    let question = match strip::question::parse(&text) {
        Err(problems) => return reasons(&problems),
        Ok(question) => question,
    };
    match question.lay(&strip::Watch::none()) {
        Err(problems) => reasons(&problems),
        Ok(outcome) => {
            let answer = strip::question::Answer::of(&question, &outcome);
            for layout in &answer.layouts {
                assert!(
                    layout.utilisation <= layout.bound + ROUNDING,
                    "{text}: {layout:?}"
                );
                assert!(
                    layout.clearance_mm + 1e-3 >= f64::from(web),
                    "{text}: {layout:?}"
                );
                assert!(
                    layout.edge_clearance_mm + 1e-3 >= f64::from(edge),
                    "{text}: {layout:?}"
                );
            }
        }
    }
}

fn lots_of_few(draws: &mut Draws<'_>) {
    let count = 1 + draws.below(4);
    let items = draws.list(count, |draws, n| {
        let rate = 1 + u16::from(draws.below(200));
        let make = rate * (1 + u16::from(draws.below(12)));
        let (hours, cost, hold) = (draws.below(20), draws.below(100), 1 + draws.below(50));
        let cover = match draws.below(4) {
            0 => "null".to_owned(),
            days => days.to_string(),
        };
        format!(
            r#"{{"name": "door {n}", "rate_per_day": {rate}, "make_per_day": {make},
                "changeover_days": 0.0{hours:02}, "changeover_cost": {cost},
                "hold_cost_per_day": 0.{hold:02}, "max_cover_days": {cover}}}"#
        )
    });
    let lines = 1 + draws.below(2);
    let lines = draws.list(lines, |_, n| format!(r#"{{"name": "line {n}"}}"#));
    let text = format!(
        r#"{{"items": {items}, "lines": {lines}, "halved": {}}}"#,
        draws.flip()
    );
    let question = match lots::question::parse(&text) {
        Err(problems) => return reasons(&problems),
        Ok(question) => question,
    };
    let settings = lots::Settings {
        seed: 1,
        work: 50_000,
    };
    let answer = question.answer(&settings, &lots::Watch::none());
    for policy in &answer.policies {
        if let (Some(cost), Some(bound)) = (policy.cost_per_day, answer.lower_bound_per_day) {
            assert!(
                bound <= cost * (1.0 + ROUNDING) + ROUNDING,
                "{text}: {bound} above {cost}"
            );
        }
    }
}

fn stations(draws: &mut Draws<'_>) {
    let count = 1 + draws.below(6);
    let tasks = draws.list(count, |draws, n| {
        let (seconds, before) = (1 + draws.below(30), draws.below(8));
        let after = if before < n {
            format!(r#""fit {before}""#)
        } else {
            String::new()
        };
        let side = ["left", "right", "either"][usize::from(draws.below(3))];
        format!(r#"{{"name": "fit {n}", "s": {seconds}, "after": [{after}], "side": "{side}"}}"#)
    });
    let pair = |draws: &mut Draws<'_>| {
        let (one, other) = (draws.below(6), draws.below(6));
        format!(r#"[["fit {one}", "fit {other}"]]"#)
    };
    let mut rules = String::new();
    for rule in ["same_station", "not_same_station"] {
        if draws.below(4) == 0 {
            rules += &format!(r#", "{rule}": {}"#, pair(draws));
        }
    }
    let sides = 1 + draws.below(2);
    let asked = if draws.flip() {
        format!(r#""takt_s": {}"#, 10 + draws.below(60))
    } else {
        format!(r#""objective": "takt", "stations": {}"#, 1 + draws.below(4))
    };
    let text = format!(r#"{{"tasks": {tasks}, "sides": {sides}, {asked}{rules}}}"#);
    let question = match balance::question::parse(&text) {
        Err(problems) => return reasons(&problems),
        Ok(question) => question,
    };
    let watch = balance::Watch {
        cancel: &AtomicBool::new(false),
        progress: &|_| {},
    };
    let limits = balance::Limits {
        memory_mb: 1,
        steps: Some(2_000),
    };
    let answer = question.solve(&limits, &watch);
    assert!(
        answer.smoothness.is_finite() && answer.efficiency <= 1.0 + ROUNDING,
        "{text}"
    );
    if answer.status == balance::question::Status::Infeasible {
        assert!(!answer.why.is_empty(), "{text}");
    } else if asked.starts_with("\"takt_s") {
        assert!(
            answer.lower_bound <= answer.count as f64,
            "{text}: {answer:?}"
        );
    } else {
        assert!(
            answer.lower_bound <= answer.takt_s + ROUNDING,
            "{text}: {answer:?}"
        );
    }
}

fn order(draws: &mut Draws<'_>) {
    let options = 1 + draws.below(3);
    let rules = draws.list(options, |draws, n| {
        let in_every = 2 + draws.below(4);
        let at_most = 1 + draws.below(in_every - 1);
        let hard = draws.below(4) == 0;
        format!(r#"{{"name": "option {n}", "at_most": {at_most}, "in_every": {in_every}, "hard": {hard}}}"#)
    });
    let classes = 1 + draws.below(4);
    let classes_list = draws.list(classes, |draws, n| {
        let count = 1 + draws.below(5);
        let has = draws.list(options, |draws, _| draws.flip().to_string());
        format!(r#"{{"name": "van {n}", "count": {count}, "options": {has}}}"#)
    });
    let mut more = String::new();
    for (key, at) in [("before", "position"), ("held", "until")] {
        if draws.below(3) == 0 {
            let (class, place) = (draws.below(classes), 1 + draws.below(8));
            more += &format!(r#", "{key}": [{{"class": "van {class}", "{at}": {place}}}]"#);
        }
    }
    let text = format!(
        r#"{{"classes": {classes_list}, "options": {rules}, "costs": {}{more}}}"#,
        draws.flip()
    );
    let question = match sequence::question::parse(&text) {
        Err(problems) => return reasons(&problems),
        Ok(question) => question,
    };
    let settings = sequence::Settings {
        seed: 1,
        steps: 500,
        walkers: 1,
        proof_states: 300,
    };
    let answer = question.answer(&settings, &sequence::Watch::none());
    assert!(
        answer.lower_bound <= answer.total_weighted + ROUNDING,
        "{text}: {answer:?}"
    );
    if answer.without_violation == "impossible" {
        assert!(
            answer.violations.0.iter().any(|(_, runs)| *runs > 0) || answer.broken_musts > 0,
            "{text}: {answer:?}"
        );
    }
}
