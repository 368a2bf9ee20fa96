//! Proof by counting out: what matters of the first cars of an order is how
//! many of each class are left and what the rules still see of the last ones.
//!
//! Place by place all such states are kept, each with its least cost, unless
//! what is left must break more than is allowed. Cars that look alike to the
//! rules at hand count as one class, so that a few rules by themselves are
//! often a small problem: if they cannot be kept together, no order keeps all.
//! (Two simple rules by dynamic programming: Benoist, EJOR 191 (2008) 957-971.)

mod clashes;

pub(crate) use clashes::{Clash, clashes};

use crate::cost::Cost;
use crate::model::Counted;
use crate::plan::Plan;
use crate::watch::Watch;

/// What came of counting out.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum Verdict {
    /// No order costs less than this one, the whole row.
    Best(Vec<u16>, Cost),
    /// No order is within the cost allowed.
    Nothing,
    /// There were too many states.
    GaveUp,
}

/// Cars alike in all that the plan sees.
struct Kind {
    /// One of their classes.
    class: u16,
    mask: u64,
    colour: u16,
    cars: u32,
    shift: u32,
    bits: u32,
}

#[derive(Clone, Copy)]
struct State {
    key: u128,
    cost: Cost,
    /// The state before, by its place in the layer before.
    before: u32,
    kind: u16,
}

/// The longest rule whose window is followed car by car.
const LONGEST: usize = 16;

struct Count<'a> {
    plan: &'a Plan,
    kinds: Vec<Kind>,
    /// By rule, where its last cars lie in the key.
    windows: Vec<u32>,
    /// By rule, by its last cars, by places left: most cars without a break.
    rooms: Vec<Vec<Vec<u16>>>,
    colour_shift: u32,
    /// Bits of a colour, and of the length of its run.
    colour_bits: u32,
    run_bits: u32,
    colours: Vec<u16>,
}

/// Counts out all orders that cost no more than `allowed`, remembering at the
/// most so many states.
pub(crate) fn count_out(plan: &Plan, allowed: &Cost, states: usize, watch: &Watch<'_>) -> Verdict {
    let mut no_limit = usize::MAX;
    counted_out(plan, allowed, states, &mut no_limit, watch)
}

/// The same, the states taken from a budget that several proofs share.
fn counted_out(
    plan: &Plan,
    allowed: &Cost,
    states: usize,
    budget: &mut usize,
    watch: &Watch<'_>,
) -> Verdict {
    match Count::new(plan) {
        Some(count) => count.run(allowed, states, budget, watch),
        None => Verdict::GaveUp,
    }
}

/// States of one place that counting out may have to keep, from above: how many
/// of each kind are left, and what rules and colours still see of the last cars.
pub(crate) fn most_states(plan: &Plan) -> f64 {
    let kinds = kinds(plan, &mut 0);
    let left: f64 = kinds
        .iter()
        .map(|kind| f64::from(kind.cars) + 1.0)
        .product();
    let power = |base: f64, times: usize| (0..times).map(|_| base).product::<f64>();
    let bits = plan.rules.iter().map(|rule| rule.in_every - 1).sum();
    // The last cars are of so many kinds, whatever the rules see of them.
    let seen = power(2.0, bits).min(power(kinds.len() as f64, plan.longest_window - 1));
    let paint = if plan.minds_colours() {
        kinds.len() * plan.max_block.map_or(1, |most| most.min(plan.len))
    } else {
        1
    };
    left * seen.max(1.0) * paint.max(1) as f64
}

/// States that are counted out at once, before anything else is tried.
const FEW: f64 = 1e5;

/// Entries of tables that are made at once.
const SHORT: usize = 4_000_000;

/// Entries of tables at the most.
const LARGEST: usize = 100_000_000;

/// Whether counting out takes no longer than a blink.
pub(crate) fn is_small(plan: &Plan) -> bool {
    let tables = plan.rules.iter().map(|rule| table(rule, plan.len));
    most_states(plan) <= FEW && tables.sum::<usize>() <= SHORT
}

/// Entries of a rule's table of rooms.
const fn table(rule: &crate::plan::Spacing, len: usize) -> usize {
    if rule.in_every > LONGEST {
        return usize::MAX / 128;
    }
    (len + 1) << (rule.in_every - 1)
}

