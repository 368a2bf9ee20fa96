//! Blocks of colour that spacing rules ask for.
//!
//! Where a rule of `p` in every `q` is kept, it is kept within every run of cars
//! of one colour as well, and that has two sides:
//!
//! - A colour of which more cars have the option than `p` in `q` fits into few
//!   long runs no more. A run of `l` cars holds `p floor(l / q) + min(p, l mod q)`
//!   of them, most for its length where it is `p` longer than some `q`s.
//! - A colour of which fewer have it leaves places unused that nothing makes up
//!   for. A run of `l` cars with `k` of them leaves at least `p (l - q + 1) - q k`
//!   of what its windows might hold, all windows of the row together have
//!   `p n - q K + p (q - p)` to spare, and each run more that a colour is cut
//!   into saves `p (q - 1)`.
//!
//! Both are our own counting; that no best mark published is below them is
//! among the tests.

use std::collections::BTreeMap;

use crate::cost::Cost;
use crate::plan::{Plan, Spacing};

/// Cars of each colour behind the fixed ones.
pub(crate) fn by_colour(plan: &Plan) -> BTreeMap<u16, i64> {
    counted(plan, |_| true)
}

fn counted(plan: &Plan, counts: impl Fn(usize) -> bool) -> BTreeMap<u16, i64> {
    let mut cars = BTreeMap::new();
    for (class, count) in plan.counts.iter().enumerate() {
        if *count > 0 {
            let of_colour = cars.entry(plan.colours[class]).or_insert(0);
            *of_colour += if counts(class) { i64::from(*count) } else { 0 };
        }
    }
    cars
}

/// Rules that are kept, and what they ask of each colour.
pub(crate) struct Kept<'a> {
    rules: Vec<Asked<'a>>,
    /// Cars of each colour, and of all.
    cars: BTreeMap<u16, i64>,
    total: i64,
}

/// A rule with the cars of each colour that have its option.
struct Asked<'a> {
    rule: &'a Spacing,
    having: BTreeMap<u16, i64>,
}

impl<'a> Kept<'a> {
    /// No rules.
    pub(crate) fn none(plan: &'a Plan) -> Self {
        Self::of(plan, |_| false)
    }

    /// Those that stand before colours and that an order of this cost keeps.
    pub(crate) fn within(plan: &'a Plan, cost: &Cost) -> Self {
        Self::of(plan, |rule| {
            rule.tier < plan.change_tier && cost[rule.tier] == 0
        })
    }

    fn of(plan: &'a Plan, is_kept: impl Fn(&Spacing) -> bool) -> Self {
        let asked = |(bit, rule): (usize, &'a Spacing)| Asked {
            rule,
            having: counted(plan, |class| plan.masks[class] >> bit & 1 == 1),
        };
        let rules = plan.rules.iter().enumerate();
        let cars = by_colour(plan);
        Self {
            rules: rules.filter(|(_, rule)| is_kept(rule)).map(asked).collect(),
            total: cars.values().sum(),
            cars,
        }
    }

    /// Runs that a colour's cars stand in at the least, since more of those that
    /// have an option would not fit into fewer.
    pub(crate) fn runs(&self, colour: u16) -> i64 {
        let Some(cars) = self.cars.get(&colour) else {
            return 0;
        };
        let of_rule = |asked: &Asked<'_>| {
            let having = asked.having.get(&colour).copied().unwrap_or(0);
            let enough = |runs: &i64| fits(*runs, *cars, asked.rule) >= having;
            (1..=*cars).find(enough).unwrap_or(*cars)
        };
        let of_rules = self.rules.iter().map(of_rule);
        of_rules.max().unwrap_or(0)
    }

    /// Runs beyond these that all colours together need, since their cars without
    /// an option would otherwise leave more places for it unused than there are
    /// to spare. Rules that ask it of different colours ask for the sum.
    pub(crate) fn more_runs(&self, runs: &BTreeMap<u16, i64>) -> i64 {
        let mut asked: Vec<(i64, Vec<u16>)> = self
            .rules
            .iter()
            .map(|asked| self.more_of(asked, runs))
            .collect();
        asked.sort_by_key(|(more, colours)| (-more, colours.len()));
        let mut sum = 0;
        let mut used: Vec<u16> = Vec::new();
        for (more, colours) in asked {
            if colours.iter().all(|colour| !used.contains(colour)) {
                sum += more;
                used.extend(colours);
            }
        }
        sum
    }

    /// What one rule asks for, and of which colours.
    fn more_of(&self, asked: &Asked<'_>, runs: &BTreeMap<u16, i64>) -> (i64, Vec<u16>) {
        let (p, q) = (i64::from(asked.rule.at_most), asked.rule.in_every as i64);
        let all: i64 = asked.having.values().sum();
        if self.total < 2 * q || p == 0 {
            return (0, Vec::new());
        }
        let saved = p * (q - 1);
        let left = |(colour, having): (&u16, &i64)| {
            let cars = self.cars.get(colour).copied().unwrap_or(0);
            let stand = runs.get(colour).copied().unwrap_or(0);
            let left = p * cars - q * having - saved * stand;
            (left > 0).then_some((*colour, left))
        };
        let left: Vec<(u16, i64)> = asked.having.iter().filter_map(left).collect();
        let to_spare = p * self.total - q * all + p * (q - p);
        let mut over = left.iter().map(|(_, left)| left).sum::<i64>() - to_spare;
        // What a colour leaves is saved run by run, the last by less.
        let whole: i64 = left.iter().map(|(_, left)| left / saved).sum();
        let mut more = (over.max(0) + saved - 1) / saved;
        if more > whole {
            over -= whole * saved;
            more = whole;
            let mut rests: Vec<i64> = left.iter().map(|(_, left)| left % saved).collect();
            rests.sort_unstable();
            while let Some(rest) = rests.pop().filter(|rest| over > 0 && *rest > 0) {
                over -= rest;
                more += 1;
            }
        }
        (more, left.into_iter().map(|(colour, _)| colour).collect())
    }
}

