//! What an order is worth, counted plainly from its first car to its last.

use crate::cost::Cost;
use crate::model::{Checked, Goal, Part, Problem};
use crate::plan::Plan;

/// An order taken apart.
#[derive(Clone, Debug, PartialEq)]
pub struct Tally {
    /// For each rule the runs of cars that exceed it.
    pub windows: Vec<u64>,
    /// For each rule the cars above it, summed over the runs.
    pub excess: Vec<u64>,
    /// Changes of colour, the one from the last previous car included.
    pub colour_changes: u64,
    /// Cars beyond the longest block, summed over blocks.
    pub over_block: u64,
    /// For each promise the cars that come too late.
    pub late: Vec<u64>,
    /// For each hold the cars that stand before they are there.
    pub early: Vec<u64>,
    /// The sum of squared distances from the level lines.
    pub level: f64,
    /// The cost, goal by goal.
    pub cost: Cost,
}

/// Counts all that an order breaks and costs.
///
/// # Errors
///
/// The first thing that makes it no order of the problem's cars: a class that
/// is not there, a wrong number of cars, a frozen car moved.
pub fn evaluate(checked: &Checked, order: &[usize]) -> Result<Tally, String> {
    let (problem, plan) = (&checked.problem, &checked.plan);
    let mut left: Vec<i64> = problem.classes.iter().map(|c| i64::from(c.count)).collect();
    for (at, class) in order.iter().enumerate() {
        let Some(left) = left.get_mut(*class) else {
            return Err(format!(
                "place {} holds class {class}, which is not there",
                at + 1
            ));
        };
        *left -= 1;
        let frozen = problem.frozen.get(at);
        if frozen.is_some_and(|frozen| frozen != class) {
            return Err(format!("the frozen car in place {} has moved", at + 1));
        }
    }
    if let Some(class) = left.iter().position(|left| *left != 0) {
        return Err(format!(
            "the order has {} cars of \"{}\", ordered are {}",
            i64::from(problem.classes[class].count) - left[class],
            problem.classes[class].name,
            problem.classes[class].count
        ));
    }
    let before = problem.previous.iter().chain(order);
    let row: Vec<u16> = before.map(|class| *class as u16).collect();
    Ok(tally(checked, plan, &row))
}

pub(crate) fn tally(checked: &Checked, plan: &Plan, row: &[u16]) -> Tally {
    let problem = &checked.problem;
    let mut told = Tally {
        windows: vec![0; problem.rules.len()],
        excess: vec![0; problem.rules.len()],
        colour_changes: 0,
        over_block: 0,
        late: Vec::new(),
        early: Vec::new(),
        level: 0.0,
        cost: cost(plan, row),
    };
    for (at, rule) in problem.rules.iter().enumerate() {
        let reach = rule.in_every as usize;
        let first = (plan.first + 1).saturating_sub(reach);
        let last = if problem.past_end {
            row.len()
        } else {
            (row.len() + 1).saturating_sub(reach)
        };
        for start in first..last {
            let cars = row[start..row.len().min(start + reach)].iter();
            let having =
                cars.filter(|car| problem.classes[usize::from(**car)].options[rule.option]);
            let over = (having.count() as u64).saturating_sub(rule.at_most.into());
            told.windows[at] += u64::from(over > 0);
            told.excess[at] += over;
        }
    }
    told.colour_changes = changes(plan, row);
    told.over_block = over_block(plan, row);
    let order = &row[plan.first..];
    let there = |class: usize, first: u32| {
        let first = order.iter().take(first as usize);
        first.filter(|car| usize::from(**car) == class).count() as u64
    };
    for promise in &problem.promises {
        let there = there(promise.class, promise.within);
        told.late
            .push(u64::from(promise.count).saturating_sub(there));
    }
    for hold in &problem.holds {
        let there = there(hold.class, hold.until);
        told.early.push(there.saturating_sub(hold.ready.into()));
    }
    told.level = level(problem, order);
    told
}

/// Changes of colour from the last previous car on.
fn changes(plan: &Plan, row: &[u16]) -> u64 {
    let colour = |car: u16| plan.colours[usize::from(car)];
    let pairs = row.windows(2).skip(plan.first.saturating_sub(1));
    pairs
        .filter(|pair| colour(pair[0]) != colour(pair[1]))
        .count() as u64
}

/// Cars beyond the longest block. What previous cars alone exceed is theirs.
fn over_block(plan: &Plan, row: &[u16]) -> u64 {
    let Some(most) = plan.max_block else {
        return 0;
    };
    let mut over = 0;
    let mut length = 0;
    for (at, car) in row.iter().enumerate() {
        let colour = plan.colours[usize::from(*car)];
        let same = at > 0 && colour == plan.colours[usize::from(row[at - 1])];
        length = if same { length + 1 } else { 1 };
        over += u64::from(length > most && at >= plan.first);
    }
    over
}

/// The sum of squared distances from the level lines; nothing where they have
/// no weight.
fn level(problem: &Problem, order: &[u16]) -> f64 {
    let cars = order.len() as i128;
    if problem.level.weight == 0 || !problem.goals.hold(Goal::Level) {
        return 0.0;
    }
    let of_part = |part: &Part| {
        let per_car = |class: usize| i128::from(part.per_car[class]);
        let counts = problem.classes.iter().enumerate();
        let total: i128 = counts
            .map(|(at, class)| per_car(at) * i128::from(class.count))
            .sum();
        let mut used = 0;
        let distance = |(at, car): (usize, &u16)| {
            used += per_car(usize::from(*car));
            let far = cars * used - (at as i128 + 1) * total;
            far * far
        };
        order.iter().enumerate().map(distance).sum::<i128>()
    };
    let sum: i128 = problem.level.parts.iter().map(of_part).sum();
    sum as f64 / ((cars * cars).max(1) as f64)
}

/// The level sum, counted as the plan counts.
fn level_sum(plan: &Plan, row: &[u16]) -> i64 {
    let order = &row[plan.first..];
    let of_part = |(per_car, line): (&Vec<i64>, &Vec<i64>)| {
        let mut used = 0;
        let distance = |(car, line): (&u16, &i64)| {
            used += plan.level_unit * per_car[usize::from(*car)];
            (used - line) * (used - line)
        };
        order.iter().zip(line).map(distance).sum::<i64>()
    };
    plan.parts.iter().zip(&plan.lines).map(of_part).sum()
}

/// The cost of a whole row.
pub(crate) fn cost(plan: &Plan, row: &[u16]) -> Cost {
    let mut cost = Cost::ZERO;
    for (bit, rule) in plan.rules.iter().enumerate() {
        for start in rule.starts.clone() {
            let cars = row[start..row.len().min(start + rule.in_every)].iter();
            let having = cars.filter(|car| plan.masks[usize::from(**car)] >> bit & 1 == 1);
            cost[rule.tier] += plan.breaks(having.count() as u16, rule.at_most) * rule.price;
        }
    }
    cost[plan.change_tier] += changes(plan, row) as i64 * plan.change_price;
    cost[0] += over_block(plan, row) as i64;
    for due in &plan.dues {
        let there = row[plan.first..due.end.min(row.len())].iter();
        let there = there.filter(|car| **car == due.class).count() as i64;
        cost[due.tier] += due.missed(there) * due.price;
    }
    cost[plan.level_tier] += level_sum(plan, row) * plan.level_price;
    cost
}
