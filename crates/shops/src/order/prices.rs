//! What dropping or loosening each rule gives.

use std::sync::atomic::{AtomicBool, Ordering};

use sequence::model::{Checked, Goal, Goals, Problem};
use sequence::{Settings, Solution, Tally, What, best, better, evaluate};

use super::follow::{Follow, moves};
use super::model::RulePrice;
use super::wrong::promise_of;

/// What is changed, with its name and what it becomes.
struct Change {
    what: What,
    rule: String,
    change: String,
    orders: Vec<String>,
}

/// Promises that are dropped one by one; more are dropped all together.
const MOST_PROMISES: usize = 30;

/// The prices of all rules: what the order found without each has less than the
/// best found with all. Real gains are at least that. Never below nothing: a
/// search without a rule goes on from the order with all of them, which is also
/// one without it. Where dropping something may change the order from the ground
/// up, another search begins anew, and the better of the two counts.
///
/// Level use is left out where it comes last: it then changes neither breaks
/// nor colours, and without it far more moves are tried in the same time.
pub(super) fn prices(
    checked: &Checked,
    order: &[usize],
    promises: &[Vec<String>],
    search: &Search<'_>,
) -> Vec<RulePrice> {
    let problem = unlevelled(checked.problem());
    // With all rules the search goes on as long as without one, so that no
    // rule is blamed for what more moves alone would have given.
    let Some(with_all) = search.better("pricing the rules", &problem, order, false) else {
        return Vec::new();
    };
    let mut prices = Vec::new();
    for Change {
        what,
        rule,
        change,
        orders,
    } in changes(&problem, promises)
    {
        if search.cancel.load(Ordering::Relaxed) {
            break;
        }
        let changed = loosened(&problem, what);
        let anew = match what {
            What::Rule { at_most, .. } => at_most.is_none(),
            What::LongestBlock { .. } => true,
            What::Promise { promise } => promise == ALL_PROMISES,
        };
        let doing = format!("pricing the rules: {rule}, {change}");
        let Some(without) = search.better(&doing, &changed, &with_all.order, anew) else {
            continue;
        };
        let (fewer_breaks, fewer_colour_changes) = gains(&with_all.tally, &without.tally, what);
        let as_before = as_before(&problem, &without);
        prices.push(RulePrice {
            rule,
            change,
            orders,
            fewer_breaks,
            fewer_colour_changes,
            own_before: own(what, &with_all.tally),
            own_after: own(what, &as_before),
            own_left: own(what, &without.tally),
        });
    }
    prices
}

/// The order found without a rule, counted with all of them.
fn as_before(problem: &Problem, without: &Solution) -> Tally {
    let checked = problem.check().ok();
    let tally = checked.and_then(|checked| evaluate(&checked, &without.order).ok());
    tally.unwrap_or_else(|| without.tally.clone())
}

/// Breaks of what is changed.
fn own(what: What, tally: &Tally) -> u64 {
    match what {
        What::Promise { promise } if promise == ALL_PROMISES => tally.late.iter().sum(),
        _ => what.own(tally),
    }
}

/// How each search is done, and what it is a part of.
pub(super) struct Search<'a> {
    pub(super) settings: Settings,
    pub(super) cancel: &'a AtomicBool,
    pub(super) follow: &'a Follow<'a>,
}

impl Search<'_> {
    fn better(
        &self,
        doing: &str,
        problem: &Problem,
        order: &[usize],
        anew: bool,
    ) -> Option<Solution> {
        let checked = problem.check().ok()?;
        // What is left unchanged for the most part is near its best already.
        let shorter = Settings {
            steps: self.settings.steps / SHORTER,
            ..self.settings
        };
        let own = (doing, moves(&self.settings));
        self.follow.beside(own, |watch| {
            let on = better(&checked, order, &shorter, watch).ok()?;
            if !anew || watch.cancel.load(Ordering::Relaxed) {
                return Some(on);
            }
            let other = best(&checked, &self.settings, watch);
            let betters = other.tally.cost < on.tally.cost;
            Some(if betters { other } else { on })
        })
    }
}

/// A search that goes on takes so many times fewer moves than one begun anew.
const SHORTER: u64 = 5;

/// How many searches the prices take.
pub(super) fn searches(problem: &Problem, promises: &[Vec<String>]) -> u64 {
    1 + changes(problem, promises).len() as u64
}

/// What the better order has less; nothing where it is no better.
fn gains(with_all: &Tally, without: &Tally, what: What) -> (i64, i64) {
    if without.cost >= with_all.cost {
        return (0, 0);
    }
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
    // It may be better by the rule's own breaks alone, which no longer count.
    if gains.0 <= 0 && gains.1 <= 0 {
        (0, 0)
    } else {
        gains
    }
}

fn changes(problem: &Problem, promises: &[Vec<String>]) -> Vec<Change> {
    let dropped = || "dropped".to_owned();
    let mut all: Vec<Change> = Vec::new();
    let mut add = |what, rule: &str, change| {
        all.push(Change {
            what,
            rule: rule.to_owned(),
            change,
            orders: Vec::new(),
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
        all.extend(promises.iter().enumerate().map(|(promise, orders)| Change {
            what: What::Promise { promise },
            rule: promise_of(orders),
            change: dropped(),
            orders: orders.clone(),
        }));
    }
    if promises.len() > 1 {
        all.push(Change {
            what: What::Promise {
                promise: ALL_PROMISES,
            },
            rule: "all promises".to_owned(),
            change: dropped(),
            orders: Vec::new(),
        });
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

#[cfg(test)]
mod tests {
    use super::super::tests::{plan, plant};

    #[test]
    fn a_loosened_rule_tells_what_becomes_of_its_own_breaks() {
        // Two vans in five have rails, one in every five may: loosened to two in
        // five the rule holds, counted as it was it is broken as before or more.
        let mut book = plant();
        book.cycles.clear();
        let rails = &mut book.options[1];
        (rails.at_most, rails.in_every) = (Some(1), Some(5));
        let plan = plan(&book);
        let of_rails = |change: &str| {
            let mut costs = plan.costs.iter();
            costs
                .find(|cost| cost.rule.contains("rails") && cost.change == change)
                .unwrap()
        };
        let broken = plan.rules[0].broken_at.len() as u64;
        for change in ["dropped", "2 in every 5"] {
            let cost = of_rails(change);
            assert!(cost.own_before > 0 && cost.own_before <= broken, "{cost:?}");
            assert!(cost.own_after >= cost.own_left, "{cost:?}");
        }
        assert_eq!(of_rails("dropped").own_left, 0);
        assert!(of_rails("2 in every 5").own_left < of_rails("2 in every 5").own_before);
    }
}
