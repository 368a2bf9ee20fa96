//! A bound that minds several rules, and colours, together.
//!
//! What may follow a car depends on the last few cars alone, so that an order is
//! a walk from one word of recent cars to the next. How many cars of each kind
//! there are is the one thing that a walk does not know. Instead each kind has a
//! price, and the cheapest walk, found place by place, is together with the
//! prices of all cars no more than any order costs: a Lagrangian relaxation
//! (Geoffrion, Mathematical Programming Study 2 (1974) 82-114). [`chain`] seeks
//! the prices, in floating point and none too exactly; [`walk`] proves what they
//! are worth in whole numbers.
//!
//! All rules at once would make too many words. Each is tried alone, in as few
//! of the last places of its window as ask for as much; then those that ask for
//! most are minded first, as long as a walk is found soon enough.

mod chain;
mod kinds;
mod walk;
mod words;

use crate::bound;
use crate::clash::Requirement;
use crate::cost::{Cost, TIERS};
use crate::plan::{Plan, Spacing};
use crate::watch::Watch;

use chain::Chain;
use kinds::{Kinds, Minded, Role};
use walk::{Begin, Walk};
use words::Words;

/// Each step of cooling divides the temperature by this.
const COOLER: f64 = 1.6;

/// Steps of cooling, from what a break costs to some 280th of it: colder, and
/// chances run out of digits.
const COOLED: u32 = 12;

/// The last of these steps, after each of which it is seen what the prices prove.
const PROVED: u32 = 5;

/// How often prices change at each temperature for a rule alone; for rules
/// together at the least and at the most, since the more words there are the
/// less often it can be.
const ALONE: u32 = 100;
const TOGETHER: [u32; 2] = [300, 3000];

/// Rules are minded together twice: first as few as leave this share of the
/// steps, whose prices are found exactly, then as many as there is time for.
const FEW: usize = 16;

/// The last places of a window that may be minded instead of the whole.
const SHORTER: [usize; 6] = [2, 3, 4, 5, 6, 8];

/// Parts of one unit of cost that prices are told in, where sums allow it.
const FINEST: i64 = 4096;

/// Sums that are worth spending beside so many moves of a search: as a share of
/// its time, and not more than some seconds.
pub(crate) fn sums(moves: u64) -> u64 {
    moves.saturating_mul(60).min(3_000_000_000)
}

/// What a goal costs at the least in all orders that cost as little as this in
/// the goals before it, and by which of what must be kept. None where neither
/// rules nor colours are in the goal.
pub(crate) fn least(
    plan: &Plan,
    found: &Cost,
    tier: usize,
    sums: u64,
    watch: &Watch<'_>,
) -> Option<Least> {
    let question = Question::new(plan, found, tier)?;
    let (proven, rules) = question.proven(sums, watch);
    let mut clash = Vec::new();
    if proven > 0 && question.change == 0 {
        clash.extend(rules.into_iter().map(Requirement::Rule));
        let frozen = plan.free > plan.first;
        clash.extend((plan.first > 0).then_some(Requirement::Previous));
        clash.extend(frozen.then_some(Requirement::Frozen));
    }
    Some(Least {
        cost: proven + question.settled(),
        clash,
    })
}

/// What a goal costs at the least.
pub(crate) struct Least {
    pub(crate) cost: i64,
    /// What no order keeps together, where that shows from it; not nearly as
    /// few as there may be.
    pub(crate) clash: Vec<Requirement>,
}

/// Raises the bounds of the goals that an order does not meet, first goal first,
/// as far as it can. `sums` is how much may be added up for each.
///
/// Gives what no order keeps together, where that came out.
pub(crate) fn raise(
    plan: &Plan,
    found: &Cost,
    bound: &mut Cost,
    sums: u64,
    watch: &Watch<'_>,
) -> Vec<Requirement> {
    let mut clash = Vec::new();
    while let Some(tier) = (0..TIERS).find(|tier| found[*tier] > bound[*tier]) {
        let Some(least) = least(plan, found, tier, sums, watch) else {
            break;
        };
        if clash.is_empty() {
            clash = least.clash;
        }
        bound[tier] = bound[tier].max(least.cost.min(found[tier]));
        if bound[tier] < found[tier] {
            break;
        }
    }
    clash
}

/// The goal whose bound is to be raised.
struct Question<'a> {
    plan: &'a Plan,
    /// What the best order found costs in it.
    most: i64,
    /// What a change of colour costs in it.
    change: i64,
    rules: Vec<Minded>,
    places: usize,
    /// Prices of cars are in these parts of one unit of cost.
    unit: i64,
}

