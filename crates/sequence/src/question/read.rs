//! Walks the question.

use std::collections::BTreeMap;

use asked::{Cursor, Fields, Json, Range, Spot};

use super::Question;
use super::dated::{self, PromiseAsked};
use super::goals;
use crate::model::{
    Class, Colours, Counted, Force, Goals, Hold, Level, MOST_CARS, Part, Problem, Promise, Rule,
};
use crate::told::some;

const KEYS: [&str; 16] = [
    "classes", "options", "rules", "counted", "past_end", "colours", "level", "before", "held",
    "previous", "frozen", "slots", "cars", "goals", "seed", "costs",
];

pub(super) const CARS: Range = Range {
    what: "a number of cars",
    least: 0.0,
    most: MOST_CARS as f64,
};

pub(super) const WEIGHT: Range = Range {
    what: "a weight",
    least: 0.0,
    most: 1e6,
};

pub(super) type Names = BTreeMap<String, u32>;

/// A rule as it is written.
pub(super) struct RuleAsked {
    /// Where its weight stands or would stand.
    pub(super) weight_path: String,
    pub(super) option: usize,
    at_most: u32,
    in_every: u32,
    /// None for a hard one.
    pub(super) weight: Option<f64>,
}

pub(super) struct Paint {
    names: Vec<String>,
    pub(super) of_class: BTreeMap<usize, usize>,
    max_block: Option<u32>,
    /// None where it is not written.
    pub(super) weight: Option<f64>,
}

/// A question as it is written.
pub(super) struct Asked {
    pub(super) options: Vec<String>,
    pub(super) rules: Vec<RuleAsked>,
    classes: Vec<Class>,
    counted: Counted,
    past_end: bool,
    pub(super) paint: Paint,
    /// None where it is not written.
    pub(super) level_weight: Option<f64>,
    pub(super) parts: Option<Vec<Part>>,
    pub(super) promises: Vec<PromiseAsked>,
    holds: Vec<Hold>,
    previous: Vec<usize>,
    frozen: Vec<usize>,
    slots: Option<u32>,
    pub(super) goals: Goals,
}

pub(super) fn read(cursor: &mut Cursor, whole: &Spot<'_>) -> Option<Question> {
    let fields = cursor.object(whole, &KEYS)?;
    let asked = asked_for(cursor, &fields);
    let seed = seed(cursor, &fields);
    let costs = cursor.flag_or_no(&fields, "costs");
    let mut asked = asked.filter(|_| cursor.problems.is_empty())?;
    some_car(cursor, &asked.classes);
    goals::weighed(cursor, &mut asked);
    unused_options(cursor, &asked);
    counts_match(cursor, &fields, &asked.classes);
    dated::within_the_order(cursor, &asked.promises, asked.cars());
    if !cursor.problems.is_empty() {
        return None;
    }
    let per_unit = per_unit(cursor, &asked.weights())?;
    let checked = match asked.problem(per_unit).check() {
        Ok(checked) => checked,
        Err(faults) => {
            for fault in faults {
                cursor.refuse(fault.place, fault.found, fault.expected, fault.mend);
            }
            return None;
        }
    };
    Some(Question {
        checked,
        per_unit,
        seed: seed?,
        costs: costs?,
    })
}

/// Reads all that makes the problem; every misfit is noted on the way.
fn asked_for(cursor: &mut Cursor, fields: &Fields<'_>) -> Option<Asked> {
    let option_spots = cursor.optional_list(fields, "options");
    let option_names = cursor.own_names(&option_spots, "options");
    let class_spots = match cursor.required(fields, "classes") {
        Some(spot) => cursor.list(&spot),
        None => Vec::new(),
    };
    let class_names = cursor.own_names(&class_spots, "classes");
    let (options, mut rules) = options_with_rules(cursor, &option_spots);
    rules.extend(more_rules(cursor, fields, &option_names));
    let mut classes = Vec::new();
    for spot in &class_spots {
        classes.extend(class(cursor, spot, &option_names, options.len()));
    }
    let counted = match fields.get("counted") {
        None => Some(Counted::Windows),
        Some(spot) => {
            let words = [("windows", Counted::Windows), ("excess", Counted::Excess)];
            cursor.word(&spot, &words)
        }
    };
    let past_end = cursor.flag_or_no(fields, "past_end");
    let paint = paint(cursor, fields, &class_names);
    let (level_weight, parts) = level(cursor, fields, &class_names);
    let promises = dated::promises(cursor, fields, &class_names);
    let holds = dated::holds(cursor, fields, &class_names);
    let previous = cars(cursor, fields, "previous", &class_names);
    let frozen = cars(cursor, fields, "frozen", &class_names);
    let slots = fields.get("slots").map(|spot| cursor.count(&spot, &CARS));
    let of_rules: Vec<usize> = rules.iter().map(|rule| rule.option).collect();
    let goals = goals::read(cursor, fields, &option_names, &of_rules);
    Some(Asked {
        options,
        rules,
        classes,
        counted: counted?,
        past_end: past_end?,
        paint,
        level_weight,
        parts,
        promises,
        holds,
        previous,
        frozen,
        slots: slots.flatten().map(|slots| slots as u32),
        goals: goals?,
    })
}