const fn bits_for(most: usize) -> u32 {
    usize::BITS - most.leading_zeros()
}

impl<'a> Count<'a> {
    fn new(plan: &'a Plan) -> Option<Self> {
        let tables = plan.rules.iter().map(|rule| table(rule, plan.len));
        if tables.sum::<usize>() > LARGEST {
            return None;
        }
        let colours_matter = plan.minds_colours();
        let mut colours: Vec<u16> = plan.colours.clone();
        colours.sort_unstable();
        colours.dedup();
        let mut shift = 0;
        let kinds = kinds(plan, &mut shift);
        let mut windows = Vec::new();
        for rule in &plan.rules {
            windows.push(shift);
            shift += rule.in_every as u32 - 1;
        }
        let (colour_bits, run_bits) = if colours_matter {
            let longest = plan.max_block.map_or(0, |most| most.min(plan.len));
            (bits_for(colours.len()), bits_for(longest))
        } else {
            (0, 0)
        };
        if shift + colour_bits + run_bits > u128::BITS {
            return None;
        }
        Some(Self {
            plan,
            kinds,
            windows,
            rooms: plan
                .rules
                .iter()
                .map(|rule| rooms(rule, plan.len))
                .collect(),
            colour_shift: shift,
            colour_bits,
            run_bits,
            colours,
        })
    }

    fn window(&self, key: u128, bit: usize) -> usize {
        let length = self.plan.rules[bit].in_every - 1;
        (key >> self.windows[bit]) as usize & ((1 << length) - 1)
    }

    fn left(&self, key: u128, kind: &Kind) -> u32 {
        (key >> kind.shift) as u32 & ((1 << kind.bits) - 1)
    }

    /// The state before the first free car.
    fn start(&self) -> State {
        let mut key: u128 = 0;
        for kind in &self.kinds {
            key |= u128::from(kind.cars) << kind.shift;
        }
        let mut state = State {
            key,
            cost: Cost::ZERO,
            before: 0,
            kind: 0,
        };
        for (at, car) in self.plan.fixed.iter().enumerate() {
            let mask = self.plan.masks[usize::from(*car)];
            let colour = self.plan.colours[usize::from(*car)];
            let cost = self.step(&mut state.key, at, mask, colour);
            state.cost += cost;
        }
        state
    }

    /// Moves on by one car; gives what it costs.
    fn step(&self, key: &mut u128, at: usize, mask: u64, colour: u16) -> Cost {
        let plan = self.plan;
        let mut cost = Cost::ZERO;
        for (bit, rule) in plan.rules.iter().enumerate() {
            let length = rule.in_every - 1;
            let recent = self.window(*key, bit);
            let has = (mask >> bit & 1) as usize;
            if let Some(start) = (at + 1).checked_sub(rule.in_every)
                && rule.starts.contains(&start)
            {
                let with = recent.count_ones() as u16 + has as u16;
                cost[rule.tier] += plan.breaks(with, rule.at_most) * rule.price;
            }
            let next = (recent << 1 | has) & ((1 << length) - 1);
            let cleared = *key & !(((1_u128 << length) - 1) << self.windows[bit]);
            *key = cleared | (next as u128) << self.windows[bit];
        }
        if plan.minds_colours() {
            self.paint(key, at, colour, &mut cost);
        }
        cost
    }

    fn paint(&self, key: &mut u128, at: usize, colour: u16, cost: &mut Cost) {
        let whole = self.colour_bits + self.run_bits;
        let painted = (*key >> self.colour_shift) & ((1 << whole) - 1);
        let (before, run) = (
            (painted & ((1 << self.colour_bits) - 1)) as usize,
            (painted >> self.colour_bits) as usize,
        );
        let now = self.colours.binary_search(&colour).unwrap_or(0) + 1;
        let counts = at >= self.plan.first;
        let mut length = 1;
        if before == now {
            length = run + 1;
        } else if before != 0 && counts {
            cost[self.plan.change_tier] += self.plan.change_price;
        }
        if let Some(most) = self.plan.max_block {
            cost[0] += i64::from(length > most && counts);
            // Beyond the longest block all lengths are alike.
            length = length.min(most);
        } else {
            length = 0;
        }
        let painted = now as u128 | (length as u128) << self.colour_bits;
        let cleared = *key & !(((1_u128 << whole) - 1) << self.colour_shift);
        *key = cleared | painted << self.colour_shift;
    }