/// Rules that are minded together, ready for walks.
struct Minding {
    kinds: Kinds,
    words: Words,
}

impl<'a> Question<'a> {
    /// None where neither rules nor colours are in the goal, or nothing is open.
    fn new(plan: &'a Plan, found: &Cost, tier: usize) -> Option<Self> {
        let is_colours = plan.change_tier == tier;
        let change = if is_colours { plan.change_price } else { 0 };
        let role = |rule: &Spacing| {
            let priced = (rule.tier == tier).then_some(Role::Priced(rule.price));
            priced.or((rule.tier < tier && found[rule.tier] == 0).then_some(Role::Kept))
        };
        let has_cars = |bit: usize| {
            let mut classes = plan.counts.iter().zip(&plan.masks);
            classes.any(|(cars, mask)| *cars > 0 && mask >> bit & 1 == 1)
        };
        let rules = plan.rules.iter().enumerate();
        let rules = rules.filter(|(bit, _)| has_cars(*bit));
        let rules: Vec<Minded> = rules
            .filter_map(|(bit, rule)| Some(Minded::new(bit, rule, role(rule)?)))
            .collect();
        let places = plan.len - plan.free;
        let unit = (walk::MOST_SUM / 8 / found[tier].max(1)).min(FINEST);
        let any = change > 0 || rules.iter().any(|rule| rule.role != Role::Kept);
        (any && !rules.is_empty() && unit > 0 && places > 0).then_some(Self {
            plan,
            most: found[tier],
            change,
            rules,
            places,
            unit,
        })
    }

    /// What the fixed cars cost by themselves.
    fn settled(&self) -> i64 {
        let mut cost = 0;
        if self.change > 0 {
            cost += self.change * bound::among_fixed(self.plan).0;
        }
        for rule in &self.rules {
            let Role::Priced(price) = rule.role else {
                continue;
            };
            let spacing = &self.plan.rules[rule.bit];
            let ended = |start: &usize| start + spacing.in_every <= self.plan.free;
            for start in spacing.starts.clone().take_while(ended) {
                let window = &self.plan.fixed[start..start + spacing.in_every];
                let has = |car: &&u16| self.plan.masks[usize::from(**car)] >> rule.bit & 1 == 1;
                let cars = window.iter().filter(has).count() as u16;
                cost += self.plan.breaks(cars, spacing.at_most) * price;
            }
        }
        cost
    }

    /// What the cars behind the fixed ones cost at the least, and by which rules.
    fn proven(&self, sums: u64, watch: &Watch<'_>) -> (i64, Vec<usize>) {
        let mut ranked: Vec<(i64, i64, Minded)> = Vec::new();
        for rule in &self.rules {
            let (alone, rule) = self.alone(rule, sums, watch);
            ranked.push((alone, self.crowding(&rule), rule));
        }
        ranked.sort_by_key(|(alone, crowding, _)| std::cmp::Reverse((*alone, *crowding)));
        let given = |rule: &Minded| self.plan.rules[rule.bit].given;
        let first = ranked.first();
        let mut best = first.map_or((0, Vec::new()), |(alone, _, rule)| {
            (*alone, vec![given(rule)])
        });
        let mut before: Vec<Minded> = Vec::new();
        for share in [FEW, 1] {
            let most_steps = self.steps(sums, TOGETHER[0]) / share;
            let mut minded: Vec<Minded> = Vec::new();
            for (_, _, rule) in &ranked {
                minded.extend(self.beside(&minded, rule, most_steps, watch));
            }
            if minded == before || self.units(best.0) >= self.most {
                break;
            }
            let Some(all) = self.minding(&minded, usize::MAX, watch) else {
                break;
            };
            let steps = (all.words.steps.len() * all.kinds.lanes.len()).max(1);
            let changes = TOGETHER[0] as usize * self.steps(sums, TOGETHER[0]) / steps;
            let changes = (changes as u32).clamp(TOGETHER[0], TOGETHER[1]);
            let together = self.priced(&all, changes, watch);
            if together > best.0 {
                best = (together, minded.iter().map(given).collect());
            }
            before = minded;
        }
        (self.units(best.0), best.1)
    }

    /// Whole units of cost, from below.
    fn units(&self, proven: i64) -> i64 {
        (proven.max(0) + self.unit - 1) / self.unit
    }

