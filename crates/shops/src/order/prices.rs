//! What dropping or loosening each rule gives.

use std::sync::atomic::Ordering;

use sequence::model::{Checked, Goal, Goals, Problem};
use sequence::{Settings, Tally, Watch, What, best};

use super::model::RulePrice;

/// What is changed, with its name and what it becomes.
type Change = (What, String, String);

/// The prices of all rules: what the order found without each has less than the
/// best found with all. Real gains are at least that. Never below nothing: the
/// best order with all rules is also one without a rule.
///
/// Level use is left out where it comes last: it then changes neither breaks
/// nor colours, and without it far more moves are tried in the same time.
/// Promises are dropped all together, since a week may have hundreds.
pub(super) fn prices(
    checked: &Checked,
    with_all: &Tally,
    settings: &Settings,
    watch: &Watch<'_>,
) -> Vec<RulePrice> {
    let problem = unlevelled(checked.problem());
    let mut prices = Vec::new();
    for (what, rule, change) in changes(&problem) {
        if watch.cancel.load(Ordering::Relaxed) {
            break;
        }
        let Ok(changed) = loosened(&problem, what).check() else {
            continue;
        };
        let without = best(&changed, settings, watch).tally;
        let (fewer_breaks, fewer_colour_changes) = gains(with_all, &without, what);
        prices.push(RulePrice {
            rule,
            change,
            fewer_breaks,
            fewer_colour_changes,
        });
    }
    prices
}

fn gains(with_all: &Tally, without: &Tally, what: What) -> (i64, i64) {
    let own = |at: usize| matches!(what, What::Rule { rule, .. } if rule == at);
    let others = |tally: &Tally| {
        let windows = tally.windows.iter().enumerate();
        let others = windows.filter(|(at, _)| !own(*at));
        others.map(|(_, count)| *count as i64).sum::<i64>()
    };
    let gains = (
        others(with_all) - others(without),
        with_all.colour_changes as i64 - without.colour_changes as i64,
    );
    let broken = |tally: &Tally| tally.late.iter().sum::<u64>() + tally.over_block;
    if gains < (0, 0) || broken(without) > broken(with_all) {
        (0, 0)
    } else {
        gains
    }
}

fn changes(problem: &Problem) -> Vec<Change> {
    let dropped = || "dropped".to_owned();
    let mut all: Vec<Change> = Vec::new();
    for (at, rule) in problem.rules.iter().enumerate() {
        let name = &problem.options[rule.option];
        let to = |at_most| What::Rule { rule: at, at_most };
        if rule.at_most < rule.in_every {
            all.push((to(None), name.clone(), dropped()));
        }
        let more = rule.at_most + 1;
        if more < rule.in_every {
            let change = format!("{more} in every {}", rule.in_every);
            all.push((to(Some(more)), name.clone(), change));
        }
    }
    if let Some(most) = problem.colours.max_block {
        let name = || "longest block of a colour".to_owned();
        all.push((What::LongestBlock { most: None }, name(), dropped()));
        let longer = most + 1;
        let change = format!("{longer} cars");
        let what = What::LongestBlock { most: Some(longer) };
        all.push((what, name(), change));
    }
    if !problem.promises.is_empty() {
        let what = What::Promise { promise: 0 };
        all.push((what, "all promises".to_owned(), dropped()));
    }
    all
}

fn loosened(problem: &Problem, what: What) -> Problem {
    let mut changed = problem.clone();
    match what {
        What::Rule { rule, at_most } => {
            let rule = &mut changed.rules[rule];
            // A dropped rule stays in its place, as one that never binds.
            rule.at_most = at_most.unwrap_or(rule.in_every);
        }
        What::LongestBlock { most } => changed.colours.max_block = most,
        What::Promise { .. } => {
            for promise in &mut changed.promises {
                promise.count = 0;
            }
        }
    }
    changed
}

/// The problem without level use where that is the last goal.
fn unlevelled(problem: &Problem) -> Problem {
    let mut problem = problem.clone();
    if let Goals::Ordered(groups) = &mut problem.goals
        && groups.last() == Some(&vec![Goal::Level])
    {
        groups.pop();
        problem.level.weight = 0;
    }
    problem
}
