//! Why no order is without violation, in names of the question.

use serde::Serialize as Derive;

use super::goals;
use crate::clash::Requirement;
use crate::evaluate::Tally;
use crate::model::{Force, Goal, Goals, Problem};
use crate::solve::{Clean, Solution};
use crate::told::some;

/// A requirement that takes part in a clash.
#[derive(Clone, Debug, Derive)]
pub struct Because {
    /// In words.
    pub told: String,
    /// In figures.
    #[serde(flatten)]
    pub of: Part,
}

/// What takes part in a clash.
#[derive(Clone, Debug, PartialEq, Eq, Derive)]
#[serde(rename_all = "snake_case", tag = "kind")]
pub enum Part {
    /// A spacing rule.
    Rule {
        /// The option.
        option: String,
        /// Most cars with it.
        at_most: u32,
        /// In so many cars in a row.
        in_every: u32,
        /// Cars with it that are to be built.
        cars: u32,
    },
    /// The longest block of a colour.
    LongestBlock {
        /// The colour; none for cars without one.
        colour: Option<String>,
        /// Most cars in a row.
        at_most: u32,
        /// Cars of the colour.
        cars: u32,
        /// Cars of others, which keep them apart.
        others: u32,
    },
    /// A promise.
    Promise {
        /// The class.
        class: String,
        /// So many cars of it ...
        count: u32,
        /// ... among the first so many.
        within: u32,
    },
    /// Cars that come later.
    Hold {
        /// The class.
        class: String,
        /// Cars of it that are there ...
        ready: u32,
        /// ... for the first so many places.
        until: u32,
    },
    /// The cars built before, which rules and blocks reach back into.
    Previous {
        /// Their classes, the last ones alone where they are many.
        classes: Vec<String>,
    },
    /// The frozen cars, which stay where they are.
    Frozen {
        /// Their classes, the last ones alone where they are many.
        classes: Vec<String>,
    },
}

/// Cars that are named one by one.
const NAMED: usize = 20;

fn part(problem: &Problem, of: Requirement) -> Part {
    let names = |classes: &[usize]| {
        let last = &classes[classes.len().saturating_sub(NAMED)..];
        let name = |class: &usize| problem.classes[*class].name.clone();
        last.iter().map(name).collect()
    };
    match of {
        Requirement::Rule(rule) => {
            let rule = &problem.rules[rule];
            Part::Rule {
                option: problem.options[rule.option].clone(),
                at_most: rule.at_most,
                in_every: rule.in_every,
                cars: problem.cars_with(rule.option),
            }
        }
        Requirement::LongestBlock(colour) => {
            let of = problem.classes.iter().filter(|one| one.colour == colour);
            let cars = of.map(|class| class.count).sum();
            Part::LongestBlock {
                colour: colour.map(|colour| problem.colours.names[colour].clone()),
                at_most: problem.colours.max_block.unwrap_or(0),
                cars,
                others: problem.cars() as u32 - cars,
            }
        }
        Requirement::Promise(promise) => {
            let promise = &problem.promises[promise];
            Part::Promise {
                class: problem.classes[promise.class].name.clone(),
                count: promise.count,
                within: promise.within,
            }
        }
        Requirement::Hold(hold) => {
            let hold = &problem.holds[hold];
            Part::Hold {
                class: problem.classes[hold.class].name.clone(),
                ready: hold.ready,
                until: hold.until,
            }
        }
        Requirement::Previous => Part::Previous {
            classes: names(&problem.previous),
        },
        Requirement::Frozen => Part::Frozen {
            classes: names(&problem.frozen),
        },
    }
}

impl Part {
    fn told(&self) -> String {
        let listed = |classes: &[String]| {
            let quoted: Vec<String> = classes.iter().map(|name| format!("\"{name}\"")).collect();
            quoted.join(", ")
        };
        match self {
            Self::Rule {
                option,
                at_most,
                in_every,
                cars,
            } => format!(
                "no more than {at_most} with \"{option}\" among any {in_every} in a row, {cars} \
                 to be built"
            ),
            Self::LongestBlock {
                colour,
                at_most,
                cars,
                others,
            } => {
                let colour = colour.as_ref();
                let colour = colour.map_or("without a colour".to_owned(), |name| {
                    format!("in \"{name}\"")
                });
                format!(
                    "no more than {at_most} {colour} in a row, {cars} to be built beside {}",
                    some(*others as usize, "other")
                )
            }
            Self::Promise {
                class,
                count,
                within,
            } => {
                let places = some(*within as usize, "place");
                format!("{count} of \"{class}\" promised within {places}")
            }
            Self::Hold {
                class,
                ready,
                until,
            } => {
                let places = some(*until as usize, "place");
                format!("no more than {ready} of \"{class}\" there within {places}")
            }
            Self::Previous { classes } => match &classes[..] {
                [one] => format!("the car built before, \"{one}\""),
                _ => format!(
                    "the cars built before, the last of them {}",
                    listed(classes)
                ),
            },
            Self::Frozen { classes } => match &classes[..] {
                [one] => format!("the car frozen in the first place, \"{one}\""),
                _ => format!("the cars frozen in the first places: {}", listed(classes)),
            },
        }
    }

