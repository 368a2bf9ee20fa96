//! What an order is worth, counted plainly from its first car to its last.

use crate::Fault;
use crate::cost::Cost;
use crate::model::{Checked, Goal, Part, Problem};
use crate::plan::Plan;
use crate::told::some;

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
/// is not there, a frozen car moved, a wrong number of cars.
///
/// ```
/// use sequence::evaluate;
/// use sequence::model::{Class, Force, Problem, Rule};
///
/// let class = |name: &str, count, sunroof| Class {
///     name: name.into(), count, options: vec![sunroof], colour: None,
/// };
/// let problem = Problem {
///     classes: vec![class("plain", 2, false), class("sunroof", 2, true)],
///     options: vec!["sunroof".into()],
///     rules: vec![Rule { option: 0, at_most: 1, in_every: 2, force: Force::Soft(3) }],
///     ..Problem::empty()
/// };
/// let checked = problem.check().map_err(|faults| faults[0].to_string())?;
/// let tally = evaluate(&checked, &[0, 1, 1, 0]).map_err(|fault| fault.to_string())?;
/// assert_eq!((tally.windows[0], tally.cost.0[1]), (1, 3), "two sunroofs in a row");
/// assert!(evaluate(&checked, &[0, 1, 1, 7]).is_err_and(|fault| fault.place == "order[3]"));
/// # Ok::<(), String>(())
/// ```
pub fn evaluate(checked: &Checked, order: &[usize]) -> Result<Tally, Fault> {
    are_its_cars(&checked.problem, order)?;
    let before = checked.problem.previous.iter().chain(order);
    let row: Vec<u16> = before.map(|class| *class as u16).collect();
    Ok(tally(checked, &checked.plan, &row))
}

/// Whether an order has the problem's cars, the frozen ones in their places.
fn are_its_cars(problem: &Problem, order: &[usize]) -> Result<(), Fault> {
    let name = |class: usize| format!("\"{}\"", problem.classes[class].name);
    let mut left: Vec<u32> = problem.classes.iter().map(|class| class.count).collect();
    for (at, class) in order.iter().enumerate() {
        let place = format!("order[{at}]");
        let classes = some(left.len(), "class");
        let Some(left) = left.get_mut(*class) else {
            return Err(Fault::new(
                place,
                format!("class {class}"),
                format!("one of the {classes}, counted from 0"),
                "name a class of the problem",
            ));
        };
        let frozen = problem.frozen.get(at);
        if let Some(frozen) = frozen.filter(|frozen| *frozen != class) {
            return Err(Fault::new(
                place,
                format!("a car of {}", name(*class)),
                format!("the frozen car of {} in place {}", name(*frozen), at + 1),
                "leave the frozen cars where they are",
            ));
        }
        if *left == 0 {
            let ordered = problem.classes[*class].count;
            return Err(Fault::new(
                place,
                format!("one more car of {}", name(*class)),
                format!("no more than the {ordered} ordered"),
                "take one of them out",
            ));
        }
        *left -= 1;
    }
    let missing = left.iter().zip(0..).find(|(left, _)| **left > 0);
    match missing {
        None => Ok(()),
        Some((left, class)) => Err(Fault::new(
            "order",
            some(order.len(), "car"),
            format!("all {} of the problem", problem.cars()),
            format!("add {} of {}", some(*left as usize, "car"), name(class)),
        )),
    }
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
