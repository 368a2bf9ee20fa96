//! What a question is answered with, as JSON writes it.

use serde::Serialize as Derive;
use serde::ser::{Serialize, SerializeMap, Serializer};

use super::Question;
use super::because::{self, Because};
use super::goals::named as named_goals;
use super::levelled::{self, ChasedAnswer, LeastLevel};
use crate::cost::Cost;
use crate::loosen::{self, RuleCost, What};
use crate::model::{Goals, Hold, Problem, Promise, Rule};
use crate::solve::{Clean, Solution, best};
use crate::told::some;
use crate::watch::{Settings, Watch};

/// How good an answer is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Derive)]
#[serde(rename_all = "lowercase")]
pub enum Status {
    /// Nothing is better: the bound is met.
    Optimal,
    /// The best found; a better one may exist.
    Feasible,
    /// No order without violation exists; this is the best found all the same.
    Infeasible,
}

/// The answer to a question; a face adds `wall_s`.
#[derive(Clone, Debug, Derive)]
pub struct Answer {
    /// How good it is.
    pub status: Status,
    /// An order without any violation: `found` where the order is one,
    /// `possible` where `clean_order` is and the goals or weights make another
    /// the better, `impossible` or `unknown`.
    pub without_violation: &'static str,
    /// Class names in an order without violation that the goals or weights rank
    /// lower.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub clean_order: Vec<String>,
    /// Short names of what no order keeps together, where that is proven:
    /// options for their rules, colours for the longest block, promises,
    /// previous and frozen cars.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub clash: Vec<String>,
    /// The same in words and figures; as little as could be shown.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub because: Vec<Because>,
    /// Why the order has violations, and whether that is proven or not.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub why: Option<String>,
    /// Class names in the order of building.
    pub order: Vec<String>,
    /// By option the runs of cars that exceed its rules.
    pub violations: ByName<u64>,
    /// By option the cars above its rules, summed over the runs.
    pub extra: ByName<u64>,
    /// All that is weighed, in one sum; with strictly ordered goals too, but
    /// then nothing that is in no goal.
    pub total_weighted: f64,
    /// No order has a smaller sum. With ordered goals: no order that does as
    /// well in the goals before.
    pub lower_bound: f64,
    /// Changes of colour, the one after the last previous car included.
    pub colour_changes: u64,
    /// No order that keeps the longest block has fewer.
    pub colour_changes_at_least: u64,
    /// Cars beyond the longest block.
    pub over_block: u64,
    /// The sum of squared distances from the level line.
    pub level: f64,
    /// Goal chasing alone, where level use is weighed.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub goal_chasing: Option<ChasedAnswer>,
    /// The least that level use could come to with nothing else to mind.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub least_level: Option<LeastLevel>,
    /// Each promise by itself.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub late: Vec<LateAnswer>,
    /// Each entry of `held` by itself.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub early: Vec<EarlyAnswer>,
    /// What must hold and does not: breaks of hard rules, cars beyond the
    /// longest block, promises broken, held cars that stand too early.
    pub broken_musts: u64,
    /// Each rule by itself.
    pub rules: Vec<RuleAnswer>,
    /// With strictly ordered goals each group, first to last.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub goals: Vec<GoalAnswer>,
    /// What has a weight and is in no goal: options for their rules, `colours`,
    /// `level`, `promises`. The order was made and is judged without it.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub not_minded: Vec<String>,
    /// What that means, where something is not minded.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub not_minded_told: Option<String>,
    /// What each rule costs, where asked for.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub costs: Vec<CostAnswer>,
    /// What was not priced in the time.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub not_priced: Vec<NotPriced>,
    /// How the time was shared between the order and the costs, where they
    /// were asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub costs_told: Option<String>,
    /// Moves tried.
    pub moves: u64,
}

