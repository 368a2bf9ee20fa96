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
//! All rules at once would make too many words. [`sets`] tries each alone, in as
//! few of the last places of its window as ask for as much, then twos and threes;
//! those that ask for most are minded first and further ones beside them, as long
//! as a walk is found soon enough, the prices known from the rules before.

mod chain;
mod kinds;
mod sets;
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

/// The first of these steps, which prices that are known from fewer rules need
/// not go through again.
const KNOWN: u32 = 6;

/// The last of these steps, after each of which it is seen what the prices prove.
const PROVED: u32 = 5;

/// How often prices change at each temperature for a rule alone; for rules
/// together at the least and at the most, since the more words there are the
/// less often it can be.
const ALONE: u32 = 100;
const TOGETHER: [u32; 2] = [300, 1000];

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
    /// What no order keeps together, where that shows from it: as few as are
    /// left when one after the other is left out, not the fewest there may be.
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

/// What came of prices.
struct Priced {
    /// What they prove, in the unit of prices.
    proven: i64,
    /// Those that prove it, by class.
    prices: Vec<f64>,
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

    /// Whole units of cost, from below.
    fn units(&self, proven: i64) -> i64 {
        (proven.max(0) + self.unit - 1) / self.unit
    }

    /// Steps between words, lanes counted each, that leave a bound within so
    /// many sums.
    fn steps(&self, sums: u64, changes: u32) -> usize {
        let each = u64::from(2 * COOLED * changes) + u64::from(PROVED) * self.places as u64;
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

    /// What walks prove with these rules minded, the prices changed so often at
    /// each temperature, from the prices of classes that are known.
    fn priced(
        &self,
        minding: &Minding,
        changes: u32,
        known: Option<&[f64]>,
        watch: &Watch<'_>,
    ) -> Priced {
        let Minding { kinds, words } = minding;
        let colour = |car: &u16| self.plan.colours[usize::from(*car)];
        let lane = |colour: u16| kinds.lanes.iter().position(|lane| *lane == colour);
        let begin = match self.plan.fixed.last().map(colour) {
            Some(colour) if self.change > 0 => lane(colour).map_or(Begin::Other, Begin::Lane),
            _ => Begin::Empty,
        };
        let price = (self.change, self.unit);
        let walk = Walk::new(kinds, words, price, begin, (self.places, self.open()));
        let none = vec![0.0; self.plan.counts.len()];
        let mut best = Priced {
            proven: 0,
            prices: known.map_or(none, <[f64]>::to_vec),
        };
        let mut chain = Chain::new(kinds, words, self.change, kinds.by_kind(&best.prices));
        let mut first = 0;
        if known.is_some() {
            // More rules minded make no walk cheaper, whatever the prices.
            let proven = walk.proven(&self.whole(chain.prices()), watch);
            best.proven = proven.unwrap_or(0).max(0);
            first = if best.proven > 0 { KNOWN } else { 0 };
        }
        for step in first..COOLED {
            let warmth = self.dearest() as f64 / libm::pow(COOLER, step.into());
            chain.cool((warmth, warmth / COOLER), changes, watch);
            if step + PROVED >= COOLED
                && let Some(proven) = walk.proven(&self.whole(chain.prices()), watch)
                && proven > best.proven
            {
                best.proven = proven;
                kinds.by_class(chain.prices(), &mut best.prices);
            }
            if self.units(best.proven) >= self.most || watch.cancelled() {
                break;
            }
        }
        best
    }

    /// Prices in whole parts of one unit of cost.
    fn whole(&self, prices: &[f64]) -> Vec<i64> {
        let whole = |price: &f64| libm::round(price * self.unit as f64) as i64;
        prices.iter().map(whole).collect()
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
