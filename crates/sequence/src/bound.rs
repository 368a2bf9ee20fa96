//! What no order can be better than.
//!
//! - One rule alone: the least sum of excess over all ways to place the cars
//!   that have the option. Runs of neighbouring cars make a matrix of
//!   consecutive ones, so the least excess is the dual of a flow and exact (the
//!   question is Benoist's: "Soft car sequencing with colors: lower bounds and
//!   optimality proofs", EJOR 191 (2008) 957-971, who answers it in closed form
//!   for one day by itself; the flow takes previous cars and open ends too).
//!   Where runs are counted, not their excess, the least is counted out place by
//!   place.
//! - Colours: each needs `ceil(cars / longest block)` blocks, and blocks of one
//!   colour need others between them; where rules are kept, more of them
//!   ([`blocks`]).
//! - Rules minded together, and colours with them: [`relaxed`](crate::relaxed),
//!   once an order is there.
//! - Cars held back: where they leave too few for the places before they come.
//! - Level use: at each place the nearest whole number to the level line; of
//!   parts of which each car uses exactly one, whole numbers that add up to the
//!   place.

use std::collections::BTreeMap;

use crate::blocks::{self, Kept};
use crate::cost::{Cost, TIERS};
use crate::holds;
use crate::model::{Checked, Counted, Force, Goals, Problem, Rule};
use crate::plan::{Plan, Spacing};

/// Lower bounds, goal by goal.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Bound {
    /// For each given rule its least breaks, counted as the problem counts.
    pub rules: Vec<u64>,
    /// Least changes of colour.
    pub colour_changes: u64,
    /// No order costs less, goal by goal.
    pub cost: Cost,
    /// Changes of colour beyond the least that `cost` counts already.
    beside: i64,
}

/// The bounds that each goal gives by itself.
pub(crate) fn bound(checked: &Checked) -> Bound {
    let plan = &checked.plan;
    let mut cost = Cost([0; TIERS]);
    let mut rules = unweighed(&checked.problem, plan);
    for (bit, rule) in plan.rules.iter().enumerate() {
        let least = breaks(plan, bit, rule);
        rules[rule.given] = least as u64;
        cost[rule.tier] += least * rule.price;
    }
    let (colour_changes, over) = colours(plan, &Kept::none(plan));
    cost[0] += over + holds::least_early(plan);
    cost[plan.change_tier] += colour_changes * plan.change_price;
    cost[plan.level_tier] += level(plan) * plan.level_price;
    Bound {
        rules,
        colour_changes: colour_changes as u64,
        cost,
        beside: 0,
    }
}

impl Bound {
    /// What no order costs less than, goals compared in their order.
    pub(crate) fn goal(&self, plan: &Plan) -> Cost {
        let mut goal = self.cost;
        goal[plan.change_tier] += self.more(plan, &self.cost) * plan.change_price;
        goal
    }

    /// Raises it to what no order costs less than that costs as little as this in the
    /// goals before colours: where these leave no rule broken, rules may ask for more
    /// changes of colour than colours alone do.
    pub(crate) fn settle(&mut self, plan: &Plan, cost: &Cost) {
        let more = self.more(plan, cost);
        self.beside += more;
        self.cost[plan.change_tier] += more * plan.change_price;
    }

    /// Changes of colour that rules ask for and `cost` does not count yet.
    fn more(&self, plan: &Plan, cost: &Cost) -> i64 {
        let before_met = cost.0[..plan.change_tier] == self.cost.0[..plan.change_tier];
        if plan.change_price == 0 || !before_met {
            return 0;
        }
        let (changes, _) = colours(plan, &Kept::within(plan, cost));
        (changes - self.colour_changes as i64 - self.beside).max(0)
    }
}

/// Least breaks of the rules that are in no cost.
fn unweighed(problem: &Problem, plan: &Plan) -> Vec<u64> {
    let mut least = vec![0; problem.rules.len()];
    let weighed = |given: usize| plan.rules.iter().any(|rule| rule.given == given);
    let binds = |rule: &Rule| rule.at_most < rule.in_every;
    let left: Vec<usize> = (0..least.len())
        .filter(|given| binds(&problem.rules[*given]) && !weighed(*given))
        .collect();
    if left.is_empty() {
        return least;
    }
    let mut alone = problem.clone();
    alone.goals = Goals::Weighted;
    alone.level.weight = 0;
    for rule in &mut alone.rules {
        rule.force = Force::Soft(1);
    }
    let alone = Plan::new(&alone);
    for (bit, rule) in alone.rules.iter().enumerate() {
        if left.contains(&rule.given) {
            least[rule.given] = breaks(&alone, bit, rule) as u64;
        }
    }
    least
}