/// A rule in the order found.
#[derive(Clone, Debug, Derive)]
pub struct RuleAnswer {
    /// The option.
    pub option: String,
    /// Most cars with it.
    pub at_most: u32,
    /// In so many cars in a row.
    pub in_every: u32,
    /// Runs that exceed the rule.
    pub windows: u64,
    /// Cars above it, summed over the runs.
    pub extra: u64,
    /// Least breaks with no other rule to mind, counted as asked.
    pub at_least: u64,
}

/// A promise in the order found.
#[derive(Clone, Debug, PartialEq, Eq, Derive)]
pub struct LateAnswer {
    /// The class.
    pub class: String,
    /// So many cars of it were promised ...
    pub count: u32,
    /// ... among the first so many.
    pub within: u32,
    /// How many of them come later.
    pub late: u64,
}

/// Held cars in the order found.
#[derive(Clone, Debug, PartialEq, Eq, Derive)]
pub struct EarlyAnswer {
    /// The class.
    pub class: String,
    /// Cars of it that are there ...
    pub ready: u32,
    /// ... for the first so many places.
    pub until: u32,
    /// How many more stand there before they have come.
    pub early: u64,
}

/// A group of strictly ordered goals.
#[derive(Clone, Debug, Derive)]
pub struct GoalAnswer {
    /// Its weighted sum.
    pub value: f64,
    /// No order that does as well in the groups before has less.
    pub at_least: f64,
}

/// What a rule costs.
#[derive(Clone, Debug, Derive)]
pub struct CostAnswer {
    /// `rule`, `longest block` or `promise`.
    pub kind: &'static str,
    /// The option, or the class promised.
    pub name: String,
    /// `dropped`, or the rule as loosened.
    pub change: String,
    /// Fewer runs of cars that exceed the other rules.
    pub fewer_violations: i64,
    /// Fewer changes of colour.
    pub fewer_colour_changes: i64,
    /// Breaks of what was changed before: runs past the rule, cars beyond the
    /// longest block, promised cars that are late.
    pub own_before: u64,
    /// The same afterwards, counted as before.
    pub own_after: u64,
    /// The same afterwards, counted as loosened; 0 where it is dropped.
    pub own_left: u64,
    /// All that is weighed, before.
    pub total_before: f64,
    /// All that is weighed, afterwards, the rule counted as loosened.
    pub total_after: f64,
    /// With strictly ordered goals each group's sum before.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub goals_before: Vec<f64>,
    /// The same afterwards.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub goals_after: Vec<f64>,
    /// Moves tried for it.
    pub moves: u64,
}

/// A rule that there was no time to price.
#[derive(Clone, Debug, Derive)]
pub struct NotPriced {
    /// `rule`, `longest block` or `promise`.
    pub kind: &'static str,
    /// The option, or the class promised.
    pub name: String,
    /// `dropped`, or the rule as loosened.
    pub change: String,
    /// Why there is no figure.
    pub told: &'static str,
}

/// Values by name, in the question's order.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ByName<T>(pub Vec<(String, T)>);

impl<T: Serialize> Serialize for ByName<T> {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        let mut map = to.serialize_map(Some(self.0.len()))?;
        for (name, value) in &self.0 {
            map.serialize_entry(name, value)?;
        }
        map.end()
    }
}

fn status(solution: &Solution) -> Status {
    let impossible = matches!(solution.clean, Clean::Impossible(_));
    // Where what must hold cannot, the best order is still none to build.
    if impossible && !solution.tally.cost.keeps_all_musts() {
        Status::Infeasible
    } else if solution.is_optimal() {
        Status::Optimal
    } else if impossible {
        Status::Infeasible
    } else {
        Status::Feasible
    }
}

/// Values of rules, summed by their options.
fn by_option(problem: &Problem, values: &[u64]) -> ByName<u64> {
    let of = |option: usize| {
        let rules = problem.rules.iter().zip(values);
        let of_option = rules.filter(|(rule, _)| rule.option == option);
        of_option.map(|(_, value)| value).sum()
    };
    let options = problem.options.iter().enumerate();
    ByName(options.map(|(at, name)| (name.clone(), of(at))).collect())
}

