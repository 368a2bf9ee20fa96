//! Finds what makes no sense in a problem.

use std::collections::BTreeMap;

use crate::Fault;
use crate::model::{Force, Goal, Goals, MOST_CARS, MOST_RULES, Problem, Promise};
use crate::told::some;
use crate::unit;

/// Cars that a rule looks across at the most.
pub(crate) const LONGEST_WINDOW: u32 = 5_000;

pub(crate) fn faults(problem: &Problem) -> Vec<Fault> {
    let mut faults = Vec::new();
    classes(problem, &mut faults);
    if !faults.is_empty() {
        return faults;
    }
    rules(problem, &mut faults);
    colours(problem, &mut faults);
    level(problem, &mut faults);
    fixed(problem, &mut faults);
    goals(problem, &mut faults);
    promises(problem, &mut faults);
    crate::holds::faults(problem, &mut faults);
    if faults.is_empty() {
        sums(problem, &mut faults);
    }
    faults
}

fn classes(problem: &Problem, faults: &mut Vec<Fault>) {
    let (options, colours) = (problem.options.len(), problem.colours.names.len());
    for (at, class) in problem.classes.iter().enumerate() {
        if class.options.len() != options {
            faults.push(Fault::new(
                format!("classes[{at}].options"),
                some(class.options.len(), "entry"),
                format!("one for each of {}", some(options, "option")),
                "add or drop entries",
            ));
        }
        if class.colour.is_some_and(|colour| colour >= colours) {
            faults.push(Fault::new(
                format!("classes[{at}].colour"),
                format!("colour {}", class.colour.unwrap_or(0)),
                format!("one of {}", some(colours, "colour")),
                "add the colour",
            ));
        }
    }
    let (cars, before) = (problem.cars(), problem.previous.len());
    if cars + before > MOST_CARS {
        faults.push(Fault::new(
            "classes",
            format!("{}, {} before them", some(cars, "car"), some(before, "car")),
            format!("at most {MOST_CARS} together"),
            "order one day or week at a time",
        ));
    }
    if let Some(slots) = problem.slots.filter(|slots| cars > *slots as usize) {
        faults.push(Fault::new(
            "classes",
            some(cars, "car"),
            format!("no more than {}", some(slots as usize, "slot")),
            format!(
                "take {} out or give {}",
                some(cars - slots as usize, "car"),
                some(cars, "slot")
            ),
        ));
    }
    if problem.classes.len() >= usize::from(u16::MAX) {
        faults.push(Fault::new(
            "classes",
            some(problem.classes.len(), "class"),
            "fewer than 65535",
            "join classes that are alike",
        ));
    }
}

fn rules(problem: &Problem, faults: &mut Vec<Fault>) {
    if problem.rules.len() > MOST_RULES {
        faults.push(Fault::new(
            "rules",
            some(problem.rules.len(), "rule"),
            format!("at most {MOST_RULES}"),
            "drop rules that never bind",
        ));
    }
    for (at, rule) in problem.rules.iter().enumerate() {
        if rule.option >= problem.options.len() {
            faults.push(Fault::new(
                format!("rules[{at}].option"),
                format!("option {}", rule.option),
                format!("one of {}", some(problem.options.len(), "option")),
                "add the option",
            ));
        }
        if rule.at_most > rule.in_every {
            faults.push(Fault::new(
                format!("rules[{at}].at_most"),
                format!("{} in every {}", rule.at_most, rule.in_every),
                "no more than the cars it is counted among",
                format!("lower at_most to {} or drop the rule", rule.in_every),
            ));
        }
        if rule.in_every == 0 || rule.in_every > LONGEST_WINDOW {
            faults.push(Fault::new(
                format!("rules[{at}].in_every"),
                rule.in_every.to_string(),
                format!("a number of cars from 1 to {LONGEST_WINDOW}"),
                "write how many cars in a row the rule looks at",
            ));
        }
    }
}

fn colours(problem: &Problem, faults: &mut Vec<Fault>) {
    if problem.colours.max_block == Some(0) {
        faults.push(Fault::new(
            "colours.max_block",
            "0",
            "at least 1 car",
            "leave it out where blocks may be as long as they like",
        ));
    }
}

fn level(problem: &Problem, faults: &mut Vec<Fault>) {
    for (at, part) in problem.level.parts.iter().enumerate() {
        if part.per_car.len() != problem.classes.len() {
            faults.push(Fault::new(
                format!("level.parts[{at}].per_car"),
                some(part.per_car.len(), "entry"),
                format!("one for each of {}", some(problem.classes.len(), "class")),
                "add or drop entries",
            ));
        }
    }
}

