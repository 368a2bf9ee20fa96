//! What a rule costs: the same search with the rule dropped or loosened.

use crate::model::{Checked, Problem};
use crate::solve::{Solution, best, better};
use crate::watch::{Settings, Watch};

/// A rule dropped or loosened.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum What {
    /// A spacing rule, by its position.
    Rule {
        /// Which.
        rule: usize,
        /// The most it lets through instead; none where it is dropped.
        at_most: Option<u32>,
    },
    /// The longest block of a colour.
    LongestBlock {
        /// The longest block instead; none where it is dropped.
        most: Option<u32>,
    },
    /// A promise, by its position, dropped.
    Promise {
        /// Which.
        promise: usize,
    },
}

/// What a rule costs.
#[derive(Clone, Debug, PartialEq)]
pub struct RuleCost {
    /// What was dropped or loosened.
    pub what: What,
    /// Fewer runs of cars that exceed the other rules.
    pub fewer_violations: i64,
    /// Fewer changes of colour.
    pub fewer_colour_changes: i64,
    /// The order found without the rule.
    pub without: Solution,
}

/// Drops each rule in turn, and loosens each by one car, and says what is
/// gained; same seed and steps throughout. Each search goes on from the order
/// with all rules, so that no order without a rule costs more by what is left.
///
/// A gain of one kind may still come out below nothing: where a later goal had
/// to give way to the rule it may take what is freed.
pub fn rule_costs(checked: &Checked, settings: &Settings, watch: &Watch<'_>) -> Vec<RuleCost> {
    let problem = &checked.problem;
    let with_all = best(checked, settings, watch);
    let mut costs = Vec::new();
    for what in changes(problem) {
        if watch.cancel.load(std::sync::atomic::Ordering::Relaxed) {
            break;
        }
        let Ok(changed) = loosened(problem, what).check() else {
            continue;
        };
        let Ok(without) = better(&changed, &with_all.order, settings, watch) else {
            continue;
        };
        let others = |solution: &Solution| {
            let windows = solution.tally.windows.iter().enumerate();
            let others =
                windows.filter(|(at, _)| !matches!(what, What::Rule { rule, .. } if rule == *at));
            others.map(|(_, count)| *count as i64).sum::<i64>()
        };
        costs.push(RuleCost {
            what,
            fewer_violations: others(&with_all) - others(&without),
            fewer_colour_changes: with_all.tally.colour_changes as i64
                - without.tally.colour_changes as i64,
            without,
        });
    }
    costs
}

fn changes(problem: &Problem) -> Vec<What> {
    let mut all = Vec::new();
    for (at, rule) in problem.rules.iter().enumerate() {
        if rule.at_most < rule.in_every {
            all.push(What::Rule {
                rule: at,
                at_most: None,
            });
        }
        if rule.at_most + 1 < rule.in_every {
            all.push(What::Rule {
                rule: at,
                at_most: Some(rule.at_most + 1),
            });
        }
    }
    if let Some(most) = problem.colours.max_block {
        all.push(What::LongestBlock { most: None });
        all.push(What::LongestBlock {
            most: Some(most + 1),
        });
    }
    all.extend((0..problem.promises.len()).map(|promise| What::Promise { promise }));
    all
}

/// The problem with something dropped or loosened. A dropped rule stays in its
/// place, as one that never binds.
fn loosened(problem: &Problem, what: What) -> Problem {
    let mut changed = problem.clone();
    match what {
        What::Rule { rule, at_most } => {
            let rule = &mut changed.rules[rule];
            rule.at_most = at_most.unwrap_or(rule.in_every);
        }
        What::LongestBlock { most } => changed.colours.max_block = most,
        What::Promise { promise } => changed.promises[promise].count = 0,
    }
    changed
}
