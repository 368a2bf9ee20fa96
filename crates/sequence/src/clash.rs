//! What stands against an order that breaks nothing: a few requirements that no
//! order keeps together, as few as can be shown.
//!
//! Sets of few limits are counted out together with all promises, up to the
//! last promised place and, where that is not enough, up to the last car; of
//! the first set that fails everything is taken out that it fails without
//! (deletion, as by Chinneck & Dravnieks 1991, "Locating minimal infeasible
//! constraint sets in linear programs").

use crate::model::{Force, Problem};
use crate::prefix::{Budget, Limit, Prefix, Verdict};
use crate::watch::Watch;

/// Something that an order should keep. That all cars are built is taken for
/// granted.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Requirement {
    /// A spacing rule, by its position.
    Rule(usize),
    /// The longest block of a colour, by its position; of the cars without one
    /// where it is none.
    LongestBlock(Option<usize>),
    /// A promise, by its position.
    Promise(usize),
    /// That cars which come later are not there before, by the hold's position.
    Hold(usize),
    /// That rules and blocks reach back into the previous cars.
    Previous,
    /// That frozen cars stay where they are.
    Frozen,
}

/// Which requirements are looked at.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Among {
    /// What must hold.
    Musts,
    /// Soft rules and promises as well.
    All,
}

/// So many times the states of one count may be kept in all of them together.
const SHARE: usize = 8;

/// Limits that are taken at once, and from how many of the tightest.
const SETS: [(usize, usize); 4] = [(0, 0), (1, 64), (2, 12), (3, 7)];

/// Requirements that no order keeps together; none where that is not shown
/// within so many states.
///
/// `known` are rules that are shown to clash already.
pub(crate) fn clash(
    problem: &Problem,
    among: Among,
    known: Option<&[usize]>,
    states: usize,
    watch: &Watch<'_>,
) -> Option<Vec<Requirement>> {
    let search = Search {
        problem,
        limits: limits(problem, among),
        promises: promises(problem, among),
        states,
        watch,
    };
    let set = search.alone();
    let set = set.or_else(|| known.map(|rules| search.of_rules(rules)));
    let set = set.or_else(|| search.together())?;
    Some(search.fewest(set))
}

/// Leaves something out of a set.
type Attempt = Box<dyn Fn(&mut Set)>;

/// A set of requirements, the limits by their places in the search's list.
#[derive(Clone, Debug, PartialEq, Eq)]
struct Set {
    limits: Vec<usize>,
    promises: Vec<usize>,
    holds: Vec<usize>,
    previous: bool,
    frozen: bool,
    /// Whether all cars are placed, or only those up to the last promise.
    whole: bool,
}

struct Search<'a> {
    problem: &'a Problem,
    limits: Vec<Limit>,
    promises: Vec<usize>,
    states: usize,
    watch: &'a Watch<'a>,
}

