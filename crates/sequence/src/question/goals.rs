//! Reads how goals stand to one another, and sees to it that each of them
//! weighs something.

use asked::{Cursor, Fields, Json, Spot};

use super::read::{Asked, Names};
use crate::model::{Goal, Goals, Problem};

/// `rules` has the option of each rule.
pub(super) fn read(
    cursor: &mut Cursor,
    fields: &Fields<'_>,
    options: &Names,
    rules: &[usize],
) -> Option<Goals> {
    let Some(spot) = fields.get("goals") else {
        return Some(Goals::Weighted);
    };
    if let Json::Text(word) = spot.value {
        if word == "weighted" {
            return Some(Goals::Weighted);
        }
        cursor.misfit(
            &spot,
            "\"weighted\", or groups of goals in their order",
            "write \"weighted\"",
        );
        return None;
    }
    let groups: Vec<Spot<'_>> = cursor.list(&spot);
    let mut ordered = Vec::new();
    for group in &groups {
        // A group of one may stand without its brackets.
        let goals = match group.value {
            Json::Text(_) => vec![group.clone()],
            _ => cursor.list(group),
        };
        let mut read = Vec::new();
        for goal in &goals {
            read.extend(one(cursor, goal, options, rules));
        }
        if !read.is_empty() {
            ordered.push(read);
        }
    }
    if ordered.is_empty() && cursor.problems.is_empty() {
        cursor.refuse(
            &spot.path,
            "no goal",
            "at least one goal, or \"weighted\"",
            "name what the order is judged by, or leave `goals` out for one weighted sum",
        );
        return None;
    }
    Some(Goals::Ordered(ordered))
}

fn one(cursor: &mut Cursor, spot: &Spot<'_>, options: &Names, rules: &[usize]) -> Vec<Goal> {
    if let Json::Text(word) = spot.value {
        match word.as_str() {
            "colours" => return vec![Goal::Colours],
            "level" => return vec![Goal::Level],
            "promises" => return vec![Goal::Promises],
            _ => {}
        }
    }
    let Some(option) = cursor.named(
        spot,
        options,
        "option, or \"colours\", \"level\", \"promises\"",
    ) else {
        return Vec::new();
    };
    let of_option = rules.iter().enumerate();
    let of_option = of_option.filter(|(_, of)| **of == option as usize);
    let goals: Vec<Goal> = of_option.map(|(rule, _)| Goal::Rule(rule)).collect();
    // A rule that was refused is not missing.
    if goals.is_empty() && cursor.problems.is_empty() {
        cursor.misfit(
            spot,
            "an option with a rule",
            "give it `at_most` and `in_every`, or take it out of `goals`",
        );
    }
    goals
}

/// Goals by the names that the question has for them, each name once.
pub(super) fn named(problem: &Problem, goals: &[Goal]) -> Vec<String> {
    let mut names: Vec<String> = Vec::new();
    for goal in goals {
        let name = match goal {
            Goal::Rule(rule) => problem.options[problem.rules[*rule].option].as_str(),
            Goal::Colours => "colours",
            Goal::Level => "level",
            Goal::Promises => "promises",
            Goal::Lateness => "lateness",
        };
        if !names.iter().any(|known| known == name) {
            names.push(name.to_owned());
        }
    }
    names
}

/// What is named as a goal weighs 1 where no weight is written. A goal that
/// weighs nothing is refused: the answer would be called the best at something
/// that it never looked at.
pub(super) fn weighed(cursor: &mut Cursor, asked: &mut Asked) {
    let Goals::Ordered(groups) = &asked.goals else {
        return;
    };
    let mut goals: Vec<Goal> = Vec::new();
    for goal in groups.iter().flatten() {
        if !goals.contains(goal) {
            goals.push(*goal);
        }
    }
    for goal in goals {
        match goal {
            Goal::Rule(rule) => {
                let rule = &asked.rules[rule];
                if rule.weight == Some(0.0) {
                    let name = format!("\"{}\"", asked.options[rule.option]);
                    nothing(cursor, &rule.weight_path, &name, "weight");
                }
            }
            Goal::Colours => colours(cursor, asked),
            Goal::Level => level(cursor, asked),
            Goal::Promises => promises(cursor, asked),
            Goal::Lateness => {}
        }
    }
}

fn colours(cursor: &mut Cursor, asked: &mut Asked) {
    if asked.paint.of_class.is_empty() {
        cursor.refuse(
            "goals",
            "\"colours\", and no class has a colour",
            "goals that something can be gained in",
            "write the classes' colours in `colours.of_class`, or take \"colours\" out of `goals`",
        );
    } else if *asked.paint.weight.get_or_insert(1.0) == 0.0 {
        nothing(
            cursor,
            "colours.change_weight",
            "\"colours\"",
            "change_weight",
        );
    }
}

fn level(cursor: &mut Cursor, asked: &mut Asked) {
    let uses = match &asked.parts {
        Some(parts) => !parts.is_empty(),
        None => !asked.options.is_empty(),
    };
    if !uses {
        cursor.refuse(
            "goals",
            "\"level\", and nothing that is used evenly",
            "goals that something can be gained in",
            "write what cars use in `level.parts`, or take \"level\" out of `goals`",
        );
    } else if *asked.level_weight.get_or_insert(1.0) == 0.0 {
        nothing(cursor, "level.weight", "\"level\"", "weight");
    }
}

fn promises(cursor: &mut Cursor, asked: &Asked) {
    let mut weights = asked.promises.iter().map(|promise| promise.weight);
    if !weights.any(|weight| weight.is_some_and(|weight| weight > 0.0)) {
        cursor.refuse(
            "goals",
            "\"promises\", and none of `before` with a weight",
            "a promise that may be broken at a price: the others must be kept and come before all \
             goals",
            "give a promise a `weight` above 0, or take \"promises\" out of `goals`",
        );
    }
}

/// Refuses a goal whose weight is written as 0.
fn nothing(cursor: &mut Cursor, path: &str, goal: &str, key: &str) {
    cursor.refuse(
        path,
        "0",
        format!("a weight above 0, since `goals` names {goal}"),
        format!("leave `{key}` out, which is 1 here, or take {goal} out of `goals`"),
    );
}
