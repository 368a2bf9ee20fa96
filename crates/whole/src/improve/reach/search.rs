//! The cheapest set that reaches a goal, each set judged by running it.
//!
//! A set that fails tells more than that it fails: so does every part of it, as
//! far as no idea does harm. It is therefore run with ever more ideas until each
//! further one would no longer let it fail; whatever reaches the goal must hold
//! one of those left outside. The cheapest set that holds one of each such rest
//! is run next, and the first that reaches the goal is the cheapest of all, since
//! everything cheaper lacks all of one rest (implicit hitting sets: E.
//! Moreno-Centeno and R. M. Karp, Operations Research 61 (2013) 453, from
//! memory). What a set makes is never added up from its ideas.
//!
//! Luck leaves sets of which the runs say neither: they are no answer, and what
//! was learnt from them proves nothing.

use std::collections::BTreeMap;

/// What runs say of a set.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Judged {
    /// It reaches the goal, at the level asked for.
    Reaches,
    /// Luck may have done either.
    Open,
    /// It does not, at the level asked for.
    Fails,
    /// It cannot be built, since these of its ideas do not go together.
    Refused(u64),
}

/// How long a set is run.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Care {
    /// Only whether it fails is asked: a few runs.
    Quick,
    /// Until it is clear, or as long as a set may be run.
    Full,
}

/// What is sought in.
pub(crate) struct Choice<'a> {
    /// What each idea costs.
    pub(crate) costs: &'a [f64],
    /// Ideas that do not go together, as bits.
    pub(crate) conflicts: Vec<u64>,
    /// The ideas that do no harm; others are not given to a set that fails.
    pub(crate) harmless: u64,
}

impl Choice<'_> {
    fn cost(&self, set: u64) -> f64 {
        bits(set).map(|idea| self.costs[idea] + EACH).sum()
    }

    fn fits(&self, set: u64) -> bool {
        let mut conflicts = self.conflicts.iter();
        !conflicts.any(|conflict| conflict & !set == 0)
    }
}

/// What the search found.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) struct Searched {
    /// The cheapest set that reaches the goal, as bits.
    pub(crate) best: Option<u64>,
    /// A cheaper one of which the runs do not say whether it does.
    pub(crate) perhaps: Option<u64>,
    /// Whether all that is cheaper fails, or where there is none, everything.
    pub(crate) proved: bool,
}

/// Of two sets that cost the same the one with fewer ideas is cheaper.
const EACH: f64 = 1e-6;
/// Branches followed for one next set, at most.
const MOST_BRANCHES: u32 = 2_000_000;

/// Runs a set, or says none where the time is over.
type Judge<'a> = &'a mut dyn FnMut(u64, Care) -> Option<Judged>;

struct Search<'a> {
    choice: Choice<'a>,
    judge: Judge<'a>,
    /// What the runs said in full.
    known: BTreeMap<u64, Judged>,
    /// Sets that fail with every part of them.
    failed: Vec<u64>,
    /// The same but for luck.
    unclear: Vec<u64>,
    found: Searched,
}

/// Finds the cheapest set. At most 64 ideas.
pub(crate) fn cheapest(choice: Choice<'_>, judge: Judge<'_>) -> Searched {
    let mut search = Search {
        choice,
        judge,
        known: BTreeMap::new(),
        failed: Vec::new(),
        unclear: Vec::new(),
        found: Searched::default(),
    };
    // none: the time is over, and what was found is all
    let _ = search.run();
    search.found
}

