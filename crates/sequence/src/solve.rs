//! The best order found, and what is proven about it.

use crate::Fault;
use crate::bound::{self, Bound};
use crate::clash::{Among, Requirement, clash};
use crate::cost::Cost;
use crate::evaluate::{self, Tally, evaluate};
use crate::exact::{Clash, Verdict, clashes, count_out, is_small, most_states};
use crate::model::{Checked, Force, Goals};
use crate::plan::Plan;
use crate::relaxed;
use crate::search::{Found, search};
use crate::start::greedy;
use crate::stream::Stream;
use crate::walker::Begin;
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
    /// The order found is none, and none was proven not to exist; where one is
    /// known that costs more, it is [`Solution::clean_order`].
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
    /// Requirements that no order keeps together, as few as could be shown:
    /// among what must hold where that cannot all hold, else among all. Empty
    /// where none are shown.
    pub clash: Vec<Requirement>,
    /// An order that breaks nothing, where there is one and the goals or weights
    /// make another, which does, the better.
    pub clean_order: Option<Vec<usize>>,
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

/// How much of a limit on time is searched; the rest is for proofs.
const SEARCHED: f64 = 0.95;

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
    let mut bound = bound::bound(checked);
    let first = Settings {
        steps: settings.steps.div_ceil(FIRST_SHARE).min(2_000_000),
        ..*settings
    };
    let mut found = at_once(checked, settings, &mut bound, watch)
        .unwrap_or_else(|| search(checked, &first, Begin::Anew, &bound, watch));
    let mut shown = Shown::default();
    if settings.proof_states > 0 && !watch.cancelled() {
        shown = prove(checked, settings, watch, &mut found, &mut bound);
        if found.cost > bound.cost {
            bound.settle(&checked.plan, &found.cost);
            relax(checked, &first, watch, &found, &mut bound, &mut shown);
        }
    }
    let goal = bound.goal(&checked.plan);
    if found.cost > bound.cost && found.cost > goal && !watch.cancelled() {
        let rest = Settings {
            seed: settings.seed ^ 0x5EED,
            steps: settings.steps - first.steps,
            ..*settings
        };
        let longer = watch.share(0.0, SEARCHED, |watch| {
            search(checked, &rest, Begin::Rough(&found.row), &bound, watch)
        });
        let steps = found.steps + longer.steps;
        if longer.cost < found.cost {
            found = longer;
        }
        found.steps = steps;
    }
    if found.cost > bound.cost {
        bound.settle(&checked.plan, &found.cost);
        if settings.proof_states > 0 {
            relax(checked, settings, watch, &found, &mut bound, &mut shown);
        }
    }
    finish(checked, &found, bound, shown, watch)
}

/// Counts out a problem with few states before anything is tried; none where
/// it has more of them.
fn at_once(
    checked: &Checked,
    settings: &Settings,
    bound: &mut Bound,
    watch: &Watch<'_>,
) -> Option<Found> {
    let plan = &checked.plan;
    if settings.proof_states == 0 || !is_small(plan) {
        return None;
    }
    let row = greedy(plan, &mut Stream::keyed(settings.seed, 0));
    let start = Found {
        cost: evaluate::cost(plan, &row),
        row,
        steps: 0,
    };
    counted(checked, settings, start, bound, watch)
}

/// The order that is there where it is at the bound, else the best by counting
/// out; none where that takes too many states.
fn counted(
    checked: &Checked,
    settings: &Settings,
    there: Found,
    bound: &mut Bound,
    watch: &Watch<'_>,
) -> Option<Found> {
    if there.cost <= bound.cost {
        return Some(there);
    }
    let states = settings.proof_states as usize;
    let Verdict::Best(row, cost) = count_out(&checked.plan, &there.cost, states, watch) else {
        return None;
    };
    bound.cost = cost;
    Some(if cost < there.cost {
        Found { row, cost, ..there }
    } else {
        there
    })
}