/// Least breaks of a rule with nothing else to mind.
fn breaks(plan: &Plan, bit: usize, rule: &Spacing) -> i64 {
    let having =
        |(class, count): (usize, &u32)| i64::from(*count) * (plan.masks[class] >> bit & 1) as i64;
    let cars: i64 = plan.counts.iter().enumerate().map(having).sum();
    let fixed: Vec<i64> = plan
        .fixed
        .iter()
        .map(|car| (plan.masks[usize::from(*car)] >> bit & 1) as i64)
        .collect();
    let excess = least_excess(&fixed, plan.len, cars, rule);
    match plan.counted {
        Counted::Excess => excess,
        Counted::Windows if excess == 0 => 0,
        Counted::Windows => least_windows(&fixed, plan.len, cars, rule).unwrap_or_else(|| {
            // No run exceeds the rule by more than this.
            let most = (rule.in_every as i64 - i64::from(rule.at_most)).max(1);
            (excess + most - 1) / most
        }),
    }
}

/// Steps that counting the least runs of one rule may take.
const MOST_STEPS: usize = 30_000_000;

/// No way leads to such a state.
const NEVER: u32 = u32::MAX;

/// Least runs past a rule over all ways to place `cars` cars with the option
/// behind the fixed ones, place by place: what matters of the places before is
/// how many cars were used and which of the last few have it. None where that
/// would take too long.
pub(crate) fn least_windows(fixed: &[i64], len: usize, cars: i64, rule: &Spacing) -> Option<i64> {
    let (free, cars) = (fixed.len(), cars as usize);
    let width = rule.in_every - 1;
    if width > 16 || (cars + 1) * (len - free) > MOST_STEPS >> width {
        return None;
    }
    let mask = (1_usize << width) - 1;
    let past = |with: u32| u32::from(with > u32::from(rule.at_most));
    let ends = |place: usize| (place + 1).checked_sub(rule.in_every);
    let counts = |place: usize| ends(place).is_some_and(|start| rule.starts.contains(&start));
    let (mut recent, mut before) = (0, 0);
    for (place, has) in fixed.iter().enumerate() {
        let all = recent << 1 | *has as usize;
        before += if counts(place) {
            past(all.count_ones())
        } else {
            0
        };
        recent = all & mask;
    }
    let state = |used: usize, recent: usize| used << width | recent;
    let mut now = vec![NEVER; (cars + 1) << width];
    now[state(0, recent)] = before;
    for place in free..len {
        let counted = counts(place);
        let mut next = vec![NEVER; now.len()];
        for used in 0..=cars {
            for recent in 0..=mask {
                let cost = now[state(used, recent)];
                if cost == NEVER {
                    continue;
                }
                for has in 0..=usize::from(used < cars) {
                    let all = recent << 1 | has;
                    let cost = cost + if counted { past(all.count_ones()) } else { 0 };
                    let to = &mut next[state(used + has, all & mask)];
                    *to = cost.min(*to);
                }
            }
        }
        now = next;
    }
    // Runs that reach past the end see the last cars and nothing behind them.
    let behind = |recent: usize| -> u32 {
        let starts = rule
            .starts
            .clone()
            .filter(|start| start + rule.in_every > len);
        let seen = |start: usize| (recent & ((1 << (len - start)) - 1)).count_ones();
        starts.map(|start| past(seen(start))).sum()
    };
    let last = (0..=mask).filter(|recent| now[state(cars, *recent)] != NEVER);
    let least = last
        .map(|recent| now[state(cars, recent)] + behind(recent))
        .min();
    least.map(i64::from)
}

/// A way from one place to a later one, or back.
#[derive(Clone, Copy)]
struct Arc {
    from: usize,
    to: usize,
    cost: i64,
}

/// Least excess of `cars` cars with the option behind the fixed ones.
///
/// With `y` the cars with the option up to a place, the least of the sum of
/// `max(0, y(s + q) - y(s) - p)` subject to steps of 0 or 1 is, by duality, the
/// most of `F x cars - cost of F units of flow` from the first place to the
/// last: a run of cars is an arc of cost `p` that one unit may use, a step
/// forward costs 1, a step back nothing. The dearest unit worth sending costs
/// less than `cars`, so shortest ways are sent one by one until then.
pub(crate) fn least_excess(fixed: &[i64], len: usize, cars: i64, rule: &Spacing) -> i64 {
    let free = fixed.len();
    let places = len - free;
    let mut constant = 0;
    let mut arcs: Vec<Arc> = Vec::new();
    for start in rule.starts.clone() {
        let end = len.min(start + rule.in_every);
        let behind: i64 = fixed[start.min(free)..end.min(free)].iter().sum();
        let room = i64::from(rule.at_most) - behind;
        constant += (-room).max(0);
        if end > free {
            arcs.push(Arc {
                from: start.max(free) - free,
                to: end - free,
                cost: room.max(0),
            });
        }
    }
    constant + flow_value(places, cars, &mut arcs)
}

