//! What dropping or loosening each rule gives.

use sequence::model::{Checked, Problem};
use sequence::{RuleCost, Settings, Watch, What, rule_costs};

use super::model::RulePrice;

/// The prices of all rules. Never below nothing: the order found with all rules
/// is one of those without a rule, so that a search that found a worse one has
/// only searched too little.
pub(super) fn prices(checked: &Checked, settings: &Settings, watch: &Watch<'_>) -> Vec<RulePrice> {
    let costs = rule_costs(checked, settings, watch);
    costs
        .iter()
        .map(|cost| price(checked.problem(), cost))
        .collect()
}

fn price(problem: &Problem, cost: &RuleCost) -> RulePrice {
    let (rule, change) = told(problem, cost.what);
    let gains = (cost.fewer_violations, cost.fewer_colour_changes);
    let (fewer_breaks, fewer_colour_changes) = if gains < (0, 0) { (0, 0) } else { gains };
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
