//! The cheapest way to a rate or a lead time: which ideas, together, reach it at
//! least money.
//!
//! Every set is a plant of its own, built and run with the luck of all others;
//! nothing is added up from single ideas, for two on one constraint do not add,
//! and the constraint moves. The search ([`search`]) is exact but for luck where
//! its runs suffice; beside it, ideas are added one after the other, that with
//! most cars for its money first, for the curve of money against cars.

mod model;
mod search;

use std::collections::BTreeMap;

use book::raw::Workbook;
use flow::Watch;
use flow::statistics::Interval;
use rayon::prelude::*;

use super::odds::Estimate;
use super::plant::{Runner, Terms, Variant};
use super::{Idea, Look, Memory, Seen, Unrun, UnrunIdea, look, odds, tray};
use crate::findings::{NoAnswer, Verdict};
use crate::network::Built;
use search::{Judged, bits, cheapest};

pub use model::{Goal, Reach, ReachSettings, Reached, WayPoint, WayStep};

/// Finds the cheapest way to a goal. The same book, goal, settings and seed give
/// the same way on any number of cores and whatever `memory` holds.
///
/// Cancelled through `watch` it gives the best so far, once all ideas together
/// were run.
///
/// # Errors
/// [`NoAnswer`]: problems of the book, a goal that is none, or cancelled before
/// anything can be said.
pub fn reach(
    workbook: &Workbook,
    goal: Goal,
    settings: &ReachSettings,
    memory: &Memory,
    watch: &Watch<'_>,
) -> Result<Reach, NoAnswer> {
    sound(goal, settings)?;
    let look = look(workbook, settings.seed, settings.level, watch)?;
    let terms = look.terms(settings.seed, settings.weeks);
    let runner = Runner::new(terms, memory, watch);
    runner.expect(settings.runs);
    let (ideas, left_out, without_money) = priced(workbook, &look, settings)?;
    let mut sets = Sets {
        workbook,
        goal,
        settings,
        runner: &runner,
        terms,
        rate: look.as_it_is.hurdle_rate,
        yearly: Vec::new(),
        excludes: Vec::new(),
        ideas,
        tried: BTreeMap::new(),
        allowance: settings.runs,
    };
    sets.find(&look, left_out, without_money, watch)
}

fn sound(goal: Goal, settings: &ReachSettings) -> Result<(), NoAnswer> {
    let wrong = |what: String| Err(NoAnswer::Settings(what));
    if !(goal.cars_per_week > 0.0 && goal.cars_per_week <= 1e6) {
        return wrong(format!(
            "{} cars a week, expected more than 0 and at most 1000000",
            goal.cars_per_week
        ));
    }
    if goal.days.is_some_and(|days| !(days > 0.0 && days <= 1e4)) {
        return wrong("days to be reached must be more than 0 and at most 10000".to_owned());
    }
    if settings.first < 2 || settings.ideas == 0 || settings.ideas > 60 || settings.weeks == 0 {
        return wrong(format!(
            "{} runs of a set, {} ideas and {} weeks; expected at least 2, 1 to 60 and at least 1",
            settings.first, settings.ideas, settings.weeks
        ));
    }
    Ok(())
}

/// The ideas with money, those left out, and how many found ones have none.
fn priced(
    workbook: &Workbook,
    look: &Look,
    settings: &ReachSettings,
) -> Result<(Vec<Idea>, Vec<UnrunIdea>, u32), NoAnswer> {
    let (yours, found) = look.ideas(workbook)?;
    let rate = look.as_it_is.hurdle_rate;
    let known = |idea: &Idea| idea.yearly(rate).is_some();
    let little = settings.indifferent * look.as_it_is.needed;
    let found = found.into_iter().filter(|found| found.promise >= little);
    let found: Vec<_> = found.collect();
    let without = found.iter().filter(|found| !known(&found.idea)).count() as u32;
    let found = found.into_iter().map(|found| found.idea).filter(known);
    let (mut ideas, mut left_out) = (Vec::new(), Vec::new());
    for idea in yours.into_iter().chain(found) {
        if idea.stands() {
            left_out.push(UnrunIdea {
                idea,
                why: Unrun::Stands,
            });
        } else if ideas.len() < settings.ideas {
            ideas.push(idea);
        }
    }
    Ok((ideas, left_out, without))
}

/// Ideas without money were left out.
fn yearly(idea: &Idea, rate: f64) -> f64 {
    idea.yearly(rate).unwrap_or(f64::INFINITY)
}

fn excludes(ideas: &[Idea]) -> Vec<u64> {
    let of = |idea: &Idea| {
        let others = ideas.iter().enumerate();
        others
            .filter(|(_, other)| idea.excludes(other))
            .fold(0, |all, (at, _)| all | 1 << at)
    };
    ideas.iter().map(of).collect()
}