impl Asked {
    fn cars(&self) -> u64 {
        let counts = self.classes.iter().map(|class| u64::from(class.count));
        counts.sum()
    }

    fn weights(&self) -> Vec<f64> {
        let rules = self.rules.iter().filter_map(|rule| rule.weight);
        let promises = self.promises.iter().filter_map(|promise| promise.weight);
        let others = [self.paint.weight, self.level_weight];
        let others = others.into_iter().flatten();
        rules.chain(promises).chain(others).collect()
    }

    /// The problem, with weights in whole numbers of a part of one.
    fn problem(self, per_unit: u32) -> Problem {
        let whole = |weight: f64| (weight * f64::from(per_unit)).round() as u32;
        let force =
            |weight: Option<f64>| weight.map_or(Force::Hard, |weight| Force::Soft(whole(weight)));
        let rule = |rule: &RuleAsked| Rule {
            option: rule.option,
            at_most: rule.at_most,
            in_every: rule.in_every,
            force: force(rule.weight),
        };
        let promise = |promise: &PromiseAsked| Promise {
            class: promise.class,
            count: promise.count,
            within: promise.within,
            force: force(promise.weight),
        };
        let parts = self
            .parts
            .unwrap_or_else(|| as_parts(&self.options, &self.classes));
        let mut classes = self.classes;
        for (at, class) in classes.iter_mut().enumerate() {
            class.colour = self.paint.of_class.get(&at).copied();
        }
        Problem {
            classes,
            options: self.options,
            rules: self.rules.iter().map(rule).collect(),
            counted: self.counted,
            past_end: self.past_end,
            colours: Colours {
                names: self.paint.names,
                max_block: self.paint.max_block,
                change_weight: self.paint.weight.map_or(0, whole),
            },
            level: Level {
                weight: self.level_weight.map_or(0, whole),
                parts,
            },
            promises: self.promises.iter().map(promise).collect(),
            holds: self.holds,
            previous: self.previous,
            frozen: self.frozen,
            slots: self.slots,
            goals: self.goals,
        }
    }
}

/// What is used evenly unless told otherwise: the options.
fn as_parts(names: &[String], classes: &[Class]) -> Vec<Part> {
    let part = |(at, name): (usize, &String)| Part {
        name: name.clone(),
        per_car: classes
            .iter()
            .map(|class| u32::from(class.options[at]))
            .collect(),
    };
    names.iter().enumerate().map(part).collect()
}

