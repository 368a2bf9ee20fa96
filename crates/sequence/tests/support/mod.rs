//! Published instances, read from where the data lies.
#![allow(
    dead_code,
    clippy::unwrap_used,
    clippy::disallowed_methods,
    reason = "shared by tests, bench and runner; each uses a part"
)]

use std::path::Path;

use sequence::model::{Class, Colours, Counted, Force, Goal, Goals, Level, Problem, Rule};

/// Numbers of a file, or none where the file is not there.
fn numbers(path: &Path) -> Option<Vec<usize>> {
    numbers_of(&std::fs::read_to_string(path).ok()?)
}

fn numbers_of(text: &str) -> Option<Vec<usize>> {
    text.split_whitespace()
        .map(|word| word.parse().ok())
        .collect()
}

/// An instance of the classic sets (CSPLib prob001).
pub(crate) fn classic(path: &Path) -> Option<Problem> {
    classic_of(&std::fs::read_to_string(path).ok()?)
}

/// The same from its text: cars, options, classes; most and window of each
/// option; number, cars and options of each class.
pub(crate) fn classic_of(text: &str) -> Option<Problem> {
    let numbers = numbers_of(text)?;
    let [_, options, classes] = numbers[..3] else {
        return None;
    };
    let most = &numbers[3..3 + options];
    let window = &numbers[3 + options..3 + 2 * options];
    let rows = numbers[3 + 2 * options..].chunks(options + 2);
    let class = |row: &[usize]| Class {
        name: format!("class {}", row[0]),
        count: row[1] as u32,
        options: row[2..].iter().map(|has| *has == 1).collect(),
        colour: None,
    };
    Some(Problem {
        classes: rows.take(classes).map(class).collect(),
        options: (0..options).map(|n| format!("option {n}")).collect(),
        rules: (0..options)
            .map(|option| Rule {
                option,
                at_most: most[option] as u32,
                in_every: window[option] as u32,
                force: Force::Soft(1),
            })
            .collect(),
        ..Problem::empty()
    })
}

/// An instance of the ROADEF challenge 2005 in its flat form: cars, options,
/// classes, longest block, order of the goals, cars of the day before; most,
/// window and priority of each rule; colour, cars and options of each class;
/// the classes of the cars, day before first.
pub(crate) fn challenge(path: &Path) -> Option<Problem> {
    let numbers = numbers(path)?;
    let [cars, options, classes, block, goals, before] = numbers[..6] else {
        return None;
    };
    let ratios: Vec<&[usize]> = numbers[6..].chunks(3).take(options).collect();
    let at = 6 + 3 * options;
    let rows: Vec<&[usize]> = numbers[at..].chunks(options + 2).take(classes).collect();
    let row = &numbers[at + classes * (options + 2)..];
    let previous: Vec<usize> = row[..before].to_vec();
    let colours = rows.iter().map(|row| row[0]).max()? + 1;
    let groups = groups(&ratios, goals);
    let count = |class: usize| {
        row[before..cars]
            .iter()
            .filter(|one| **one == class)
            .count()
    };
    Some(Problem {
        classes: rows
            .iter()
            .enumerate()
            .map(|(at, row)| Class {
                name: format!("class {at}"),
                count: count(at) as u32,
                options: row[2..].iter().map(|has| *has == 1).collect(),
                colour: Some(row[0]),
            })
            .collect(),
        options: (0..options).map(|n| format!("option {n}")).collect(),
        rules: ratios
            .iter()
            .enumerate()
            .map(|(option, ratio)| Rule {
                option,
                at_most: ratio[0] as u32,
                in_every: ratio[1] as u32,
                force: Force::Soft(1),
            })
            .collect(),
        counted: Counted::Excess,
        // At the end of the day the ratios are evaluated on ever shorter windows,
        // without cars of the next day: ROADEF/EURO challenge 2005, subject,
        // section 1.2.3, and its questions and answers.
        past_end: true,
        colours: Colours {
            names: (0..colours).map(|n| format!("colour {n}")).collect(),
            max_block: Some(block as u32),
            change_weight: 1,
        },
        level: Level::default(),
        promises: Vec::new(),
        holds: Vec::new(),
        previous,
        frozen: Vec::new(),
        slots: None,
        goals: Goals::Ordered(groups),
    })
}

/// The goals in their order: rules of high priority, of low priority, colours.
fn groups(ratios: &[&[usize]], goals: usize) -> Vec<Vec<Goal>> {
    let of_priority = |priority: usize| {
        let these = ratios
            .iter()
            .enumerate()
            .filter(|(_, ratio)| ratio[2] == priority);
        these.map(|(rule, _)| Goal::Rule(rule)).collect::<Vec<_>>()
    };
    let (high, low, paint) = (of_priority(1), of_priority(0), vec![Goal::Colours]);
    let groups = match goals {
        0 => vec![paint, high, low],
        1 => vec![high, low, paint],
        _ => vec![high, paint, low],
    };
    let groups = groups.into_iter();
    groups.filter(|group| !group.is_empty()).collect()
}

/// The challenge's mark of a cost: a million for the first goal's unit, a
/// thousand for the second's, one for the third's.
pub(crate) fn mark(cost: &sequence::Cost) -> i64 {
    1_000_000 * cost.0[1] + 1_000 * cost.0[2] + cost.0[3]
}
