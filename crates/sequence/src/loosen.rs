//! What a rule costs: the same search with the rule dropped or loosened.

use crate::evaluate::{Tally, evaluate};
use crate::model::{Checked, Problem};
use crate::solve::{Clean, Solution, best, better};
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

impl What {
    /// The breaks of what is changed: runs past the rule, cars beyond the
    /// longest block, or cars that come later than promised.
    pub fn own(self, tally: &Tally) -> u64 {
        let of = |list: &[u64], at: usize| list.get(at).copied().unwrap_or(0);
        match self {
            Self::Rule { rule, .. } => of(&tally.windows, rule),
            Self::LongestBlock { .. } => tally.over_block,
            Self::Promise { promise } => of(&tally.late, promise),
        }
    }

    /// Runs of cars that exceed the rules, the changed one left out.
    fn others(self, tally: &Tally) -> i64 {
        let windows = tally.windows.iter().enumerate();
        let others =
            windows.filter(|(at, _)| !matches!(self, Self::Rule { rule, .. } if rule == *at));
        others.map(|(_, count)| *count as i64).sum()
    }
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
    /// Breaks of what was changed, in the order with all rules: runs past the
    /// rule, cars beyond the longest block, promised cars that are late.
    pub own_before: u64,
    /// The same in the order found without, counted as it was before.
    pub own_after: u64,
    /// The same counted as it is now; nothing where it is dropped.
    pub own_left: u64,
    /// The order found without the rule.
    pub without: Solution,
}

/// What each rule costs, as far as there was time.
#[derive(Clone, Debug, PartialEq)]
pub struct Prices {
    /// The order with all rules that the others are held against: the one
    /// given, or a better one.
    pub with_all: Solution,
    /// What each rule costs.
    pub costs: Vec<RuleCost>,
    /// Changes that there was no time left for.
    pub unpriced: Vec<What>,
}

/// Drops each rule in turn, and loosens each by one car, and says what is
/// gained; same seed and steps throughout. Each search goes on from the order
/// with all rules, so that no order without a rule costs more by what is left.
///
/// A gain of one kind may still come out below nothing: where a later goal had
/// to give way to the rule it may take what is freed.
///
/// ```
/// use sequence::model::{Class, Force, Problem, Rule};
/// use sequence::{Settings, Watch, What, rule_costs};
///
/// // Two plain cars cannot keep four with a towbar apart.
/// let class = |name: &str, count, towbar| Class {
///     name: name.into(), count, options: vec![towbar], colour: None,
/// };
/// let problem = Problem {
///     classes: vec![class("plain", 2, false), class("towed", 4, true)],
///     options: vec!["towbar".into()],
///     rules: vec![Rule { option: 0, at_most: 1, in_every: 3, force: Force::Soft(1) }],
///     ..Problem::empty()
/// };
/// let checked = problem.check().map_err(|faults| faults[0].to_string())?;
/// let (settings, watch) = (Settings::quick(1), Watch::none());
/// let costs = rule_costs(&checked, &settings, &watch);
/// assert_eq!(costs[1].what, What::Rule { rule: 0, at_most: Some(2) });
/// assert!(costs[1].own_before > 0 && costs[1].own_left == 0, "two in three are kept");
/// # Ok::<(), String>(())
/// ```
pub fn rule_costs(checked: &Checked, settings: &Settings, watch: &Watch<'_>) -> Vec<RuleCost> {
    let with_all = best(checked, settings, watch);
    prices(checked, with_all, settings, watch).costs
}

/// The same from an order that is there. Where time is the limit, what is left
/// of it is shared alike; the first share goes to the order with all rules, so
/// that no rule is blamed for what more moves alone would have given.
///
/// ```
/// use sequence::model::{Class, Force, Problem, Rule};
/// use sequence::{Settings, Watch, What, best, prices};
///
/// // Two plain cars cannot keep four with a towbar apart.
/// let class = |name: &str, count, towbar| Class {
///     name: name.into(), count, options: vec![towbar], colour: None,
/// };
/// let problem = Problem {
///     classes: vec![class("plain", 2, false), class("towed", 4, true)],
///     options: vec!["towbar".into()],
///     rules: vec![Rule { option: 0, at_most: 1, in_every: 3, force: Force::Soft(1) }],
///     ..Problem::empty()
/// };
/// let checked = problem.check().map_err(|faults| faults[0].to_string())?;
/// let (settings, watch) = (Settings::quick(1), Watch::none());
/// let with_all = best(&checked, &settings, &watch);
/// let prices = prices(&checked, with_all, &settings, &watch);
/// assert_eq!(prices.costs[0].what, What::Rule { rule: 0, at_most: None });
/// assert!(prices.unpriced.is_empty(), "nobody ended it early");
/// # Ok::<(), String>(())
/// ```
pub fn prices(
    checked: &Checked,
    with_all: Solution,
    settings: &Settings,
    watch: &Watch<'_>,
) -> Prices {
    let changes = changes(&checked.problem);
    let share = |left: usize, checked: &Checked, order: &[usize]| {
        if watch.cancelled() {
            return None;
        }
        let now = (watch.gone)();
        let until = now + (1.0 - now) / left as f64;
        watch.share(now, until, |watch| {
            better(checked, order, settings, watch).ok()
        })
    };
    let mut prices = Prices {
        with_all,
        costs: Vec::new(),
        unpriced: Vec::new(),
    };
    if let Some(more) = share(changes.len() + 1, checked, &prices.with_all.order) {
        prices.with_all.take(more);
    }
    for (number, what) in changes.iter().enumerate() {
        let Ok(changed) = loosened(&checked.problem, *what).check() else {
            continue;
        };
        let without = share(changes.len() - number, &changed, &prices.with_all.order);
        match without.and_then(|without| cost(checked, &prices.with_all, *what, without)) {
            Some(cost) => prices.costs.push(cost),
            None => prices.unpriced.push(*what),
        }
    }
    prices
}

impl Solution {
    /// Takes a better order of the same problem.
    fn take(&mut self, more: Self) {
        self.steps += more.steps;
        if more.tally.cost < self.tally.cost {
            self.order = more.order;
            self.tally = more.tally;
            if more.clean == Clean::Found {
                self.clean = Clean::Found;
                self.clash.clear();
                self.clean_order = None;
            }
        }
    }
}

fn cost(checked: &Checked, with_all: &Solution, what: What, without: Solution) -> Option<RuleCost> {
    let as_before = evaluate(checked, &without.order).ok()?;
    let dropped = matches!(
        what,
        What::Rule { at_most: None, .. } | What::LongestBlock { most: None } | What::Promise { .. }
    );
    Some(RuleCost {
        what,
        fewer_violations: what.others(&with_all.tally) - what.others(&without.tally),
        fewer_colour_changes: with_all.tally.colour_changes as i64
            - without.tally.colour_changes as i64,
        own_before: what.own(&with_all.tally),
        own_after: what.own(&as_before),
        own_left: if dropped { 0 } else { what.own(&without.tally) },
        without,
    })
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