/// Of so many cars in so many runs, the most that may have the option.
fn fits(runs: i64, cars: i64, rule: &Spacing) -> i64 {
    let (p, q) = (i64::from(rule.at_most), rule.in_every as i64);
    if runs * p >= cars {
        return cars;
    }
    let behind = cars - runs * p;
    runs * p + p * (behind / q) + (behind % q - (q - p)).max(0)
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::model::{Class, Colours, Counted, Force, Goal, Goals, Problem, Rule};
    use crate::watch::{Settings, Watch};
    use crate::{Solution, best};

    /// Vans of white (0), red (1) and blue (2), with or without a sunroof of
    /// which no two may follow one another; the rule stands before colours.
    fn ordered(vans: &[(usize, bool, u32)]) -> Solution {
        let class = |(colour, sunroof, count): &(usize, bool, u32)| Class {
            name: format!("{colour} {sunroof}"),
            count: *count,
            options: vec![*sunroof],
            colour: Some(*colour),
        };
        let problem = Problem {
            classes: vans.iter().map(class).collect(),
            options: vec!["sunroof".into()],
            rules: vec![Rule {
                option: 0,
                at_most: 1,
                in_every: 2,
                force: Force::Soft(1),
            }],
            counted: Counted::Windows,
            colours: Colours {
                names: ["white", "red", "blue"].map(String::from).to_vec(),
                max_block: None,
                change_weight: 1,
            },
            goals: Goals::Ordered(vec![vec![Goal::Rule(0)], vec![Goal::Colours]]),
            ..Problem::empty()
        };
        // Nothing is counted out: it is the bound that shows it.
        let settings = Settings {
            proof_states: 0,
            ..Settings::quick(1)
        };
        best(&problem.check().unwrap(), &settings, &Watch::none())
    }

    #[test]
    fn red_vans_that_all_have_a_sunroof_stand_one_by_one() {
        let solution = ordered(&[(1, true, 6), (0, false, 5), (2, false, 2)]);
        assert_eq!(solution.tally.windows, [0]);
        // Six reds with others between them: white in four places, blue in one.
        assert_eq!(solution.tally.colour_changes, 10);
        assert!(solution.is_optimal());
    }

    #[test]
    fn white_vans_without_a_sunroof_make_room_for_those_that_have_one() {
        // Twelve vans, six sunroofs: once at the most two without one may follow
        // one another. Reds stand in four runs, and whites in three, not in one.
        let solution = ordered(&[(1, true, 6), (1, false, 2), (0, false, 4)]);
        assert_eq!(solution.tally.windows, [0]);
        assert_eq!(solution.tally.colour_changes, 6);
        assert!(solution.is_optimal());
    }

    /// The most of a run's cars that may have the option, by trying all.
    fn most_of_run(cars: usize, rule: &Spacing) -> i64 {
        let kept = |bits: u32| {
            let runs = 0..(cars + 1).saturating_sub(rule.in_every);
            let with = |start: usize| (bits >> start & ((1 << rule.in_every) - 1)).count_ones();
            runs.into_iter()
                .all(|start| with(start) <= rule.at_most.into())
        };
        let all = (0..1_u32 << cars).filter(|bits| kept(*bits));
        let most = all.map(u32::count_ones).max().unwrap_or(0);
        // Shorter than the rule's window, it is within one all the same.
        i64::from(if cars < rule.in_every {
            most.min(rule.at_most.into())
        } else {
            most
        })
    }

    proptest! {
        #[test]
        fn so_many_fit_into_runs_as_the_best_way_to_cut_them_lets_in(
            cars in 1_usize..11,
            runs in 1_usize..5,
            at_most in 1_u16..4,
            wider in 1_usize..4,
        ) {
            let runs = runs.min(cars);
            let in_every = usize::from(at_most) + wider;
            let rule = Spacing { given: 0, at_most, in_every, tier: 1, price: 1, starts: 0..0 };
            // Cars laid by, and the most with the option, run by run.
            let mut most = vec![i64::MIN; cars + 1];
            most[0] = 0;
            for _ in 0..runs {
                let mut next = vec![i64::MIN; cars + 1];
                for (laid, before) in most.iter().enumerate().filter(|(_, most)| **most >= 0) {
                    for run in 1..=cars - laid {
                        let all = before + most_of_run(run, &rule);
                        next[laid + run] = all.max(next[laid + run]);
                    }
                }
                most = next;
            }
            prop_assert_eq!(fits(runs as i64, cars as i64, &rule), most[cars]);
        }
    }
}
