//! Which of several variants is best, from paired runs with shared luck, most of
//! them spent where it is close.
//!
//! After a few runs of every variant, a round finds the leader and, for every
//! other, the chance that it is better by more than an indifference: the tail
//! of Student's t over the pairwise differences, which shared luck makes small.
//! The product of one less each chance bounds from below the probability that no
//! other is better by more than that, since all differences have the leader in
//! common (D. Slepian, Bell System Technical Journal 41 (1962) 463). The leader and those with the
//! largest chances get further runs until the bound reaches the level. Sources:
//! S. E. Chick and K. Inoue, New procedures to select the best simulated system
//! using common random numbers, Management Science 47 (2001) 1133, for the
//! bound on paired differences; J. Branke, S. E. Chick and C. Schmidt, Selecting
//! a selection procedure, Management Science 53 (2007) 1916, for stopping at
//! the probability of a good selection (both from memory).
//!
//! Once the first place is sure, the runs that are left go to the second among
//! those behind it, and so on.
//!
//! Where the first variant is run further than the others, the luck that it met in
//! their runs is taken out of their differences by regression.
//!
//! The bound is a posterior probability; the test of the house holds it against
//! lines whose best is known exactly.

use flow::statistics::Interval;
use rayon::prelude::*;

use super::odds::Estimate;

/// How to select.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rule {
    /// Runs go on until the probability of a good selection reaches this.
    pub level: f64,
    /// A better variant by no more than this would be as good.
    pub indifferent: f64,
    /// Runs of every variant to begin with; at least 2, for an interval.
    pub first: u32,
    /// Runs of the first variant to begin with, where they are to take the luck
    /// that it had out of all others' figures; else 0.
    pub control: u32,
    /// Runs of a variant at most.
    pub most: u32,
    /// Runs in all at most.
    pub budget: u32,
    /// Places that are to be sure, the first with them: once one is, runs go to
    /// the next. At least 1.
    pub places: usize,
}

/// What the runs say.
#[derive(Clone, Debug, PartialEq)]
pub struct Selection {
    /// For each variant its figure, run by run; run 3 of one met the luck of run 3
    /// of any other.
    pub samples: Vec<Vec<f64>>,
    /// The variants, the best first.
    pub order: Vec<usize>,
    /// A lower bound on the probability that none is better than the first by
    /// more than the indifference.
    pub good: f64,
    /// The same without indifference: that the first is the best.
    pub best: f64,
    /// Whether the level was reached for the first place.
    pub reached: bool,
    /// Places from the first on of which each is sure, at the level: none behind
    /// it is better by more than the indifference.
    pub sure: usize,
    /// Whether the runs were stopped from outside.
    pub stopped: bool,
}

/// Contenders that get further runs in a round.
const WIDE: usize = 8;

/// Selects among `count` variants, the first of which is what the others are
/// compared with; more is better. `sample` gives the figure of a variant in a
/// run, the same for the same two numbers whenever it is asked; none ends the
/// selection with what is known. The same samples give the same selection, on
/// any number of cores.
///
/// ```
/// use whole::improve::{Rule, select};
/// let rule = Rule { level: 0.95, indifferent: 0.1, first: 4, control: 0, most: 50, budget: 500, places: 1 };
/// // three variants that share the luck of a run
/// let figures = [40.0, 41.0, 40.2];
/// let luck = |run: u32| f64::from(run * 37 % 11) - 5.0;
/// let seen = select(3, &rule, &|variant, run| Some(figures[variant] + luck(run)));
/// assert_eq!(seen.order, [1, 2, 0]);
/// assert!(seen.reached && seen.good > 0.95);
/// ```
pub fn select(
    count: usize,
    rule: &Rule,
    sample: &(dyn Fn(usize, u32) -> Option<f64> + Sync),
) -> Selection {
    select_telling(count, rule, sample, &|_| {})
}