/// Goes on from an order that is there: what comes out costs no more than it.
/// For the same cars with a rule dropped or loosened, or one evening's order
/// taken up again. Only what has few states is counted out.
///
/// # Errors
///
/// What makes it no order of the problem's cars.
///
/// ```
/// use sequence::model::{Class, Force, Problem, Rule};
/// use sequence::{Settings, Watch, better};
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
/// let solution = better(&checked, &[1, 1, 0, 0, 0], &Settings::quick(1), &Watch::none())?;
/// assert_eq!(solution.tally.windows[0], 0);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn better(
    checked: &Checked,
    order: &[usize],
    settings: &Settings,
    watch: &Watch<'_>,
) -> Result<Solution, Fault> {
    evaluate(checked, order)?;
    let mut bound = bound::bound(checked);
    let before = checked.problem.previous.iter().chain(order);
    let row: Vec<u16> = before.map(|class| *class as u16).collect();
    let small = settings.proof_states > 0 && is_small(&checked.plan);
    let there = small.then(|| Found {
        row: row.clone(),
        cost: evaluate::cost(&checked.plan, &row),
        steps: 0,
    });
    let found = there
        .and_then(|there| counted(checked, settings, there, &mut bound, watch))
        .unwrap_or_else(|| search(checked, settings, Begin::Good(&row), &bound, watch));
    if found.cost > bound.cost {
        bound.settle(&checked.plan, &found.cost);
    }
    Ok(finish(checked, &found, bound, Shown::default(), watch))
}

/// What was shown of orders without a break.
#[derive(Default)]
struct Shown {
    /// What no order keeps together.
    clash: Option<Vec<Requirement>>,
    /// Whether there is none.
    none: bool,
    /// One that there is.
    clean: Option<Vec<usize>>,
}

/// Counts out what is small enough; betters the order or the bound, and names
/// what no order keeps together.
fn prove(
    checked: &Checked,
    settings: &Settings,
    watch: &Watch<'_>,
    found: &mut Found,
    bound: &mut Bound,
) -> Shown {
    let states = settings.proof_states as usize;
    let problem = &checked.problem;
    let mut musts = None;
    if !found.cost.keeps_all_musts() {
        musts = clash(problem, Among::Musts, None, states, watch);
        bound.cost[0] = bound.cost[0].max(musts.is_some().into());
    }
    let rules = if found.cost > bound.cost {
        count(checked, settings, watch, found, bound)
    } else {
        None
    };
    let mut shown = Shown {
        clash: musts,
        ..Shown::default()
    };
    if shown.clash.is_none() && breaks_any(checked, &found.row) {
        shown.clash = clash(problem, Among::All, rules.as_deref(), states, watch);
        let must_break = bound.cost[0] > 0 || bound.rules.iter().any(|breaks| *breaks > 0);
        if shown.clash.is_none() && !must_break {
            clean(checked, states, watch, found, &mut shown);
        }
    }
    shown
}

/// Raises the bound by rules minded together, and names what clashes where
/// nothing was shown to.
fn relax(
    checked: &Checked,
    settings: &Settings,
    watch: &Watch<'_>,
    found: &Found,
    bound: &mut Bound,
    shown: &mut Shown,
) {
    let moves = settings.steps.saturating_mul(settings.walkers.into());
    let (plan, sums) = (&checked.plan, relaxed::sums(moves));
    let clash = relaxed::raise(plan, &found.cost, &mut bound.cost, sums, watch);
    if shown.clash.is_none() && !clash.is_empty() {
        shown.clash = Some(clash);
    }
}