/// A set that was built.
struct Tried {
    built: Built,
    variant: Variant,
    seen: Vec<Seen>,
}

struct Sets<'a> {
    workbook: &'a Workbook,
    goal: Goal,
    settings: &'a ReachSettings,
    runner: &'a Runner<'a>,
    terms: Terms,
    rate: f64,
    ideas: Vec<Idea>,
    yearly: Vec<f64>,
    excludes: Vec<u64>,
    tried: BTreeMap<u64, Tried>,
    /// Runs that may be made so far.
    allowance: u32,
}

impl Sets<'_> {
    fn find(
        &mut self,
        look: &Look,
        left_out: Vec<UnrunIdea>,
        without_money: u32,
        watch: &Watch<'_>,
    ) -> Result<Reach, NoAnswer> {
        let left_out = self.drop_idle(left_out)?;
        let all = self.most();
        // what is left goes to the sets that are told
        self.allowance = self.settings.runs * 7 / 10;
        if self.runs_of(all, self.settings.first).is_none() {
            return Err(NoAnswer::Cancelled);
        }
        // the luck of the plant as it is, for all others
        if self.runs_of(0, self.settings.control).is_none() {
            return Err(NoAnswer::Cancelled);
        }
        let curve = self.forward();
        let (costs, excludes) = (self.yearly.clone(), self.excludes.clone());
        let found = cheapest(&costs, &excludes, &mut |set| self.judge(set));
        self.allowance = self.settings.runs;
        // a search that the runs do not last for has still seen sets that reach it
        let proved = found.proved && found.best.is_some();
        let mut best = found.best.or_else(|| self.next_best());
        // luck may have let a set in that more runs keep out
        while let Some(set) = best {
            let confirmed = self.runs_of(set, self.settings.confirm).is_some();
            if !confirmed || self.reaches(set) {
                break;
            }
            best = self.next_best();
        }
        let curve = self.told_curve(&curve, all, best);
        let mut points = Vec::new();
        for set in curve {
            points.push(self.point(set, watch)?);
        }
        let cheapest = match best {
            Some(set) => Some(Reached {
                set: self.point(set, watch)?,
                steps: self.steps(set, watch)?,
                proved,
            }),
            None => None,
        };
        let met = |point: &&WayPoint| point.verdict == Verdict::Met;
        let told = points.iter().chain(cheapest.iter().map(|found| &found.set));
        let sure = told
            .filter(met)
            .min_by(|a, b| a.yearly.total_cmp(&b.yearly))
            .cloned();
        Ok(Reach {
            as_it_is: look.as_it_is.clone(),
            goal: self.goal,
            settings: *self.settings,
            left_out,
            without_money,
            cheapest,
            sure,
            all: self.point(all, watch)?,
            curve: points,
            sets: self.tried.len() as u32,
            runs: self.runner.done(),
            stopped: self.runner.cancelled(),
            ideas: std::mem::take(&mut self.ideas),
        })
    }

    /// Takes out the ideas that the run does not see or the book refuses.
    fn drop_idle(&mut self, mut left_out: Vec<UnrunIdea>) -> Result<Vec<UnrunIdea>, NoAnswer> {
        let (_, base) = tray::variant(self.workbook, &[], &self.terms)?;
        let tried: Vec<Result<bool, NoAnswer>> = self
            .ideas
            .par_iter()
            .map(|idea| {
                let (_, variant) = tray::variant(self.workbook, &[idea], &self.terms)?;
                Ok(!variant.is(&base))
            })
            .collect();
        let mut kept = Vec::new();
        for (idea, tried) in std::mem::take(&mut self.ideas).into_iter().zip(tried) {
            let why = match tried {
                Ok(true) => {
                    kept.push(idea);
                    continue;
                }
                Ok(false) => Unrun::Unseen,
                Err(NoAnswer::Problems(problems)) => Unrun::Refused { problems },
                Err(other) => return Err(other),
            };
            left_out.push(UnrunIdea { idea, why });
        }
        self.ideas = kept;
        self.yearly = self
            .ideas
            .iter()
            .map(|idea| yearly(idea, self.rate))
            .collect();
        self.excludes = excludes(&self.ideas);
        Ok(left_out)
    }

    /// All ideas that can be done together, the book's first.
    fn most(&self) -> u64 {
        let ideas = 0..self.ideas.len();
        ideas.fold(0, |all, idea| {
            if self.excludes[idea] & all == 0 {
                all | 1 << idea
            } else {
                all
            }
        })
    }

    /// A set with at least so many runs; none where the allowance or the time is
    /// over, or the book refuses it.
    fn runs_of(&mut self, set: u64, runs: u32) -> Option<&[Seen]> {
        if !self.tried.contains_key(&set) {
            let ideas: Vec<&Idea> = bits(set).map(|idea| &self.ideas[idea]).collect();
            let (built, variant) = tray::variant(self.workbook, &ideas, &self.terms).ok()?;
            let seen = Vec::new();
            self.tried.insert(
                set,
                Tried {
                    built,
                    variant,
                    seen,
                },
            );
        }
        let tried = self.tried.get_mut(&set)?;
        let have = tried.seen.len() as u32;
        if have < runs {
            if self.runner.done() + runs - have > self.allowance {
                return None;
            }
            let more: Option<Vec<Seen>> = (have..runs)
                .into_par_iter()
                .map(|run| self.runner.run(&tried.variant, run))
                .collect();
            tried.seen.extend(more?);
        }
        Some(&tried.seen)
    }

    /// The chance that a set reaches the goal, on the runs it has.
    fn chance(&self, set: u64) -> f64 {
        let Some(tried) = self.tried.get(&set) else {
            return 0.0;
        };
        let rate = self.cars(set).above(self.goal.cars_per_week);
        let days = self.goal.days.map_or(1.0, |goal| {
            let days: Vec<f64> = tried.seen.iter().map(|seen| -seen.days).collect();
            odds::above(&days, -goal)
        });
        if tried.seen.iter().any(|seen| seen.locked) {
            return 0.0;
        }
        rate.min(days)
    }

    fn reaches(&self, set: u64) -> bool {
        self.chance(set) >= 0.5
    }

    /// Runs a set until it is clear whether it reaches the goal, or close.
    fn judge(&mut self, set: u64) -> Option<Judged> {
        let first = self.settings.first;
        for runs in [first, 2 * first, 3 * first] {
            self.runs_of(set, runs)?;
            if !(0.1..0.9).contains(&self.chance(set)) {
                break;
            }
        }
        let chance = self.chance(set);
        Some(Judged {
            suffices: chance >= 0.5,
            may: chance >= 0.1,
        })
    }

    fn cost(&self, set: u64) -> f64 {
        bits(set).map(|idea| self.yearly[idea]).sum()
    }

    fn made(&self, set: u64) -> f64 {
        self.cars(set).mean
    }

    /// Ideas added one after the other, that with most cars for its money first;
    /// after each, those that gave most for theirs alone are run again in its
    /// company, and so are those next to what then holds the plant back.
    fn forward(&mut self) -> Vec<u64> {
        let first = self.settings.first;
        let mut way = vec![0];
        if self.runs_of(0, first).is_none() {
            return Vec::new();
        }
        let mut set = 0;
        for _ in 0..self.ideas.len().min(MOST_STEPS) {
            let fitting = (0..self.ideas.len())
                .filter(|idea| set >> idea & 1 == 0 && self.excludes[*idea] & set == 0);
            let mut by_ratio: Vec<(f64, usize)> = fitting
                .map(|idea| (self.ratio(1 << idea, 0), idea))
                .collect();
            by_ratio.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
            let width = if set == 0 { by_ratio.len() } else { WIDTH };
            for (_, idea) in by_ratio.iter().take(width) {
                if self.runs_of(set | 1 << idea, first).is_none() {
                    return way;
                }
            }
            let next = by_ratio
                .iter()
                .take(width)
                .map(|(_, idea)| set | 1 << idea)
                .filter(|next| self.made(*next) > self.made(set))
                .max_by(|a, b| self.ratio(*a, set).total_cmp(&self.ratio(*b, set)));
            let Some(next) = next else { break };
            way.push(next);
            set = next;
        }
        way
    }

    /// Cars a week that a set makes more than another for each unit of money that
    /// it costs more.
    fn ratio(&self, set: u64, over: u64) -> f64 {
        if !self.tried.contains_key(&set) {
            return 0.0;
        }
        let more = self.made(set) - self.made(over);
        more / (self.cost(set) - self.cost(over)).max(1.0)
    }

    /// The cheapest set known that reaches the goal on all its runs.
    fn next_best(&self) -> Option<u64> {
        let sets = self.tried.keys().copied().filter(|set| self.reaches(*set));
        sets.min_by(|a, b| self.cost(*a).total_cmp(&self.cost(*b)))
    }

    /// The sets of the curve: confirmed, and each shown to make more than the one
    /// before.
    fn told_curve(&mut self, way: &[u64], all: u64, best: Option<u64>) -> Vec<u64> {
        let mut sets: Vec<u64> = way.iter().copied().chain([0, all]).chain(best).collect();
        sets.sort_by(|a, b| self.cost(*a).total_cmp(&self.cost(*b)).then(a.cmp(b)));
        sets.dedup();
        let confirm = self.settings.confirm;
        let mut told: Vec<u64> = Vec::new();
        for set in sets {
            // as far as the runs reach; two are needed for an interval
            if self.runs_of(set, confirm).is_none() && self.seen(set).len() < 2 {
                continue;
            }
            let more = told.last().is_none_or(|before| {
                let gain = self.gain(set, *before);
                gain.mean - gain.half_width > 0.0
            });
            if more || Some(set) == best {
                told.push(set);
            }
        }
        told
    }

    fn seen(&self, set: u64) -> &[Seen] {
        self.tried.get(&set).map_or(&[], |tried| &tried.seen)
    }

    /// Cars a week of a set, the luck taken out that the plant as it is had in
    /// its runs.
    fn cars(&self, set: u64) -> Estimate {
        let cars = |set: u64| {
            self.seen(set)
                .iter()
                .map(|seen| seen.cars)
                .collect::<Vec<_>>()
        };
        Estimate::led(&cars(set), &cars(0))
    }

    /// Cars a week of one set more than another's, pair by pair.
    fn gain(&self, set: u64, over: u64) -> Interval {
        let pairs = self.seen(set).iter().zip(self.seen(over));
        let pairs: Vec<f64> = pairs.map(|(new, old)| new.cars - old.cars).collect();
        let base: Vec<f64> = self.seen(0).iter().map(|seen| seen.cars).collect();
        Estimate::led(&pairs, &base).interval(self.settings.level)
    }

    fn point(&self, set: u64, watch: &Watch<'_>) -> Result<WayPoint, NoAnswer> {
        let level = self.settings.level;
        let seen = self.seen(set);
        let made = self.cars(set).interval(level);
        let days = Interval::of(&seen.iter().map(|s| s.days).collect::<Vec<_>>(), level);
        let rate = Verdict::at_least(self.goal.cars_per_week, made);
        let in_time = self
            .goal
            .days
            .map_or(Verdict::Met, |goal| Verdict::at_most(goal, days));
        let verdict = match (rate, in_time) {
            _ if seen.iter().any(|seen| seen.locked) => Verdict::Missed,
            (Verdict::Met, Verdict::Met) => Verdict::Met,
            (Verdict::Missed, _) | (_, Verdict::Missed) => Verdict::Missed,
            _ => Verdict::Open,
        };
        Ok(WayPoint {
            ideas: bits(set).map(|idea| self.ideas[idea].id).collect(),
            investment: bits(set)
                .filter_map(|idea| self.ideas[idea].investment)
                .sum(),
            yearly: self.cost(set),
            made,
            days,
            verdict,
            constraint: self.constraint(set, watch)?,
            runs: seen.len() as u32,
        })
    }

    /// None where the time is over.
    fn constraint(&self, set: u64, watch: &Watch<'_>) -> Result<Option<(String, f64)>, NoAnswer> {
        let Some(tried) = self.tried.get(&set) else {
            return Ok(None);
        };
        match tray::next_constraint(&tried.built, &self.terms, watch) {
            Err(NoAnswer::Cancelled) => Ok(None),
            other => other,
        }
    }

    /// The set idea by idea, that first which adds most to those before it.
    fn steps(&mut self, set: u64, watch: &Watch<'_>) -> Result<Vec<WayStep>, NoAnswer> {
        let runs = self.seen(set).len() as u32;
        let mut steps = Vec::new();
        let mut before = 0;
        while before != set {
            let open: Vec<usize> = bits(set & !before).collect();
            let whole = self.runs_of(before, runs).is_some()
                && open
                    .iter()
                    .all(|idea| self.runs_of(before | 1 << idea, runs).is_some());
            if !whole {
                // too few runs are left to tell the steps
                return Ok(Vec::new());
            }
            let most = open.into_iter().max_by(|a, b| {
                let made = |idea: usize| self.gain(before | 1 << idea, before).mean;
                made(*a).total_cmp(&made(*b)).then(b.cmp(a))
            });
            let Some(idea) = most else { break };
            let after = before | 1 << idea;
            steps.push(WayStep {
                idea: self.ideas[idea].id,
                cars: self.gain_over(after, before, runs),
                constraint: self.constraint(after, watch)?,
            });
            before = after;
        }
        Ok(steps)
    }

    /// The gain over the first so many pairs.
    fn gain_over(&self, set: u64, over: u64, runs: u32) -> Interval {
        let pairs = self
            .seen(set)
            .iter()
            .zip(self.seen(over))
            .take(runs as usize);
        let pairs: Vec<f64> = pairs.map(|(new, old)| new.cars - old.cars).collect();
        Interval::of(&pairs, self.settings.level)
    }
}

/// Ideas that one step of the way runs again in company.
const WIDTH: usize = 6;
/// Steps of the way.
const MOST_STEPS: usize = 7;