/// The same, told what the runs say so far after each round in which every variant
/// has two of them.
pub(super) fn select_telling(
    count: usize,
    rule: &Rule,
    sample: &(dyn Fn(usize, u32) -> Option<f64> + Sync),
    told: &dyn Fn(&Selection),
) -> Selection {
    let mut seen = Selection {
        samples: vec![Vec::new(); count],
        order: (0..count).collect(),
        good: 0.0,
        best: 0.0,
        reached: false,
        sure: 0,
        stopped: false,
    };
    let begun = seen.clone();
    let mut wanted: Vec<u32> = vec![rule.first.max(2).min(rule.most.max(2)); count];
    if let Some(base) = wanted.first_mut() {
        *base = rule.control.max(*base);
    }
    loop {
        let mut after = |samples: &[Vec<f64>]| {
            if samples.iter().all(|runs| runs.len() >= 2) {
                let mut now = Selection {
                    samples: samples.to_vec(),
                    ..begun.clone()
                };
                now.weigh(rule);
                told(&now);
            }
        };
        if !fill(&mut seen.samples, &wanted, sample, &mut after) {
            seen.stopped = true;
        }
        seen.weigh(rule);
        let spent: usize = seen.samples.iter().map(Vec::len).sum();
        let left = (rule.budget as usize).saturating_sub(spent);
        if seen.stopped || left == 0 {
            return seen;
        }
        let next = seen.next(rule, left);
        if next.is_empty() {
            return seen;
        }
        for (variant, runs) in next {
            wanted[variant] = runs;
        }
    }
}

/// Runs that are made before any of the next are begun.
const ROUND: usize = 64;

/// Runs what is wanted and missing; false where it was stopped. Every variant gets
/// a run before any gets the next, so that what was stopped can be told as far as
/// it came; its runs are kept that have no gap before them. `after` is shown them
/// round by round.
fn fill(
    samples: &mut [Vec<f64>],
    wanted: &[u32],
    sample: &(dyn Fn(usize, u32) -> Option<f64> + Sync),
    after: &mut dyn FnMut(&[Vec<f64>]),
) -> bool {
    let mut missing: Vec<(usize, u32)> = wanted
        .iter()
        .enumerate()
        .flat_map(|(variant, runs)| {
            (samples[variant].len() as u32..*runs).map(move |r| (variant, r))
        })
        .collect();
    missing.sort_by_key(|(variant, run)| (*run, *variant));
    let mut whole = true;
    for round in missing.chunks(ROUND) {
        let found: Vec<Option<f64>> = round
            .par_iter()
            .map(|(variant, run)| sample(*variant, *run))
            .collect();
        for ((variant, run), value) in round.iter().zip(found) {
            match value {
                Some(value) if samples[*variant].len() == *run as usize => {
                    samples[*variant].push(value);
                }
                _ => whole = false,
            }
        }
        if !whole {
            break;
        }
        after(samples);
    }
    whole
}

impl Selection {
    /// What a variant makes more than another, over the runs that both have.
    pub fn pairs(&self, variant: usize, over: usize) -> Vec<f64> {
        let both = self.samples[variant].iter().zip(&self.samples[over]);
        both.map(|(new, old)| new - old).collect()
    }

    /// The same as an interval at a level, with the luck taken out that the first
    /// variant had in these runs, as far as its further runs tell.
    pub fn difference(&self, variant: usize, over: usize, level: f64) -> Interval {
        self.estimate(variant, over).interval(level)
    }