fn fixed(problem: &Problem, faults: &mut Vec<Fault>) {
    let lists = [("previous", &problem.previous), ("frozen", &problem.frozen)];
    for (name, list) in lists {
        for (at, class) in list.iter().enumerate() {
            if *class >= problem.classes.len() {
                faults.push(Fault::new(
                    format!("{name}[{at}]"),
                    format!("class {class}"),
                    format!("one of {}", some(problem.classes.len(), "class")),
                    "add the class",
                ));
            }
        }
    }
    for (at, class) in problem.classes.iter().enumerate() {
        let frozen = problem.frozen.iter().filter(|one| **one == at).count();
        if frozen > class.count as usize {
            faults.push(Fault::new(
                "frozen",
                format!("{} of \"{}\"", some(frozen, "car"), class.name),
                format!("no more than the {} ordered", class.count),
                format!("order {frozen} of them or take some out of the frozen part"),
            ));
        }
    }
}

/// A goal by the word that it is asked for with.
fn named(problem: &Problem, goal: Goal) -> String {
    match goal {
        Goal::Rule(rule) => {
            let rule_of = problem.rules.get(rule);
            let option = rule_of.and_then(|rule| problem.options.get(rule.option));
            option.map_or_else(|| rule.to_string(), |name| format!("\"{name}\""))
        }
        Goal::Colours => "\"colours\"".to_owned(),
        Goal::Level => "\"level\"".to_owned(),
        Goal::Promises => "\"promises\"".to_owned(),
        Goal::Lateness => "\"lateness\"".to_owned(),
    }
}

fn goals(problem: &Problem, faults: &mut Vec<Fault>) {
    let Goals::Ordered(groups) = &problem.goals else {
        return;
    };
    if groups.len() > crate::cost::TIERS - 1 {
        faults.push(Fault::new(
            "goals",
            some(groups.len(), "group"),
            format!("at most {}", crate::cost::TIERS - 1),
            "join the last ones",
        ));
    }
    let mut seen: Vec<Goal> = Vec::new();
    for (at, goal) in groups.iter().flatten().enumerate() {
        if matches!(goal, Goal::Rule(rule) if *rule >= problem.rules.len()) {
            faults.push(Fault::new(
                "goals",
                format!("rule {} in place {at}", named(problem, *goal)),
                format!("one of {}", some(problem.rules.len(), "rule")),
                "add the rule",
            ));
        }
        if seen.contains(goal) {
            faults.push(Fault::new(
                "goals",
                format!("{} twice", named(problem, *goal)),
                "each goal once",
                "drop one of the two",
            ));
        }
        seen.push(*goal);
    }
}

fn promises(problem: &Problem, faults: &mut Vec<Fault>) {
    for (at, promise) in problem.promises.iter().enumerate() {
        let Some(class) = problem.classes.get(promise.class) else {
            faults.push(Fault::new(
                format!("before[{at}].class"),
                format!("class {}", promise.class),
                format!("one of {}", some(problem.classes.len(), "class")),
                "add the class",
            ));
            continue;
        };
        if promise.count > class.count {
            faults.push(Fault::new(
                format!("before[{at}].count"),
                format!(
                    "{} of \"{}\"",
                    some(promise.count as usize, "car"),
                    class.name
                ),
                format!("no more than the {} ordered", class.count),
                format!("promise {} or order more", class.count),
            ));
        }
    }
    if faults.is_empty() {
        clashes(problem, faults);
    }
}

/// Hard promises by class up to a place: how many cars of each must be there.
fn promised(problem: &Problem, within: u32) -> BTreeMap<usize, u32> {
    let mut needed: BTreeMap<usize, u32> = BTreeMap::new();
    let binding = |promise: &&Promise| promise.force == Force::Hard && promise.within <= within;
    for promise in problem.promises.iter().filter(binding) {
        let entry = needed.entry(promise.class).or_default();
        *entry = (*entry).max(promise.count);
    }
    needed
}

/// Promises that no order keeps: too many cars for the places, or more of an
/// option or a colour than a hard rule or the longest block lets through.
fn clashes(problem: &Problem, faults: &mut Vec<Fault>) {
    let hard = |promise: &&Promise| promise.force == Force::Hard;
    let mut ends: Vec<u32> = problem
        .promises
        .iter()
        .filter(hard)
        .map(|promise| promise.within)
        .collect();
    ends.sort_unstable();
    ends.dedup();
    let limits = limits(problem);
    for within in ends {
        let needed = promised(problem, within);
        let at = problem
            .promises
            .iter()
            .position(|promise| promise.force == Force::Hard && promise.within == within);
        let place = format!("before[{}]", at.unwrap_or(0));
        if let Some(fault) = too_many(problem, within, &needed, &place) {
            faults.push(fault);
            continue;
        }
        let over = limits.iter();
        faults.extend(over.filter_map(|limit| beyond(problem, within, &needed, limit, &place)));
    }
}

