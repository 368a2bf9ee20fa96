//! Why no order is without violation, in names of the question.

use serde::Serialize as Derive;

use crate::clash::Requirement;
use crate::model::Problem;
use crate::solve::{Clean, Solution};

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
                    "no more than {at_most} {colour} in a row, {cars} to be built beside {others} \
                     others"
                )
            }
            Self::Promise {
                class,
                count,
                within,
            } => format!("{count} of \"{class}\" promised within {within} places"),
            Self::Hold {
                class,
                ready,
                until,
            } => format!("no more than {ready} of \"{class}\" there within {until} places"),
            Self::Previous { classes } => {
                format!(
                    "the cars built before, the last of them {}",
                    listed(classes)
                )
            }
            Self::Frozen { classes } => {
                format!("the cars frozen in the first places: {}", listed(classes))
            }
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
pub(super) fn why(solution: &Solution, because: &[Because]) -> Option<String> {
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
        Clean::Unknown => Some(
            "not proved: no order without violation was found, nor shown not to exist".to_owned(),
        ),
    }
}