impl Search<'_> {
    fn set(&self, limits: Vec<usize>, promises: &[usize], whole: bool) -> Set {
        Set {
            limits,
            promises: promises.to_vec(),
            holds: (0..self.problem.holds.len()).collect(),
            previous: !self.problem.previous.is_empty(),
            frozen: !self.problem.frozen.is_empty(),
            whole,
        }
    }

    fn budget(&self) -> Budget {
        Budget {
            states: self.states,
            left: SHARE * self.states,
        }
    }

    fn verdict(&self, set: &Set, budget: &mut Budget) -> Verdict {
        let ends = set.promises.iter();
        let ends = ends.map(|at| self.problem.promises[*at].within as usize);
        let untils = set.holds.iter();
        let ends = ends.chain(untils.map(|at| self.problem.holds[*at].until as usize));
        let cars = self.problem.cars();
        let frozen = if set.frozen {
            self.problem.frozen.len()
        } else {
            0
        };
        let asked = Prefix {
            problem: self.problem,
            limits: set.limits.iter().map(|at| &self.limits[*at]).collect(),
            promises: set.promises.clone(),
            holds: set.holds.clone(),
            previous: set.previous,
            frozen: set.frozen,
            places: if set.whole {
                cars
            } else {
                ends.max().unwrap_or(0).max(frozen).min(cars)
            },
        };
        asked.verdict(budget, self.watch)
    }

    fn fails(&self, set: &Set, budget: &mut Budget) -> bool {
        self.verdict(set, budget) == Verdict::Fails
    }

    /// One limit that all cars together exceed, promises or not.
    fn alone(&self) -> Option<Set> {
        // No states: what counting alone shows.
        let sets = (0..self.limits.len()).map(|at| self.set(vec![at], &[], true));
        let none = || Budget { states: 0, left: 0 };
        sets.into_iter().find(|set| self.fails(set, &mut none()))
    }

    fn of_rules(&self, rules: &[usize]) -> Set {
        let known = |at: &usize| {
            let of = self.limits[*at].of;
            matches!(of, Requirement::Rule(rule) if rules.contains(&rule))
        };
        let limits = (0..self.limits.len()).filter(known).collect();
        self.set(limits, &[], true)
    }

    /// The first set of few limits that cannot be kept with all promises; in
    /// the end all limits.
    fn together(&self) -> Option<Set> {
        let mut budget = self.budget();
        let tightest = self.tightest();
        let mut whole = vec![true];
        if !self.promises.is_empty() || !self.problem.holds.is_empty() {
            whole.insert(0, false);
        }
        for whole in whole {
            for (size, most) in SETS {
                for of in sets(tightest.len().min(most), size) {
                    let limits = of.iter().map(|at| tightest[*at]).collect();
                    let set = self.set(limits, &self.promises, whole);
                    if budget.left == 0 || self.watch.cancelled() {
                        return None;
                    }
                    if self.fails(&set, &mut budget) {
                        return Some(set);
                    }
                }
            }
            let all = self.set(tightest.clone(), &self.promises, whole);
            if self.fails(&all, &mut budget) {
                return Some(all);
            }
        }
        None
    }

    /// The limits, those first that the promised cars, and all cars, fill most.
    fn tightest(&self) -> Vec<usize> {
        let load = |at: &usize| {
            let limit = &self.limits[*at];
            let promised = self.promises.iter().map(|at| &self.problem.promises[*at]);
            let promised = promised.filter(|promise| limit.has[promise.class]);
            let promised: u64 = promised.map(|promise| u64::from(promise.count)).sum();
            let classes = self.problem.classes.iter().zip(&limit.has);
            let cars = classes.filter(|(_, has)| **has);
            let cars: u64 = cars.map(|(class, _)| u64::from(class.count)).sum();
            let through =
                |cars: u64| cars * limit.in_every as u64 * 1_000 / (limit.at_most as u64).max(1);
            (promised > 0, through(promised.max(1)), through(cars))
        };
        let mut order: Vec<usize> = (0..self.limits.len()).collect();
        order.sort_by_key(|at| (std::cmp::Reverse(load(at)), *at));
        order
    }

    /// The set without all that it fails without.
    fn fewest(&self, mut set: Set) -> Vec<Requirement> {
        let mut budget = self.budget();
        self.cut_late(&mut set, &mut budget);
        let mut attempts: Vec<Attempt> = Vec::new();
        for limit in set.limits.clone() {
            attempts.push(Box::new(move |set| set.limits.retain(|one| *one != limit)));
        }
        let mut promises = set.promises.clone();
        promises.sort_by_key(|at| (std::cmp::Reverse(self.problem.promises[*at].within), *at));
        for promise in promises {
            attempts.push(Box::new(move |set| {
                set.promises.retain(|one| *one != promise);
            }));
        }
        for hold in set.holds.clone() {
            attempts.push(Box::new(move |set| set.holds.retain(|one| *one != hold)));
        }
        attempts.push(Box::new(|set| set.frozen = false));
        attempts.push(Box::new(|set| set.previous = false));
        for attempt in attempts {
            let mut fewer = set.clone();
            attempt(&mut fewer);
            if fewer == set {
                continue;
            }
            let shown = self.fails(&fewer, &mut budget);
            // What the first places leave room for, the last may not.
            fewer.whole |= !shown;
            if shown || (!set.whole && self.fails(&fewer, &mut budget)) {
                set = fewer;
            }
        }
        self.told(&set)
    }

    /// Leaves only the promises up to the earliest place that cannot be met.
    fn cut_late(&self, set: &mut Set, budget: &mut Budget) {
        let within = |at: &usize| self.problem.promises[*at].within;
        let mut ends: Vec<u32> = set.promises.iter().map(within).collect();
        ends.sort_unstable();
        ends.dedup();
        for end in ends {
            let mut early = set.clone();
            early.promises.retain(|at| within(at) <= end);
            if self.fails(&early, budget) {
                *set = early;
                return;
            }
        }
    }

    fn told(&self, set: &Set) -> Vec<Requirement> {
        let mut told: Vec<Requirement> = set.limits.iter().map(|at| self.limits[*at].of).collect();
        told.extend(set.promises.iter().map(|at| Requirement::Promise(*at)));
        told.extend(set.holds.iter().map(|at| Requirement::Hold(*at)));
        told.extend(set.previous.then_some(Requirement::Previous));
        told.extend(set.frozen.then_some(Requirement::Frozen));
        told.sort_unstable();
        told
    }
}

/// Whether a force is looked at.
fn counts(force: Force, among: Among) -> bool {
    among == Among::All || force == Force::Hard
}

/// Spacing rules that bind, and the longest block of each colour.
fn limits(problem: &Problem, among: Among) -> Vec<Limit> {
    let binds =
        |rule: &crate::model::Rule| rule.at_most < rule.in_every && counts(rule.force, among);
    let rules = problem.rules.iter().enumerate();
    let rules = rules.filter(|(_, rule)| binds(rule)).map(|(at, rule)| {
        let classes = problem.classes.iter();
        Limit {
            of: Requirement::Rule(at),
            has: classes.map(|class| class.options[rule.option]).collect(),
            at_most: rule.at_most as usize,
            in_every: rule.in_every as usize,
        }
    });
    let mut colours: Vec<Option<usize>> = problem.classes.iter().map(|one| one.colour).collect();
    colours.sort_unstable();
    colours.dedup();
    let block = problem.longest_block().map(|most| most as usize);
    let blocks = block.into_iter().flat_map(|most| {
        colours.iter().map(move |colour| {
            let classes = problem.classes.iter();
            Limit {
                of: Requirement::LongestBlock(*colour),
                has: classes.map(|class| class.colour == *colour).collect(),
                at_most: most,
                in_every: most + 1,
            }
        })
    });
    rules.chain(blocks).collect()
}

fn promises(problem: &Problem, among: Among) -> Vec<usize> {
    let promises = problem.promises.iter().enumerate();
    promises
        .filter(|(_, promise)| promise.count > 0 && counts(promise.force, among))
        .map(|(at, _)| at)
        .collect()
}

/// All sets of so many of the first numbers, in order.
pub(crate) fn sets(of: usize, size: usize) -> Vec<Vec<usize>> {
    if size == 0 {
        return vec![Vec::new()];
    }
    let mut all = Vec::new();
    for last in size - 1..of {
        for mut set in sets(last, size - 1) {
            set.push(last);
            all.push(set);
        }
    }
    all
}