    /// Runs more, of both together, after which the interval of the difference
    /// between the first two behind the plant as it is would leave zero out: its
    /// width falls with the root of the runs, and a difference below what counts
    /// is taken as that. None where it does so already.
    pub(super) fn further(&self, rule: &Rule) -> Option<u32> {
        let mut variants = self.order.iter().copied().filter(|variant| *variant != 0);
        let (first, second) = (variants.next()?, variants.next()?);
        let seen = self.difference(first, second, rule.level);
        let pairs = self.pairs(first, second).len() as f64;
        let gap = seen.mean.abs().max(rule.indifferent);
        if pairs < 2.0 || seen.half_width <= gap || !seen.half_width.is_finite() || gap <= 0.0 {
            return None;
        }
        let wanted = pairs * (seen.half_width / gap) * (seen.half_width / gap);
        let runs = |variant: usize| {
            self.samples
                .get(variant)
                .map_or(0.0, |all| all.len() as f64)
        };
        let more = |variant: usize| (wanted - runs(variant)).max(0.0).ceil();
        let more = more(first) + more(second);
        (more > 0.0).then(|| more.min(f64::from(u32::MAX)) as u32)
    }

    fn estimate(&self, variant: usize, over: usize) -> Estimate {
        let pairs = self.pairs(variant, over);
        self.samples.first().map_or_else(
            || Estimate::plain(&pairs),
            |base| Estimate::led(&pairs, base),
        )
    }

    /// Orders the variants and bounds the probabilities.
    fn weigh(&mut self, rule: &Rule) {
        let gains: Vec<f64> = (0..self.samples.len())
            .map(|v| self.estimate(v, 0).mean)
            .collect();
        self.order
            .sort_by(|a, b| gains[*b].total_cmp(&gains[*a]).then(a.cmp(b)));
        let bound = |place: usize, indifferent: f64| -> f64 {
            let chances = self.chances(place, indifferent).into_iter();
            chances.map(|(_, chance)| 1.0 - chance).product()
        };
        let (good, best) = (bound(0, rule.indifferent), bound(0, 0.0));
        let places = 0..rule.places.max(1).min(self.order.len());
        let sure = places
            .take_while(|place| bound(*place, rule.indifferent) >= rule.level)
            .count();
        (self.good, self.best, self.sure) = (good, best, sure);
        self.reached = good >= rule.level;
    }

    /// For each behind a place the chance that it is better by more than this than
    /// who holds it.
    fn chances(&self, place: usize, indifferent: f64) -> Vec<(usize, f64)> {
        let Some((&holder, behind)) = self.order.get(place..).and_then(<[usize]>::split_first)
        else {
            return Vec::new();
        };
        behind
            .iter()
            .map(|&other| (other, self.estimate(other, holder).above(indifferent)))
            .collect()
    }

    /// Who gets runs up to what number next, for the first place that is not sure
    /// and has somebody left to run: who holds it, what all are compared with, and
    /// those that may be better.
    fn next(&self, rule: &Rule, left: usize) -> Vec<(usize, u32)> {
        let places = self.sure..rule.places.max(1).min(self.order.len());
        // the first place that is not sure, and those behind it where it is run out
        let nexts = places.map(|place| self.for_place(place, rule, left));
        nexts
            .into_iter()
            .find(|next| !next.is_empty())
            .unwrap_or_default()
    }

    fn for_place(&self, place: usize, rule: &Rule, left: usize) -> Vec<(usize, u32)> {
        let Some(&leader) = self.order.get(place) else {
            return Vec::new();
        };
        let mut chances = self.chances(place, rule.indifferent);
        let few = 0.5 * (1.0 - rule.level) / chances.len().max(1) as f64;
        chances.retain(|(_, chance)| *chance > few);
        if chances.is_empty() {
            return Vec::new();
        }
        chances.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
        chances.truncate(WIDE);
        let runs = |variant: usize| self.samples[variant].len() as u32;
        let behind = chances.iter().any(|(v, _)| runs(*v) < runs(leader));
        let target = if behind {
            runs(leader)
        } else {
            (runs(leader) + runs(leader).div_ceil(2)).min(rule.most)
        };
        let mut left = left as u32;
        let mut next = Vec::new();
        for variant in [leader, 0].into_iter().chain(chances.iter().map(|c| c.0)) {
            let more = target.saturating_sub(runs(variant)).min(left);
            if more > 0 && !next.iter().any(|(known, _)| *known == variant) {
                next.push((variant, runs(variant) + more));
                left -= more;
            }
        }
        next
    }
}