/// The option's name, and the rule that stands with it.
fn options_with_rules(cursor: &mut Cursor, spots: &[Spot<'_>]) -> (Vec<String>, Vec<RuleAsked>) {
    let (mut names, mut rules) = (Vec::new(), Vec::new());
    for (at, spot) in spots.iter().enumerate() {
        let keys = ["name", "at_most", "in_every", "weight", "hard"];
        let Some(fields) = cursor.object(spot, &keys) else {
            names.push(String::new());
            continue;
        };
        let name = cursor.required(&fields, "name");
        names.push(name.and_then(|spot| cursor.text(&spot)).unwrap_or_default());
        let bound = ["at_most", "in_every"].map(|key| fields.get(key).is_some());
        if bound == [false, false] {
            for key in ["weight", "hard"] {
                if let Some(spot) = fields.get(key) {
                    cursor.misfit(
                        &spot,
                        "no such key without a rule",
                        "add `at_most` and `in_every`",
                    );
                }
            }
            continue;
        }
        rules.extend(rule(cursor, &fields, at));
    }
    (names, rules)
}

fn more_rules(cursor: &mut Cursor, fields: &Fields<'_>, options: &Names) -> Vec<RuleAsked> {
    let mut rules = Vec::new();
    for spot in cursor.optional_list(fields, "rules") {
        let keys = ["option", "at_most", "in_every", "weight", "hard"];
        let Some(fields) = cursor.object(&spot, &keys) else {
            continue;
        };
        let option = cursor.required(&fields, "option");
        let option = option.and_then(|spot| cursor.named(&spot, options, "option"));
        let read = rule(cursor, &fields, option.unwrap_or(0) as usize);
        if option.is_some() {
            rules.extend(read);
        }
    }
    rules
}

fn rule(cursor: &mut Cursor, fields: &Fields<'_>, option: usize) -> Option<RuleAsked> {
    let at_most_spot = cursor.required(fields, "at_most");
    let in_every_spot = cursor.required(fields, "in_every");
    let window = Range {
        what: "a number of cars in a row",
        least: 1.0,
        most: f64::from(crate::check::LONGEST_WINDOW),
    };
    let in_every = in_every_spot.and_then(|spot| cursor.count(&spot, &window));
    let at_most = at_most_spot
        .clone()
        .and_then(|spot| cursor.count(&spot, &CARS));
    let hard = cursor.flag_or_no(fields, "hard")?;
    let weight = cursor.number_or(fields, "weight", 1.0, &WEIGHT)?;
    if hard && let Some(spot) = fields.get("weight") {
        cursor.misfit(&spot, "no weight on a hard rule", "drop `weight` or `hard`");
    }
    let (at_most, in_every) = (at_most?, in_every?);
    if at_most > in_every
        && let Some(spot) = at_most_spot
    {
        cursor.misfit(
            &spot,
            format!(
                "no more than the {} it is counted among",
                some(in_every as usize, "car")
            ),
            format!(
                "lower it to {in_every}, or write `in_every` and `at_most` the other way round"
            ),
        );
        return None;
    }
    Some(RuleAsked {
        weight_path: fields.path_of("weight"),
        option,
        at_most: at_most as u32,
        in_every: in_every as u32,
        weight: (!hard).then_some(weight),
    })
}

fn class(cursor: &mut Cursor, spot: &Spot<'_>, options: &Names, width: usize) -> Option<Class> {
    let fields = cursor.object(spot, &["name", "count", "options"])?;
    let name = cursor.required(&fields, "name");
    let name = name.and_then(|spot| cursor.text(&spot));
    let count = cursor.required(&fields, "count");
    let count = count.and_then(|spot| cursor.count(&spot, &CARS));
    let mut has = vec![false; width];
    if let Some(spot) = fields.get("options") {
        let entries = cursor.list(&spot);
        let flags = entries
            .iter()
            .all(|entry| matches!(entry.value, Json::Bool(_)));
        if flags && !entries.is_empty() && entries.len() != width {
            cursor.refuse(
                &spot.path,
                some(entries.len(), "entry"),
                format!("one for each of {}", some(width, "option")),
                "add or drop entries, or write the names of the options it has",
            );
            return None;
        }
        for (at, entry) in entries.iter().enumerate() {
            if flags {
                has[at] = cursor.flag(entry)?;
            } else {
                let at = cursor.named(entry, options, "option")?;
                has[at as usize] = true;
            }
        }
    }
    Some(Class {
        name: name?,
        count: count? as u32,
        options: has,
        colour: None,
    })
}

fn paint(cursor: &mut Cursor, fields: &Fields<'_>, classes: &Names) -> Paint {
    let mut paint = Paint {
        names: Vec::new(),
        of_class: BTreeMap::new(),
        max_block: None,
        weight: None,
    };
    let Some(spot) = fields.get("colours") else {
        return paint;
    };
    let Some(fields) = cursor.object(&spot, &["max_block", "change_weight", "of_class"]) else {
        return paint;
    };
    let block = Range {
        what: "a number of cars",
        least: 1.0,
        most: 1e6,
    };
    paint.max_block = fields
        .get("max_block")
        .filter(|spot| !matches!(spot.value, Json::Null))
        .and_then(|spot| cursor.count(&spot, &block))
        .map(|most| most as u32);
    paint.weight = weight(cursor, &fields, "change_weight");
    let Some(spot) = fields.get("of_class") else {
        return paint;
    };
    for (class, colour) in by_class(cursor, &spot, classes) {
        let Some(name) = cursor.text(&colour) else {
            continue;
        };
        let known = paint.names.iter().position(|known| *known == name);
        let colour = known.unwrap_or_else(|| {
            paint.names.push(name);
            paint.names.len() - 1
        });
        paint.of_class.insert(class, colour);
    }
    paint
}

/// The entries of an object whose keys are names of classes.
fn by_class<'a>(cursor: &mut Cursor, spot: &Spot<'a>, classes: &Names) -> Vec<(usize, Spot<'a>)> {
    let Json::Object(entries) = spot.value else {
        cursor.misfit(
            spot,
            "an object with names of classes as keys",
            "write it as {...}",
        );
        return Vec::new();
    };
    let mut found = Vec::new();
    for (name, value) in entries {
        let path = format!("{}.{name}", spot.path);
        let key = Json::Text(name.clone());
        let spot = Spot {
            path: path.clone(),
            value: &key,
        };
        if let Some(at) = cursor.named(&spot, classes, "class") {
            found.push((at as usize, Spot { path, value }));
        }
    }
    found
}

