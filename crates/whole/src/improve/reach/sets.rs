//! Sets of ideas: built once, run as long as it takes to judge them.

use std::collections::BTreeMap;

use book::raw::Workbook;
use flow::statistics::Interval;
use rayon::prelude::*;
use shops::SoFar;

use super::super::follow::Follow;
use super::super::odds::Estimate;
use super::super::plant::{Runner, Variant};
use super::super::{Idea, Seen, Unrun, UnrunIdea, shows, tray};
use super::search::{Care, Judged, bits};
use super::{Goal, ReachSettings};
use crate::findings::{NoAnswer, Verdict};
use crate::network::Built;

/// A set that was built.
pub(super) struct Tried {
    pub(super) built: Built,
    variant: Variant,
    pub(super) seen: Vec<Seen>,
}

/// Why a set has not the runs it should.
pub(super) enum Unmade {
    /// The allowance or the time is over.
    Over,
    /// The book or the run refuses it.
    Refused,
}

/// Ideas that one step of the way runs again in company.
const WIDTH: usize = 5;
/// Steps of the way.
const MOST_STEPS: usize = 6;

pub(super) struct Sets<'a> {
    workbook: &'a Workbook,
    goal: Goal,
    pub(super) settings: ReachSettings,
    pub(super) runner: &'a Runner<'a>,
    follow: &'a Follow<'a>,
    currency: &'a str,
    /// What an investment must bring.
    rate: f64,
    pub(super) ideas: Vec<Idea>,
    pub(super) yearly: Vec<f64>,
    /// Ideas that cannot be done together, as bits; one that does harm alone.
    pub(super) conflicts: Vec<u64>,
    tried: BTreeMap<u64, Tried>,
    /// Runs that may be made so far.
    allowance: u32,
}