/// Looks for an order without a break whatever the goals say, where that can be
/// counted out: for the cheapest of them where that is within reach, else for
/// any.
fn clean(
    checked: &Checked,
    states: usize,
    watch: &Watch<'_>,
    found: &mut Found,
    shown: &mut Shown,
) {
    let mut strict = checked.problem.clone();
    for rule in &mut strict.rules {
        rule.force = Force::Hard;
    }
    for promise in &mut strict.promises {
        promise.force = Force::Hard;
    }
    let mut any = strict.clone();
    any.goals = Goals::Weighted;
    any.colours.change_weight = 0;
    any.level.weight = 0;
    for problem in [strict, any] {
        let plan = Plan::new(&problem);
        if most_states(&plan) > WHOLE {
            continue;
        }
        match count_out(&plan, &Cost::NO_BREAK, states, watch) {
            Verdict::Best(row, _) => {
                let cost = evaluate::cost(&checked.plan, &row);
                if cost <= found.cost {
                    // Of orders that cost the same one without a break.
                    (found.row, found.cost) = (row, cost);
                } else {
                    shown.clean = Some(order_of(checked, &row));
                }
                return;
            }
            Verdict::Nothing => {
                shown.none = true;
                return;
            }
            Verdict::GaveUp => {}
        }
    }
}

/// Counts out the whole and sets of rules; names rules that clash.
fn count(
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
    if !breaks_any(checked, &found.row) {
        return None;
    }
    let alone = |rule: &crate::plan::Spacing| bound.rules[rule.given] as i64 * rule.price;
    let singles: Vec<i64> = plan.rules.iter().map(alone).collect();
    let mut clashes = clashes(plan, &singles, &found.cost, states, watch);
    clashes.sort_by_key(|clash| std::cmp::Reverse(clash.least - clash.alone));
    if found.cost > bound.cost {
        raise(plan, &clashes, found, bound);
    }
    let worst = clashes.first()?;
    let given = worst.bits.iter().map(|bit| plan.rules[*bit].given);
    Some(given.collect())
}

/// Raises the bounds of goals by what rules that clash must break together;
/// of clashes that share a rule only one counts.
fn raise(plan: &Plan, clashes: &[Clash], found: &Found, bound: &mut Bound) {
    let mut used: Vec<usize> = Vec::new();
    for clash in clashes {
        let tier = plan.rules[clash.bits[0]].tier;
        // An earlier goal that is not at its bound could be traded for this.
        let before_met = found.cost.0[..tier] == bound.cost.0[..tier];
        if before_met && clash.bits.iter().all(|bit| !used.contains(bit)) {
            bound.cost[tier] += clash.least - clash.alone;
            used.extend(&clash.bits);
        }
    }
}

/// Whether a row breaks any rule, longest block or promise.
fn breaks_any(checked: &Checked, row: &[u16]) -> bool {
    let order = order_of(checked, row);
    evaluate(checked, &order).is_ok_and(|tally| !is_clean(&tally))
}

fn is_clean(tally: &Tally) -> bool {
    let in_time = tally.late.iter().all(|late| *late == 0);
    let there = tally.early.iter().all(|early| *early == 0);
    in_time && there && tally.over_block == 0 && tally.windows.iter().all(|windows| *windows == 0)
}

fn order_of(checked: &Checked, row: &[u16]) -> Vec<usize> {
    let cars = row[checked.plan.first..].iter();
    cars.map(|class| usize::from(*class)).collect()
}

fn finish(
    checked: &Checked,
    found: &Found,
    bound: Bound,
    shown: Shown,
    watch: &Watch<'_>,
) -> Solution {
    let order = order_of(checked, &found.row);
    let tally = evaluate::tally(checked, &checked.plan, &found.row);
    let is_clean = is_clean(&tally);
    let clash = shown.clash.filter(|_| !is_clean).unwrap_or_default();
    let rule = |of: &Requirement| match of {
        Requirement::Rule(rule) => Some(*rule),
        _ => None,
    };
    let clean = if is_clean {
        Clean::Found
    } else if !clash.is_empty() {
        Clean::Impossible(clash.iter().filter_map(rule).collect())
    } else if let Some(rule) = bound.rules.iter().position(|breaks| *breaks > 0) {
        Clean::Impossible(vec![rule])
    } else if bound.cost[0] > 0 || shown.none {
        Clean::Impossible(Vec::new())
    } else {
        Clean::Unknown
    };
    Solution {
        order,
        tally,
        bound,
        clean,
        clash,
        clean_order: shown.clean.filter(|_| !is_clean),
        steps: found.steps,
        complete: !watch.cancelled(),
    }
}
