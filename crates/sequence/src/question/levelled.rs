//! Level use with nothing else to mind, to hold an order against: goal chasing,
//! and the least there is.

use serde::Serialize as Derive;

use crate::level::{CheckedDemand, Demand, chased, level};
use crate::model::{Goal, Problem};
use crate::watch::{Settings, Watch};

/// The order of goal chasing, which minds level use and frozen cars alone.
#[derive(Clone, Debug, PartialEq, Derive)]
pub struct ChasedAnswer {
    /// Class names in the order of building, the frozen cars first.
    pub order: Vec<String>,
    /// Its sum of squared distances from the level line.
    pub level: f64,
}

/// The least sum of squared distances from the level line that is known, rules,
/// colours and promises left aside; frozen cars stay where they are.
#[derive(Clone, Copy, Debug, PartialEq, Derive)]
pub struct LeastLevel {
    /// The sum.
    pub level: f64,
    /// Whether it is proven that no order has less.
    pub proven: bool,
}

/// Share of a limit on time.
const SHARE: f64 = 0.1;

/// Moves that a walker tries where the counts are too many for a proof.
const STEPS: u64 = 100_000;

/// Goal chasing and the least; none where level use is not weighed.
pub(super) fn alone(
    problem: &Problem,
    settings: &Settings,
    watch: &Watch<'_>,
) -> Option<(ChasedAnswer, LeastLevel)> {
    if problem.level.weight == 0 || !problem.goals.hold(Goal::Level) {
        return None;
    }
    let kinds = Kinds::of(problem);
    let demand = kinds.demand(problem)?;
    let (order, sum) = chased(&demand);
    let chased = ChasedAnswer {
        order: kinds.named(problem, &order),
        level: sum,
    };
    let settings = Settings {
        steps: settings.steps.min(STEPS),
        ..*settings
    };
    let silent = Watch {
        progress: &|_| {},
        ..*watch
    };
    let least = silent.share(0.0, SHARE, |watch| level(&demand, &settings, watch));
    Some((
        chased,
        LeastLevel {
            level: least.sum,
            proven: least.proven,
        },
    ))
}

/// Classes that use the same of everything.
struct Kinds {
    uses: Vec<Vec<u32>>,
    of_class: Vec<usize>,
}

impl Kinds {
    fn of(problem: &Problem) -> Self {
        let mut kinds = Self {
            uses: Vec::new(),
            of_class: Vec::new(),
        };
        for class in 0..problem.classes.len() {
            let parts = problem.level.parts.iter();
            let uses: Vec<u32> = parts.map(|part| part.per_car[class]).collect();
            let known = kinds.uses.iter().position(|kind| *kind == uses);
            kinds.of_class.push(known.unwrap_or(kinds.uses.len()));
            if known.is_none() {
                kinds.uses.push(uses);
            }
        }
        kinds
    }

    fn demand(&self, problem: &Problem) -> Option<CheckedDemand> {
        let mut cars = vec![0; self.uses.len()];
        for (class, kind) in problem.classes.iter().zip(&self.of_class) {
            cars[*kind] += class.count;
        }
        let frozen = problem.frozen.iter();
        let demand = Demand {
            cars,
            uses: self.uses.clone(),
            first: frozen.map(|class| self.of_class[*class]).collect(),
        };
        demand.check().ok()
    }

    /// Names of classes for kinds: those of a kind in turn.
    fn named(&self, problem: &Problem, order: &[usize]) -> Vec<String> {
        let mut left: Vec<u32> = problem.classes.iter().map(|class| class.count).collect();
        let mut cars = problem.frozen.clone();
        for class in &problem.frozen {
            left[*class] -= 1;
        }
        for kind in &order[cars.len()..] {
            let mut classes = 0..left.len();
            let class = classes.find(|class| left[*class] > 0 && self.of_class[*class] == *kind);
            let Some(class) = class else { break };
            left[class] -= 1;
            cars.push(class);
        }
        let name = |class: &usize| problem.classes[*class].name.clone();
        cars.iter().map(name).collect()
    }
}
