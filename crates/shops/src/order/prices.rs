//! What dropping or loosening each rule gives.

use sequence::model::{Checked, Goal, Goals, Problem};
use sequence::{RuleCost, Settings, Tally, Watch, What, rule_costs};

use super::model::RulePrice;

/// The prices of all rules: what the order found without each has less than the
/// best found with all. Real gains are at least that. Never below nothing: the
/// best order with all rules is also one without a rule.
///
/// Level use is left out where it comes last: it then changes neither breaks
/// nor colours, and without it far more moves are tried in the same time.
pub(super) fn prices(
    checked: &Checked,
    with_all: &Tally,
    settings: &Settings,
    watch: &Watch<'_>,
) -> Vec<RulePrice> {
    let unlevelled = unlevelled(checked.problem());
    let unlevelled = unlevelled.and_then(|problem| problem.check().ok());
    let checked = unlevelled.as_ref().unwrap_or(checked);
    let costs = rule_costs(checked, settings, watch);
    costs
        .iter()
        .map(|cost| price(checked.problem(), with_all, cost))
        .collect()
}

/// The problem without level use; none where that is no last goal.
fn unlevelled(problem: &Problem) -> Option<Problem> {
    let mut problem = problem.clone();
    let Goals::Ordered(groups) = &mut problem.goals else {
        return None;
    };
    if groups.last() == Some(&vec![Goal::Level]) {
        groups.pop();
    }
    problem.level.weight = 0;
    Some(problem)
}

fn price(problem: &Problem, with_all: &Tally, cost: &RuleCost) -> RulePrice {
    let (rule, change) = told(problem, cost.what);
    let own = |at: usize| matches!(cost.what, What::Rule { rule, .. } if rule == at);
    let others = |tally: &Tally| {
        let windows = tally.windows.iter().enumerate();
        let others = windows.filter(|(at, _)| !own(*at));
        others.map(|(_, count)| *count as i64).sum::<i64>()
    };
    let without = &cost.without.tally;
    let gains = (
        others(with_all) - others(without),
        with_all.colour_changes as i64 - without.colour_changes as i64,
    );
    let late = |tally: &Tally| tally.late.iter().sum::<u64>() + tally.over_block;
    let worse = gains < (0, 0) || late(without) > late(with_all);
    let (fewer_breaks, fewer_colour_changes) = if worse { (0, 0) } else { gains };
    RulePrice {
        rule,
        change,
        fewer_breaks,
        fewer_colour_changes,
    }
}

fn told(problem: &Problem, what: What) -> (String, String) {
    let or_dropped = |text: Option<String>| text.unwrap_or_else(|| "dropped".to_owned());
    match what {
        What::Rule { rule, at_most } => {
            let given = &problem.rules[rule];
            let change = at_most.map(|most| format!("{most} in every {}", given.in_every));
            (problem.options[given.option].clone(), or_dropped(change))
        }
        What::LongestBlock { most } => {
            let change = most.map(|most| format!("{most} cars"));
            ("longest block".to_owned(), or_dropped(change))
        }
        What::Promise { promise } => {
            let promise = &problem.promises[promise];
            let class = &problem.classes[promise.class].name;
            let text = format!("promise of {class} within {}", promise.within);
            (text, or_dropped(None))
        }
    }
}
