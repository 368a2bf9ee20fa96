//! The best order found, and what is proven about it.

use std::collections::BTreeMap;

use crate::bound::{self, Bound};
use crate::cost::{Cost, TIERS};
use crate::evaluate::{Tally, evaluate};
use crate::exact::{Verdict, clash, count_out};
use crate::model::{Checked, Problem};
use crate::search::{Found, search};
use crate::watch::{Settings, Watch};

/// Whether an order exists that breaks no rule, no longest block and no
/// promise.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Clean {
    /// The order found is one.
    Found,
    /// It is proven that there is none: these rules, by their positions, no
    /// order keeps together. Empty where it is not rules that stand against it.
    Impossible(Vec<usize>),
    /// None was found, and none was proven not to exist.
    Unknown,
}

/// The best order found.
#[derive(Clone, Debug, PartialEq)]
pub struct Solution {
    /// Classes, car by car, frozen cars first.
    pub order: Vec<usize>,
    /// What it breaks and costs.
    pub tally: Tally,
    /// No order costs less.
    pub bound: Bound,
    /// Whether an order without a break exists.
    pub clean: Clean,
    /// Moves tried.
    pub steps: u64,
    /// False when the search was cancelled before its steps were done.
    pub complete: bool,
}

impl Solution {
    /// Whether no order is better.
    pub fn is_optimal(&self) -> bool {
        self.tally.cost <= self.bound.cost
    }
}

/// Share of the steps that are searched before proofs are tried.
const FIRST_SHARE: u64 = 20;

/// States that a whole problem may have to be counted out at once.
const WHOLE: f64 = 4e6;

/// Orders the cars: a good start, small changes by the million, and proofs
/// where they are within reach.
///
/// The same problem, seed and steps give the same order on every machine and
/// any number of threads, unless cancelled.
///
/// ```
/// use sequence::model::{Class, Force, Problem, Rule};
/// use sequence::{Clean, Settings, Watch, best};
///
/// let class = |name: &str, count, sunroof| Class {
///     name: name.into(), count, options: vec![sunroof], colour: None,
/// };
/// let problem = Problem {
///     classes: vec![class("plain", 3, false), class("sunroof", 2, true)],
///     options: vec!["sunroof".into()],
///     rules: vec![Rule { option: 0, at_most: 1, in_every: 3, force: Force::Soft(1) }],
///     ..Problem::empty()
/// };
/// let checked = problem.check().map_err(|faults| faults[0].to_string())?;
/// let solution = best(&checked, &Settings::quick(1), &Watch::none());
/// assert_eq!(solution.clean, Clean::Found);
/// assert!(solution.is_optimal());
/// # Ok::<(), String>(())
/// ```
pub fn best(checked: &Checked, settings: &Settings, watch: &Watch<'_>) -> Solution {
    let (problem, plan) = (&checked.problem, &checked.plan);
    let mut bound = bound::bound(plan, problem.rules.len());
    let first = Settings {
        steps: settings.steps.div_ceil(FIRST_SHARE).min(2_000_000),
        ..*settings
    };
    let mut found = search(checked, &first, None, &bound.cost, watch);
    let mut clash_found = None;
    if found.cost > bound.cost && settings.proof_states > 0 && !watch.cancelled() {
        clash_found = prove(checked, settings, watch, &mut found, &mut bound);
    }
    if found.cost > bound.cost && !watch.cancelled() {
        let rest = Settings {
            seed: settings.seed ^ 0x5EED,
            steps: settings.steps - first.steps,
            ..*settings
        };
        let longer = search(checked, &rest, Some(&found.row), &bound.cost, watch);
        let steps = found.steps + longer.steps;
        if longer.cost < found.cost {
            found = longer;
        }
        found.steps = steps;
    }
    finish(checked, found, bound, clash_found, watch)
}

