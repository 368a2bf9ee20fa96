//! Reads how goals stand to one another.

use asked::{Cursor, Fields, Json, Spot};

use super::read::Names;
use crate::model::{Goal, Goals};

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
    of_option.map(|(rule, _)| Goal::Rule(rule)).collect()
}