    /// What a rule asks for by itself, and in which of the last places of its
    /// window it asks for no less.
    fn alone(&self, rule: &Minded, sums: u64, watch: &Watch<'_>) -> (i64, Minded) {
        let proven = |rule: &Minded| {
            let most_steps = self.steps(sums, ALONE) / self.rules.len();
            let minding = self.minding(&[*rule], most_steps, watch);
            minding.map_or(0, |alone| self.priced(&alone, ALONE, watch))
        };
        let whole = proven(rule);
        if whole > 0 {
            for width in SHORTER {
                let shorter = Minded { width, ..*rule };
                if width <= usize::from(rule.at_most) || width >= rule.width {
                    continue;
                }
                // Within a third of a unit, since prices are none too exact.
                let enough = proven(&shorter);
                if enough + self.unit / 3 >= whole {
                    return (enough.max(whole), shorter);
                }
            }
        }
        (whole, *rule)
    }

    /// How much of what its windows hold a rule's cars take up, in per mille.
    fn crowding(&self, rule: &Minded) -> i64 {
        let classes = self.plan.counts.iter().zip(&self.plan.masks);
        let having = classes.filter(|(_, mask)| **mask >> rule.bit & 1 == 1);
        let cars: i64 = having.map(|(cars, _)| i64::from(*cars)).sum();
        let room = i64::from(rule.at_most) * self.places as i64;
        1000 * cars * self.plan.rules[rule.bit].in_every as i64 / room.max(1)
    }

    /// The rule beside those that are minded, in as much of its window as lets
    /// there be no more than so many steps.
    fn beside(
        &self,
        minded: &[Minded],
        rule: &Minded,
        most_steps: usize,
        watch: &Watch<'_>,
    ) -> Option<Minded> {
        let shorter = SHORTER
            .into_iter()
            .rev()
            .filter(|width| *width < rule.width && *width > usize::from(rule.at_most));
        let mut widths = std::iter::once(rule.width).chain(shorter);
        widths.find_map(|width| {
            let rule = Minded { width, ..*rule };
            let all: Vec<Minded> = minded.iter().copied().chain([rule]).collect();
            self.minding(&all, most_steps, watch).map(|_| rule)
        })
    }

    /// Steps between words, lanes counted each, that leave a bound within so
    /// many sums.
    fn steps(&self, sums: u64, changes: u32) -> usize {
        let each = u64::from(3 * COOLED * changes) + u64::from(PROVED) * self.places as u64;
        (sums / 2 / each.max(1)) as usize
    }

    /// None where there are more than so many steps between words.
    fn minding(&self, minded: &[Minded], most_steps: usize, watch: &Watch<'_>) -> Option<Minding> {
        let kinds = Kinds::new(self.plan, minded, self.change > 0);
        let wide = kinds.lanes.len();
        let most = most_steps / wide.max(1);
        let words = Words::new(self.plan, minded, &kinds.masks, most, watch)?;
        Some(Minding { kinds, words })
    }

    /// What walks prove with these rules minded, in the unit of prices, the
    /// prices changed so often at each temperature.
    fn priced(&self, minding: &Minding, changes: u32, watch: &Watch<'_>) -> i64 {
        let Minding { kinds, words } = minding;
        let colour = |car: &u16| self.plan.colours[usize::from(*car)];
        let lane = |colour: u16| kinds.lanes.iter().position(|lane| *lane == colour);
        let begin = match self.plan.fixed.last().map(colour) {
            Some(colour) if self.change > 0 => lane(colour).map_or(Begin::Other, Begin::Lane),
            _ => Begin::Empty,
        };
        let price = (self.change, self.unit);
        let walk = Walk::new(kinds, words, price, begin, (self.places, self.open()));
        let mut chain = Chain::new(kinds, words, self.change);
        let mut warmth = self.dearest() as f64;
        let mut proven = 0;
        for step in 0..COOLED {
            chain.cool((warmth, warmth / COOLER), changes, watch);
            warmth /= COOLER;
            if step + PROVED >= COOLED {
                let found = walk.proven(&chain.prices(self.unit), watch);
                proven = proven.max(found.unwrap_or(0));
            }
            if self.units(proven) >= self.most || watch.cancelled() {
                break;
            }
        }
        proven
    }

    /// First places before which there are too few cars for the longest window
    /// that has a price.
    fn open(&self) -> usize {
        let priced = self.rules.iter().filter(|rule| rule.role != Role::Kept);
        let widths = priced.map(|rule| self.plan.rules[rule.bit].in_every);
        let longest = widths.max().unwrap_or(1);
        (longest - 1).saturating_sub(self.plan.free)
    }

    /// The most that a single change or break costs.
    fn dearest(&self) -> i64 {
        let price = |rule: &Minded| match rule.role {
            Role::Priced(price) => price,
            Role::Kept => 0,
        };
        let prices = self.rules.iter().map(price);
        prices.fold(self.change, i64::max).max(1)
    }
}
