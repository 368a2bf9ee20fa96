//! The best order so far, counted while the search for a better one goes on.

use units::SoFar;

use crate::cost::TIERS;
use crate::evaluate;
use crate::model::{Counted, Force};
use crate::plan::ranks;
use crate::watch::Progress;

impl Progress<'_> {
    /// What the best order so far breaks and has, in the order in which goals
    /// count: what must hold and does not, then by group of goals the soft rules,
    /// the cars that come late, the changes of colour, the squares off the level
    /// line. Bounds are told where they are more than nothing.
    ///
    /// Where rules stand in several groups of goals `group` names them, the first
    /// group being 1, as in ` of goal 1`.
    pub fn so_far(&self, group: impl Fn(usize) -> String) -> Vec<SoFar> {
        let mut told = Vec::new();
        if self.best[0] > 0 {
            let (broken, least) = (self.best[0] as f64, self.seen.bound.cost[0] as f64);
            told.push(SoFar::new("breaks of what must hold", broken, least));
        }
        let tally = evaluate::tally(self.seen.checked, &self.seen.checked.plan, self.seen.row);
        let counted = Counts {
            progress: self,
            tally,
            tiers: ranks(&self.seen.checked.problem),
        };
        let ruled = (1..TIERS).filter(|tier| counted.rules(*tier).is_some());
        let apart = ruled.count() > 1;
        for tier in 1..TIERS {
            let named = if apart { group(tier) } else { String::new() };
            told.extend(counted.spacing(tier, &named));
            told.extend(counted.lateness(tier));
            told.extend(counted.promises(tier));
            told.extend(counted.colours(tier));
            told.extend(counted.level(tier));
        }
        told
    }
}

/// An order taken apart, and the group that each of its goals stands in.
struct Counts<'a> {
    progress: &'a Progress<'a>,
    tally: evaluate::Tally,
    tiers: crate::plan::Ranks,
}

impl Counts<'_> {
    /// Breaks of the soft rules of a group and what any order breaks of them;
    /// none where it has no rule.
    fn rules(&self, tier: usize) -> Option<(u64, u64)> {
        let seen = &self.progress.seen;
        let breaks = match seen.checked.problem.counted {
            Counted::Windows => &self.tally.windows,
            Counted::Excess => &self.tally.excess,
        };
        let rules = seen.checked.plan.rules.iter();
        let own = rules.filter(|rule| rule.tier == tier);
        own.map(|rule| (breaks[rule.given], seen.bound.rules[rule.given]))
            .reduce(|sum, rule| (sum.0 + rule.0, sum.1 + rule.1))
    }

    fn spacing(&self, tier: usize, named: &str) -> Option<SoFar> {
        let (breaks, least) = self.rules(tier)?;
        let what = match self.progress.seen.checked.problem.counted {
            Counted::Windows => "runs of cars past a rule",
            Counted::Excess => "cars past a rule, summed over its runs",
        };
        Some(SoFar::new(
            format!("{what}{named}"),
            breaks as f64,
            least as f64,
        ))
    }

    fn lateness(&self, tier: usize) -> Option<SoFar> {
        let plan = &self.progress.seen.checked.plan;
        (self.tiers.lateness == Some(tier)).then(|| {
            let steps = self.progress.best[tier] / plan.units[tier];
            SoFar::new("steps that late cars come behind", steps as f64, 0.0)
        })
    }

    fn promises(&self, tier: usize) -> Option<SoFar> {
        if self.tiers.promises != Some(tier) {
            return None;
        }
        let promises = self.progress.seen.checked.problem.promises.iter();
        let soft = promises
            .zip(&self.tally.late)
            .filter(|(promise, _)| matches!(promise.force, Force::Soft(1..)));
        soft.map(|(_, late)| *late)
            .reduce(|sum, late| sum + late)
            .map(|late| SoFar::new("cars behind their promise", late as f64, 0.0))
    }

    fn colours(&self, tier: usize) -> Option<SoFar> {
        let seen = &self.progress.seen;
        let plan = &seen.checked.plan;
        (plan.change_price > 0 && plan.change_tier == tier).then(|| {
            SoFar::new(
                "changes of colour",
                self.tally.colour_changes as f64,
                seen.bound.colour_changes as f64,
            )
        })
    }

    fn level(&self, tier: usize) -> Option<SoFar> {
        let plan = &self.progress.seen.checked.plan;
        (plan.level_price > 0 && plan.level_tier == tier)
            .then(|| SoFar::new("squares off the level line", self.tally.level, 0.0))
    }
}