/// The promised cars of some classes, in words.
fn told(
    problem: &Problem,
    needed: &BTreeMap<usize, u32>,
    wanted: &dyn Fn(usize) -> bool,
) -> String {
    let these = needed.iter().filter(|(class, _)| wanted(**class));
    let told =
        |(class, count): (&usize, &u32)| format!("{count} of \"{}\"", problem.classes[*class].name);
    these.map(told).collect::<Vec<_>>().join(", ")
}

/// More cars promised than there are open places.
fn too_many(
    problem: &Problem,
    within: u32,
    needed: &BTreeMap<usize, u32>,
    place: &str,
) -> Option<Fault> {
    let frozen = problem.frozen.len().min(within as usize);
    let in_frozen = |class: usize| {
        let there = problem.frozen[..frozen].iter();
        there.filter(|one| **one == class).count() as u32
    };
    let missing: u32 = needed
        .iter()
        .map(|(class, count)| count.saturating_sub(in_frozen(*class)))
        .sum();
    let room = within - frozen as u32;
    (missing > room).then(|| {
        Fault::new(
            place,
            format!(
                "{} promised for {}: {}",
                some(missing as usize, "car"),
                some(room as usize, "open place"),
                told(problem, needed, &|_| true)
            ),
            format!("no more than fit before place {}", within + 1),
            format!("promise {} of them later", missing - room),
        )
    })
}

/// More cars promised of one kind than a hard rule lets through.
fn beyond(
    problem: &Problem,
    within: u32,
    needed: &BTreeMap<usize, u32>,
    limit: &Limit<'_>,
    place: &str,
) -> Option<Fault> {
    let concerned = needed.iter().filter(|(class, _)| (limit.concerns)(**class));
    let cars: u32 = concerned.map(|(_, count)| *count).sum();
    let whole = limit.at_most * (within / limit.in_every);
    let most = whole + (within % limit.in_every).min(limit.at_most);
    (cars > most).then(|| {
        Fault::new(
            place,
            format!(
                "{} {} within {}: {}",
                some(cars as usize, "car"),
                limit.told,
                some(within as usize, "place"),
                told(problem, needed, &*limit.concerns)
            ),
            format!(
                "no more than {most}, since there may be {} in every {}",
                limit.at_most, limit.in_every
            ),
            format!("promise {} of them later or loosen the rule", cars - most),
        )
    })
}

/// Something that lets only so many cars through.
struct Limit<'a> {
    at_most: u32,
    in_every: u32,
    told: String,
    concerns: Box<dyn Fn(usize) -> bool + 'a>,
}

fn limits(problem: &Problem) -> Vec<Limit<'_>> {
    let hard = problem
        .rules
        .iter()
        .filter(|rule| rule.force == Force::Hard);
    let of_rule = hard.filter_map(|rule| {
        let name = problem.options.get(rule.option)?;
        Some(Limit {
            at_most: rule.at_most,
            in_every: rule.in_every.max(1),
            told: format!("with \"{name}\""),
            concerns: Box::new(move |class| {
                problem.classes[class].options.get(rule.option) == Some(&true)
            }),
        })
    });
    let block = problem.colours.max_block.filter(|most| *most > 0);
    let of_colour = problem
        .colours
        .names
        .iter()
        .enumerate()
        .filter_map(|(colour, name)| {
            Some(Limit {
                at_most: block?,
                in_every: block?.checked_add(1)?,
                told: format!("in \"{name}\""),
                concerns: Box::new(move |class| problem.classes[class].colour == Some(colour)),
            })
        });
    of_rule.chain(of_colour).collect()
}

/// The sums of weights must fit in 64 bits with room to spare.
fn sums(problem: &Problem, faults: &mut Vec<Fault>) {
    if unit::level_unit(problem).is_some() {
        return;
    }
    let level = &problem.level;
    if level.weight == 0 {
        faults.push(Fault::new(
            "rules",
            "weights whose sum may pass 2^61",
            "a sum that a whole number of 64 bits holds",
            "divide all weights by the same number",
        ));
        return;
    }
    let (weight, parts, cars) = (level.weight, level.parts.len(), problem.cars());
    let mend = match unit::largest_weight(problem) {
        Some(most) => format!("lower the weight of level use to {most}, with all others alike"),
        None => "count what a car uses in larger units, or name fewer parts".to_owned(),
    };
    faults.push(Fault::new(
        "level",
        format!(
            "level use of {} by {} with weight {weight}",
            some(parts, "part"),
            some(cars, "car")
        ),
        "a sum of squares that a whole number of 64 bits holds",
        mend,
    ));
}