/// Sends shortest ways from place 0 to the last as long as they pay.
fn flow_value(places: usize, cars: i64, arcs: &mut [Arc]) -> i64 {
    // What has been sent along a run may be sent back.
    let mut used = vec![false; arcs.len()];
    // Units on each step, forward positive.
    let mut steps = vec![0_i64; places];
    let mut value = 0;
    loop {
        let Some((cost, came)) = shortest(places, arcs, &used, &steps) else {
            return value;
        };
        if cost >= cars {
            return value;
        }
        value += cars - cost;
        let mut at = places;
        while let Some(way) = came[at] {
            at = match way {
                Way::Run(arc) => {
                    used[arc] = !used[arc];
                    if used[arc] {
                        arcs[arc].from
                    } else {
                        arcs[arc].to
                    }
                }
                Way::Forward => {
                    steps[at - 1] += 1;
                    at - 1
                }
                Way::Back => {
                    steps[at] -= 1;
                    at + 1
                }
            };
        }
    }
}

/// How a place is reached.
#[derive(Clone, Copy)]
enum Way {
    Run(usize),
    Forward,
    Back,
}

/// The cheapest way to the last place in what is left of the network.
///
/// A step forward costs 1, or 0 where it undoes a step back; a step back costs
/// 0, or wins 1 where it undoes a step forward.
fn shortest(
    places: usize,
    arcs: &[Arc],
    used: &[bool],
    steps: &[i64],
) -> Option<(i64, Vec<Option<Way>>)> {
    const FAR: i64 = i64::MAX / 4;
    let mut cost = vec![FAR; places + 1];
    let mut came: Vec<Option<Way>> = vec![None; places + 1];
    cost[0] = 0;
    let mut changed = true;
    while changed {
        changed = false;
        let mut reach = |from: usize, to: usize, price: i64, way: Way, cost: &mut Vec<i64>| {
            if cost[from] < FAR && cost[from] + price < cost[to] {
                cost[to] = cost[from] + price;
                came[to] = Some(way);
                changed = true;
            }
        };
        let mut next = 0;
        for (place, step) in steps.iter().enumerate() {
            while next < arcs.len() && arcs[next].from <= place {
                if !used[next] {
                    let arc = arcs[next];
                    reach(arc.from, arc.to, arc.cost, Way::Run(next), &mut cost);
                }
                next += 1;
            }
            let price = i64::from(*step >= 0);
            reach(place, place + 1, price, Way::Forward, &mut cost);
        }
        for (n, arc) in arcs.iter().enumerate().rev() {
            if used[n] {
                reach(arc.to, arc.from, -arc.cost, Way::Run(n), &mut cost);
            }
        }
        for place in (0..places).rev() {
            let price = -i64::from(steps[place] > 0);
            reach(place + 1, place, price, Way::Back, &mut cost);
        }
    }
    (cost[places] < FAR).then_some((cost[places], came))
}

/// Least changes of colour of orders that keep the longest block and some
/// rules, and least cars beyond it.
fn colours(plan: &Plan, kept: &Kept<'_>) -> (i64, i64) {
    let cars = blocks::by_colour(plan);
    let total: i64 = cars.values().sum();
    let colour = |car: &u16| plan.colours[usize::from(*car)];
    let last = plan.fixed.last().map(colour);
    let same = plan.fixed.iter().rev();
    let run = same.take_while(|car| Some(colour(car)) == last).count() as i64;
    let no_limit = plan.len as i64 + 1;
    let most = plan
        .max_block
        .map_or(no_limit, |most| no_limit.min(most as i64));
    // A colour's cars stand in so many runs, of which the first may go on from
    // the last car before, for so many cars.
    let goes_on = |colour: &u16| i64::from(Some(*colour) == last);
    let room = |colour: &u16| goes_on(colour) * (most - run).max(0);
    let beyond = |(colour, count): (&u16, &i64)| {
        let first = if goes_on(colour) == 1 {
            room(colour)
        } else {
            most
        };
        (count - first - (total - count) * most).max(0)
    };
    let beyond: i64 = cars.iter().map(beyond).sum();
    let own = |(colour, count): (&u16, &i64)| {
        let of_length = if beyond > 0 {
            // Where no order keeps the longest block, longer ones are possible.
            1 - goes_on(colour)
        } else {
            ((count - room(colour)).max(0) + most - 1) / most
        };
        let own = of_length.max(kept.runs(*colour) - goes_on(colour));
        (*colour, own)
    };
    let own: BTreeMap<u16, i64> = cars.iter().map(own).collect();
    let runs = own
        .iter()
        .map(|(colour, own)| (*colour, own + goes_on(colour)));
    let blocks = own.values().sum::<i64>() + kept.more_runs(&runs.collect());
    // Between blocks of a colour stands at least one car of another.
    let wide = |(colour, own): (&u16, &i64)| 2 * own - 1 + goes_on(colour);
    let widest = own.iter().map(wide).max().unwrap_or(0);
    let (changes, over) = among_fixed(plan);
    // With no car before, the first block is no change.
    let opening = i64::from(last.is_none() && blocks > 0);
    (changes + blocks.max(widest) - opening, over + beyond)
}