#[cfg(test)]
mod tests {
    use std::sync::Mutex;

    use super::*;
    use crate::model::{Class, Colours, Goal, Goals, Problem, Promise, Rule};
    use crate::{Settings, Watch, best};

    /// A week whose sunroofs and towbars cannot all be spaced.
    fn week(goals: Goals) -> Problem {
        let class = |name: &str, count, options: [bool; 2], colour| Class {
            name: name.into(),
            count,
            options: options.to_vec(),
            colour: Some(colour),
        };
        let rule = |option, at_most, in_every| Rule {
            option,
            at_most,
            in_every,
            force: Force::Soft(3),
        };
        Problem {
            classes: vec![
                class("plain", 30, [false, false], 0),
                class("sunroof", 22, [true, false], 1),
                class("towbar", 25, [false, true], 0),
                class("both", 9, [true, true], 1),
            ],
            options: vec!["sunroof".into(), "towbar".into()],
            rules: vec![rule(0, 1, 3), rule(1, 2, 5)],
            colours: Colours {
                names: vec!["red".into(), "white".into()],
                max_block: None,
                change_weight: 1,
            },
            promises: vec![Promise {
                class: 3,
                count: 9,
                within: 12,
                force: Force::Soft(2),
            }],
            goals,
            ..Problem::empty()
        }
    }

    fn all_told(problem: &Problem) -> (Vec<Vec<SoFar>>, crate::Solution) {
        let checked = problem.check().unwrap();
        let told = Mutex::new(Vec::new());
        let watch = Watch {
            progress: &|at| {
                let group = |tier| format!(" of goal {tier}");
                told.lock().unwrap().push(at.so_far(group));
            },
            ..Watch::none()
        };
        let settings = Settings {
            proof_states: 0,
            ..Settings::quick(3)
        };
        let solution = best(&checked, &settings, &watch);
        (told.into_inner().unwrap(), solution)
    }

    #[test]
    fn while_cars_are_ordered_the_best_order_so_far_is_counted_and_the_last_is_the_answer() {
        let (told, solution) = all_told(&week(Goals::Weighted));
        assert!(told.len() > 10, "told {} times", told.len());
        let tally = &solution.tally;
        let last = told.last().unwrap();
        let whats: Vec<&str> = last.iter().map(|one| one.what.as_str()).collect();
        assert_eq!(
            whats,
            [
                "runs of cars past a rule",
                "cars behind their promise",
                "changes of colour"
            ]
        );
        let values: Vec<f64> = last.iter().map(|one| one.value).collect();
        let sums = [
            tally.windows.iter().sum(),
            tally.late.iter().sum(),
            tally.colour_changes,
        ];
        assert_eq!(values, sums.map(|sum: u64| sum as f64));
        assert!(
            values[0] > 0.0,
            "these sunroofs and towbars cannot all be spaced"
        );
        for one in told.iter().flatten() {
            assert!(one.at_least.is_none_or(|least| least <= one.value));
        }
    }

    #[test]
    fn the_best_so_far_is_told_in_the_order_in_which_goals_count_and_never_gets_worse() {
        let goals = vec![
            vec![Goal::Colours],
            vec![Goal::Rule(1)],
            vec![Goal::Rule(0), Goal::Promises],
        ];
        let (told, _) = all_told(&week(Goals::Ordered(goals)));
        let whats = |told: &[SoFar]| told.iter().map(|one| one.what.clone()).collect::<Vec<_>>();
        assert_eq!(
            whats(&told[0]),
            [
                "changes of colour",
                "runs of cars past a rule of goal 2",
                "runs of cars past a rule of goal 3",
                "cars behind their promise"
            ]
        );
        let mut before = (f64::INFINITY, f64::INFINITY);
        for told in &told {
            let now = (told[0].value, told[1].value);
            assert!(now <= before, "{now:?} follows {before:?}");
            before = now;
        }
    }

    #[test]
    fn what_must_hold_and_does_not_is_told_first() {
        let mut problem = week(Goals::Weighted);
        problem.rules[0].force = Force::Hard;
        let (told, solution) = all_told(&problem);
        let first = &told.last().unwrap()[0];
        assert_eq!(first.what, "breaks of what must hold");
        assert_eq!(first.value, solution.tally.cost.0[0] as f64);
        assert_eq!(first.at_least, Some(solution.bound.cost.0[0] as f64));
    }
}
