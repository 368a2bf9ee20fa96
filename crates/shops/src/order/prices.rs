//! What dropping or loosening each rule gives.

use std::sync::atomic::Ordering;

use sequence::model::{Checked, Goal, Goals, Problem};
use sequence::{Settings, Tally, Watch, What, better};

use super::model::RulePrice;

/// What is changed, with its name and what it becomes.
struct Change {
    what: What,
    rule: String,
    change: String,
}

/// Promises that are dropped one by one; more are dropped all together.
const MOST_PROMISES: usize = 30;

/// The prices of all rules: what the order found without each has less than the
/// best found with all. Real gains are at least that. Never below nothing: each
/// search without a rule goes on from the order with all of them, which is also
/// one without it.
///
/// Level use is left out where it comes last: it then changes neither breaks
/// nor colours, and without it far more moves are tried in the same time.
pub(super) fn prices(
    checked: &Checked,
    order: &[usize],
    promises: &[String],
    settings: &Settings,
    watch: &Watch<'_>,
) -> Vec<RulePrice> {
    let problem = unlevelled(checked.problem());
    // With all rules the search goes on as long as without one, so that no
    // rule is blamed for what more moves alone would have given.
    let with_all = problem.check().ok();
    let with_all = with_all.and_then(|all| better(&all, order, settings, watch).ok());
    let Some(with_all) = with_all else {
        return Vec::new();
    };
    let mut prices = Vec::new();
    for Change { what, rule, change } in changes(&problem, promises) {
        if watch.cancel.load(Ordering::Relaxed) {
            break;
        }
        let Ok(changed) = loosened(&problem, what).check() else {
            continue;
        };
        let Ok(without) = better(&changed, &with_all.order, settings, watch) else {
            continue;
        };
        let (fewer_breaks, fewer_colour_changes) = gains(&with_all.tally, &without.tally, what);
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
    // What is weighed against one another may be traded.
    if gains < (0, 0) { (0, 0) } else { gains }
}

fn changes(problem: &Problem, promises: &[String]) -> Vec<Change> {
    let dropped = || "dropped".to_owned();
    let mut all: Vec<Change> = Vec::new();
    let mut add = |what, rule: &str, change| {
        all.push(Change {
            what,
            rule: rule.to_owned(),
            change,
        });
    };
    for (at, rule) in problem.rules.iter().enumerate() {
        let name = &problem.options[rule.option];
        let to = |at_most| What::Rule { rule: at, at_most };
        if rule.at_most < rule.in_every {
            add(to(None), name, dropped());
        }
        let more = rule.at_most + 1;
        if more < rule.in_every {
            add(
                to(Some(more)),
                name,
                format!("{more} in every {}", rule.in_every),
            );
        }
    }
    if let Some(most) = problem.colours.max_block {
        let name = "longest block of a colour";
        add(What::LongestBlock { most: None }, name, dropped());
        let longer = most + 1;
        let what = What::LongestBlock { most: Some(longer) };
        add(what, name, format!("{longer} cars"));
    }
    if promises.len() <= MOST_PROMISES {
        for (promise, name) in promises.iter().enumerate() {
            add(What::Promise { promise }, name, dropped());
        }
    }
    if promises.len() > 1 {
        let promise = ALL_PROMISES;
        add(What::Promise { promise }, "all promises", dropped());
    }
    all
}

/// Stands for every promise.
const ALL_PROMISES: usize = usize::MAX;

fn loosened(problem: &Problem, what: What) -> Problem {
    let mut changed = problem.clone();
    match what {
        What::Rule { rule, at_most } => {
            let rule = &mut changed.rules[rule];
            // A dropped rule stays in its place, as one that never binds.
            rule.at_most = at_most.unwrap_or(rule.in_every);
        }
        What::LongestBlock { most } => changed.colours.max_block = most,
        What::Promise { promise } => {
            for (at, own) in changed.promises.iter_mut().enumerate() {
                if at == promise || promise == ALL_PROMISES {
                    own.count = 0;
                }
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