#[cfg(test)]
mod tests {
    use super::{Rule, select};
    use proptest::prelude::*;

    const RULE: Rule = Rule {
        level: 0.95,
        indifferent: 0.05,
        first: 4,
        control: 0,
        most: 60,
        budget: 400,
        places: 1,
    };

    /// Luck that all share, and a little of each one's own.
    fn figure(means: &[f64], variant: usize, run: u32) -> f64 {
        let shared = flow::stream::Stream::keyed(7, run, "shared", "luck").uniform();
        let own = flow::stream::Stream::keyed(7, run, &variant.to_string(), "luck").uniform();
        means[variant] + 8.0 * shared + 0.5 * own
    }

    #[test]
    fn runs_go_to_close_contenders() {
        let means = [10.0, 12.0, 11.98, 5.0, 6.0, 7.0];
        let seen = select(6, &RULE, &|v, run| Some(figure(&means, v, run)));
        assert!([1, 2].contains(&seen.order[0]));
        assert!(seen.samples[2].len() > seen.samples[3].len());
        assert_eq!(seen.samples[3].len(), 4);
    }

    #[test]
    fn once_the_first_is_sure_runs_go_to_the_places_behind() {
        let means = [10.0, 19.0, 12.0, 12.2, 11.0, 5.0, 6.0, 7.0];
        let ask = |places: usize| {
            let rule = Rule { places, ..RULE };
            select(8, &rule, &|v, run| Some(figure(&means, v, run)))
        };
        let (one, three) = (ask(1), ask(3));
        assert_eq!((one.order[0], one.sure), (1, 1));
        assert!(one.samples.iter().all(|seen| seen.len() == 4), "{one:?}");
        assert_eq!(three.order[..3], [1, 3, 2]);
        assert_eq!(three.sure, 3, "{three:?}");
        assert!(three.samples[3].len() > 4 && three.samples[5].len() == 4);
    }

    #[test]
    fn a_stopped_race_says_how_many_runs_would_tell_the_first_two_apart() {
        let means = [10.0, 12.0, 11.9];
        let rule = Rule {
            budget: 15,
            control: 5,
            most: 5,
            ..RULE
        };
        let sample = |v: usize, run: u32| Some(figure(&means, v, run));
        let few = select(3, &rule, &sample);
        let Some(more) = few.further(&rule) else {
            panic!("told apart by luck: {few:?}");
        };
        // with a good deal more than that they are
        let many = Rule {
            budget: 6 * (more + 15),
            most: 2 * (more + 15),
            first: more + 15,
            ..RULE
        };
        let seen = select(3, &many, &sample);
        assert_eq!(seen.further(&many), None, "{more} runs");
    }

    #[test]
    fn twins_are_a_good_selection_and_no_certain_best() {
        let seen = select(3, &RULE, &|v, run| {
            Some(figure(&[1.0, 5.0, 5.0], v.min(1), run))
        });
        assert!(seen.reached, "{seen:?}");
        assert!(seen.best <= 0.5, "{}", seen.best);
    }

    #[test]
    fn a_stopped_selection_keeps_what_is_known() {
        let means = [10.0, 10.02, 10.01];
        let seen = select(3, &RULE, &|v, run| {
            (run < 9).then(|| figure(&means, v, run))
        });
        assert!(seen.stopped && !seen.reached);
        assert!(seen.samples.iter().all(|s| s.len() <= 9 && s.len() >= 4));
    }

    proptest! {
        #[test]
        fn no_more_is_spent_than_allowed(budget in 20u32..200, spread in 0.0f64..3.0) {
            let means: Vec<f64> = (0..5).map(|v| f64::from(v) * spread * 0.01).collect();
            let rule = Rule { budget, ..RULE };
            let seen = select(5, &rule, &|v, run| Some(figure(&means, v, run)));
            let spent: usize = seen.samples.iter().map(Vec::len).sum();
            prop_assert!(spent <= budget as usize);
        }
    }
}