impl<'a> Sets<'a> {
    pub(super) fn new(
        workbook: &'a Workbook,
        (goal, settings): (Goal, ReachSettings),
        (runner, follow): (&'a Runner<'a>, &'a Follow<'a>),
        (ideas, rate, currency): (Vec<Idea>, f64, &'a str),
    ) -> Self {
        Self {
            workbook,
            goal,
            settings,
            runner,
            follow,
            currency,
            rate,
            ideas,
            yearly: Vec::new(),
            conflicts: Vec::new(),
            tried: BTreeMap::new(),
            allowance: settings.runs,
        }
    }

    /// So many runs may be made from here on.
    pub(super) fn allow(&mut self, runs: u32) {
        self.allowance = runs;
    }

    /// Sets run.
    pub(super) fn tried(&self) -> u32 {
        self.tried.len() as u32
    }

    /// Takes out the ideas that the run does not see or the book refuses.
    pub(super) fn drop_idle(&mut self) -> Result<Vec<UnrunIdea>, NoAnswer> {
        let terms = self.runner.terms;
        let (_, base) = tray::variant(self.workbook, &[], &terms)?;
        let tried: Vec<Result<bool, NoAnswer>> = self
            .ideas
            .par_iter()
            .map(|idea| {
                let (_, variant) = tray::variant(self.workbook, &[idea], &terms)?;
                Ok(!variant.is(&base))
            })
            .collect();
        let (mut kept, mut left_out) = (Vec::new(), Vec::new());
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
        // ideas without money were left out before
        let yearly = |idea: &Idea| idea.yearly(self.rate).unwrap_or(f64::INFINITY);
        self.yearly = kept.iter().map(yearly).collect();
        self.conflicts = exclusive(&kept);
        self.ideas = kept;
        Ok(left_out)
    }

    /// Runs what all sets are compared with: the plant as it is, long enough that
    /// its luck is known, each idea alone, and all together that do no harm. Those
    /// that do are told, and are in no further set: what a set fails with, its
    /// parts then fail with too.
    pub(super) fn begin(&mut self) -> Result<Vec<UnrunIdea>, NoAnswer> {
        let over = |_| NoAnswer::Cancelled;
        let first = self.settings.first;
        self.runs_of(0, self.settings.control.max(first))
            .map_err(over)?;
        let mut harmful = Vec::new();
        for idea in 0..self.ideas.len() {
            if self.runs_of(1 << idea, first).is_err() {
                break;
            }
            if self.harms(1 << idea, 0) {
                harmful.push(self.leave_out(idea, 0));
            }
        }
        let all = self.all();
        let over = matches!(self.runs_of(all, first), Err(Unmade::Over));
        if over && self.seen(all).len() < 2 {
            return Err(NoAnswer::Cancelled);
        }
        Ok(harmful)
    }

    /// Takes out what does harm in company only: where all ideas together are shown
    /// to be worse than the best set of the way, each is run beside that set.
    pub(super) fn screen(&mut self, way: &[u64]) -> Vec<UnrunIdea> {
        let made = |set: &u64| self.more(*set, 0).mean;
        let best = way
            .iter()
            .copied()
            .max_by(|a, b| made(a).total_cmp(&made(b)));
        let (all, first) = (self.all(), self.settings.first);
        let Some(best) = best.filter(|best| *best != 0 && self.harms(all, *best)) else {
            return Vec::new();
        };
        let mut harmful = Vec::new();
        for idea in bits(all & !best) {
            if let Err(Unmade::Over) = self.runs_of(best | 1 << idea, first) {
                break;
            }
            if self.harms(best | 1 << idea, best) {
                harmful.push(self.leave_out(idea, best));
            }
        }
        // what is told of all of them is told of those that are left
        let _ = self.runs_of(self.all(), first);
        harmful
    }

    /// Bars an idea, and says what harm it does beside a set.
    fn leave_out(&mut self, idea: usize, beside: u64) -> UnrunIdea {
        self.conflicts.push(1 << idea);
        UnrunIdea {
            idea: self.ideas[idea].clone(),
            why: Unrun::Worse {
                cars: self.gain(beside | 1 << idea, beside),
                days: self.longer(beside | 1 << idea, beside),
            },
        }
    }

    /// Whether a set is shown to make fewer cars than another, or to take longer,
    /// where that is asked for.
    fn harms(&self, set: u64, over: u64) -> bool {
        let fewer = self.gain(set, over);
        let longer = self.longer(set, over);
        self.goal.cars_per_week.is_some() && shows(fewer) && fewer.mean < 0.0
            || self.goal.days.is_some() && shows(longer) && longer.mean > 0.0
    }

    /// All harmless ideas that can be done together, the book's first.
    pub(super) fn all(&self) -> u64 {
        (0..self.ideas.len()).fold(0, |all, idea| {
            let with = all | 1 << idea;
            if self.fits(with) { with } else { all }
        })
    }

    fn fits(&self, set: u64) -> bool {
        !self.conflicts.iter().any(|conflict| conflict & !set == 0)
    }

    fn set(&self, set: u64) -> Vec<&Idea> {
        bits(set).map(|idea| &self.ideas[idea]).collect()
    }

    /// A set with at least so many runs.
    pub(super) fn runs_of(&mut self, set: u64, runs: u32) -> Result<&[Seen], Unmade> {
        if !self.tried.contains_key(&set) {
            let ideas = self.set(set);
            let made = tray::variant(self.workbook, &ideas, &self.runner.terms);
            let (built, variant) = made.map_err(|_| Unmade::Refused)?;
            let seen = Vec::new();
            let tried = Tried {
                built,
                variant,
                seen,
            };
            self.tried.insert(set, tried);
        }
        let Some(tried) = self.tried.get_mut(&set) else {
            return Err(Unmade::Over);
        };
        let have = tried.seen.len() as u32;
        if have < runs {
            if self.runner.done() + runs - have > self.allowance {
                return Err(Unmade::Over);
            }
            let more: Option<Vec<Seen>> = (have..runs)
                .into_par_iter()
                .map(|run| self.runner.run(&tried.variant, run))
                .collect();
            tried.seen.extend(more.ok_or(Unmade::Over)?);
            self.follow.found(self.so_far());
        }
        Ok(self.seen(set))
    }

    /// The cheapest set so far that reaches the goal; while there is none, how far the
    /// nearest is from it.
    fn so_far(&self) -> Vec<SoFar> {
        if let Some(best) = self.cheapest_met() {
            return vec![
                SoFar::new(format!("{} a year", self.currency), self.cost(best), 0.0),
                SoFar::new("ideas together", f64::from(best.count_ones()), 0.0),
            ];
        }
        let sets = self.tried.keys().copied();
        let run = sets.filter(|set| self.seen(*set).len() >= 2 && self.fits(*set));
        let more = |set: &u64| self.more(*set, 0).mean;
        let Some(nearest) = run.max_by(|a, b| more(a).total_cmp(&more(b))) else {
            return Vec::new();
        };
        let cars = self.goal.cars_per_week.map(|goal| {
            let short = goal - self.cars(nearest).mean;
            SoFar::new("cars a week short", short.max(0.0), 0.0)
        });
        let days = self.goal.days.map(|goal| {
            let late = self.days(nearest).mean - goal;
            SoFar::new("days too long", late.max(0.0), 0.0)
        });
        cars.into_iter().chain(days).collect()
    }

    /// The fewest ideas of a refused set that are refused together.
    fn conflict(&self, set: u64) -> u64 {
        let refused = |set: u64| {
            let ideas = self.set(set);
            tray::variant(self.workbook, &ideas, &self.runner.terms).is_err()
        };
        bits(set).fold(set, |left, idea| {
            let without = left & !(1 << idea);
            if refused(without) { without } else { left }
        })
    }

    /// Runs a set until it is clear whether it reaches the goal, or as long as a
    /// set may be; none where the runs are over.
    pub(super) fn judge(&mut self, set: u64, care: Care) -> Option<Judged> {
        let first = self.settings.first;
        for runs in [first, 2 * first, 4 * first] {
            match self.runs_of(set, runs) {
                Ok(_) => {}
                Err(Unmade::Over) => return None,
                Err(Unmade::Refused) => {
                    let conflict = self.conflict(set);
                    self.conflicts.push(conflict);
                    return Some(Judged::Refused(conflict));
                }
            }
            match (self.verdict(set), care) {
                (Verdict::Missed, _) => return Some(Judged::Fails),
                (Verdict::Met, Care::Full) => return Some(Judged::Reaches),
                (Verdict::Open, Care::Quick) if !self.by_mean(set) => {}
                (_, Care::Quick) => break,
                (Verdict::Open, Care::Full) => {}
            }
        }
        Some(Judged::Open)
    }

    /// Gives a set the runs of those that are told; whether there were enough.
    pub(super) fn confirm(&mut self, set: u64) -> bool {
        self.runs_of(set, self.settings.confirm).is_ok()
    }

    /// Whether a set reaches the goal, by its whole intervals.
    pub(super) fn verdict(&self, set: u64) -> Verdict {
        if self.seen(set).iter().any(|seen| seen.locked) {
            return Verdict::Missed;
        }
        let cars = self.goal.cars_per_week;
        let rate = cars.map_or(Verdict::Met, |goal| {
            Verdict::at_least(goal, self.cars(set).interval(self.settings.level))
        });
        let days = self.goal.days;
        let in_time = days.map_or(Verdict::Met, |goal| Verdict::at_most(goal, self.days(set)));
        match (rate, in_time) {
            (Verdict::Met, Verdict::Met) => Verdict::Met,
            (Verdict::Missed, _) | (_, Verdict::Missed) => Verdict::Missed,
            _ => Verdict::Open,
        }
    }

    /// Whether the means of a set reach the goal.
    fn by_mean(&self, set: u64) -> bool {
        let cars = self.goal.cars_per_week;
        let days = self.goal.days;
        cars.is_none_or(|goal| self.cars(set).mean >= goal)
            && days.is_none_or(|goal| self.days(set).mean <= goal)
    }

    pub(super) fn cost(&self, set: u64) -> f64 {
        // an empty sum would be -0
        bits(set).fold(0.0, |cost, idea| cost + self.yearly[idea])
    }

    pub(super) fn tried_set(&self, set: u64) -> Option<&Tried> {
        self.tried.get(&set)
    }

    pub(super) fn seen(&self, set: u64) -> &[Seen] {
        self.tried.get(&set).map_or(&[], |tried| &tried.seen)
    }

    /// The cheapest set run that reaches the goal by its whole intervals.
    pub(super) fn cheapest_met(&self) -> Option<u64> {
        self.cheapest_of(|set| self.fits(set) && self.verdict(set) == Verdict::Met)
    }

    /// All sets run that reach it by their whole intervals.
    pub(super) fn all_met(&self) -> Vec<u64> {
        let sets = self.tried.keys().copied();
        let met = sets.filter(|set| self.seen(*set).len() >= 2);
        met.filter(|set| self.verdict(*set) == Verdict::Met)
            .collect()
    }

    /// The cheapest set run whose means reach it.
    pub(super) fn cheapest_by_mean(&self) -> Option<u64> {
        self.cheapest_of(|set| self.verdict(set) == Verdict::Open && self.by_mean(set))
    }

    fn cheapest_of(&self, fits: impl Fn(u64) -> bool) -> Option<u64> {
        let sets = self.tried.keys().copied();
        sets.filter(|set| self.seen(*set).len() >= 2 && fits(*set))
            .min_by(|a, b| self.cost(*a).total_cmp(&self.cost(*b)))
    }

    /// Cars a week of a set, the luck taken out that the plant as it is had in
    /// its runs.
    pub(super) fn cars(&self, set: u64) -> Estimate {
        let cars = |set: u64| -> Vec<f64> {
            let seen = self.seen(set).iter();
            seen.map(|seen| seen.cars).collect()
        };
        Estimate::led(&cars(set), &cars(0))
    }

    /// Days from coil to car of a set.
    pub(super) fn days(&self, set: u64) -> Interval {
        let days: Vec<f64> = self.seen(set).iter().map(|seen| seen.days).collect();
        Interval::of(&days, self.settings.level)
    }

    /// Cars a week of one set more than another's, pair by pair.
    pub(super) fn gain(&self, set: u64, over: u64) -> Interval {
        let pairs = self.seen(set).iter().zip(self.seen(over));
        let pairs: Vec<f64> = pairs.map(|(new, old)| new.cars - old.cars).collect();
        let base: Vec<f64> = self.seen(0).iter().map(|seen| seen.cars).collect();
        Estimate::led(&pairs, &base).interval(self.settings.level)
    }

    /// Days of one set more than another's, pair by pair.
    pub(super) fn longer(&self, set: u64, over: u64) -> Interval {
        let pairs = self.seen(set).iter().zip(self.seen(over));
        let pairs: Vec<f64> = pairs.map(|(new, old)| new.days - old.days).collect();
        Interval::of(&pairs, self.settings.level)
    }

    /// A figure of one set more than another's, over the first so many pairs.
    pub(super) fn first_pairs(
        &self,
        set: u64,
        over: u64,
        runs: u32,
        of: fn(&Seen) -> f64,
    ) -> Interval {
        let pairs = self.seen(set).iter().zip(self.seen(over));
        let pairs = pairs.take(runs as usize);
        let pairs: Vec<f64> = pairs.map(|(new, old)| of(new) - of(old)).collect();
        Interval::of(&pairs, self.settings.level)
    }

    /// What a set gives towards the goal more than another: cars where a rate is
    /// to be reached, else days less.
    pub(super) fn more(&self, set: u64, over: u64) -> Interval {
        if self.goal.cars_per_week.is_some() {
            return self.gain(set, over);
        }
        let longer = self.longer(set, over);
        Interval {
            mean: -longer.mean,
            half_width: longer.half_width,
        }
    }

    /// Ideas added one after the other, that with most for its money first; after
    /// each, those that gave most for theirs alone are run again in its company.
    pub(super) fn forward(&mut self) -> Vec<u64> {
        let first = self.settings.first;
        let (mut way, mut set) = (vec![0], 0);
        for _ in 0..self.ideas.len().min(MOST_STEPS) {
            let fitting = (0..self.ideas.len())
                .filter(|idea| set >> idea & 1 == 0 && self.fits(set | 1 << idea));
            let mut by_ratio: Vec<(f64, usize)> = fitting
                .map(|idea| (self.ratio(1 << idea, 0), idea))
                .collect();
            by_ratio.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
            if set != 0 {
                by_ratio.truncate(WIDTH);
            }
            let nexts: Vec<u64> = by_ratio.iter().map(|(_, idea)| set | 1 << idea).collect();
            for next in &nexts {
                if let Err(Unmade::Over) = self.runs_of(*next, first) {
                    return way;
                }
            }
            let next = nexts
                .into_iter()
                .filter(|next| self.more(*next, set).mean > 0.0)
                .max_by(|a, b| self.ratio(*a, set).total_cmp(&self.ratio(*b, set)));
            let Some(next) = next else { break };
            way.push(next);
            set = next;
        }
        way
    }

    /// What a set gives more than another for each unit of money that it costs
    /// more.
    fn ratio(&self, set: u64, over: u64) -> f64 {
        if self.seen(set).is_empty() {
            return 0.0;
        }
        self.more(set, over).mean / (self.cost(set) - self.cost(over)).max(1.0)
    }
}

/// The pairs that change one cell.
fn exclusive(ideas: &[Idea]) -> Vec<u64> {
    let mut pairs = Vec::new();
    for (a, first) in ideas.iter().enumerate() {
        for (b, second) in ideas.iter().enumerate().skip(a + 1) {
            if first.excludes(second) {
                pairs.push(1 << a | 1 << b);
            }
        }
    }
    pairs
}
