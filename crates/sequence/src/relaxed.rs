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

use rayon::prelude::*;

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

/// Rules are minded together several times, each time as many as leave such a
/// part of the steps that there is time for, the prices known from the time
/// before: with few, prices are found soon and exactly.
const PARTS: [usize; 3] = [64, 8, 1];

/// Before that, twos and threes of rules are tried, each with no more steps than
/// this, in such a part of the time: rules that ask for nothing alone may do so
/// beside certain others.
const TRIED: usize = 2048;
const TRIED_PART: u64 = 8;

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

/// The most that is proven so far.
struct Proven {
    /// In the unit of prices.
    cost: i64,
    rules: Vec<Minded>,
    /// The prices of classes that prove it, where they are kept.
    prices: Option<Vec<f64>>,
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

    /// What the cars behind the fixed ones cost at the least, and by which rules.
    fn proven(&self, sums: u64, watch: &Watch<'_>) -> (i64, Vec<usize>) {
        let mut ranked: Vec<(i64, i64, Minded)> = Vec::new();
        for rule in &self.rules {
            let (alone, rule) = self.alone(rule, sums, watch);
            ranked.push((alone, self.crowding(&rule), rule));
        }
        ranked.sort_by_key(|(alone, crowding, _)| std::cmp::Reverse((*alone, *crowding)));
        let mut best = Proven {
            cost: ranked.first().map_or(0, |(alone, _, _)| *alone),
            rules: ranked.iter().take(1).map(|(_, _, rule)| *rule).collect(),
            prices: None,
        };
        let mut ranked: Vec<Minded> = ranked.into_iter().map(|(_, _, rule)| rule).collect();
        if let Some(tried) = self.tried(&ranked, sums / TRIED_PART, watch)
            && tried.cost > best.cost
        {
            let is_first = |rule: &Minded| tried.rules.iter().any(|first| first.bit == rule.bit);
            ranked.sort_by_key(|rule| !is_first(rule));
            best = tried;
        }
        self.grown(&ranked, &mut best, sums, watch);
        let given = |rule: &Minded| self.plan.rules[rule.bit].given;
        (
            self.units(best.cost),
            best.rules.iter().map(given).collect(),
        )
    }

    /// The twos and threes of the first rules that ask for most together; none
    /// where there is time for none of them.
    fn tried(&self, ranked: &[Minded], sums: u64, watch: &Watch<'_>) -> Option<Proven> {
        let sets = |rules: usize| rules * (rules.max(1) - 1) / 2 * (rules + 1) / 3;
        let room = self.steps(sums, ALONE) * 2 / TRIED;
        let rules = (2..=ranked.len()).take_while(|rules| sets(*rules) <= room);
        let ranked = &ranked[..rules.last()?];
        let mut chosen = Vec::new();
        for (at, one) in ranked.iter().enumerate() {
            for (next, other) in ranked.iter().enumerate().skip(at + 1) {
                chosen.push(vec![*one, *other]);
                let thirds = ranked.iter().skip(next + 1);
                chosen.extend(thirds.map(|third| vec![*one, *other, *third]));
            }
        }
        let proven = |rules: &Vec<Minded>| {
            let mut minded: Vec<Minded> = Vec::new();
            for rule in rules {
                minded.extend(self.beside(&minded, rule, TRIED, watch));
            }
            let minding = self.minding(&minded, TRIED, watch)?;
            let priced = self.priced(&minding, ALONE, None, watch);
            Some(Proven {
                cost: priced.proven,
                rules: minded,
                prices: Some(priced.prices),
            })
        };
        let all: Vec<Option<Proven>> = chosen.par_iter().map(proven).collect();
        // Of equals the first: its rules ask for most alone, or are most crowded.
        let all = all.into_iter().flatten().rev();
        let mut best = all.max_by_key(|proven| proven.cost)?;
        let minding = self.minding(&best.rules, TRIED, watch)?;
        let priced = self.priced(&minding, TOGETHER[1], None, watch);
        if priced.proven > best.cost {
            (best.cost, best.prices) = (priced.proven, Some(priced.prices));
        }
        Some(best)
    }

    /// Minds more and more rules, as many as there is time for in the end.
    fn grown(&self, ranked: &[Minded], best: &mut Proven, sums: u64, watch: &Watch<'_>) {
        let mut before: Vec<Minded> = Vec::new();
        for part in PARTS {
            let most_steps = self.steps(sums, TOGETHER[0]) / part;
            let mut minded: Vec<Minded> = Vec::new();
            for rule in ranked {
                minded.extend(self.beside(&minded, rule, most_steps, watch));
            }
            if self.units(best.cost) >= self.most || watch.cancelled() {
                break;
            }
            if minded == before {
                continue;
            }
            let Some(all) = self.minding(&minded, usize::MAX, watch) else {
                break;
            };
            let steps = (all.words.into.len() * all.kinds.lanes.len()).max(1);
            let changes = TOGETHER[0] as usize * self.steps(sums, TOGETHER[0]) / steps;
            let changes = (changes as u32).clamp(TOGETHER[0], TOGETHER[1]);
            let together = self.priced(&all, changes, best.prices.as_deref(), watch);
            if together.proven > best.cost {
                *best = Proven {
                    cost: together.proven,
                    rules: minded.clone(),
                    prices: Some(together.prices),
                };
            }
            before = minded;
        }
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
            minding.map_or(0, |alone| self.priced(&alone, ALONE, None, watch).proven)
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
        let mut chain = Chain::new(kinds, words, self.change, kinds.from_classes(&best.prices));
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
            if step + PROVED >= COOLED {
                let proven = walk.proven(&self.whole(chain.prices()), watch);
                if proven.is_some_and(|proven| proven > best.proven) {
                    best.proven = proven.unwrap_or(0);
                    kinds.to_classes(chain.prices(), &mut best.prices);
                }
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