    /// Least that the cars left must still break.
    fn ahead(&self, key: u128, places: usize) -> Cost {
        let mut cost = Cost::ZERO;
        for (bit, rule) in self.plan.rules.iter().enumerate() {
            let of = |kind: &Kind| self.left(key, kind) * (kind.mask >> bit & 1) as u32;
            let cars: u32 = self.kinds.iter().map(of).sum();
            let room = u32::from(self.rooms[bit][self.window(key, bit)][places]);
            let over = i64::from(cars.saturating_sub(room));
            cost[rule.tier] += rule.price
                * match self.plan.counted {
                    Counted::Windows => over.min(1),
                    Counted::Excess => over,
                };
        }
        cost
    }

    /// What depends on how many cars of each kind stand before a place.
    fn standing(&self, key: u128, placed: usize) -> Cost {
        let plan = self.plan;
        let mut cost = Cost::ZERO;
        for due in plan
            .dues
            .iter()
            .filter(|due| due.end.min(plan.len) == placed)
        {
            let fixed = plan.fixed[plan.first..].iter();
            let fixed = fixed.filter(|car| **car == due.class).count() as i64;
            let of = self.kinds.iter().find(|kind| kind.class == due.class);
            let of = of.map_or(0, |kind| i64::from(kind.cars - self.left(key, kind)));
            cost[due.tier] += due.missed(fixed + of) * due.price;
        }
        for (per_car, line) in plan.parts.iter().zip(&plan.lines) {
            let fixed = plan.fixed[plan.first..].iter();
            let fixed: i64 = fixed.map(|car| per_car[usize::from(*car)]).sum();
            let of = |kind: &Kind| {
                per_car[usize::from(kind.class)] * i64::from(kind.cars - self.left(key, kind))
            };
            let used: i64 = fixed + self.kinds.iter().map(of).sum::<i64>();
            let line = line[placed - plan.first - 1];
            let far = plan.level_unit * used - line;
            cost[plan.level_tier] += far * far * plan.level_price;
        }
        cost
    }

    /// Breaks of the runs that reach past the end.
    fn end(&self, key: u128) -> Cost {
        let mut cost = Cost::ZERO;
        for (bit, rule) in self.plan.rules.iter().enumerate() {
            let recent = self.window(key, bit);
            for length in 1..rule.in_every {
                let Some(start) = self.plan.len.checked_sub(length) else {
                    break;
                };
                if rule.starts.contains(&start) {
                    let with = (recent & ((1 << length) - 1)).count_ones() as u16;
                    cost[rule.tier] += self.plan.breaks(with, rule.at_most) * rule.price;
                }
            }
        }
        cost
    }

    fn run(&self, allowed: &Cost, states: usize, budget: &mut usize, watch: &Watch<'_>) -> Verdict {
        let plan = self.plan;
        let mut layer = vec![self.start()];
        // By place, state before and kind of each state.
        let mut trail: Vec<Vec<(u32, u16)>> = Vec::new();
        let mut total = 0;
        for at in plan.free..plan.len {
            if watch.cancelled() {
                return Verdict::GaveUp;
            }
            let mut next: Vec<State> = Vec::new();
            for (before, state) in layer.iter().enumerate() {
                self.extend(state, before as u32, at, allowed, &mut next);
                if next.len() > 8 * states {
                    merge(&mut next);
                    if next.len() > states {
                        return Verdict::GaveUp;
                    }
                }
            }
            merge(&mut next);
            total += next.len();
            *budget = budget.saturating_sub(next.len());
            if total > states || *budget == 0 {
                return Verdict::GaveUp;
            }
            if next.is_empty() {
                return Verdict::Nothing;
            }
            trail.push(
                next.iter()
                    .map(|state| (state.before, state.kind))
                    .collect(),
            );
            layer = next;
        }
        self.close(&layer, &trail, allowed)
    }