fn rules(problem: &Problem, solution: &Solution) -> Vec<RuleAnswer> {
    let one = |(at, rule): (usize, &Rule)| RuleAnswer {
        option: problem.options[rule.option].clone(),
        at_most: rule.at_most,
        in_every: rule.in_every,
        windows: solution.tally.windows[at],
        extra: solution.tally.excess[at],
        at_least: solution.bound.rules[at],
    };
    problem.rules.iter().enumerate().map(one).collect()
}

fn late(problem: &Problem, late: &[u64]) -> Vec<LateAnswer> {
    let promises = problem.promises.iter().zip(late);
    let one = |(promise, late): (&Promise, &u64)| LateAnswer {
        class: problem.classes[promise.class].name.clone(),
        count: promise.count,
        within: promise.within,
        late: *late,
    };
    promises.map(one).collect()
}

fn early(problem: &Problem, early: &[u64]) -> Vec<EarlyAnswer> {
    let holds = problem.holds.iter().zip(early);
    let one = |(hold, early): (&Hold, &u64)| EarlyAnswer {
        class: problem.classes[hold.class].name.clone(),
        ready: hold.ready,
        until: hold.until,
        early: *early,
    };
    holds.map(one).collect()
}

fn not_minded_told(names: &[String]) -> Option<String> {
    let quoted: Vec<String> = names.iter().map(|name| format!("\"{name}\"")).collect();
    (!names.is_empty()).then(|| {
        format!(
            "not in `goals`, and so neither minded nor judged: {}; name them there, or leave \
             `goals` out for one weighted sum of all",
            quoted.join(", ")
        )
    })
}

/// Moves that a walker tries to say what one rule costs.
const COST_STEPS: u64 = 1_000_000;

/// Share of the time that goes to the order where rules are to be priced too.
const ORDER_SHARE: f64 = 0.6;

impl Question {
    /// Answers with the best order found.
    pub fn answer(&self, settings: &Settings, watch: &Watch<'_>) -> Answer {
        let alone = levelled::alone(self.checked.problem(), settings, watch);
        let mut answer = self.ordered(settings, watch);
        if let Some((chased, mut least)) = alone {
            // Where nothing is proven the order itself may be the levellest.
            least.level = least.level.min(answer.level);
            answer.goal_chasing = Some(chased);
            answer.least_level = Some(least);
        }
        answer
    }

    fn ordered(&self, settings: &Settings, watch: &Watch<'_>) -> Answer {
        let order = |watch: &Watch<'_>| best(&self.checked, settings, watch);
        if !self.costs {
            return self.told(&order(watch));
        }
        let each = Settings {
            steps: settings.steps.min(COST_STEPS),
            ..*settings
        };
        let solution = watch.share(0.0, ORDER_SHARE, order);
        let prices = loosen::prices(&self.checked, solution, &each, watch);
        let before = &prices.with_all;
        let cost = |cost: &RuleCost| self.cost(before, cost);
        let unpriced = |what: &What| {
            let (kind, name, change) = self.named(*what);
            NotPriced {
                kind,
                name,
                change,
                told: "not priced in the time",
            }
        };
        let (priced, left) = (prices.costs.len(), prices.unpriced.len());
        let share = (100.0 * ORDER_SHARE).round();
        let told = format!(
            "of a limit on time the order takes the first {share} %, the rules the rest in equal \
             parts; {priced} of {} priced",
            some(priced + left, "change")
        );
        Answer {
            costs: prices.costs.iter().map(cost).collect(),
            not_priced: prices.unpriced.iter().map(unpriced).collect(),
            costs_told: Some(told),
            ..self.told(before)
        }
    }