/// A weight, where it is written.
fn weight(cursor: &mut Cursor, fields: &Fields<'_>, key: &str) -> Option<f64> {
    let spot = fields.get(key)?;
    cursor.number(&spot, &WEIGHT)
}

/// Weight and parts of level use, as far as they are written.
type LevelAsked = (Option<f64>, Option<Vec<Part>>);

fn level(cursor: &mut Cursor, fields: &Fields<'_>, classes: &Names) -> LevelAsked {
    let Some(spot) = fields.get("level") else {
        return (None, None);
    };
    let Some(fields) = cursor.object(&spot, &["weight", "parts"]) else {
        return (None, None);
    };
    let weight = weight(cursor, &fields, "weight");
    let Some(parts) = fields.get("parts") else {
        return (weight, None);
    };
    let spots = cursor.list(&parts);
    cursor.own_names(&spots, "level.parts");
    let mut parts = Vec::new();
    for spot in &spots {
        let Some(fields) = cursor.object(spot, &["name", "per_car"]) else {
            continue;
        };
        let name = cursor.required(&fields, "name");
        let name = name.and_then(|spot| cursor.text(&spot)).unwrap_or_default();
        let mut per_car = vec![0; classes.len()];
        if let Some(spot) = cursor.required(&fields, "per_car") {
            for (class, value) in by_class(cursor, &spot, classes) {
                if let Some(count) = cursor.count(&value, &CARS) {
                    per_car[class] = count as u32;
                }
            }
        }
        parts.push(Part { name, per_car });
    }
    (weight, Some(parts))
}

fn cars(cursor: &mut Cursor, fields: &Fields<'_>, key: &str, classes: &Names) -> Vec<usize> {
    let spots = cursor.optional_list(fields, key);
    let mut cars = Vec::new();
    for spot in spots {
        cars.extend(cursor.named(&spot, classes, "class").map(|at| at as usize));
    }
    cars
}

fn seed(cursor: &mut Cursor, fields: &Fields<'_>) -> Option<u64> {
    let range = Range {
        what: "a seed",
        least: 0.0,
        most: 9_007_199_254_740_992.0,
    };
    match fields.get("seed") {
        None => Some(1),
        Some(spot) => cursor.count(&spot, &range),
    }
}

/// Without cars there is no order.
fn some_car(cursor: &mut Cursor, classes: &[Class]) {
    if classes.iter().all(|class| class.count == 0) {
        cursor.refuse(
            "classes",
            "no cars",
            "at least one car to build",
            "add a class with cars",
        );
    }
}

/// An option that no car has, to be built or built before, is a slip: what is
/// said of it would say nothing.
fn unused_options(cursor: &mut Cursor, asked: &Asked) {
    let there = |class: usize| asked.classes[class].count > 0 || asked.previous.contains(&class);
    for (at, name) in asked.options.iter().enumerate() {
        let mut classes = 0..asked.classes.len();
        if !classes.any(|class| there(class) && asked.classes[class].options[at]) {
            cursor.refuse(
                format!("options[{at}]"),
                format!("\"{name}\", which no class with cars has"),
                "an option that some car has",
                "give it to a class or take it out",
            );
        }
    }
}

fn counts_match(cursor: &mut Cursor, fields: &Fields<'_>, classes: &[Class]) {
    let Some(spot) = fields.get("cars") else {
        return;
    };
    let sum: u64 = classes.iter().map(|class| u64::from(class.count)).sum();
    if let Some(cars) = cursor.count(&spot, &CARS)
        && cars != sum
    {
        cursor.misfit(
            &spot,
            format!("{sum}, the sum of the classes' counts"),
            format!("write {sum}, or mend the counts by {}", cars.abs_diff(sum)),
        );
    }
}

/// The part of one in which all weights are whole numbers.
fn per_unit(cursor: &mut Cursor, weights: &[f64]) -> Option<u32> {
    let whole = |number: f64| (number - number.round()).abs() <= 1e-6;
    let unit = [1_u32, 10, 100, 1_000].into_iter().find(|unit| {
        weights.iter().all(|weight| {
            let counted = weight * f64::from(*unit);
            // A weight that rounds to nothing would be none.
            whole(counted) && (*weight == 0.0 || counted.round() > 0.0)
        })
    });
    if unit.is_none() {
        cursor.refuse(
            "options",
            "weights finer than a thousandth",
            "weights with at most three places",
            "round them",
        );
    }
    unit
}