impl Search<'_> {
    fn run(&mut self) -> Option<()> {
        while let Next::Set(set) = self.next(true) {
            match self.full(set)? {
                Judged::Reaches => {
                    self.found.best = Some(set);
                    break;
                }
                Judged::Refused(conflict) => self.choice.conflicts.push(conflict),
                Judged::Fails => {
                    let grown = self.grown(set, true)?;
                    self.failed.push(grown);
                }
                Judged::Open => {
                    let grown = self.grown(set, false)?;
                    self.unclear.push(grown);
                }
            }
        }
        self.prove()
    }

    /// Whether all that is cheaper fails for sure.
    fn prove(&mut self) -> Option<()> {
        loop {
            let set = match self.next(false) {
                Next::Set(set) => set,
                Next::None => {
                    self.found.proved = true;
                    return Some(());
                }
                Next::Unknown => return Some(()),
            };
            match self.full(set)? {
                Judged::Reaches => self.found.best = Some(set),
                Judged::Refused(conflict) => self.choice.conflicts.push(conflict),
                Judged::Fails => {
                    let grown = self.grown(set, true)?;
                    self.failed.push(grown);
                }
                Judged::Open => {
                    self.found.perhaps = Some(set);
                    return Some(());
                }
            }
        }
    }

    fn full(&mut self, set: u64) -> Option<Judged> {
        if let Some(known) = self.known.get(&set) {
            return Some(*known);
        }
        let judged = (self.judge)(set, Care::Full)?;
        self.known.insert(set, judged);
        Some(judged)
    }

    /// A set that fails with as many harmless ideas more as let it fail still,
    /// the cheapest first, so that what is left outside is dear.
    fn grown(&mut self, set: u64, surely: bool) -> Option<u64> {
        let mut open: Vec<usize> = bits(self.choice.harmless & !set).collect();
        open.sort_by(|a, b| {
            let costs = self.choice.costs;
            costs[*a].total_cmp(&costs[*b]).then(a.cmp(b))
        });
        let mut grown = set;
        // halves of what is open, so that ideas far from the constraint go in at once
        let mut parts = vec![open];
        while let Some(part) = parts.pop() {
            let mut with = grown;
            for idea in &part {
                if self.choice.fits(with | 1 << idea) {
                    with |= 1 << idea;
                }
            }
            if with == grown {
                continue;
            }
            match self.stays(with, surely)? {
                Judged::Fails => grown = with,
                Judged::Refused(conflict) => {
                    self.choice.conflicts.push(conflict);
                    parts.push(part);
                }
                _ if part.len() > 1 => {
                    let (first, second) = part.split_at(part.len() / 2);
                    parts.push(second.to_vec());
                    parts.push(first.to_vec());
                }
                _ => {}
            }
        }
        Some(grown)
    }

    /// Whether a larger set fails still: surely, or but for luck.
    fn stays(&mut self, set: u64, surely: bool) -> Option<Judged> {
        let within = |one: &u64| set & !one == 0;
        if self.failed.iter().any(within) || !surely && self.unclear.iter().any(within) {
            return Some(Judged::Fails);
        }
        if self.found.best.is_some_and(|best| best & !set == 0) {
            return Some(Judged::Reaches);
        }
        if let Some(known) = self.known.get(&set) {
            return Some(match known {
                Judged::Open if !surely => Judged::Fails,
                other => *other,
            });
        }
        if surely {
            return (self.judge)(set, Care::Quick);
        }
        Some(match self.full(set)? {
            Judged::Open => Judged::Fails,
            other => other,
        })
    }

    /// The cheapest set, below the best, that is no part of any that fails; with
    /// those but for luck or without.
    fn next(&self, unclear: bool) -> Next {
        let mut within: Vec<u64> = self.failed.clone();
        if unclear {
            within.extend(&self.unclear);
        }
        let all = (0..self.choice.costs.len()).fold(0, |all, idea| all | 1 << idea);
        let mut rests: Vec<u64> = within.iter().map(|set| all & !set).collect();
        rests.sort_by_key(|rest| rest.count_ones());
        let mut hitting = Hitting {
            choice: &self.choice,
            rests,
            best: None,
            least: self
                .found
                .best
                .map_or(f64::INFINITY, |best| self.choice.cost(best)),
            branches: 0,
        };
        hitting.branch(0, 0);
        match hitting.best {
            _ if hitting.branches > MOST_BRANCHES => Next::Unknown,
            Some(set) => Next::Set(set),
            None => Next::None,
        }
    }
}

/// What comes next.
enum Next {
    Set(u64),
    /// There is none.
    None,
    /// There were too many to tell.
    Unknown,
}

/// The cheapest set that holds one idea of each rest, by branch and bound.
struct Hitting<'s> {
    choice: &'s Choice<'s>,
    rests: Vec<u64>,
    best: Option<u64>,
    least: f64,
    branches: u32,
}

impl Hitting<'_> {
    fn branch(&mut self, taken: u64, barred: u64) {
        self.branches += 1;
        if self.branches > MOST_BRANCHES {
            return;
        }
        let cost = self.choice.cost(taken);
        if cost + self.still(taken, barred) >= self.least {
            return;
        }
        let missed = self.rests.iter().find(|rest| *rest & taken == 0);
        let Some(missed) = missed else {
            (self.best, self.least) = (Some(taken), cost);
            return;
        };
        let mut barred = barred;
        let mut ideas: Vec<usize> = bits(missed & !barred).collect();
        let costs = self.choice.costs;
        ideas.sort_by(|a, b| costs[*a].total_cmp(&costs[*b]).then(a.cmp(b)));
        for idea in ideas {
            let with = taken | 1 << idea;
            if self.choice.fits(with) {
                self.branch(with, barred);
            }
            // the branches that follow do without it
            barred |= 1 << idea;
        }
    }

    /// What those rests cost at least that have no idea in common.
    fn still(&self, taken: u64, barred: u64) -> f64 {
        let (mut apart, mut cost) = (taken, 0.0);
        for rest in &self.rests {
            if rest & apart == 0 {
                let costs = bits(rest & !barred).map(|idea| self.choice.costs[idea] + EACH);
                cost += costs.fold(f64::INFINITY, f64::min);
                apart |= rest;
            }
        }
        cost
    }
}

/// The ideas of a set.
pub(crate) fn bits(set: u64) -> impl Iterator<Item = usize> {
    (0..64).filter(move |idea| set >> idea & 1 == 1)
}

#[cfg(test)]
mod tests;