/// What the frozen cars change and exceed among themselves.
pub(crate) fn among_fixed(plan: &Plan) -> (i64, i64) {
    let colour = |car: &u16| plan.colours[usize::from(*car)];
    let (mut changes, mut over, mut run) = (0, 0, 0);
    for (at, car) in plan.fixed.iter().enumerate() {
        let same = at > 0 && colour(&plan.fixed[at - 1]) == colour(car);
        run = if same { run + 1 } else { 1 };
        if at >= plan.first {
            changes += i64::from(at > 0 && !same);
            over += i64::from(plan.max_block.is_some_and(|most| run > most));
        }
    }
    (changes, over)
}

/// The sum of what whole numbers of parts are off the level line.
fn level(plan: &Plan) -> i64 {
    if plan.level_price == 0 {
        return 0;
    }
    let together = one_a_car(plan);
    let mut sum = 0;
    for (part, line) in plan.lines.iter().enumerate() {
        if together.contains(&part) {
            continue;
        }
        for line in line {
            let off = line.rem_euclid(plan.level_unit);
            let near = off.min(plan.level_unit - off);
            sum += near * near;
        }
    }
    let lines: Vec<&[i64]> = together.iter().map(|part| &*plan.lines[*part]).collect();
    sum + level_together(&lines, plan.level_unit)
}

/// Parts of which each car uses exactly one, as it is of exactly one product;
/// none where there are no such parts.
fn one_a_car(plan: &Plan) -> Vec<usize> {
    let cars = plan.len - plan.first;
    let built = |class: &usize| {
        plan.counts[*class] > 0
            || plan.fixed[plan.first.min(plan.free)..].contains(&(*class as u16))
    };
    let classes: Vec<usize> = (0..plan.masks.len()).filter(built).collect();
    for first in 0..plan.parts.len() {
        let mut covered = vec![0_i64; plan.masks.len()];
        let mut group = Vec::new();
        for at in 0..plan.parts.len() {
            let part = (first + at) % plan.parts.len();
            let fits = |class: &usize| {
                let used = plan.parts[part][*class];
                used >= 0 && covered[*class] + used <= 1
            };
            if plan.part_totals[part] > 0 && classes.iter().all(fits) {
                for class in &classes {
                    covered[*class] += plan.parts[part][*class];
                }
                group.push(part);
            }
        }
        if cars > 0 && classes.iter().all(|class| covered[*class] == 1) {
            return group;
        }
    }
    Vec::new()
}

/// Least sum over all places of squared distances of whole numbers that add up
/// to the place. A place by itself: the sum is separable and convex, so that
/// the cheapest steps from the nearest whole numbers lead to its least (the
/// bound of products in Kubiak & Steiner's assignment, without its order in
/// time).
fn level_together(lines: &[&[i64]], unit: i64) -> i64 {
    let places = lines.first().map_or(0, |line| line.len());
    let mut sum = 0;
    for at in 0..places {
        let place = at as i64 + 1;
        let mut far: Vec<i64> = Vec::with_capacity(lines.len());
        let mut given = 0;
        for line in lines {
            let whole = (2 * line[at] + unit).div_euclid(2 * unit);
            given += whole;
            far.push(unit * whole - line[at]);
        }
        while given != place {
            let step = if given < place { unit } else { -unit };
            let dearer = |far: &i64| (far + step) * (far + step) - far * far;
            let Some(next) = far.iter_mut().min_by_key(|far| dearer(far)) else {
                break;
            };
            *next += step;
            given += step.signum();
        }
        sum += far.iter().map(|far| far * far).sum::<i64>();
    }
    sum
}