    fn told(&self, solution: &Solution) -> Answer {
        let problem = self.checked.problem();
        let tally = &solution.tally;
        let name = |class: &usize| problem.classes[*class].name.clone();
        let without_violation = match &solution.clean {
            Clean::Found => "found",
            Clean::Impossible(_) => "impossible",
            Clean::Unknown if solution.clean_order.is_some() => "possible",
            Clean::Unknown => "unknown",
        };
        let because = because::because(problem, solution);
        let not_minded = named_goals(problem, &problem.not_minded());
        Answer {
            status: status(solution),
            without_violation,
            clash: because.iter().map(|one| one.of.name()).collect(),
            clean_order: solution.clean_order.iter().flatten().map(name).collect(),
            why: because::why(problem, solution, &because),
            because,
            order: solution.order.iter().map(name).collect(),
            violations: by_option(problem, &tally.windows),
            extra: by_option(problem, &tally.excess),
            total_weighted: self.summed(&solution.tally.cost),
            lower_bound: self.summed(&solution.bound.cost),
            colour_changes: tally.colour_changes,
            colour_changes_at_least: solution.bound.colour_changes,
            over_block: tally.over_block,
            level: tally.level,
            goal_chasing: None,
            least_level: None,
            late: late(problem, &tally.late),
            early: early(problem, &tally.early),
            broken_musts: tally.cost.0[0].unsigned_abs(),
            rules: rules(problem, solution),
            goals: self.goals(solution),
            not_minded_told: not_minded_told(&not_minded),
            not_minded,
            costs: Vec::new(),
            not_priced: Vec::new(),
            costs_told: None,
            moves: solution.steps,
        }
    }

    /// What one unit of a tier's cost is worth.
    fn unit(&self, tier: usize) -> f64 {
        f64::from(self.per_unit) * self.checked.plan.units[tier] as f64
    }

    /// All that is weighed in one sum; what is in no goal is in none.
    fn summed(&self, cost: &Cost) -> f64 {
        (1..cost.0.len())
            .map(|tier| cost.0[tier] as f64 / self.unit(tier))
            .sum()
    }

    fn goals(&self, solution: &Solution) -> Vec<GoalAnswer> {
        let Goals::Ordered(groups) = &self.checked.problem().goals else {
            return Vec::new();
        };
        (1..=groups.len())
            .map(|tier| GoalAnswer {
                value: solution.tally.cost.0[tier] as f64 / self.unit(tier),
                at_least: solution.bound.cost.0[tier] as f64 / self.unit(tier),
            })
            .collect()
    }

    /// Kind, name and change of what is dropped or loosened.
    fn named(&self, what: What) -> (&'static str, String, String) {
        let problem = self.checked.problem();
        match what {
            What::Rule { rule, at_most } => {
                let given = &problem.rules[rule];
                let change = match at_most {
                    Some(most) => format!("{most} in every {}", given.in_every),
                    None => "dropped".to_owned(),
                };
                ("rule", problem.options[given.option].clone(), change)
            }
            What::LongestBlock { most } => {
                let change = most.map_or("dropped".to_owned(), |most| some(most as usize, "car"));
                ("longest block", String::new(), change)
            }
            What::Promise { promise } => {
                let class = problem.promises[promise].class;
                let name = problem.classes[class].name.clone();
                ("promise", name, "dropped".to_owned())
            }
        }
    }

    fn cost(&self, before: &Solution, cost: &RuleCost) -> CostAnswer {
        let (kind, name, change) = self.named(cost.what);
        let values = |solution: &Solution| {
            let goals = self.goals(solution);
            goals.iter().map(|goal| goal.value).collect()
        };
        CostAnswer {
            kind,
            name,
            change,
            fewer_violations: cost.fewer_violations,
            fewer_colour_changes: cost.fewer_colour_changes,
            own_before: cost.own_before,
            own_after: cost.own_after,
            own_left: cost.own_left,
            total_before: self.summed(&before.tally.cost),
            total_after: self.summed(&cost.without.tally.cost),
            goals_before: values(before),
            goals_after: values(&cost.without),
            moves: cost.without.steps,
        }
    }
}