/// Counts out what is small enough; betters the order or the bound, and names
/// rules that clash.
fn prove(
    checked: &Checked,
    settings: &Settings,
    watch: &Watch<'_>,
    found: &mut Found,
    bound: &mut Bound,
) -> Option<Vec<usize>> {
    let plan = &checked.plan;
    let states = settings.proof_states as usize;
    let ways = plan.counts.iter().map(|cars| f64::from(*cars) + 1.0);
    if ways.product::<f64>() <= WHOLE {
        match count_out(plan, &found.cost, states, watch) {
            Verdict::Best(row, cost) => {
                found.row = row;
                found.cost = cost;
                bound.cost = cost;
            }
            Verdict::Nothing | Verdict::GaveUp => {}
        }
    }
    let breaks = breaks_any(checked, &found.row);
    if !breaks {
        return None;
    }
    let singles: BTreeMap<usize, i64> = plan
        .rules
        .iter()
        .enumerate()
        .map(|(bit, rule)| (bit, bound.rules[rule.given] as i64))
        .collect();
    let bits = clash(plan, &singles, states, watch)?;
    if bits.len() > 1 {
        raise(checked, settings, watch, &bits, found, bound);
    }
    Some(bits.iter().map(|bit| plan.rules[*bit].given).collect())
}

/// Raises the bound of a goal by what rules that clash must break together.
fn raise(
    checked: &Checked,
    settings: &Settings,
    watch: &Watch<'_>,
    bits: &[usize],
    found: &Found,
    bound: &mut Bound,
) {
    let plan = &checked.plan;
    let tier = plan.rules[bits[0]].tier;
    // An earlier goal that is not at its bound could be traded for this one.
    let one_tier = bits.iter().all(|bit| plan.rules[*bit].tier == tier);
    let before_met = found.cost.0[..tier] == bound.cost.0[..tier];
    if !one_tier || !before_met {
        return;
    }
    let step = bits.iter().map(|bit| plan.rules[*bit].price).min().unwrap_or(1);
    let small = plan.only(bits);
    let mut least = step;
    let alone: i64 = bits
        .iter()
        .map(|bit| bound.rules[plan.rules[*bit].given] as i64 * plan.rules[*bit].price)
        .sum();
    while alone + least < found.cost[tier] - bound.cost[tier] + alone {
        let mut allowed = Cost([0; TIERS]);
        allowed[tier] = least;
        match count_out(&small, &allowed, settings.proof_states as usize, watch) {
            Verdict::Nothing => least += step,
            _ => break,
        }
    }
    bound.cost[tier] += (least - alone).max(0);
}

/// Whether a row breaks any rule, longest block or promise.
fn breaks_any(checked: &Checked, row: &[u16]) -> bool {
    let order = order_of(checked, row);
    evaluate(checked, &order).is_ok_and(|tally| !is_clean(&checked.problem, &tally))
}

fn is_clean(problem: &Problem, tally: &Tally) -> bool {
    let late = tally.late.iter().all(|late| *late == 0);
    let _ = problem;
    late && tally.over_block == 0 && tally.windows.iter().all(|windows| *windows == 0)
}

fn order_of(checked: &Checked, row: &[u16]) -> Vec<usize> {
    let cars = row[checked.plan.first..].iter();
    cars.map(|class| usize::from(*class)).collect()
}

fn finish(
    checked: &Checked,
    found: Found,
    bound: Bound,
    clash: Option<Vec<usize>>,
    watch: &Watch<'_>,
) -> Solution {
    let order = order_of(checked, &found.row);
    let tally = crate::evaluate::tally(checked, &checked.plan, &found.row);
    let clean = if is_clean(&checked.problem, &tally) {
        Clean::Found
    } else if let Some(rules) = clash {
        Clean::Impossible(rules)
    } else if let Some(rule) = bound.rules.iter().position(|breaks| *breaks > 0) {
        Clean::Impossible(vec![rule])
    } else if bound.cost[0] > 0 {
        Clean::Impossible(Vec::new())
    } else {
        Clean::Unknown
    };
    Solution {
        order,
        tally,
        bound,
        clean,
        steps: found.steps,
        complete: !watch.cancelled(),
    }
}