    fn extend(&self, state: &State, before: u32, at: usize, allowed: &Cost, next: &mut Vec<State>) {
        let places = self.plan.len - at - 1;
        for (n, kind) in self.kinds.iter().enumerate() {
            if self.left(state.key, kind) == 0 {
                continue;
            }
            let mut key = state.key - (1_u128 << kind.shift);
            let mut cost = state.cost + self.step(&mut key, at, kind.mask, kind.colour);
            cost += self.standing(key, at + 1);
            if cost + self.ahead(key, places) <= *allowed {
                next.push(State {
                    key,
                    cost,
                    before,
                    kind: n as u16,
                });
            }
        }
    }

    fn close(&self, layer: &[State], trail: &[Vec<(u32, u16)>], allowed: &Cost) -> Verdict {
        let ends = layer.iter().enumerate();
        let costs = ends.map(|(at, state)| (state.cost + self.end(state.key), at));
        let Some((cost, mut at)) = costs.min().filter(|(cost, _)| cost <= allowed) else {
            return Verdict::Nothing;
        };
        let mut order = Vec::new();
        for layer in trail.iter().rev() {
            let (before, kind) = layer[at];
            order.push(usize::from(kind));
            at = before as usize;
        }
        order.reverse();
        Verdict::Best(self.spread(&order), cost)
    }

    /// Classes for kinds: those of a kind in turn.
    fn spread(&self, order: &[usize]) -> Vec<u16> {
        let plan = self.plan;
        let mut row = plan.fixed.clone();
        let mut left = plan.counts.clone();
        for kind in order {
            let kind = &self.kinds[*kind];
            let mut classes = 0..left.len();
            let class = classes.find(|class| left[*class] > 0 && plan.alike(*class, kind.class));
            let class = class.unwrap_or(usize::from(kind.class));
            left[class] -= 1;
            row.push(class as u16);
        }
        row
    }
}

/// Of states that are alike the cheapest, in the order of their keys.
fn merge(states: &mut Vec<State>) {
    states.sort_unstable_by_key(|state| (state.key, state.cost, state.before, state.kind));
    states.dedup_by_key(|state| state.key);
}

fn kinds(plan: &Plan, shift: &mut u32) -> Vec<Kind> {
    let mut kinds: Vec<Kind> = Vec::new();
    for (class, cars) in plan.counts.iter().enumerate() {
        if *cars == 0 {
            continue;
        }
        match kinds.iter_mut().find(|kind| plan.alike(class, kind.class)) {
            Some(kind) => kind.cars += cars,
            None => kinds.push(Kind {
                class: class as u16,
                mask: plan.masks[class],
                colour: plan.colours[class],
                cars: *cars,
                shift: 0,
                bits: 0,
            }),
        }
    }
    for kind in &mut kinds {
        kind.bits = bits_for(kind.cars as usize);
        kind.shift = *shift;
        *shift += kind.bits;
    }
    kinds
}

/// By the last cars of a rule's window and places left: most cars with the
/// option that fit without a break.
fn rooms(rule: &crate::plan::Spacing, len: usize) -> Vec<Vec<u16>> {
    let length = rule.in_every - 1;
    let mask = (1_usize << length) - 1;
    let mut rooms = vec![vec![0_u16; len + 1]; mask + 1];
    for places in 1..=len {
        for recent in 0..=mask {
            let without = rooms[recent << 1 & mask][places - 1];
            let fits = recent.count_ones() < u32::from(rule.at_most);
            let with = if fits {
                rooms[(recent << 1 | 1) & mask][places - 1] + 1
            } else {
                0
            };
            rooms[recent][places] = without.max(with);
        }
    }
    rooms
}

impl Plan {
    /// Whether two classes look alike to everything in the plan.
    fn alike(&self, one: usize, other: u16) -> bool {
        let other_at = usize::from(other);
        let due = |class: u16| self.dues.iter().any(|due| due.class == class);
        self.masks[one] == self.masks[other_at]
            && (!self.minds_colours() || self.colours[one] == self.colours[other_at])
            && self.parts.iter().all(|part| part[one] == part[other_at])
            && (one == other_at || (!due(one as u16) && !due(other)))
    }
}