    /// A short name.
    pub(super) fn name(&self) -> String {
        match self {
            Self::Rule { option, .. } => option.clone(),
            Self::LongestBlock { colour, .. } => colour.as_ref().map_or_else(
                || "longest block without a colour".to_owned(),
                |name| format!("longest block of {name}"),
            ),
            Self::Promise {
                class,
                count,
                within,
            } => format!("{count} of {class} within {within}"),
            Self::Hold { class, until, .. } => format!("{class} held until {until}"),
            Self::Previous { .. } => "previous cars".to_owned(),
            Self::Frozen { .. } => "frozen cars".to_owned(),
        }
    }
}

/// What takes part in the clash that was found, if any.
pub(super) fn because(problem: &Problem, solution: &Solution) -> Vec<Because> {
    let of = solution.clash.iter().map(|of| part(problem, *of));
    of.map(|of| Because {
        told: of.told(),
        of,
    })
    .collect()
}

/// Why the order has violations, and how sure that is; nothing where it has
/// none.
pub(super) fn why(problem: &Problem, solution: &Solution, because: &[Because]) -> Option<String> {
    match solution.clean {
        Clean::Found => None,
        Clean::Impossible(_) if because.is_empty() => Some(
            "proven that no order is without violation, but not proved which few requirements \
             stand against it: the proof is too large"
                .to_owned(),
        ),
        Clean::Impossible(_) => {
            let told: Vec<&str> = because.iter().map(|one| one.told.as_str()).collect();
            Some(format!(
                "proven that no order keeps together: {}",
                told.join("; ")
            ))
        }
        Clean::Unknown => Some(unknown(problem, solution)),
    }
}

/// The same where nothing stands against an order without violation.
fn unknown(problem: &Problem, solution: &Solution) -> String {
    let rivals = rivals(problem, &solution.tally);
    match (&solution.clean_order, rivals) {
        (Some(_), Some(rivals)) => {
            format!("an order without violation exists, `clean_order`, but {rivals}")
        }
        (Some(_), None) => {
            "an order without violation exists, `clean_order`, but it costs more".to_owned()
        }
        (None, Some(rivals)) => format!("not looked for: {rivals}"),
        (None, None) => {
            "not proved: no order without violation was found, nor shown not to exist".to_owned()
        }
    }
}

/// What the search minds before the rules and promises that are broken, or
/// beside them; none where an order without violation would have been the best.
fn rivals(problem: &Problem, tally: &Tally) -> Option<String> {
    let quoted = |goals: &[Goal]| {
        let names = goals::named(problem, goals);
        let quoted: Vec<String> = names.iter().map(|name| format!("\"{name}\"")).collect();
        quoted.join(", ")
    };
    let broken = broken(problem, tally);
    let ignored = |goal: &&Goal| match goal {
        Goal::Rule(rule) => problem.rules[*rule].force == Force::Soft(0),
        _ => false,
    };
    let ignored: Vec<Goal> = broken.iter().filter(ignored).copied().collect();
    if !ignored.is_empty() {
        let names = quoted(&ignored);
        return Some(match ignored.len() {
            1 => format!("the weight of {names} is 0"),
            _ => format!("the weights of {names} are 0"),
        });
    }
    let others = |goals: &[Goal]| -> Vec<Goal> {
        let other = |goal: &&Goal| match goal {
            Goal::Colours => problem.colours.change_weight > 0,
            Goal::Level => problem.level.weight > 0,
            Goal::Lateness => true,
            Goal::Rule(_) | Goal::Promises => false,
        };
        goals.iter().filter(other).copied().collect()
    };
    let beside = |goals: &[Goal]| {
        let others = others(goals);
        let told = || format!("the violations are weighed against {}", quoted(&others));
        (!others.is_empty() && !broken.is_empty()).then(told)
    };
    let Goals::Ordered(groups) = &problem.goals else {
        return beside(&[Goal::Colours, Goal::Level]);
    };
    let left_out = broken.iter().filter(|goal| !problem.goals.hold(**goal));
    let left_out: Vec<Goal> = left_out.copied().collect();
    if !left_out.is_empty() {
        return Some(format!("the goals leave out {}", quoted(&left_out)));
    }
    let last = groups
        .iter()
        .rposition(|group| group.iter().any(|goal| broken.contains(goal)))?;
    let first = others(&groups[..last].concat());
    if first.is_empty() {
        beside(&groups[last])
    } else {
        Some(format!("the goals put {} first", quoted(&first)))
    }
}

/// Soft rules and promises that an order breaks.
fn broken(problem: &Problem, tally: &Tally) -> Vec<Goal> {
    let soft = |force: Force| matches!(force, Force::Soft(_));
    let rules = problem.rules.iter().zip(&tally.windows).enumerate();
    let rules = rules.filter(|(_, (rule, windows))| soft(rule.force) && **windows > 0);
    let mut broken: Vec<Goal> = rules.map(|(at, _)| Goal::Rule(at)).collect();
    let mut promises = problem.promises.iter().zip(&tally.late);
    let late = promises.any(|(promise, late)| soft(promise.force) && *late > 0);
    broken.extend(late.then_some(Goal::Promises));
    broken
}
